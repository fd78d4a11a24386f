"""Every hard rule of the board by itself: a small plan that breaks it alone is refused, the same kept is not.

Rules of planner.md 1.2 and those that the real farm adds. Both the board and the plain checker say so, but
where the format of a season has no word on a rule.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.form import Board
from browseline.moves.board.season import cost_usd
from tests.plan_checker import cost, faults

DAYS, YARD = 16, 4
KINDS = ("cattle", "sheep", "goats")


def made_of(**more: Any) -> dict[str, Any]:
    """Return a season of four paddocks and three mobs in which nothing is barred, but for what is said."""
    made = season(200, YARD, DAYS, 3)
    for paddock in made["paddocks"]:
        paddock["closed"] = {}
    for mob in made["mobs"]:
        mob["max_residence_d"] = DAYS
    made |= {"no_move_days": [], "move_cap_per_day": [3] * DAYS,
             "min_rest_days_from_kind_to_kind": [[0] * 3] * 3, **more}  # fmt: skip
    return made


def closed(kind: str, first: int, last: int) -> dict[str, Any]:
    """Return a season in which the first paddock is shut to a kind from one day to another, both included."""
    made = made_of()
    made["paddocks"][0]["closed"] = {kind: [[first, last]]}
    return made


def short_stays(most_d: int) -> dict[str, Any]:
    """Return a season in which the first mob may stay that long."""
    made = made_of()
    made["mobs"][0]["max_residence_d"] = most_d
    return made


def rest_of(days: int, from_mob: int, to_mob: int) -> dict[str, Any]:
    """Return a season with one rest, from one mob to another."""
    rest = [[0] * 3 for _ in KINDS]
    rest[from_mob][to_mob] = days
    return made_of(min_rest_days_from_kind_to_kind=rest)


def plan(*visits: tuple[int, int, int, int]) -> list[list[int]]:
    """Return a plan from visits (mob, place, first day, end); the yard on the other days."""
    x = [[YARD] * DAYS for _ in KINDS]
    for mob, place, first, end in visits:
        x[mob][first:end] = [place] * (end - first)
    return x


class Case(NamedTuple):
    """A rule: the season, a plan that breaks it and nothing else, and one that keeps it."""

    name: str
    made: dict[str, Any]
    broken: list[list[int]]
    kept: list[list[int]]


NO_MOVE = made_of(no_move_days=[5])
CASES = (
    Case("comes on a day without moves", NO_MOVE, plan((0, 0, 5, 9)), plan((0, 0, 6, 9))),
    Case("goes from paddock to paddock on such a day", NO_MOVE, plan((0, 0, 2, 5), (0, 1, 5, 8)),
         plan((0, 0, 2, 6), (0, 1, 6, 8))),
    Case("goes to the yard on such a day", NO_MOVE, plan((0, 0, 2, 5)), plan((0, 0, 2, 4))),
    Case("the first day without moves", made_of(no_move_days=[0]), plan((0, 0, 0, 3)), plan((0, 0, 1, 3))),
    Case("more arrivals than can be made", made_of(move_cap_per_day=[3] * 4 + [1] * 12),
         plan((0, 0, 4, 7), (1, 1, 4, 8)), plan((0, 0, 4, 7), (1, 1, 5, 8))),
    Case("arrivals in the yard count", made_of(move_cap_per_day=[3] * 4 + [1] * 12),
         plan((0, 0, 2, 6), (1, 1, 3, 6)), plan((0, 0, 2, 6), (1, 1, 3, 7))),
    Case("more arrivals on the first day", made_of(move_cap_per_day=[1] * DAYS),
         plan((0, 0, 0, 3), (1, 1, 0, 4)), plan((0, 0, 0, 3), (1, 1, 1, 4))),
    Case("a longer stay", short_stays(3), plan((0, 0, 2, 6)), plan((0, 0, 2, 5))),
    Case("a longer stay to the end of days", short_stays(3), plan((0, 0, 12, 16)), plan((0, 0, 13, 16))),
    Case("shut on the first day of a visit", closed("cattle", 4, 4), plan((0, 0, 4, 7)), plan((0, 0, 5, 7))),
    Case("shut in the middle of a visit", closed("cattle", 5, 5), plan((0, 0, 4, 7)), plan((0, 1, 4, 7))),
    Case("shut on the last day of a visit", closed("cattle", 6, 6), plan((0, 0, 4, 7)), plan((0, 0, 4, 6))),
    Case("shut to another kind only", closed("sheep", 4, 6), plan((1, 0, 4, 7)), plan((0, 0, 4, 7))),
    Case("rest of the same mob", rest_of(5, 0, 0), plan((0, 0, 1, 3), (0, 0, 7, 9)),
         plan((0, 0, 1, 3), (0, 0, 8, 10))),
    Case("rest after another kind", rest_of(4, 0, 1), plan((0, 0, 1, 3), (1, 0, 6, 8)),
         plan((0, 0, 1, 3), (1, 0, 7, 9))),
    Case("rest the other way round is another", rest_of(4, 1, 0), plan((1, 0, 1, 3), (0, 0, 4, 6)),
         plan((0, 0, 1, 3), (1, 0, 4, 6))),
    Case("rest after a visit before the last one", rest_of(9, 1, 1),
         plan((1, 0, 0, 2), (0, 0, 4, 6), (1, 0, 8, 10)), plan((1, 0, 0, 2), (0, 0, 4, 6), (1, 0, 11, 13))),
    Case("rest after the first of four visits", rest_of(9, 2, 1),
         plan((2, 0, 0, 1), (0, 0, 2, 4), (0, 0, 6, 7), (1, 0, 9, 11)),
         plan((2, 0, 0, 1), (0, 0, 2, 4), (0, 0, 6, 7), (1, 0, 10, 12))),
    Case("two mobs in one paddock", made_of(), plan((0, 0, 2, 6), (1, 0, 4, 8)),
         plan((0, 0, 2, 6), (1, 0, 6, 8))),
    Case("two mobs that come together", made_of(), plan((0, 0, 2, 6), (2, 0, 2, 6)),
         plan((0, 0, 2, 6), (2, 1, 2, 6))),
    Case("one mob within the days of another", made_of(), plan((0, 0, 2, 9), (1, 0, 4, 6)),
         plan((0, 0, 2, 9), (1, 1, 4, 6))),
)  # fmt: skip


def kept_by(board: Board, x: list[list[int]]) -> bool:
    """Return whether the board says that a plan keeps every hard rule."""
    return cost_usd(board, np.array(x))[0]


@pytest.mark.parametrize("case", CASES, ids=[case.name for case in CASES])
def test_a_plan_that_breaks_one_rule_is_refused_and_without_it_accepted(case: Case) -> None:
    board = board_of(case.made)
    assert faults(case.made, case.kept) == []
    assert len(faults(case.made, case.broken)) > 0
    assert kept_by(board, case.kept)
    assert not kept_by(board, case.broken)
    assert kept_by(board_of(made_of()), case.broken) is not case.name.startswith(("two mobs", "one mob"))


# ---------------------------------------------------------------- rules that a file has no word on


def standing(**more: Any) -> Board:
    """Return a board on which the first mob stands in the first paddock, two days already."""
    board = board_of(more.pop("made", made_of()))
    start, been = np.array([0, YARD, YARD]), np.array([2, 0, 0])
    return board._replace(start=start, been_d=been, **more)


def only(board: Board, broken: list[list[int]], kept: list[list[int]]) -> None:
    """Check that a board refuses one plan and takes the other."""
    assert kept_by(board, kept)
    assert not kept_by(board, broken)


def test_who_stays_where_it_stands_needs_no_day_of_moves_and_no_rest() -> None:
    fit = np.zeros((3, YARD), np.int64)
    fit[0, 0] = 6
    board = standing(made=made_of(no_move_days=[0]), fit_from=fit)
    only(board, plan((0, 1, 0, 3)), plan((0, 0, 0, 3)))
    # who is not there comes, and for that the day must be one of moves and the rest over
    away = board._replace(start=np.full(3, YARD))
    only(away, plan((0, 0, 0, 3)), plan((0, 0, 6, 8)))


def test_going_to_the_yard_from_where_it_stands_is_a_move() -> None:
    only(standing(made=made_of(no_move_days=[0])), plan(), plan((0, 0, 0, 1)))
    only(standing(made=made_of(move_cap_per_day=[0] + [3] * 15)), plan(), plan((0, 0, 0, 1)))


def test_days_already_stood_count_towards_the_longest_stay_and_no_others() -> None:
    board = standing(made=short_stays(5))
    only(board, plan((0, 0, 0, 4)), plan((0, 0, 0, 3)))
    only(board, plan((0, 1, 0, 6)), plan((0, 1, 0, 5)))
    assert kept_by(board, plan((0, 0, 0, 3), (0, 0, 6, 11)))


def test_the_rest_after_the_past_bars_until_its_day() -> None:
    fit = np.zeros((3, YARD), np.int64)
    fit[1, 2] = 7
    board = standing(fit_from=fit)
    only(board, plan((0, 0, 0, 1), (1, 2, 6, 9)), plan((0, 0, 0, 1), (1, 2, 7, 9)))
    assert kept_by(board, plan((0, 0, 0, 1), (2, 2, 6, 9)))
    # nor may it come on the first day, for it does not stand there
    only(board, plan((0, 0, 0, 1), (1, 2, 0, 3)), plan((0, 0, 0, 1), (1, 3, 0, 3)))


def test_who_comes_back_to_where_it_stood_rests_first() -> None:
    board = standing(made=rest_of(5, 0, 0))
    only(board, plan((0, 0, 0, 2), (0, 0, 6, 8)), plan((0, 0, 0, 2), (0, 0, 7, 9)))


def test_a_mob_of_its_own_rest_waits_also_past_other_mobs() -> None:
    own = np.zeros((3, YARD), np.int64)
    own[1, 0] = 9
    board = standing(own_rest_d=own)
    first = ((0, 1, 0, 1), (1, 0, 0, 2), (2, 0, 4, 6))
    only(board, plan(*first, (1, 0, 8, 10)), plan(*first, (1, 0, 11, 13)))
    assert kept_by(board, plan(*first, (2, 0, 8, 10)))


def test_a_follower_comes_as_soon_and_as_late_behind_its_leader_as_is_said() -> None:
    follow = np.zeros((3, 3))
    follow[1] = 1.0, 3.0, 0.0
    board = board_of(made_of())._replace(
        leader=np.array([-1, 0, -1]), follow_d=follow, led_ago_d=np.full((3, YARD), 1e4)
    )
    led = (0, 0, 2, 5)
    only(board, plan(led, (1, 0, 5, 7)), plan(led, (1, 0, 6, 7)))
    only(board, plan(led, (1, 0, 9, 10)), plan(led, (1, 0, 8, 10)))
    only(board, plan(led, (1, 1, 6, 7)), plan(led, (2, 1, 6, 7)))


# ---------------------------------------------------------------- plans that no search made


@st.composite
def seasons(draw: st.DrawFn) -> tuple[dict[str, Any], list[list[int]]]:
    """Draw a small season and a plan of visits of any length anywhere."""
    mobs, paddocks, days = draw(st.integers(1, 3)), draw(st.integers(2, 6)), draw(st.integers(8, 24))
    made = season(draw(st.integers(0, 5_000)), paddocks, days, mobs)
    day, stay = st.integers(0, days - 1), st.integers(1, 8)
    made["no_move_days"] = sorted(draw(st.sets(day, max_size=2)))
    made["move_cap_per_day"] = draw(st.lists(st.integers(1, 3), min_size=days, max_size=days))
    rest = st.lists(st.integers(1, 12), min_size=mobs, max_size=mobs)
    made["min_rest_days_from_kind_to_kind"] = draw(st.lists(rest, min_size=mobs, max_size=mobs))
    for paddock in made["paddocks"]:
        shut = draw(st.lists(st.tuples(st.sampled_from(KINDS[:mobs]), day, stay), max_size=1))
        paddock["closed"] = {kind: [[first, first + long]] for kind, first, long in shut}
    for mob in made["mobs"]:
        mob["max_residence_d"] = draw(stay)
    x = [[paddocks] * days for _ in range(mobs)]
    visit = st.tuples(st.integers(0, mobs - 1), st.integers(0, paddocks), day, stay)
    for mob, place, first, long in draw(st.lists(visit, max_size=6)):
        x[mob][first : first + long] = [place] * len(x[mob][first : first + long])
    return made, x


@given(seasons())
@settings(max_examples=400, deadline=None)
def test_any_plan_gets_the_verdict_and_the_cost_of_the_plain_checker(
    drawn: tuple[dict[str, Any], list[list[int]]],
) -> None:
    made, x = drawn
    kept, usd, _ = cost_usd(board_of(made), np.array(x))
    assert kept is (faults(made, x) == [])
    if kept:
        assert usd == pytest.approx(cost(made, x)["total"], abs=1e-6)


def test_of_plans_thrown_at_random_both_verdicts_are_many_and_alike() -> None:
    luck, said = np.random.default_rng(6), []
    for seed in range(60):
        made = season(seed, 5, 20, 1 + seed % 3)
        board = board_of(made)
        for _ in range(40):
            x = np.full((len(made["mobs"]), 20), 5)
            for _ in range(int(luck.integers(0, 4))):
                first = int(luck.integers(0, 20))
                x[luck.integers(0, len(x)), first : first + int(luck.integers(1, 5))] = luck.integers(0, 6)
            said.append(kept_by(board, x.tolist()))
            assert said[-1] is (faults(made, x.tolist()) == [])
    assert 0.1 < np.mean(said) < 0.9
