"""What a season's weather is foreseen to be where it is known how it went so far.

Growth that is good or poor lasts for weeks, and so does a dry spell. Who sees herbage each day, as the hand
rules do, knows what grew on each day so far; other years tell how much of that is left by each later day.
"""

from __future__ import annotations

import numpy as np

from benchmarks.plan_weather import MEAN, MEAN_YEARS, years
from browseline.moves.board.form import Array
from browseline.moves.forecast import PESSIMISTIC

WEEK_D, MONTH_D = 7, 28
NEAR = 0.95
"""Share of the mean growth that is counted on tomorrow; four weeks on it is that of every forecast. [1]"""
DAMPED = 4.0
"""What holds the regression back, in squares of a log: few years cannot tell much of one day. [1]"""


class Leaning:
    """Other years of a season, and what they say of the days to come."""

    def __init__(self, days: int) -> None:
        self.logs = np.log(years(MEAN, MEAN_YEARS, days))
        self.fits: dict[int, tuple[Array, Array]] = {}

    def forecast(self, seen: Array) -> Array:
        """Return what growth is foreseen to be multiplied by, shape (day to come,). [1]

        A little less than the mean foreseen for tomorrow, mildly less from four weeks on.

        Parameters
        ----------
        seen : array, shape (day so far,)
            At least one day. [1]
        """
        day = len(seen)
        if day not in self.fits:
            self.fits[day] = self._fit(day)
        slope, spread = self.fits[day]
        mean = np.exp(_looked_at(np.log(seen)[None, :]) @ slope)[0] * spread
        near = np.clip(1.0 - np.arange(len(mean)) / MONTH_D, 0.0, 1.0)
        return np.asarray(mean * (PESSIMISTIC + (NEAR - PESSIMISTIC) * near))

    def _fit(self, day: int) -> tuple[Array, Array]:
        """Return what each thing looked at adds to the log of a later day, and the mean of what is left."""
        known, later = _looked_at(self.logs[:, :day]), self.logs[:, day:]
        damped = np.diag([0.0, *[DAMPED] * (known.shape[1] - 1)])
        slope = np.asarray(np.linalg.solve(known.T @ known + damped, known.T @ later), np.float64)
        return slope, np.asarray(np.exp(later - known @ slope).mean(axis=0))


def _looked_at(logs: Array) -> Array:
    """Return what a forecast looks at, shape (year, thing): yesterday, a week, four weeks, all so far."""
    parts = [logs[:, -n:].mean(axis=1) for n in (1, WEEK_D, MONTH_D, logs.shape[1])]
    return np.stack([np.ones(len(logs)), *parts], axis=1)
