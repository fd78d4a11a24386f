"""The real sward as a board: an approximation that guides the search; the judge has the last word.

Growth of the members' mean is fitted as (date and paddock) times (a logistic shape of the herbage); the
board counts on a part of it alone. Longest stays and rests of every limit, soft ones as well, are kept on the
board as they are; what breaking a soft one would buy is left to the small changes that the judge prices.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.moves.board.form import Board, Prices
from browseline.moves.form import Yardstick
from browseline.moves.guide import mean_growth
from browseline.moves.kernel import Bars, Field

Array = NDArray[np.float64]
PESSIMISM = 0.8
"""Share of the mean growth that the board counts on; of 0.75 to 1 the best on the example farm. [1]"""
POINTS = 24
LEAST_KG_HA = 50.0
"""Herbage that a logistic shape begins from where there is none: bare ground would never grow. [kg DM/ha]"""
STAY_D = 3
SMOOTH = 0.8
"""A logistic spread that stands for a normal one of the members' standard deviation. [1]"""
CEILINGS = (0.85, 0.95, 1.1, 1.3)
_NEVER_D = 10_000


def board_of(yardstick: Yardstick, some: Field) -> Board:
    """Return the board of a yardstick.

    Parameters
    ----------
    some : Field
        Members whose mean growth and herbage the board sees.
    """
    bars = yardstick.bars
    mobs, days, paddocks = bars.open_.shape
    ceiling, peak = _fitted(bars, some)
    growth = np.zeros((paddocks, days + 1))
    growth[:, 1:] = np.cumsum(4 * PESSIMISM * peak / ceiling[:, None], axis=1)
    longest = np.floor(bars.longest_d.min(axis=0, initial=days) + 1e-9).clip(1, days)
    rest = np.ceil(bars.rest_d.max(axis=0, initial=1.0) - 1e-9).clip(1, _NEVER_D)
    own_rest = np.ceil(bars.own_rest_d.max(axis=0, initial=0.0) - 1e-9).clip(0, _NEVER_D)
    price = bars.prices_usd
    start = np.clip(some.mass_kg_ha.mean(axis=0), LEAST_KG_HA, 0.99 * ceiling)
    spread = SMOOTH * float(some.mass_kg_ha.std(axis=0).mean())
    return Board(
        _clear_days(bars.open_), bars.can_move, bars.arrivals, longest.astype(np.int64),
        rest.astype(np.int64), _fit_from(bars), bars.far_km, _idle_usd(bars),
        np.ascontiguousarray(bars.demand_kg_d.T), np.zeros((mobs, days)),
        bars.start, bars.been_d, some.land.area_ha, ceiling, _leave(bars), start,
        np.zeros(paddocks), np.minimum(some.cover_kg_ha, ceiling), _enter(bars), np.zeros((mobs, paddocks)),
        growth, np.exp(np.diff(growth, axis=1)), float(some.land.floor_kg_ha.max(initial=0.0)),
        1.0 / _eaten(bars), True, spread,
        Prices(price[0], price[1], _highest(bars.below_usd_kg), _highest(bars.early_usd_kg), 0.0, price[2],
               price[3], price[4]),
        own_rest.astype(np.int64), bars.leader, bars.follow_d, _led_ago(bars),
    )  # fmt: skip


def _fitted(bars: Bars, some: Field) -> tuple[Array, Array]:
    """Return ceilings, shape (paddock,) [kg/ha], and peak growth, shape (paddock, day) [kg/ha/d].

    The peak of a day is what makes growth over the masses that are grazed the same as the real sward's.
    """
    top = float((1 / some.leaf.per_ceiling).max())
    mass = np.linspace(0.1, 0.8, POINTS) * top
    net = mean_growth(some, mass)
    best, ceiling, peak = np.full(net.shape[0], np.inf), np.full(net.shape[0], top), np.zeros(net.shape[:2])
    for share in CEILINGS:
        shape = 4 * mass / (share * top) * (1 - mass / (share * top))
        fit = np.maximum((net * shape).sum(axis=2) / (shape * shape).sum(), 1e-3)
        off = ((net - fit[:, :, None] * shape) ** 2).sum(axis=(1, 2))
        better = off < best
        best[better], ceiling[better], peak[better] = off[better], share * top, fit[better]
    return ceiling, peak


def _clear_days(open_: NDArray[np.bool_]) -> NDArray[np.int64]:
    clear = np.zeros(open_.shape, np.int64)
    for t in range(open_.shape[1] - 1, -1, -1):
        after = clear[:, t + 1] if t + 1 < open_.shape[1] else 0
        clear[:, t] = np.where(open_[:, t], 1 + after, 0)
    return clear


def _fit_from(bars: Bars) -> NDArray[np.int64]:
    """Return the first day on which the rest after the past is over, shape (mob, paddock). [d]"""
    need = np.asarray(bars.fit_from_d.max(axis=0, initial=0.0))
    for i in range(need.shape[0]):
        for f in range(bars.rest_d.shape[0]):
            need = np.maximum(need, bars.rest_d[f, i][:, None] - bars.ago_d[i][None, :])
    return np.asarray(np.ceil(np.clip(need, 0, _NEVER_D) - 1e-9), np.int64)


def _idle_usd(bars: Bars) -> Array:
    """Return what a day somewhere costs beside its grass, shape (mob, day, paddock). [USD]

    A day away from an open job, on the first days that the job is foreseen to take; and what limits price.
    """
    paddocks, open_days = bars.alike[:-1], np.cumsum(bars.job >= 0, axis=1)
    asked = (bars.job >= 0) & (open_days <= bars.work_d[:, None])
    away = asked[:, :, None] & (bars.job[:, :, None] != paddocks)
    return np.asarray(away * bars.prices_usd[5] + bars.dear_usd)


def _led_ago(bars: Bars) -> Array:
    """Return the days since the leader of each mob left each paddock; never where it has none. [d]"""
    ago = np.where(np.isfinite(bars.ago_d), bars.ago_d, float(_NEVER_D))
    return np.where(bars.leader[:, None] >= 0, ago[bars.leader], float(_NEVER_D))


def _leave(bars: Bars) -> Array:
    """Return the herbage to leave by any mob that may ever come, shape (paddock,). [kg DM/ha]"""
    comes = bars.open_.any(axis=1)
    return np.asarray((bars.leave_kg_ha * comes).max(axis=(0, 1), initial=0.0))


def _enter(bars: Bars) -> Array:
    return np.asarray(bars.enter_kg_ha.max(axis=0, initial=0.0))


def _highest(prices: Array) -> float:
    return float(prices.max(initial=0.0))


def _eaten(bars: Bars) -> float:
    """Return the share eaten of what disappears in a stay of common length. [1]"""
    return float(bars.eaten_frac[:, min(STAY_D, bars.eaten_frac.shape[1] - 1)].mean())
