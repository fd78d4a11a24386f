"""Small changes to a plan, at random by a keyed counter: the same key gives the same changes anywhere."""

from __future__ import annotations

import numpy as np

from browseline.science.compiled import bare

_STEP, _MIX_A, _MIX_B = (
    np.uint64(0x9E3779B97F4A7C15),
    np.uint64(0xBF58476D1CE4E5B9),
    np.uint64(0x94D049BB133111EB),
)
_S30, _S27, _S31, _S11 = np.uint64(30), np.uint64(27), np.uint64(31), np.uint64(11)


@bare
def chance(state):  # type: ignore[no-untyped-def]
    """Return the next number in [0, 1) of a counter in ``state[0]`` (splitmix64).

    Parameters
    ----------
    state : uint64 array, shape (1,)
    """
    state[0] += _STEP
    z = state[0]
    z = (z ^ (z >> _S30)) * _MIX_A
    z = (z ^ (z >> _S27)) * _MIX_B
    z = z ^ (z >> _S31)
    return float(z >> _S11) * 2.0**-53


@bare
def copy_plan(out_of, into):  # type: ignore[no-untyped-def]
    """Copy where everybody is on each day from one plan into another, shape (mob, day)."""
    for m in range(into.shape[0]):
        for t in range(into.shape[1]):
            into[m, t] = out_of[m, t]


@bare
def _pick(state, count):  # type: ignore[no-untyped-def]
    return int(chance(state) * count)


@bare
def _visit(row, t):  # type: ignore[no-untyped-def]
    """Return first day and end of the visit that covers a day."""
    a, b = t, t + 1
    while a > 0 and row[a - 1] == row[t]:
        a -= 1
    while b < row.shape[0] and row[b] == row[t]:
        b += 1
    return a, b


@bare
def _elsewhere(place, m, a, b, yard, state):  # type: ignore[no-untyped-def]
    """Send a mob somewhere else for some days; mostly to a paddock."""
    place[m, a:b] = yard if chance(state) < 0.1 else _pick(state, yard)


@bare
def _shift(place, m, a, start, state):  # type: ignore[no-untyped-def]
    """Make one visit longer at the cost of its neighbour; before the first it stands at ``start``."""
    by = 1 + int(3 * chance(state))
    if chance(state) < 0.5 or a == 0:
        place[m, a : min(a + by, place.shape[1])] = place[m, a - 1] if a > 0 else start
    else:
        place[m, max(a - by, 0) : a] = place[m, a]


@bare
def _swap(place, m, a, b, state):  # type: ignore[no-untyped-def]
    """Let two visits change paddocks, of one mob or of two."""
    other = _pick(state, place.shape[0])
    c, d = _visit(place[other], _pick(state, place.shape[1]))
    here, there = place[m, a], place[other, c]
    place[m, a:b] = there
    place[other, c:d] = here


@bare
def _turn_round(place, m, a, b):  # type: ignore[no-untyped-def]
    """Let a visit and the one after it change order."""
    if b >= place.shape[1]:
        return
    _, c = _visit(place[m], b)
    here, there = place[m, a], place[m, b]
    place[m, a : a + c - b] = there
    place[m, a + c - b : c] = here


@bare
def _swallow(place, m, a, b, state):  # type: ignore[no-untyped-def]
    """Give a visit's days to the one before or after."""
    days = place.shape[1]
    if (chance(state) < 0.5 or b >= days) and a > 0:
        place[m, a:b] = place[m, a - 1]
    elif b < days:
        place[m, a:b] = place[m, b]


@bare
def _slide(place, m, b, state):  # type: ignore[no-untyped-def]
    """Lengthen or shorten a visit by a day and move those after it along."""
    days = place.shape[1]
    if b >= days:
        return
    until = min(days, b + 4 + int(40 * chance(state)))
    if chance(state) < 0.5:
        for t in range(until - 1, b - 1, -1):
            place[m, t] = place[m, t - 1]
    else:
        for t in range(b - 1, until - 1):
            place[m, t] = place[m, t + 1]


@bare
def _trail(place, m, a, until, bars, state):  # type: ignore[no-untyped-def]
    """Let a follower go where its leader was before, as long as the leader stays where it went next.

    Half of the time as soon as it may come, else some days later: others may stand there still.
    """
    leader, lag = bars.leader[m], int(np.ceil(bars.follow_d[m, 0]))
    if chance(state) < 0.5:
        lag += _pick(state, max(int(bars.follow_d[m, 1]) - lag, 0) + 1)
    yard, before = bars.open_.shape[2], -1
    for t in range(place.shape[1] - lag):
        was = bars.start[leader] if t == 0 else place[leader, t - 1]
        if place[leader, t] != was:
            before = was
        d = t + lag
        if before >= 0 and a <= d < until:
            place[m, d] = before if before == yard or bars.open_[m, d, before] else yard


@bare
def change(place, bars, state):  # type: ignore[no-untyped-def]
    """Change a plan a little, at random; first days on which nobody can be moved stay.

    Parameters
    ----------
    place : int array, shape (mob, day)
        Changed.
    state : uint64 array, shape (1,)
        As in `chance`.
    """
    mobs, days = place.shape
    yard = bars.open_.shape[2]
    m, t, kind = _pick(state, mobs), _pick(state, days), chance(state)
    a, b = _visit(place[m], t)
    if kind < 0.28:
        _elsewhere(place, m, a, b, yard, state)
    elif kind < 0.46:
        _shift(place, m, a, bars.start[m], state)
    elif kind < 0.60:
        _swap(place, m, a, b, state)
    elif kind < 0.78:
        _elsewhere(place, m, t, min(t + 1 + int(6 * chance(state)), days), yard, state)
    elif kind < 0.85:
        _turn_round(place, m, a, b)
    elif kind < 0.92:
        _swallow(place, m, a, b, state)
    else:
        _slide(place, m, b, state)
    for i in range(mobs):
        if bars.leader[i] >= 0 and chance(state) < 0.5:
            a, _ = _visit(place[bars.leader[i]], t)
            _trail(place, i, a, min(days, a + 3 + _pick(state, 60)), bars, state)
    for i in range(mobs):
        place[i, : bars.stuck_d[i]] = bars.start[i]
