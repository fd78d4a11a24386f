"""A record verb as a form: what is asked first, what stands under "more", and what was typed already.

The form is made of the verb's row (``events.verbs``) and the fields of its kind: a new field is asked by
itself. What somebody typed stays in it when something speaks against the entry.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from browseline.chain.desk.cautions import caution_words
from browseline.chain.desk.choices import Choice, choices_of
from browseline.chain.desk.form_found import WHEN, in_form
from browseline.chain.desk.slots import Field, fields_of
from browseline.chain.look import Picture
from browseline.errors import BadInput, Finding, finding
from browseline.events.verbs import ENTRIES, Entry
from browseline.farm.herd_words import class_words
from browseline.record.state import MobState
from browseline.units import CHOSEN, Quantity, System
from browseline.words import known, say

HEAD = "head:"
"""How the fields of a number by class begin; the class follows."""
HEADS, CLASS = "heads", "heads_class"
LOOKS: Mapping[str, tuple[str, ...]] = {
    "trees": ("seen", "bitten", "barked", "sick", "planting", "leaf"),
    "ground": ("bare", "ruts", "roots"),
    "animals": ("animal", "condition", "eyelid"),
    "plants": ("clear", "planting"),
}
"""What is asked of a look at each thing."""
FIRST: Mapping[str, tuple[str, ...]] = {
    "shut": ("because", "until"), "opened": ("met",), "treated": ("withdrawal",), "penned": ("why",),
    "borrowed": ("until", "owner", "to"), "cut": ("purpose", "to_height", "bales"), "stormed": ("what",),
    "tree_measured": ("dbh", "height", "leader"), "forecast": ("growth", "until"), "spent": ("bales", "lot"),
    "split": ("to",), "weaned": ("new_klass", "into"), "earned": ("weight",), "worked": ("clock",),
    "sold": ("price",), "bought": ("price",), "lost": ("cause",), "guarded": ("guard",),
    "pruned": ("to_height",), "felled": ("why",), "planted": ("species",), "fuelled": ("fuel",),
    "photographed": ("what",), "fed": ("lot",), "spread": ("amount",), "died": ("cause",),
    "weighed": ("klass",),
}  # fmt: skip
"""Fields that need not be filled but are asked before "more"."""
_DERIVED = frozenset({"beast", "until_day", "row", "areas", "despite_shut"})
"""Fields that follow from what is asked: a kind from its class, a row from its planting."""
_INSTEAD = {"forecast": frozenset({"height", "rain"})}
SHARED = (WHEN, "because", "planned")
_SUBJECT_FREE = ("new_mob", "animal")


@dataclass(frozen=True, slots=True)
class FormField:
    """One thing that is asked: by which name it is sent, what it is called, how it is typed.

    ``kind`` is *choice* (one of ``choices``), *whole* (a whole number), *quantity* (a bare number takes
    ``unit``), *day*, *time*, *tick*, *file* or *text* (``choices`` are then only offered). ``more`` tells
    that it stands under "more".
    """

    name: str
    label: str
    hint: str
    kind: str
    value: str
    unit: str
    required: bool
    more: bool
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Form:
    """The form of one verb. ``choose`` is what must be known first; its fields are empty until then.

    ``found`` is what speaks against what was typed; ``questions`` tells that all of it may be kept anyway.
    """

    schema: str
    farm: str
    verb: str
    title: str
    keep: str
    intro: str
    choose: str
    choices: tuple[Choice, ...]
    fields: tuple[FormField, ...]
    cautions: tuple[str, ...]
    found: tuple[Finding, ...]
    questions: bool


def entry_named(verb: str) -> Entry:
    """Return the verb of a name.

    Raises
    ------
    BadInput
        If no verb of that name writes an entry.
    """
    if verb not in ENTRIES:
        raise BadInput([finding("cli.batch.alone", verb)])
    return ENTRIES[verb]


def form_of(
    picture: Picture, verb: str, given: Mapping[str, str] | None = None, found: Iterable[Finding] = ()
) -> Form:
    """Return the form of a verb.

    Parameters
    ----------
    given : mapping from field to text, optional
        What was typed or tapped already.
    found : iterable of Finding
        What speaks against it.

    Raises
    ------
    BadInput
        If no verb of that name writes an entry.
    """
    entry, told, wrong = entry_named(verb), dict(given or {}), tuple(found)
    told |= _only_one(picture, entry, told)
    choose = _first(picture, entry, told)
    fields = () if choose else tuple(_fields(picture, entry, told))
    return Form(
        "browseline/form/1", picture.farm.name, verb, say(f"form.verb.{verb}.title"), say("form.keep"),
        _intro(picture, entry, told), choose, _choices(picture, entry, choose), fields,
        tuple(caution_words(entry.cautions)), in_form(wrong, {one.name: one.label for one in fields}),
        bool(wrong) and all(one.level == "question" for one in wrong),
    )  # fmt: skip


# ---------------------------------------------------------------- what must be known first


def _only_one(picture: Picture, entry: Entry, told: Mapping[str, str]) -> dict[str, str]:
    """Return the subject where the farm has only one of it."""
    if entry.subject not in ("mob", "planting") or told.get(entry.subject):
        return {}
    choices = choices_of(picture, entry.subject, entry.kind)
    return {entry.subject: choices[0].value} if len(choices) == 1 else {}


def _first(picture: Picture, entry: Entry, told: Mapping[str, str]) -> str:
    """Return what must be chosen before anything else can be asked; empty where nothing must."""
    if entry.kind == "looked" and told.get("at") not in LOOKS:
        return "at"
    if "head" in fields_of(entry.kind) and fields_of(entry.kind)["head"].type is tuple:
        return "" if picture.state.mob(told.get("mob", "")) is not None else "mob"
    return ""


def _choices(picture: Picture, entry: Entry, choose: str) -> tuple[Choice, ...]:
    if choose == "at":
        return tuple(Choice(what, say(f"form.choice.look.{what}")) for what in LOOKS)
    return choices_of(picture, choose, entry.kind) if choose else ()


def _intro(picture: Picture, entry: Entry, told: Mapping[str, str]) -> str:
    """Return the sentence above the form, with what was chosen already."""
    if entry.kind == "looked" and told.get("at") in LOOKS:
        return say(f"form.intro.look.{told['at']}")
    return say(f"form.intro.{entry.name}") if known(f"form.intro.{entry.name}") else ""


# ---------------------------------------------------------------- fields


def _fields(picture: Picture, entry: Entry, told: Mapping[str, str]) -> Iterator[FormField]:
    """Yield what is asked, in the order in which people say it; then what every entry may say."""
    mob = picture.state.mob(told.get("mob", ""))
    for name in _names(entry, told):
        if name == "head" and fields_of(entry.kind)[name].type is tuple:
            yield from _heads(entry, mob, told)
        elif name == HEADS:
            yield _asked(picture, entry, HEADS, told, kind="whole", required=True)
            yield _asked(picture, entry, CLASS, told, kind=_class_kind(entry), required=True)
        else:
            yield field_of(picture, entry, name, told)
    for name in SHARED:
        if (entry.kind, name) not in (("shut", "because"), ("felled", "because"), ("penned", "because")):
            yield _shared(picture, entry, name, told)


def _names(entry: Entry, told: Mapping[str, str]) -> list[str]:
    """Return the names of all fields: the words in their order, then what comes first, then the rest."""
    slots = [slot.rstrip("?*") for slot in entry.slots]
    if entry.kind == "looked":
        return ["paddock", "at", *LOOKS[told["at"]]]
    skipped = _DERIVED | _INSTEAD.get(entry.kind, frozenset())
    if HEADS in slots:
        skipped |= {"head", "klass"}
    own = [name for name in fields_of(entry.kind) if name not in skipped]
    first = [name for name in FIRST.get(entry.kind, ()) if name in own]
    return list(dict.fromkeys([*slots, *first, *own]))


def _heads(entry: Entry, mob: MobState | None, told: Mapping[str, str]) -> Iterator[FormField]:
    """Yield one number for each class of a mob."""
    for line in mob.lines if mob is not None else ():
        name = f"{HEAD}{line.kind}/{line.klass}"
        label = say(f"form.heads.{entry.name}", klass=class_words(line.klass, 2), head=line.head)
        yield FormField(name, label, "", "whole", told.get(name, ""), "", False, False, ())


def _class_kind(entry: Entry) -> str:
    return "choice" if entry.name in ("died", "sold", "wean") else "text"


def field_of(picture: Picture, entry: Entry, name: str, told: Mapping[str, str]) -> FormField:
    """Return one field of a verb, with what was typed."""
    if name == entry.subject:
        kind = "text" if name in _SUBJECT_FREE and entry.kind != "back" else "choice"
        return _asked(picture, entry, name, told, kind=kind, required=name != "new_mob")
    wanted = fields_of(entry.kind)[name]
    if (entry.kind, name) == ("opened", "met"):
        found = _condition(picture, told)
        if found is not None:
            return found
    return _asked(picture, entry, name, told, kind=_kind(picture, entry, wanted), required=wanted.required)


def _condition(picture: Picture, told: Mapping[str, str]) -> FormField | None:
    """Return the condition on which a paddock opens, to be ticked; None where it has none, or several."""
    here = [shut.until for shut in picture.state.shut if shut.paddock == told.get("paddock") and shut.until]
    if len(here) != 1:
        return None
    label = say("form.met", condition=here[0])
    choices = (Choice(here[0], label),)
    return FormField("met", label, "", "tick", told.get("met", ""), "", False, False, choices)


def _kind(picture: Picture, entry: Entry, wanted: Field) -> str:
    if wanted.name == "at":
        return "hidden"
    if wanted.name == "file":
        return "file"
    if wanted.name in ("into", "new_klass") and entry.kind != "merged":
        return "text"
    if choices_of(picture, wanted.name, entry.kind):
        return "choice"
    return {Quantity: "quantity", int: "whole", date: "day"}.get(wanted.type, "text")


def _asked(
    picture: Picture, entry: Entry, name: str, told: Mapping[str, str], *, kind: str, required: bool
) -> FormField:
    choices = choices_of(picture, name, entry.kind)
    asked = (entry.subject, *(s.rstrip("?*") for s in entry.slots), *FIRST.get(entry.kind, ()), CLASS)
    more = not required and name not in asked and entry.kind != "looked"
    unit = _unit(picture, entry, name) if kind == "quantity" else ""
    label, hint = (field_words(what, entry, name) for what in ("label", "hint"))
    return FormField(name, label, hint, kind, told.get(name, ""), unit, required, more, choices)


def _shared(picture: Picture, entry: Entry, name: str, told: Mapping[str, str]) -> FormField:
    """Return a field that every entry has; the reason of a move into a shut paddock is asked first."""
    kind = {WHEN: "time", "planned": "tick"}.get(name, "text")
    into_shut = name == "because" and entry.kind == "moved" and _shut(picture, told.get("to", ""))
    label = say("form.label.moved.because_shut") if into_shut else field_words("label", entry, name)
    hint = field_words("hint", entry, name)
    return FormField(name, label, hint, kind, told.get(name, ""), "", into_shut, not into_shut, ())


def _shut(picture: Picture, paddock: str) -> bool:
    return picture.state.shut_now(paddock) is not None


def _unit(picture: Picture, entry: Entry, name: str) -> str:
    """Return the unit that a bare number takes, in the units that the person reads."""
    system: System = picture.farm.units
    dimension = fields_of(entry.kind)[name].dimension
    if dimension.startswith("count"):
        return "bales"
    if dimension == "money":
        return next((price.unit for _, price in picture.farm.prices if price.dimension == "money"), "USD")
    if dimension == "time":
        return "h"
    if dimension == "share":
        return "%"
    if entry.kind == "forecast":
        return ""
    return CHOSEN[system]["rain" if name in ("depth", "rain") else dimension]


def field_words(what: str, entry: Entry, name: str) -> str:
    """Return the label or the hint of a field: of this kind of entry, else of the field anywhere."""
    name = name.replace(":", "_")
    for key in (f"form.{what}.{entry.kind}.{name}", f"form.{what}.{name}"):
        if known(key):
            return say(key)
    return "" if what == "hint" else say(f"form.label.{name}")
