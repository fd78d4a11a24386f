"""What is held ready: entries are in every answer once confirmed, and nobody waits for the clock."""

from __future__ import annotations

import threading
import time
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from browseline import chain
from browseline.chain.desk.typed import typed, words_of
from browseline.chain.look import Picture
from browseline.errors import BadInput
from browseline.record.store import Record
from browseline.web import held
from browseline.web.held import OLDEST, Keeper
from browseline.web.store import Store
from tests.unit.cli_farm import NOW, SmallFarm
from tests.web_farm import small_farm

NOON = datetime.fromisoformat(NOW)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_farm(tmp_path / "farm")


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[datetime]:
    """Return when each picture was made; they are made as ever."""
    made: list[datetime] = []

    def look(where: Path, now: datetime) -> Picture:
        made.append(now)
        return chain.look(where, now)

    monkeypatch.setattr(held, "look", look)
    return made


def waited(true: Any) -> None:
    end = time.monotonic() + 20
    while not true():
        assert time.monotonic() < end
        time.sleep(0.01)


def rain(store: Store, amount: str, now: datetime = NOON) -> str:
    return store.enter(typed(words_of(f"rain {amount} --yes")), now).event


def count(picture: Picture) -> int:
    return len(picture.events)


def test_an_entry_is_in_every_answer_once_it_is_confirmed_and_made_before(
    folder: Path, looks: list[datetime]
) -> None:
    store = Store(folder)
    assert store.page("today n", count, NOON) == 0
    rain(store, "1in")
    made = len(looks)
    assert store.page("today n", count, NOON) == 1
    assert store.picture(NOON).events[0].kind == "rained"
    assert len(looks) == made


def test_who_reads_while_an_entry_is_taken_in_gets_the_farm_without_it(folder: Path) -> None:
    keeper = Keeper(folder)
    keeper.held(NOON)
    inside, done = threading.Event(), threading.Event()

    def write() -> None:
        with keeper.writing(NOON), Record.open(folder) as record:
            record.keep_files(NOON)
            inside.set()
            done.wait(20)

    thread = threading.Thread(target=write)
    thread.start()
    assert inside.wait(20)
    assert count(keeper.held(NOON).picture) == 0
    assert not done.is_set()
    done.set()
    thread.join()


def test_when_only_the_clock_goes_on_nobody_waits(folder: Path, looks: list[datetime]) -> None:
    keeper = Keeper(folder)
    first = keeper.held(NOON)
    later = NOON + timedelta(minutes=1)
    assert keeper.held(later) is first
    waited(lambda: keeper.held(later).minute == later)
    assert looks[-1] == later


def test_who_asks_while_the_first_picture_is_being_made_is_given_that_one(
    folder: Path, looks: list[datetime]
) -> None:
    keeper, done = Keeper(folder), threading.Event()
    keeper.begin(NOON, done.set)
    asked = keeper.held(NOON)
    assert done.wait(20)
    assert keeper.held(NOON) is asked
    assert asked.picture.farm.name
    assert looks == [NOON]


def test_what_is_wrong_with_a_farm_is_told_to_who_asks_not_to_who_began(folder: Path) -> None:
    (folder / "farm.toml").write_text("schema = 1\nname = 3\n", encoding="utf-8")
    keeper, done = Keeper(folder), threading.Event()
    keeper.begin(NOON, done.set)
    assert done.wait(20)
    with pytest.raises(BadInput):
        keeper.held(NOON)


@pytest.mark.parametrize("behind", [OLDEST + timedelta(minutes=1), -timedelta(minutes=1)])
def test_nobody_is_given_a_page_that_is_too_old_or_from_tomorrow(folder: Path, behind: timedelta) -> None:
    keeper = Keeper(folder)
    keeper.held(NOON)
    assert keeper.held(NOON + behind).minute == NOON + behind


def test_nobody_is_given_yesterdays_page(folder: Path) -> None:
    keeper = Keeper(folder)
    before = datetime.fromisoformat("2026-05-06T23:59-04:00")
    keeper.held(before)
    after = before + timedelta(minutes=1)
    assert keeper.held(after).minute == after


def test_an_entry_from_the_command_line_is_seen_at_once(folder: Path) -> None:
    store = Store(folder)
    assert count(store.picture(NOON)) == 0
    assert SmallFarm(folder).run("rain", "1in", "--yes").code == 0
    assert count(store.picture(NOON)) == 1
    text = (folder / "farm.toml").read_text(encoding="utf-8")
    (folder / "farm.toml").write_text(text.replace("Small Farm", "Other Farm"), encoding="utf-8")
    assert store.picture(NOON).farm.name == "Other Farm"


def test_who_only_reads_the_record_makes_nothing_old(folder: Path, looks: list[datetime]) -> None:
    store = Store(folder)
    rain(store, "1in")
    made = len(looks)
    with Record.open(folder) as record:
        assert len(record.events()) == 1
        store.picture(NOON)
    store.told(store.picture(NOON).events[0].id, NOON)
    store.picture(NOON)
    assert len(looks) == made


def test_many_at_once_lose_nothing(folder: Path) -> None:
    store = Store(folder)
    wrong: list[Exception] = []

    def work(number: int) -> None:
        try:
            for round_ in range(3):
                rain(store, f"0.{number + 1}{round_ + 1}in", NOON + timedelta(minutes=round_))
                store.page("today n", count, NOON + timedelta(minutes=round_))
        except Exception as bad:  # noqa: BLE001 - whatever a thread meets is told below
            wrong.append(bad)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert count(store.picture(NOON + timedelta(minutes=2))) == 15
    # Whatever was made behind is done before the folder goes.
    waited(
        lambda: (
            threading.active_count() <= 2 or not any("_in_thread" in t.name for t in threading.enumerate())
        )
    )
