"""A paddock's best season at given prices, herbage not rounded, rest kept since every earlier visit.

The tables of a grid, rounded up, say from below what a season can still cost. Visits are tried in order of
the cost so far and that together, each run day by day on its exact herbage: the first season that nothing
left over can undercut is the best. A search cut short still tells a cost that no season can be below.

References
----------
derived_here, planner.md 1.2, 1.3 and 1.5
"""

from __future__ import annotations

import heapq
from typing import NamedTuple

import numpy as np

from browseline.moves.board.fast import folded, stepped
from browseline.moves.board.form import Array, Index
from browseline.moves.board.prices import Dual, Floats
from browseline.moves.board.season import graze, short_of
from browseline.moves.board.side import both

STATES, FIRST_STATES = 20_000, 10_000
"""Most states of a paddock that are looked at, and most when a good season is sought first. [1]"""
DEEP_USD_D = 0.5
"""What a later state may cost more, a day, to be looked at earlier while a good season is sought. [USD/d]"""


class Asked(NamedTuple):
    """Prices that a paddock is asked at, and the cost to go at them, on tables rounded up.

    go (paddock, mob, day + 1, band); arrival (day,), dose (paddock,), leave (mob, day + 1, place) as in
    ``prices.Prices``; spent (mob, day + 1) prices of mob-days summed up to each day; coming (mob, day, place)
    what arrivals cost; [USD]. earliest (float) how far below the start height a visit may begin [kg DM/ha].
    """

    go: Floats
    arrival: Array
    dose: Array
    leave: Array
    spent: Array
    coming: Array
    earliest: float


class States(NamedTuple):
    """A paddock left by a mob, state by state; the first is the paddock on the first day.

    usd (state,) cost so far; y (state,) invariant; day (state,) when it was left; ready (state, mob) from
    which day on each may come, for rest since all earlier visits; begins (day + 1, mob), goes_on (state,)
    lists of the states by the day and the mob that left, -1 at their ends.
    """

    usd: Array
    y: Array
    day: Index
    ready: Index
    begins: Index
    goes_on: Index


@folded
def _index(t, p, day, y):  # type: ignore[no-untyped-def]
    """Return the band index of an invariant on a day, rounded up."""
    i = int(np.ceil(y / t.fine - 1e-9)) - t.low[p, day]
    return min(max(i, 0), t.end.shape[1] - 1)


@folded
def _onward(t, p, go, day, i, ready):  # type: ignore[no-untyped-def]
    """Return a cost that nothing after a day can be below, if each mob may come from its own day on.

    Parameters
    ----------
    i : int
        Band index on ``day``.
    ready : int array, shape (mob,)
        First day on which each may come. [d]
    """
    days, band = t.low.shape[1] - 1, t.end.shape[1]
    usd = t.end[p, min(i + t.low[p, day] - t.low[p, days], band - 1)]
    for m in range(ready.shape[0]):
        begin = max(day, ready[m])
        if begin < days:
            usd = min(usd, go[p, m, begin, min(i + t.low[p, day] - t.low[p, begin], band - 1)])
    return np.float64(usd)


@folded
def _herbage(b, p, day, y):  # type: ignore[no-untyped-def]
    """Return the herbage of an invariant on a day. [kg DM/ha]"""
    return b.ceiling[p] / (1.0 + np.exp(-(y + b.growth[p, day])))


@folded
def _visit(b, p, m, day, length, y, mu, earliest):  # type: ignore[no-untyped-def]
    """Return what a visit costs at a price of tree dose, infinite if it may not begin; and y at its end."""
    w, ceiling, h = b.prices, b.ceiling[p], _herbage(b, p, day, y)
    usd, after = np.inf, y
    if b.entry[m, p] - h <= earliest:
        hay, short, dose, heat, left = graze(b, p, m, day, length, h)
        early = b.area_ha[p] * short_of(b.entry[m, p], h, b.spread)
        usd = w.hay * hay + w.residual * short + heat + w.entry * early + w.dose * mu * dose
        after = np.log(left / (ceiling - left)) - b.growth[p, day + length]
    return usd, after


@folded
def _no_better(s, i, n):  # type: ignore[no-untyped-def]
    """Return whether a state is no better than one of the list from ``i`` on: in cost, herbage and rest."""
    found = False
    while i >= 0 and not found:
        found = s.usd[i] <= s.usd[n] and s.y[i] >= s.y[n]
        for m in range(s.ready.shape[1]):
            found = found and s.ready[i, m] <= s.ready[n, m]
        i = s.goes_on[i]
    return found


@folded
def _after(b, t, a, p, s, i, m, begin, k, n, most):  # type: ignore[no-untyped-def]
    """Fill state n with what follows state i after a visit; return its cost and onward cost, or infinity.

    What the tables tell not to be below ``most`` is not run.
    """
    j, then = _index(t, p, begin, s.y[i]), begin + t.lengths[k]
    for q in range(s.ready.shape[1]):
        s.ready[n, q] = max(s.ready[i, q], then + b.rest_d[m, q])
    fixed = s.usd[i] + a.coming[m, begin, p] + a.arrival[begin] + a.spent[m, begin]
    fixed -= a.spent[m, then] + a.leave[m, then, p]
    told = fixed + t.usd[p, begin, m, k, j] + b.prices.dose * a.dose[p] * t.dose[p, begin, m, k, j]
    if told + _onward(t, p, a.go, then, int(t.after[p, begin, m, k, j]), s.ready[n]) >= most:
        return np.inf
    usd, s.y[n] = _visit(b, p, m, begin, t.lengths[k], s.y[i], a.dose[p], a.earliest)
    s.usd[n], s.day[n] = fixed + usd, then
    return s.usd[n] + _onward(t, p, a.go, then, _index(t, p, then, s.y[n]), s.ready[n])


@stepped
def _begun(b, t, a, p, s, i, m, begin, n, deep, most, heap):  # type: ignore[no-untyped-def]
    """Add the states after a mob's visits that begin on a day; return how many there are now."""
    j, room = _index(t, p, begin, s.y[i]), s.usd.shape[0] - 1
    for k in range(t.lengths.shape[0]):
        if n > room or not b.can_move[begin] or j < t.opens[p, begin, m, k]:
            continue
        least, then = _after(b, t, a, p, s, i, m, begin, k, n, most), begin + t.lengths[k]
        if least < most and not _no_better(s, s.begins[then, m], n):
            s.goes_on[n], s.begins[then, m] = s.begins[then, m], n
            heapq.heappush(heap, (least - deep * then, n))
            n += 1
    return n


@stepped
def _spread(b, t, a, p, s, i, n, deep, most, heap):  # type: ignore[no-untyped-def]
    """Add every state after a visit to state i that may lead below ``most``; return how many there are now.

    One more than there is room for tells that the room did not suffice.
    """
    room = s.usd.shape[0] - 1
    for m in range(s.ready.shape[1]):
        for begin in range(max(s.day[i], s.ready[i, m]), b.can_move.shape[0]):
            j = _index(t, p, begin, s.y[i])
            if n > room or s.usd[i] + a.go[p, m, begin, j] >= most:
                break
            n = _begun(b, t, a, p, s, i, m, begin, n, deep, most, heap)
    return n


@stepped
def season_usd(b, t, a, p, states, deep, most):  # type: ignore[no-untyped-def]
    """Return the cost of a paddock's best season at given prices, and a cost that none can be below. [USD]

    Parameters
    ----------
    states : int
        Most that are looked at; where they suffice both are the same.
    deep : float
        What a later state may cost more, a day, to be looked at earlier; with any the second cost says
        nothing. [USD/d]
    most : float
        The cost of a season known. [USD]
    """
    mobs, days = b.start.shape[0], b.can_move.shape[0]
    s = States(
        np.zeros(states + 1), np.zeros(states + 1), np.zeros(states + 1, np.int64),
        np.zeros((states + 1, mobs), np.int64), np.full((days + 1, mobs), -1), np.full(states + 1, -1),
    )  # fmt: skip
    s.y[0] = np.log(b.start_kg_ha[p] / (b.ceiling[p] - b.start_kg_ha[p])) - b.growth[p, 0]
    s.ready[0], n = b.fit_from[:, p], 1
    heap = [(_onward(t, p, a.go, 0, _index(t, p, 0, s.y[0]), s.ready[0]), 0)]
    while len(heap) > 0:
        least, i = heapq.heappop(heap)
        if least >= most:
            break
        end = b.prices.end * b.area_ha[p] * max(0.0, b.cover[p] - _herbage(b, p, days, s.y[i]))
        most = min(most, s.usd[i] + end)
        n = _spread(b, t, a, p, s, i, n, deep, most, heap)
        if n > states:
            return most, min(least, most)
    return most, most


def unrounded_usd(dual: Dual, earliest: float, states: int = STATES) -> Array:
    """Return what no season of each paddock can be below at the prices that were asked last. [USD]

    Parameters
    ----------
    dual : Dual
        On tables rounded up, just asked.
    earliest : float
        How far below the start height a visit may begin. [kg DM/ha]
    states : int
        Most of a paddock that are looked at.
    """
    b, t, asked = dual.b, dual.t, Asked(dual.go, *dual.asked_at(), earliest)

    def of(p: int) -> float:
        good, _ = season_usd(b, t, asked, p, min(FIRST_STATES, states), DEEP_USD_D, np.inf)
        return float(season_usd(b, t, asked, p, states, 0.0, good + 1e-6)[1])

    return np.array(both(of, range(len(b.area_ha))))
