"""Feed over a stretch of days: what is needed, what grass and store hold, what is short in each growth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from browseline.figures import Figure
from browseline.ledger.ahead import OpenGround, open_ground, open_today
from browseline.ledger.growth import GrowthCase, from_store, growth_cases
from browseline.ledger.hay import (
    Bale,
    HayStore,
    Lasting,
    Span,
    hay_store,
    lasting,
    requirement,
    spans,
    whole_bales,
)
from browseline.limits import Scene
from browseline.record.state import MobState

PROMISE = "feed"


@dataclass(frozen=True)
class Balance:
    """One growth over the stretch: need less grass, growth and store.

    ``short`` below 0 is a spare. ``grass_lasts`` and ``all_last`` are None where growth keeps up.
    """

    case: GrowthCase
    over: tuple[Span, ...]
    need: Figure
    grass: Figure
    grown: Figure
    store: Figure
    short: Figure
    grass_lasts: Lasting | None
    all_last: Lasting | None

    @property
    def short_kg(self) -> float:
        """Return what is missing as eaten; below 0 what is spare. [kg DM]"""
        return self.short.value or 0.0

    def bales(self, bale: Bale | None) -> int | None:
        """Return the bales to buy, rounded up; None where no bale is described."""
        return whole_bales(self.short_kg, bale) if bale is not None else None


@dataclass(frozen=True)
class Ground:
    """What the scene holds to eat: open grass if any mob is on grass, and the store."""

    scene: Scene
    mobs: tuple[MobState, ...]
    ground: OpenGround
    grass: Figure
    store: HayStore | None
    cases: tuple[GrowthCase, ...]

    def grown_kg_d(self, case: GrowthCase) -> float:
        """Return what a case grows a day on the open paddocks, as eaten. [kg DM/d]"""
        return float(self.ground.grown_kg_d(case.kg_ha_d[self.ground.which])) if self.ground.which else 0.0


def on_grass(scene: Scene) -> bool:
    """Return whether any mob stands in a paddock: then grass counts, else they live from the store."""
    return any(mob.place in scene.paddocks for mob in scene.mobs)


def ground(scene: Scene) -> Ground:
    """Return what there is to eat today."""
    counted = open_today(scene)[1] if on_grass(scene) else []
    land = open_ground(scene, counted)
    mass = np.median(land.mass_kg_ha, axis=0) if counted else np.zeros(0)
    standing = float(land.feed_kg(mass)) if counted else 0.0
    heights = tuple(f for i in counted if (f := scene.herbage.heights[i]) is not None)
    grass = Figure(
        "grass_above", standing, "kg", parts=heights, formula=f"{len(counted)} × area × height × share"
    )
    cases = growth_cases(scene) if counted else (from_store(scene),)
    return Ground(scene, scene.mobs, land, grass, hay_store(scene), cases)


def last_day(scene: Scene) -> date | None:
    """Return the day up to which the farm said that feed must last, or None."""
    today = scene.days[0]
    ends = [p.to_day for p in scene.farm.promises if p.kind == PROMISE and p.from_day <= today < p.to_day]
    return max(ends) if ends else None


def balances(there: Ground, last: date, mobs: Sequence[MobState] | None = None) -> tuple[Balance, ...]:
    """Return the balance from today to ``last`` in every growth; empty if the need is not known."""
    over = spans(there.scene, there.mobs if mobs is None else mobs, last)
    return tuple(_balance(there, case, over, last) for case in there.cases) if over else ()


def _balance(there: Ground, case: GrowthCase, over: tuple[Span, ...], last: date) -> Balance:
    today, rate = there.scene.days[0], there.grown_kg_d(case)
    days = case.days(today, last)
    need = requirement(over)
    grown = Figure(
        "grass_grown", rate * days, "kg", formula=f"{days} d × {rate:.4g} kg/d", about=str(case.label),
        parts=(case.typed,) if case.typed is not None else (),
    )  # fmt: skip
    nothing = Figure("hay_eaten", 0.0, "kg", formula="0")
    store = there.store.eaten if there.store is not None else nothing
    parts = (need, there.grass, grown, store)
    needed, *held = (f.value or 0.0 for f in parts)
    short = Figure(
        "feed_short", needed - sum(held), "kg", parts=parts,
        formula=" − ".join(f"{part.value:.5g} kg" for part in parts),
    )  # fmt: skip
    formula = f"{held[0]:.5g} kg + {held[2]:.5g} kg"
    both = Figure("feed_there", held[0] + held[2], "kg", parts=(there.grass, store), formula=formula)
    grass_lasts, all_last = (lasting(f, over, rate, case.until) for f in (there.grass, both))
    return Balance(case, over, need, there.grass, grown, store, short, grass_lasts, all_last)


def grass_days(scene: Scene, there: Ground, case: GrowthCase, mobs: Sequence[MobState]) -> Lasting | None:
    """Return for how long the open grass lasts under other mobs, at what they need today."""
    over = spans(scene, mobs, scene.days[0] + timedelta(days=1))
    return lasting(there.grass, over, there.grown_kg_d(case)) if over else None
