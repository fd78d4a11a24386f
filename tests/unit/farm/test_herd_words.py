"""Animals are called by their number; what somebody typed in other words stays."""

from __future__ import annotations

import re

import pytest

from browseline.farm import names
from browseline.farm.herd_words import NOUNS, animals_words, class_said, class_words, noun_of, noun_words


@pytest.mark.parametrize(
    ("klass", "one", "many"),
    [
        ("dairy heifer", "dairy heifer", "dairy heifers"),
        ("ewe maintenance", "dry ewe", "dry ewes"),
        ("ewe lactating twins", "ewe in milk", "ewes in milk"),
        ("ewe late gestation twins", "ewe late in lamb", "ewes late in lamb"),
        ("beef steer growing", "growing beef steer", "growing beef steers"),
        ("grower 20-60 kg", "growing pig", "growing pigs"),
        ("breeder grazing", "breeding goose", "breeding geese"),
        ("ewe four years old", "ewe four years old", "ewes four years old"),
        ("ewe lamb", "ewe lamb", "ewe lambs"),
        ("calf", "calf", "calves"),
        ("breeding goose", "breeding goose", "breeding geese"),
        ("sheep", "sheep", "sheep"),
        ("ewes", "ewe", "ewes"),
        ("Ewe", "ewe", "ewes"),
        ("old girls", "old girls", "old girls"),
        ("", "", ""),
        ("kg of kids", "kg of kid", "kg of kids"),
    ],
)
def test_a_class_by_number(klass: str, one: str, many: str) -> None:
    assert (class_words(klass, 1), class_words(klass, 46), class_words(klass, 0)) == (one, many, many)


def test_every_noun_has_both_words_and_is_known_by_either() -> None:
    irregular = {"calf", "goose", "sheep"}
    for noun in NOUNS:
        one, many = noun_words(noun, 1), noun_words(noun, 2)
        assert one == noun
        assert noun in irregular or (many == f"{noun}s" and noun_of(many) == noun)


def test_words_of_the_tables_name_an_animal() -> None:
    """Where the table's class has no animal in it the number stands before the class as it is."""
    without = {
        f"{kind}: {klass}"
        for kind in names.words("kind")
        for klass in names.words("class", kind)
        if class_words(klass, 2) == klass
    }
    assert without == set()


def test_no_class_of_the_tables_is_said_in_the_words_of_a_book() -> None:
    """Stages and weights of a table glued to a count read oddly at the gate."""
    book = re.compile(r"maintenance|gestat|lactat|mature|grazing|pastured|range|\d")
    said = [
        class_words(k, n) for kind in names.words("kind") for k in names.words("class", kind) for n in (1, 2)
    ]
    assert [words for words in said if book.search(words)] == []


def test_what_is_said_finds_the_class_again_and_no_other() -> None:
    """One word for two classes of a kind would make an entry mean either."""
    for kind in names.words("kind"):
        for klass in names.words("class", kind):
            for head in (1, 2):
                assert class_said(class_words(klass, head), kind) == (kind, klass)
    assert class_said("Dry  Ewes") == ("sheep", "ewe maintenance")
    assert class_said("old girls") is None
    assert class_said("dry ewes", "goat") is None


def test_a_kind_before_a_class_is_left_out() -> None:
    assert animals_words("sheep ewe maintenance") == "dry ewes"
    assert animals_words("cattle dairy heifer", 1) == "dairy heifer"
    assert animals_words("urea") == "urea"
