"""What the record asks, disputes and warns of, in words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from zoneinfo import ZoneInfo

from browseline.events import When
from browseline.farm.herd_words import animals_words
from browseline.record.history import Clash
from browseline.record.state import Alarm, Disagreement, Question
from browseline.words import day_words, known, say

ROOMS: dict[type, str] = {Question: "question", Disagreement: "disagreement", Alarm: "alarm"}
LONGEST = 60
"""So much of a changed part is told; the file and the record hold the whole."""


def tell(item: Question | Disagreement | Alarm | Clash, time_zone: str) -> str:
    """Return the sentence of a question, disagreement, alarm or clash.

    Parameters
    ----------
    time_zone : str
        The farm's IANA zone: instants are told on its clock.
    """
    if isinstance(item, Clash):
        return _clash(item)
    facts = {name: _fact(name, fact, ZoneInfo(time_zone)) for name, fact in item.facts}
    facts |= _animals(dict(item.facts))
    return say(f"record.{ROOMS[type(item)]}.{item.code}", subject=item.subject, **facts)


def _animals(facts: Mapping[str, str]) -> dict[str, str]:
    """Return the class that is asked about as so many of it are called, without its kind before it."""
    said = facts.get("animals", "")
    if not said:
        return {}
    head = next((facts[name] for name in ("counted", "asked", "head") if facts.get(name, "").isdigit()), "2")
    return {"animals": animals_words(said, int(head))}


def when_words(when: When, time_zone: str, year: int | None = None) -> str:
    """Return an instant or interval on the farm's clock: 3 May 06:30; between 2 May 21:00 and …

    With the ``year`` in which it is read, a day of any other year bears its own: 20 Jun 2025 23:59. An
    interval whose ends read alike lies in the hour that the clock shows twice in a year.
    """
    zone = ZoneInfo(time_zone)
    start, end = (_instant(instant, zone, year) for instant in (when.start, when.end))
    if when.exact:
        return start
    return say("record.twice", instant=start) if start == end else say("record.between", start=start, end=end)


def _instant(instant: datetime, zone: ZoneInfo, year: int | None) -> str:
    local = instant.astimezone(zone)
    words = day_words(local.date())
    day = words if year in (None, local.year) else say("why.day", day=words, year=local.year)
    return say("record.instant", day=day, time=f"{local.hour:02d}:{local.minute:02d}")


def _fact(name: str, fact: str, zone: ZoneInfo) -> str:
    if name.endswith("_at"):
        return when_words(When.read(fact), zone.key)
    if name == "kind":
        return say(f"record.kind.{fact}") if known(f"record.kind.{fact}") else fact
    if name == "animals" and not fact:
        return say("record.animals")
    return fact


def _clash(clash: Clash) -> str:
    if not clash.block and not clash.key:
        part = "whole"
    elif clash.standing is None or clash.other is None:
        part = "removed"
    else:
        part = "changed"
    return say(
        f"record.clash.{part}", file=clash.name, block=clash.block.replace(":", " ") or clash.key,
        standing=_line(clash.key, clash.standing), by=clash.standing_by or "?",
        other=_line(clash.key, clash.other), other_by=clash.other_by or "?",
    )  # fmt: skip


def _line(key: str, text: str | None) -> str:
    """Return what stands in a part, without the comments and blank lines above it, cut to a line."""
    lines = [line.strip() for line in (text or "").splitlines()]
    held = " ".join(line for line in lines if line and not line.startswith("#"))
    if key and not held.startswith(("[", key)):
        held = f"{key} = {held}"
    return held if len(held) <= LONGEST else f"{held[: LONGEST - 1]}…"
