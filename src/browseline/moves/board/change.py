"""Small changes to a plan of a board, at random by a keyed counter."""

from __future__ import annotations

from browseline.moves.board.fast import folded
from browseline.moves.change import chance

YARD_SHARE = 0.08


@folded
def _pick(state, count):  # type: ignore[no-untyped-def]
    return int(chance(state) * count)


@folded
def _run(row, t):  # type: ignore[no-untyped-def]
    """Return first day and end of the visit that covers a day."""
    a, b = t, t + 1
    while a > 0 and row[a - 1] == row[t]:
        a -= 1
    while b < row.shape[0] and row[b] == row[t]:
        b += 1
    return a, b


@folded
def _elsewhere(x, m, a, e, yard, state):  # type: ignore[no-untyped-def]
    """Send a mob somewhere else for some days; mostly to a paddock."""
    x[m, a:e] = yard if chance(state) < YARD_SHARE else _pick(state, yard)


@folded
def _shift(x, m, a, e, start, state, cut):  # type: ignore[no-untyped-def]
    """Make the visit before or after longer at this one's cost; before the first it stands at ``start``."""
    days, by = x.shape[1], 1 + int(2 * chance(state))
    if chance(state) < 0.5:
        cut[0, 2] = min(a + by, days)
        x[m, a : cut[0, 2]] = x[m, a - 1] if a > 0 else start
    else:
        if e >= days:
            return 0
        cut[0, 1] = max(e - by, 0)
        x[m, cut[0, 1] : e] = x[m, e]
    return 1


@folded
def _swap(x, m, a, e, state, cut):  # type: ignore[no-untyped-def]
    """Let two visits change paddocks, of one mob or of two."""
    other = _pick(state, x.shape[0])
    c, d = _run(x[other], _pick(state, x.shape[1]))
    here, there = x[m, a], x[other, c]
    if here == there:
        return 0
    x[m, a:e] = there
    x[other, c:d] = here
    if other == m:
        cut[0, 1], cut[0, 2] = min(a, c), max(e, d)
        return 1
    cut[1, 0], cut[1, 1], cut[1, 2] = other, c, d
    return 2


@folded
def _turn_round(x, m, a, e, cut):  # type: ignore[no-untyped-def]
    """Let a visit and the one after it change order."""
    if e >= x.shape[1]:
        return 0
    _, c = _run(x[m], e)
    here, there = x[m, a], x[m, e]
    x[m, a : a + c - e] = there
    x[m, a + c - e : c] = here
    cut[0, 2] = c
    return 1


@folded
def _swallow(x, m, a, e, state):  # type: ignore[no-untyped-def]
    """Give a visit's days to the one before or after."""
    if (chance(state) < 0.5 or e >= x.shape[1]) and a > 0:
        x[m, a:e] = x[m, a - 1]
    elif e < x.shape[1]:
        x[m, a:e] = x[m, e]
    else:
        return 0
    return 1


@folded
def change(x, start, yard, state, cut):  # type: ignore[no-untyped-def]
    """Change a plan a little.

    Parameters
    ----------
    x : int array, shape (mob, day)
        Changed.
    start : int array, shape (mob,)
        Where each stands before the first day.
    yard : int
        The number that stands for the yard.
    state : uint64 array, shape (1,)
    cut : int array, shape (2, 3)
        Filled with mob, first day and end of what changed.

    Returns
    -------
    int
        How many rows of ``cut`` are filled; 0 if nothing changed.
    """
    m, t, kind = _pick(state, x.shape[0]), _pick(state, x.shape[1]), chance(state)
    a, e = _run(x[m], t)
    cut[0, 0], cut[0, 1], cut[0, 2] = m, a, e
    if kind < 0.30:
        _elsewhere(x, m, a, e, yard, state)
        return 1
    if kind < 0.50:
        return _shift(x, m, a, e, start[m], state, cut)
    if kind < 0.68:
        return _swap(x, m, a, e, state, cut)
    if kind < 0.86:
        cut[0, 1], cut[0, 2] = t, min(t + 1 + int(4 * chance(state)), x.shape[1])
        _elsewhere(x, m, t, cut[0, 2], yard, state)
        return 1
    if kind < 0.94:
        return _turn_round(x, m, a, e, cut)
    return _swallow(x, m, a, e, state)
