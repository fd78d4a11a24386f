"""Each bad farm gets its words to the letter, and the page of the docs shows the same."""

from __future__ import annotations

import tomllib

import pytest

from browseline.errors import errors_in
from browseline.farm.read import data_of
from browseline.farm.told import Told
from scripts.bad_farms import CASES, PAGE, TODAY, Case, cases, page, printed, told

ALL = cases()


def test_there_are_forty_and_more_and_each_has_its_own_name() -> None:
    assert len(ALL) >= 40
    assert len({case.id for case in ALL}) == len(ALL)


def test_the_sound_farm_is_sound() -> None:
    sound = tomllib.loads(CASES.read_text(encoding="utf-8"))["sound"]
    assert told(Case("sound", "", sound, "")) == []
    assert data_of(sound, Told()) is not None
    assert TODAY.year == 2026


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.id)
def test_words(case: Case) -> None:
    assert case.says.strip(), "a bad farm must be told something"
    assert printed(told(case)) == case.says


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.id)
def test_a_finding_names_the_line_it_is_about(case: Case) -> None:
    """The line that a finding names is one of those that the case changed, or of the table around it."""
    lines = case.text.splitlines()
    for found in told(case):
        file, _, number = found.where.split(" ")[0].partition(":")
        if file == "farm.toml" and number and case.encoding == "utf-8":
            assert 1 <= int(number) <= len(lines)
            assert lines[int(number) - 1].strip(), found.where


def test_the_page_shows_what_is_said() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


def test_each_code_of_the_farm_file_has_a_case_or_a_reason() -> None:
    """Faults that no case shows are listed here, so that a new fault does not go without one."""
    shown = {found.code for case in ALL for found in told(case)}
    text = (CASES.parents[2] / "src/browseline/locale/en/findings.po").read_text(encoding="utf-8")
    keys = {line.split('"')[1] for line in text.splitlines() if line.startswith('msgid "findings.')}
    codes = {key.split(".", 1)[1].rsplit(".", 1)[0] for key in keys if key.endswith(".what")}
    wanted = {code for code in codes if code.split(".")[0] in ("farm", "map")}
    assert wanted - shown == set(ELSEWHERE), "say in which test each of these is shown"
    for code, place in ELSEWHERE.items():
        assert f'"{code}"' in (CASES.parents[2] / place).read_text(encoding="utf-8"), code


ELSEWHERE = {
    "farm.key_of_none": "tests/unit/farm/test_toml_money.py",
    "farm.keeper_kind": "tests/unit/farm/test_every_kind.py",
    "farm.kind_unknown": "tests/unit/farm/test_every_kind.py",
    "farm.knock_without": "tests/unit/farm/test_toml_money.py",
    "farm.machine_zone": "tests/unit/farm/test_read.py",
    "farm.no_place_for": "tests/unit/farm/test_write.py",
    "farm.time_short": "tests/unit/farm/test_toml_money.py",
    "farm.too_big": "tests/unit/farm/test_read.py",
    "farm.too_deep": "tests/unit/farm/test_read.py",
    "farm.word_of_none": "tests/unit/farm/test_toml_money.py",
    "farm.years_backward": "tests/unit/farm/test_toml_money.py",
    "map.no_text": "tests/unit/farm/test_read_map.py",
    "map.too_big": "tests/unit/farm/test_read_map.py",
    "map.too_much": "tests/unit/farm/test_read_map.py",
}


def test_errors_stop_the_farm() -> None:
    for case in ALL:
        findings = told(case)
        assert bool(errors_in(findings)) == any(line[:1] not in "[ " for line in case.says.splitlines())
