"""Work side by side on two threads: the answers in order, and seconds as two free cores would take them."""

from __future__ import annotations

import time

import numpy as np
import pytest

from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.begin import MOST, first_prices
from browseline.moves.board.search import FIRM, Keeping, all_yard
from browseline.moves.board.season import cost_usd
from browseline.moves.board.side import both, seconds


def busy(cpu_s: float) -> float:
    """Keep one thread's processor busy for some seconds, and return how long it was."""
    begun = time.thread_time()
    while time.thread_time() - begun < cpu_s:
        pass
    return time.thread_time() - begun


def test_what_is_made_comes_back_in_order() -> None:
    assert both(lambda k: k * k, range(7)) == [0, 1, 4, 9, 16, 25, 36]
    assert both(lambda k: k, []) == []


def test_a_fault_in_a_thread_is_raised() -> None:
    with pytest.raises(ZeroDivisionError):
        both(lambda k: 1 / k, [1, 0])


@pytest.mark.parametrize(
    ("parts", "least_s", "most_s"),
    [((0.10, 0.10), 0.10, 0.10), ((0.16, 0.04), 0.16, 0.16), ((0.08, 0.08, 0.08), 0.16, 0.16)],
)
def test_the_longer_of_two_threads_counts(parts: tuple[float, ...], least_s: float, most_s: float) -> None:
    begun = seconds()
    both(busy, parts)
    took = seconds() - begun
    assert least_s <= took <= most_s + 0.04


def test_what_waits_for_two_threads_counts_after_them() -> None:
    begun = seconds()
    busy(0.03)
    both(busy, (0.05, 0.02))
    busy(0.03)
    assert 0.11 <= seconds() - begun <= 0.15


def test_sleeping_is_not_work() -> None:
    begun = seconds()
    both(time.sleep, (0.1, 0.1))
    assert seconds() - begun < 0.05


def test_first_prices_follow_the_cost_of_a_plan_and_stay_below_a_day_in_the_yard() -> None:
    board = board_of(season(10, 8, 60, 2))
    yard_usd = board.prices.yard_d + board.prices.hay * board.demand_kg_d
    cheap, dear = (first_prices(board, usd) for usd in (1_000.0, 2_000.0))
    assert dear == pytest.approx(2 * cheap)
    assert 0 < cheap.min() < cheap.max() < MOST * yard_usd.max()
    grown = (board.area_ha * board.ceiling) @ np.diff(board.growth, axis=1)
    share = (cheap / yard_usd)[0]
    assert share.argmin() == grown.argmax()
    assert first_prices(board, 1e9) == pytest.approx(MOST * yard_usd)


def test_the_price_of_a_change_follows_what_a_day_costs_by_now_and_is_never_below_what_is_typed() -> None:
    board = board_of(season(10, 8, 60, 2))
    old = all_yard(board)
    days = old.shape[1]
    typed, times = np.zeros(days), np.zeros(days)
    typed[:14], times[:7] = 20.0, 3.0
    held = Keeping(old, typed, times)
    assert held.at(5.0).usd_d[:14].tolist() == [20.0] * 14
    assert held.at(50.0).usd_d[:15].tolist() == [150.0] * 7 + [20.0] * 7 + [0.0]
    assert np.array_equal(Keeping(old, typed).at(50.0).usd_d, typed)
    other = old.copy()
    other[0, 3] = other[0, 9] = 1
    assert held.at(50.0).usd(other) == 170.0
    week = Keeping(old, typed, times, 1.0 / 14)
    assert not week.over(old)
    assert not week.over(other), "one of fourteen mob-days; the tenth day does not count"
    other[1, 6] = 2
    assert week.over(other)
    assert not Keeping(old, typed).over(other)
    assert week.firm().usd(other) == pytest.approx(FIRM * week.usd(other))
    assert not week.firm().over(other), "prices rise once"
    assert cost_usd(board, old)[0]
