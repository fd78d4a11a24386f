"""A paddock split in two by a net, on the yardstick of a plan: each half with its own clocks."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from browseline.moves.form import Plan, Yardstick
from browseline.moves.kernel import Bars, Field
from browseline.moves.replan import visits_of

HALF = "half"


def halved(yardstick: Yardstick, p: int) -> Yardstick:
    """Return a yardstick on which a paddock is two halves: itself, and one more after the last paddock."""
    bars, whole = yardstick.bars, yardstick.whole
    area = whole.land.area_ha.copy()
    area[p] /= 2

    def more(x: NDArray[Any], axis: int) -> NDArray[Any]:
        return np.ascontiguousarray(np.concatenate([x, np.take(x, [p], axis=axis)], axis=axis))

    last = (
        "open_",
        "longest_d",
        "fit_from_d",
        "leave_kg_ha",
        "enter_kg_ha",
        "ago_d",
        "own_rest_d",
        "dear_usd",
    )
    changed = {name: more(getattr(bars, name), getattr(bars, name).ndim - 1) for name in last}
    changed |= {"eaten_frac": more(bars.eaten_frac, 0), "far_km": _farther(bars, p)}
    changed["alike"] = np.insert(np.where(bars.alike == yardstick.yard, yardstick.yard + 1, bars.alike),
                                 yardstick.yard, bars.alike[p])  # fmt: skip
    changed["start"] = np.where(bars.start == yardstick.yard, yardstick.yard + 1, bars.start)
    halves = Bars(**(bars._asdict() | changed))
    land = whole.land._replace(
        curve=more(whole.land.curve, 0), share=more(whole.land.share, 0), area_ha=more(area, 0),
        floor_kg_ha=more(whole.land.floor_kg_ha, 0),
    )  # fmt: skip
    days = whole.days._replace(
        typed_kg_ha_d=more(whole.days.typed_kg_ha_d, 1), cut_to_kg_ha=more(whole.days.cut_to_kg_ha, 1)
    )
    field = Field(
        more(whole.mass_kg_ha, 1),
        more(whole.fertility, 1),
        land,
        days,
        whole.leaf,
        more(whole.cover_kg_ha, 0),
    )
    names = (*yardstick.paddocks, f"{yardstick.paddocks[p]}/{HALF}")
    return replace(yardstick, paddocks=names, bars=halves, whole=field, faces=())


def _farther(bars: Bars, p: int) -> NDArray[np.float64]:
    """Return distances with a place more before the yard, as far from everywhere as the paddock is. [km]"""
    order = [*range(len(bars.far_km) - 1), p, len(bars.far_km) - 1]
    return np.ascontiguousarray(bars.far_km[np.ix_(order, order)])


def on_halves(plan: Plan, p: int, yardstick: Yardstick) -> Plan:
    """Return a plan on the halves: a stay there goes on into the new half when half its days are up."""
    out = np.where(plan == yardstick.yard, yardstick.yard + 1, plan)
    for m in range(len(plan)):
        for place, a, b in visits_of(plan[m]):
            middle = (a + b + 1) // 2
            if place == p and middle < b and yardstick.bars.can_move[middle]:
                out[m, middle:b] = yardstick.yard
    return np.asarray(out)
