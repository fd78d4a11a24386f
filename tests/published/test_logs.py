"""Log rules against D20 and the tables of Mesavage and Girard; ids and sources in logs.csv."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from browseline.science import logs

CASES = list(csv.DictReader(Path(__file__).with_name("logs.csv").read_text("utf-8").splitlines()))


def butt_log(rule: Callable[[float, float], float]) -> Callable[[float, float], float]:
    return lambda dbh_in, form_class: rule(logs.butt_log_in(dbh_in, form_class), 16)


RESULT: dict[str, Callable[..., float]] = {
    "Doyle log rule": logs.doyle_bf,
    "Scribner log rule": logs.scribner_bf,
    "International 1/4-inch log rule": logs.international_bf,
    "tree volume, form class 78, one 16-ft log, Scribner": butt_log(logs.scribner_bf),
    "tree volume, form class 78, one 16-ft log, International": butt_log(logs.international_bf),
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
