"""What is told after an entry: the line that was kept, cautions, alarms, limits that changed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Protocol

from browseline.chain.answers import answer_to
from browseline.chain.desk.cautions import called_for, caution_words
from browseline.chain.desk.desk import Desk
from browseline.chain.desk.lookup import Names
from browseline.chain.look import MEMBERS, Picture, picture
from browseline.chain.plant_dangers import kept_shut
from browseline.chain.today import Line, first_limits
from browseline.events import Event, Opened, Unknown
from browseline.farm.herd_words import class_words
from browseline.farm.names import written
from browseline.farm.records import Farm
from browseline.limits.hay import lying
from browseline.record.fold import fold
from browseline.record.heads import read_head
from browseline.record.told import tell, when_words
from browseline.words import day_words, known, say

SHORT_ID = 8
PLAIN = frozenset({
    "height", "to", "amount", "depth", "text", "head", "klass", "time", "growth", "animal", "product",
    "density", "at", "purpose", "what", "weight",
})  # fmt: skip
"""Values that need no name before them."""
ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d$")
UNSAID = frozenset({("issued", "context"), ("issued", "tables"), ("issued", "program"), ("issued", "file")})
"""What a machine needs to print a paper again: no words for people."""


def seen(at: Desk, events: Iterable[Event]) -> Picture:
    """Return the whole chain's picture of the farm with these events."""
    held = tuple(events)
    state = fold(at.farm, held, at.now)
    return picture(at.folder, at.farm, held, state, at.now, MEMBERS)


@dataclass(frozen=True, slots=True)
class Told:
    """What is told after entries were kept: each part in the order in which it is read.

    Parameters
    ----------
    kept : str
        The line of the entry; empty where several came together.
    cautions, answers, alarms, asked : tuple of str
        What its task can do to people and stock, what it calls for, what is wrong now, what is asked now.
    changes : tuple of str
        Each mob's first limit, where it is another now.
    event : str
        The id of the entry; empty where several came together.
    """

    kept: str
    cautions: tuple[str, ...]
    answers: tuple[str, ...]
    alarms: tuple[str, ...]
    asked: tuple[str, ...]
    changes: tuple[str, ...]
    event: str = ""


def told_of(at: Desk, event: Event, before: Picture, after: Picture | None = None) -> Told:
    """Return what is told after one entry was kept."""
    found = told(called_for((event,)), at, (event,), before, after, kept_words(at, event))
    return replace(found, event=event.id)


def told(
    cautions: Iterable[str],
    at: Desk,
    events: Iterable[Event],
    before: Picture,
    after: Picture | None = None,
    kept: str = "",
) -> Told:
    """Return cautions, answers to entries, new alarms and questions, and the first limits that changed.

    ``after`` is the farm with the entries in it; by default it is looked at anew.
    """
    after = after or seen(at, at.record.events())
    held = tuple(events)
    answers = (
        *(sentence for event in held for sentence in answer_to(event, after)), *_was_open(at, held, before),
    )  # fmt: skip
    zone = at.farm.time_zone
    alarms = tuple(tell(alarm, zone) for alarm in after.state.alarms if alarm not in before.state.alarms)
    old = {*before.state.questions, *before.state.disagreements}
    asked = [tell(q, zone) for q in after.state.questions if q not in old]
    asked += [tell(d, zone) for d in after.state.disagreements if d not in old]
    return Told(
        kept, tuple(caution_words(cautions)), answers, alarms,
        tuple(words for words in dict.fromkeys(asked) if words not in answers),
        tuple(_changes(before, after)),
    )  # fmt: skip


def _was_open(at: Desk, events: Iterable[Event], before: Picture) -> Iterator[str]:
    """Yield what was opened though nothing had shut it: a rule that closes it does so still."""
    shut = {one.paddock for one in before.state.shut}
    hay = {place for one in lying(before.scene) for place in (one.place, one.cut.paddock)}
    for event in events:
        plant = kept_shut(before, event.part or event.subject) if isinstance(event.body, Opened) else ""
        if plant:
            yield plant
            continue
        clears = (event.part or event.subject) in hay
        if isinstance(event.body, Opened) and not clears and not {event.subject, event.part} & shut:
            yield say("answer.opened.was_open", paddock=at.names.called(event.subject))


def kept_words(at: Desk, event: Event, *, ident: bool = True) -> str:
    """Return the line of an entry that was kept."""
    return say("cli.planned" if event.planned else "cli.kept", entry=entry_words(at, event, ident=ident))


class Called(Protocol):
    """Whatever knows what the things of a farm are called: a desk, or a page."""

    @property
    def farm(self) -> Farm:
        """Return the farm."""

    @property
    def names(self) -> Names:
        """Return what its things are called."""


def entry_words(at: Called, event: Event, *, ident: bool = True) -> str:
    """Return an entry in one line: kind, about what, what was said, when, and its short id.

    The day bears its year where that is not the year in which it was written down.
    """
    said = ", ".join(_said(at, event))
    return say(
        "cli.entry" if ident else "cli.entry_heard",
        kind=say(f"record.kind.{event.kind}") if known(f"record.kind.{event.kind}") else event.kind,
        subject=_subject(at, event),
        said=say("cli.said", said=said) if said else "",
        when=when_words(event.observed, at.farm.time_zone, event.recorded.year),
        id=event.id[-SHORT_ID:],
    )


def _subject(at: Called, event: Event) -> str:
    """Return what an entry is about as it is called: a mob that comes by it is named as others are."""
    if event.subject == "farm":
        return at.farm.name
    found = at.names.called(event.subject)
    comes = found == event.subject and getattr(event.body, "about", "") == "mob"
    return written(found) if comes else found


def _said(at: Called, event: Event) -> Iterator[str]:
    """Yield the values of an entry as people say them."""
    if isinstance(event.body, Unknown):
        return
    value = dict(event.body.value())
    if isinstance(value.get("head"), int) and value.get("klass"):
        value["head"] = f"{value['head']} {class_words(str(value.pop('klass')), int(value['head']))}"
    for name, item in value.items():
        if name == "beast" or (event.kind, name) in UNSAID:
            continue
        text = _value(at, name, item)
        label = _label(name)
        named = name not in PLAIN and label not in text.split()
        yield say("cli.named", name=label, text=text) if named else text


def _value(at: Called, name: str, item: object) -> str:
    """Return one value as people say it: heads by their class, a day by its month, a place by its name."""
    if isinstance(item, list):
        return ", ".join(_head(str(part)) for part in item)
    text = str(item)
    if ISO_DAY.match(text):
        return say("why.day", day=day_words(date.fromisoformat(text)), year=text[:4])
    return at.names.called(text) if name in ("to", "into", "planting") else text


def _head(text: str) -> str:
    """Return a head as people say it: 2 lambs for sheep/lamb=2."""
    asked = read_head(text)
    return text if asked is None else f"{asked.head} {class_words(asked.klass, asked.head)}".strip()


def _label(name: str) -> str:
    return say(f"cli.label.{name}") if known(f"cli.label.{name}") else name.replace("_", " ")


def _changes(before: Picture, after: Picture) -> Iterator[str]:
    """Yield each mob's first limit where the entries changed it."""
    old = first_limits(before)
    for ident, (mob, first) in first_limits(after).items():
        if ident not in old or _says(first) != _says(old[ident][1]):
            yield say("cli.first", mob=mob, limit=first.name, when=first.when, short=first.short)


def _says(line: Line) -> tuple[str, str, str]:
    return (line.limit, line.when, line.short)
