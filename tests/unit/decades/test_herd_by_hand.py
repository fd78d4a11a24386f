"""Births, deaths and how fast a flock can grow, by hand from the rows of breeding.csv."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from browseline.decades.herd import herd_of
from browseline.decades.stock import build_up
from browseline.farm.future import Future
from browseline.farm.records import Line
from browseline.units import parse
from tests.unit.decades.test_stock import carried, ewes, grown, start

BORN = date(2026, 4, 10)
MANY = range(800)


def test_a_flock_builds_up_by_its_own_young_ewes() -> None:
    """Half of 1.5 lambs less 12 % lost, less 17 % old and 6.8 % dead ewes: 42 in a hundred."""
    herd = herd_of(start(ewes(births=BORN)))
    found = build_up(herd, Future(), 1, MANY)
    assert float(np.median(found)) == pytest.approx(0.5 * 1.5 * 0.88 - 0.17 - 0.068, abs=0.02)
    assert build_up(herd, Future(build_up=parse("20 %", "share")), 1, range(2)) == pytest.approx([0.2, 0.2])
    assert build_up(herd_of(start(ewes())), Future(), 1, range(2)) == pytest.approx([1.0, 1.0])


def test_calves_weaned_are_those_born_less_those_lost() -> None:
    """0.86 weaned a cow, 5 % of births lost: 0.905 are born; 1.5 % of cows die beside them."""
    cows = Line("cattle", "beef cow lactating", 1000, intake=parse("12 kg/d", "intake"), births=BORN)
    made = carried(herd_of(start(cows)), np.repeat(grown(9e6, 9e6), len(MANY), axis=1), "fixed")
    born, died = (float(np.median(flow[0, :, 0])) for flow in (made.born, made.died))
    assert born == pytest.approx(1000 * 0.86 / 0.95, rel=0.01)
    assert died == pytest.approx(1000 * (0.86 / 0.95 * 0.05 + 0.015), rel=0.04)


def test_lambs_in_a_line_of_their_own_are_sold_less_those_that_replace_their_mothers() -> None:
    """150 lambs less 12 % lost; 17 % and 6.8 % of 100 ewes come over from them."""
    lambs = Line("sheep", "lambs", 150, intake=parse("0.8 kg/d", "intake"))
    herd = herd_of(start(ewes(births=BORN), lambs))
    made = carried(herd, np.repeat(grown(90_000, 90_000), len(MANY), axis=1), "fixed")
    sold = float(np.median(made.sold[0, :, 1]))
    assert sold == pytest.approx(150 * 0.88 - 100 * (0.17 + 0.068), rel=0.02)
    assert float(np.median(made.bought[0, :, 0])) == 0
