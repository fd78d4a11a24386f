"""A figure takes the weakest mark and the oldest measurement of all that it was made from."""

from __future__ import annotations

from datetime import date

import pytest

from browseline import tables
from browseline.figures import Figure, Mark, Origin, typed, weakest

TODAY = date(2026, 6, 10)


def measured(day: date | None = None) -> Figure:
    return typed("height", 20.3, "cm", "8 in", as_of=day)


@pytest.mark.parametrize(
    ("bases", "mark"),
    [
        (("farm",), "M"),
        (("farm", "published-read"), "B"),
        (("published-copy", "derived", "conflict"), "B"),
        (("farm", "common-practice"), "G"),
        (("published-read", "from-memory"), "G"),
        (("placeholder",), "G"),
        ((), "G"),
    ],
)
def test_the_weakest_mark_counts(bases: tuple[str, ...], mark: Mark) -> None:
    parts = tuple(Figure("part", 1.0, "1", origins=(Origin("x", basis=b),)) for b in bases)  # type: ignore[arg-type]
    assert Figure("whole", 1.0, "1", parts=parts).mark == mark
    assert weakest(part.mark for part in parts) == mark


def test_the_oldest_measurement_counts_wherever_it_stands() -> None:
    old, new = measured(date(2026, 5, 1)), measured(date(2026, 6, 9))
    whole = Figure("days", 8.75, "d", parts=(new, Figure("above", 1.0, "kg", parts=(old,))))
    assert whole.age_d(TODAY) == 40
    assert new.age_d(TODAY) == 1
    assert tables.row("worms", "worm_stay", "sheep;goat").figure("worm_stay").age_d(TODAY) is None


def test_a_number_that_is_not_known_is_never_nought() -> None:
    assert Figure("intake", None, "kg/d").value is None
