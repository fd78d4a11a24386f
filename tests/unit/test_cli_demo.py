"""The demo: the whole chain on the example farm, from a copy, with every paper."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from browseline.cli.demo import EVENTS, example
from tests.unit.cli_farm import Done, SmallFarm


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> tuple[SmallFarm, Done]:
    farm = SmallFarm(tmp_path_factory.mktemp("demo") / "copy")
    return farm, farm.run("demo", str(farm.folder), "--iterations", "0")


def test_it_prints_today_and_says_what_to_do_next(shown: tuple[SmallFarm, Done]) -> None:
    farm, done = shown
    assert done.code == 0, done.all
    for words in ("The example farm lies in", "GRASS AHEAD", "SHUT", "CAN WAIT", "What to do next:"):
        assert words in done.out
    assert f"cd {farm.folder} and then: browseline today --now 20" in done.out


def test_it_writes_both_sheets_the_calendar_and_the_record(shown: tuple[SmallFarm, Done]) -> None:
    farm, _ = shown
    endings = sorted(path.suffix for path in (farm.folder / "papers").iterdir())
    assert endings == [".csv", ".ics", ".pdf", ".pdf", ".txt", ".txt", ".txt"]
    for path in (farm.folder / "papers").glob("*.pdf"):
        assert path.read_bytes().startswith(b"%PDF")


def test_the_copy_is_a_farm_of_its_own(shown: tuple[SmallFarm, Done]) -> None:
    farm, done = shown
    now = done.out.partition("--now ")[2].split()[0]
    assert farm.run("today", now=now).code == 0
    assert farm.run("walk", "1", "9 in", now=now).code == 0
    assert not (farm.folder / EVENTS).exists()
    assert farm.run("check").code == 0


def test_the_example_is_left_as_it_was(shown: tuple[SmallFarm, Done]) -> None:
    assert sorted(path.name for path in example().iterdir() if path.name.startswith("record")) == []


def test_a_folder_in_use_is_refused(shown: tuple[SmallFarm, Done], tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    done = shown[0].run("demo", str(tmp_path))
    assert (done.code, "The folder is not empty" in done.all) == (1, True)


def test_today_prints_three_ways_out_a_mob_and_counts_the_others(shown: tuple[SmallFarm, Done]) -> None:
    farm, done = shown
    now = done.out.partition("--now ")[2].split()[0]
    short, whole = farm.run("today", now=now), farm.run("today", "--why", now=now)
    page = json.loads(farm.run("today", "--json", now=now).out)
    ways = [[len(clash["ways"]) for clash in mob["clashes"]] for mob in page["mobs"] if mob["clashes"]]
    assert max(max(mob) for mob in ways) > 4
    assert whole.all.count("or: ") == sum(map(sum, ways))
    printed = [(mob[0] if mob[0] <= 4 else 3) for mob in ways]
    assert short.all.count("or: ") == sum(printed)
    more = sum(map(int, re.findall(r"(\d+) (?:more )?ways? out: browseline", " ".join(short.all.split()))))
    assert more + sum(printed) == sum(map(sum, ways))
