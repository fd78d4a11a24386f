"""Where the search for prices begins: a mob's day costs about as much as some small changes leave it at."""

from __future__ import annotations

import numpy as np

from browseline.moves.board.form import Array, Board

TIMES, BY_MOBS = 3.1, 0.7
"""Mean price of a mob-day, in what it costs in a plan after some small changes; less for more mobs. [1]"""
FLUSH = 0.65
"""How much lower the price stands on the day on which grass grows most. [1]"""
MOST = 0.9
"""Of a yard day's cost, the highest price to begin with. [1]"""


def first_prices(b: Board, plan_usd: float) -> Array:
    """Return prices of mob-days to begin from, shape (mob, day). [USD]

    A day is worth less where grass grows fast. How much on the whole follows the cost of a plan that is not
    good yet, which tells a dear season from a cheap one; both were read off prices that long searches found.

    Parameters
    ----------
    plan_usd : float
        What a plan costs after some small changes. [USD]

    References
    ----------
    derived_here, from seeds 10 to 13 of the made-up seasons
    """
    grown = (b.area_ha * b.ceiling) @ np.diff(b.growth, axis=1)
    yard_usd = b.prices.yard_d + b.prices.hay * b.demand_kg_d
    price = yard_usd * (1.0 - FLUSH * grown / max(float(grown.max(initial=0.0)), 1e-9))
    price *= TIMES / len(b.start) ** BY_MOBS * plan_usd / price.size / max(float(price.mean()), 1e-9)
    return np.minimum(price, MOST * yard_usd)
