"""A plan made again while the season runs: from the plan in force, on a mildly pessimistic forecast, soon."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from browseline.moves.anneal import anneal
from browseline.moves.board.anneal import anneal as anneal_on_board
from browseline.moves.board.beam import beam
from browseline.moves.board.form import Board
from browseline.moves.board.prices import Dual, Prices, Tables, tables_of
from browseline.moves.board.search import key_of
from browseline.moves.board.season import cost_usd
from browseline.moves.differs import mended
from browseline.moves.forecast import forecast_of
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.judge import judge, poorest_first, some_members
from browseline.moves.kernel import Field
from browseline.moves.lived import Begun, Life, choosing, lived
from browseline.moves.onto_board import board_of
from browseline.moves.propose import Keeping, Proposal
from browseline.moves.rules import all_yard, rule_plans

BOARD_SHARE = 10
"""Small changes on the board for each that the real sward is run for. [1]"""
FORESEEN = 60
"""Of a hundred small changes on the real sward those that look at the forecast, not at all members. [1]"""
FEW = 6
"""Small changes for each mob's day below which all look at all members: few mend no bent forecast. [1]"""
MENDING = 3
"""Members that a plan is mended by. [1]"""
HOT_USD, POLISH_USD, WARM_USD, COLD_USD = 30.0, 6.0, 4.0, 1.0
FINE, STEPS, WIDTH, BOARD_MEMBERS, FEW_MEMBERS = 0.16, 24, 10, 21, 5
FIRST_USD, LAST_SHARE = 30.0, 0.1
MOST_VISITS, LENGTHS = 150_000, 12
"""Visits (places, mobs, days, lengths) up to which prices are sought: beyond, it takes too long. [1]"""


class Guide(NamedTuple):
    """What plans are built along: prices at which each paddock's costs to go are known."""

    tables: Tables
    prices: Prices


@dataclass(frozen=True)
class Outlook:
    """The board of what is left of a season, and its guide; prices depend on forecast and calendar alone."""

    board: Board
    guide: Guide | None


def outlook_of(yardstick: Yardstick) -> Outlook:
    """Return the outlook of a yardstick; without a guide where there are too many visits to look at."""
    board = board_of(yardstick, some_members(yardstick.whole, FEW_MEMBERS))
    visits = len(board.area_ha) * board.demand_kg_d.size * min(int(board.longest_d.max(initial=1)), LENGTHS)
    if visits > MOST_VISITS or not yardstick.mobs:
        return Outlook(board, None)
    board = board_of(yardstick, some_members(yardstick.whole, BOARD_MEMBERS))
    dual, first = Dual(board, tables_of(board, FINE, False)), FIRST_USD / len(yardstick.mobs)
    for k in range(STEPS):
        dual.climb(1, first * LAST_SHARE ** (k / STEPS), 0.0)
    return Outlook(board, Guide(dual.t, dual.prices()))


def again(
    yardstick: Yardstick, start: Plan, held: Keeping, seed: int, tries: int, outlook: Outlook,
    also: Sequence[Plan] = (),
) -> Proposal:  # fmt: skip
    """Return the plan found from the plan in force that costs least as it is lived, over some members.

    Two searches run side by side on the forecast: one changes the best of the plan in force and what the
    practitioners' rules would do from now on; one builds plans along prices on the board and changes
    the best. Of what they find and begin from, that is taken which is the cheapest as it is lived
    (``lived``), churn included.

    Parameters
    ----------
    start : int array, shape (mob, day)
        The plan in force, repaired where a hard limit bars it by now.
    held : Keeping
        The plan in force and what a day costs that differs from it.
    tries : int
        Small changes on the real sward; the same seed and tries give the same plan. [1]
    outlook : Outlook
        Of ``outlook_of``, made now, or when the season was planned and cut to what is left.
    also : sequence of plans
        Known already, to choose from as well.
    """
    search = _Search(yardstick, start, held, forecast_of(yardstick.whole), outlook, seed, tries)
    known = [start, *rule_plans(yardstick, search.seen), all_yard(yardstick), search.mended()]
    works = (lambda: search.from_known(known), lambda: search.from_board(known[-1]))
    with ThreadPoolExecutor(2) as pool:
        known_now = [*known, *(w.result() for w in [pool.submit(work) for work in works if tries]), *also]
    found = judged(yardstick, known_now, held, yardstick.whole)
    best, verdict = least_lived(yardstick, known_now, held, found)
    return Proposal(known_now[best], verdict)


def least_lived(
    yardstick: Yardstick, plans: Sequence[Plan], held: Keeping, found: Sequence[tuple[float, int, Verdict]]
) -> tuple[int, Verdict]:
    """Return the plan that costs least as it is lived, churn included: its number, and its verdict.

    Parameters
    ----------
    found : sequence of (float, int, Verdict)
        Of ``judged``.
    """
    members, known = choosing(yardstick), dict[Begun, Life]()
    each = {
        plans[i].tobytes(): (usd, i, said) for usd, i, said in sorted(found, reverse=True, key=_first_two)
    }

    def life(one: tuple[float, int, Verdict]) -> tuple[float, float, int]:
        usd, i, said = one
        return lived(yardstick, plans[i], said, members, known=known).mean_usd + held.usd(plans[i]), usd, i

    with ThreadPoolExecutor(2) as pool:
        _, _, best = min(pool.map(life, each.values()))
    return best, next(said for _, i, said in found if i == best)


def _first_two(found: tuple[float, int, Verdict]) -> tuple[float, int]:
    return found[:2]


def judged(
    yardstick: Yardstick, plans: Sequence[Plan], held: Keeping, members: Field
) -> list[tuple[float, int, Verdict]]:
    """Return the mean cost, churn included, of the plans that keep every hard limit. [USD]"""
    said = [judge(yardstick, plan, members) for plan in plans]
    costs = [(v.mean_usd + held.usd(p), i, v) for i, (v, p) in enumerate(zip(said, plans, strict=True))]
    return [one for one in costs if one[2].kept]


@dataclass(frozen=True)
class _Search:
    """What both searches look at."""

    yardstick: Yardstick
    start: Plan
    held: Keeping
    seen: Field
    outlook: Outlook
    seed: int
    tries: int

    def mended(self) -> Plan:
        """Return the plan in force with each stay that became impossible where it costs least by now."""
        place = np.array(self.start, np.int64)
        mended(place, self.yardstick.bars, some_members(self.seen, MENDING))
        return place

    def from_known(self, known: Sequence[Plan]) -> Plan:
        """Return the best of some plans, changed on the real sward."""
        return self._changed(self._best(known), HOT_USD, 0)

    def from_board(self, mended: Plan) -> Plan:
        """Return the best of the plans built or changed on the board, changed on the real sward."""
        plans = [self.start, *self._built()]
        on_board = [self._changed_on_board(x, k) for k, x in enumerate(plans[:2])]
        return self._changed(self._best([*plans, mended, *on_board]), POLISH_USD, 1)

    def _best(self, plans: Sequence[Plan]) -> Plan:
        found = judged(self.yardstick, plans, self.held, self.seen)
        return plans[min(found, key=lambda f: f[:2])[1]] if found else plans[0]

    def _built(self) -> list[Plan]:
        board, guide, held = self.outlook.board, self.outlook.guide, self.held
        if guide is None:
            return []
        return list(beam(board, guide.tables, guide.prices, held.old, held.usd_d, WIDTH))

    def _changed_on_board(self, x: Plan, chain: int) -> Plan:
        board, held, hot = self.outlook.board, self.held, POLISH_USD if chain else HOT_USD
        if not cost_usd(board, x)[0]:
            return x
        count, key = BOARD_SHARE * self.tries, key_of(self.seed, 2 + chain)
        return np.asarray(anneal_on_board(board, x, held.old, held.usd_d, count, hot, COLD_USD, key)[0])

    def _changed(self, x: Plan, hot_usd: float, chain: int) -> Plan:
        """Return a plan changed on the forecast first, then over all members as they are."""
        bars, old, usd_d = self.yardstick.bars, self.held.old, self.held.usd_d
        foreseen = FORESEEN if self.tries >= FEW * x.size else 0
        first, key = self.tries * foreseen // 200, key_of(self.seed, chain)
        x, _ = anneal(x, bars, self.seen, old, usd_d, first, hot_usd, WARM_USD, key)
        everyone, last = poorest_first(self.yardstick.whole), self.tries // 2 - first
        x, _ = anneal(x, bars, everyone, old, usd_d, last, WARM_USD, COLD_USD, key ^ np.uint64(1))
        return np.asarray(x)
