"""Search a board for its cheapest season: prices and beams beside small changes; longer is better."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from browseline.moves.board.anneal import anneal
from browseline.moves.board.beam import beam
from browseline.moves.board.form import Array, Board, Index
from browseline.moves.board.prices import Dual, tables_of
from browseline.moves.board.season import cost_usd
from browseline.science import draws

HOT_USD, WARM_USD, POLISH_USD, COLD_USD = 80.0, 30.0, 6.0, 1.0
CHANGES = 20_000
"""Small changes between two looks at the clock. [1]"""
TRIES_PER_ENTRY = 1.0e-4
"""Small changes made in the time in which a step of prices goes over one entry of the tables, about. [1]"""


@dataclass(frozen=True)
class Keeping:
    """The plan in force, shape (mob, day), -1 where it has no word, and the price of a day that differs."""

    old: Index
    usd_d: Array

    @classmethod
    def nothing(cls, b: Board) -> Keeping:
        """Return the keeping where no plan is in force."""
        return cls(np.full(b.demand_kg_d.shape, -1, np.int64), np.zeros(0))

    def usd(self, x: Index) -> float:
        """Return what a plan's differences cost. [USD]"""
        days = len(self.usd_d)
        old, new = self.old[:, :days], x[:, :days]
        return float((((old >= 0) & (old != new)) * self.usd_d).sum())


@dataclass
class Best:
    """The cheapest plan found so far, and when each better one was found."""

    board: Board
    keeping: Keeping
    x: Index
    usd: float = np.inf
    begun: float = field(default_factory=time.perf_counter)
    found: list[tuple[float, float]] = field(default_factory=list)

    def consider(self, x: Index) -> None:
        """Keep a plan if it keeps every hard rule and is cheaper, churn included."""
        kept, usd, _ = cost_usd(self.board, x)
        usd += self.keeping.usd(x)
        if kept and usd < self.usd - 1e-9:
            self.x, self.usd = x.copy(), usd
            self.found.append((time.perf_counter() - self.begun, usd))


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
    """One round: grid, steps of prices and their sizes, widths of the beams, heat of the changes."""

    fine: float
    steps: int
    first_usd: float
    last_usd: float
    widths: tuple[int, ...]
    hot_usd: float
    share: float


def rounds_of(b: Board, count: int, warm: bool) -> Iterator[Round]:
    """Yield the rounds in order: coarse and quick first; later ones polish more and look about less."""
    hot, mobs = WARM_USD if warm else HOT_USD, len(b.start)
    coarse = 0.16 if _looks(b) > 1.5e5 else 0.08 if _looks(b) > 3e4 else 0.04
    first = 30.0 / mobs
    yield Round(coarse, 20, first, first / 3, _widths(b, 6e6, 2), hot, 0.6)
    yield Round(max(coarse / 2, 0.04), 24, first / 2, first / 10, _widths(b, 2.5e7, 2), 15.0, 1.0)
    yield Round(0.04, 30, first / 6, first / 20, _widths(b, 4e7, 3), 10.0, 1.5)
    for k in range(3, count):
        widths = _widths(b, 5e7 * (1 + 0.23 * (k % 5)), 3)
        last = first / (10 + 3 * min(k, 10))
        yield Round(0.04, 10, 2 * last, last, widths, 8.0 + 8.0 * (k % 2), 3.0 + min(k, 6))


def _looks(b: Board) -> int:
    """Return how many visits a board has: places, mobs, days and lengths."""
    return len(b.area_ha) * b.demand_kg_d.size * int(b.longest_d.max(initial=1))


def _widths(b: Board, effort: float, count: int) -> tuple[int, ...]:
    """Return widths of some beams that together cost about ``effort`` looks at a visit."""
    mobs, days = b.demand_kg_d.shape
    of_one = mobs * days * len(b.area_ha) * mobs * (1 + int(b.longest_d.max(initial=1)))
    widest = min(max(effort / of_one, 6.0), 250.0)
    return tuple(dict.fromkeys(max(6, round(widest * 0.45**i)) for i in range(count)))


def search(
    b: Board, seed: int, rounds: int = 4, keeping: Keeping | None = None, begin: list[Index] | None = None,
    go_on: Callable[[], bool] = lambda: True,
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
    """
    held = keeping or Keeping.nothing(b)
    best = Best(b, held, all_yard(b))
    for x in (all_yard(b), *(begin or [])):
        best.consider(x)
    work = _Work(b, held, best, go_on)
    with ThreadPoolExecutor(2) as pool:
        for k, one in enumerate(rounds_of(b, rounds, bool(begin))):
            if k >= rounds or not go_on():
                break
            _round(work, one, k, seed, pool)
    return best


@dataclass
class _Work:
    """What the rounds hand on: the board, the best plan, and the prices."""

    b: Board
    held: Keeping
    best: Best
    go_on: Callable[[], bool]
    dual: Dual | None = None

    def polish(self, x: Index, tries: int, hot: float, key: np.uint64) -> Index:
        """Return a plan improved by small changes, in parts so that a clock can end it."""
        parts = max(1, -(-tries // CHANGES))
        for i in range(parts):
            if not self.go_on():
                break
            at, then = (hot * (COLD_USD / hot) ** ((i + j) / parts) for j in (0, 1))
            x, _ = anneal(self.b, x, self.held.old, self.held.usd_d, CHANGES, at, then, key + np.uint64(i))
        return x

    def built(self, one: Round) -> list[tuple[float, int, Index]]:
        """Return plans built along prices, the cheapest first."""
        if self.dual is None or self.dual.t.fine != one.fine:
            fresh = Dual(self.b, tables_of(self.b, one.fine, False))
            if self.dual is not None:
                fresh.day, fresh.arrival, fresh.dose = self.dual.day, self.dual.arrival, self.dual.dose
            self.dual = fresh
        for i in range(one.steps):
            if not self.go_on():
                break
            self.dual.climb(1, one.first_usd * (one.last_usd / one.first_usd) ** (i / one.steps), 0.0)
        prices = self.dual.prices()
        found: list[tuple[float, int, Index]] = []
        for width in one.widths:
            if not self.go_on():
                break
            for x in beam(self.b, self.dual.t, prices, self.held.old, self.held.usd_d, width):
                kept, usd, _ = cost_usd(self.b, x)
                if kept:
                    found.append((usd + self.held.usd(x), len(found), x))
        return sorted(found, key=lambda f: f[:2])


def _round(work: _Work, one: Round, k: int, seed: int, pool: ThreadPoolExecutor) -> None:
    """Build plans along prices beside small changes to the best; then polish both side by side."""
    b, best = work.b, work.best
    tries = int(one.steps * _looks(b) / one.fine * TRIES_PER_ENTRY) + CHANGES
    here = best.x
    changed = pool.submit(work.polish, here, tries, one.hot_usd, key_of(seed, 3 * k))
    found = work.built(one)
    best.consider(changed.result())
    start = [changed.result(), *[f[2] for f in found[:1]]]
    done = [
        pool.submit(work.polish, x, int(tries * one.share), POLISH_USD, key_of(seed, 3 * k + 1 + i))
        for i, x in enumerate(start)
    ]
    for f in found[:1]:
        best.consider(f[2])
    for polished in done:
        best.consider(polished.result())
