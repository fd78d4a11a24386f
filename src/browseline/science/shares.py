"""A share that was counted, and how far off it may be."""

from __future__ import annotations

import math


def score_interval(hits: int, seen: int, z: float) -> tuple[float, float]:
    """Return the interval of Wilson's score for the share of a count.

    Parameters
    ----------
    hits, seen : int
        Found so, and looked at; ``seen`` above 0. [1]
    z : float
        Standard normal quantile: 1.645 for 90 %. [1]

    Returns
    -------
    tuple of float
        Lower and upper end of the share, within 0-1. [1]

    Raises
    ------
    ValueError
        If nothing was looked at, or more were found than looked at.

    References
    ----------
    ours: Wilson's score interval without continuity correction, checked against scipy and against the
    examples printed by Newcombe (1998)
    """
    if seen <= 0 or not 0 <= hits <= seen:
        raise ValueError(f"{hits} of {seen}")
    share, over = hits / seen, z * z / seen
    middle = (share + over / 2) / (1 + over)
    half = z / (1 + over) * math.sqrt(share * (1 - share) / seen + over / (4 * seen))
    low = 0.0 if hits == 0 else middle - half
    high = 1.0 if hits == seen else middle + half
    return low, high
