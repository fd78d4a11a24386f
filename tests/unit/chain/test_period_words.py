"""A stay of the record in words: days as people say them, the year only where it is needed, gaps once."""

from __future__ import annotations

from datetime import date, datetime

import pytest

from browseline.chain.period_words import moved_words, stay_words

YEAR = (date(2026, 1, 1), date(2027, 1, 1))


@pytest.mark.parametrize(
    ("start", "end", "told"),
    [
        ("2026-04-24T08:05", "2026-04-24T08:05", "24 Apr 8:05"),
        ("2025-11-02T08:00", "2025-11-02T08:00", "2 Nov 2025 8:00"),
        ("2026-04-24T07:00", "2026-04-24T09:00", "24 Apr between 7:00 and 9:00"),
        ("2026-04-24T00:00", "2026-04-25T00:00", "24 Apr"),
        ("2026-04-24T00:00", "2026-04-27T00:00", "between 24 Apr and 26 Apr"),
        ("2026-04-23T18:00", "2026-04-24T06:00", "between 23 Apr 18:00 and 24 Apr 6:00"),
    ],
)
def test_when_a_mob_moved_is_said_as_people_say_it(start: str, end: str, told: str) -> None:
    assert moved_words(datetime.fromisoformat(start), datetime.fromisoformat(end), *YEAR) == told


def test_over_two_years_each_day_has_its_year() -> None:
    at = datetime.fromisoformat("2026-04-24T08:00")
    assert moved_words(at, at, date(2025, 1, 1), date(2027, 1, 1)) == "24 Apr 2026 8:00"


@pytest.mark.parametrize(
    ("heights", "here", "told"),
    [
        (("9 in", "4 in"), False, "Grass 9 in when they came, 4 in when they left."),
        (("9 in", None), False, "Grass 9 in when they came; when they left not recorded."),
        ((None, "4 in"), False, "Grass 4 in when they left; when they came not recorded."),
        ((None, None), False, "No height of the grass recorded."),
        (("9 in", None), True, "Grass 9 in when they came."),
        ((None, None), True, "No height of the grass recorded when they came."),
    ],
)
def test_a_height_nobody_read_is_told_once(
    heights: tuple[str | None, str | None], here: bool, told: str
) -> None:
    went = None if here else "28 Apr 8:00"
    said = list(stay_words("24 Apr 8:00", went, "9 dry ewes", heights, "", here=here))
    assert said == [f"In 24 Apr 8:00, {'still there' if here else 'out 28 Apr 8:00'}: 9 dry ewes.", told]
