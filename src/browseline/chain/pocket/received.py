"""Entries that a phone wrote without a signal, taken into the record: the union, one by one.

Whatever can be kept is kept, kinds and versions that this program does not know as well. What cannot
be kept is answered with the reason and stays on the phone. Taking the same entries in twice changes
nothing.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from browseline.chain.look import Picture
from browseline.events import KINDS, BadEvent, body_of
from browseline.record.clock import clock_questions
from browseline.record.rows import Raw, checked, read
from browseline.record.told import tell
from browseline.words import say

SCHEMA = "browseline/pocket-kept/1"
MOST_ENTRIES = 500
LONGEST_ENTRY = 16_384
"""Signs of one entry as JSON; a note of three pages."""
_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
_DEVICE = re.compile(r"[a-z]-[0-9a-f]{8,32}")
FIELD_KINDS = frozenset(
    {"moved", "walked", "looked", "shut", "opened", "counted", "noted", "rained", "undone"}
)
"""Kinds that a phone's own forms write."""
MAY_WRITE: Mapping[str, frozenset[str] | None] = {
    "owner": None, "partner": None, "relief": FIELD_KINDS, "adviser": frozenset(), "class": None,
}  # fmt: skip
"""Which kinds each role may send; None is every kind."""


@dataclass(frozen=True, slots=True)
class Refused:
    """An entry that was not kept: its id as it came, and why in words."""

    id: str
    why: str


@dataclass(frozen=True, slots=True)
class Batch:
    """Entries of a batch: those that can be kept, in the record's form, and those that cannot."""

    good: tuple[Raw, ...]
    refused: tuple[Refused, ...]


@dataclass(frozen=True, slots=True)
class PocketKept:
    """What became of a phone's entries.

    Parameters
    ----------
    kept : tuple of str
        Ids that are in the record now, whether new or there before.
    refused : tuple of Refused
        What was not kept and stays on the phone.
    events : int
        How many entries the record holds: a table made from so many or more has these in it.
    alarms, asked : tuple of str
        What is wrong now, and what the entries and the record say differently.
    """

    schema: str
    kept: tuple[str, ...]
    refused: tuple[Refused, ...]
    events: int
    alarms: tuple[str, ...]
    asked: tuple[str, ...]


def sorted_out(items: Iterable[Any], role: str, who: str) -> Batch:
    """Return which entries of a batch can be kept, and why the others cannot.

    Parameters
    ----------
    items : iterable
        Whatever came: JSON objects, or anything else.
    role, who : str
        Who sends them; an entry in another's name is not kept.
    """
    good: list[Raw] = []
    refused: list[Refused] = []
    for item in items:
        try:
            good.append(_readable(item, role, who))
        except _Against as wrong:
            ident = item.get("id", "") if isinstance(item, Mapping) else ""
            refused.append(Refused(_told(ident), str(wrong)))
    return Batch(tuple(good), tuple(refused))


class _Against(Exception):
    """Why an entry cannot be kept, in words."""


def _readable(item: Any, role: str, who: str) -> Raw:
    """Return an entry in the record's form.

    Raises
    ------
    _Against
        If it cannot be kept.
    """
    try:
        if not isinstance(item, Mapping):
            raise BadEvent("", "id", "missing")
        if len(json.dumps(item)) > LONGEST_ENTRY:
            raise _Against(say("pocket.refused.long"))
        whole = checked(item)
        for name, pattern in (("id", _ID), ("device", _DEVICE)):
            if not pattern.fullmatch(whole[name]):
                raise BadEvent(whole["kind"], name, "number")
        if whole["version"] <= (KINDS[whole["kind"]].version if whole["kind"] in KINDS else 0):
            body_of(whole["kind"], whole["version"], whole["value"])
    except BadEvent as wrong:
        raise _Against(say("pocket.refused.form", part=wrong.field)) from None
    except RecursionError:
        raise _Against(say("pocket.refused.long")) from None
    if whole["who"] != who:
        raise _Against(say("pocket.refused.who", who=_told(whole["who"])))
    may = MAY_WRITE.get(role, frozenset())
    if may is not None and whole["kind"] not in may:
        raise _Against(say("pocket.refused.role", role=role))
    return whole


def _told(text: Any) -> str:
    """Return foreign text fit to be answered with."""
    return str(text)[:60].encode("utf-8", "replace").decode()


def received(batch: Batch, before: Picture, after: Picture, sent: datetime | None, device: str) -> PocketKept:
    """Return what became of the entries, once the good ones are in the record.

    Parameters
    ----------
    before, after : Picture
        The farm without and with them.
    sent : datetime or None
        What the phone's own clock said when it sent them.
    """
    zone = after.farm.time_zone
    questions = [q for q in after.state.questions if q not in before.state.questions]
    asked_at = sent if sent is not None and sent.utcoffset() is not None else None
    questions += clock_questions((read(raw) for raw in batch.good), after.now, device, asked_at)
    differ = [d for d in after.state.disagreements if d not in before.state.disagreements]
    asked = dict.fromkeys([*(tell(q, zone) for q in questions), *(tell(d, zone) for d in differ)])
    return PocketKept(
        SCHEMA,
        tuple(raw["id"] for raw in batch.good),
        batch.refused,
        len(after.events),
        tuple(tell(alarm, zone) for alarm in after.state.alarms),
        tuple(asked),
    )
