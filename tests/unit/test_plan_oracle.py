"""The planner against proven best plans: an exact solver on small seasons from the study's distributions.

The long run is ``benchmarks/plan_oracle.py``; its figures are in ``docs/science``.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from benchmarks.plan_exact import best_of, seasons_of
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from benchmarks.plan_oracle import ROUNDS, SAME_USD
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.search import search
from tests.plan_checker import cost, faults

FIGURES = Path(__file__).parents[2] / "docs" / "science" / "plan_oracle.csv"
SMALL = ((200, (6, 30, 1)), (203, (6, 30, 1)), (204, (5, 24, 2)))


@pytest.mark.parametrize(("seed", "size"), SMALL)
def test_the_planner_finds_the_proven_best_plan(seed: int, size: tuple[int, int, int]) -> None:
    made = season(seed, *size)
    proven = best_of(made)
    plain = cost(made, proven.plan)
    assert faults(made, proven.plan) == []
    assert proven.usd == pytest.approx(plain["total"], abs=1e-6)
    assert proven.bound_usd == pytest.approx(proven.usd, abs=0.5)
    board = board_of(made)
    best = search(board, 1, ROUNDS)
    assert faults(made, best.x.tolist()) == []
    assert best.usd == pytest.approx(proven.usd, rel=0.01)
    assert best.usd >= proven.usd - SAME_USD
    assert bound_usd(board, 0.01, 100) <= proven.usd


def test_the_exact_solver_lists_a_paddock_without_a_visit_and_with_each() -> None:
    made = season(200, 6, 30, 1)
    made["paddocks"] = made["paddocks"][:1]
    found = seasons_of(made, 0)
    alone = {visits for _, visits in found}
    assert () in alone
    assert len(alone) == len(found)
    for visits in alone:
        for visit in visits:
            assert visit.first not in made["no_move_days"]
            assert 1 <= visit.until - visit.first <= made["mobs"][0]["max_residence_d"]


def test_the_figures_told_are_near_the_proven_best_and_no_bound_is_above_it() -> None:
    with FIGURES.open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    off = [(float(r["planner_usd"]) - float(r["proven_usd"])) for r in rows]
    assert sum(d < SAME_USD for d in off) >= 0.9 * len(rows) > 20
    assert max(d / float(r["proven_usd"]) for d, r in zip(off, rows, strict=True)) < 0.01
    assert max(float(r["planner_s"]) for r in rows) <= 2.0
    assert all(float(r["bound_usd"]) <= float(r["proven_usd"]) for r in rows)
