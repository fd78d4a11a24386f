# ruff: noqa: E501 - events stand in full view, one a row
from __future__ import annotations

from itertools import permutations

import pytest

from browseline.record.clock import clock_questions
from browseline.record.corrections import resolve
from browseline.record.fold import fold
from browseline.record.history import Clash
from browseline.record.told import tell
from tests.unit.record_events import at, events, quern_bank

HEAD = "id;device;observed;recorded;kind;subject;supersedes;value\n"
LATE = at("2026-12-31T12:00:00+00:00")
ZONE = "America/New_York"

MOVE = 'a;A;2026-05-03T08:00-04:00;2026-05-03T08:01-04:00;moved;ewes;;{"to": "8"}\n'
TO_9 = 'b;A;2026-05-03T08:30-04:00;2026-05-03T20:00-04:00;moved;ewes;a;{"to": "9"}\n'
TO_10 = 'c;B;2026-05-03T08:30-04:00;2026-05-04T20:00-04:00;moved;ewes;a;{"to": "10"}\n'
SAME_9 = 'd;B;2026-05-03T08:30-04:00;2026-05-04T20:00-04:00;moved;ewes;a;{"to": "9"}\n'
UNDO_A = "e;A;2026-05-05T08:00-04:00;2026-05-05T08:00-04:00;undone;ewes;a;{}\n"
UNDO_B = "f;A;2026-05-05T09:00-04:00;2026-05-05T09:00-04:00;undone;ewes;b;{}\n"
UNDO_E = "g;A;2026-05-05T10:00-04:00;2026-05-05T10:00-04:00;undone;ewes;e;{}\n"
B_TO_1 = 'h;A;2026-05-03T08:30-04:00;2026-05-06T20:00-04:00;moved;ewes;b;{"to": "1"}\n'
E_TO_2 = 'i;A;2026-05-03T08:30-04:00;2026-05-06T20:00-04:00;moved;ewes;e;{"to": "2"}\n'


@pytest.mark.parametrize(
    ("rows", "place", "codes"),
    [
        (MOVE, "8", []),
        (MOVE + TO_9, "9", []),
        (MOVE + TO_9 + TO_10, "10", ["two_corrections"]),
        (MOVE + TO_9 + SAME_9, "9", []),
        (MOVE + UNDO_A, "6", []),
        (MOVE + TO_9 + UNDO_B, "8", []),
        (MOVE + TO_9 + TO_10 + UNDO_B, "10", []),
        (MOVE + UNDO_A + UNDO_E, "8", []),
        (MOVE + TO_9 + B_TO_1, "1", []),
        (MOVE + UNDO_A + E_TO_2, "2", []),
        (MOVE + TO_9 + UNDO_A, "6", ["two_corrections"]),
        (TO_9, "9", []),
        (UNDO_A, "6", []),
    ],
)  # fmt: skip
def test_corrections_and_corrections_of_corrections(rows: str, place: str, codes: list[str]) -> None:
    for order in permutations(events(HEAD + rows)):
        state = fold(quern_bank(), order, LATE)
        assert state.mobs[0].place == place
        assert [d.code for d in state.disagreements] == codes


def test_two_corrections_are_both_named() -> None:
    (dispute,) = resolve(events(HEAD + MOVE + TO_9 + TO_10)).disagreements
    assert (dispute.events, dispute.standing) == (("a", "b", "c"), "c")
    assert tell(dispute, ZONE) == (
        "One entry about ewes was corrected in two ways. The later recorded stands, both are kept; undo the one that is wrong."
    )


def test_an_early_correction_changes_every_later_day() -> None:
    rows = """id;observed;recorded;kind;subject;supersedes;value
        a;2026-05-03T08:00-04:00;2026-05-03T08:00-04:00;died;ewes;;{"head": 10, "klass": "ewe"}
        b;2026-05-20T08:00-04:00;2026-05-20T08:00-04:00;counted;ewes;;{"head": ["155"]}
        c;2026-05-03T08:00-04:00;2026-06-01T08:00-04:00;died;ewes;a;{"head": 1, "klass": "ewe"}"""
    state = fold(quern_bank(), events(rows), LATE)
    assert (state.mobs[0].head, state.questions) == (155, ())


def test_entries_that_correct_each_other_in_a_circle_are_kept_and_listed() -> None:
    rows = events(
        HEAD
        + 'a;A;2026-05-03T08:00-04:00;;moved;ewes;b;{"to": "8"}\n'
        + 'b;A;2026-05-04T08:00-04:00;;moved;ewes;a;{"to": "9"}\n'
        + 'c;A;2026-05-05T08:00-04:00;;moved;ewes;c;{"to": "1"}\n'
        + 'd;A;2026-05-02T08:00-04:00;;moved;ewes;c;{"to": "2"}\n'
    )
    found = resolve(rows)
    assert [event.id for event in found.standing] == ["d", "a", "b", "c"]
    (dispute,) = found.disagreements
    assert (dispute.code, dispute.events) == ("circle", ("a", "b", "c", "d"))
    assert "circle" in tell(dispute, ZONE)


def test_one_id_with_two_contents_is_a_listed_disagreement() -> None:
    other = MOVE.replace('"8"', '"7"').replace("08:01", "08:02").replace("a;A", "a;B")
    for order in permutations(events(HEAD + MOVE + other + MOVE)):
        found = resolve(order)
        assert [event.body.value() for event in found.standing] == [{"to": "7"}]
        assert [(d.code, d.events) for d in found.disagreements] == [("same_id", ("a",))]
    assert "different words" in tell(found.disagreements[0], ZONE)


# ---------------------------------------------------------------- M15: two phones


@pytest.mark.parametrize(
    ("first", "then", "place", "listed"),
    [
        ("A;2026-05-03T08:00-04:00;8", "B;2026-05-03T08:00-04:00;9", "9", True),
        ("A;2026-05-03T08:00-04:00;8", "B;2026-05-03T09:30-04:00;9", "9", True),
        (
            "A;2026-05-03T08:00-04:00;8",
            "B;2026-05-03T08:00-07:00;9",
            "9",
            False,
        ),  # three hours on, by the clock
        ("A;2026-05-03T08:00-04:00;8", "B;2026-05-03T18:00-04:00;9", "9", False),
        ("A;2026-05-03T08:00-04:00;8", "B;2026-05-03T08:20-04:00;8", "8", False),
        ("A;2026-05-03T08:00-04:00;8", "A;2026-05-03T08:20-04:00;9", "9", False),
        ("A;2026-05-03T22:00-04:00;8", "B;2026-05-03T21:00-04:00/2026-05-04T06:30-04:00;9", "9", True),
        ("A;2026-05-03T20:00-04:00;8", "B;2026-05-03T21:00-04:00/2026-05-04T06:30-04:00;9", "9", False),
    ],
)
def test_the_later_sighting_stands_and_both_are_kept(first: str, then: str, place: str, listed: bool) -> None:
    rows = "id;device;observed;kind;subject;value\n"
    for ident, row in (("x", first), ("y", then)):
        device, observed, to = row.split(";")
        rows += f'{ident};{device};{observed};moved;ewes;{{"to": "{to}"}}\n'
    for order in permutations(events(rows)):
        state = fold(quern_bank(), order, LATE)
        assert state.mobs[0].place == place
        assert [(d.code, d.events, d.standing) for d in state.disagreements] == (
            [("two_places", ("x", "y"), "y")] if listed else []
        )


def test_two_places_in_words() -> None:
    rows = events(
        """id;device;observed;kind;subject;value
           x;A;2026-05-03T08:00-04:00;moved;ewes;{"to": "8"}
           y;B;2026-05-03T08:20-04:00;moved;ewes;{"to": "9"}"""
    )
    (dispute,) = fold(quern_bank(), rows, LATE).disagreements
    assert tell(dispute, ZONE) == (
        "ewes was seen in 8 (3 May 08:00, device A) and in 9 (3 May 08:20, device B). The later sighting stands, "
        "both are kept; correct the one that is wrong."
    )


@pytest.mark.parametrize(
    ("clash", "words"),
    [
        (
            Clash(
                "farm.toml", "paddock:1", "area", '# measured\narea = "3.2 ac"\n', "B", 'area = "3 ac"\n', "A"
            ),
            'farm.toml, paddock 1: device B has area = "3.2 ac" and device A has area = "3 ac". The later one',
        ),
        (
            Clash("map.geojson", "feature:1", "geometry", "9" * 80, "B", "[1]", "A"),
            f"map.geojson, feature 1: device B has geometry = {'9' * 48}… and device A has [1]. The later one",
        ),
        (
            Clash("farm.toml", "", "seed", "seed = 2\n", "B", "seed = 1\n", "A"),
            "farm.toml, seed: device B has seed = 2 ",
        ),
        (Clash("map.geojson", "feature:9", "", "[]", "B", None, "A"), "map.geojson, feature 9: taken away"),
        (Clash("farm.toml", "", "", "aa", "", "bb", ""), "farm.toml was changed on devices ? and ?"),
    ],
)
def test_clashes_in_words(clash: Clash, words: str) -> None:
    assert tell(clash, ZONE).startswith(words)


# ---------------------------------------------------------------- clocks that are off


def test_a_clock_that_is_off_is_asked_about() -> None:
    rows = events(
        """id;device;observed;recorded;kind;subject;supersedes;value
           a;A;2026-05-03T08:00-04:00;2026-05-03T08:00-04:00;moved;ewes;;{"to": "8"}
           b;FAST;2026-05-05T08:00-04:00;2026-05-05T08:00-04:00;moved;ewes;;{"to": "9"}
           c;FAST;2026-05-05T06:00-04:00;2026-05-05T06:00-04:00;moved;ewes;;{"to": "9"}
           d;SLOW;2026-05-01T08:00-04:00;2026-05-01T08:00-04:00;moved;ewes;a;{"to": "7"}
           e;SLOW;2026-05-02T08:00-04:00;2026-05-02T08:00-04:00;moved;ewes;gone;{"to": "7"}"""
    )
    found = clock_questions(rows, at("2026-05-03T09:00-04:00"))
    assert [(q.code, q.subject, q.event, dict(q.facts)["hours"], dict(q.facts)["way"]) for q in found] == [
        ("clock", "FAST", "b", "47", "ahead"),
        ("clock", "SLOW", "d", "48", "behind"),
    ]
    assert tell(found[0], ZONE) == (
        "The clock of device FAST differs from this one by about 47 hours. Was it wrong, and since when?"
    )


def test_a_clock_that_can_be_asked_is_compared() -> None:
    now = at("2026-05-03T09:00-04:00")
    (found,) = clock_questions([], now, "B", at("2026-05-01T09:00-04:00"))
    assert (found.subject, dict(found.facts)["way"], found.event) == ("B", "behind", "")
    assert clock_questions([], now, "B", at("2026-05-03T10:00-04:00")) == ()
