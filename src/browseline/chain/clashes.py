"""Clashes of a mob in words: which limits contradict each other, with what numbers, and the ways out.

What contradicts what is found by the limits' one form (``limits/_clash.py``). No way out is chosen here:
each is told with what it takes or costs, and what the keeper does with it is the keeper's.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator
from datetime import datetime

from browseline.chain.ways import (
    fewer_head,
    go_back_now,
    hay_way,
    in_passes,
    longer_stays,
    more_head,
    open_way,
    other_mobs,
    past_it,
    run_together,
    shorter_rest,
    soonest,
    split_paddocks,
)
from browseline.farm.needs import water
from browseline.figures import Figure
from browseline.ledger.facts import counted
from browseline.limits import Clash, Scene, Way
from browseline.limits._clash import (
    DAY,
    OWN,
    Apart,
    JobAgainst,
    NoWay,
    TooLong,
    apart,
    job_against,
    no_way,
    too_long,
)
from browseline.limits._places import Place
from browseline.record.state import MobState
from browseline.units import plain, shown
from browseline.words import day_words, list_words, say, time_words


def clashes(scene: Scene, mob: MobState, promised: Collection[str] = ()) -> tuple[Clash, ...]:
    """Return every clash of a mob: no place to go first, then its job, rest against stay, grass.

    Parameters
    ----------
    promised : collection of str
        Paddocks to which other mobs go that must leave as soon.
    """
    found = [_nowhere(scene, mob, one) for one in no_way(scene, mob, promised)]
    found += [_job(scene, mob, one) for one in job_against(scene, mob)]
    long = too_long(scene, mob)
    found += [_too_long(scene, mob, long)] if long is not None else []
    found += [_apart(scene, mob, one) for one in apart(scene, mob)]
    return tuple(found)


def limit_name(limit: str) -> str:
    """Return what people call a limit."""
    return say(f"limits.{limit}.name")


def place_name(scene: Scene, ident: str) -> str:
    """Return what people call a paddock."""
    found = scene.paddock(ident)
    return found.name if found is not None else ident


def _names(scene: Scene, idents: Iterable[str]) -> str:
    return list_words(place_name(scene, p) for p in idents)


def _when(scene: Scene, at: datetime) -> str:
    """Return *now*, or *by* the time."""
    if at <= scene.now:
        return say("chain.today.now")
    return say("chain.today.by", time=time_words(scene.local(at), scene.local(scene.now).date()))


# ---------------------------------------------------------------- nowhere to go


def _nowhere(scene: Scene, mob: MobState, found: NoWay) -> Clash:
    limits = tuple(dict.fromkeys((found.bite.limit, *(x for p in found.others for x in p.limits))))
    fields = {
        "limit": limit_name(found.bite.limit), "mob": mob.name, "time": _when(scene, found.at),
        "why": " ".join(_why_not(scene, found.others)), "places": _names(scene, found.eased),
    }  # fmt: skip
    if found.eased:
        ways = tuple(_eased_ways(scene, mob, found))
        return Clash("shut_in", mob.id, limits, say("clash.shut_in", **fields), ways, found.bite.figures)
    says = say("clash.nowhere", count=len(found.others), **fields)
    figures = (*found.bite.figures, counted("paddocks_other", len(found.others), "paddocks", about=mob.id))
    return Clash("nowhere", mob.id, limits, says, tuple(_nowhere_ways(scene, mob, found)), figures)


def _why_not(scene: Scene, others: tuple[Place, ...]) -> Iterator[str]:
    """Yield why the other places are not fit, those of one reason together."""
    by_limit: dict[tuple[str, str], list[Place]] = {}
    for place in others:
        key = (place.state, place.limits[0] if place.limits and place.state != "taken" else "")
        by_limit.setdefault(key, []).append(place)
    for (state, limit), places in by_limit.items():
        names = _names(scene, (p.paddock for p in places))
        if not limit:
            yield say(f"clash.why.{state}", places=names)
            continue
        dates = sorted(p.fit_at for p in places if p.fit_at is not None)
        how = "waits_until" if state == "waits" and dates else state
        day = day_words(scene.local(dates[0]).date()) if dates else ""
        yield say(f"clash.why.{how}", places=names, limit=limit_name(limit), day=day)


def _nowhere_ways(scene: Scene, mob: MobState, found: NoWay) -> Iterator[Way]:
    first = found.first
    if first is not None:
        yield from soonest(scene, first, found.at)
    until = first.fit_at if first is not None else None
    yield from hay_way(scene, mob, found.at, until)
    yield from fewer_head(scene, mob, found.bite, until)
    yield from open_way(scene, mob, found.others)
    if found.bite.late:
        yield Way("stay", say("clash.way.stay", late=found.bite.late[0].risk))


def _eased_ways(scene: Scene, mob: MobState, found: NoWay) -> Iterator[Way]:
    yield Way("here", say("clash.way.here", act=found.bite.do, drink=_drink(scene, mob)), found.bite.figures)
    first = found.first
    if first is not None:
        yield from soonest(scene, first, found.at)
    yield from open_way(scene, mob, found.others)
    if found.bite.late:
        yield Way("stay", say("clash.way.stay", late=found.bite.late[0].risk))


def _drink(scene: Scene, mob: MobState) -> str:
    hot = water(mob.lines, hot=True, about=mob.id)
    if hot is None or hot.value is None:
        return ""
    return say("clash.way.drink", amount=shown(hot.value, "water use", scene.farm.units))


# ---------------------------------------------------------------- rest against stay


def _too_long(scene: Scene, mob: MobState, found: TooLong) -> Clash:
    parts = (
        Figure("clash_rest", found.rest_d, "d", about=mob.id, formula=limit_name(found.rests)),
        Figure("clash_stay", found.longest_d, "d", about=mob.id, formula=limit_name(found.stays)),
        counted("paddocks_open", found.open_, "paddocks", about=mob.id),
        counted("groups", found.groups, "1", about=mob.id),
    )
    shared = f" × {found.groups}" if found.groups > 1 else ""
    formula = f"{found.rest_d:.3g} d{shared} ÷ ({found.open_} − {found.groups})"
    stay = Figure("stay", found.stay_d, "d", formula=formula, parts=parts, about=mob.id)
    key = "too_long" if found.groups == 1 else "too_long_shared"
    says = say(
        f"clash.{key}", rests=limit_name(found.rests), rest=plain(found.rest_d, 0), paddocks=found.open_,
        groups=found.groups, stay=plain(found.stay_d, 1), stays=limit_name(found.stays), mob=mob.name,
        longest=plain(found.longest_d),
    )  # fmt: skip
    ways = (
        *split_paddocks(scene, found),
        *run_together(scene, mob, found),
        *_hay_in_rounds(scene, mob, found),
        *shorter_rest(found),
        *longer_stays(found),
    )
    limits = tuple(dict.fromkeys((found.rests, found.stays)))
    return Clash("too_long", mob.id, limits, says, ways, (stay,))


def _hay_in_rounds(scene: Scene, mob: MobState, found: TooLong) -> Iterator[Way]:
    """Yield the days of each round that the mob would live off its paddocks, and the hay for them."""
    days = found.rest_d - found.rest_left_d
    yield from hay_way(scene, mob, scene.now, scene.now + math.ceil(days) * DAY, each=True)


# ---------------------------------------------------------------- wanted and rested


def _apart(scene: Scene, mob: MobState, found: Apart) -> Clash:
    first, last = (day_words(scene.local(scene.now + d * DAY).date())
                   for d in (min(found.days), max(found.days)))  # fmt: skip
    days = first if first == last else say("clash.apart_days", first=first, last=last)
    figures: list[Figure] = []
    for rest in (found.wants_d, found.holds_d):
        limit = found.wants if rest is found.wants_d else found.holds
        if rest is not None:
            figures.append(Figure("clash_rest", rest, "d", about=mob.id, formula=limit_name(limit)))
    key = "apart" if found.wants_d is not None and found.holds_d is not None else "apart_dates"
    says = say(
        f"clash.{key}", wants=limit_name(found.wants), holds=limit_name(found.holds), mob=mob.name,
        places=_names(scene, found.paddocks), days=days,
        short=plain(found.wants_d or 0.0, 0), long=plain(found.holds_d or 0.0, 0),
    )  # fmt: skip
    ways = (
        *_cut(scene, found),
        *other_mobs(scene, mob, found.paddocks),
        *go_back_now(found),
    )
    return Clash("apart", mob.id, (found.wants, found.holds), says, ways, tuple(figures))


def _cut(scene: Scene, found: Apart) -> Iterator[Way]:
    """Yield that the paddocks can be cut before they get old: how much stands above what is left."""
    kg = 0.0
    for paddock in found.paddocks:
        i = scene.herbage.index(paddock)
        numbers = scene.herbage.numbers[i]
        mass = sorted(scene.herbage.mass_kg_ha[:, i])[scene.herbage.members // 2]
        above = float(mass) - numbers.mass_kg_ha(numbers.leave_at.value or 0.0)
        kg += max(above, 0.0) * float(scene.herbage.land.area_ha[i])
    figure = Figure("clash_cut", kg, "kg", formula=f"{len(found.paddocks)} × area × height above leave-at")
    amount = shown(kg, "mass", scene.farm.units, 0)
    yield Way("cut", say("clash.way.cut", amount=amount), (figure,))


# ---------------------------------------------------------------- a job


def _job(scene: Scene, mob: MobState, found: JobAgainst) -> Clash:
    says = say(
        f"clash.job_{found.what}", job=found.job.name, limit=limit_name(found.limit), mob=mob.name,
        asked=plain(found.asked_d, 1), allowed=plain(found.allowed_d, 1),
        when=_when(scene, scene.now + found.allowed_d * DAY),
    )  # fmt: skip
    ways = [*in_passes(scene, mob, found), *more_head(mob, found), *past_it(found)]
    own = say("limits.job.name")
    figures = (
        found.figure or Figure("clash_days", found.asked_d, "d", formula=own),
        Figure("clash_days", found.allowed_d, "d", formula=limit_name(found.limit)),
    )
    return Clash(f"job_{found.what}", mob.id, (OWN, found.limit), says, tuple(ways), figures)
