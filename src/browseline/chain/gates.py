"""Gates: what is shut now, by whom and until when, and what the calendar will shut."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from browseline.chain.look import Picture
from browseline.chain.named import paddock_name
from browseline.chain.plant_dangers import plant_shuts
from browseline.limits.harvest import ShutDate, shut_dates
from browseline.limits.shut import until_words
from browseline.words import day_words, list_words, say

RULE_AHEAD_D = 45


@dataclass(frozen=True, slots=True)
class ShutPart:
    """One shut paddock."""

    paddock: str
    because: str
    until: str


def shut_parts(picture: Picture) -> tuple[ShutPart, ...]:
    """Return what is shut now: by somebody, then by a poisonous plant."""
    said = [ShutPart(paddock_name(picture, s.paddock), s.because, until_words(s)) for s in picture.state.shut]
    return (*said, *(ShutPart(*words) for words in plant_shuts(picture)))


def days_to(picture: Picture, shut: ShutDate) -> int:
    """Return the days to a last grazing. [d]"""
    return (shut.last_grazing - picture.today).days


def shut_rules(picture: Picture) -> list[str]:
    """Return the shut dates of the coming weeks, one sentence a date."""
    by_day: dict[tuple[date, float], list[str]] = {}
    for shut in shut_dates(picture.scene):
        if 0 <= days_to(picture, shut) <= RULE_AHEAD_D:
            key = (shut.last_grazing, shut.interval.value or 0.0)
            by_day.setdefault(key, []).append(paddock_name(picture, shut.planting.paddock))
    return [
        say(
            "chain.today.rule",
            paddocks=list_words(dict.fromkeys(names)),
            day=day_words(day),
            days=f"{days:.0f}",
        )
        for (day, days), names in sorted(by_day.items())
    ]
