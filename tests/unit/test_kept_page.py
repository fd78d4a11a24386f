"""A page kept by content is the same record when it is read again: texts, links, figures and their parts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pytest

from browseline.chain import keep
from browseline.chain.kept_page import kept_page
from browseline.figures import Figure, Origin
from browseline.words import joined, linked, links_of

PART = Figure("head", 40.0, "head", origins=(Origin("farm", "", "farm"),), as_of=date(2026, 5, 1))
WHOLE = Figure("demand", 3.5, "kg", 3.0, None, parts=(PART, PART), formula="40 × …", about="ewes")


@dataclass(frozen=True)
class Inner:
    figure: Figure
    none: None = None


@dataclass(frozen=True)
class Page:
    texts: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    inner: tuple[Inner, ...]
    day: date
    share: float | None


def page() -> Page:
    text = joined(["about ", linked("3.5 kg", WHOLE), " a day"])
    return Page((text, "plain"), (("a", linked("40", PART)),), (Inner(WHOLE),), date(2026, 6, 1), 0.1)


@pytest.fixture
def _own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BROWSELINE_CACHE", str(tmp_path))


def never() -> Page:
    raise AssertionError("made again")


@pytest.mark.usefixtures("_own")
def test_a_kept_page_is_the_same_record_with_every_link() -> None:
    made = kept_page("test", "one", page, Page, (Inner,))
    read = kept_page("test", "one", never, Page, (Inner,))
    assert read == made
    assert [links_of(text) for text in read.texts] == [links_of(text) for text in made.texts]
    assert links_of(read.rows[0][1])[0].to == PART


@pytest.mark.usefixtures("_own")
def test_a_record_of_another_kind_is_never_made_from_a_file() -> None:
    kept_page("test", "one", page, Page, (Inner,))
    with pytest.raises(AssertionError):
        kept_page("test", "one", never, Page)


@pytest.mark.usefixtures("_own")
def test_a_broken_file_counts_as_not_kept() -> None:
    kept_page("test", "one", page, Page, (Inner,))
    (path,) = keep.folder().glob("test-*.npz")
    path.write_bytes(path.read_bytes()[:40])
    assert kept_page("test", "one", page, Page, (Inner,)) == page()
