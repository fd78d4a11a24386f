"""How papers name animals, places and days, and what never stands on a paper for relief."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from browseline.chain.blanked import BLANK as BLANK
from browseline.chain.blanked import guarded as guarded
from browseline.chain.look import Picture
from browseline.chain.parts import place_of
from browseline.farm.herd_words import NOUNS, class_words, noun_of, noun_words
from browseline.farm.names import written
from browseline.farm.needs import Beasts
from browseline.limits import Scene
from browseline.words import day_words, list_words, say

SHORT_ID = 3
LEAST_NAME = 8
"""Signs kept of each place in a list of them. [1]"""


def products(picture: Picture) -> tuple[str, ...]:
    """Return the products that animals were treated with: names that relief never sees."""
    return tuple(w.product for w in picture.state.withdrawals)


def noun(klass: str) -> str:
    """Return the animal that a class is, or the class as somebody typed it."""
    words = (*klass.split(), *class_words(klass, 1).split())
    return next((found for found in map(noun_of, words) if found), klass)


def beasts_words(lines: Iterable[Beasts]) -> str:
    """Return animals as somebody at the gate counts them: 59 ewes + 94 lambs."""
    heads: dict[str, int] = {}
    for line in lines:
        if line.head:
            heads[noun(line.klass)] = heads.get(noun(line.klass), 0) + line.head
    return " + ".join(_counted(name, head) for name, head in heads.items())


def _counted(name: str, head: int) -> str:
    return say("papers.beast", head=head, name=noun_words(name, head) if name in NOUNS else guarded(name))


def place_words(scene: Scene, ident: str | None) -> str:
    """Return a paddock as the map and the gate call it: its short id and its name."""
    found = place_of(scene.farm, ident)
    if found is None:
        return say(f"papers.place.{ident}") if ident in PLACES else ident or say("papers.place.nowhere")
    if found.name == found.id or len(found.id) > SHORT_ID:
        return found.name
    return f"{found.id} {found.name}"


PLACES = ("yard", "pen", "away")


def mob_name(scene: Scene, ident: str) -> str:
    """Return what people call a mob."""
    found = scene.state.mob(ident)
    return found.name if found is not None else written(ident)


def clock_words(local: datetime) -> str:
    """Return a time of day: 8:00."""
    return say("papers.time", hour=local.hour, minute=f"{local.minute:02d}")


def day_of_week(day: date) -> str:
    """Return the weekday alone: Sat."""
    return say(f"dates.weekday.{day.isoweekday()}")


def span_words(first: date, last: date) -> str:
    """Return a stretch of days: Fri 8 May to Mon 11 May 2026."""
    return say(
        "papers.span",
        first=say("dates.weekday", weekday=day_of_week(first), day=day_words(first)),
        last=say("dates.weekday", weekday=day_of_week(last), day=day_words(last)),
        year=last.year,
    )


def phone_of(picture: Picture, role: str) -> tuple[str, str]:
    """Return name and telephone of the first contact of a role; empty where nobody typed one."""
    for contact in picture.farm.contacts:
        if role in re.findall(r"\w+", contact.role.casefold()):
            return contact.name, contact.phone
    return "", ""


def clipped(text: str, most: int, more: str) -> str:
    """Return a text of at most so many signs; what is cut ends in ``more`` at a word's end."""
    if len(text) <= most:
        return text
    room = max(most - len(more) - 1, 1)
    cut = text[:room]
    at = cut.rfind(" ")
    return f"{(cut[:at] if at > room // 2 else cut).rstrip(' ,;.')} {more}"


def brief(place: str, most: int, more: str) -> str:
    """Return the name of a place in at most so many signs: its short id alone, if it has one."""
    short = place.partition(" ")[0]
    return short if len(place) > most and len(short) <= SHORT_ID else clipped(place, most, more)


def shortest(place: str, more: str) -> str:
    """Return a place by its short id alone, if it has one; else its name in a few signs."""
    short = place.partition(" ")[0]
    return short if len(short) <= SHORT_ID else clipped(place, LEAST_NAME, more)


def briefs(places: Sequence[str], most: int, more: str) -> str:
    """Return a list of places in about so many signs; each is made shorter, none is ever left out."""
    whole = list_words(places)
    if len(whole) <= most:
        return whole
    room = max(most // max(len(places), 1), LEAST_NAME)
    return list_words(brief(place, room, more) for place in places)


def first_of(items: Sequence[str], most: int, more: str) -> list[str]:
    """Return the first so many of some lines; if any are left off, a last line says how many."""
    if len(items) <= most:
        return list(items)
    return [*items[: most - 1], say("papers.more_lines", count=len(items) - most + 1, more=more)]
