"""The last chance to move a mob before a hard limit bites on a day on which nobody can move animals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from browseline.chain.barred import no_hands
from browseline.limits import Bite, Scene, bites
from browseline.words import day_words, say, weekday_words

DAY = timedelta(days=1)
INSTANT = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class LastChance:
    """The last day to move before a stretch on which nobody can, which holds a limit's moment.

    ``day`` is None where that stretch has begun: no chance is left. ``first`` and ``last`` are the days of
    the stretch that lie ahead, both among them; ``leave_by`` is the instant at which the last chance ends.
    """

    day: date | None
    first: date
    last: date
    leave_by: datetime

    def words(self, today: date) -> tuple[str, str]:
        """Return the last chance in a few words, such as ``last chance today``, and why it is."""
        if self.day is None:
            chance = say("chain.chance.gone")
        elif self.day == today:
            chance = say("chain.chance.today")
        else:
            chance = say("chain.chance.day", day=weekday_words(self.day))
        if self.first == self.last:
            return chance, say("chain.chance.one_day", day=day_words(self.first))
        return chance, say("chain.chance.days", first=day_words(self.first), last=day_words(self.last))


def last_chance(scene: Scene, bite: Bite) -> LastChance | None:
    """Return the last chance to be out before a hard limit bites; None where its own moment is that.

    A limit that bites at midnight asks for a move on the day before. What bites by now has no chance to lose.
    """
    if bite.moment is None or bite.hardness != "hard" or bite.moment.likely <= scene.now:
        return None
    still = no_hands(scene)
    day = (scene.local(bite.moment.likely - INSTANT).date() - scene.days[0]).days
    if not (0 <= day < len(still) and still[day]):
        return None
    first = last = day
    while first > 0 and still[first - 1]:
        first -= 1
    while last + 1 < len(still) and still[last + 1]:
        last += 1
    leave_by = scene.midnight(scene.days[first]) if first else scene.now
    return LastChance(scene.days[first - 1] if first else None, scene.days[first], scene.days[last], leave_by)


def stretches(scene: Scene) -> tuple[tuple[datetime, datetime], ...]:
    """Return begin and end of each stretch of days of the plan on which nobody can move animals."""
    edges = np.flatnonzero(np.diff(no_hands(scene), prepend=False, append=False)).tolist()
    days = [*scene.days, scene.days[-1] + DAY]
    ends = [scene.midnight(days[edge]) for edge in edges]
    return tuple(zip(ends[::2], ends[1::2], strict=True))


def bites_by_chance(scene: Scene, mob: str, paddock: str) -> list[Bite]:
    """Return what bites a mob in a paddock, first things first: by the last chance where there is one.

    What is never broken and bites by now comes before a softer limit that has passed longer ago.
    """

    def due(bite: Bite) -> tuple[bool, float]:
        at = leave_by(scene, bite)
        now = bite.hardness == "hard" and at is not None and at <= scene.now
        return not now, at.timestamp() if at is not None else float("inf")

    return sorted(bites(scene, mob, paddock), key=due)


def leave_by(scene: Scene, bite: Bite) -> datetime | None:
    """Return until when a mob can leave before a limit bites; None for a limit without a date."""
    chance = last_chance(scene, bite)
    if chance is not None:
        return chance.leave_by
    return bite.moment.likely if bite.moment is not None else None
