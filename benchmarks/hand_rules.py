"""What practitioners do, on a board: three rules that see the herbage of each day and do not plan ahead.

They come in at the start height and after the rest, else stand in the yard; they leave after three days, or
when today's intake would take the herbage further below the height to leave than half of it. Of paddocks
rested alike they take the nearest. Work is shared out by the earliest day on which a mob has to be gone.
(``planner.md`` 3)
"""

from __future__ import annotations

import numpy as np

from browseline.moves.board.form import Board, Index
from browseline.science.compiled import compiled

LONGEST_RESTED, LONGEST_RESTED_DOSE, MOST_FEED_DOSE = 0, 1, 2
RULES = ("longest rested first", "longest rested first, dose seen", "most feed first, dose seen")
LEAVE_AFTER_D = 3
NEVER = 1_000_000


def by_rule(board: Board, rule: int) -> Index:
    """Return the plan that a rule makes where the board's growth is the weather that comes.

    Parameters
    ----------
    rule : int
        A place in ``RULES``.

    Returns
    -------
    int array, shape (mob, day)
    """
    x = np.full(board.demand_kg_d.shape, len(board.area_ha), np.int64)
    _play(board, rule, x)
    return x


@compiled
def _last_day(b, m, p, begin, been):  # type: ignore[no-untyped-def]
    """Return the last day on which a mob that came on ``begin`` can leave; never if nothing makes it."""
    days, last = b.can_move.shape[0], -1
    until = min(begin + min(b.longest_d[m, p] - been, b.clear_d[m, begin, p]), days)
    if until >= days:
        return NEVER
    for t in range(begin + 1, until + 1):
        if b.can_move[t] and b.cap[t] > 0:
            last = t
    return last


@compiled
def _can_all_leave(b, t, left_today, due):  # type: ignore[no-untyped-def]
    """Return whether people can take every mob out by its last day, days after ``t`` and the rest of it."""
    days, order = b.can_move.shape[0], np.sort(due)
    for k in range(order.shape[0]):
        if order[k] >= days:
            break
        room = left_today
        for d in range(t + 1, order[k] + 1):
            room += b.cap[d] if b.can_move[d] else 0
        if room < k + 1:
            return False
    return True


@compiled
def _fit(b, rule, m, p, t, here, left, dose, h):  # type: ignore[no-untyped-def]
    """Return whether a rule lets a mob into a paddock: open, rested, grown, dose not used up, free."""
    if b.clear_d[m, t, p] < 1 or t < b.fit_from[m, p] or h[p] < b.entry[m, p]:
        return False
    if rule != LONGEST_RESTED and dose[p] >= b.dose_limit[p]:
        return False
    free = True
    for i in range(here.shape[0]):
        free = free and here[i] != p and t >= left[p, i] + b.rest_d[i, m]
    return free


@compiled
def _best(b, rule, m, t, room, here, due, left, dose, h):  # type: ignore[no-untyped-def]
    """Return the paddock a rule takes next, and the last day on which it can be left again."""
    yard = b.area_ha.shape[0]
    best, key, last = yard, -np.inf, NEVER
    for p in range(yard):
        if not _fit(b, rule, m, p, t, here, left, dose, h):
            continue
        until = _last_day(b, m, p, t, 0)
        trial = due.copy()
        trial[m] = until
        if until < 0 or not _can_all_leave(b, t, room - 1, trial):
            continue
        value = (h[p] - b.residual[p]) * b.area_ha[p]
        if rule != MOST_FEED_DOSE:  # of those rested alike the nearest
            value = float(t - np.max(left[p])) - 1e-3 * b.far_km[here[m], p]
        if value > key:
            best, key, last = p, value, until
    return best, last


@compiled
def _wants_out(b, m, t, p, stood, h):  # type: ignore[no-untyped-def]
    taken = b.wasted * b.demand_kg_d[m, t] / b.area_ha[p]
    return stood >= LEAVE_AFTER_D or h[p] - taken < b.residual[p] - 0.5 * taken


@compiled
def _move(b, rule, t, here, stood, due, left, dose, h):  # type: ignore[no-untyped-def]
    """Move on one day the mobs that a rule moves, those that must be gone soonest first."""
    yard, room = b.area_ha.shape[0], b.cap[t] if b.can_move[t] else 0
    for m in np.argsort(due, kind="mergesort"):
        if room == 0:
            break
        p, late = here[m], False
        if p < yard:
            held = due.copy()
            late = due[m] <= t or not _can_all_leave(b, t, 0, held)
            if not late and not _wants_out(b, m, t, p, stood[m], h):
                continue
        if p == yard:
            others = due.copy()
            if not _can_all_leave(b, t, room - 1, others):
                continue
        place, last = _best(b, rule, m, t, room, here, due, left, dose, h)
        if place == p:
            continue
        if p < yard:
            left[p, m] = t
        here[m], stood[m], due[m] = place, 0, last
        room -= 1


@compiled
def _day(b, t, here, dose, h):  # type: ignore[no-untyped-def]
    """Graze and grow one day everywhere."""
    yard = b.area_ha.shape[0]
    for m in range(here.shape[0]):
        p = here[m]
        if p == yard:
            continue
        eaten = min(b.demand_kg_d[m, t], max(0.0, (h[p] - b.floor) * b.area_ha[p] / b.wasted))
        h[p] -= b.wasted * eaten / b.area_ha[p]
        line = b.residual[p] + 200.0
        z = max(0.0, (line - h[p]) / (line - b.floor))
        dose[p] += b.lu[m, t] / b.area_ha[p] * b.sigma[m, p] * (1.0 + 4.0 * z * z)
    for p in range(yard):
        e = b.step[p, t]
        h[p] = h[p] * e / (1.0 + h[p] * (e - 1.0) / b.ceiling[p])


@compiled
def _play(b, rule, x):  # type: ignore[no-untyped-def]
    mobs, days = x.shape
    here, stood, due = b.start.copy(), b.been_d.copy(), np.full(mobs, NEVER, np.int64)
    left = np.full((b.area_ha.shape[0], mobs), -NEVER, np.int64)
    dose, h = np.zeros(b.area_ha.shape[0]), b.start_kg_ha.copy()
    for t in range(days):
        _move(b, rule, t, here, stood, due, left, dose, h)
        _day(b, t, here, dose, h)
        for m in range(mobs):
            x[m, t] = here[m]
            stood[m] += 1


def play_days(board: Board, x: Index, first: int, until: int, h: np.ndarray, dose: np.ndarray) -> None:
    """Run herbage and tree dose of a plan over some days, in place: what its weather makes of it.

    Parameters
    ----------
    h, dose : array, shape (paddock,)
        At the start of day ``first``; changed to those of ``until``. [kg DM/ha, LU d/ha]
    """
    for t in range(first, until):
        _day(board, t, np.ascontiguousarray(x[:, t]), dose, h)
