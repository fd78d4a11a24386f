"""Log rules against D20 and the tables of Mesavage and Girard; ids and sources in logs.csv."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline import tables
from browseline.science import logs
from browseline.units import factor

CASES = list(csv.DictReader(Path(__file__).with_name("logs.csv").read_text("utf-8").splitlines()))


def butt_log(rule: Callable[..., Any]) -> Callable[[float, float], Any]:
    return lambda dbh_in, form_class: rule(logs.butt_log_in(dbh_in, form_class), 16)


def two_logs(dbh_in: float, form_class: float) -> float:
    """Look the tree up in the printed table that the product carries, of that form class alone."""
    assert tables.row("timber", "form_class", "any tree").middle() == form_class
    rows = [tables.row("timber", "two_logs_scribner", f"dbh {n} in") for n in (16, 20, 24)]
    thick, board = np.array([16.0, 20.0, 24.0]), np.array([row.middle() for row in rows])
    return float(logs.two_logs_bf(dbh_in, thick, board))


RESULT: dict[str, Callable[..., Any]] = {
    "Doyle log rule": logs.doyle_bf,
    "Scribner log rule": logs.scribner_bf,
    "International 1/4-inch log rule": logs.international_bf,
    "tree volume, form class 78, one 16-ft log, Scribner": butt_log(logs.scribner_bf),
    "tree volume, form class 78, one 16-ft log, International": butt_log(logs.international_bf),
    "tree volume, form class 78, two 16-ft logs, Scribner": two_logs,
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: f"{c['id']} {c['sheet']} {c['source']}")
def test_against_the_worked_case(case: dict[str, str]) -> None:
    found = RESULT[case["function"]](**json.loads(case["inputs"]))
    assert found == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_a_stick_has_no_board_feet() -> None:
    assert logs.doyle_bf(4, 16) == logs.scribner_bf(3, 16) == logs.international_bf(1, 16) == 0


def test_the_printed_sixteen_foot_form_of_the_international_rule() -> None:
    """trees.md section 4: 0.796 D^2 - 1.375 D - 1.230 for 16 ft; the sections give it within a board foot."""
    for small_end in range(8, 31):
        printed = 0.796 * small_end**2 - 1.375 * small_end - 1.230
        assert logs.international_bf(small_end, 16) == pytest.approx(printed, abs=1.0)


def test_nothing_is_said_outside_the_table_of_two_logs() -> None:
    thick, board = np.array([16.0, 20.0, 24.0]), np.array([159.0, 270.0, 409.0])
    found = logs.two_logs_bf(np.array([15.0, 18.0, 25.0]), thick, board)
    assert np.isnan(found[[0, 2]]).all()
    assert found[1] == pytest.approx((159 + 270) / 2)


def test_cubic_rules_against_solids_of_turning() -> None:
    """Smalian and Newton are exact for a paraboloid, Newton for a cone too (whose volume is pi r^2 h / 3)."""
    large, small, length = np.pi / 4 * 0.4**2, np.pi / 4 * 0.3**2, 5.0
    paraboloid = (large + small) / 2 * length
    middle = (large + small) / 2
    assert logs.smalian_m3(large, small, length) == pytest.approx(paraboloid)
    assert logs.huber_m3(middle, length) == pytest.approx(paraboloid)
    assert logs.newton_m3(large, middle, small, length) == pytest.approx(paraboloid)
    cone = np.pi / 4 * 0.4**2 * 6 / 3
    half = np.pi / 4 * 0.2**2
    assert logs.newton_m3(logs.section_m2(0.4), half, 0.0, 6.0) == pytest.approx(cone)


def test_a_stem_of_the_form_factor() -> None:
    """trees.md section 4: 0.42 BA H."""
    assert logs.stem_m3(30.0, 20.0, 0.42) == pytest.approx(0.42 * np.pi / 4 * 0.09 * 20)


def test_rules_take_arrays_and_cords_hold_what_a_cord_holds() -> None:
    ends = np.array([12.0, 16.0, 20.0])
    assert logs.international_bf(ends, 16).shape == (3,)
    assert logs.doyle_bf(ends, 16).tolist() == [64.0, 144.0, 256.0]
    assert 128 * factor("ft3", "m3") == pytest.approx(3.6246, abs=5e-5)
