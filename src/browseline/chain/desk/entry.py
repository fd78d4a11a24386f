"""One entry: its words to an event, the doubts that it must answer first, and what it changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from browseline.chain.desk.desk import Desk, Said
from browseline.chain.desk.slots import Filled, fields_of, fill
from browseline.chain.desk.special import finish
from browseline.chain.desk.times import when
from browseline.errors import BadInput, finding
from browseline.events import BadEvent, Event, When, body_of, new_id
from browseline.events.verbs import Entry
from browseline.farm.toml_table import units_of
from browseline.words import say

RENAMED = {"klass": "class", "new_klass": "new-class", "beast": "kind"}
_SHARED = tuple(f.name for f in fields(Said))
_WITHOUT = {"at", "who", "despite_shut"}
"""Fields whose name is that of a shared option, or that another name stands for."""


def option_fields(entry: Entry) -> dict[str, tuple[str, ...]]:
    """Return the options of a verb that are its own: field of the body → the names it goes by."""
    names = {name: [] if name in _WITHOUT else [RENAMED.get(name, name.replace("_", "-"))]
             for name in fields_of(entry.kind)}  # fmt: skip
    for option, name in entry.also.items():
        if option not in names[name]:
            names[name].append(option)
    return {name: tuple(options) for name, options in names.items() if options}


def said_in(entry: Entry, given: Mapping[str, Any]) -> tuple[list[str], dict[str, str], Said]:
    """Return the words, the texts of the verb's own options, and what the shared options say."""
    names = option_fields(entry)
    texts = {name: given[f"own_{name}"] for name in names if given[f"own_{name}"]}
    return list(given["words"] or ()), texts, Said(**{n: given[n] for n in _SHARED if given.get(n)})


def entered(entry: Entry, words: list[str], texts: Mapping[str, str], at: Desk, said: Said) -> Event:
    """Return the event of an entry's words and options; nothing is kept.

    Raises
    ------
    BadInput
        If they cannot be read.
    """
    filled = fill(entry, words, texts, at.names, at.today)
    reason = finish(entry, filled, at, said)
    return event_of(entry, filled, at, said, reason)


def event_of(entry: Entry, filled: Filled, at: Desk, said: Said, reason: str) -> Event:
    """Return the event of an entry.

    Raises
    ------
    BadInput
        If something that must be said is missing or cannot be read.
    """
    missing = entry.subject if entry.subject != "new_mob" and not filled.subject else ""
    if missing:
        raise _missing(entry.name, missing)
    observed = (
        when(said.at, at.now, at.zone, ahead=said.planned) if said.at else When.at(at.now.astimezone(at.zone))
    )
    try:
        body = body_of(entry.kind, 1, filled.value)
    except BadEvent as wrong:
        raise bad_event(wrong, entry.name) from None
    recorded = at.now.astimezone(at.zone)
    return Event(
        new_id(at.now), at.record.device, said.who, observed, recorded, filled.subject or "farm", body,
        filled.part, said.planned, "", reason,
    )  # fmt: skip


def example_of(verb: str) -> str:
    """Return a verb as it is said whole, without the program's name."""
    return say(f"cli.example.{verb}").removeprefix("browseline ")


def _missing(verb: str, field: str) -> BadInput:
    """Return the finding of what was left out, with the verb as it is said whole."""
    return BadInput([finding("cli.missing", verb, field=field, example=example_of(verb))])


def bad_event(wrong: BadEvent, verb: str) -> BadInput:
    """Return the finding of a body that cannot be read."""
    field = RENAMED.get(wrong.field, wrong.field.replace("_", "-"))
    if wrong.reason == "missing":
        return _missing(verb, field)
    fields_of_kind = fields_of(wrong.kind)
    dimension = fields_of_kind[wrong.field].dimension if wrong.field in fields_of_kind else ""
    units = ", ".join(units_of(dimension))
    return BadInput(
        [finding(f"cli.quantity.{wrong.reason}", verb, text=wrong.text, wanted=field, units=units)]
    )
