"""Grass ahead: for how many days the open paddocks feed all mobs.

One meaning everywhere: days = sum of area x (height - leave) x mass per height x share eaten, over
demand less what growth gives. Told twice: with no growth, and with growth as typed or as the members
grow, today's growth counted for ``FAR_D`` days at most; and always which paddocks were left out, and why.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from browseline.farm.needs import demand, on_grass
from browseline.figures import Figure
from browseline.limits import Scene, faces
from browseline.science.stocking import grass_ahead_d
from browseline.sward import leave_at, share_eaten
from browseline.words import say

Array = NDArray[np.float64]
PLANNED_STAY_D = 4.0
FAR_D = 120.0
"""Days for which the growth of today is counted at most: beyond them nobody knows it. [d]"""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A paddock by its name that does not count today, and why in words."""

    paddock: str
    because: str


@dataclass(frozen=True, slots=True)
class GrassAhead:
    """Days of grass ahead. ``growing`` is None where growth is not known."""

    still: Figure | None
    growing: Figure | None
    demand: Figure | None
    grass: Figure
    growth: Figure | None
    left_out: tuple[LeftOut, ...]


def grass_ahead(scene: Scene) -> GrassAhead:
    """Return the days of grass ahead of all mobs together, on today's open paddocks.

    The likely value is the formula on each paddock's middle herbage; the range is that of the members.
    """
    left_out, counted = open_today(scene)
    needs = demand(on_grass(tuple(line for mob in scene.mobs for line in mob.lines)), "all")
    ground = open_ground(scene, counted)
    grass = _grass(scene, ground)
    if needs is None or not needs.value:
        return GrassAhead(None, None, needs, grass, None, left_out)
    still = _days(ground, grass, needs, None)
    growth = _growth(scene, ground)
    grows = growth if grass.value else None  # what stands at the height to leave feeds nobody, growing or not
    growing = _days(ground, grass, needs, grows) if growth is not None else None
    return GrassAhead(still, growing, needs, grass, growth, left_out)


@dataclass(frozen=True)
class OpenGround:
    """The open paddocks: area and share eaten (paddock,), herbage and growth (member, paddock)."""

    which: list[int]
    area_ha: Array
    share: Array
    leave_kg_ha: Array
    mass_kg_ha: Array
    growth_kg_ha_d: Array

    def feed_kg(self, mass_kg_ha: Array) -> Array:
        """Return what is there to eat above the heights to leave. [kg DM]"""
        above = np.maximum(mass_kg_ha - self.leave_kg_ha, 0.0)
        return np.asarray((above * self.area_ha * self.share).sum(axis=-1))

    def grown_kg_d(self, growth_kg_ha_d: Array) -> Array:
        """Return what grows a day, as eaten. [kg DM/d]"""
        return np.asarray((growth_kg_ha_d * self.area_ha * self.share).sum(axis=-1))


def open_ground(scene: Scene, counted: list[int]) -> OpenGround:
    """Return the paddocks at those places of the herbage axis, as all mobs together would graze them."""
    herbage = scene.herbage
    kinds = {line.kind for mob in scene.mobs for line in mob.lines}
    own = [herbage.numbers[i] for i in counted]
    return OpenGround(
        counted,
        herbage.land.area_ha[counted],
        np.array([share_eaten(n, PLANNED_STAY_D).value or 0.0 for n in own]),
        np.array([n.mass_kg_ha(leave_at(n, kinds).value or 0.0) for n in own]),
        herbage.mass_kg_ha[:, counted],
        herbage.growth_kg_ha_d[:, counted],
    )


def open_today(scene: Scene) -> tuple[tuple[LeftOut, ...], list[int]]:
    """Return the paddocks left out, and the places of the others on the herbage axis."""
    left_out, counted = [], []
    closed = _closed_today(scene)
    for i, paddock in enumerate(scene.herbage.paddocks):
        if i in closed:
            left_out.append(LeftOut(name(scene, paddock), closed[i]))
        elif not scene.herbage.read[i]:
            left_out.append(LeftOut(name(scene, paddock), say("ledger.ahead.not_read")))
        else:
            counted.append(i)
    return tuple(left_out), counted


def name(scene: Scene, paddock: str) -> str:
    """Return what people call a paddock."""
    found = scene.paddock(paddock)
    return found.name if found else paddock


def _closed_today(scene: Scene) -> dict[int, str]:
    """Return the paddocks that the calendar closes to every mob today, with the limit that does."""
    out: dict[int, str] = {}
    for face in faces(scene) if scene.mobs else ():
        if face.closed is None:
            continue
        for p, paddock in enumerate(scene.paddocks):
            if bool(face.closed[:, 0, p].all()):
                out.setdefault(
                    scene.herbage.index(paddock),
                    say("ledger.ahead.closed", limit=say(f"limits.{face.name}.name")),
                )
    return out


def _figure(
    name: str, likely: float, members: Array, unit: str, formula: str, parts: tuple[Figure, ...]
) -> Figure:
    low, high = (float(v) for v in np.quantile(members, (0.1, 0.9), method="closest_observation"))
    return Figure(name, likely, unit, min(low, likely), max(high, likely), formula=formula, parts=parts)


def _grass(scene: Scene, ground: OpenGround) -> Figure:
    likely = float(ground.feed_kg(np.median(ground.mass_kg_ha, axis=0))) if ground.which else 0.0
    parts = tuple(f for i in ground.which if (f := scene.herbage.heights[i]) is not None)
    parts += tuple(scene.herbage.numbers[i].mass_per_height for i in ground.which[:1])
    formula = say("ledger.ahead.grass_formula", paddocks=len(ground.which))
    return _figure("grass_above", likely, ground.feed_kg(ground.mass_kg_ha), "kg", formula, parts)


def _growth(scene: Scene, ground: OpenGround) -> Figure | None:
    """Return what grows a day on the open paddocks, as eaten; None where growth is not known. [kg DM/d]"""
    if not any(scene.herbage.growth_from[i] for i in ground.which):
        return None
    likely = float(ground.grown_kg_d(np.median(ground.growth_kg_ha_d, axis=0)))
    formula = say("ledger.ahead.growth_formula")
    return _figure("growth_eaten", likely, ground.grown_kg_d(ground.growth_kg_ha_d), "kg/d", formula, ())


def _days(ground: OpenGround, grass: Figure, needs: Figure, growth: Figure | None) -> Figure:
    demand_kg_d = needs.value or 0.0
    grows = ground.growth_kg_ha_d if growth is not None else np.zeros_like(ground.growth_kg_ha_d)

    def days(mass: Array, grown: Array) -> float:
        ones = np.ones_like(mass)
        found = grass_ahead_d(
            ground.area_ha, mass, ground.leave_kg_ha, ones, ground.share, demand_kg_d, grown
        )
        if found <= FAR_D or growth is None:
            return found
        return float(ground.feed_kg(mass) + FAR_D * ground.grown_kg_d(grown)) / demand_kg_d

    likely = days(np.median(ground.mass_kg_ha, axis=0), np.median(grows, axis=0))
    members = np.array([days(m, g) for m, g in zip(ground.mass_kg_ha, grows, strict=True)])
    grown = growth.value or 0.0 if growth is not None else 0.0
    more, less, size = ("+", "−", grown) if grown >= 0 else ("−", "+", -grown)
    formula = f"{grass.value:.5g} kg ÷ ({demand_kg_d:.5g} {less} {size:.5g}) kg/d"
    if growth is not None and likely > FAR_D:
        formula = f"({grass.value:.5g} kg {more} {FAR_D:g} d × {size:.5g} kg/d) ÷ {demand_kg_d:.5g} kg/d"
    parts = (grass, needs) if growth is None else (grass, needs, growth)
    return _figure(
        "grass_ahead_still" if growth is None else "grass_ahead", likely, members, "d", formula, parts
    )
