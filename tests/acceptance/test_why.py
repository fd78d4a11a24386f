"""m12, every number opens: formula or origin, mark, sources that resolve; on the example farm, by command."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from browseline import tables
from browseline.chain.accounts import PAGES
from browseline.cli.group import app
from browseline.units import UNITS, convert

NOW = "2026-06-10T12:00-04:00"
PUBLISHED = ("published-read", "published-copy")
NUMBER = re.compile(r"(?<![\w:.,$])(\d[\d,]*(?:\.\d+)?) (in|d|ac|gal|lb/d|lb|ft|%)(?![\w/])")
MONEY = re.compile(r"\$(\d[\d,]*(?:\.\d+)?)(?![\w/.,]*\d|/)")


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the example farm, copied and run by the real command."""
    folder = tmp_path_factory.mktemp("why") / "farm"
    said(folder, "demo", str(folder), "--iterations", "50")
    return folder


def said(folder: Path, *words: str) -> str:
    """Return what a command prints."""
    env = {"BROWSELINE_FARM": str(folder), "BROWSELINE_NOW": NOW, "COLUMNS": "400"}
    done = CliRunner().invoke(app, list(words), env=env)
    assert done.exit_code == 0, done.output
    return done.stdout


def figures(item: Any) -> Iterator[dict[str, Any]]:
    """Yield every figure anywhere in a page's JSON, its parts too."""
    if isinstance(item, dict):
        if {"mark", "origins", "formula"} <= set(item):
            yield item
        for inner in item.values():
            yield from figures(inner)
    elif isinstance(item, list):
        for inner in item:
            yield from figures(inner)


def faults(figure: dict[str, Any]) -> Iterator[str]:
    """Yield in what way a figure does not open."""
    name = f"{figure['name']} {figure['about']}".strip()
    if not figure["formula"] and not figure["origins"]:
        yield f"{name}: neither formula nor origin"
    if figure["mark"] not in ("M", "B", "G"):
        yield f"{name}: no mark"
    if figure["unit"] not in UNITS:
        yield f"{name}: no unit"
    for origin in figure["origins"]:
        sources = [source.strip() for source in origin["source"].split(";") if source.strip()]
        if not sources:
            yield f"{name}: no source"
        if origin["basis"] != "farm":
            known = {*tables.sources(), *(("farm",) if origin["basis"] == "placeholder" else ())}
            yield from (f"{name}: {s} is no source" for s in sources if s not in known)
        if origin["basis"] in PUBLISHED and not origin["locator"].strip():
            yield f"{name}: published without a place in it"


COMMANDS = [("today",), ("season", "--iterations", "50"), ("why",), *(("why", page) for page in PAGES)]


@pytest.mark.parametrize("words", COMMANDS, ids=" ".join)
def test_every_figure_of_a_page_opens(example: Path, words: tuple[str, ...]) -> None:
    page = json.loads(said(example, *words, "--json"))
    assert sorted({fault for figure in figures(page) for fault in faults(figure)}) == []


def test_there_are_figures_to_open(example: Path) -> None:
    assert len(list(figures(json.loads(said(example, "today", "--json"))))) > 50


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"formula": "", "origins": []}, "neither formula nor origin"),
        ({"mark": ""}, "no mark"),
        ({"unit": "hands"}, "no unit"),
        ({"origins": [{"source": "hearsay", "basis": "from-memory", "locator": ""}]}, "hearsay is no source"),
        ({"origins": [{"source": "mmwr2009", "basis": "published-read", "locator": " "}]}, "without a place"),
        ({"origins": [{"source": "", "basis": "farm", "locator": ""}]}, "no source"),
    ],
)
def test_a_figure_that_does_not_open_is_caught(change: dict[str, Any], told: str) -> None:
    sound = {
        "name": "x",
        "about": "",
        "unit": "cm",
        "mark": "B",
        "formula": "1 + 1",
        "origins": [],
        "parts": [],
    }
    assert list(faults(sound)) == []
    assert any(told in fault for fault in faults(sound | change))


def same(text: str, unit: str, figure: dict[str, Any]) -> bool:
    """Return whether a printed number is one of a figure's, in any unit of its kind and as rounded."""
    if figure["unit"] not in UNITS or UNITS[figure["unit"]].dimension != UNITS[unit].dimension:
        return False
    digits = len(text.partition(".")[2])
    for key in ("value", "low", "high"):
        if figure[key] is not None:
            shown = float(convert(Fraction(figure[key]), figure["unit"], unit))
            if abs(shown - float(text.replace(",", ""))) <= 0.51 * 10.0**-digits:
                return True
    return False


def test_every_number_that_today_prints_is_a_figure_or_typed(example: Path) -> None:
    page = said(example, "today", "--why")
    known = list(figures(json.loads(said(example, "why", "--json"))))
    known += [f for name in PAGES for f in figures(json.loads(said(example, "why", name, "--json")))]
    typed = (example / "farm.toml").read_text(encoding="utf-8")
    found = {*NUMBER.findall(page), *((amount, "USD") for amount in MONEY.findall(page))}
    assert len(found) > 10
    loose = [
        f"{n} {u}"
        for n, u in sorted(found)
        if not any(same(n, u, f) for f in known) and f'"{n} {u}"' not in typed
    ]
    assert loose == []


def test_a_number_that_no_figure_holds_is_caught() -> None:
    figure = {"unit": "cm", "value": 33.3, "low": None, "high": None}
    assert same("13.1", "in", figure)
    assert not same("13.3", "in", figure)
    assert not same("33.3", "lb", figure)
