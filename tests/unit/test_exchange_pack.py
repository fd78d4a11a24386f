"""A pack and the farm it was made from: the same pages, the same bytes, and nothing let in that harms."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import stat
import struct
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from browseline.chain import look, today
from browseline.errors import BadInput
from browseline.events import Photographed, Walked
from browseline.exchange import safe_zip
from browseline.exchange.pack import pack, unpack
from browseline.exchange.plain import document, plain
from browseline.record.store import Record
from browseline.units import UNITS, parse
from tests.unit.cli_farm import FARM, SmallFarm, small_farm

NOW = datetime.fromisoformat("2026-05-06T07:30-04:00")
LATER = datetime.fromisoformat("2026-05-07T07:30-04:00")


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    made = small_farm(tmp_path / "farm")
    made.run("walk", "6", "7 in")
    made.run("walk", "8", "8.5 in", "good")
    made.run("move", "ewes", "8", "--at", "7:00", "--because", "=1+1 short")
    made.run("shut", "4", "because", "cherry limb down", "until", "cleared")
    made.run("walk", "8", "8 in")
    made.run("undo")
    photo = tmp_path / "row.jpg"
    photo.write_bytes(bytes(range(256)))
    made.run("photo", "7", str(photo))
    made.run("move", "ewes", "7", "--planned", "--at", "tomorrow 7:00")
    (made.folder / "tables").mkdir()
    (made.folder / "tables" / "swards.csv").write_text("key,applies_to\n", encoding="utf-8")
    (made.folder / "farm.toml").write_text(FARM.replace("Small Farm", "Small Farm Two"), encoding="utf-8")
    return made


def page(folder: Path) -> str:
    return json.dumps(document("browseline/today/1", today(look(folder, NOW))), sort_keys=True)


def test_an_empty_folder_and_the_pack_give_the_same_pages(farm: SmallFarm, tmp_path: Path) -> None:
    pack(farm.folder, tmp_path / "farm.zip", NOW)
    joined = unpack(tmp_path / "farm.zip", tmp_path / "new", LATER)
    assert joined.new_events == len(farm.events())
    assert page(tmp_path / "new") == page(farm.folder)
    for name in ("farm.toml", "tables/swards.csv"):
        assert (tmp_path / "new" / name).read_bytes() == (farm.folder / name).read_bytes()
    body = next(e.body for e in farm.events() if isinstance(e.body, Photographed))
    assert (tmp_path / "new" / "files" / body.file).read_bytes() == bytes(range(256))


def test_versions_of_the_text_files_go_along(farm: SmallFarm, tmp_path: Path) -> None:
    pack(farm.folder, tmp_path / "farm.zip", NOW)
    unpack(tmp_path / "farm.zip", tmp_path / "new", LATER)
    with Record.open(farm.folder) as old, Record.open(tmp_path / "new") as new:
        assert {v.id for v in new.versions()} == {v.id for v in old.versions()}
        assert len(new.versions("farm.toml")) == 2
        assert new.files_on(LATER) == old.files_on(LATER)


def test_the_same_farm_gives_the_same_bytes(farm: SmallFarm, tmp_path: Path) -> None:
    first, second, third = (tmp_path / f"{n}.zip" for n in "abc")
    pack(farm.folder, first, NOW)
    pack(farm.folder, second, LATER)
    assert first.read_bytes() == second.read_bytes()
    unpack(first, tmp_path / "new", LATER)
    pack(tmp_path / "new", third, LATER)
    assert third.read_bytes() == first.read_bytes(), "out and in and out again"


def test_what_is_packed_can_be_read_with_general_tools(farm: SmallFarm, tmp_path: Path) -> None:
    pack(farm.folder, tmp_path / "farm.zip", NOW)
    with zipfile.ZipFile(tmp_path / "farm.zip") as held:
        texts = {name: held.read(name) for name in held.namelist()}
    rows = list(csv.DictReader(io.StringIO(texts["events.csv"].decode())))
    lines = [json.loads(line) for line in texts["events.jsonl"].decode().splitlines()]
    assert (
        [row["id"] for row in rows] == [line["id"] for line in lines] == sorted(e.id for e in farm.events())
    )
    assert [json.loads(row["value"].removeprefix("'")) for row in rows] == [line["value"] for line in lines]
    assert {row["reason"] for row in rows} == {"", "'=1+1 short"}, "no cell is a formula"
    lines_of_sums = texts["SHA256SUMS.txt"].decode().splitlines()
    sums = {line[66:]: line[:64] for line in lines_of_sums}
    assert set(sums) == set(texts) - {"SHA256SUMS.txt"}
    assert all(hashlib.sha256(texts[name]).hexdigest() == digest for name, digest in sums.items())


def test_the_readme_tells_every_file_and_column(farm: SmallFarm, tmp_path: Path) -> None:
    pack(farm.folder, tmp_path / "farm.zip", NOW)
    with zipfile.ZipFile(tmp_path / "farm.zip") as held:
        readme = held.read("README.txt").decode()
        names = {name.partition("/")[0] for name in held.namelist()} - {"README.txt"}
    columns = next(
        csv.reader(io.StringIO(zipfile.ZipFile(tmp_path / "farm.zip").read("events.csv").decode()))
    )
    for word in (*names, *columns, *{e.kind for e in farm.events()}):
        assert f"  {word}" in readme, word
    assert max(map(len, readme.splitlines())) <= 80


def test_a_record_in_use_is_packed_whole(farm: SmallFarm, tmp_path: Path) -> None:
    with Record.open(farm.folder) as record:
        pack(farm.folder, tmp_path / "farm.zip", NOW)
        unpack(tmp_path / "farm.zip", tmp_path / "new", LATER)
        with Record.open(tmp_path / "new") as new:
            assert set(map(repr, new.events())) == set(map(repr, record.events()))


# ---------------------------------------------------------------- packs not to be trusted

GOOD = {"farm.toml": FARM.encode(), "events.jsonl": b""}


def zipped(
    path: Path, more: dict[str, bytes], change: Callable[[zipfile.ZipInfo], None] | None = None
) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in (GOOD | more).items():
            info = zipfile.ZipInfo(name)
            info.compress_type = zipfile.ZIP_DEFLATED
            if change is not None and name in more:
                change(info)
            out.writestr(info, content)
    return path


def link(info: zipfile.ZipInfo) -> None:
    info.external_attr = (stat.S_IFLNK | 0o777) << 16


@pytest.mark.parametrize(
    ("more", "change", "said"),
    [
        ({"../evil.txt": b"x"}, None, "outside the farm"),
        ({"files/../../evil.txt": b"x"}, None, "outside the farm"),
        ({"/evil.txt": b"x"}, None, "outside the farm"),
        ({"files\\evil.txt": b"x"}, None, "outside the farm"),
        ({"C:evil.txt": b"x"}, None, "outside the farm"),
        ({"files/link": b"/evil"}, link, "outside the farm"),
        ({"FARM.TOML": b"x"}, None, "twice"),
        ({"files/bomb": bytes(3_000_000)}, None, "squeezed more than"),
        ({"events.jsonl": b"{\n"}, None, "cannot be read"),
    ],
)
def test_a_pack_that_would_harm_is_refused_and_nothing_is_written(
    tmp_path: Path, more: dict[str, bytes], change: Callable[[zipfile.ZipInfo], None] | None, said: str
) -> None:
    held = zipped(tmp_path / "pack.zip", more, change)
    with pytest.raises(BadInput) as refused:
        unpack(held, tmp_path / "new", NOW)
    if said != "cannot be read":
        assert said in str(refused.value)
    assert sorted(p.name for p in tmp_path.rglob("*") if "evil" in p.name or p.name == "bomb") == []
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("content", [b"", b"no zip at all", b"PK\x03\x04 torn"])
def test_what_is_no_zip_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "pack.zip").write_bytes(content)
    with pytest.raises(BadInput, match="no pack"):
        unpack(tmp_path / "pack.zip", tmp_path / "new", NOW)


def test_limits_of_number_and_size_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    held = zipped(tmp_path / "pack.zip", {"files/a": b"aaaa", "files/b": b"bbbb"})
    for name, said in (
        ("MOST_FILES", "at most 3 are read"),
        ("MOST_BYTES", "holds more"),
        ("MOST_WHOLE", "holds more"),
    ):
        with monkeypatch.context() as patched:
            patched.setattr(safe_zip, name, 3)
            with pytest.raises(BadInput, match=said):
                unpack(held, tmp_path / "new", NOW)


def test_a_size_that_lies_is_found_out(tmp_path: Path) -> None:
    held = zipped(tmp_path / "pack.zip", {"files/a": b"a" * 2000})
    raw = bytearray(held.read_bytes())
    at = raw.rfind(b"PK\x01\x02")
    assert struct.unpack_from("<I", raw, at + 24)[0] == 2000
    struct.pack_into("<I", raw, at + 24, 10)
    held.write_bytes(bytes(raw))
    with pytest.raises(BadInput, match="damaged in the pack"):
        unpack(held, tmp_path / "new", NOW)


def test_a_damaged_pack_is_refused(tmp_path: Path) -> None:
    held = zipped(tmp_path / "pack.zip", {"files/a": bytes(range(256)) * 8})
    raw = bytearray(held.read_bytes())
    at = raw.find(b"files/a") + len(b"files/a") + 20
    raw[at] ^= 0xFF
    held.write_bytes(bytes(raw))
    with pytest.raises(BadInput, match="damaged in the pack"):
        unpack(held, tmp_path / "new", NOW)


def test_a_folder_in_use_is_left_alone(farm: SmallFarm, tmp_path: Path) -> None:
    pack(farm.folder, tmp_path / "farm.zip", NOW)
    before = (farm.folder / "farm.toml").read_bytes()
    with pytest.raises(BadInput, match="not empty"):
        unpack(tmp_path / "farm.zip", farm.folder, NOW)
    assert (farm.folder / "farm.toml").read_bytes() == before


def test_strange_files_of_a_pack_are_left_out(tmp_path: Path) -> None:
    joined = unpack(zipped(tmp_path / "pack.zip", {"autorun.inf": b"x"}), tmp_path / "new", NOW)
    assert [(found.level, "autorun.inf" in found.what) for found in joined.findings] == [("note", True)]
    assert not (tmp_path / "new" / "autorun.inf").exists()
    assert (tmp_path / "new" / "farm.toml").is_file()


# ---------------------------------------------------------------- records as JSON


def test_every_figure_of_a_page_names_its_unit(farm: SmallFarm) -> None:
    whole = json.loads(page(farm.folder))
    found = []

    def walk(item: object) -> None:
        if isinstance(item, dict):
            if {"value", "low", "high"} <= set(item):
                found.append(item)
            for part in item.values():
                walk(part)
        elif isinstance(item, list):
            for part in item:
                walk(part)

    walk(whole)
    assert len(found) > 10
    assert all(figure["unit"] in UNITS and figure["mark"] in "MBG" for figure in found)


def test_plain_takes_what_the_records_hold() -> None:
    assert plain(Walked(parse("4 1/2 in", "length"))) == {
        "height": {"text": "4 1/2 in", "value": 4.5, "unit": "in"}, "density": "", "readings": None,
        "mass_per_height": None,
    }  # fmt: skip
    assert plain(np.array([1.5, np.inf])) == [1.5, None]
    assert plain({1: {"b", "a"}}) == {"1": ["a", "b"]}
    with pytest.raises(TypeError):
        plain(object())
