"""Kept answers: the same content gives the same answer, and a damaged or foreign file none."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from browseline import words
from browseline.chain import keep
from tests.small_farm import farm, look, some, state


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BROWSELINE_CACHE", str(tmp_path))
    return tmp_path


def test_kept_weather_is_the_weather_that_was_made(cache: Path) -> None:
    small = farm(weather=True)
    first = look(small, state(small))
    held = list(cache.glob("weather-*.npz"))
    again = look(small, state(small))
    assert len(held) == 1
    assert list(cache.glob("weather-*.npz")) == held
    assert np.array_equal(some(first.weather).rain_mm, some(again.weather).rain_mm)
    assert some(first.weather).findings == some(again.weather).findings
    assert some(first.weather).rows == some(again.weather).rows


@pytest.mark.parametrize("junk", [b"", b"PK\x03\x04 not a zip", b"\x93NUMPY"])
def test_a_damaged_answer_is_made_again(cache: Path, junk: bytes) -> None:
    small = farm(weather=True)
    first = look(small, state(small))
    for path in cache.glob("weather-*.npz"):
        path.write_bytes(junk)
    assert np.array_equal(some(look(small, state(small)).weather).rain_mm, some(first.weather).rain_mm)


def test_another_seed_or_rain_is_another_answer(cache: Path) -> None:
    a, b = farm(weather=True), farm(weather=True, seed=2)
    assert keep.content_key(a) != keep.content_key(b)
    assert keep.content_key(a) == keep.content_key(farm(weather=True))


def test_another_code_is_another_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file of the program that was changed, came or went; what only shows answers does not count."""
    home = tmp_path / "program"
    shutil.copytree(keep.HOME, home, ignore=shutil.ignore_patterns("__pycache__"))
    editions = []
    for change in (
        lambda: None,
        lambda: (home / "science" / "water.py").write_text("x = 1\n", encoding="utf-8"),
        lambda: (home / "weather.py").unlink(),
        lambda: (home / "sward" / "new.py").write_text("", encoding="utf-8"),
    ):
        change()
        keep.code_edition.cache_clear()
        monkeypatch.setattr(keep, "HOME", home)
        editions.append(keep.content_key("a"))
    assert len(set(editions)) == len(editions)
    (home / "web" / "new.py").write_text("", encoding="utf-8")
    keep.code_edition.cache_clear()
    assert keep.content_key("a") == editions[-1]
    monkeypatch.undo()
    keep.code_edition.cache_clear()


def test_a_cache_that_cannot_be_written_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    monkeypatch.setenv("BROWSELINE_CACHE", str(blocked))
    small = farm(weather=True)
    assert look(small, state(small)).weather is not None


def test_only_so_many_answers_are_kept(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(keep, "MOST_KEPT", 2)
    for seed in (1, 2, 3):
        small = farm(weather=True, seed=seed)
        look(small, state(small))
    assert len(list(cache.glob("weather-*.npz"))) == 2


def test_an_answer_kept_with_other_sentences_is_not_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kept weather holds sentences; once they are mended the old ones are not shown again."""
    before = keep.content_key("a place")
    assert keep.content_key("a place") == before
    shutil.copytree(words.LOCALE, tmp_path / "locale")
    monkeypatch.setattr(words, "LOCALE", tmp_path / "locale")
    assert keep.content_key("a place") == before
    catalogue = tmp_path / "locale" / "en" / "findings.po"
    catalogue.write_text(catalogue.read_text(encoding="utf-8") + "\n# mended\n", encoding="utf-8")
    assert keep.content_key("a place") != before
