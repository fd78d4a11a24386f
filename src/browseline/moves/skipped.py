"""Ground that a follower skips: paddocks that its leader left and to which it does not come in its days."""

from __future__ import annotations

import numpy as np

from browseline.science.compiled import bare


@bare
def _skips(p, m, left, place, bars):  # type: ignore[no-untyped-def]
    """Return whether a follower skips a paddock that its leader left on a day, though it could have come.

    Parameters
    ----------
    left : float
        When the leader left; its days to come end inside the plan, else nothing is skipped yet. [d]
    """
    days = place.shape[1]
    first, last = int(np.ceil(left + bars.follow_d[m, 0] - 1e-9)), left + bars.follow_d[m, 1] + 1e-9
    if last < 0.0 or last >= days or (left > 0.0 and place[m, int(left) - 1] == p):
        return False
    able = False
    for t in range(max(first, 0), int(last) + 1):
        if place[m, t] == p:
            return False
        able |= bars.can_move[t] and bars.open_[m, t, p] and not bars.off[m, t]
    return able


@bare
def _skipped(p, m, place, ends, bars):  # type: ignore[no-untyped-def]
    """Return how many times a follower does not come to a paddock that its leader left."""
    leader, count = bars.leader[m], 0
    if leader < 0:
        return count
    days, stands = place.shape[1], bars.start[leader] == p and place[leader, 0] == p
    came = bars.start[m] == p or bars.ago_d[m, p] < bars.ago_d[leader, p]
    if np.isfinite(bars.ago_d[leader, p]) and not stands and not came:
        count += _skips(p, m, -bars.ago_d[leader, p], place, bars)
    for t in range(days - 1):
        if place[leader, t] == p and ends[leader, t]:
            count += _skips(p, m, t + 1.0, place, bars)
    return count


@bare
def skipped_by_followers(p, place, ends, bars):  # type: ignore[no-untyped-def]
    """Return how many times followers do not come to a paddock that their leaders left.

    Parameters
    ----------
    p : int
    place : int array, shape (mob, day)
    ends : bool array, shape (mob, day)
        As in ``kernel.mark_runs``.
    bars : kernel.Bars
    """
    count = 0
    for m in range(place.shape[0]):
        count += _skipped(p, m, place, ends, bars)
    return count
