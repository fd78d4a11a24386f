"""Where a hard limit bites on days on which nobody can move animals, Today tells the last chance before."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from browseline.chain import Picture, today
from browseline.chain.today_words import in_order
from browseline.farm.records import Promise, Rules
from browseline.papers import relief
from tests.small_farm import farm, look, state

AWAY = Promise("a", "away", "Away", date(2026, 5, 7), date(2026, 5, 11))


def spray(day: int, *, hard: bool = True) -> Promise:
    """Return a promise that shuts the ewes' paddock from a day of May on."""
    return Promise("s", "shut", "Spray", date(2026, 5, day), date(2026, 5, 31), ("1",), hard=hard)


def seen(*promises: Promise, rules: Rules | None = None) -> Picture:
    """Return a farm on Wednesday 6 May 2026, 7:00."""
    told = farm(promises=promises, rules=rules)
    return look(told, state(told))


def line_of(picture: Picture) -> tuple[str, str]:
    """Return when the promise bites the ewes, in words, and what is said of it."""
    (mob,) = today(picture).mobs
    (line,) = [line for line in mob.lines if line.limit == "promise"]
    return line.when, line.short


@pytest.mark.parametrize(
    ("day", "when"), [(9, "by Sat 0:00 (last chance today)"), (11, "by Mon 0:00 (last chance today)")]
)
def test_the_last_chance_is_before_the_days_away(day: int, when: str) -> None:
    """The second bites at midnight after the last day away: by then too they must be out."""
    assert line_of(seen(spray(day), AWAY)) == (when, "Spray; nobody can move animals 7 May to 10 May")


@pytest.mark.parametrize("promises", [(spray(7), AWAY), (spray(12), AWAY), (spray(9, hard=False), AWAY)])
def test_a_moment_that_leaves_a_day_for_it_and_a_soft_one_stand_as_they_are(
    promises: tuple[Promise, ...],
) -> None:
    when, short = line_of(seen(*promises))
    assert "chance" not in when
    assert short == "Spray"


def test_once_nobody_can_move_animals_no_chance_is_left() -> None:
    gone = replace(AWAY, from_day=date(2026, 5, 6))
    when, short = line_of(seen(spray(9), gone))
    assert when == "by Sat 0:00 (no chance before)"
    assert short == "Spray; nobody can move animals 6 May to 10 May"


def test_a_weekday_without_moves_asks_for_the_day_before() -> None:
    when, short = line_of(seen(spray(11), rules=Rules(no_move_weekdays=(7,))))
    assert when == "by Mon 0:00 (last chance Sat 9 May)"
    assert short == "Spray; nobody can move animals on 10 May"


def test_the_last_chance_comes_first_and_ends_the_quiet() -> None:
    picture = seen(spray(11), AWAY)
    page = today(picture)
    assert page.mobs[0].lines[0].limit == "promise"
    assert page.quiet == ""
    ((_, line),) = in_order(page)
    assert line.leave_by == picture.scene.midnight(date(2026, 5, 7))
    (move,) = relief(picture).moves
    assert (move.day, move.time) == ("Thu 7 May", "by 0:00")
