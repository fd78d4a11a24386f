"""The verbs that write an entry: what each is about, and in which order its words are read.

One row a verb; options come from the fields of the kind's body (``events/bodies.py``), so a new
field is an option by itself.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

SUBJECTS = ("mob", "new_mob", "paddock", "planting", "animal")
BARE = frozenset(
    {"because", "until", "to", "into", "with", "seen", "bitten", "barked", "sick", "met", "lot", "at", "for"}
)
"""Options that may be said without dashes; what follows, up to the next of them, is their text."""
FIELDS = frozenset({
    "amount", "animal", "area", "areas", "at", "bales", "bare", "barked", "beast", "because", "bitten", "by",
    "cause", "clear", "clock", "condition", "crown", "dbh", "density", "depth", "despite_shut", "eyelid",
    "file", "fuel", "growth", "guard", "head", "height", "intake", "into", "klass", "leader", "leaf", "lot",
    "mass_per_height", "met", "name", "new_klass", "owner", "parts", "planting", "price", "product",
    "purpose", "rain", "readings", "result", "roots", "row", "ruts", "seen", "sick", "species", "text",
    "time", "to", "to_height", "tree", "trees", "until", "until_day", "weight", "what", "where", "who", "why",
    "withdrawal",
})  # fmt: skip
"""Every field that an entry may have: each has its words, ``cli.field.<name>``."""


@dataclass(frozen=True, slots=True)
class Entry:
    """A verb that writes one event.

    Parameters
    ----------
    name, kind : str
        The verb, and the kind of event.
    slots : tuple of str
        What its words are, in order: a subject, a field of the body, or ``heads`` (a number and a
        class). A slot that ends in ``?`` may be left out although others follow; one that ends in
        ``*`` takes all words that are left.
    also : mapping
        Other names of options: name → field of the body (``reason`` is the envelope's).
    cautions : tuple of str
        Cautions of ``data/cautions.csv`` that its task calls for.
    spoken : bool
        Whether words may stand for options.
    files : tuple of str
        Options that name a file: ``from`` holds rows to be entered, ``out`` is written.
    """

    name: str
    kind: str
    slots: tuple[str, ...]
    also: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    cautions: tuple[str, ...] = ()
    spoken: bool = True
    files: tuple[str, ...] = ()

    @property
    def subject(self) -> str:
        """Return what its first words name: one of ``SUBJECTS``, or nothing for the farm."""
        return next((slot.rstrip("?") for slot in self.slots if slot.rstrip("?") in SUBJECTS), "")

    @property
    def usage(self) -> str:
        """Return the words in capitals, as help shows them."""
        return " ".join(slot.strip("?*").upper() for slot in self.slots)


_STOCK = ("C1",)
_FENCE = ("C1", "C6")
_TREES = ("C3", "C4")
_ROWS = (
    Entry("move", "moved", ("mob", "to"), {"because": "despite_shut"}, _FENCE),
    Entry("split", "split", ("mob", "head", "into"), {}, _STOCK),
    Entry("merge", "merged", ("mob", "into"), {}, _STOCK),
    Entry("net", "netted", ("paddock", "parts*"), {}, ("C6",)),
    Entry("walk", "walked", ("paddock", "height", "density"), {}, ("C8",), files=("from", "out")),
    Entry("look", "looked", ("at", "paddock"), {"what": "at"}, ("C1", "C8")),
    Entry("shut", "shut", ("paddock",), {"because": "because"}),
    Entry("open", "opened", ("paddock",), {}),
    Entry("count", "counted", ("mob", "head*"), {}, _STOCK),
    Entry("pen", "penned", ("mob", "animal", "why*"), {"with": "head", "because": "why"}, _STOCK),
    Entry("back", "back", ("mob", "animal"), {}, _STOCK),
    Entry("born", "born", ("mob?", "heads"), {}, ("C1", "C7")),
    Entry("died", "died", ("mob?", "heads", "cause"), {}, ("C1", "C7")),
    Entry("sold", "sold", ("mob?", "heads", "price"), {"for": "price"}, _STOCK),
    Entry("bought", "bought", ("mob?", "heads", "price"), {"for": "price"}, _STOCK),
    Entry("wean", "weaned", ("mob?", "heads", "into"), {}, _STOCK),
    Entry("weigh", "weighed", ("mob", "weight", "klass*"), {}, _STOCK),
    Entry("borrow", "borrowed", ("new_mob?", "heads"), {"from": "owner"}, _FENCE),
    Entry("return", "returned", ("mob", "head"), {}, _STOCK),
    Entry("feed", "fed", ("mob", "amount", "lot"), {}, _STOCK),
    Entry("treat", "treated", ("animal", "product*"), {"until": "withdrawal"}, ("C1", "C10")),
    Entry("rain", "rained", ("depth",)),
    Entry("forecast", "forecast", ("growth",), {"for": "until"}),
    Entry("storm", "stormed", ("what*",), {}, (*_TREES, "C5", "C9")),
    Entry("cut", "cut", ("paddock", "purpose"), {}, ("C8",)),
    Entry("sow", "sown", ("paddock", "what*")),
    Entry("spread", "spread", ("paddock", "what", "amount")),
    Entry("sample", "sampled", ("paddock", "result*")),
    Entry("plant", "planted", ("planting", "trees", "species")),
    Entry("lost", "lost", ("planting", "trees", "cause*")),
    Entry("guard", "guarded", ("planting", "trees", "guard*")),
    Entry("prune", "pruned", ("planting", "trees"), {}, _TREES),
    Entry("thin", "thinned", ("planting", "trees"), {}, _TREES),
    Entry("fell", "felled", ("planting", "trees", "why*"), {"because": "why"}, _TREES),
    Entry("measure", "tree_measured", ("planting", "tree")),
    Entry("pick", "picked", ("planting", "amount"), {"picker": "who"}),
    Entry("spent", "spent", ("amount", "what*")),
    Entry("earned", "earned", ("amount", "what*")),
    Entry("fuel", "fuelled", ("amount", "fuel")),
    Entry("work", "worked", ("time?", "what*")),
    Entry("photo", "photographed", ("paddock", "file")),
    Entry("note", "noted", ("text*",), spoken=False, files=("from",)),
)  # fmt: skip
ENTRIES: Mapping[str, Entry] = MappingProxyType({entry.name: entry for entry in _ROWS})


def spoken(args: Sequence[str]) -> list[str]:
    """Return a command with the options that were said without dashes written as options.

    ``shut 4 because cherry down until cleared`` is ``shut 4 --because "cherry down" --until cleared``.
    Words behind ``--`` are left as they are.
    """
    entry = ENTRIES.get(args[0]) if args else None
    if entry is None or not entry.spoken:
        return list(args)
    out, at = list(args[:1]), 1
    while at < len(args):
        word = args[at]
        if word == "--":
            return [*out, *args[at:]]
        if word.startswith("--") and "=" not in word and at + 1 < len(args):
            taken = 1 if word in ("--yes", "--planned", "--json", "--help") else 2
            out += args[at : at + taken]
            at += taken
        elif word in BARE and len(out) > 1:
            end = _end(args, at + 1)
            out += [f"--{word}", " ".join(args[at + 1 : end])]
            at = end
        else:
            out.append(word)
            at += 1
    return out


def _end(args: Sequence[str], start: int) -> int:
    """Return where the text of a spoken option ends: at the next option of either form."""
    stops = (i for i in range(start, len(args)) if args[i] in BARE or args[i].startswith("--"))
    return next(stops, len(args))


def nearest_verb(said: str, more: Iterable[str] = ()) -> str | None:
    """Return the verb that a word most likely means, small or capital, or as what was done; else None.

    ``more`` are verbs beyond those that write an entry.
    """
    verbs = {name: name for name in (*ENTRIES, *more)} | {entry.kind: name for name, entry in ENTRIES.items()}
    verbs |= ALIKE
    folded = said.casefold()
    near = [folded] if folded in verbs else difflib.get_close_matches(folded, verbs, 1, 0.7)
    return verbs[near[0]] if near else None


ALIKE: Mapping[str, str] = MappingProxyType(
    {
        "wind": "storm",
        "money": "ledger",
        "away": "promise",
        "holiday": "promise",
        "term": "promise",
    }
)
"""Words that people say for a verb of another name."""
