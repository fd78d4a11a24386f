"""Animals are called by their number; what somebody typed in other words stays."""

from __future__ import annotations

import pytest

from browseline.farm import names
from browseline.farm.herd_words import NOUNS, class_words, noun_of, noun_words


@pytest.mark.parametrize(
    ("klass", "one", "many"),
    [
        ("dairy heifer", "dairy heifer", "dairy heifers"),
        ("ewe lactating twins", "ewe lactating twins", "ewes lactating twins"),
        ("beef steer growing", "beef steer growing", "beef steers growing"),
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
        for kind in ("cattle", "sheep", "goat", "pig", "chicken", "turkey")
        for klass in names.words("class", kind)
        if class_words(klass, 2) == klass
    }
    assert without == set()
