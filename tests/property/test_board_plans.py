"""Ten thousand plans of small seasons: none breaks the calendar, each costs what the plain checker says.

A plan is what the planner returns after a small number of small changes, or along prices after a few steps of
them; no cost is ever below the bound.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.anneal import anneal
from browseline.moves.board.beam import beam
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.form import Board, Index
from browseline.moves.board.prices import Dual, tables_of
from browseline.moves.board.search import all_yard, key_of, search
from tests.plan_checker import cost, faults

SEASONS, PLANS = 25, 100
SIZES = ((4, 14, 1), (6, 20, 1), (5, 16, 2), (7, 21, 2), (8, 18, 3))
CHURN = np.zeros(0)


def plans_of(board: Board, seed: int) -> Iterator[Index]:
    """Yield plans: one of a whole search, those of beams along prices, and many of small changes."""
    none = np.full(board.demand_kg_d.shape, -1, np.int64)
    looks = iter(range(2 + seed % 5))
    yield search(board, seed, 1, go_on=lambda: next(looks, None) is not None).x
    dual, built = Dual(board, tables_of(board, 0.16, False)), 1
    for steps in (3, 9, 27):
        dual.climb(steps, 20.0, 5.0)
        for x in beam(board, dual.t, dual.prices(), none, CHURN, 2 + seed % 7):
            built += 1
            yield x
    begin = all_yard(board)
    for k in range(PLANS - built):
        x, _ = anneal(board, begin, none, CHURN, 1 + k * k // 4, 80.0, 1.0 + k % 9, key_of(seed, k))
        begin = x if k % 5 else begin
        yield x


@pytest.mark.parametrize("part", range(4))
def test_no_plan_breaks_the_calendar_or_beats_the_bound(part: int) -> None:
    checked = 0
    for one in range(SEASONS):
        seed = 10_000 + 100 * part + one
        made: dict[str, Any] = season(seed, *SIZES[one % len(SIZES)])
        board = board_of(made)
        seen = []
        for x in plans_of(board, seed):
            plan = x.tolist()
            assert faults(made, plan) == []
            seen.append(cost(made, plan)["total"])
        assert bound_usd(board, 0.08, 30) <= min(seen)
        checked += len(seen)
    assert checked == SEASONS * PLANS
