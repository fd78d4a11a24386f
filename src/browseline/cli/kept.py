"""What is printed after an entry: the line that was kept, cautions, alarms, and limits that changed."""

from __future__ import annotations

from collections.abc import Iterable

from browseline import tables
from browseline.chain.answers import answer_to
from browseline.chain.look import HORIZON_D, MEMBERS, Picture, picture
from browseline.chain.today import Line, today
from browseline.cli.desk import Desk
from browseline.cli.out import put, put_wrapped
from browseline.events import Event
from browseline.record.fold import fold
from browseline.record.told import tell, when_words
from browseline.words import say

SHORT_ID = 8


def seen(at: Desk, events: Iterable[Event]) -> Picture:
    """Return the whole chain's picture of the farm with these events."""
    held = tuple(events)
    state = fold(at.farm, held, at.now)
    return picture(at.folder, at.farm, held, state, at.now, MEMBERS, HORIZON_D)


def tell_kept(cautions: Iterable[str], at: Desk, event: Event, before: Picture) -> None:
    """Print what was kept, what it calls for, and which first limits it changed."""
    put(kept_words(at, event))
    for line in caution_words(cautions):
        put_wrapped(line, "  ", "! ")
    after = seen(at, at.record.events())
    for sentence in answer_to(event, after):
        put_wrapped(sentence, "  ")
    old = {*before.state.questions, *before.state.disagreements, *before.state.alarms}
    for item in (*after.state.alarms, *after.state.questions, *after.state.disagreements):
        if item not in old:
            put_wrapped(tell(item, at.farm.time_zone), "  ", "? " if item not in after.state.alarms else "! ")
    put_changes(before, after)


def kept_words(at: Desk, event: Event) -> str:
    """Return an entry in one line: kind, about what, what was said, when, and its short id."""
    said = [_value(name, item) for name, item in event.body.value().items()]
    return say(
        "cli.planned" if event.planned else "cli.kept",
        kind=say(f"record.kind.{event.kind}"),
        subject=at.names.called(event.subject) if event.subject != "farm" else at.farm.name,
        said=", ".join(said),
        when=when_words(event.observed, at.farm.time_zone),
        id=event.id[-SHORT_ID:],
    )


def _value(name: str, item: object) -> str:
    text = ", ".join(map(str, item)) if isinstance(item, list) else str(item)
    return text if name in ("height", "to", "amount", "depth", "text", "head", "klass") else f"{name} {text}"


def caution_words(idents: Iterable[str]) -> list[str]:
    """Return the cautions of some ids, each with who decides."""
    rows = {row["id"]: row for row in tables.texts("cautions")}
    out = []
    for ident in idents:
        who = rows[ident]["defer_to"]
        text = say(f"cli.caution.{ident}")
        out.append(say("cli.caution", text=text, who=who) if who else text)
    return out


def put_changes(before: Picture, after: Picture) -> None:
    """Print each mob's first limit where the entry changed it."""
    old = {mob.id: _first(mob.lines) for mob in today(before).mobs}
    for mob in today(after).mobs:
        first = _first(mob.lines)
        if first is not None and _says(first) != _says(old.get(mob.id)):
            put_wrapped(
                say("cli.first", mob=mob.name, limit=first.name, when=first.when, short=first.short), "  "
            )


def _first(lines: Iterable[Line]) -> Line | None:
    return next(iter(lines), None)


def _says(line: Line | None) -> tuple[object, ...]:
    return () if line is None else (line.limit, line.when, line.short)
