"""Which cautions an entry calls for: those of its verb, and those of what it is about.

The table is ``data/cautions.csv``; a caution names who decides, and never an amount.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from browseline import tables
from browseline.events import Event
from browseline.events.verbs import ENTRIES
from browseline.words import say

_SAW = ("C3", "C4")
BY_WORD: Mapping[str, tuple[str, ...]] = {
    "saw": _SAW, "fell": _SAW, "prun": _SAW, "thin": _SAW, "storm": _SAW, "limb": _SAW, "dead": ("C4",),
    "leaf": _SAW, "leaves": _SAW, "branch": _SAW, "coppic": _SAW, "pollard": _SAW, "tree": _SAW,
    "wood": _SAW, "firewood": _SAW, "stem": _SAW, "hedge": _SAW, "shoot": _SAW, "sapling": _SAW,
    "brush": (*_SAW, "C13"), "burn": ("C13",), "herbicid": ("C13",), "spray": ("C13",),
    "fence": ("C6",), "fencing": ("C6",), "wire": ("C6",), "energiser": ("C6",),
    "lamb": ("C7",), "kid": ("C7",), "calv": ("C7",), "milk": ("C7",),
}  # fmt: skip
"""How a word of the work begins, and the cautions of that work."""
WORDED = ("worked", "spread", "cut", "looked")
"""Kinds of entry whose words say what the work was."""
BIOSECURE = frozenset({"pig", "chicken", "turkey", "goose", "duck"})
ARRIVED = ("bought", "borrowed")


def called_for(events: Iterable[Event]) -> tuple[str, ...]:
    """Return the ids of the cautions that some entries call for, each once, in the order of the table."""
    found = {ident for event in events for ident in _of(event)}
    return tuple(row["id"] for row in tables.texts("cautions") if row["id"] in found)


def _of(event: Event) -> Iterable[str]:
    for entry in ENTRIES.values():
        if entry.kind == event.kind:
            yield from entry.cautions
    value = event.body.value()
    if event.kind in WORDED:
        words = " ".join(str(value.get(name, "")) for name in ("what", "purpose", "at")).casefold().split()
        for start, idents in BY_WORD.items():
            if any(word.startswith(start) for word in words):
                yield from idents
    if event.kind in ARRIVED and value.get("beast") in BIOSECURE:
        yield "C14"


def caution_words(idents: Iterable[str]) -> list[str]:
    """Return the cautions of some ids, each with who decides."""
    rows = {row["id"]: row for row in tables.texts("cautions")}
    out = []
    for ident in idents:
        who = rows[ident]["defer_to"]
        text = say(f"cli.caution.{ident}")
        out.append(say("cli.caution", text=text, who=who) if who else text)
    return out
