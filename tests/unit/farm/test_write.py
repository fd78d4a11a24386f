"""Writing: comments and order stay, units as typed stay, a crash leaves the old file whole."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import pytest

from browseline.errors import BadInput
from browseline.farm.read import read
from browseline.farm.text import exact, text_of
from browseline.farm.write import changed, edit, write_text
from scripts.bad_farms import TODAY
from tests.unit.farm.folders import SOUND, feature, folder, sound
from tests.unit.farm.test_read import FULL
from tests.walked import square

EXAMPLE = Path(__file__).parents[3] / "examples" / "fennick-lea"
NOTED = SOUND.replace('area = "3 ac"\nsward', 'area = "3 ac"   # by the deed of 1911\nsward', 1)


def lines(folder_: Path) -> list[str]:
    return (folder_ / "farm.toml").read_text(encoding="utf-8").splitlines()


def test_an_edit_changes_one_line_and_no_comment(tmp_path: Path) -> None:
    before = NOTED.splitlines()
    made = edit(folder(tmp_path, NOTED), ("paddocks", "1", "area"), "1.2 ha", TODAY)
    after = lines(tmp_path)
    differ = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert differ == [('area = "3 ac"   # by the deed of 1911', 'area = "1.2 ha"   # by the deed of 1911')]
    assert made.farm is not None
    assert made.farm.paddocks[0].area_ha == 1.2


@pytest.mark.parametrize(
    ("keys", "value", "there"),
    [
        (("mobs", 0, "lines", 0, "head"), 58, "head = 58"),
        (("mobs", "ewes", "due"), TODAY, "due = 2026-05-06"),
        (("energiser", "where"), "barn", 'where = "barn"'),
        (("rules", "no_move_weekdays"), ["Sunday", "Friday"], 'no_move_weekdays = ["Sunday", "Friday"]'),
        (("plantings", "hazel", "harvested"), False, "harvested = false"),
    ],
)
def test_edits_of_every_sort(tmp_path: Path, keys: tuple[Any, ...], value: Any, there: str) -> None:
    made = edit(folder(tmp_path), keys, value, TODAY)
    assert there in lines(tmp_path)
    assert made.farm == read(tmp_path, TODAY).farm


def test_a_key_can_be_taken_out(tmp_path: Path) -> None:
    edit(folder(tmp_path), ("swards", "home", "leave_at"), None, TODAY)
    assert 'leave_at = "4 in"' not in lines(tmp_path)
    edit(tmp_path, ("swards", "home", "leave_at"), None, TODAY)
    assert [a for a in SOUND.splitlines() if a not in lines(tmp_path)] == ['leave_at = "4 in"']


def test_entries_of_a_list_that_stand_apart_stay_where_they_are(tmp_path: Path) -> None:
    before = (SOUND + FULL).splitlines()
    edit(folder(tmp_path, SOUND + FULL), ("paddocks", "3", "trough"), "200 gal", TODAY)
    after = lines(tmp_path)
    assert [b for a, b in zip(before, after, strict=True) if a != b] == ['trough = "200 gal"']
    edit(tmp_path, ("paddocks", "3", "cover"), "20 %", TODAY)
    assert [line for line in lines(tmp_path) if line not in after] == ['cover = "20 %"']


@pytest.mark.parametrize(
    ("text", "keys", "value", "made"),
    [
        ("a = 1", ("b",), 2, "a = 1\nb = 2\n"),
        ("a = 1\r\n[t]\r\nb = 2\r\n", ("t", "c"), "x", 'a = 1\r\n[t]\r\nb = 2\r\nc = "x"\r\n'),
        ("t = { a = 1 }  # kept\n", ("t", "b"), 2, "t = { a = 1, b = 2}  # kept\n"),
        ("t = { a = 1, b = 2 }\n", ("t", "a"), 3, "t = { a = 3, b = 2 }\n"),
        ("t.a = 1  # kept\n", ("t", "a"), 2, "t.a = 2  # kept\n"),
        ('a = """\nlong\n"""  # kept\nb = 1\n', ("a",), "short", 'a = "short"  # kept\nb = 1\n'),
        ("a = 1\nb = 2", ("b",), None, "a = 1\n"),
        ("a = 1\n", ("b",), None, "a = 1\n"),
        ("a = 1\n", ("odd key",), True, 'a = 1\n"odd key" = true\n'),
    ],
)
def test_texts_by_hand(text: str, keys: tuple[Any, ...], value: Any, made: str) -> None:
    assert changed(text, keys, value) == made


def test_an_edit_that_would_break_the_farm_is_refused(tmp_path: Path) -> None:
    folder(tmp_path)
    with pytest.raises(BadInput) as bad:
        edit(tmp_path, ("paddocks", "1", "area"), "3", TODAY)
    assert [f.code for f in bad.value.findings] == ["farm.missing_unit"]
    assert (tmp_path / "farm.toml").read_text(encoding="utf-8") == SOUND


def test_a_fault_that_was_there_does_not_stop_an_edit(tmp_path: Path) -> None:
    folder(tmp_path, SOUND.replace('kind = "sheep"', 'kind = "ship"'))
    made = edit(tmp_path, ("paddocks", "1", "name"), "North", TODAY)
    assert [f.code for f in made.errors] == ["farm.word_near"]
    assert 'name = "North"' in lines(tmp_path)


@pytest.mark.parametrize(
    "keys", [("paddocks", "9", "area"), ("name", "of", "it"), ("paddocks", "area"), ("mobs", 7, "at")]
)
def test_a_place_that_is_not_there(keys: tuple[Any, ...]) -> None:
    with pytest.raises(BadInput) as bad:
        changed(SOUND, keys, "1 ac")
    assert [f.code for f in bad.value.findings] == ["farm.no_place_for"]


def test_a_value_that_cannot_be_written() -> None:
    for value in (float("nan"), [object()]):
        with pytest.raises(BadInput):
            changed(SOUND, ("place", "latitude"), value)


def test_every_normal_reads_back(tmp_path: Path) -> None:
    more = 'wind_unit = "m/s"\nwind = [2,2,2,2,2,2,2,2,2,2,2,2]\nrain_varies = "18 %"\n'
    few = SOUND.replace('wet_day_threshold = "0.25 mm"\n', "").replace("wet_days = [", "sun = [")
    for text in (SOUND.replace("[rules]", f"{more}[rules]"), few):
        farm = sound(tmp_path, text)
        assert read(tmp_path, TODAY, text=text_of(farm)).farm == farm


def test_a_text_that_is_no_toml_is_not_edited() -> None:
    with pytest.raises(BadInput):
        changed("name = [", ("name",), "x")


# ---------------------------------------------------------------- a whole farm


def test_a_whole_farm_reads_back_as_it_was(tmp_path: Path) -> None:
    farm = sound(tmp_path, SOUND + FULL)
    assert read(tmp_path, TODAY, text=text_of(farm)).farm == farm


def test_the_example_reads_back_as_it_was() -> None:
    farm = read(EXAMPLE).farm
    assert farm is not None
    assert read(EXAMPLE, text=text_of(farm)).farm == farm


def test_a_drawn_farm_reads_back_as_it_was(tmp_path: Path) -> None:
    shapes = [feature("a", [[list(s) for s in square(90)]])]
    text = SOUND.replace('position_error = "2.1 m"\n', "").replace('time_zone = "America/New_York"\n', "")
    for one in (SOUND, text):
        farm = sound(tmp_path, one, shapes)
        assert read(tmp_path, TODAY, text=text_of(farm)).farm == farm


def test_a_hundred_switches_of_unit_change_nothing(tmp_path: Path) -> None:
    """M13: what was typed stays to the letter, whatever people choose to see."""
    farm = sound(tmp_path, SOUND + FULL)
    for n in range(100):
        edit(tmp_path, ("units",), "hectares" if n % 2 == 0 else "acres", TODAY)
    assert (tmp_path / "farm.toml").read_text(encoding="utf-8") == SOUND + FULL
    assert read(tmp_path, TODAY).farm == farm


@pytest.mark.parametrize("number", [0.1, 1e-7, 123456.789, 1 / 3, 5e-324, 2.0**60])
def test_numbers_are_written_whole_and_without_exponent(number: float) -> None:
    text = exact(number)
    assert "e" not in text.lower()
    assert float(text) == number


# ---------------------------------------------------------------- the file on disk


def test_nothing_is_left_beside_the_file(tmp_path: Path) -> None:
    write_text(tmp_path / "farm.toml", "a = 1\n")
    write_text(tmp_path / "farm.toml", "a = 2\n")
    assert [p.name for p in tmp_path.iterdir()] == ["farm.toml"]
    assert (tmp_path / "farm.toml").read_text(encoding="utf-8") == "a = 2\n"


def test_a_kill_while_writing_leaves_one_whole_file(tmp_path: Path) -> None:
    """Twenty kills at odd moments: the file is always one of those that were written, never a part."""
    program = textwrap.dedent(
        """
        import sys
        from pathlib import Path
        from browseline.farm.write import write_text
        n = 0
        while True:
            n += 1
            write_text(Path(sys.argv[1]), f"{n}\\n" * 20_000)
            print(n, flush=True)
        """
    )
    path = tmp_path / "farm.toml"
    for kill in range(20):
        running = subprocess.Popen([sys.executable, "-c", program, str(path)], stdout=subprocess.PIPE)
        assert running.stdout is not None
        seen = 0
        for _ in range(1 + kill % 4):
            seen = int(running.stdout.readline())
        os.kill(running.pid, signal.SIGKILL)
        running.communicate()
        found = path.read_text(encoding="utf-8").split()
        assert len(found) == 20_000
        assert len(set(found)) == 1
        assert int(found[0]) >= seen
