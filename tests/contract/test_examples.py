"""The example of every verb that writes an entry can be typed on the demo farm as it stands."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from browseline.chain.desk.entry import example_of
from browseline.chain.desk.typed import typed, words_of
from browseline.cli.demo import copy_example, example
from browseline.events.verbs import ENTRIES
from browseline.web.store import Store

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
ELSEWHERE = {"wean", "photo"}
"""Verbs whose example needs what the demo farm has not: young at foot, a picture on the disk."""
BEFORE = {"back": "pen"}
"""Verbs whose example follows that of another."""


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Store:
    folder = tmp_path_factory.mktemp("demo") / "farm"
    copy_example(example(), folder)
    return Store(folder)


@pytest.mark.parametrize("verb", [verb for verb in ENTRIES if verb not in {*ELSEWHERE, *BEFORE}])
def test_an_example_is_understood_and_nothing_speaks_against_it(demo: Store, verb: str) -> None:
    heard, against = demo.heard(typed(words_of(example_of(verb))), NOW)
    assert heard
    assert [one.what for one in against] == []


@pytest.mark.parametrize("verb", BEFORE)
def test_an_example_that_follows_another_does_so(tmp_path: Path, verb: str) -> None:
    copy_example(example(), tmp_path / "farm")
    store = Store(tmp_path / "farm")
    store.enter(typed(words_of(example_of(BEFORE[verb]))), NOW)
    _, against = store.heard(typed(words_of(example_of(verb))), NOW)
    assert [one.what for one in against] == []
