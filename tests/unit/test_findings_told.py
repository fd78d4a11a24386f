"""Findings come level by level: what stops the work first, under its own heading, notes after."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from browseline.cli.group import app
from browseline.errors import Finding, by_level
from browseline.farm.read import read
from browseline.web.answer import templates
from tests.acceptance.cases import EWE, farm_folder, mob

STOPS, NOTED = "To mend before the farm can be used:", "Noted; this does not stop the work:"


def made(level: str, what: str) -> Finding:
    return Finding("farm.toml:1", what, "Mend it.", level)  # type: ignore[arg-type]


def test_levels_come_in_order_and_keep_the_order_within() -> None:
    found = by_level([made("note", "a"), made("error", "b"), made("question", "c"), made("error", "d")])
    assert [[one.what for one in some] for _, some in found] == [["b", "d"], ["c"], ["a"]]
    assert all(heading for heading, _ in found)


def test_one_level_alone_has_no_heading() -> None:
    assert [heading for heading, _ in by_level([made("error", "a"), made("error", "b")])] == [""]
    assert by_level([]) == []


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    """Return a farm without heights to leave (a note) and with a paddock of no size (an error)."""
    folder = farm_folder(tmp_path, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})])
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[[mobs]]", '[[mobs]]\nhead = "many"\n', 1), encoding="utf-8")
    return folder


@pytest.mark.parametrize("verb", ["today", "ledger"])
def test_a_refusal_tells_errors_first(broken: Path, verb: str) -> None:
    levels = {one.level for one in read(broken, date(2026, 6, 1)).findings}
    assert {"error", "note"} <= levels
    done = CliRunner().invoke(app, [verb, "--farm", str(broken), "--now", "2026-06-01T12:00-04:00"])
    assert done.exit_code == 1
    assert done.output.index(STOPS) < done.output.index(NOTED)
    before, _, after = done.output.partition(NOTED)
    for one in read(broken, date(2026, 6, 1)).findings:
        assert one.what in (before if one.level == "error" else after)


def test_check_and_the_page_tell_them_the_same_way(broken: Path) -> None:
    done = CliRunner().invoke(app, ["check", "--farm", str(broken), "--now", "2026-06-01T12:00-04:00"])
    assert done.output.index(STOPS) < done.output.index(NOTED)
    macro = templates().from_string('{% from "parts.html" import findings %}{{ findings(found) }}')
    page = macro.render(found=read(broken, date(2026, 6, 1)).findings)
    assert page.index(f"<h2>{STOPS}</h2>") < page.index(f"<h2>{NOTED}</h2>")
