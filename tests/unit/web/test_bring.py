"""Files that somebody sends: good ones are taken in, bad ones change nothing and break nothing."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from browseline.record.store import Record
from browseline.web.bringing import plain_name
from tests.web_farm import Served, small_farm, token

SQUARE = [[-45.01, 41.0], [-45.0, 41.0], [-45.0, 41.01], [-45.01, 41.01], [-45.01, 41.0]]
MAP = {
    "type": "FeatureCollection",
    "features": [{
        "type": "Feature", "id": "new", "properties": {"name": "New", "kind": "paddock"},
        "geometry": {"type": "Polygon", "coordinates": [SQUARE]},
    }],
}  # fmt: skip
WEEK = "2026-05-03 07:00 walk 6 4.5in\n2026-05-04 07:00 rain 0.5in\n2026-05-05 walk nowhere 3in\n"


@pytest.fixture
def served(tmp_path: Path) -> Served:
    return Served(small_farm(tmp_path / "farm"))


def send(client: TestClient, path: str, name: str, content: bytes, **fields: str) -> Any:
    sent = {"csrf": token(client, "/bring"), **fields}
    return client.post(path, data=sent, files={"file": (name, content, "application/octet-stream")})


def on_disk(folder: Path) -> dict[str, bytes]:
    """Return every file of the house but the record's, whose bytes change when it is opened."""
    files = (path for path in folder.rglob("*") if path.is_file() and not path.name.startswith("record.db"))
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


def entries(served: Served) -> int:
    with Record.open(served.folder) as record:
        return len(record.events())


def test_a_map_is_added(served: Served) -> None:
    found = send(served.here(), "/bring/map", "out.geojson", json.dumps(MAP).encode())
    assert found.status_code == 200
    assert "paddock: New" in found.text
    assert "New" in (served.folder / "map.geojson").read_text(encoding="utf-8")


def test_a_week_is_shown_first_and_kept_when_confirmed(served: Served) -> None:
    client = served.here()
    shown = send(client, "/bring/week", "week.txt", WEEK.encode())
    assert shown.status_code == 200
    assert "week.txt:3" in shown.text
    assert entries(served) == 0
    sent = {"csrf": token(client, "/bring"), "text": WEEK, "name": "week.txt", "keep": "1"}
    kept = client.post("/bring/week", data=sent)
    assert kept.status_code == 200
    assert entries(served) == 2
    # The same file once more adds nothing.
    assert client.post("/bring/week", data=sent).status_code == 200
    assert entries(served) == 2


def test_a_table_of_heights_is_a_week_as_well(served: Served) -> None:
    table = "date,paddock,height\n2026-05-03,6,4.5 in\n2026-05-03,4,5 in\n"
    assert send(served.here(), "/bring/week", "h.csv", table.encode(), keep="1").status_code == 200
    assert entries(served) == 2


def zipped(*files: tuple[str, bytes]) -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in files:
            out.writestr(name, content)
    return held.getvalue()


BOMB = zipped(("doc.kml", b"\0" * 60_000_000))
ENTITIES = b"""<?xml version="1.0"?><!DOCTYPE k [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>
<kml><Document><name>&b;</name></Document></kml>"""
OUTSIDE = b"""<?xml version="1.0"?><!DOCTYPE k [<!ENTITY a SYSTEM "file:///etc/passwd">]><kml><name>&a;</name></kml>"""


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("bomb.kmz", BOMB),
        ("climb.zip", zipped(("../../evil.kml", b"<kml/>"))),
        ("root.zip", zipped(("/evil.kml", b"<kml/>"))),
        ("half.zip", zipped(("a.kml", b"<kml/>"))[:-20]),
        ("not.zip", b"PK\x03\x04 nothing"),
        ("entities.kml", ENTITIES),
        ("outside.kml", OUTSIDE),
        ("empty.geojson", b""),
        ("deep.geojson", b"[" * 100_000),
        ("list.geojson", b"[]"),
        ("nan.geojson", b'{"type": "FeatureCollection", "features": [{"geometry": {"coordinates": [NaN]}}]}'),
        ("bytes.geojson", b"\xff\xfe\x00"),
        ("program.exe", b"MZ"),
        ("map", b"{}"),
        ("..", b"{}"),
        ("", b"{}"),
        ("../../farm.toml", b"name = 1"),
        ("/vsicurl/http.geojson", b"{}"),
        ("bad.gpkg", b"SQLite format 3\x00" + b"\x00" * 2000),
        ("bad.shp", b"\x00\x00\x27\x0a" + b"\x00" * 200),
    ],
    ids=lambda value: value if isinstance(value, str) else f"{len(value)} bytes",  # a zip holds its hour
)
def test_a_bad_map_changes_nothing(served: Served, name: str, content: bytes) -> None:
    served.here().get("/today")
    before = on_disk(served.folder.parent)
    found = send(served.here(), "/bring/map", name, content)
    assert found.status_code in (400, 403, 413, 422), found.text[:300]
    assert on_disk(served.folder.parent) == before
    assert "root:" not in found.text


@pytest.mark.parametrize(
    "content",
    [b"\xff\xfe\x00", b"a\0b", b"2026-05-03 walk 6 4.5in\n" * 600, b'date,paddock,height\n"' + b"a" * 200_000,
     b"2026-05-03 photo 6 /etc/passwd", b"2026-05-03 undo", b'2026-05-03 note "unclosed', b""],
)  # fmt: skip
def test_a_bad_week_keeps_nothing_and_breaks_nothing(served: Served, content: bytes) -> None:
    found = send(served.here(), "/bring/week", "week.csv", content, keep="1")
    assert found.status_code in (200, 413, 422), found.text[:300]
    if b"note" not in content:
        assert entries(served) == 0


def test_a_file_too_large_is_turned_away(served: Served) -> None:
    assert send(served.here(), "/bring/map", "a.geojson", b" " * 18_000_000).status_code == 413
    assert send(served.here(), "/bring/week", "a.csv", b" " * 1_100_000).status_code == 413


def test_without_a_file_it_is_said(served: Served) -> None:
    client = served.here()
    sent = {"csrf": token(client, "/bring")}
    assert client.post("/bring/map", data=sent).status_code == 422


@pytest.mark.parametrize(
    ("sent", "plain"),
    [("../../x.kml", "x.kml"), ("C:\\a\\b.gpx", "b.gpx"), ("..", "file"), ("", "file"),
     ("a\0\n.kml", "a_.kml"), ("<b>.csv", "_b_.csv"), ("x" * 300 + ".kml", "x" * 56 + ".kml")],
)  # fmt: skip
def test_names_lead_nowhere(sent: str, plain: str) -> None:
    assert plain_name(sent) == plain
