"""Propose a plan: what practitioners do, plans built day by day along prices, and small changes to both."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from browseline.moves.anneal import anneal, churn
from browseline.moves.board.search import Keeping as BoardKeeping
from browseline.moves.board.search import begins_quick, search
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.judge import judge, poorest_first, some_members
from browseline.moves.kernel import Field
from browseline.moves.onto_board import board_of
from browseline.moves.rules import all_yard, rule_plans
from browseline.science import draws

Array = NDArray[np.float64]
ITERATIONS = 12_000
MANY = 30_000
"""Small changes from which on the board is searched for a second round. [1]"""
FEW, SOME = 5, 21
HOT_USD, WARM_USD, COOL_USD, COLD_USD = 30.0, 4.0, 8.0, 1.0


@dataclass(frozen=True)
class Keeping:
    """The plan in force as days of this plan, -1 where it has no word, and the price of a day that differs.

    Attributes
    ----------
    old : int array, shape (mob, day)
    usd_d : array, shape (day,)
        [USD/d]
    """

    old: Plan
    usd_d: Array

    @classmethod
    def nothing(cls, yardstick: Yardstick) -> Keeping:
        """Return the keeping where no plan is in force."""
        shape = (len(yardstick.mobs), len(yardstick.days))
        return cls(np.full(shape, -1, np.int64), np.zeros(shape[1]))

    def usd(self, plan: Plan) -> float:
        """Return what a plan's differences cost. [USD]"""
        return float(sum(churn(m, plan, self.old, self.usd_d) for m in range(plan.shape[0])))


@dataclass(frozen=True)
class Proposal:
    """The best plan found, and what the judge says of it."""

    plan: Plan
    verdict: Verdict


def propose(
    yardstick: Yardstick, seed: int, iterations: int = ITERATIONS, keeping: Keeping | None = None,
    more: Sequence[Plan] = (),
) -> Proposal:  # fmt: skip
    """Return the cheapest plan found that keeps every hard limit, judged over all members.

    Never worse than the practitioners' rule or than ``more``, by the same judge; the same seed and
    iterations give the same plan.

    Parameters
    ----------
    iterations : int
        Small changes run, those that the calendar bars at once not counted. [1]
    keeping : Keeping, optional
        The plan in force, if any.
    more : sequence of plans
        Plans to begin from as well, such as the old one.
    """
    held = keeping or Keeping.nothing(yardstick)
    few, some = some_members(yardstick.whole, FEW), some_members(yardstick.whole, SOME)
    known: list[tuple[float, int, Plan, Verdict]] = []

    def consider(plan: Plan) -> None:
        verdict = judge(yardstick, plan)
        if verdict.kept:
            known.append((verdict.mean_usd + held.usd(plan), len(known), plan, verdict))

    for plan in (all_yard(yardstick), *rule_plans(yardstick, some), *more):
        consider(plan)
    start = min(known, key=lambda k: k[:2])[2]
    tries = max(iterations // 2, 0)

    def from_known() -> Plan:
        return _polished(start, yardstick, some, held, tries, _key(seed, 0))

    def from_beam() -> Plan:
        built = _built(yardstick, some, held, seed, 1 + (iterations >= MANY))
        best = built if judge(yardstick, built, few).kept else start
        return _polished(best, yardstick, some, held, tries, _key(seed, 1))

    for plan in _both((from_known, from_beam) if iterations > 0 and yardstick.mobs else ()):
        consider(plan)
    best = min(known, key=lambda k: k[:2])
    return Proposal(best[2], best[3])


def _both(works: Sequence[Callable[[], Plan]]) -> list[Plan]:
    """Run two searches side by side; each is its own luck, so the answer is that of one after the other."""
    with ThreadPoolExecutor(2) as pool:
        return [done.result() for done in [pool.submit(work) for work in works]]


def _key(seed: int, chain: int) -> np.uint64:
    return np.uint64(int(draws.uniform(seed, "moves", chain, 0, 1)[0] * 2.0**52))


def _built(yardstick: Yardstick, some: Field, held: Keeping, seed: int, rounds: int) -> Plan:
    """Return a plan built along prices on the board."""
    keeping, board = BoardKeeping(held.old, held.usd_d), board_of(yardstick, some)
    return search(board, seed, rounds + begins_quick(board), keeping, held_plan(held)).x


def held_plan(held: Keeping) -> list[Plan]:
    """Return the plan in force where it has a word for every day, as a plan to begin from."""
    return [held.old] if held.old.size and bool(np.all(held.old >= 0)) else []


def polished(plan: Plan, yardstick: Yardstick, held: Keeping, tries: int, seed: int) -> Plan:
    """Return a plan that keeps every hard limit improved by small changes alone."""
    return _polished(plan, yardstick, some_members(yardstick.whole, SOME), held, tries, _key(seed, 2))


def _polished(
    plan: Plan, yardstick: Yardstick, some: Field, held: Keeping, tries: int, key: np.uint64
) -> Plan:
    """Return a plan improved over some members first, then over all."""
    bars, first = yardstick.bars, tries * 3 // 5
    better, _ = anneal(plan, bars, some, held.old, held.usd_d, first, HOT_USD, WARM_USD, key)
    everyone = poorest_first(yardstick.whole)
    best, _ = anneal(
        better, bars, everyone, held.old, held.usd_d, tries - first, COOL_USD, COLD_USD, key ^ np.uint64(1)
    )
    return np.asarray(best)
