"""What a mistyped plan of money is told: where, what, and how to mend it, each fault once."""

from __future__ import annotations

from pathlib import Path

import pytest

from browseline.errors import Finding
from browseline.farm.read import read

HEAD = """schema = 1
name = "Case"
time_zone = "America/New_York"
as_of = 2026-06-10
units = "acres"
[[paddocks]]
id = "1"
area = "3 ac"
water = "trough"
"""
MONEY = """[money]
first_year = 2026
discount = "5 %"
"""
LINE = '[[money.lines]]\nid = "lambs"\nname = "Lambs"\nkind = "income"\ncount = 84\nprice = "$215"\n'
KNOCK = '[[money.knocks]]\nid = "fewer"\nname = "Fewer"\n'


def found(folder: Path, text: str) -> list[Finding]:
    """Return the errors of a farm with this text below its head."""
    (folder / "farm.toml").write_text(HEAD + text, "utf-8")
    return [one for one in read(folder).findings if one.level == "error"]


@pytest.mark.parametrize(
    ("typed", "meant"), [("5", '"5 %"'), ("0.05", '"5 %"'), ("0.125", '"12.5 %"'), ("1", '"1 %"')]
)
def test_a_share_without_a_unit_is_shown_in_the_hundred(tmp_path: Path, typed: str, meant: str) -> None:
    (one,) = found(tmp_path, MONEY.replace('"5 %"', typed))
    assert one.code == "farm.missing_unit"
    assert f"discount = {meant}. Known here: %." in one.mend


def test_a_knock_may_name_a_line_that_has_a_fault_of_its_own(tmp_path: Path) -> None:
    text = (
        MONEY + LINE.replace('"income"', '"incom"') + KNOCK + 'line = "lambs"\non = "price"\nfactor = 0.9\n'
    )
    assert [one.what for one in found(tmp_path, text)] == ['kind = "incom" is not a known word.']


def test_a_knock_in_a_plan_without_lines_is_no_list_of_nothing(tmp_path: Path) -> None:
    (one,) = found(tmp_path, MONEY + KNOCK + 'line = "lambs"\non = "price"\nfactor = 0.9\n')
    assert one.code == "farm.word_of_none"


@pytest.mark.parametrize(
    ("typed", "key"), [("price", "factor"), ("count", "factor"), ("amount", "add"), ("later", "years_later")]
)
def test_a_knock_that_changes_nothing_is_told(tmp_path: Path, typed: str, key: str) -> None:
    (one,) = found(tmp_path, MONEY + LINE + KNOCK + f'line = "lambs"\non = "{typed}"\n')
    assert one.code == "farm.knock_without"
    assert one.what.endswith(f"without {key} changes nothing.")


@pytest.mark.parametrize("where", [LINE, LINE + KNOCK + 'line = "lambs"\non = "price"\nfactor = 0.9\n'])
def test_a_last_year_before_the_first_is_told(tmp_path: Path, where: str) -> None:
    (one,) = found(tmp_path, MONEY + where + "from = 4\nto = 2\n")
    assert one.code == "farm.years_backward"
    assert one.what == "to = 2 comes before from = 4."


@pytest.mark.parametrize("typed", ["2026-06-10T07:00", "2026-06-10 7:00"])
def test_a_time_without_seconds_is_told_how_to_write_it(tmp_path: Path, typed: str) -> None:
    mob = f'[[mobs]]\nid = "ewes"\nname = "Ewes"\nat = "1"\nsince = {typed}\n'
    (one,) = found(tmp_path, mob)
    assert (one.code, one.where) == ("farm.time_short", "farm.toml:14")
    assert "07:00:00" in one.mend


def test_words_that_hold_a_comma_stand_in_quotes(tmp_path: Path) -> None:
    one, *_others = found(tmp_path, '[decades.soil]\nstock = "peat"\n')
    assert '"2006, boreal, HAC", "2006, boreal, sandy"' in one.mend


def test_a_key_where_nothing_can_stand_is_no_list_of_nothing(tmp_path: Path) -> None:
    (one,) = found(tmp_path, '[same_land]\nalone = { walnuts = "60 trees/ac" }\n')
    assert one.code == "farm.key_of_none"
