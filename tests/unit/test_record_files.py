# ruff: noqa: E501 - what each copy changed stands on one line
from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from itertools import permutations
from pathlib import Path

import pytest

from browseline.record import texts
from browseline.record.history import Merged, Version, digest, heads, merged, version_of
from browseline.record.store import Record

START = datetime(2026, 5, 1, 8, tzinfo=UTC)

FARM = """# Our farm
name = "Quern Bank"
units = "acres"  # always

[rules]
worm_stay = "4 d"

[[paddock]]
id = "1"
area = "3 ac"

# the wet one
[[paddock]]
id = "2"
area = "2 ac"
soils = [
  "clay",
  "loam",
]

[[mob]]
id = "ewes"
at = "1"

[[mob.line]]
kind = "sheep"
head = 60

[[mob.line]]
kind = "sheep"
head = 96

[[promise]]
what = "away"

[[promise]]
what = "hay"
# the end
"""


def write(folder: Path, name: str, text: str, day: int) -> datetime:
    """Write a file dated a day of May, and return that instant."""
    instant = START + timedelta(days=day)
    (folder / name).write_text(text, encoding="utf-8")
    os.utime(folder / name, (instant.timestamp(), instant.timestamp()))
    return instant


def line(name: str, first: str, *changes: tuple[str, str], day: int = 0) -> list[Version]:
    """Return versions that were made one from the other, a day apart."""
    found = [version_of(name, first.encode(), (), START)]
    for number, (old, new) in enumerate(changes, start=1):
        text = (found[-1].content or b"").decode()
        assert old in text
        after = version_of(
            name,
            text.replace(old, new, 1).encode(),
            [found[-1].id],
            START + timedelta(days=day + number),
            "B",
        )
        found.append(after)
    return found


def both(name: str, first: str, mine: tuple[str, str], theirs: tuple[str, str]) -> Merged:
    """Return what two copies make together that changed one file apart: theirs a day later."""
    return merged([*line(name, first, mine, day=0), *line(name, first, theirs, day=1)[1:]])


# ---------------------------------------------------------------- versions


def test_every_version_is_kept_with_the_instant_it_was_first_seen(tmp_path: Path) -> None:
    first = write(tmp_path, "farm.toml", FARM, 0)
    with Record.open(tmp_path) as record:
        assert record.keep_files(START + timedelta(days=3)) == ()
        second = write(tmp_path, "farm.toml", FARM.replace("3 ac", "3.5 ac"), 4)
        record.keep_files(START + timedelta(days=9))
        write(tmp_path, "farm.toml", FARM, 10)
        record.keep_files(START + timedelta(days=11))
        record.keep_files(START + timedelta(days=12))
        found = record.versions("farm.toml")
        assert [(v.seen, v.sha256) for v in found] == [
            (first, digest(FARM.encode())),
            (second, digest(FARM.replace("3 ac", "3.5 ac").encode())),
            (START + timedelta(days=10), digest(FARM.encode())),
        ]
        assert [v.parents for v in found] == [(), (found[0].id,), (found[1].id,)]
        assert record.versions("map.geojson") == ()
        assert len(record.all("SELECT * FROM content")) == 2


def test_a_past_day_has_the_files_of_that_day(tmp_path: Path) -> None:
    with Record.open(tmp_path) as record:
        for day, area in ((0, "3 ac"), (4, "3.5 ac")):
            write(tmp_path, "farm.toml", FARM.replace("3 ac", area), day)
            record.keep_files(START + timedelta(days=day))
        write(tmp_path, "weather.csv", "date,rain_mm\n", 6)
        record.keep_files(START + timedelta(days=6))
        (tmp_path / "weather.csv").unlink()
        record.keep_files(START + timedelta(days=8))

        def on(day: float) -> tuple[str, list[str]]:
            found = record.files_on(START + timedelta(days=day))
            return ("3.5 ac" if b"3.5 ac" in found["farm.toml"] else "3 ac"), sorted(found)

        assert on(-9) == ("3 ac", ["farm.toml", "weather.csv"])  # before the first version, the first
        assert on(3.9) == ("3 ac", ["farm.toml", "weather.csv"])
        assert on(4) == ("3.5 ac", ["farm.toml", "weather.csv"])
        assert on(9) == ("3.5 ac", ["farm.toml"])


def test_a_file_dated_in_the_future_was_seen_now(tmp_path: Path) -> None:
    write(tmp_path, "farm.toml", FARM, 300)
    with Record.open(tmp_path) as record:
        record.keep_files(START)
        assert [version.seen for version in record.versions()] == [START]


# ---------------------------------------------------------------- parts


def test_a_farm_comes_apart_by_table_and_key_without_losing_a_character() -> None:
    parts = texts.split("farm.toml", FARM.encode())
    assert parts is not None
    assert "".join(parts.values()) == FARM
    assert parts["paddock:2", "area"] == 'area = "2 ac"\n'
    assert parts["paddock:2", ""] == "\n# the wet one\n[[paddock]]\n"
    assert parts["mob:ewes", "[mob.line]"].count("head") == 2
    assert ("rules", "worm_stay") in parts
    assert len([path for path in parts if path[0].startswith("promise:") and path[1] == "what"]) == 2


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("farm.toml", b"name = "), ("farm.toml", b"\xff\xfe"), ("farm.toml", b'a = 1\na.b = 2\n'), ("farm.toml", None),
        ("farm.toml", b'"a=b" = 1\n"a=c" = 2\n'), ("map.geojson", b"[]"), ("map.geojson", b"{"),
        ("map.geojson", b'{"features": [1]}'), ("map.geojson", b'{"features": {}}'), ("weather.csv", b"\n# only words\n"),
        ("map.geojson", b"[" * 100_000),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_apart_is_none(name: str, content: bytes | None) -> None:
    assert texts.split(name, content) is None


# ---------------------------------------------------------------- what two copies make together


def test_changes_to_different_keys_both_stand() -> None:
    found = both("farm.toml", FARM, ('"3 ac"', '"3.2 ac"'), ('worm_stay = "4 d"', 'worm_stay = "3 d"'))
    assert found.content == FARM.replace('"3 ac"', '"3.2 ac"').replace('"4 d"', '"3 d"').encode()
    assert found.clashes == ()
    assert len(found.heads) == 2


def test_the_same_change_twice_is_no_clash() -> None:
    found = both("farm.toml", FARM, ('"3 ac"', '"3.2 ac"'), ('"3 ac"', '"3.2 ac"'))
    assert found.content == FARM.replace('"3 ac"', '"3.2 ac"').encode()
    assert found.clashes == ()


def test_of_two_changes_to_one_key_the_later_stands_and_both_are_listed() -> None:
    found = both("farm.toml", FARM, ('"3 ac"', '"3.2 ac"'), ('"3 ac"', '"3.4 ac"'))
    assert found.content == FARM.replace('"3 ac"', '"3.4 ac"').encode()
    (clash,) = found.clashes
    assert (clash.name, clash.block, clash.key) == ("farm.toml", "paddock:1", "area")
    assert (clash.standing, clash.other) == ('area = "3.4 ac"\n', 'area = "3.2 ac"\n')


def test_a_later_version_that_saw_both_settles_the_clash() -> None:
    mine, theirs = (
        line("farm.toml", FARM, ('"3 ac"', '"3.2 ac"')),
        line("farm.toml", FARM, ('"3 ac"', '"3.4 ac"'), day=1),
    )
    settled = version_of(
        "farm.toml", FARM.replace('"3 ac"', '"3.3 ac"').encode(), [mine[1].id, theirs[1].id], START
    )
    assert merged([*mine, theirs[1], settled]) == Merged(settled.content, (settled.id,))
    late = version_of(
        "farm.toml", FARM.replace('"4 d"', '"2 d"').encode(), [mine[0].id], START + timedelta(days=9)
    )
    found = merged([*mine, theirs[1], settled, late])
    assert found.content == FARM.replace('"3 ac"', '"3.3 ac"').replace('"4 d"', '"2 d"').encode()
    assert found.clashes == ()


def test_added_tables_both_stand_each_after_its_kind() -> None:
    new = '[[paddock]]\nid = "3"\narea = "9 ac"\n\n'
    found = both(
        "farm.toml",
        FARM,
        ("[[mob]]", new + "[[mob]]"),
        ("[[promise]]", '[lane]\nwide = "4 m"\n\n[[promise]]'),
    )
    assert found.content is not None
    assert found.clashes == ()
    text = found.content.decode()
    assert text.index('id = "2"') < text.index('id = "3"') < text.index("[[mob]]") < text.index("[lane]")


def test_a_key_added_to_a_table_stands_with_the_table() -> None:
    found = both(
        "farm.toml",
        FARM,
        ('id = "1"\n', 'id = "1"\nwater = "trough"\n'),
        ('id = "2"\n', 'id = "2"\nnote = "x"\n'),
    )
    assert found.content is not None
    text = found.content.decode()
    assert text.index('id = "1"') < text.index("water") < text.index("# the wet one") < text.index("note")


def test_a_table_taken_away_here_and_untouched_there_is_gone() -> None:
    gone = '[[paddock]]\nid = "1"\narea = "3 ac"\n\n'
    found = both("farm.toml", FARM, (gone, ""), ('"2 ac"', '"2.2 ac"'))
    assert found.content == FARM.replace(gone, "").replace('"2 ac"', '"2.2 ac"').encode()
    assert found.clashes == ()


@pytest.mark.parametrize("gone_first", [True, False])
def test_a_table_taken_away_here_and_changed_there_stands_and_is_listed(gone_first: bool) -> None:
    gone = ('[[paddock]]\nid = "1"\narea = "3 ac"\n\n', "")
    change = ('"3 ac"', '"3.2 ac"')
    found = both("farm.toml", FARM, *((gone, change) if gone_first else (change, gone)))
    assert found.content is not None
    assert '[[paddock]]\nid = "1"\narea = "3.2 ac"\n' in found.content.decode()
    (clash,) = found.clashes
    assert (clash.block, clash.key, clash.other) == ("paddock:1", "", None)


def test_a_table_that_came_back_later_is_no_clash() -> None:
    gone = '[[paddock]]\nid = "1"\narea = "3 ac"\n\n'
    mine = line("farm.toml", FARM, (gone, ""), ("# the wet one", gone + "# the wet one"))
    theirs = line("farm.toml", FARM, ('"4 d"', '"2 d"'), day=5)
    found = merged([*mine, theirs[1]])
    assert found.content == FARM.replace('"4 d"', '"2 d"').encode()
    assert found.clashes == ()


def test_a_file_that_cannot_be_read_is_taken_whole_and_listed() -> None:
    found = both("farm.toml", FARM, ('"3 ac"', '"3.2 ac"'), ('name = "Quern Bank"', "name = "))
    assert found.content == FARM.replace('"Quern Bank"', "").encode()
    assert [(c.block, c.key, c.standing, c.other) for c in found.clashes] == [
        ("", "", digest(found.content), digest(FARM.replace('"3 ac"', '"3.2 ac"').encode()))
    ]


def test_parts_that_make_no_file_together_are_taken_whole() -> None:
    first = 'name = "F"\n'
    found = both("farm.toml", first, ("name", "a.b = 1\nname"), ("name", "a = 2\nname"))
    assert found.content == b'a = 2\nname = "F"\n'
    assert len(found.clashes) == 1


def test_the_set_of_versions_alone_decides() -> None:
    mine, theirs = (
        line("farm.toml", FARM, ('"3 ac"', '"3.2 ac"'), ('"4 d"', '"5 d"')),
        line("farm.toml", FARM, ('"4 d"', '"3 d"'), ('"3 ac"', '"3.4 ac"'), day=1),
    )
    found = merged([*mine, *theirs[1:]])
    for order in permutations([*mine, *theirs[1:]]):
        assert merged(order) == found


def test_what_lies_before_the_last_shared_version_does_not_matter() -> None:
    shared = line("farm.toml", "name = ", ("name = ", FARM))
    mine, theirs = (
        version_of("farm.toml", FARM.replace(*change).encode(), [shared[1].id], START)
        for change in (('"3 ac"', '"3.2 ac"'), ('"4 d"', '"3 d"'))
    )
    found = merged([*shared, mine, theirs])
    assert found.content == FARM.replace('"3 ac"', '"3.2 ac"').replace('"4 d"', '"3 d"').encode()
    assert found.clashes == ()


def test_two_copies_that_took_it_whole_alike_are_one_side_of_the_clash() -> None:
    first = version_of("farm.toml", b"name = ", (), START)
    same = [
        version_of("farm.toml", b"a = ", [first.id, extra], START + timedelta(days=n))
        for n, extra in enumerate("pq")
    ]
    other = version_of("farm.toml", b"b = ", [first.id], START)
    assert len(merged([first, *same, other]).clashes) == 1


def test_a_file_taken_away_here_and_changed_there() -> None:
    mine = line("farm.toml", FARM, ('"3 ac"', '"3.2 ac"'))
    gone = version_of("farm.toml", None, [mine[0].id], START + timedelta(days=9))
    late = version_of("farm.toml", None, [mine[0].id], START - timedelta(days=9))
    assert merged([*mine, gone]).content is None
    assert merged([*mine, late]).content == mine[1].content
    assert merged([]).content is None
    assert heads([]) == ()


MAP = """{"type": "FeatureCollection", "features": [
 {"type": "Feature", "id": "p1", "geometry": {"type": "Point", "coordinates": [1, 2]}, "properties": {"name": "One"}},
 {"type": "Feature", "geometry": null, "properties": {"id": "p2", "kind": "paddock"}},
 {"type": "Feature", "geometry": {"type": "Point", "coordinates": [7, 7]}, "properties": null}]}
"""


def test_map_features_are_put_together_by_id() -> None:
    found = both("map.geojson", MAP, ("[1, 2]", "[1, 3]"), ('"One"', '"Uno", "crs.x": 1'))
    assert found.content is not None
    parts = texts.split("map.geojson", found.content)
    assert parts is not None
    assert parts["feature:p1", "geometry"] == '{"coordinates": [1, 3], "type": "Point"}'
    assert parts["feature:p1", "properties.name"] == '"Uno"'
    assert parts["feature:p1", "properties.crs.x"] == "1"
    assert parts["", "type"] == '"FeatureCollection"'
    assert found.clashes == ()


def test_map_features_added_and_taken_away() -> None:
    new = '{"type": "Feature", "id": "p3", "geometry": null, "properties": {}},\n {"type"'
    found = both(
        "map.geojson",
        MAP,
        ('"One"', '"Uno"'),
        ('{"type": "Feature", "id": "p1"', new + ': "Feature", "id": "p1"'),
    )
    assert found.content is not None
    parts = texts.split("map.geojson", found.content)
    assert parts is not None
    assert [block for block, key in parts if key == ""][:2] == ["feature:p3", "feature:p1"]
    changed = both("map.geojson", MAP, ("[1, 2]", "[1, 3]"), ("[1, 2]", "[1, 4]"))
    assert [(c.block, c.key) for c in changed.clashes] == [("feature:p1", "geometry")]


WEATHER = "# gauge by the gate\ndate,rain_mm\n2026-05-01,3\n2026-05-02,0\n\n2026-05-03,1\n2026-05-03,2\n"


def test_weather_is_put_together_by_day() -> None:
    found = both(
        "weather.csv",
        WEATHER,
        ("2026-05-02,0", "2026-05-02,4"),
        ("2026-05-03,2\n", "2026-05-03,2\n2026-05-04,9\n"),
    )
    assert found.content == (
        b"# gauge by the gate\ndate,rain_mm\n2026-05-01,3\n2026-05-02,4\n2026-05-03,1\n2026-05-03,2\n2026-05-04,9\n"
    )
    assert found.clashes == ()


def test_weather_with_other_columns_is_taken_whole() -> None:
    found = both("weather.csv", WEATHER, ("2026-05-02,0", "2026-05-02,4"), ("rain_mm", "rain_in"))
    assert found.content == WEATHER.replace("rain_mm", "rain_in").encode()
    assert len(found.clashes) == 1
