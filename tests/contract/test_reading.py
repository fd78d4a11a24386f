"""A reader's test: what the demo says can be read at twelve, and says nothing in words that sell.

Two formulas, for each counts something else: the Automated Readability Index by letters (Senter and Smith
1967, AMRL-TR-66-220) and the Flesch-Kincaid grade by syllables (Kincaid, Fishburne, Rogers and Chissom 1975,
Naval Technical Training Command, Research Branch Report 8-75). A grade is a school year of the United States;
its pupils are five years older than its number.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import polib
import pytest

from browseline.chain import Picture, look, today
from browseline.chain.in_force import keep_plan, plan_in_force
from browseline.chain.season_page import season_page
from browseline.chain.today_words import ahead_words, next_words
from browseline.cli.demo import copy_example, example
from browseline.cli.season import stay_words
from browseline.figures import Figure
from browseline.moves.season import plan
from browseline.papers.relief import relief
from browseline.papers.season import season_sheet
from browseline.words import LOCALE

AGE_YR, YEARS_BEFORE_SCHOOL = 12.0, 5.0
LEAST_WORDS, MOST_WORDS = 5, 30
ONE_SENTENCE_YR, LONG_WORDS = 15.0, 8
"""How much harder than its page a single sentence may be, and how many words make one worth judging."""
AVOIDED = (
    "asset", "entity", "entities", "module", "dashboard", "insight", "smart", "optimise", "optimize", "score",
    "regenerative", "carbon-neutral", "carbon neutral",
)  # fmt: skip
PAPERS = ("today", "season", "relief")
UNSAID = re.compile(
    r"id|time_zone|figures|paddock_id|schema|code|limit|basis|formula|unit|mark|path|svg|planting",
    re.IGNORECASE,
)
"""Fields of a record that a reader never meets as a sentence; what stands behind a figure is the source's."""


def words_of(text: str) -> list[str]:
    """Return the words of a text; a number, or a unit of one letter, is no word and would flatter."""
    return re.findall(r"\b(?:[A-Za-z][A-Za-z'’-]+|[AaI])\b", text)


def sentences_of(text: str) -> list[str]:
    """Return the sentences of a text. Less than a sentence (a name, a list) would flatter the measure."""
    found = re.split(r"(?<=[.!?])\s+", " ".join(text.split()))
    return [sentence for sentence in found if len(words_of(sentence)) >= LEAST_WORDS]


def syllables(word: str) -> int:
    """Return the syllables of an English word: groups of vowels without a silent e."""
    groups = re.findall(
        r"[aeiouy]+", re.sub(r"(?<![aeiouyl])e(s|d)?$|(?<=[aeiouy]l)es?$", "", word.casefold())
    )
    return max(len(groups), 1)


def ari_grade(sentences: Iterable[str]) -> float:
    """Return the Automated Readability Index: 4.71 letters a word + 0.5 words a sentence - 21.43."""
    texts = list(sentences)
    words = [word for text in texts for word in words_of(text)]
    letters = sum(len(re.sub(r"\W", "", word)) for word in words)
    return 4.71 * letters / len(words) + 0.5 * len(words) / len(texts) - 21.43


def flesch_kincaid_grade(sentences: Iterable[str]) -> float:
    """Return the Flesch-Kincaid grade: 0.39 words a sentence + 11.8 syllables a word - 15.59."""
    texts = list(sentences)
    words = [word for text in texts for word in words_of(text)]
    return 0.39 * len(words) / len(texts) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def texts_in(record: object, name: str = "") -> Iterator[str]:
    """Yield every text of a record that a reader meets."""
    if isinstance(record, str):
        if not UNSAID.fullmatch(name):
            yield record
    elif UNSAID.fullmatch(name) or isinstance(record, Figure):
        return
    elif dataclasses.is_dataclass(record):
        for f in dataclasses.fields(record):
            yield from texts_in(getattr(record, f.name), f.name)
    elif isinstance(record, (list, tuple)):
        for part in record:
            yield from texts_in(part, name)


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    folder = tmp_path_factory.mktemp("read") / "farm"
    now = copy_example(example(), folder)
    seen = look(folder, now)
    keep_plan(seen, plan(seen.scene, None, 500), "owner")
    return look(folder, now)


@pytest.fixture(scope="module")
def read(picture: Picture) -> dict[str, list[str]]:
    """Return the sentences of each paper, each once."""
    kept = plan_in_force(picture)
    page, made = today(picture), plan(picture.scene, None, 500)
    stays = [stay_words(stay) for mob in season_page(picture, made).mobs for stay in mob.stays]
    said = {
        "today": (*texts_in(page), ahead_words(page.ahead), *map(next_words, page.mobs)),
        "season": (*stays, *made.changes, *texts_in(made.clashes), *texts_in(season_sheet(picture, kept))),
        "relief": texts_in(relief(picture, season=kept)),
    }
    return {
        name: list(dict.fromkeys(s for t in texts for s in sentences_of(t))) for name, texts in said.items()
    }


def age_yr(sentences: Iterable[str]) -> float:
    """Return the age that reads a text, by the sterner formula. [yr]"""
    texts = list(sentences)
    return YEARS_BEFORE_SCHOOL + max(ari_grade(texts), flesch_kincaid_grade(texts))


def templates(path: Path) -> list[str]:
    """Return what a catalogue says, a number in the place of each field."""
    said = [text for entry in polib.pofile(path.read_text(encoding="utf-8"))
            for text in (entry.msgstr, *entry.msgstr_plural.values())]  # fmt: skip
    return [re.sub(r"\{[^}]*\}", "4", text) for text in said]


CATALOGUES = sorted((LOCALE / "en").glob("*.po"))


def test_the_grade_of_a_published_example() -> None:
    """Wikipedia, Flesch-Kincaid readability tests: 13 words and 24 syllables, reading ease 37.5.

    The least grade that one word of one syllable can have is -3.40 there.
    """
    words = words_of("The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.")
    count = sum(map(syllables, words))
    assert (len(words), count) == (13, 24)
    assert 206.835 - 1.015 * 13 - 84.6 * count / 13 == pytest.approx(37.5, abs=0.05)
    assert flesch_kincaid_grade(["Go"]) == pytest.approx(-3.40)


def test_a_hard_text_is_past_the_age() -> None:
    hard = (
        "Prioritised utilisation of remaining herbage necessitates immediate relocation of lactating animals."
    )
    assert age_yr([hard]) > AGE_YR + 5
    assert age_yr(["Move the ewes to the top field before the grass is too short."]) < AGE_YR


@pytest.mark.parametrize("paper", PAPERS)
def test_a_paper_is_read_at_twelve(read: dict[str, list[str]], paper: str) -> None:
    sentences = read[paper]
    assert len(sentences) > 20
    assert age_yr(sentences) <= AGE_YR


@pytest.mark.parametrize("paper", PAPERS)
def test_no_sentence_of_a_paper_stands_out(read: dict[str, list[str]], paper: str) -> None:
    long = [s for s in read[paper] if len(words_of(s)) >= LONG_WORDS]
    assert [s for s in long if age_yr([s]) > ONE_SENTENCE_YR or len(words_of(s)) > MOST_WORDS] == []


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.stem)
def test_a_catalogue_is_read_at_twelve(path: Path) -> None:
    sentences = [sentence for text in templates(path) for sentence in sentences_of(text)]
    assert not sentences or age_yr(sentences) <= AGE_YR
    assert [s for s in sentences if len(words_of(s)) > MOST_WORDS] == []


@pytest.mark.parametrize("path", CATALOGUES, ids=lambda path: path.stem)
def test_no_catalogue_has_a_word_to_avoid(path: Path) -> None:
    avoided = re.compile(rf"\b({'|'.join(AVOIDED)})(s|d|r|rs|ed|ly)?\b", re.IGNORECASE)
    assert [text for text in templates(path) if avoided.search(text)] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_no_paper_has_a_word_to_avoid(read: dict[str, list[str]], paper: str) -> None:
    said = " ".join(read[paper]).casefold()
    assert [word for word in AVOIDED if re.search(rf"\b{word}", said)] == []
