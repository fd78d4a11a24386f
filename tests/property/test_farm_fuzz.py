"""Whatever stands in a farm folder, reading it gives findings and never a traceback.

Sound farms are changed in structure (values of the wrong sort, keys taken out, put in, renamed, moved)
and in bytes; maps likewise. A farm that reads comes out of ``text_of`` the same.
"""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import tomlkit
from hypothesis import given
from hypothesis import strategies as st

from browseline.errors import errors_in
from browseline.exchange.maps import read_foreign
from browseline.farm.read import Reading, read
from browseline.farm.text import text_of
from browseline.farm.toml_lines import lines_of
from scripts.bad_farms import TODAY
from tests.unit.farm.folders import SOUND, feature
from tests.unit.farm.test_read import FULL
from tests.walked import gpx, kml, square

WHOLE = SOUND + FULL
DATA = tomllib.loads(WHOLE)
MAP = {
    "type": "FeatureCollection",
    "features": [
        feature("1", [[list(s) for s in square(90)]]),
        feature("lane", [[-45.0, 41.0], [-45.001, 41.0]], "lane", geometry="LineString"),
        feature("gate", [-45.0, 41.0], "gate", geometry="Point"),
    ],
}
ODD_TEXTS = (
    "", " ", "3", "3 ac", "-3 ac", "1e999 ac", "nan", "4 1/0 in", "½ ac", "٣ ac", "{key}", "%s", "1,0,0 lb",
    "\x00", "\u202e", "9" * 400, "1" + " " * 5000 + "x", "2026-13-45", "inf lb", "$", "1/2", "America",
)  # fmt: skip
BITS = (b"[", b"]]", b'"""', b"{", b"=", b"\n")
SCALARS = st.one_of(
    st.sampled_from(ODD_TEXTS),
    st.text(max_size=20),
    st.integers(-(2**70), 2**70),
    st.floats(allow_nan=True, allow_infinity=True),
    st.booleans(),
    st.dates(),
    st.datetimes(),
    st.times(),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(min_size=1, max_size=8), inner, max_size=3)
    ),
    max_leaves=6,
)


def spots(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*path, key)
        yield from spots(inner, (*path, key))


FARM_SPOTS = list(spots(DATA))
MAP_SPOTS = list(spots(MAP))


def altered(data: Any, path: tuple[Any, ...], how: str, value: Any) -> Any:
    """Return a copy with one thing changed."""
    made = copy.deepcopy(data)
    here = made
    for key in path[:-1]:
        here = here[key]
    last = path[-1]
    if how == "drop":
        del here[last]
    elif how == "twice" and isinstance(here, list):
        here.append(copy.deepcopy(here[last]))
    elif how == "rename" and isinstance(here, dict):
        here[f"{last}x"] = here.pop(last)
    elif how == "add" and isinstance(here[last], dict):
        here[last]["extra"] = value
    else:
        here[last] = value
    return made


HOW = st.sampled_from(("drop", "twice", "rename", "add", "set", "set", "set"))


def told(farm: bytes, map_: bytes | None = None) -> Reading:
    """Read a folder of bytes; whatever they are, only findings may come of it."""
    with TemporaryDirectory() as made:
        folder = Path(made)
        (folder / "farm.toml").write_bytes(farm)
        if map_ is not None:
            (folder / "map.geojson").write_bytes(map_)
        reading = read(folder, TODAY)
    assert (reading.farm is None) == bool(errors_in(reading.findings))
    for found in reading.findings:
        assert found.where
        assert found.what
        assert found.mend
        assert "\n" not in found.what + found.mend
    return reading


def written(data: Any) -> bytes | None:
    """Return data as TOML, or None where TOML cannot say it."""
    try:
        return tomlkit.dumps(data).encode("utf-8", "surrogatepass")
    except (ValueError, TypeError, tomlkit.exceptions.TOMLKitError):
        return None


@given(st.lists(st.tuples(st.integers(0, 10**6), HOW, VALUES), min_size=1, max_size=4))
def test_farms_changed_in_structure(changes: list[tuple[int, str, Any]]) -> None:
    data: Any = DATA
    for where, how, value in changes:
        there = list(spots(data))
        data = altered(data, there[where % len(there)], how, value)
    text = written(data)
    if text is not None:
        reading = told(text)
        if reading.farm is not None:
            with TemporaryDirectory() as folder:
                assert read(folder, TODAY, text=text_of(reading.farm)).farm == reading.farm


@given(st.sampled_from(FARM_SPOTS), st.sampled_from(ODD_TEXTS))
def test_odd_texts_anywhere(path: tuple[Any, ...], value: str) -> None:
    text = written(altered(DATA, path, "set", value))
    assert text is not None
    told(text)


@given(st.data())
def test_farms_changed_in_bytes(data: st.DataObject) -> None:
    raw = bytearray(WHOLE.encode())
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(raw)))
        cut = data.draw(st.integers(0, 30))
        raw[at : at + cut] = data.draw(st.binary(max_size=8) | st.sampled_from(BITS))
    told(bytes(raw))


@given(st.binary(max_size=300))
def test_farms_of_noise(raw: bytes) -> None:
    told(raw)


@given(st.text(max_size=200))
def test_lines_of_any_text(text: str) -> None:
    """Also a text that is no TOML is walked to an end, and names only lines that it has."""
    assert all(1 <= line <= text.count("\n") + 1 for line in lines_of(text).values())


@given(st.lists(st.tuples(st.integers(0, 10**6), HOW, VALUES), min_size=1, max_size=3))
def test_maps_changed_in_structure(changes: list[tuple[int, str, Any]]) -> None:
    data: Any = MAP
    for where, how, value in changes:
        there = list(spots(data))
        if there:
            data = altered(data, there[where % len(there)], how, value)
    told(WHOLE.encode(), json.dumps(data, default=str).encode("utf-8", "surrogatepass"))


@given(st.lists(st.tuples(st.floats(-200, 200), st.floats(-100, 100)), min_size=1, max_size=12))
def test_maps_of_any_outline(ring: list[tuple[float, float]]) -> None:
    shape = feature("1", [[list(spot) for spot in ring]])
    made = {"type": "FeatureCollection", "features": [shape, MAP["features"][0]]}
    shape["id"] = "other"
    told(WHOLE.encode(), json.dumps(made).encode())


@given(st.binary(max_size=200))
def test_maps_of_noise(raw: bytes) -> None:
    told(WHOLE.encode(), raw)


FOREIGN = {
    "a.kml": kml([("One", square(90))]).encode(),
    "a.gpx": gpx([("One", square(90))]).encode(),
    "a.geojson": json.dumps(MAP).encode(),
    "a.zip": b"PK\x05\x06" + bytes(18),
    "a.gpkg": b"SQLite format 3\x00" + bytes(100),
    "a.shp": b"\x00\x00\x27\x0a" + bytes(100),
}


@given(st.sampled_from(sorted(FOREIGN)), st.data())
def test_foreign_maps_changed_in_bytes(name: str, data: st.DataObject) -> None:
    raw = bytearray(FOREIGN[name])
    for _ in range(data.draw(st.integers(0, 4))):
        at = data.draw(st.integers(0, len(raw)))
        raw[at : at + data.draw(st.integers(0, 20))] = data.draw(st.binary(max_size=8))
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(bytes(raw))
        found = read_foreign(path)
    assert found.features or errors_in(found.findings)
