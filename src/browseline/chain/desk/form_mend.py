"""An entry to be put right, as a form: what it says now, and what of it was changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from zoneinfo import ZoneInfo

from browseline.chain.desk.desk import Said
from browseline.chain.desk.entry import RENAMED
from browseline.chain.desk.form_found import WHEN, in_form
from browseline.chain.desk.form_given import TICKED, with_unit
from browseline.chain.desk.forms import Form, FormField, field_of, field_words
from browseline.chain.desk.slots import fields_of
from browseline.chain.look import Picture
from browseline.errors import BadInput, Finding, finding
from browseline.events import Body, Event
from browseline.events.verbs import ENTRIES, Entry
from browseline.record.heads import read_head
from browseline.words import say

ABOUT = "about"
VERB = "correct"
REASON = "reason"
"""Why it was wrong: a gate has a ``because`` of its own."""
DAY = "until_day"
"""Where a gate shut until a day keeps it; people say both in one field."""
_KEPT = frozenset({"beast", "areas", "parts", "despite_shut", "file", "clock", "until_day"})
"""Fields that no form asks: they follow from others, or make another entry."""


def event_of(picture: Picture, ident: str) -> Event:
    """Return the entry of an id.

    Raises
    ------
    BadInput
        If there is none, or none of a kind that this program knows.
    """
    found = next((event for event in picture.events if event.id == ident), None)
    if found is None:
        raise BadInput([finding("cli.no_entry", ident, found=0)])
    if not isinstance(found.body, Body) or _entry(found) is None:
        raise BadInput([finding("cli.unread_kind", ident, kind=found.kind)])
    return found


def correction_form(
    picture: Picture, ident: str, given: Mapping[str, str] | None = None, found: Iterable[Finding] = ()
) -> Form:
    """Return the form that puts an entry right, with what it says now or what was typed over it.

    Raises
    ------
    BadInput
        If there is no such entry, or it cannot be put right.
    """
    event, wrong = event_of(picture, ident), tuple(found)
    told = _values(picture, event) | dict(given or {})
    fields = tuple(_fields(picture, event, told))
    labels = {one.name: one.label for one in fields}
    questions = bool(wrong) and all(one.level == "question" for one in wrong)
    return Form(
        "browseline/form/1", picture.farm.name, VERB, say("form.correct.title"), say("form.correct.keep"),
        say("form.correct.intro"), "", (), fields, (), in_form(wrong, labels), questions,
    )  # fmt: skip


def changes_in(picture: Picture, ident: str, given: Mapping[str, str], who: str) -> tuple[list[str], Said]:
    """Return what of an entry was changed, as the verb ``correct`` takes it, and why."""
    event = event_of(picture, ident)
    was = _values(picture, event)
    out = []
    for field in _fields(picture, event, was):
        text = " ".join(given.get(field.name, field.value).split())
        if field.name not in (WHEN, REASON) and text != field.value:
            out.append(f"{RENAMED.get(field.name, field.name)}={with_unit(field, text)}")
            out += [f"{DAY}="] if field.name == "until" and event.body.value().get(DAY) else []
    at = given.get(WHEN, was[WHEN]).strip()
    said = Said(
        at if at != was[WHEN] else "", who, given.get(REASON, "").strip(), given.get("yes", "") in TICKED
    )
    return out, said


def _entry(event: Event) -> Entry | None:
    return next((entry for entry in ENTRIES.values() if entry.kind == event.kind), None)


def _fields(picture: Picture, event: Event, told: Mapping[str, str]) -> Iterable[FormField]:
    entry = _entry(event)
    if entry is None:
        return
    if entry.subject:
        field = field_of(picture, entry, entry.subject, {entry.subject: told[ABOUT]})
        yield replace(field, name=ABOUT, required=True)
    for name in fields_of(event.kind):
        if name not in _KEPT:
            field = replace(field_of(picture, entry, name, told), more=False)
            yield replace(field, kind="text") if field.kind == "hidden" else field
    label, hint = field_words("label", entry, WHEN), field_words("hint", entry, WHEN)
    yield FormField(WHEN, label, hint, "text", told.get(WHEN, ""), "", False, False, ())
    why = say("form.correct.because")
    yield FormField(REASON, why, "", "text", told.get(REASON, ""), "", False, False, ())


def _values(picture: Picture, event: Event) -> dict[str, str]:
    """Return what an entry says, each value as it was typed, its subject and its time."""
    out = {name: _text(item) for name, item in event.body.value().items()}
    out["until"] = out.get("until") or out.get(DAY, "")
    return out | {ABOUT: event.subject, WHEN: _time(picture, event)}


def _text(item: object) -> str:
    if isinstance(item, list):
        return ", ".join(_head(str(part)) for part in item)
    if isinstance(item, bool):
        return "yes" if item else "no"
    return str(item)


def _head(text: str) -> str:
    asked = read_head(text)
    return text if asked is None else f"{asked.head} {asked.klass}".strip()


def _time(picture: Picture, event: Event) -> str:
    zone = ZoneInfo(picture.farm.time_zone)
    ends = (event.observed.start, event.observed.end)
    start, end = (f"{at.astimezone(zone):%Y-%m-%d %H:%M}" for at in ends)
    return start if event.observed.exact else f"between {start} and {end}"
