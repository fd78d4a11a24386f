"""Tables kept from a season, and the search made again on what is left of it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from benchmarks.plan_weather import onward
from browseline.moves.board.form import Board, Index
from browseline.moves.board.prices import Dual, Tables, tables_of
from browseline.moves.board.search import FIRM, LARGE, Best, Keeping, all_yard, search
from browseline.moves.board.season import cost_usd
from browseline.moves.board.stored import later_tables

DAY = 20


def later(board: Board, x: Index) -> Board:
    """Return what is left of a season, poorer by a tenth than foreseen."""
    rest = onward(board, x, DAY, 0.9 * board.start_kg_ha, np.zeros(len(board.area_ha)))
    return rest._replace(growth=np.ascontiguousarray(board.growth[:, DAY:]))


def shut(board: Board, paddock: int, first: int, until: int) -> Board:
    """Return the board with a paddock shut for some days."""
    clear = board.clear_d.copy()
    for t in range(until):
        free = max(first - t, 0)
        clear[:, t, paddock] = np.minimum(clear[:, t, paddock], free)
    return board._replace(clear_d=clear)


def assert_alike(kept: Tables | None, fresh: Tables) -> None:
    """Check that kept tables say what tables made anew say."""
    assert kept is not None
    assert np.array_equal(kept.usd, fresh.usd)
    for name in ("low", "lengths", "opens", "end", "start"):
        assert np.array_equal(getattr(kept, name), getattr(fresh, name))
    may_be = np.isfinite(fresh.usd)
    assert may_be.any()
    for name in ("dose", "after"):
        assert np.array_equal(getattr(kept, name)[may_be], getattr(fresh, name)[may_be])


@pytest.mark.parametrize("size", [(8, 60, 1), (9, 50, 3)])
def test_kept_tables_are_those_made_anew_though_paddocks_are_shut_or_opened(
    size: tuple[int, int, int],
) -> None:
    board = board_of(season(300, *size))
    rest = later(board, search(board, 1, 1).x)
    closed = shut(rest, 2, 0, 14)
    assert not np.array_equal(closed.clear_d, rest.clear_d)
    assert_alike(later_tables(board, tables_of(board, 0.16, False), closed), tables_of(closed, 0.16, False))
    before = shut(board, 2, DAY, DAY + 14)
    assert_alike(later_tables(before, tables_of(before, 0.16, False), rest), tables_of(rest, 0.16, False))
    fewer = rest._replace(can_move=rest.can_move & (np.arange(len(rest.can_move)) % 5 > 0))
    assert_alike(later_tables(board, tables_of(board, 0.16, False), fewer), tables_of(fewer, 0.16, False))


def test_tables_of_another_forecast_are_not_kept() -> None:
    board = board_of(season(300, 8, 60, 1))
    rest, tables = later(board, all_yard(board)), tables_of(board, 0.16, False)
    assert later_tables(board, tables, rest) is not None
    assert later_tables(board, tables, rest._replace(growth=0.9 * rest.growth)) is None
    assert later_tables(board, tables, rest._replace(demand_kg_d=2 * rest.demand_kg_d)) is None
    assert later_tables(rest, tables_of(rest, 0.16, False), board) is None


@pytest.mark.parametrize("large", [LARGE, 0.0])
@pytest.mark.parametrize("most", [1.0, 0.0])
def test_a_search_made_again_keeps_the_calendar_and_is_the_same_each_time(
    monkeypatch: pytest.MonkeyPatch, large: float, most: float
) -> None:
    monkeypatch.setattr("browseline.moves.board.search.LARGE", large)
    board = board_of(season(301, 8, 60, 2))
    first = search(board, 1, 2)
    assert first.guide is not None
    assert first.tables is not None
    rest = shut(later(board, first.x), 1, 0, 10)
    old = np.ascontiguousarray(first.x[:, DAY:])
    price, arrival, mu, leave = first.guide
    guide = (price[:, DAY:], arrival[DAY:], mu, leave[:, DAY:])
    usd_d = np.r_[np.full(7, 40.0), np.zeros(old.shape[1] - 7)]

    def made(seed: int) -> Best:
        tables = later_tables(board, first.tables, rest) if first.tables else None
        return search(rest, seed, 2, Keeping(old, usd_d, most=most), guide=guide, tables=tables)

    one, two = made(5), made(5)
    assert np.array_equal(one.x, two.x)
    assert one.usd == two.usd
    kept, usd, _ = cost_usd(rest, one.x)
    assert kept
    assert (one.x != old)[:, :7].any(), "the closure forces a change"
    usd_d *= FIRM if most < 1.0 else 1.0
    assert one.usd == pytest.approx(usd + Keeping(old, usd_d).usd(one.x))
    assert usd < 0.7 * cost_usd(rest, all_yard(rest))[1]


@pytest.fixture(scope="module")
def planned() -> tuple[Board, Best]:
    board = board_of(season(301, 8, 60, 2))
    return board, search(board, 1, 2)


def again(board: Board, first: Best, rest: Board, foreseen: float = 1.0) -> Best:
    """Return a search of what is left that is ended before its first round; its prices times a factor."""
    assert first.guide is not None
    assert first.tables is not None
    price, arrival, mu, leave = first.guide
    guide = (foreseen * price[:, DAY:], arrival[DAY:], mu, leave[:, DAY:])
    tables = later_tables(board, first.tables, rest)
    return search(rest, 5, 2, guide=guide, tables=tables, go_on=lambda: False)


def test_a_search_made_again_that_is_ended_at_once_has_a_plan_along_the_prices_known(
    planned: tuple[Board, Best],
) -> None:
    board, first = planned
    rest = later(board, first.x)
    assert again(board, first, rest).usd < 0.7 * cost_usd(rest, all_yard(rest))[1]


@pytest.mark.parametrize(("foreseen", "begins"), [(0.2, 2), (3.0, 1)])
def test_prices_begin_nearer_where_a_day_costs_more_than_was_foreseen(
    monkeypatch: pytest.MonkeyPatch, planned: tuple[Board, Best], foreseen: float, begins: int
) -> None:
    board, first = planned
    seen: list[float] = []
    begin = Dual.begin

    def noted(self: Dual, *prices: NDArray[np.float64]) -> None:
        seen.append(float(prices[0].mean()))
        begin(self, *prices)

    monkeypatch.setattr(Dual, "begin", noted)
    monkeypatch.setattr("browseline.moves.board.search.FEW", 0)
    again(board, first, later(board, first.x), foreseen)
    assert len(seen) == begins
    assert seen == sorted(seen)
