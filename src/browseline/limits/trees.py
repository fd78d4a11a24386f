"""Trees: expected bites on trees in reach pass what the farm accepts; looks on this farm update the rate.

The book's share a year is spread over the days among trees, twice as fast where the kind likes the
species and once the sward is short; both factors are placeholders. Season and wet ground change it
too, but no number is known, so none is counted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm.herd_words import animals_words
from browseline.farm.needs import demand
from browseline.farm.records import Planting
from browseline.figures import Figure, typed
from browseline.limits._prices import price_usd
from browseline.limits._reach import Judged, judged, largest, of_kind, rows_for, tall
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Scene
from browseline.readings import StayLook, fell, looked_limit_d, stay_looks, taught_rate, tree_shares
from browseline.record.state import MobState
from browseline.science import grazing
from browseline.sward import grazed_everywhere, share_eaten
from browseline.tables import Row
from browseline.units import factor, shown
from browseline.words import say

Array = NDArray[np.float64]
ANY = "any kind"
DAY = timedelta(days=1)
FAST_D = 0.5
BOOK = "sheep"


@dataclass(frozen=True, slots=True)
class Exposed:
    """One planting under one kind: what is accepted, the rate, the longest stays, the looks that count.

    ``passed`` is the look, of any stay, that found too many bitten after the fewest days; ``here`` the
    last look of the stay that goes on.
    """

    judged: Judged
    accepted: Figure
    rate: Figure | None
    cap: Figure | None
    passed: StayLook | None
    passed_d: float
    here: StayLook | None

    @property
    def planting(self) -> Planting:
        """Return the planting."""
        return self.judged.standing.planting

    @property
    def over(self) -> bool:
        """Return whether a look of the stay that goes on found more than is accepted."""
        return self.here is not None and self.here.share > (self.accepted.value or 0.0)

    @property
    def rule_d(self) -> float:
        """Return the longest stay by the kind's row and by looks; infinite where neither says. [d]"""
        row = self.cap.value if self.cap is not None and self.cap.value is not None else np.inf
        return float(min(row, self.passed_d))


def accepted(planting: Planting) -> Figure:
    """Return the share of leaders that the farm accepts bitten: typed, else the published worst year. [1]"""
    said = planting.accepted_bitten
    if said is not None:
        return typed("accepted_bitten", said.to("1"), "1", said.text, about=planting.id)
    year = tables.row("browsing", "bitten_a_year", BOOK)
    each = factor(year.unit, "1")
    high = each * (year.high or year.middle())
    return Figure(
        "accepted_bitten", high, "1", each * (year.low or 0.0), high,
        parts=(year.figure("bitten_a_year", BOOK),), about=planting.id,
    )  # fmt: skip


def _exposed(scene: Scene, mob: MobState, paddock: str) -> tuple[Exposed, ...]:
    """Return what stands in reach of a mob in a paddock, by planting and kind."""
    return scene.once(
        ("trees", mob.id, paddock),
        lambda: tuple(_expose(scene, mob, j) for j in judged(scene, mob, paddock) if j.verdict != "clear"),
    )


def _expose(scene: Scene, mob: MobState, one: Judged) -> Exposed:
    planting, kind = one.standing.planting, one.kind
    needs = _needs(scene, mob)
    eating = needs.value if needs is not None else None
    most = accepted(planting)
    liked = f"{kind}, {planting.species}" in tables.applies("browsing", "liked")
    risk = tables.row("browsing", "liked_risk", ANY).figure("liked_risk", kind) if liked else None
    every = scene.once(("stay looks", planting.id), lambda: stay_looks(scene.state, planting))
    looks = [s for s in every if kind in s.kinds]
    over = [s for s in looks if s.share > (most.value or 0.0)]
    passed = min(over, key=lambda s: looked_limit_d(s, eating), default=None)
    own = of_kind("browsing", "stay_among_trees", kind)
    here = [s for s in looks if s.stay.mob == mob.id and s.stay.end is None and mob.place == s.stay.place]
    return Exposed(
        one, most, taught_rate(looks, planting, kind, eating, risk),
        own[0].figure("stay_among_trees", kind) if own else None,
        passed, looked_limit_d(passed, eating) if passed is not None else np.inf,
        here[-1] if here else None,
    )  # fmt: skip


def _needs(scene: Scene, mob: MobState) -> Figure | None:
    return scene.once(("trees needs", mob.id), lambda: demand(mob.lines, mob.id))


# ---------------------------------------------------------------- when it bites


def _short_in_d(scene: Scene, mob: MobState) -> Array:
    """Return the days until each paddock's sward is short under a mob, shape (member, paddock). [d]"""
    return scene.once(("trees short", mob.id), lambda: _make_short(scene, mob))


def _make_short(scene: Scene, mob: MobState) -> Array:
    herbage, needs = scene.herbage, _needs(scene, mob)
    if needs is None or not needs.value:
        return np.full(herbage.mass_kg_ha.shape, np.inf)
    low_cm = tables.row("browsing", "short_sward", ANY).middle()
    floor = np.array([n.mass_kg_ha(low_cm) for n in herbage.numbers])
    eaten = np.array([share_eaten(n, 1.0).value or 1.0 for n in herbage.numbers])
    mass = grazed_everywhere(herbage, needs.value, eaten)
    days = grazing.crossing_d(np.moveaxis(mass, 1, 2), np.broadcast_to(floor, herbage.mass_kg_ha.shape))
    return np.where(herbage.read, days, np.inf)


def _days_left(left: float, rate_per_d: float, short_in_d: Array) -> Array:
    """Return the days until a share is bitten, faster once the sward is short, shape (member,). [d]"""
    if rate_per_d <= 0:
        return np.full(short_in_d.shape, np.inf)
    times = tables.row("browsing", "short_sward_risk", ANY).middle()
    plain = left / rate_per_d
    before = np.where(np.isfinite(short_in_d), short_in_d, np.inf)
    rest = np.where(before < plain, (left - rate_per_d * np.minimum(before, plain)) / (rate_per_d * times), 0)
    return np.minimum(plain, before) + rest


def _moment(scene: Scene, mob: MobState, paddock: str, one: Exposed) -> Moment | None:
    """Return when one planting's limit bites; None where nothing is known of the kind's biting."""
    begin = scene.begin(mob, paddock)
    if one.over and one.here is not None:
        seen = one.here.look.at.end
        return Moment.at(min(seen, begin + timedelta(days=one.rule_d)) if np.isfinite(one.rule_d) else seen)
    ends = _by_rate(scene, mob, paddock, one, begin)
    if not np.isfinite(one.rule_d):
        return ends
    by_rule = begin + timedelta(days=one.rule_d)
    if ends is None:
        return Moment.at(by_rule)
    likely = min(ends.likely, by_rule)
    return Moment(min(ends.earliest, likely), likely, max(min(ends.latest, by_rule), likely))


def _by_rate(scene: Scene, mob: MobState, paddock: str, one: Exposed, begin: datetime) -> Moment | None:
    """Return when the expected share passes what is accepted, counted on from the last look of the stay."""
    rate = one.rate
    if rate is None or rate.value is None:
        return None
    most = one.accepted.value or 0.0
    so_far, start = (one.here.share, one.here.look.at.end) if one.here is not None else (0.0, begin)
    short = _short_in_d(scene, mob)[:, scene.herbage.index(paddock)]
    since = max((scene.now - start) / DAY, 0.0)
    ends: list[datetime] = []
    for per_d, share in ((rate.high, 0.1), (rate.value, 0.5), (rate.low, 0.9)):
        pace = per_d if per_d is not None else rate.value
        left = most - so_far - pace * since
        if left <= 0:
            ends.append(start + (most - so_far) / pace * DAY)
            continue
        days = float(np.quantile(_days_left(left, pace, short), share, method="closest_observation"))
        ends.append(scene.now + min(days, float(10 * scene.herbage.horizon_d)) * DAY)
    first, likely, last = sorted(ends)
    return Moment(first, likely, last)


# ---------------------------------------------------------------- what a person reads


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    found = []
    for one in _exposed(scene, mob, paddock):
        moment = _moment(scene, mob, paddock, one)
        if moment is not None:
            found.append((moment, one))
    if not found:
        return _ask(scene, mob, paddock)
    moment, one = min(found, key=lambda pair: (pair[0].likely, pair[1].planting.id))
    return [_bite(scene, mob, paddock, moment, one)]


def _ask(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    """Return the question of a kind whose rate of biting no table knows, where trees are near its reach."""
    near = [one for one in _exposed(scene, mob, paddock) if one.judged.verdict == "watch"]
    if not near:
        return []
    told = {"trees": near[0].planting.name, "kind": animals_words(near[0].judged.kind)}
    because, do = say("limits.trees.rate_not_known", **told), say("limits.trees.rate_not_known_do")
    return [Bite("trees", mob.id, paddock, None, "question", because, do, near[0].judged.figures)]


def _bite(scene: Scene, mob: MobState, paddock: str, moment: Moment, one: Exposed) -> Bite:
    key = "over" if one.over else "looked" if np.isfinite(one.passed_d) else "because"
    fields = _fields(scene, one)
    because = [say(f"limits.trees.{key}", **fields)]
    if one.rate is None and key == "because":
        because = [say("limits.trees.cap", **fields)]
    if one.judged.why == "guard_partly":
        because.append(say("limits.young.guard_partly", **fields))
    do = [say("limits.trees.move_now" if one.over else "limits.trees.do")]
    if one.passed is not None:
        because += _too_fast(scene, mob, paddock)
        because.append(say("limits.trees.relish", **fields))
        do += [_new_limit(one, fields), *_guards(one)]
    return Bite(
        "trees", mob.id, paddock, moment, "hard", " ".join(because), " ".join(do), _figures(one),
        _late(one), moment.likely, say("limits.trees.short", **fields), reserve=("B",),
    )  # fmt: skip


def _new_limit(one: Exposed, fields: Mapping[str, str]) -> str:
    """Return the stay that a look left; one shorter than the time to the next look is told in hours."""
    hours = one.rule_d * factor("d", "h")
    if hours > _look_after_h():
        return say("limits.trees.new_limit", **fields)
    return say("limits.trees.new_limit_hours", **fields, count=max(int(hours), 1))


def _look_after_h() -> float:
    """Return after how long trees in reach are looked at again. [h]"""
    return tables.row("browsing", "look_after", "trees in reach").middle() * factor("d", "h")


def _percent(share: float | None) -> str:
    return f"{100 * (share or 0.0):.3g}"


def _fields(scene: Scene, one: Exposed) -> dict[str, str]:
    """Return what the sentences of this limit name."""
    year = tables.row("browsing", "bitten_a_year", BOOK)
    clear = largest("clear_height", one.judged.kind)
    stay = one.rule_d if np.isfinite(one.rule_d) else _plain_d(one)
    place = scene.paddock(one.planting.paddock or "")
    fields = {
        "trees": one.planting.name,
        "guard": one.judged.standing.guard,
        "kind": animals_words(one.judged.kind),
        "paddock": place.name if place is not None else "",
        "accepted": _percent(one.accepted.value),
        "year": f"{year.low:g}-{year.high:g}",
        "clear": tall(clear.value or 0.0, scene.farm.units) if clear is not None else "",
        "stay": f"{stay:.1f}".removesuffix(".0"),
        "hours": f"{_look_after_h():.0f}",
        "rate": _percent(one.rate.value) if one.rate is not None else "",
    }
    seen = one.here if one.over else one.passed
    return fields | (_shares(seen) if seen is not None else {})


def _shares(seen: StayLook) -> dict[str, str]:
    """Return what a look found, with the intervals of its shares."""
    out = {"seen": str(seen.look.seen)}
    for name, found in (("bitten", seen.look.bitten), ("barked", seen.look.barked)):
        share = tree_shares(seen.look.seen, found or 0, name)
        out |= {
            name: str(found or 0),
            f"{name}_share": f"{100 * (share.value or 0):.1f}",
            f"{name}_low": f"{100 * (share.low or 0):.0f}",
            f"{name}_high": f"{100 * (share.high or 0):.0f}",
        }
    return out


def _too_fast(scene: Scene, mob: MobState, paddock: str) -> list[str]:
    """Return that the sward fell faster than the mob eats, where two heights of the stay say so."""
    place = scene.paddock(paddock)
    fall = fell(scene.farm, scene.state, mob, place) if place is not None else None
    if fall is None or fall.fast_d < FAST_D:
        return []
    units = scene.farm.units
    start, now, expected = (
        shown(x, "length", units, 2) for x in (fall.start_cm, fall.now_cm, fall.expected_cm)
    )
    return [
        say("limits.trees.too_fast", start=start, now=now, expected=expected, worth=f"{fall.worth_d:.1f}",
            fast=f"{fall.fast_d:.1f}")
    ]  # fmt: skip


def guard_cost(one: Planting, trees: int) -> Figure:
    """Return what home-made guards for so many trees cost, at a dated price. [USD]"""
    price = tables.row("browsing", "guard_price", "wire cage, home made")
    formula = f"{trees} × {price.middle():.2f} USD"
    return Figure(
        "guard_cost", trees * price.middle(), "USD", formula=formula, parts=(price.figure("guard_price"),),
        about=one.id,
    )  # fmt: skip


def _guards(one: Exposed) -> list[str]:
    count = one.judged.standing.bare
    if not count:
        return []
    row = tables.row("browsing", "guard_price", "wire cage, home made")
    cost = guard_cost(one.planting, count)
    year = row.note.partition(";")[0]
    return [
        say("limits.trees.guards", trees=count, each=f"{row.middle():.2f}", total=f"{cost.value:,.0f}",
            year=year)
    ]  # fmt: skip


def _figures(one: Exposed) -> tuple[Figure, ...]:
    out = [one.accepted, *([one.rate] if one.rate is not None else []), *([one.cap] if one.cap else [])]
    seen = one.here if one.over else one.passed
    if seen is not None:
        found = (("bitten", seen.look.bitten), ("barked", seen.look.barked))
        out += [tree_shares(seen.look.seen, n or 0, name, one.planting.id) for name, n in found]
    if one.passed is not None and one.judged.standing.bare:
        out.append(guard_cost(one.planting, one.judged.standing.bare))
    return (*out, *one.judged.figures)


def _late(one: Exposed) -> tuple[Late, ...]:
    """Return how many more trees one, two, three days late are expected to cost."""
    count, rate = one.judged.standing.bare, one.rate
    if not count or rate is None or rate.value is None:
        return tuple(Late(n, risk=say("limits.trees.late_unknown", count=n)) for n in (1, 2, 3))
    out = []
    for days in (1, 2, 3):
        low, mean, high = (
            count * min((r if r is not None else rate.value) * days, 1.0)
            for r in (rate.low, rate.value, rate.high)
        )
        trees = Figure(
            "trees_bitten", mean, "trees", low, high, formula=f"{count} × {rate.value:.3g} × {days} d",
            parts=(rate,), about=one.planting.id,
        )  # fmt: skip
        told = say("limits.trees.late", count=days, low=f"{low:.0f}", high=f"{high:.0f}")
        out.append(Late(days, trees_bitten=trees, risk=told))
    return tuple(out)


# ---------------------------------------------------------------- the planner


def _plain_d(one: Exposed) -> float:
    """Return the stay after which the expected share is what is accepted, on a tall sward. [d]"""
    rate = one.rate.value if one.rate is not None else None
    return (one.accepted.value or 0.0) / rate if rate else float(np.inf)


def _face(scene: Scene) -> Face:
    """Return the longest stays among trees in reach; a day beyond is priced, for looks may shorten it."""
    longest = np.full((len(scene.mobs), len(scene.paddocks)), np.inf)
    for m, mob in enumerate(scene.mobs):
        for p, paddock in enumerate(scene.paddocks):
            stays = [min(_plain_d(one), one.rule_d) for one in _exposed(scene, mob, paddock)]
            longest[m, p] = min(stays, default=np.inf)
    if not np.isfinite(longest).any():
        return Face()
    return Face(longest_stay_d=longest, over_stay_usd_d=price_usd(scene.farm, "yard_day"))


def _rows(kind: str) -> tuple[Row, ...]:
    own = [row for key in ("bitten_a_year", "stay_among_trees") for row in of_kind("browsing", key, kind)]
    if not own:
        return ()
    spread = [tables.row("browsing", key, ANY) for key in ("grazed_among_trees", "book_weight", "short_sward",
                                                           "short_sward_risk", "liked_risk")]  # fmt: skip
    return (*rows_for(kind), *own, *(spread if of_kind("browsing", "bitten_a_year", kind) else ()),
            *of_kind("browsing", "liked", kind))  # fmt: skip


LIMIT = Limit("trees", _bites, _face, rows=_rows)
