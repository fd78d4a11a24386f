"""What a mob's day is worth: prices from the dual, and each paddock's cost to go at them.

A resting paddock keeps the invariant y = u - growth, with u = ln(h / (ceiling - h)). On a grid of y every
paddock is a small dynamic programme over visits; prices per mob-day, arrival and tree dose tie the
paddocks together. Rounded to the nearest step it guides the search; rounded up, with the relaxations named
in ``bound_usd``, it gives a cost that no plan can be below.

References
----------
derived_here, planner.md 1.5
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.moves.board.fast import folded
from browseline.moves.board.form import Array, Board, Index
from browseline.moves.board.season import graze, short_of
from browseline.moves.board.side import both
from browseline.moves.board.ways import comings, in_yard, missing

LOWEST, HIGHEST = -2.2, 4.6
"""Herbage that the grid reaches, as u. Above it a paddock counts as full. [1]"""
EARLIEST_KG_HA = 500.0
"""How far below the start height the tables let a mob come in; below it the yard is cheaper. [kg DM/ha]"""
LENGTHS_D = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 21)
"""Lengths of the visits that guide; rounded up, every length up to the longest stay is there. [d]"""
FIRST_SHARE = 0.2
"""Share of a yard day's cost at which the search for prices begins, for one mob; less for more. [1]"""
NEWEST = 0.15
"""Weight of the newest prices in the running mean that guides. [1]"""
SCALES = (1.0, 0.3, 0.01, 0.05)
"""Of a step, for prices of mob-days, arrivals, tree dose and leaving places. [1]"""
Weights = tuple[float, float]
KEPT = ((0.8, 0.2), (0.9, 0.1))
"""Weights of the old and the new in the running means of slopes, and of their squares. [1]"""
Floats = NDArray[np.float32]


class Tables(NamedTuple):
    """Every visit on the grid. Band index i at day t stands for y = (low[p, t] + i) · fine.

    fine (float) step of u; low (paddock, day + 1) first step of the band; lengths (length,) days of visits;
    usd, dose, after (paddock, day, mob, length, band), in the order in which they are asked: cost, tree dose,
    and band index at the end; usd is infinite where a visit cannot be, below band index opens (paddock, day,
    mob, length); that is past the band where the calendar bars it. end (paddock, band) cost of the last
    cover by band at the last day; start (paddock,) band index on the first day.
    """

    fine: float
    low: Index
    lengths: Index
    usd: Floats
    dose: Floats
    after: NDArray[np.uint16]
    opens: Index
    end: Floats
    start: Index


class Prices(NamedTuple):
    """Prices at which the paddocks were asked, and what they answered.

    day (mob, day) of a mob-day; arrival (day,); dose (paddock,) share of the price of tree dose that counts
    below the limit; value (float) the dual's value; [USD]. go (paddock, mob, day + 1, band) least cost from a
    day on if that mob comes next, on that day or later; leave (mob, day + 1, place) of leaving a place.
    """

    day: Array
    arrival: Array
    dose: Array
    value: float
    go: Floats
    leave: Array = np.zeros((0, 0, 0))


def tables_of(b: Board, fine: float, up: bool, earliest: float = EARLIEST_KG_HA) -> Tables:
    """Return the tables of a board.

    Parameters
    ----------
    fine : float
        Step of the grid. [1]
    up : bool
        Whether herbage is rounded up, which only ever makes a season cheaper; else to the nearest step.
    earliest : float
        How far below the start height a visit may begin. [kg DM/ha]
    """
    paddocks, days = b.area_ha.shape[0], b.can_move.shape[0]
    mobs, band = b.start.shape[0], int(np.ceil((HIGHEST - LOWEST) / fine)) + 1
    low = np.floor((LOWEST - b.growth) / fine).astype(np.int64)
    longest = int(b.longest_d.max(initial=1))
    lengths = np.array([n for n in range(1, longest + 1) if up or n in LENGTHS_D], np.int64)
    shape = (paddocks, days, mobs, len(lengths), band)
    usd, dose = np.empty(shape, np.float32), np.empty(shape, np.float32)
    after, end = np.zeros(shape, np.uint16), np.empty((paddocks, band), np.float32)
    opens = np.full(shape[:-1], band, np.int64)
    round_up = 1.0 - 1e-9 if up else 0.5
    u = np.log(b.start_kg_ha / (b.ceiling - b.start_kg_ha)) - b.growth[:, 0]
    start = np.clip(np.floor(u / fine + round_up).astype(np.int64) - low[:, 0], 0, band - 1)
    made = Tables(fine, low, lengths, usd, dose, after, opens, end, start)
    _halves(paddocks, lambda p, q: fill(b, made, up, earliest, p, q))
    return made


def fill(b: Board, t: Tables, up: bool, earliest: float, p0: int, p1: int) -> None:
    """Fill the tables of some paddocks, as in ``tables_of``."""
    round_up = 1.0 - 1e-9 if up else 0.5
    _visits(
        b, t.fine, t.low, t.lengths, round_up, up, earliest, p0, p1, t.usd, t.dose, t.after, t.opens, t.end
    )


def _halves(count: int, work: Callable[[int, int], None]) -> None:
    """Do work on two halves of the paddocks or days side by side; each writes its own rows only."""
    half = count // 2
    both(lambda ends: work(*ends), [(0, half), (half, count)])


@folded
def herbage(b, t, p, day, i):  # type: ignore[no-untyped-def]
    """Return the herbage of a band index on a day. [kg DM/ha]"""
    return b.ceiling[p] / (1.0 + np.exp(-((t.low[p, day] + i) * t.fine + b.growth[p, day])))


@folded
def _may_be(b, p, m, t, n):  # type: ignore[no-untyped-def]
    """Return whether the calendar lets a mob visit a paddock from a day on for ``n`` days."""
    days = b.can_move.shape[0]
    if not b.can_move[t] or n > b.clear_d[m, t, p] or n > b.longest_d[m, p] or t + n > days:
        return False
    return t + n == days or b.can_move[t + n]


@folded
def _one_visit(b, low, fine, round_up, up, earliest, p, m, t, n, usd, dose, after):  # type: ignore[no-untyped-def]
    """Fill a visit's cost, tree dose and band index at its end; return the first that may begin."""
    ceiling, area, w, band = b.ceiling[p], b.area_ha[p], b.prices, usd.shape[0]
    opens = band
    for i in range(band):
        h = ceiling / (1.0 + np.exp(-((low[p, t] + i) * fine + b.growth[p, t])))
        if up and i == band - 1:
            h = ceiling * (1.0 - 1e-9)
        if b.entry[m, p] - h > earliest:
            dose[i] = 0.0
            continue
        opens = min(opens, i)
        hay, short, dose[i], heat, left = graze(b, p, m, t, n, h)
        early = area * short_of(b.entry[m, p], h, b.spread)
        usd[i] = w.hay * hay + w.residual * short + heat + w.entry * early
        y = np.log(left / (ceiling - left)) - b.growth[p, t + n]
        after[i] = min(max(int(np.floor(y / fine + round_up)) - low[p, t + n], 0), band - 1)
    return opens


@folded
def _visits(b, fine, low, lengths, round_up, up, earliest, p0, p1, usd, dose, after, opens, end):  # type: ignore[no-untyped-def]
    """Fill the tables of some paddocks."""
    mobs, days, count = b.start.shape[0], b.can_move.shape[0], lengths.shape[0]
    usd[p0:p1] = np.inf
    for k in range(p0 * mobs * days * count, p1 * mobs * days * count):
        p, t, m, n = k // (mobs * days * count), k // (mobs * count) % days, k // count % mobs, k % count
        if _may_be(b, p, m, t, lengths[n]):
            opens[p, t, m, n] = _one_visit(
                b, low, fine, round_up, up, earliest, p, m, t, lengths[n],
                usd[p, t, m, n], dose[p, t, m, n], after[p, t, m, n],
            )  # fmt: skip
    for p in range(p0, p1):
        for i in range(end.shape[1]):
            h = b.ceiling[p] / (1.0 + np.exp(-((low[p, days] + i) * fine + b.growth[p, days])))
            full = up and i == end.shape[1] - 1
            end[p, i] = 0.0 if full else b.prices.end * b.area_ha[p] * max(0.0, b.cover[p] - h)


@folded
def _lowered(t, p, day, m, k, price, extra, come, go):  # type: ignore[no-untyped-def]
    """Lower a row to the cost of one visit and all after it."""
    then = day + t.lengths[k]
    first, band, usd, after = np.uint64(t.opens[p, day, m, k]), np.uint64(go.shape[2]), t.usd, t.after
    if price > 0.0:
        for i in range(first, band):
            c = usd[p, day, m, k, i] + price * t.dose[p, day, m, k, i] + extra
            go[m, day, i] = min(go[m, day, i], c + come[m, then, after[p, day, m, k, i]])
    else:
        for i in range(first, band):
            c = usd[p, day, m, k, i] + extra
            go[m, day, i] = min(go[m, day, i], c + come[m, then, after[p, day, m, k, i]])


@folded
def _visits_from(b, t, p, day, m, fixed, spent, mu, leave, come, go):  # type: ignore[no-untyped-def]
    """Lower the costs to go of a day to that of the best visit of a mob that begins on it."""
    price = np.float32(b.prices.dose * mu)
    for k in range(t.lengths.shape[0]):
        if t.opens[p, day, m, k] < go.shape[2]:
            then = day + t.lengths[k]
            extra = np.float32(fixed - spent[m, then] - leave[m, then, p])
            _lowered(t, p, day, m, k, price, extra, come, go)


@folded
def _shifted(out_of, m, day, by, into, then):  # type: ignore[no-untyped-def]
    """Fill a row with another, some band indices further on; past its end with its last.

    Indices without a sign, here and below: with one, the compiler would ask of each whether it counts from
    the end, and run them one at a time.
    """
    band = np.uint64(into.shape[2])
    by = np.uint64(min(by, into.shape[2]))
    for i in range(band - by):
        into[m, then, i] = out_of[m, day, i + by]
    for i in range(band - by, band):
        into[m, then, i] = out_of[m, day, band - np.uint64(1)]


@folded
def _left(b, t, p, day, m, go, come):  # type: ignore[no-untyped-def]
    """Fill the costs from a day on, after a mob has left on it."""
    days, band = b.can_move.shape[0], np.uint64(go.shape[2])
    _shifted(come, m, days, t.low[p, day] - t.low[p, days], come, day)
    for then in range(b.start.shape[0]):
        from_day = max(day + b.rest_d[m, then], b.fit_from[then, p])
        if from_day >= days:
            continue
        by = np.uint64(min(t.low[p, day] - t.low[p, from_day], go.shape[2]))
        for i in range(band - by):
            come[m, day, i] = min(come[m, day, i], go[then, from_day, i + by])
        last = go[then, from_day, band - np.uint64(1)]
        for i in range(band - by, band):
            come[m, day, i] = min(come[m, day, i], last)


@folded
def _to_go(b, t, p, spent, arrival, mu, coming, leave, go, come):  # type: ignore[no-untyped-def]
    """Fill a paddock's cost to go for each next mob, day and band index.

    Parameters
    ----------
    spent : array, shape (mob, day + 1)
        Prices of mob-days summed up to each day. [USD]
    coming, leave : array, shape (mob, day, place), (mob, day + 1, place)
        What arrivals cost, and what leaving earns. [USD]
    go : array, shape (mob, day + 1, band)
        Filled.
    come : array, shape (mob, day + 1, band)
        Work space: cost from a day on after a mob has left on it.
    """
    mobs, days = b.start.shape[0], b.can_move.shape[0]
    for m in range(mobs):
        for i in range(t.end.shape[1]):
            go[m, days, i] = np.inf
            come[m, days, i] = t.end[p, i]
    for day in range(days - 1, -1, -1):
        shift = t.low[p, day] - t.low[p, day + 1]
        for m in range(mobs):
            _shifted(go, m, day + 1, shift, go, day)
            if b.can_move[day]:
                fixed = coming[m, day, p] + arrival[day] + spent[m, day]
                _visits_from(b, t, p, day, m, fixed, spent, mu, leave, come, go)
        for m in range(mobs):
            _left(b, t, p, day, m, go, come)


@folded
def best_next(b, t, p, go, left, who, day, i):  # type: ignore[no-untyped-def]
    """Return the least cost to go of a paddock at rest, and which mob comes next; -1 for none.

    Parameters
    ----------
    left, who : int
        Day on which it was left, and by whom; -1 if by nobody. [d]
    day : int
        Today: nobody can come sooner.
    i : int
        Band index on ``day``.
    """
    days, band = b.can_move.shape[0], t.end.shape[1]
    best, mob = t.end[p, min(i + t.low[p, day] - t.low[p, days], band - 1)], -1
    for m in range(b.start.shape[0]):
        begin = max(day, b.fit_from[m, p])
        if who >= 0:
            begin = max(begin, left + b.rest_d[who, m])
        if begin < days:
            cost = go[p, m, begin, min(i + t.low[p, day] - t.low[p, begin], band - 1)]
            if cost < best:
                best, mob = cost, m
    return best, mob


@folded
def _offer(b, t, p, spent, mu, leave, go, offered, came, arrived, gone):  # type: ignore[no-untyped-def]
    """Add a paddock's own best season to what is offered; return its value and its tree dose."""
    days, band, w = b.can_move.shape[0], t.end.shape[1], b.prices
    day, i, who, left = 0, t.start[p], -1, 0
    value, m = best_next(b, t, p, go, left, who, day, i)
    total_dose = 0.0
    while m >= 0:
        begin = max(day, b.fit_from[m, p])
        if who >= 0:
            begin = max(begin, left + b.rest_d[who, m])
        i = min(i + t.low[p, day] - t.low[p, begin], band - 1)
        while (
            begin < days
            and go[p, m, begin, i]
            == go[p, m, begin + 1, min(i + t.low[p, begin] - t.low[p, begin + 1], band - 1)]
        ):
            i = min(i + t.low[p, begin] - t.low[p, begin + 1], band - 1)
            begin += 1
        if begin >= days:
            break
        best, length = np.inf, -1
        for k in range(t.lengths.shape[0]):
            cost = t.usd[p, begin, m, k, i]
            if cost == np.inf:
                continue
            then = begin + t.lengths[k]
            j = t.after[p, begin, m, k, i]
            c = cost + w.dose * mu * t.dose[p, begin, m, k, i] - spent[m, then] - leave[m, then, p]
            c += best_next(b, t, p, go, then, m, then, j)[0]
            if c < best:
                best, length = c, k
        if length < 0:
            break
        came[begin] += 1.0
        arrived[m, begin, p] += 1.0
        then = begin + t.lengths[length]
        gone[m, then, p] += 1.0 if then < days else 0.0
        for d in range(begin, then):
            offered[m, d] += 1.0
        total_dose += t.dose[p, begin, m, length, i]
        i = t.after[p, begin, m, length, i]
        day, left, who = then, then, m
        _, m = best_next(b, t, p, go, left, who, day, i)
    return value, total_dose


@folded
def _ask(b, t, p0, p1, spent, now, coming, go, come, offered, came, arrived, gone, values, doses):  # type: ignore[no-untyped-def]
    """Ask some paddocks for their best seasons at given prices."""
    for p in range(p0, p1):
        _, arrival, mu, leave = now
        _to_go(b, t, p, spent, arrival, mu[p], coming, leave, go[p], come)
        values[p], doses[p] = _offer(b, t, p, spent, mu[p], leave, go, offered, came, arrived, gone)


class Dual:
    """The search for prices: each step asks every paddock, and moves the prices towards what is missing.

    Parameters
    ----------
    b : Board
    t : Tables
    scales : tuple of float
        Of a step, as in ``SCALES``. [1]
    kept : tuple of pairs of float
        As ``KEPT``. [1]
    """

    def __init__(
        self, b: Board, t: Tables, scales: tuple[float, ...] = SCALES, kept: tuple[Weights, ...] = KEPT
    ) -> None:
        self.b, self.t, self.scales, self.kept = b, t, scales, kept
        paddocks, days, mobs, _, band = t.usd.shape
        yard_usd = b.prices.yard_d + b.prices.hay * b.demand_kg_d
        most = yard_usd + b.prices.move + 2 * b.prices.km * b.far_km[-1].max()
        self.now = [
            FIRST_SHARE / np.sqrt(mobs) * yard_usd, np.zeros(days), np.full(paddocks, 0.5),
            np.zeros((mobs, days + 1, paddocks + 1)),
        ]  # fmt: skip
        """Prices now: of mob-days, arrivals, tree dose, and leaving places."""
        self.least, self.most = (0.0, 0.0, 0.0, -np.inf), (most, np.inf, 1.0, np.inf)
        self.go = np.empty((paddocks, mobs, days + 1, band), np.float32)
        self.come = np.empty((2, mobs, days + 1, band), np.float32)
        self.push = [np.zeros_like(x) for x in self.now]
        self.size = [np.zeros_like(x) for x in self.now]
        self.mean = self.now
        self.best: tuple[float, list[Array]] = (-np.inf, self.now)
        self.values = np.zeros(paddocks)
        """What each paddock's best season cost when it was asked last. [USD]"""

    def ask(self) -> tuple[float, list[Array]]:
        """Return the dual's value at the prices now, and its slope by each of them."""
        b, t = self.b, self.t
        paddocks, days, mobs = t.usd.shape[:3]
        price, arrival, mu, leave = self.now
        spent, coming, out_of = self._summed()
        offered, came = np.zeros((2, mobs, days)), np.zeros((2, days))
        arrived, gone = np.zeros(leave.shape), np.zeros(leave.shape)
        values, doses = np.empty(paddocks), np.empty(paddocks)

        def work(p: int, q: int) -> None:
            k = int(p > 0)
            _ask(
                b, t, p, q, spent, tuple(self.now), coming, self.go, self.come[k], offered[k], came[k],
                arrived, gone, values, doses,
            )  # fmt: skip

        _halves(paddocks, work)
        self.values = values
        value = values.sum() + price.sum() - (arrival * b.cap).sum()
        value -= (b.prices.dose * mu * b.dose_limit).sum()
        for m in range(mobs):
            value += in_yard(b, m, price, arrival, coming, leave, offered[0], came[0], arrived, gone)
        slope = [
            1.0 - offered.sum(axis=0), came.sum(axis=0) - b.cap, b.prices.dose * (doses - b.dose_limit),
            missing(arrived, gone, out_of),
        ]  # fmt: skip
        return float(value), slope

    def asked_at(self) -> tuple[Array, Array, Array, Array, Array]:
        """Return prices now: of arrivals, tree dose, leaving, mob-days summed up; and what arrivals cost."""
        _, arrival, mu, leave = self.now
        spent, coming, _ = self._summed()
        return arrival, mu, leave, spent, coming

    def _summed(self) -> tuple[Array, Array, Index]:
        """Return prices of mob-days summed up to each day, what arrivals cost, and from where they come."""
        price, _, _, leave = self.now
        spent = np.zeros((price.shape[0], price.shape[1] + 1))
        spent[:, 1:] = np.cumsum(price, axis=1)
        coming = np.zeros((*price.shape, leave.shape[2]))
        out_of = np.zeros(coming.shape, np.int64)
        _halves(price.shape[1], lambda first, end: comings(self.b, leave, coming, out_of, first, end))
        return spent, coming, out_of

    def climb(self, steps: int, first_usd: float, last_usd: float) -> float:
        """Move the prices uphill and return the best value seen. [USD]

        Parameters
        ----------
        first_usd, last_usd : float
            Size of the steps, at first and at last. [USD]
        """
        for k in range(steps):
            value, slope = self.ask()
            self._note(value)
            size = first_usd * (last_usd / first_usd) ** (k / (steps - 1)) if steps > 1 else first_usd
            self._step(slope, size)
        return self.best[0]

    def _note(self, value: float) -> None:
        if value > self.best[0]:
            self.best = (value, self.now)

    def begin(self, *prices: Array) -> None:
        """Go on from given prices, in the order of ``now``; those not given stay."""
        self.now = [*(x.copy() for x in prices), *self.now[len(prices) :]]
        self.mean = self.now

    def _step(self, slope: list[Array], size: float) -> None:
        found, ((old, new), (old_square, new_square)) = [], self.kept
        for k, (x, g) in enumerate(zip(self.now, slope, strict=True)):
            self.push[k] = old * self.push[k] + new * g
            self.size[k] = old_square * self.size[k] + new_square * g * g
            by = size * self.scales[k] * self.push[k] / (np.sqrt(self.size[k]) + 1e-9)
            found.append(np.clip(x + by, self.least[k], self.most[k]))
        self.now = found
        self.mean = [(1 - NEWEST) * was + NEWEST * x for was, x in zip(self.mean, found, strict=True)]

    def prices(self) -> Prices:
        """Return the mean of the last prices, calmer and better than each, with the costs to go at them."""
        now, self.now = self.now, self.mean
        value, _ = self.ask()
        self._note(value)
        day, arrival, mu, leave = (x.copy() for x in self.now)
        found = Prices(day, arrival, mu, value, self.go, leave)
        self.now = now
        return found
