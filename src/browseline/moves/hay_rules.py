"""How a farm makes hay, as it typed it, what a cut leaves, and on which days each paddock may be cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from browseline.farm.own_hay import NEEDED, lies_d
from browseline.farm.records import Farm
from browseline.figures import Figure, typed
from browseline.limits import Scene
from browseline.moves.form import Yardstick

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Making:
    """How a farm makes hay, as it typed it: a cut [USD/ha], share kept [1], days from cut to clear.

    ``most_ha_d`` is the area that can be cut in a day, infinite where not typed. [ha]
    """

    usd_ha: float
    kept: float
    days: int
    most_ha_d: float
    figures: tuple[Figure, ...]


def making(farm: Farm) -> Making | None:
    """Return how a farm makes hay; None where it does not say all of it."""
    by_area, loss, days = (getattr(farm.rules, name) for name in NEEDED)
    if by_area is None or loss is None or days is None:
        return None
    figures = (
        typed("hay_pass", by_area.to("USD/ha"), "USD/ha", by_area.text),
        typed("hay_field_loss", loss.to("1"), "1", loss.text),
        typed("hay_days", days.to("d"), "d", days.text),
    )
    most = farm.rules.hay_area_day
    most_ha = most.to("ha") if most is not None else np.inf
    return Making(by_area.to("USD/ha"), 1 - loss.to("1"), lies_d(farm.rules) or 1, most_ha, figures)


def left_kg_ha(scene: Scene) -> Array:
    """Return the herbage that a cut leaves: the typed stubble, else the sward's height to leave. [kg/ha]"""
    stubble, out = scene.farm.rules.hay_stubble, np.zeros(len(scene.paddocks))
    for p, name in enumerate(scene.paddocks):
        numbers = scene.herbage.numbers[scene.herbage.index(name)]
        height_cm = stubble.to("cm") if stubble is not None else numbers.leave_at.value or 0.0
        out[p] = numbers.mass_kg_ha(height_cm)
    return out


def fit_days(scene: Scene, yardstick: Yardstick, days: int) -> Bools:
    """Return on which days each paddock may be cut, shape (day, paddock).

    Somebody is there on the day of the cut and when the hay comes off; no limit shuts the ground to every mob
    on any day between (wet, shut, harvest, young trees, promised), no job is open there, its height is read,
    and no hay of it is promised.
    """
    bars, horizon = yardstick.bars, len(yardstick.days)
    working = (bars.job[:, :, None] == bars.alike[:-1]).any(axis=0)
    free = np.asarray(bars.open_.any(axis=0) & ~working)
    fit = np.zeros(free.shape, bool)
    for d in range(horizon - days + 1):
        there = bool(bars.can_move[d] and bars.can_move[d + days - 1])
        fit[d] = free[d : d + days].all(axis=0) & there
    read = [bool(scene.herbage.read[scene.herbage.index(p)]) for p in yardstick.paddocks]
    promised = np.isfinite(yardstick.whole.days.cut_to_kg_ha).any(axis=0)
    return np.asarray(fit & np.array(read, bool) & ~promised)
