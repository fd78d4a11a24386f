"""The growths that somebody may count with: none, each that was typed, or what the weather makes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline.figures import Figure, typed
from browseline.limits import Scene
from browseline.limits.grass import undisturbed
from browseline.record.state import TypedGrowth
from browseline.sward import SwardNumbers
from browseline.sward.grow import growth_kg_ha_d
from browseline.words import linked, say

Array = NDArray[np.float64]
ROUNDING = 1e-9
"""Share of the herbage wanted that is no shortage. [1]"""


@dataclass(frozen=True)
class GrowthCase:
    """One growth to count with. ``until`` is the day from which it is not known (None: not said).

    ``typed`` is what somebody typed, None where nothing grows or the weather tells it. ``foreseen`` says that
    the sward itself foresees it day by day: ``kg_ha_d`` is then that of today alone.

    Attributes
    ----------
    kg_ha_d : array, shape (paddock,)
        [kg DM/ha/d]
    """

    label: str
    kg_ha_d: Array
    until: date | None = None
    typed: Figure | None = None
    foreseen: bool = False

    def days(self, today: date, last: date) -> int:
        """Return on how many days from today to ``last`` (not included) it grows. [d]"""
        end = last if self.until is None else min(last, self.until)
        return max((end - today).days, 0)


def no_growth(scene: Scene) -> GrowthCase:
    """Return the case in which not a leaf grows."""
    return GrowthCase(say("feed.case.none"), np.zeros(len(scene.herbage.paddocks)))


def from_store(scene: Scene) -> GrowthCase:
    """Return the case of mobs that live from the store: no grass counts."""
    return GrowthCase(say("feed.case.store"), np.zeros(len(scene.herbage.paddocks)))


def growth_cases(scene: Scene) -> tuple[GrowthCase, ...]:
    """Return no growth first, then what was typed (the slowest first) or what the weather makes.

    Growths that were typed on one day for the farm are cases side by side; those of a later day take
    their place. A growth typed for one paddock holds there in every case.
    """
    today, herbage = scene.days[0], scene.herbage
    in_force = [g for g in scene.state.growth if scene.local(g.since.start).date() <= today < g.until]
    grows = np.array([source == "weather" for source in herbage.growth_from], bool)
    base = np.where(grows, np.median(herbage.growth_kg_ha_d, axis=0), 0.0)
    cases = _typed_cases(scene, in_force, base)
    if not cases and grows.any():
        cases = [GrowthCase(say("feed.case.weather"), base, foreseen=True)]
    return (no_growth(scene), *sorted(cases, key=lambda c: float(c.kg_ha_d.sum())))


def _typed_cases(scene: Scene, in_force: list[TypedGrowth], base: Array) -> list[GrowthCase]:
    """Return the growths that somebody typed; those of one paddock alone are one case."""
    wide = _newest(scene, [g for g in in_force if g.paddock in ("", "farm")])
    own = [g for g in in_force if g.paddock not in ("", "farm")]
    if not wide:
        return [_case(scene, None, own, base)] if own else []
    return [_case(scene, g, own, base) for g in wide]


def _newest(scene: Scene, typed: list[TypedGrowth]) -> list[TypedGrowth]:
    days = [scene.local(g.since.start).date() for g in typed]
    return [g for g, day in zip(typed, days, strict=True) if day == max(days)]


def _case(scene: Scene, wide: TypedGrowth | None, own: list[TypedGrowth], base: Array) -> GrowthCase:
    numbers = scene.herbage.numbers
    rates = base.copy() if wide is None else np.array([growth_kg_ha_d(wide.growth, n) for n in numbers])
    for entry in own:
        i = scene.herbage.index(entry.paddock)
        rates[i] = growth_kg_ha_d(entry.growth, numbers[i])
    said = wide or own[-1]
    day, growth = scene.local(said.since.end).date(), said.growth
    figure = typed("growth_typed", float(growth.value), growth.unit, growth.text, as_of=day, who=said.who)
    label = say("feed.case.typed", growth=linked(growth.text, figure))
    return GrowthCase(label, rates, said.until, figure, foreseen=wide is None)


def first_pass(scene: Scene, numbers: SwardNumbers) -> Figure:
    """Return the height at which the first grazing of the year starts: the farm's, else the sward's. [cm]"""
    said = scene.farm.rules.first_pass
    if said is None:
        return numbers.enter_at
    return typed("first_pass", said.to("cm"), "cm", said.text)


def mass_ahead(scene: Scene, case: GrowthCase, which: list[int]) -> Array:
    """Return what stands on each day from today if no animal comes, as far as the growth is known.

    What the sward foresees is taken as it is, day by day; a growth that was typed for the farm goes on as it
    is until its last day.

    Parameters
    ----------
    which : list of int, shape (paddock,)
        Places on the herbage axis.

    Returns
    -------
    array, shape (day + 1, paddock)
        Of the middle member. [kg DM/ha]
    """
    if case.foreseen:
        return np.asarray(np.median(undisturbed(scene)[:, :, which], axis=0))
    mass = np.median(scene.herbage.mass_kg_ha[:, which], axis=0)
    known = case.days(scene.days[0], case.until or scene.days[0])
    return mass + np.arange(known + 1.0)[:, None] * case.kg_ha_d[which]


def start_day(scene: Scene, case: GrowthCase, which: list[int], area_ha: Array) -> date | None:
    """Return the day on which the mean height of paddocks reaches the height of the first pass, or None.

    None where it is not reached in the days for which the growth is known.

    Parameters
    ----------
    which : list of int, shape (paddock,)
        Places on the herbage axis.
    area_ha : array, shape (paddock,)
        [ha]
    """
    numbers = [scene.herbage.numbers[i] for i in which]
    wanted = np.array([n.mass_kg_ha(first_pass(scene, n).value or 0.0) for n in numbers])
    short_kg = ((wanted - mass_ahead(scene, case, which)) * area_ha).sum(axis=1)
    there = np.flatnonzero(short_kg <= ROUNDING * float((wanted * area_ha).sum()))
    return scene.days[0] + timedelta(days=int(there[0])) if len(there) else None
