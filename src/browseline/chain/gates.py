"""Gates: what is shut now, by whom and until when, and what the calendar will shut."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from browseline.chain.look import Picture
from browseline.chain.named import paddock_name
from browseline.chain.plant_dangers import plant_shuts
from browseline.figures import Figure, Origin, typed
from browseline.limits import Scene
from browseline.limits.harvest import ShutDate, shut_dates
from browseline.limits.hay import Lying, lying
from browseline.limits.shut import until_words
from browseline.record.state import ShutState
from browseline.words import day_words, linked, list_words, say

RULE_AHEAD_D = 45


@dataclass(frozen=True, slots=True)
class ShutPart:
    """One shut paddock: why, until when, and for how long it has been shut by whom; None for a plant or hay.

    ``id`` is that of the paddock, by which it is opened; empty for a plant's, where a look at ``plant``, the
    paddock with it, opens.
    """

    paddock: str
    because: str
    until: str
    days: Figure | None = None
    who: str = ""
    id: str = ""
    plant: str = ""


def shut_parts(picture: Picture) -> tuple[ShutPart, ...]:
    """Return what is shut now: by somebody, then by hay that lies, then by a poisonous plant."""
    said = [_shut(picture, shut) for shut in picture.state.shut]
    hay = [_hay(picture, one) for one in lying(picture.scene)]
    found = plant_shuts(picture)
    plants = (ShutPart(name, because, until, plant=place) for place, name, because, until in found)
    return (*said, *hay, *plants)


def _hay(picture: Picture, hay: Lying) -> ShutPart:
    """Return ground on which hay lies: whoever opens it says that the hay is off."""
    because = say("chain.today.hay_lies", day=day_words(hay.day))
    until = say("limits.shut.until_day", day=linked(day_words(hay.off), hay.days))
    return ShutPart(paddock_name(picture, hay.place), because, until, id=hay.place)


def _shut(picture: Picture, shut: ShutState) -> ShutPart:
    """Return what somebody shut: numbers in their words are theirs."""
    name, since = paddock_name(picture, shut.paddock), picture.scene.local(shut.since.end).date()
    by = Origin("farm", who=shut.who)
    days = Figure(
        "shut_days", (picture.today - since).days, "d", origins=(by,), as_of=since, about=name,
        formula=f"{picture.today.isoformat()} − {since.isoformat()}",
    )  # fmt: skip
    because, until = linked(shut.because, by), linked(until_words(shut), by)
    return ShutPart(name, because, until, days, shut.who, shut.paddock)


def days_to(picture: Picture, shut: ShutDate) -> int:
    """Return the days to a last grazing. [d]"""
    return (shut.last_grazing - picture.today).days


def shut_rules(picture: Picture) -> list[str]:
    """Return the shut dates of the coming weeks, one sentence a date."""
    by_day: dict[tuple[date, float], list[ShutDate]] = {}
    for shut in shut_dates(picture.scene):
        if 0 <= days_to(picture, shut) <= RULE_AHEAD_D:
            key = (shut.last_grazing, shut.interval.value or 0.0)
            by_day.setdefault(key, []).append(shut)
    return [_rule_words(picture, by_day[key]) for key in sorted(by_day)]


def _rule_words(picture: Picture, shuts: list[ShutDate]) -> str:
    names = dict.fromkeys(paddock_name(picture, shut.planting.paddock) for shut in shuts)
    left, interval = left_to(picture.scene, shuts[0]), shuts[0].interval
    return say(
        "chain.today.rule", paddocks=list_words(names), day=linked(day_words(shuts[0].last_grazing), left),
        days=linked(f"{interval.value:.0f}", interval),
    )  # fmt: skip


def left_to(scene: Scene, shut: ShutDate) -> Figure:
    """Return the days left to a last grazing; below 0 it is past. [d]"""
    today, planting = scene.days[0], shut.planting
    drop = typed(
        "days_to_drop", (shut.first_drop - today).days, "d", shut.first_drop.isoformat(), about=planting.id
    )
    left = (shut.last_grazing - today).days
    formula = f"{drop.value:.0f} d − {shut.interval.value:.0f} d"
    parts = (drop, shut.interval)
    return Figure("days_to_last_grazing", left, "d", formula=formula, parts=parts, about=planting.id)
