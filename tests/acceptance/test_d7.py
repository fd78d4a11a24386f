"""d7, what would change this?: the smallest single change, and in a copy of the farm it does."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from browseline.chain import look
from browseline.chain.money_ahead import money_given
from browseline.ledger.changes import edits_of
from browseline.ledger.flip import margin
from browseline.ledger.money_page import Asked, MoneyPage, money_account
from browseline.trials.copies import scratch
from browseline.trials.edits import apply_all
from tests.acceptance.test_p12 import LINES, farm, made


def asked(page: MoneyPage, case: str, question: str) -> Asked:
    return next(one for one in page.asked if (one.case, one.answer.question) == (case, question))


def test_d7_the_smallest_change_by_hand(tmp_path: Path) -> None:
    """Year 1 covers 1.25 times when lambs bring 1.25 × $5,104.93 + $6,300 + $3,600 + $981: $205.50 each."""
    page = made(tmp_path)
    covers = asked(page, "base", "covers")
    assert covers.answer.yes
    first = covers.answer.flips[0]
    assert (first.change.on, first.change.about) == ("price", "lambs")
    needs = (1.25 * 48_000 * 0.065 / (1 - 1.065**-15) + 6300 + 3600 + 981) / 84
    assert 0 <= needs - float(first.change.to) < 0.01 + 1e-9
    text = "\n".join(page.told())
    assert "every year covers the loans at least 1.25 times. What would change this?" in text
    assert "The smallest single change: Lambs at $205.50 in place of $215.00 (4.4 % less)." in text
    assert "Next: 80 of Lambs in place of 84; Lambs 1 year later." in text


@pytest.mark.parametrize("case", ["base", "downside"])
@pytest.mark.parametrize("question", ["covers", "worth"])
def test_d7_in_a_copy_it_does(tmp_path: Path, case: str, question: Any) -> None:
    """Every change that is told is typed into a copy of the farm, which then answers otherwise."""
    picture = farm(tmp_path / "farm")
    plan = picture.farm.money
    assert plan is not None
    page = money_account(picture.scene, picture.events, (), money_given(picture))
    answer = asked(page, case, question).answer
    assert answer.flips
    knocks = plan.knocks if case == "downside" else ()
    for flip in answer.flips[:4]:
        with scratch(picture.folder) as copy:
            apply_all(copy, edits_of(plan, flip.change), picture.now)
            after = look(copy, picture.now).farm.money
        assert after is not None
        assert (margin(question, after, knocks) >= 0) != answer.yes, flip


def test_d7_a_farm_that_nothing_saves_says_so(tmp_path: Path) -> None:
    lines = [{"id": "rent", "name": "Rent", "kind": "cost", "price": "$9,000"}, LINES[2]]
    text = "\n".join(made(tmp_path, lines=lines, knocks=[]).told())
    assert "No single price, yield, cost, head, rate or year changes this alone." in text


def test_d7_an_input_that_is_already_there_is_no_change(tmp_path: Path) -> None:
    page = made(tmp_path)
    for one in page.asked:
        for flip in one.answer.flips:
            assert flip.change.to != flip.was
        assert bool(one.edits) == bool(one.answer.flips)
