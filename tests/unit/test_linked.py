"""Texts that know what their numbers stand for: through sentences, lists and joins, and found by value."""

from __future__ import annotations

import pickle
from dataclasses import dataclass
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from browseline.chain.matched import Level, linked_in, matched
from browseline.figures import Figure, entered
from browseline.words import Link, Linked, begun, joined, linked, links_of, list_words, say

TEN = Figure("height", 25.4, "cm", 22.86, 27.94, formula="x")
KEPT = Figure("share", 0.25, "1", formula="x")
TIMES = Figure("times", 4.0, "1", formula="x")
STAY = Figure("stay", 4.0, "d", formula="x", parts=(TEN,))


def told(text: str) -> list[tuple[str, object]]:
    return [(text[link.start : link.end], link.to) for link in links_of(text)]


def test_a_sentence_keeps_the_links_of_its_fields() -> None:
    words = say("pages.walk.read", paddock="Gate 5", was=linked("9 in", 1), now=linked("10 in", 2), days="3")
    assert words == "Gate 5: 10 in now; 9 in read 3 d ago."
    assert told(words) == [("10 in", 2), ("9 in", 1)]
    assert links_of(say("pages.walk.never", paddock="Gate 5")) == ()


def test_one_and_many_are_chosen_by_a_linked_count() -> None:
    one, many = (
        say("account.period.span", first="a", last="b", count=linked(text, 7)) for text in ("1", "25")
    )
    assert (one, many) == ("a to b: 1 stay.", "a to b: 25 stays.")
    assert told(many) == [("25", 7)]


def test_lists_and_joins_keep_links() -> None:
    words = list_words([linked("4", "a"), "5", linked("6", "c")])
    assert words == "4, 5 and 6"
    assert told(words) == [("4", "a"), ("6", "c")]
    assert type(joined(("a", "b"), " ")) is str
    assert list_words([linked("4", "a")]).links == (Link(0, 1, "a"),)  # type: ignore[attr-defined]


@given(st.lists(st.tuples(st.text(max_size=4), st.booleans()), max_size=6), st.text(max_size=2))
def test_a_join_reads_as_python_joins_it_and_links_what_was_linked(
    parts: list[tuple[str, bool]], by: str
) -> None:
    made = joined((linked(text, n) if yes else text for n, (text, yes) in enumerate(parts)), by)
    assert made == by.join(text for text, _ in parts)
    assert told(made) == [(text, n) for n, (text, yes) in enumerate(parts) if yes]


def test_a_linked_text_goes_through_a_pickle() -> None:
    text: Linked = pickle.loads(pickle.dumps(linked("4 in", 3)))
    assert told(text) == [("4 in", 3)]


# ---------------------------------------------------------------- found by value


def test_words_that_begin_a_sentence_keep_their_links() -> None:
    words = begun(joined(("the yard, ", linked("4 d", 3))))
    assert words == "The yard, 4 d"
    assert told(words) == [("4 d", 3)]
    assert type(begun("oak")) is str
    assert begun("") == ""


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("It stands at 10 in.", [("10 in", TEN)]),
        ("It stands at 9-11 in.", [("9-11 in", TEN)]),
        ("9 in at the least", [("9 in", TEN)]),
        ("A quarter is 25 %.", [("25 %", KEPT)]),
        ("4 days in is the longest stay", [("4 days", STAY)]),
        ("12 in is something else", []),
        ("until Mon 10:00, 10 Jun", []),
        ("4 times, the longest from 4 Jul on", [("4", TIMES)]),
        ("in P10, by 2026-04-10", []),
    ],
)
def test_a_number_is_found_by_its_value_and_unit(text: str, found: list[tuple[str, Figure]]) -> None:
    assert told(matched(text, (Level.make((KEPT, STAY, TIMES)),))) == found


def test_what_is_linked_already_stays_as_it_is() -> None:
    assert told(matched(linked("10 in", "typed"), (Level.make((TEN,)),))) == [("10 in", "typed")]


def test_a_number_of_a_command_that_is_to_be_typed_is_no_figure() -> None:
    text = 'Of 10 in, type such as `browseline walk Top "10 in"`.'
    assert told(matched(text, (Level.make((TEN,)),))) == [("10 in", TEN)]
    assert links_of(matched(text, (Level.make((TEN,)),)))[0].start == 3


@dataclass(frozen=True)
class Inner:
    id: str
    because: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Outer:
    words: str
    inner: tuple[Inner, ...]


def test_a_record_s_own_figures_come_before_those_around_it() -> None:
    near, far = (Figure(name, 4.0, "d", formula="x") for name in ("near", "far"))
    made = linked_in(
        Outer("4 d or 4 in", (Inner("4 d", "4 d", (near,)), Inner("b", "4 d", (far,)), Inner("c", "4 d", ())))
    )
    assert [told(one.because) for one in made.inner] == [[("4 d", near)], [("4 d", far)], [("4 d", near)]]
    assert links_of(made.inner[0].id) == ()
    assert told(made.words) == [("4 d", near)]


def test_a_record_without_numbers_is_the_same_object() -> None:
    plain = Outer("no number", (Inner("a", "none", ()),))
    assert linked_in(plain) is plain


# ---------------------------------------------------------------- entries


def test_entries_add_up_with_who_and_the_newest_day() -> None:
    first, second = date(2026, 5, 1), date(2026, 5, 3)
    made = entered("fed", "bales", [(2.0, "2", first, "ann"), (1.0, "1", second, "bo")], about="barn")
    assert (made.value, made.formula, made.as_of, made.typed) == (3.0, "2 + 1", second, "")
    assert [origin.who for origin in made.origins] == ["ann", "bo"]
    alone = entered("fed", "bales", [(2.0, "2 bales", first, "ann")])
    assert (alone.typed, alone.formula) == ("2 bales", "")
    many = entered("fed", "bales", [(1.0, "1", first, "ann")] * 15)
    assert many.formula.endswith("… (15)")
    none = entered("fed", "bales", [])
    assert (none.value, none.formula, none.mark) == (0.0, "0", "M")
