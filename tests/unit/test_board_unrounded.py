"""A paddock's best season at given prices against every season that an exact solver lists.

``benchmarks/plan_exact.py`` shares no line with the planner: it steps herbage day by day and looks at
the rest since every earlier visit.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pytest

from benchmarks.plan_exact import Visit, seasons_of
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.form import Board
from browseline.moves.board.prices import Dual, tables_of
from browseline.moves.board.search import search
from browseline.moves.board.unrounded import unrounded_usd

DAYS, PADDOCKS, FINE = 15, 3, 0.05
ENOUGH = 1e-3
"""Single precision of the tables that say what is not worth a look. [USD]"""


def made_of(seed: int, mobs: int) -> dict[str, Any]:
    """Return a short season: own kinds rest longer than two cross rests and a stay; tree dose is all paid."""
    made = season(seed, PADDOCKS, DAYS, mobs)
    rest = np.full((mobs, mobs), 2)
    np.fill_diagonal(rest, 9)
    made["min_rest_days_from_kind_to_kind"] = rest.tolist()
    made["no_move_days"] = [4, 9]
    for paddock in made["paddocks"]:
        paddock["dose_limit"], paddock["closed"] = 0.0, {}
    for mob in made["mobs"]:
        mob["max_residence_d"] = 2
        mob["demand_kg_d"] = [0.4 * kg for kg in mob["demand_kg_d"]]
    return made


def dual_of(board: Board, seed: int) -> Dual:
    """Return a dual on tables rounded up, asked at prices of luck; tree dose at its full price."""
    luck = np.random.default_rng(seed)
    dual = Dual(board, tables_of(board, FINE, True, np.inf))
    day, arrival, dose, leave = dual.now
    prices = luck.uniform(0.1, 0.4) * luck.uniform(0.5, 1.5, day.shape) * dual.most[0]
    left = luck.normal(0, 3, leave.shape)
    left[:, -1] = left[:, 0] = 0.0
    dual.begin(prices, luck.uniform(0, 4, arrival.shape), np.ones(dose.shape), left)
    dual.ask()
    return dual


def priced_usd(dual: Dual, p: int, usd: float, visits: tuple[Visit, ...]) -> float:
    """Return what a season of a paddock costs at the prices now. [USD]"""
    day, arrival, _, leave = dual.now
    coming = dual.asked_at()[-1]
    for m, _, first, until in visits:
        usd += coming[m, first, p] + arrival[first] - day[m, first:until].sum() - leave[m, until, p]
    return usd


def rested(made: dict[str, Any], visits: tuple[Visit, ...], back: int) -> bool:
    """Return whether each visit keeps the rest since the last few visits before it."""
    rest = made["min_rest_days_from_kind_to_kind"]
    return all(
        v.first - u.until >= rest[u.mob][v.mob]
        for k, v in enumerate(visits)
        for u in visits[max(k - back, 0) : k]
    )


class Asked(NamedTuple):
    """Costs by paddock: told rounded, unrounded, so from few states, and of the best season listed. [USD]"""

    rounded: np.ndarray
    told: np.ndarray
    of_few: np.ndarray
    best: np.ndarray


def asked(seed: int, mobs: int) -> Asked:
    """Return what the paddocks of a season cost at prices of luck."""
    made = made_of(seed, mobs)
    dual = dual_of(board_of(made), seed)
    best = [
        min(priced_usd(dual, p, usd, visits) for usd, visits in seasons_of(made, p)) for p in range(PADDOCKS)
    ]
    few = unrounded_usd(dual, np.inf, 3)
    return Asked(dual.values, unrounded_usd(dual, np.inf), few, np.array(best))


@pytest.mark.parametrize(("seed", "mobs"), [(200, 1), (201, 2), (202, 2), (203, 3), (204, 3)])
def test_it_is_the_best_of_every_season_listed(seed: int, mobs: int) -> None:
    found = asked(seed, mobs)
    assert found.told == pytest.approx(found.best, abs=ENOUGH)
    assert (found.rounded < found.best - 0.01).any()
    assert (found.of_few <= found.best + ENOUGH).all()
    assert (found.of_few >= found.rounded - ENOUGH).all()


def test_rest_since_the_last_visit_alone_would_be_cheaper() -> None:
    """The seasons above are such that the rest since earlier visits decides: without it they cost less."""
    made = made_of(203, 3)
    short = {**made, "min_rest_days_from_kind_to_kind": [[2] * 3] * 3}
    dual = dual_of(board_of(made), 203)
    gained = []
    for p in range(PADDOCKS):
        every = [(priced_usd(dual, p, usd, visits), visits) for usd, visits in seasons_of(short, p)]
        least = [min(usd for usd, visits in every if rested(made, visits, back)) for back in (1, DAYS)]
        gained.append(least[1] - least[0])
    assert max(gained) > 1.0


def test_the_bound_rises_without_rounding_and_stays_below_the_plan() -> None:
    board = board_of(season(200, 8, 30, 2))
    coarse, fine = bound_usd(board, 0.08, 200), bound_usd(board, 0.02, 200)
    best = search(board, 1, 3).usd
    assert 0.97 * best < coarse <= best
    assert 0.97 * best < fine <= best
