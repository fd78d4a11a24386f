"""A cost that no plan of a board can be below: the dual, each paddock asked without rounding at its prices.

Relaxed, each of which only ever makes a season cheaper: visits that begin far below the start height are left
out where the yard is proven cheaper; paddocks, the yard and walks agree on where a mob is at prices alone.
Where a paddock has more states than are looked at, its season may be cheaper still: herbage rounded up on the
grid, rest since the last visit alone. It holds for mobs that begin in the yard.

References
----------
derived_here, planner.md 1.5
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator

import numpy as np

from browseline.moves.board.form import Array, Board
from browseline.moves.board.prices import EARLIEST_KG_HA, Dual, tables_of
from browseline.moves.board.unrounded import unrounded_usd

FIRST_USD, AGAIN_USD, FALLS = 30.0, 5.0, 200.0
"""Size of the first steps for one mob, less for more, and from prices that are given [USD]; how many times
smaller the last are. [1]"""
COARSE = (0.16, 0.08, 0.04, 0.02)
"""Grids that prices are sought on first, herbage rounded to the nearest: quick, and near enough. [1]"""
SHARE = (0.1, 0.1, 0.2, 0.2)
"""Of the whole search, for each of them; the rest is for the grid rounded up. [1]"""
SCALES = (1.0, 0.3, 0.01, 0.1)
"""As in `prices`; walks count for more here than where they guide. [1]"""
KEPT = ((0.9, 0.1), (0.99, 0.01))
"""As in `prices`; calmer here: the last steps decide. [1]"""
LEFT = 0.04
"""Share of the seconds that is kept for the paddocks without rounding. [1]"""
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

    Prices are sought on coarse grids first, where a step takes a tenth of the time, and handed on: any prices
    give a valid bound, so only the last grid has to be rounded up; at its best prices
    the paddocks are then asked without rounding.

    Parameters
    ----------
    fine : float
        Step of the last grid; finer leaves less to look at without rounding, and takes longer. [1]
    steps : int
        Of the search for prices; any prices give a valid bound, better ones a higher.
    start : tuple of arrays, optional
        Prices to begin from: by mob-day, arrival, dose.
    seconds : float, optional
        Instead of steps: how long to search, tables included; only an interface has a clock. A step that is
        begun is ended. [s]
    clock : callable, optional
        What the seconds are told by.
    """
    begun, size = clock(), (FIRST_USD if start is None else AGAIN_USD) / len(b.start) ** 1.5
    coarse = [(grid, share) for grid, share in zip(COARSE, SHARE, strict=True) if grid > fine]
    far, done, prices = earliest_kg_ha(b), 0.0, start
    for k, (grid, share) in enumerate([*coarse, (fine, 1.0)]):
        last = k == len(coarse)
        until = 1.0 if last else done + share
        dual = Dual(b, tables_of(b, grid, last, far if last else EARLIEST_KG_HA), SCALES, KEPT)
        if prices is not None:
            dual.begin(*prices)
        if seconds:
            gone = _by_clock(clock, begun, seconds * (1.0 - LEFT), until)
        else:
            gone = _by_steps(done, until, steps)
        for share_gone in gone:
            dual.climb(1, size / FALLS**share_gone, 0.0)
        done, prices = until, tuple(dual.best[1])
    return _certified(dual, far)


def _certified(dual: Dual, earliest: float) -> float:
    """Return the dual's best value, paddocks asked without rounding, less what precision may be off. [USD]"""
    dual.begin(*dual.best[1])
    value, _ = dual.ask()
    value += float((unrounded_usd(dual, earliest) - dual.values).sum())
    return value - ROUNDING * abs(value) - 0.1


def _by_steps(done: float, until: float, steps: int) -> Iterator[float]:
    """Yield the share of a search that is gone before each of a part's steps; at least two. [1]"""
    count = max(round(steps * (until - done)), 2)
    yield from (done + (until - done) * k / count for k in range(count))


def _by_clock(clock: Callable[[], float], begun: float, seconds: float, until: float) -> Iterator[float]:
    """Yield the share of some seconds that is gone, until one is; at least twice. [1]"""
    yield min(max((clock() - begun) / seconds, 0.0), 1.0)
    while True:
        gone = (clock() - begun) / seconds
        yield min(max(gone, 0.0), 1.0)
        if gone >= until:
            return
