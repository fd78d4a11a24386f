"""Every coefficient is traced, in range, in a known unit, and used."""

from __future__ import annotations

import ast
import csv
import re
from dataclasses import dataclass
from pathlib import Path

import pytest

from browseline import tables
from browseline.figures import BASES
from browseline.units import UNITS
from scripts.carry_sources import named_by_tables, references

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "browseline"
DATA = PACKAGE / "data"
COLUMNS = ["key", "applies_to", "value", "low", "high", "unit", "source", "locator", "basis", "note"]
# These hold words, not coefficients.
OF_WORDS = (
    "cautions",
    "conflicts",
    "names",
    "poison",
    "poison_triggers",
    "sources",
    "tree_site",
    "tree_kinds",
)
# These hold one equation a row, with columns of their own, each as its form needs.
OF_EQUATIONS = ("crown_width", "open_grown", "site_index", "tree_mass")
SHIPPED_BASES = set(BASES) - {"farm"}
FROM_A_DOCUMENT = {"published-read", "published-copy", "conflict"}


@dataclass(frozen=True)
class Line:
    """One row of a table as it stands in the file."""

    table: str
    number: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        return self.cells[column]

    def __str__(self) -> str:
        return f"{self.table}.csv:{self.number}"


def lines(path: Path) -> list[Line]:
    with path.open(encoding="utf-8", newline="") as file:
        return [Line(path.stem, n, cells) for n, cells in enumerate(csv.DictReader(file), start=2)]


def header(path: Path) -> list[str]:
    with path.open(encoding="utf-8", newline="") as file:
        return next(csv.reader(file))


TABLES = sorted(p for p in DATA.glob("*.csv") if p.stem not in (*OF_WORDS, *OF_EQUATIONS))
WORDS = sorted(p for p in DATA.glob("*.csv") if p.stem in (*OF_WORDS, *OF_EQUATIONS))
ROWS = [line for path in TABLES for line in lines(path)]
SOURCES = {line["source_id"]: line for line in lines(DATA / "sources.csv")}


def trees() -> list[tuple[str, ast.Module]]:
    return [
        (p.relative_to(PACKAGE).as_posix(), ast.parse(p.read_text(encoding="utf-8")))
        for p in sorted(PACKAGE.rglob("*.py"))
    ]


def texts_in_code() -> set[str]:
    return {
        node.value
        for _, tree in trees()
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def named(line: Line) -> list[str]:
    return [source.strip() for source in line["source"].split(";") if source.strip()]


def test_there_are_tables() -> None:
    assert TABLES, "no coefficient table is there"
    assert ROWS


@pytest.mark.parametrize("path", TABLES, ids=lambda p: p.stem)
def test_columns_are_the_closed_set(path: Path) -> None:
    assert header(path) == COLUMNS


@pytest.mark.parametrize("path", [*TABLES, *WORDS], ids=lambda p: p.stem)
def test_no_row_has_a_cell_too_many_or_too_few(path: Path) -> None:
    wide = [str(x) for x in lines(path) if None in x.cells or None in x.cells.values()]
    assert wide == []


@pytest.mark.parametrize("path", TABLES, ids=lambda p: p.stem)
def test_no_row_stands_twice(path: Path) -> None:
    keys = [(line["key"], line["applies_to"]) for line in lines(path)]
    assert sorted({key for key in keys if keys.count(key) > 1}) == []


@pytest.mark.parametrize("path", WORDS, ids=lambda p: p.stem)
def test_first_column_of_words_is_filled_and_unique(path: Path) -> None:
    first = header(path)[0]
    keys = [tuple(x.cells.values()) if path.stem == "names" else (x[first],) for x in lines(path)]
    assert all(key[0].strip() for key in keys)
    assert sorted({key for key in keys if keys.count(key) > 1}) == []


def test_bases_are_of_the_closed_list() -> None:
    dated = [*ROWS, *(x for path in WORDS for x in lines(path) if "basis" in x.cells)]
    assert [f"{line} {line['basis']}" for line in dated if line["basis"] not in SHIPPED_BASES] == []


def test_units_are_known() -> None:
    assert [f"{line} {line['unit']}" for line in ROWS if line["unit"] not in UNITS] == []


def test_numbers_parse_and_stand_in_their_range() -> None:
    astray = []
    for line in ROWS:
        low, value, high = (float(line[c]) if line[c] else None for c in ("low", "value", "high"))
        known = [number for number in (low, value, high) if number is not None]
        if known != sorted(known) or not all(abs(n) < 1e12 for n in known):
            astray.append(str(line))
    assert astray == []


def test_a_row_says_something() -> None:
    assert [str(x) for x in ROWS if not (x["value"] or x["low"] or x["high"] or x["note"])] == []


def test_every_source_is_known() -> None:
    loose = [f"{place} {source}" for source, place in named_by_tables(DATA) if source not in SOURCES]
    assert loose == []


def test_what_comes_from_a_document_names_it_and_the_page() -> None:
    assert [str(x) for x in ROWS if x["basis"] in FROM_A_DOCUMENT and not named(x)] == []
    published = [x for x in ROWS if x["basis"].startswith("published-")]
    assert [str(x) for x in published if not x["locator"].strip()] == []


@pytest.mark.parametrize("name", OF_EQUATIONS)
def test_equations_name_source_and_place_and_hold_numbers(name: str) -> None:
    rows = lines(DATA / f"{name}.csv")
    assert [str(x) for x in rows if not named(x)] == []
    assert [str(x) for x in rows if x["basis"].startswith("published-") and not x["locator"]] == []
    numbers = {
        c for c in header(DATA / f"{name}.csv") if re.fullmatch(r"[abcn]|b\d|[xy]_\w+|dbh_m\w+|\w*mse", c)
    }
    assert numbers
    assert all(abs(float(x[c])) < 1e6 for x in rows for c in numbers if x[c])


def test_every_key_is_used() -> None:
    used = texts_in_code()
    assert [f"{line} {line['key']}" for line in ROWS if line["key"] not in used] == []


def test_every_table_is_used() -> None:
    used = texts_in_code()
    assert [path.name for path in [*TABLES, *WORDS] if path.stem not in used] == []


def asked_for() -> list[tuple[str, str, str]]:
    """Return (place, table, key) wherever the code asks for a row by literal names."""
    found = []
    for name, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and ast.unparse(node.func) in {"row", "tables.row"}:
                literal = [a.value for a in node.args[:2] if isinstance(a, ast.Constant)]
                if len(literal) == 2:
                    found.append((f"{name}:{node.lineno}", str(literal[0]), str(literal[1])))
    return found


def test_code_asks_only_for_rows_that_are_there() -> None:
    there = {(line.table, line["key"]) for line in ROWS}
    assert [place for place, table, key in asked_for() if (table, key) not in there] == []


def test_every_source_is_used() -> None:
    by_tables = {source for source, _ in named_by_tables(DATA)}
    code = "\n".join(p.read_text(encoding="utf-8") for p in sorted(PACKAGE.rglob("*.py")))
    assert [source for source in SOURCES if source not in by_tables and source not in code] == []


def test_sources_can_be_read() -> None:
    columns = header(DATA / "sources.csv")
    assert columns[:2] == ["source_id", "reference"]
    assert {"read_as", "basis"} <= set(columns)
    assert [str(x) for x in SOURCES.values() if len(x["reference"].strip()) < 15] == []


@pytest.mark.parametrize("path", sorted((PACKAGE / "science").glob("*.py")), ids=lambda p: p.stem)
def test_equations_cite_a_known_source(path: Path) -> None:
    """A References section names a source, or says `ours:` and why there is none."""
    loose = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
            said = references(ast.get_docstring(node) or "")
            if said and not said.strip().startswith("ours:") and not any(s in said for s in SOURCES):
                loose.append(f"{node.name}: {said.strip()}")
    assert loose == []


@pytest.mark.parametrize("path", TABLES, ids=lambda p: p.stem)
def test_the_loader_gives_what_the_file_says(path: Path) -> None:
    loaded = tables.table(path.stem)
    assert len(loaded) == len(lines(path))
    for line in lines(path):
        row = loaded[line["key"], line["applies_to"]]
        assert row.value == (float(line["value"]) if line["value"] else None)
        assert (row.unit, row.source, row.locator, row.basis, row.note) == (
            line["unit"], line["source"], line["locator"], line["basis"], line["note"],
        )  # fmt: skip
