"""Ways out of a clash, each with what it takes: split, hay, fewer head, a shorter rest, a longer stay.

Costs by the day are the weights of the season plan (``data/stays.csv``), marked as the guesses they are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import datetime

from browseline import tables
from browseline.farm.herd_words import class_words
from browseline.farm.needs import demand, intake, on_grass
from browseline.figures import Figure, money_words
from browseline.ledger.facts import rounded_up
from browseline.ledger.hay import hay_store
from browseline.ledger.trees_near import treed
from browseline.limits import Bite, Scene, Way, faces, known, ready
from browseline.limits._clash import DAY, Apart, JobAgainst, TooLong
from browseline.limits._places import Place, closed_by
from browseline.record.state import MobState
from browseline.science.stocking import paddocks_needed
from browseline.units import plain, shown
from browseline.words import day_words, linked, list_words, say


def _name(scene: Scene, ident: str) -> str:
    found = scene.paddock(ident)
    return found.name if found is not None else ident


def _limit(name: str) -> str:
    return say(f"limits.{name}.name")


def _price(days: Figure, usd_d: float) -> Figure:
    """Return what some days cost in the season plan, a guess like its weights. [USD]"""
    each = tables.row("stays", "yard_cost", "a mob off grass").figure("plan_day")
    weight, many = Figure("plan_day", usd_d, "USD/d", origins=each.origins), days.value or 0.0
    formula = f"{many:.3g} d × {usd_d:g} USD/d"
    return Figure("plan_cost", many * usd_d, "USD", formula=formula, parts=(days, weight))


def _cost(price: Figure) -> dict[str, str]:
    """Return the fields of a sentence that names a price."""
    return {"cost": money_words(price), "mark": price.mark}


def _between(more: float, less: float, least: float | None = None) -> Figure:
    """Return the days by which one number of days passes another. [d]"""
    low, high = (None, None) if least is None else (least, more - less)
    return Figure("clash_days", more - less, "d", low, high, formula=f"{more:.3g} d − {less:.3g} d")


# ---------------------------------------------------------------- rest and stay


def split_paddocks(scene: Scene, found: TooLong) -> Iterator[Way]:
    """Yield into how many parts the open paddocks would have to be split, and how large a part is.

    References
    ----------
    psu_four_steps: paddocks = rest / stay + groups; here each group needs its own
    """
    cells = math.ceil(found.groups * paddocks_needed(found.rest_d, found.longest_d) - 1e-9)
    rounds = f"{found.groups} × " if found.groups > 1 else ""
    formula = rounded_up(f"{rounds}({found.rest_d:.3g} ÷ {found.longest_d:.3g} + 1)")
    figure = Figure("clash_cells", cells, "paddocks", formula=formula)
    area, formula = found.area_ha / cells, f"{found.area_ha:.4g} ha ÷ {cells}"
    part = Figure("clash_cell_area", area, "ha", formula=formula, parts=(figure,))
    each = linked(shown(area, "area", scene.farm.units, 1), part)
    fields = {"cells": linked(str(cells), figure), "paddocks": found.open_, "area": each}
    yield Way("split", say("clash.way.split", **fields), (part,))


def run_together(scene: Scene, mob: MobState, found: TooLong) -> Iterator[Way]:
    """Yield what fewer groups would do: one group needs fewer paddocks. A lent mob joins nobody's."""
    own = [m.id for m in scene.mobs if not m.owner and m.due is None]
    if found.groups < 2 or mob.id not in own or len(own) < 2:
        return
    cells = math.ceil(paddocks_needed(found.rest_d, found.longest_d) - 1e-9)
    formula = rounded_up(f"{found.rest_d:.3g} ÷ {found.longest_d:.3g} + 1")
    figure = Figure("clash_cells", cells, "paddocks", formula=formula)
    fields = {"mob": mob.name, "cells": linked(str(cells), figure), "paddocks": found.open_}
    yield Way("together", say("clash.way.together", **fields), (figure,))


def go_back_now(found: Apart) -> Iterator[Way]:
    """Yield what going back before the rest is over means; nothing where the limit is hard."""
    if found.short_usd_d is None:
        return
    least, most = min(found.days), max(found.days)
    short = _between(most, 0.0, least)
    price = _price(short, found.short_usd_d)
    span = plain(most, 0) if round(least) == round(most) else f"{least:.0f}-{most:.0f}"
    fields = {"days": linked(span, short), "limit": _limit(found.holds)} | _cost(price)
    yield Way("shorter_rest", say("clash.way.shorter", **fields), (price,))


def shorter_rest(found: TooLong) -> Iterator[Way]:
    """Yield what rest is left where no stay passes the longest; nothing where the rest is hard.

    A limit that prices no day of rest, as grass does not, is told without a price.
    """
    if found.short_usd_d is None:
        return
    left = found.rest_left_d
    formula = f"{found.longest_d:.3g} d × ({found.open_} ÷ {found.groups} − 1)"
    rest, short = Figure("rest", left, "d", formula=formula), _between(found.rest_d, left)
    days, kept = linked(plain(short.value or 0.0, 1), short), linked(plain(left, 1), rest)
    fields = {"days": days, "limit": _limit(found.rests), "rest": kept}
    if not found.short_usd_d:
        yield Way("shorter_rest", say("clash.way.shorter_free", **fields), (rest, short))
        return
    price = _price(short, found.short_usd_d)
    yield Way("shorter_rest", say("clash.way.shorter_to", **fields, **_cost(price)), (rest, price))


def longer_stays(found: TooLong) -> Iterator[Way]:
    """Yield what stays past the longest mean; nothing where the limit is hard."""
    if found.over_usd_d is None:
        return
    over = _between(found.stay_d, found.longest_d)
    price = _price(over, found.over_usd_d)
    days = {"stay": plain(found.stay_d, 1), "over": linked(plain(over.value or 0.0, 1), over)}
    yield Way(
        "longer_stay", say("clash.way.longer", limit=_limit(found.stays), **days, **_cost(price)), (price,)
    )


# ---------------------------------------------------------------- feed and head


def hay_way(
    scene: Scene, mob: MobState, begin: datetime, until: datetime | None, *, each: bool = False
) -> Iterator[Way]:
    """Yield the hay for the days between, in weight as eaten and in bales; by the day where no end is known.

    Parameters
    ----------
    each : bool
        Whether the days come again in every round.
    """
    needs = demand(on_grass(mob.lines), mob.id)
    if needs is None or not needs.value:
        return
    days = 1.0 if until is None else max(math.ceil((until - begin) / DAY - 1e-9), 1)
    kg = needs.value * days
    figure = Figure("clash_hay", kg, "kg", formula=f"{days:g} d × {needs.value:.4g} kg/d", parts=(needs,))
    amount = linked(shown(kg, "mass", scene.farm.units, 0), figure)
    store, bales = hay_store(scene), ""
    held: tuple[Figure, ...] = ()
    if store is not None and store.bale.eaten.value:
        count = math.ceil(kg / store.bale.eaten.value - 1e-9)
        eaten, there = store.bale.eaten, linked(plain(store.bales.value or 0.0), store.bales)
        whole = rounded_up(f"{kg:.5g} kg ÷ {eaten.value:.4g} kg")
        buys = Figure("clash_bales", count, "bales", formula=whole, parts=(figure, eaten))
        held = (buys, eaten, store.bales)
        bales = say("clash.way.bales", count=count, there=there)
    key = "hay_day" if until is None else "hay_round" if each else "hay"
    fields = {"days": f"{days:g}", "amount": amount, "bales": bales, "where": _feeding_words(scene)}
    yield Way("hay", say(f"clash.way.{key}", **fields), (figure, *held))


def _feeding_words(scene: Scene) -> str:
    """Return where hay may be fed: ground that the farm marked for it and that holds no trees."""
    own = [p.name for p in scene.farm.paddocks if p.sacrifice and not treed(scene.farm, p.id)]
    return say("clash.way.where", place=own[0]) if own else say("clash.way.where_open")


def fewer_head(scene: Scene, mob: MobState, bite: Bite, until: datetime | None) -> Iterator[Way]:
    """Yield how many head fewer the grass here would last for, if nothing grows, until a place is fit."""
    above = next((f for f in bite.figures if f.name == "grass_above"), None)
    needs = demand(on_grass(mob.lines), mob.id)
    if above is None or not above.value or needs is None or not needs.value or until is None:
        return
    days = (until - scene.now) / DAY
    lines = [line for line in on_grass(mob.lines) if line.head > 0]
    each = intake(lines[0]) if lines else None
    if each is None or not each.value:
        return
    head = math.ceil((needs.value - above.value / days) / each.value - 1e-9)
    if not 0 < head < lines[0].head:
        return
    formula = f"({needs.value:.4g} − {above.value:.4g} kg ÷ {days:.3g} d) ÷ {each.value:.3g} kg"
    figure = Figure("clash_head", head, "head", formula=formula, parts=(needs, above, each))
    day = day_words(scene.local(until).date())
    yield Way(
        "fewer",
        say(
            "clash.way.fewer",
            head=linked(str(head), figure),
            klass=class_words(lines[0].klass, head),
            day=day,
        ),
        (figure,),
    )


# ---------------------------------------------------------------- other places


def soonest(scene: Scene, first: Place, at: datetime) -> Iterator[Way]:
    """Yield the place that is fit first, and how many days before that the mob would come."""
    if first.fit_at is None:
        return
    days = (first.fit_at - at) / DAY
    figure = _between(days, 0.0)
    fields = {
        "place": _name(scene, first.paddock), "limit": _limit(first.limits[0]),
        "day": day_words(scene.local(first.fit_at).date()),
        "days": linked(plain(days, 0 if days >= 1 else 1), figure),
    }  # fmt: skip
    yield Way("soonest", say("clash.way.soonest", **fields), (figure,))


def open_way(scene: Scene, mob: MobState, others: Iterable[Place]) -> Iterator[Way]:
    """Yield what closed ground is closed by, and what it costs to go against it; it is not offered.

    A place opens when its reason is gone: that is for whoever shut it, the buyer or the vet to say.
    """
    shut: dict[str, list[str]] = {}
    for place in others:
        if place.state == "closed":
            shut.setdefault(place.limits[0], []).append(place.paddock)
    for limit, paddocks in shut.items():
        risk = _risk(scene, mob, limit, paddocks[0])
        names = list_words(_name(scene, p) for p in paddocks)
        yield Way("closed", say("clash.way.closed", places=names, limit=_limit(limit), risk=_after(risk)))


def _after(risk: str) -> str:
    return f" {risk}" if risk else ""


def _risk(scene: Scene, mob: MobState, limit: str, paddock: str) -> str:
    """Return what a limit says of a day in ground that it closes, in its own words."""
    found = next(one for one in known() if one.name == limit)
    late = [bite.late[0].risk for bite in found.bites(scene, mob, paddock) if bite.late]
    return late[0] if late else ""


def other_mobs(scene: Scene, mob: MobState, paddocks: Iterable[str]) -> Iterator[Way]:
    """Yield which other mobs every limit lets onto the paddocks now, and onto which."""
    for other in scene.mobs:
        if other.id == mob.id:
            continue
        fit = [p for p in paddocks if _fit_now(scene, other, p)]
        if fit:
            names = list_words(_name(scene, p) for p in fit)
            yield Way("other_mob", say("clash.way.other_mob", mob=other.name, places=names))


def _fit_now(scene: Scene, mob: MobState, paddock: str) -> bool:
    if not on_grass(mob.lines) or closed_by(scene, mob, scene.paddocks.index(paddock), scene.now):
        return False
    return all(r.moment is not None and r.moment.likely <= scene.now for r in ready(scene, mob.id, paddock))


# ---------------------------------------------------------------- a job


def in_passes(scene: Scene, mob: MobState, found: JobAgainst) -> Iterator[Way]:
    """Yield in how many stays the work fits: as long as the limit allows, and its rest between them."""
    if found.what == "rest" or (found.allowed_d <= 0 and found.what == "stay"):
        return
    m, p = scene.mobs.index(mob), scene.paddocks.index(found.job.paddock)
    own = [f for f in faces(scene) if f.longest_stay_d is not None]
    longest = min((float(f.longest_stay_d[m, p]) for f in own if f.longest_stay_d is not None),
                  default=math.inf)  # fmt: skip
    rest = max((float(f.rest_d[m, m]) for f in faces(scene) if f.rest_d is not None), default=0.0)
    if found.what == "stay":
        yield Way("shorter_stay", say("clash.way.shorter_stay", days=plain(found.allowed_d)))
        return
    left = found.asked_d - found.allowed_d
    ends_d = _ends_d(scene, found)
    if not math.isfinite(longest) or longest <= 0:
        if found.asked_d <= ends_d:
            yield Way("later", say("clash.way.later", days=plain(left, 1)))
        return
    passes = math.ceil(left / longest - 1e-9)
    fit = _times_back(ends_d - found.allowed_d, longest, rest)
    formula = f"({found.asked_d:.3g} − {found.allowed_d:.3g}) ÷ {longest:g}"
    figure = Figure("clash_passes", passes, "1", formula=formula)
    fields = {"stay": plain(longest), "rest": plain(rest, 0)}
    if passes <= fit:
        yield Way("passes", say("clash.way.passes", count=passes, **fields), (figure,))
        return
    fields["day"] = day_words(found.ends) if found.ends is not None else ""
    if not fit:
        yield Way("passes", say("clash.way.no_pass", **fields), (figure,))
        return
    yield Way("passes", say("clash.way.some_passes", count=int(fit), needed=passes, **fields), (figure,))


def _ends_d(scene: Scene, found: JobAgainst) -> float:
    """Return the days until a job is over or its mob goes home; infinite where neither is typed. [d]"""
    return (scene.midnight(found.ends) - scene.now) / DAY if found.ends is not None else math.inf


def _times_back(days: float, stay_d: float, rest_d: float) -> float:
    """Return how often a mob can come back within so many days, rest before each stay and each stay whole."""
    return math.floor(max(days, 0.0) / (rest_d + stay_d) + 1e-9) if math.isfinite(days) else math.inf


def more_head(mob: MobState, found: JobAgainst) -> Iterator[Way]:
    """Yield how many head would do the work in the days there are, each at the pace that was seen."""
    if found.what != "work" or found.allowed_d <= 0 or mob.head <= 0:
        return
    needed = math.ceil(mob.head * found.asked_d / found.allowed_d - 1e-9)
    parts = (found.figure,) if found.figure is not None else ()
    formula = f"{mob.head} × {found.asked_d:.3g} ÷ {found.allowed_d:.3g}"
    figure = Figure("clash_head_more", needed, "head", formula=formula, parts=parts)
    yield Way(
        "more_head", say("clash.way.more_head", needed=linked(str(needed), figure), head=mob.head), (figure,)
    )


def past_it(found: JobAgainst) -> Iterator[Way]:
    """Yield what going past the limit for the job's sake means; nothing where it is hard."""
    bite = found.bite
    if bite is not None and bite.hardness == "hard":
        return
    risk = bite.late[0].risk if bite is not None and bite.late else ""
    days = _between(max(found.asked_d, found.allowed_d), min(found.asked_d, found.allowed_d))
    told = linked(plain(days.value or 0.0, 1), days)
    fields = {"days": told, "limit": _limit(found.limit), "risk": _after(risk)}
    if found.usd_d is not None:
        price = _price(days, found.usd_d)
        yield Way("past", say("clash.way.past_cost", **fields, **_cost(price)), (price,))
    elif bite is not None:
        yield Way("past", say("clash.way.past", **fields), (days,))
