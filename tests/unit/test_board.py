"""The board against a plain day-by-day checker: cost, calendar, small changes, beams and the bound."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.anneal import anneal
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.search import Keeping, all_yard, key_of, search
from browseline.moves.board.season import cost_usd
from tests.plan_checker import cost, faults

SIZES = ((6, 30, 1), (8, 30, 2), (9, 36, 3))
NOTHING = np.zeros(0)


def made_of(seed: int, size: tuple[int, int, int]) -> dict[str, Any]:
    """Return a short season with hot days, tender trees and much to leave, so that each is paid for."""
    made = season(seed, *size)
    made["heat_days"], made["heat_needs_crown_cover"] = [*range(3, 25)], 1.0
    for paddock in made["paddocks"]:
        paddock["dose_limit"] /= 200
        paddock["residual_kg_ha"] += 500
    return made


@pytest.mark.parametrize("size", SIZES)
def test_the_board_agrees_with_the_plain_checker(size: tuple[int, int, int]) -> None:
    made = made_of(200, size)
    board = board_of(made)
    none = np.full(board.demand_kg_d.shape, -1, np.int64)
    for tries in (0, 300, 5_000):
        plan, usd = anneal(board, all_yard(board), none, NOTHING, tries, 80.0, 2.0, key_of(1, tries))
        kept, whole, terms = cost_usd(board, plan)
        plain = cost(made, plan.tolist())
        assert kept
        assert faults(made, plan.tolist()) == []
        assert whole == pytest.approx(plain["total"], abs=1e-6)
        assert usd == pytest.approx(plain["total"], abs=1e-6)
        assert terms.tolist() == pytest.approx([plain[name] for name in list(plain)[:-1]], abs=1e-6)
    assert min(plain[name] for name in ("dose", "heat")) > 0


def test_every_term_is_paid_for_as_the_plain_checker_says() -> None:
    made = made_of(203, (8, 30, 2))
    for mob in made["mobs"]:
        mob["demand_kg_d"] = [8 * kg for kg in mob["demand_kg_d"]]
    board = board_of(made)
    none = np.full(board.demand_kg_d.shape, -1, np.int64)
    plan, usd = anneal(board, all_yard(board), none, NOTHING, 400, 3_000.0, 500.0, key_of(1, 7))
    plain = cost(made, plan.tolist())
    assert [name for name, paid in plain.items() if not paid > 0] == []
    assert usd == pytest.approx(plain["total"], abs=1e-6)
    terms = cost_usd(board, plan)[2]
    assert terms.tolist() == pytest.approx([plain[name] for name in list(plain)[:-1]], abs=1e-6)


@given(st.integers(0, 10_000), st.sampled_from(SIZES), st.integers(0, 400))
@settings(max_examples=25, deadline=None)
def test_no_plan_ever_breaks_the_calendar_or_beats_the_bound(
    seed: int, size: tuple[int, int, int], tries: int
) -> None:
    made = made_of(seed, size)
    board = board_of(made)
    best = search(board, seed, 1 + tries % 2)
    none = np.full(board.demand_kg_d.shape, -1, np.int64)
    plan, _ = anneal(board, all_yard(board), none, NOTHING, tries, 80.0, 2.0, key_of(seed, 5))
    bound = bound_usd(board, 0.04, 25)
    for x in (best.x, plan):
        assert faults(made, x.tolist()) == []
        assert bound <= cost(made, x.tolist())["total"]


def test_a_fault_is_seen_by_both() -> None:
    made = made_of(200, (8, 30, 2))
    board = board_of(made)
    plan = search(board, 1, 1).x.copy()
    plan[0, :12] = 0
    assert not cost_usd(board, plan)[0]
    assert any("too long" in fault for fault in faults(made, plan.tolist()))


def test_the_same_seed_and_rounds_give_the_same_plan() -> None:
    board = board_of(made_of(3, (8, 30, 2)))
    first, again, other = (search(board, seed, 2) for seed in (7, 7, 8))
    assert first.usd == again.usd
    assert np.array_equal(first.x, again.x)
    assert other.usd > 0


def test_a_price_on_change_keeps_the_plan_in_force() -> None:
    board = board_of(made_of(5, (8, 30, 2)))
    old = search(board, 1, 1).x
    free = search(board, 2, 2)
    held = search(board, 2, 2, Keeping(old, np.full(30, 1e5)), [old])
    assert np.array_equal(held.x, old)
    assert free.usd <= cost_usd(board, old)[1]


def test_prices_guide_to_a_lower_cost_than_the_yard_and_above_the_bound() -> None:
    board = board_of(made_of(11, (8, 30, 2)))
    best = search(board, 1, 3)
    bound = bound_usd(board, 0.01, 200)
    assert 0.85 * best.usd <= bound <= best.usd <= 0.7 * cost_usd(board, all_yard(board))[1]
