"""Weather years of a made-up season, and the season's board as it is seen from a later day.

The distributions are those of the study (``planner.md`` 7); none is data.
"""

from __future__ import annotations

import numpy as np

from browseline.moves.board.form import Array, Board, Index
from browseline.moves.board.prices import Prices, Tables

TEST, TRAIN, MEAN = 7_001, 7_002, 7_003
"""Which luck: years that a plan is tried in, years that it may learn from, years whose mean it foresees."""
MEAN_YEARS = 400


def years(luck: int, count: int, days: int) -> Array:
    """Return what growth is multiplied by, shape (year, day). [1]

    A spread that fades over weeks, a year that is good or poor as a whole, and in three of ten a dry spell.
    """
    draw = np.random.default_rng(luck)
    out = np.empty((count, days))
    for y in range(count):
        z, path = draw.normal(0, 0.30), np.empty(days)
        for t in range(days):
            path[t] = z
            z = 0.93 * z + np.sqrt(1 - 0.93**2) * draw.normal(0, 0.30)
        out[y] = np.exp(path + draw.normal(0, 0.15) - 0.5 * (0.30**2 + 0.15**2))
        dry, first, length = draw.random() < 0.30, draw.integers(60, 130), draw.integers(20, 46)
        share = draw.uniform(0.2, 0.5)
        if dry:
            out[y, first : first + length] *= share
    return out


def mean_year(days: int) -> Array:
    """Return the mean of many other years, shape (day,): the forecast that nobody knows better than. [1]"""
    return np.asarray(years(MEAN, MEAN_YEARS, days).mean(axis=0))


def under(board: Board, weather: Array) -> Board:
    """Return the board of a season in one weather.

    Parameters
    ----------
    weather : array, shape (day,)
        [1]
    """
    growth = np.zeros_like(board.growth)
    growth[:, 1:] = np.cumsum(np.diff(board.growth, axis=1) * weather, axis=1)
    return board._replace(growth=growth, step=np.exp(np.diff(growth, axis=1)))


def onward(board: Board, x: Index, day: int, herbage: Array, dose: Array) -> Board:
    """Return the board that is left on a day: who stands where since when, what is rested, what has grown.

    Parameters
    ----------
    x : int array, shape (mob, day)
        What was done up to ``day``.
    herbage, dose : array, shape (paddock,)
        On that day. [kg DM/ha, LU d/ha]
    """
    paddocks = len(board.area_ha)
    start, been = board.start.copy(), board.been_d.copy()
    fit = np.maximum(board.fit_from - day, 0)
    for m in range(len(start) if day else 0):
        row = x[m, :day]
        start[m] = row[-1]
        other = np.flatnonzero(row != row[-1])
        been[m] = day - (other[-1] + 1 if len(other) else 0)
        for p in range(paddocks):
            stood = np.flatnonzero(row == p)
            if len(stood):
                fit[:, p] = np.maximum(fit[:, p], stood[-1] + 1 + board.rest_d[m] - day)
    growth = np.ascontiguousarray(board.growth[:, day:] - board.growth[:, [day]])
    return board._replace(
        clear_d=np.ascontiguousarray(board.clear_d[:, day:]),
        can_move=board.can_move[day:].copy(), cap=board.cap[day:].copy(), fit_from=fit,
        heat_usd=np.ascontiguousarray(board.heat_usd[:, day:]),
        demand_kg_d=np.ascontiguousarray(board.demand_kg_d[:, day:]),
        lu=np.ascontiguousarray(board.lu[:, day:]), start=start, been_d=been,
        start_kg_ha=np.minimum(herbage, 0.9999 * board.ceiling), dose_limit=board.dose_limit - dose,
        growth=growth, step=np.ascontiguousarray(board.step[:, day:]),
    )  # fmt: skip


def tables_onward(board: Board, tables: Tables, day: int, now: Board | None = None) -> Tables:
    """Return the tables as beams read them from a later day on; they depend on forecast and calendar alone.

    The grid counts growth from the first day of the season: its first step moves by what grew since.

    Parameters
    ----------
    board : Board
        The one that the tables were made on.
    now : Board, optional
        The board that is left on that day, where its forecast is another: what stands on a later day is
        foreseen by it, and what that is worth by the tables.
    """
    ahead = board.growth[:, [day]] if now is None else board.growth[:, day:] - now.growth
    low = tables.low[:, day:] + ahead / tables.fine
    return tables._replace(low=np.ascontiguousarray(low))


def prices_onward(prices: Prices, day: int) -> Prices:
    """Return the prices from a later day on."""
    return Prices(
        np.ascontiguousarray(prices.day[:, day:]), prices.arrival[day:].copy(), prices.dose,
        prices.value, np.ascontiguousarray(prices.go[:, :, day:]),
        np.ascontiguousarray(prices.leave[:, day:]),
    )  # fmt: skip
