"""Small parts of reading: lines of a TOML text, the machine's time zone, words and the nearest one."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from browseline import tables
from browseline.farm import bounds, names, zone
from browseline.farm.draft import ident, known_ids, slug
from browseline.farm.told import shown
from browseline.farm.toml_lines import line_at, lines_of
from tests.unit.farm.folders import SOUND

ODD = '''# a comment [not] = a table
a."b c".'d' = """x
[[q]]
"""  # tail ]
arr = [ { x = 1, y = [1, 2] },  # one }
  # between ]
  { x = "}", 'y' = \'\'\'
two [lines]
\'\'\' },
]
bare = 2026-05-06 07:00:00
[t]
'k]' = 1_000
"q\\"" = 0x10
[[t.list]]
a = 1
[[t.list]]
a = 2
[t.list.under]
b = 3
'''


def paths(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*path, key)
        yield from paths(inner, (*path, key))


@pytest.mark.parametrize("text", [ODD, SOUND, ODD.replace("\n", "\r\n")], ids=["odd", "sound", "dos"])
def test_every_key_has_its_line(text: str) -> None:
    found = lines_of(text)
    assert [path for path in paths(tomllib.loads(text)) if path not in found] == []


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a", "b c", "d"), 2), (("arr", 0, "y", 1), 5), (("arr", 1, "x"), 7), (("bare",), 11), (("t",), 12),
        (("t", "k]"), 13), (("t", 'q"'), 14), (("t", "list"), 15), (("t", "list", 1, "a"), 18),
        (("t", "list", 1, "under", "b"), 20), (("t", "list", 1, "nothing"), 17), (("nowhere",), 1),
    ],
)  # fmt: skip
def test_lines_by_hand(path: tuple[Any, ...], line: int) -> None:
    assert line_at(lines_of(ODD), path) == line


def test_a_text_that_is_no_toml_ends_the_list_early() -> None:
    assert lines_of("a = 1\n = 3\nb = 2\n") == {("a",): 1}
    assert ("a",) in lines_of("a = " + "[" * 5000)
    assert lines_of("a = [1,\n")[("a", 0)] == 1


# ---------------------------------------------------------------- time zones


def test_the_machines_zone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    zones, none = tmp_path / "zoneinfo" / "Europe" / "Paris", tmp_path / "none"
    link, named = tmp_path / "localtime", tmp_path / "timezone"
    monkeypatch.setenv("TZ", ":Asia/Tokyo")
    assert zone.of_machine(none, none) == "Asia/Tokyo"
    monkeypatch.delenv("TZ")
    assert zone.of_machine(none, none) == "UTC"
    named.write_text("America/Denver\n", encoding="utf-8")
    assert zone.of_machine(none, named) == "America/Denver"
    link.symlink_to(zones)
    assert zone.of_machine(link, named) == "Europe/Paris"
    monkeypatch.setenv("TZ", "EST5EDT4,M3")
    assert zone.of_machine(link, named) == "Europe/Paris"


@pytest.mark.parametrize("name", ["", "Nowhere/At_All", "../etc/passwd", "Europe", "x" * 500, "a\0b", "/abs"])
def test_what_is_no_zone(name: str) -> None:
    assert not zone.exists(name)


# ---------------------------------------------------------------- words


def test_lists_fit_the_tables() -> None:
    """Every word that a farm may use is one that the tables can answer for."""
    classes = {f"{kind}, {klass}" for kind in names.words("kind") for klass in names.words("class", kind)}
    assert classes == set(tables.applies("animals", "body_weight"))
    assert set(names.words("sward")) == set(tables.applies("swards", "leave_height"))
    assert set(names.words("texture")) == set(tables.applies("soil", "available_water"))
    assert len(names.words("species")) == 35
    assert len(names.words("kind")) == 9
    assert names.words("weekday")[0] == "Monday"


def test_labels() -> None:
    assert names.label("species", "pecan") == "Pecan"
    assert names.label("class", "ram", "sheep") == "ram"
    assert names.label("species", "no_such") == "no_such"


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("hazel", "hazel_hybrid"), ("Swamp white oak", "oak_swamp_white"), ("OAK_BUR", "oak_bur"),
        ("oak bur", "oak_bur"),
        ("walnut_blak", "walnut_black"), ("zzz", None), ("", None), ("e", None), ("x" * 10_000, None),
    ],
)  # fmt: skip
def test_the_nearest_word(typed: str, near: str | None) -> None:
    assert names.nearest(typed, names.words("species")) == near


def test_ids() -> None:
    assert slug("Far  Field №3 (old)") == "far-field-no3-old"
    assert slug("Löwen--Wiese") == "löwen-wiese"
    assert ident({"id": 7, "name": "x"}) == "7"
    assert ident({"name": "North Field"}) == "north-field"
    assert ident({"id": True, "what": "Hay cut"}) == "hay-cut"
    assert ident({"id": " "}) == ""
    assert known_ids({"paddocks": [{"id": "1"}, 3, {}], "mobs": 4, "swards": []})["paddocks"] == {"1"}


def test_bounds_hold() -> None:
    assert not bounds.AREA.hold(0)
    assert bounds.ROW_AREA.hold(0)
    assert not bounds.SHARE.hold(1.01)
    assert not bounds.SHARE.hold(float("nan"))


def test_what_is_shown_is_short_and_printable() -> None:
    assert shown("a\x1b[31mb\nc") == "a [31mb c"
    assert len(shown("x" * 1000)) == 60
