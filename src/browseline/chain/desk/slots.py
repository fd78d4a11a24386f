"""From the words and options of an entry to the subject, the part and the body's values."""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from datetime import date
from functools import cache
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from browseline.chain.desk.beasts import head_texts, one_class, split_head
from browseline.chain.desk.lookup import Names
from browseline.chain.desk.times import day, no_such_day, wanted_day
from browseline.errors import BadInput, finding
from browseline.events import KINDS
from browseline.events.verbs import Entry
from browseline.farm.toml_table import units_of
from browseline.record.state import MobState
from browseline.units import CHOSEN, NotAQuantity, Quantity, parse, unit_word
from browseline.words import say

CLOCK = ("start", "stop")
"""What ``work`` takes in place of a time."""
YES, NO = ("yes", "true", "1"), ("no", "false", "0")
MONEY = "money"
COMMA = re.compile(r"\D*\d+,(?!\d{3}(?!\d))\d")
"""A comma that parts no thousands: 4,5."""
_USE = {"depth": "rain", "rain": "rain"}


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a body: its type, the dimension of a quantity, and whether it must be said."""

    name: str
    type: Any
    dimension: str
    required: bool


@dataclass(slots=True)
class Filled:
    """An entry as far as it has been read."""

    subject: str = ""
    part: str = ""
    value: dict[str, Any] = field(default_factory=dict)
    mob: MobState | None = None
    said: str = ""


@cache
def fields_of(kind: str) -> Mapping[str, Field]:
    """Return the fields of a kind's body by name."""
    hints = get_type_hints(KINDS[kind], include_extras=True)
    return {
        f.name: Field(f.name, *_bare(hints[f.name]), f.default is MISSING)
        for f in fields(KINDS[kind])  # type: ignore[arg-type]
    }


def _bare(hint: Any) -> tuple[Any, str]:
    if get_origin(hint) in (types.UnionType, typing.Union):
        hint = next(part for part in get_args(hint) if part is not type(None))
    if get_origin(hint) is Annotated:
        kind, dimension = get_args(hint)
        return kind, dimension
    return get_origin(hint) or hint, ""


def fill(entry: Entry, words: list[str], options: Mapping[str, str], names: Names, today: date) -> Filled:
    """Return what the words and options of an entry say.

    Raises
    ------
    BadInput
        If a name is not there, a word is no number, or words are left over.
    """
    filled = Filled()
    left = list(words)
    texts = dict(options)
    for slot in entry.slots:
        name = slot.rstrip("?*")
        if name in texts or not left:
            continue
        if name == "time" and slot.endswith("?") and not _is_time(left[0]):
            continue
        if name == entry.subject and not filled.said:
            _take_subject(filled, slot, left, names)
        elif slot.endswith("*"):
            texts[name], left = " ".join(left), []
        elif name == "heads":
            texts["heads"] = _take_head(left)
        else:
            texts[name] = _take(entry, name, left)
    if left:
        example = say(f"cli.example.{entry.name}").removeprefix("browseline ")
        raise BadInput([finding("cli.words_left", " ".join(left), verb=entry.name, example=example)])
    _heads(entry, filled, texts, names)
    _class(filled, texts, names)
    for name, text in texts.items():
        filled.value[name] = read_value(entry.kind, name, text, names, filled, today)
    return filled


def _is_time(word: str) -> bool:
    """Return whether a word may say how long: a number, or a clock that is started or stopped."""
    return word[:1].isdigit() or word.casefold() in CLOCK


def _take_subject(filled: Filled, slot: str, left: list[str], names: Names) -> None:
    what = slot.rstrip("?")
    if slot.endswith("?") and left[0][:1].isdigit():
        return
    if what == "planting" and left[0].isdigit() and len(left) > 1 and not left[1].isdigit():
        left[0], left[1] = left[1], left[0]
    filled.said = left.pop(0)
    if what == "mob":
        filled.mob = names.mob(filled.said)
        filled.subject = filled.mob.id
    elif what == "paddock":
        filled.subject, filled.part = names.paddock(filled.said)
    elif what == "planting":
        filled.subject, row = names.planting_row(filled.said)
        filled.value |= {"row": row} if row else {}
    else:
        filled.subject = filled.said


def _take(entry: Entry, name: str, left: list[str]) -> str:
    """Take one word; of a number and a unit that stand apart, both."""
    text = left.pop(0)
    wanted = fields_of(entry.kind)[name]
    if wanted.dimension and left and not any(c.isalpha() for c in text) and unit_word(left[0]) is not None:
        return f"{text} {left.pop(0)}"
    if wanted.type is tuple and text.isdigit() and left and left[0].isalpha():
        return f"{text} {left.pop(0)}"
    return text


def _take_head(left: list[str]) -> str:
    text = left.pop(0)
    if text.isdigit() and left and left[0][:1].isalpha():
        return f"{text} {left.pop(0)}"
    return text


def _heads(entry: Entry, filled: Filled, texts: dict[str, str], names: Names) -> None:
    """Read a number and a class; where no mob was said, find the one that has the class."""
    said = texts.pop("heads", None)
    if said is None:
        return
    number, words = split_head(said)
    if filled.mob is None and "mob?" in entry.slots:
        filled.mob = names.mob_with(words)
        filled.subject = filled.mob.id
    kind, klass = one_class(names, filled.mob, words, texts.get("beast", ""))
    filled.subject = filled.subject or f"{words}" or klass
    texts |= {"head": str(number), "klass": texts.get("klass", klass), "beast": kind}


def _class(filled: Filled, texts: dict[str, str], names: Names) -> None:
    """Take a class that was said by its short word for the class that the mob holds."""
    if filled.mob is None or "klass" not in texts:
        return
    line = names.line(filled.mob, texts["klass"])
    if line is not None:
        texts |= {"klass": line.klass, "beast": line.kind}


def read_value(kind: str, name: str, text: str, names: Names, filled: Filled, today: date) -> Any:
    """Return the value of one field as the record keeps it: numbers as typed, days as ISO text.

    Raises
    ------
    BadInput
        If the text is not of the field's type.
    """
    wanted = fields_of(kind)[name]
    if (kind, name) == ("worked", "time") and text.casefold() in CLOCK:
        filled.value["clock"] = text.casefold()
        return ""
    where = f"--{name.replace('_', '-')} {text}"
    if wanted.type is Quantity:
        return quantity(kind, wanted, text, names, where)
    if wanted.type is date:
        return wanted_day(text, today, where).isoformat()
    if wanted.type is bool:
        if text.casefold() not in (*YES, *NO):
            raise BadInput([finding("cli.yes_or_no", where)])
        return text.casefold() in YES
    if wanted.type is int:
        if not text.isascii() or not text.isdigit():
            raise BadInput([finding("cli.whole_number", where, text=text)])
        return int(text)
    if name == "head":
        return head_texts(names, filled.mob, text)
    if kind == "shut" and name == "until":
        until = day(text, today)
        if until is None and (wrong := no_such_day(text, where)) is not None:
            raise BadInput([wrong])
        if until is not None:
            filled.value["until_day"] = until.isoformat()
            return ""
    return text


def quantity(kind: str, wanted: Field, text: str, names: Names, where: str) -> Any:
    """Return a quantity as typed; a bare number takes the unit that the farm chose for it."""
    if kind == "forecast" and wanted.name == "growth":
        return text
    try:
        found = parse(text, wanted.dimension, _default_unit(wanted, names))
    except NotAQuantity as wrong:
        raise not_a_quantity(wrong, where) from None
    if found.value < 0:
        raise BadInput([finding("cli.below_nothing", where)])
    return found.text


def _default_unit(wanted: Field, names: Names) -> str | None:
    if wanted.dimension.startswith("count"):
        return "bales"
    if wanted.dimension == "money":
        return next((price.unit for _, price in names.farm.prices if price.dimension == "money"), None)
    if wanted.dimension in ("length", "mass", "volume"):
        return CHOSEN[names.farm.units][_USE.get(wanted.name, wanted.dimension)]
    return None


def not_a_quantity(wrong: NotAQuantity, where: str) -> BadInput:
    """Return the finding of a text that is no number with a fitting unit."""
    money = wrong.wanted == MONEY and wrong.reason in ("unit", "dimension", "number")
    units, wanted = ", ".join(units_of(wrong.wanted)), wrong.wanted.replace("|", ", ")
    reason = "comma" if COMMA.match(wrong.text) else MONEY if money else wrong.reason
    code = f"cli.quantity.{reason}"
    point = wrong.text.replace(",", ".", 1)
    return BadInput([finding(code, where, text=wrong.text, wanted=wanted, units=units, point=point)])
