"""A cost that no plan of a board can be below: the dual with herbage rounded up.

Relaxed, each of which only ever makes a season cheaper: herbage is rounded up on the grid (more herbage
with the same calendar never costs more); rest counts from the last visit alone; visits that begin far below
the start height are left out where the yard is proven cheaper; paddocks, the yard and walks agree on where a
mob is at prices alone. It holds for mobs that begin in the yard.

References
----------
derived_here, planner.md 1.5
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from browseline.moves.board.form import Array, Board
from browseline.moves.board.prices import EARLIEST_KG_HA, Dual, tables_of

FIRST_USD, LAST_USD = 30.0, 0.1
ROUNDING = 1e-5
"""Share by which the tables' single precision may be off. [1]"""


def earliest_kg_ha(b: Board) -> float:
    """Return how far below the start height the tables reach; infinite where no line is proven. [kg DM/ha]

    Every visit left out must cost more than the same days in the yard. It pays the early price of
    ``EARLIEST_KG_HA`` on its area; in the yard its days would pay the fee, two walks, and hay for at most
    the herbage above the floor, and the paddock would only keep more.
    """
    w, yard = b.prices, len(b.area_ha)
    far = float(b.far_km[:yard, yard].max(initial=0.0))
    fee = w.yard_d * float(b.longest_d.max(initial=1)) + w.move + 2 * w.km * far
    most = np.maximum(b.entry - EARLIEST_KG_HA - b.floor, 0.0) * b.area_ha / b.wasted
    eaten = np.minimum(most, b.demand_kg_d.max(axis=1)[:, None] * b.longest_d)
    dear = w.entry * EARLIEST_KG_HA * b.area_ha >= fee + w.hay * eaten
    return EARLIEST_KG_HA if bool(dear.all()) else np.inf


def bound_usd(
    b: Board, fine: float, steps: int, start: tuple[Array, ...] | None = None, seconds: float = 0.0,
    clock: Callable[[], float] = time.perf_counter,
) -> float:  # fmt: skip
    """Return a cost that no plan can be below. [USD]

    Parameters
    ----------
    fine : float
        Step of the grid; finer is higher. [1]
    steps : int
        Of the search for prices; any prices give a valid bound, better ones a higher.
    start : tuple of arrays, optional
        Prices to begin from: by mob-day, arrival, dose.
    seconds : float, optional
        Instead of steps: about how long to search, tables included; only an interface has a clock. [s]
    clock : callable, optional
        What the seconds are told by.
    """
    begun = clock()
    dual = Dual(b, tables_of(b, fine, True, earliest_kg_ha(b)))
    if start is not None:
        dual.begin(*start)
    first = FIRST_USD / len(b.start) ** 1.5 if start is None else LAST_USD * 10
    if seconds:
        before = clock()
        dual.climb(3, first, first)
        steps = max(int(3 * (seconds - (clock() - begun)) / (clock() - before)) - 1, 2)
    dual.climb(steps, first, LAST_USD)
    dual.prices()
    value = dual.best[0]
    return value - ROUNDING * abs(value) - 0.1
