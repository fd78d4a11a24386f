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
from collections.abc import Callable, Iterator

import numpy as np

from browseline.moves.board.form import Array, Board
from browseline.moves.board.prices import EARLIEST_KG_HA, Dual, tables_of

FIRST_USD = 30.0
"""Size of the first steps for one mob; less for more. [USD]"""
COARSE = (0.16, 0.08, 0.04)
"""Grids that prices are sought on first, herbage rounded to the nearest: quick, and near enough. [1]"""
SHARE = (0.08, 0.14, 0.28)
"""Of the whole search, for each of them; the rest is for the grid rounded up. [1]"""
FALLS = 0.3
"""Size of a grid's last steps against its first. [1]"""
SCALES = (1.0, 0.3, 0.01, 0.1)
"""As in `prices`; walks count for more here than where they guide. [1]"""
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
    give a valid bound, so only the last grid has to be rounded up.

    Parameters
    ----------
    fine : float
        Step of the grid; finer is higher. [1]
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
    begun, size = clock(), FIRST_USD / len(b.start) ** 1.5
    coarse = [(grid, share) for grid, share in zip(COARSE, SHARE, strict=True) if grid > fine]
    done, prices = 0.0, start
    for k, (grid, share) in enumerate([*coarse, (fine, 1.0)]):
        last = k == len(coarse)
        share = 1.0 - done if last else share
        far = earliest_kg_ha(b) if last else EARLIEST_KG_HA
        dual = Dual(b, tables_of(b, grid, last, far), SCALES)
        if prices is not None:
            dual.begin(*prices)
        if seconds:
            gone = _by_clock(clock, begun + seconds * done, seconds * share)
        else:
            gone = _by_steps(max(round(steps * share), 2))
        first = size if prices is None else size / (6.0 + 4.0 * k)
        _climb(dual, first, first * FALLS if prices is not None else size / 12.0, gone)
        dual.prices()
        done, prices = done + share, tuple(dual.best[1])
        value = dual.best[0]
    return value - ROUNDING * abs(value) - 0.1


def _climb(dual: Dual, first_usd: float, last_usd: float, gone: Iterator[float]) -> None:
    """Move prices uphill by steps that shrink with the share of the search that is gone."""
    for share in gone:
        dual.climb(1, first_usd * (last_usd / first_usd) ** share, 0.0)


def _by_steps(steps: int) -> Iterator[float]:
    """Yield the share that is gone before each of some steps. [1]"""
    yield from (k / steps for k in range(steps))


def _by_clock(clock: Callable[[], float], begun: float, seconds: float) -> Iterator[float]:
    """Yield the share of some seconds that is gone, until they are; at least twice. [1]"""
    yield min(max((clock() - begun) / seconds, 0.0), 1.0)
    while True:
        gone = (clock() - begun) / seconds
        yield min(gone, 1.0)
        if gone >= 1.0:
            return
