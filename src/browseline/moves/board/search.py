"""Search a board for its cheapest season: prices and beams beside small changes; longer is better."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from browseline.moves.board.anneal import anneal
from browseline.moves.board.beam import beam
from browseline.moves.board.begin import first_prices
from browseline.moves.board.form import Array, Board, Index
from browseline.moves.board.prices import Dual, Prices, Tables, tables_of
from browseline.moves.board.season import cost_usd
from browseline.moves.board.side import both
from browseline.science import draws

HOT_USD, WARM_USD, POLISH_USD, COLD_USD = 80.0, 30.0, 6.0, 1.0
AGAIN_USD, AGAIN_FINE = 100.0, 0.08
"""Heat of the first small changes to a plan in force [USD]; grid of the tables kept, twice that if large."""
NARROW = 5
"""Width of the beam that tells what a season costs by now. [1]"""
FEW, LARGE = 3e4, 1e5
"""Visits that a board can have, below which it is small, and above which it is large. [1]"""
CHANGES = 20_000
"""Small changes between two looks at the clock. [1]"""
WEEK_D, FIRM = 7, 2.5
"""Days of which at most a share should change [d]; by how much prices rise where more would. [1]"""


@dataclass(frozen=True)
class Keeping:
    """The plan in force, shape (mob, day), -1 where it has no word, and the price of a day that differs.

    times_d (day,): the price in what a mob's day costs by now, where that is more than the typed usd_d: after
    a dry half year a day costs far more than was foreseen, and a price that does not follow keeps nothing.
    most: the share of the next week's mob-days that should change; where the best plan built changes more, a
    search that goes on from an earlier one goes on at firmer prices. [1]
    """

    old: Index
    usd_d: Array
    times_d: Array = field(default_factory=lambda: np.zeros(0))
    most: float = 1.0

    @classmethod
    def nothing(cls, b: Board) -> Keeping:
        """Return the keeping where no plan is in force."""
        return cls(np.full(b.demand_kg_d.shape, -1, np.int64), np.zeros(0))

    def at(self, usd: float) -> Keeping:
        """Return the keeping where a mob's day costs so much. [USD]"""
        if not self.times_d.size:
            return self
        return replace(self, usd_d=np.maximum(self.usd_d, usd * self.times_d))

    def firm(self) -> Keeping:
        """Return the keeping at prices that hold more of the plan in force; they rise once."""
        return replace(self, usd_d=FIRM * self.usd_d, most=1.0)

    def over(self, x: Index) -> bool:
        """Return whether a plan changes more of the next week than it should."""
        old, new = self.old[:, :WEEK_D], x[:, :WEEK_D]
        return float(((old >= 0) & (old != new)).mean()) > self.most

    def usd(self, x: Index) -> float:
        """Return what a plan's differences cost. [USD]"""
        days = len(self.usd_d)
        old, new = self.old[:, :days], x[:, :days]
        return float((((old >= 0) & (old != new)) * self.usd_d).sum())


Start = tuple[Index, float, float]
"""A plan to change, and the heat at first and at last. [USD]"""
Guide = tuple[Array, ...]
"""Prices of mob-days, arrivals, tree dose and leaving places, as a search leaves them for the next."""


@dataclass
class Best:
    """The cheapest plan found so far, when each better one was found, and what led there: prices, tables."""

    board: Board
    keeping: Keeping
    x: Index
    usd: float = np.inf
    clock: Callable[[], float] = time.perf_counter
    begun: float = np.nan
    found: list[tuple[float, float]] = field(default_factory=list)
    guide: Guide | None = None
    tables: Tables | None = None

    def __post_init__(self) -> None:
        self.begun = self.clock()

    def consider(self, x: Index) -> None:
        """Keep a plan if it keeps every hard rule and is cheaper, churn included."""
        kept, usd, _ = cost_usd(self.board, x)
        usd += self.keeping.usd(x)
        if kept and usd < self.usd - 1e-9:
            self.x, self.usd = x.copy(), usd
            self.found.append((self.clock() - self.begun, usd))


def all_yard(b: Board) -> Index:
    """Return the plan in which every mob stands in the yard, from the first day on which it can go there."""
    x = np.full(b.demand_kg_d.shape, len(b.area_ha), np.int64)
    first = int(np.argmax(b.can_move))
    for m, here in enumerate(b.start):
        x[m, :first] = here
    return x


def key_of(seed: int, chain: int) -> np.uint64:
    """Return the key of one chain of luck."""
    return np.uint64(int(draws.uniform(seed, "moves", chain, 0, 1)[0] * 2.0**52))


@dataclass(frozen=True)
class Round:
    """One round: grid, steps of prices and their sizes, widths of beams; small changes and their heat.

    warmth is the heat for what beams built, as a share of what a mob's day costs in it; starts how many of
    it are changed. [1] Without a heat the best plan so far rests: building is the better use of little time.
    """

    fine: float
    steps: int
    first_usd: float
    last_usd: float
    widths: tuple[int, ...]
    tries: int
    hot_usd: float
    warmth: float = 0.5
    starts: int = 2


def rounds_again(b: Board, count: int, fine: float, level_usd: float, dearer: bool) -> Iterator[Round]:
    """Yield the rounds that go on from the prices and the plan of an earlier search of these days.

    What stands may be far from what was foreseen: the first steps of the prices are large, and small changes
    begin hot, from the plan in force in one thread and from what a beam built in the other. On a large board
    little time is best spent on one long search for prices and one wide beam, then on small changes alone;
    more time, and any on a small board, where beams soon build the same again, on many short rounds of
    different heat.

    Parameters
    ----------
    level_usd : float
        What a mob's day costs by now. [USD]
    dearer : bool
        Whether that is more than was foreseen; prices then begin nearer, and need fewer steps.
    """
    first = max(30.0 / len(b.start) ** 1.5, 0.2 * level_usd)
    begun, steps, effort, tries = (1, 12, 1e6, 20) if _looks(b) < FEW else (2, 16, 1e7, 30)
    if _looks(b) > LARGE:
        begun, effort, climb, widths = 2, 4e7, 50 if dearer else 70, _widths(b, 2.4e7, 2)
        yield Round(fine, climb, first, first / 24, widths, 30 * CHANGES, 40.0, 0.8, 1)
        yield Round(fine, 0, first, first, (), 80 * CHANGES, 15.0)
    else:
        yield Round(fine, 45, first, first / 16, _widths(b, 3e6, 2), 14 * CHANGES, AGAIN_USD, 0.8, 1)
        if begun > 1:
            yield Round(fine, 15, first / 12, first / 48, _widths(b, 5e6, 2), 14 * CHANGES, 40.0, 0.8, 1)
            yield Round(fine, 0, first, first, (), 60 * CHANGES, 15.0)
    for k in range(begun, count):
        size, hot = first / (8 + 4 * (k % 3)), (40.0, 15.0, AGAIN_USD)[k % 3]
        widths = _widths(b, effort * (1, 2, 0.5, 4)[k % 4], 2)
        yield Round(min(fine, AGAIN_FINE), steps, size, size / 4, widths, tries * CHANGES, hot, 0.8, 1)


def rounds_of(b: Board, count: int, warm: bool, level_usd: float) -> Iterator[Round]:
    """Yield the rounds in order: coarse and quick first; later ones go on from good prices.

    The first are cut so that on two free cores each ends soon after the last: of 40 and 60 paddocks within a
    second. Their steps follow the price of a mob-day that they begin from, `level_usd`.
    """
    looks = _looks(b)
    first = 30.0 / len(b.start) ** 1.5 if looks < FEW else 0.2 * level_usd
    opening = _opening(b, first, WARM_USD if warm else HOT_USD)
    yield from opening
    many, cooler = (40, 3.0) if looks >= FEW else (24 if looks >= 5e3 else 12, 6.0)
    warmth, starts = (0.0, 2) if looks < 5e3 else (0.5, 1)
    for k in range(len(opening), count):
        size, grid = first / (20 + 15 * (k % 3)), 0.08 if looks > LARGE else 0.04
        widths = _widths(b, _wide(b) * (1, 2, 1.4, 4, 1.2, 2.8, 8)[k % 7], 2)
        yield Round(grid, 12, size, size / 2, widths, many * CHANGES, 6.0 + cooler * (k % 3), warmth, starts)


def _opening(b: Board, first: float, hot: float) -> tuple[Round, ...]:
    """Return the first rounds of a board, by its size."""
    looks = _looks(b)
    if looks < 5e3:
        return (
            Round(0.16, 50, first, first / 10, _widths(b, 2e6, 3, 0.35), 4 * CHANGES, hot, 0.0),
            Round(0.04, 140, first, first / 25, _widths(b, 1e7, 3, 0.35), 8 * CHANGES, 20.0, 0.0),
            Round(0.04, 80, first / 6, first / 60, _widths(b, 2e7, 3, 0.35), 10 * CHANGES, 20.0, 0.0),
        )
    if looks < FEW:
        return (
            Round(0.16, 40, first, first / 10, _widths(b, 7e5, 2), 3 * CHANGES, hot, 0.5, 1),
            Round(0.08, 50, first, first / 15, _widths(b, 1e6, 2), 10 * CHANGES, 20.0, 0.5, 1),
            Round(0.04, 80, first / 2, first / 25, _widths(b, 5e6, 2), 10 * CHANGES, 10.0, 0.5, 1),
            Round(0.04, 80, first / 6, first / 60, _widths(b, 1e7, 2), 10 * CHANGES, 10.0, 0.5, 1),
        )
    quick, sure, fine = (0.32, 0.16, 0.08) if looks > LARGE else (0.16, 0.08, 0.04)
    if looks > LARGE:
        begin: tuple[Round, ...] = (
            Round(quick, 14, first, first / 4, _widths(b, 1.6e7, 2), 5 * CHANGES, 0.0),
            Round(quick, 14, first / 4, first / 8, _widths(b, 1.6e7, 2), 14 * CHANGES, 0.0),
            Round(quick, 60, first, first / 8, _widths(b, 2e7, 2), 16 * CHANGES, 20.0, 0.5, 1),
        )
    else:
        begin = (
            Round(quick, 40, first, first / 8, _widths(b, 3e6, 2), 4 * CHANGES, 0.0),
            Round(quick, 25, first / 6, first / 16, _widths(b, 3e6, 2), 6 * CHANGES, 20.0, 0.5, 1),
        )
    wide = _wide(b)
    return (
        *begin,
        Round(sure, 60, first / 2, first / 20, _widths(b, wide, 2), 20 * CHANGES, 20.0, 0.5, 1),
        Round(sure, 40, first / 8, first / 30, _widths(b, wide, 2), 20 * CHANGES, 10.0, 0.5, 1),
        Round(fine, 40, first / 12, first / 60, _widths(b, 2 * wide, 2), 24 * CHANGES, 10.0, 0.5, 1),
    )


def begins_quick(b: Board) -> bool:
    """Return whether a board's first round is a quick one, for a clock; where rounds count, add one."""
    return 5e3 <= _looks(b) < FEW or _looks(b) > LARGE


def _looks(b: Board) -> int:
    """Return how many visits a board has: places, mobs, days and lengths."""
    return len(b.area_ha) * b.demand_kg_d.size * int(b.longest_d.max(initial=1))


def _wide(b: Board) -> float:
    """Return how many looks at a visit the beams of a round may cost: on a large board they pay for more."""
    return 4e7 if _looks(b) > LARGE else 1e7


def _widths(b: Board, effort: float, count: int, share: float = 0.85) -> tuple[int, ...]:
    """Return widths of some beams that together cost about ``effort`` looks at a visit."""
    mobs, days = b.demand_kg_d.shape
    of_one = mobs * days * len(b.area_ha) * mobs * (1 + int(b.longest_d.max(initial=1)))
    widest = min(max(effort / of_one, 5.0), 1_500.0)
    return tuple(dict.fromkeys(max(4, round(widest * share**i)) for i in range(count)))


def search(
    b: Board, seed: int, rounds: int = 4, keeping: Keeping | None = None, begin: list[Index] | None = None,
    go_on: Callable[[], bool] = lambda: True, guide: Guide | None = None, tables: Tables | None = None,
    clock: Callable[[], float] = time.perf_counter,
) -> Best:  # fmt: skip
    """Return the cheapest plan found; the same seed and rounds give the same plan.

    Parameters
    ----------
    rounds : int
        Of prices, beams and polishing; each goes on from the prices and the best plan of the last.
    keeping : Keeping, optional
        The plan in force.
    begin : list of plans, optional
        Plans to begin from, beside the yard.
    go_on : callable
        Asked between steps; a False ends the search. Only an interface has a clock.
    guide : tuple of arrays, optional
        Prices of an earlier search of these days, to go on from.
    tables : Tables, optional
        Kept from that search, by ``later_tables``.
    clock : callable
        What ``found`` is told by. [s]
    """
    held = keeping or Keeping.nothing(b)
    best = Best(b, held, all_yard(b), clock=clock)
    for x in (all_yard(b), *(begin or [])):
        best.consider(x)
    work = _Work(b, held, best, go_on, guide)
    if guide is not None and tables is not None:
        work.dual = Dual(b, tables)
        work.dual.begin(*guide)
    fine, level_usd = AGAIN_FINE if tables is None else tables.fine, 0.0
    if guide is None:
        tries = (5 if _looks(b) > LARGE else 1) * CHANGES
        best.consider(work.polish((best.x, HOT_USD, COLD_USD), tries, key_of(seed, 0)))
        if _looks(b) >= FEW:
            work.guide = (first_prices(b, best.usd),)
            level_usd = float(work.guide[0].mean())
        todo = rounds_of(b, rounds, bool(begin), level_usd)
    else:
        plain_usd, built = work.plain(fine)
        work.keep(held.at(plain_usd / best.x.size))
        for x in built:
            best.consider(x)
        prices = first_prices(b, plain_usd)
        dearer = _looks(b) >= FEW and float(prices.mean()) > float(guide[0].mean())
        if dearer:
            work.begin((guide[0] + prices) / 2)
        todo = rounds_again(b, rounds, fine, float(prices.mean()), dearer)
    for k, one in enumerate(todo):
        if k >= rounds or not go_on():
            break
        _round(work, one, k, seed)
    return best


@dataclass
class _Work:
    """What the rounds hand on: the board, the best plan, and the prices."""

    b: Board
    held: Keeping
    best: Best
    go_on: Callable[[], bool]
    guide: Guide | None = None
    dual: Dual | None = None

    def polish(self, start: Start, tries: int, key: np.uint64) -> Index:
        """Return a plan improved by small changes, in parts so that a clock can end it."""
        x, hot, cold = start
        parts = max(1, -(-tries // CHANGES))
        for i in range(parts):
            if not self.go_on():
                break
            at, then = (hot * (cold / hot) ** ((i + j) / parts) for j in (0, 1))
            x, _ = anneal(self.b, x, self.held.old, self.held.usd_d, CHANGES, at, then, key + np.uint64(i))
        return x

    def keep(self, held: Keeping) -> None:
        """Hold plans to the one in force at other prices; the best so far costs what it costs at them."""
        self.held = self.best.keeping = held
        x, self.best.usd = self.best.x, np.inf
        self.best.consider(x)

    def plain(self, fine: float) -> tuple[float, list[Index]]:
        """Return what the best plan of one narrow beam costs, whatever is in force [USD], and its plans."""
        b, dual = self.b, self.on(fine)
        none = Keeping.nothing(b)
        plans = list(beam(b, dual.t, dual.prices(), none.old, none.usd_d, NARROW))
        usd = (usd for kept, usd, _ in (cost_usd(b, x) for x in plans) if kept)
        return min(usd, default=self.best.usd), plans

    def begin(self, price: Array) -> None:
        """Go on from other prices of mob-days."""
        self.guide = (price, *(self.guide or ())[1:])
        if self.dual is not None:
            self.dual.begin(*self.guide)

    def on(self, fine: float) -> Dual:
        """Return the prices on tables of a grid; made, and begun from what is known, where it is another."""
        if self.dual is None or self.dual.t.fine != fine:
            self.dual = Dual(self.b, tables_of(self.b, fine, False))
            if self.guide is not None:
                self.dual.begin(*self.guide)
        return self.dual

    def built(self, one: Round) -> list[tuple[float, int, int, Index]]:
        """Return plans built along prices, the cheapest first: cost, width, number, plan."""
        dual = self.on(one.fine)
        for i in range(one.steps):
            if not self.go_on():
                break
            dual.climb(1, one.first_usd * (one.last_usd / one.first_usd) ** (i / one.steps), 0.0)
        prices = dual.prices()
        if one.fine >= (2 if _looks(self.b) > LARGE else 1) * AGAIN_FINE:
            self.best.tables = dual.t
        self.guide = self.best.guide = (prices.day, prices.arrival, prices.dose, prices.leave)
        held = [self.held] * len(one.widths)
        if self.held.most < 1.0:
            held[1:] = [self.held.firm()] * len(held[1:])
        made = both(lambda job: self._beam(prices, *job), list(zip(one.widths, held, strict=True)))
        if made and made[0] and self.held.over(made[0][0][3]):
            self.keep(self.held.firm())
        found = [(usd + self.held.usd(x), width, k, x) for some in made for usd, width, k, x in some]
        return sorted(found, key=lambda f: f[:3])

    def _beam(self, prices: Prices, width: int, held: Keeping) -> list[tuple[float, int, int, Index]]:
        """Return the plans of one beam, the cheapest first: cost without churn, width, number, plan."""
        found: list[tuple[float, int, int, Index]] = []
        if self.dual is None or not self.go_on():
            return found
        for k, x in enumerate(beam(self.b, self.dual.t, prices, held.old, held.usd_d, width)):
            kept, usd, _ = cost_usd(self.b, x)
            if kept:
                found.append((usd, width, k, x))
        return sorted(found, key=lambda f: (f[0] + held.usd(f[3]), f[2]))


def _round(work: _Work, one: Round, k: int, seed: int) -> None:
    """Build plans along prices; then change the best of some widths, and the best so far.

    A look about at middling heat ends warm: what it finds is kept, and cooled in the next round. A round
    without beams changes the best so far twice, side by side.
    """
    best, here = work.best, work.best.x
    found = work.built(one)
    for f in found[:1]:
        best.consider(f[3])
    built: dict[int, Start] = {}
    for usd, width, _, x in found:
        built.setdefault(width, (x, max(POLISH_USD, one.warmth * usd / x.size), COLD_USD))
    cold = one.hot_usd / 5 if POLISH_USD < one.hot_usd < WARM_USD else COLD_USD
    starts = list(built.values())[: one.starts]
    if one.hot_usd > 0 or not starts:
        starts.insert(0, (here, one.hot_usd or POLISH_USD, cold))
    if not one.widths:
        starts *= 2
    keyed = [(start, key_of(seed, 3 * k + 1 + i)) for i, start in enumerate(starts)]
    for x in both(lambda s: work.polish(s[0], one.tries, s[1]), keyed):
        best.consider(x)
