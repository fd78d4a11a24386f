"""Numbers in sentences that nobody linked, found again by value among the figures that the sentence rests on.

A limit says its reason as a sentence beside its figures. Here each number of such a sentence, with the unit
behind it, is linked to the figure that shows as that number: of the record that holds the sentence first,
then of the records around it. A number that no figure shows as stays without a link.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache, cached_property
from typing import Any, TypeVar

from browseline.figures import Figure
from browseline.units import UNITS, factor, unit_word
from browseline.words import Link, Linked, links_of, say

NUMBER = re.compile(
    r"(?<![\w.:-])(?P<first>\d[\d,]*(?:\.\d+)?)(?P<to>[-–]\d[\d,]*(?:\.\d+)?)?(?![\w:]|[.-]\d)"
    r"(?:\s*(?P<unit>%|[A-Za-z]+[23]?(?:/[A-Za-z]+[23]?)*))?"
)
COMMAND = re.compile(r"`([^`]+)`")
"""What is typed at a computer stands between such marks in a sentence."""
DAYS = {"day": "d", "days": "d"}
PLAIN = frozenset({"id", "schema", "place_id", "paddock", "limit", "farm", "name", "key", "hard", "mark"})
"""Fields that hold names, never sentences."""
COUNTED = ("share", "count")
T = TypeVar("T")


@dataclass(frozen=True)
class Level:
    """The figures in a record with all that they are made from; looked for when a number asks for them."""

    record: Any

    @classmethod
    def make(cls, figures: Sequence[Figure]) -> Level:
        """Return the level of some figures."""
        return cls(tuple(figures))

    @cached_property
    def of(self) -> dict[str, list[tuple[float, str, Figure]]]:
        """Return value, unit and figure of every value and end of a range, by what they measure."""
        made: dict[str, list[tuple[float, str, Figure]]] = {}
        for figure in dict.fromkeys(part for whole in _own(self.record) for part in _tree(whole)):
            for value in (figure.value, figure.low, figure.high):
                if value is not None:
                    made.setdefault(UNITS[figure.unit].dimension, []).append((value, figure.unit, figure))
        return made

    def find(self, ends: Sequence[str], unit: str | None) -> Figure | None:
        """Return the figure that shows as a number, or as both ends of a range, in a unit or bare."""
        dimensions = (UNITS[unit].dimension,) if unit is not None else COUNTED
        held = [one for dimension in dimensions for one in self.of.get(dimension, ())]
        shown = [[f for value, own, f in held if _shows(value, own, end, unit)] for end in ends]
        return next((f for f in shown[0] if all(f in others for others in shown)), None)


def _tree(figure: Figure) -> Iterator[Figure]:
    yield figure
    for part in figure.parts:
        yield from _tree(part)


def _shows(value: float, own: str, number: str, unit: str | None) -> bool:
    plain = number.replace(",", "")
    digits = len(plain.partition(".")[2])
    shown = value if unit is None or UNITS[unit].offset or UNITS[own].offset else value * factor(own, unit)
    return abs(abs(shown) - float(plain)) <= 0.5000001 * 10.0**-digits


def linked_in(record: T, around: tuple[Level, ...] = ()) -> T:
    """Return a record with the numbers of its sentences linked to its figures, or to those around it."""
    if not is_dataclass(record) or isinstance(record, type | Figure):
        return record
    levels = (Level(record), *around)
    names = [field.name for field in fields(record) if field.repr and field.name not in PLAIN]
    old = {name: getattr(record, name) for name in names}
    new = {name: _linked(item, levels) for name, item in old.items()}
    changed = {name: item for name, item in new.items() if item is not old[name]}
    return replace(record, **changed) if changed else record


def _linked(item: Any, levels: tuple[Level, ...]) -> Any:
    if isinstance(item, str):
        return matched(item, levels)
    if isinstance(item, tuple):
        new = tuple(_linked(part, levels) for part in item)
        return item if all(a is b for a, b in zip(new, item, strict=True)) else new
    return linked_in(item, levels)


def _own(item: Any) -> Iterator[Figure]:
    """Yield the figures of a record and of the records in it."""
    if isinstance(item, Figure):
        yield item
        return
    parts = item if isinstance(item, tuple) else ()
    if is_dataclass(item) and not isinstance(item, type):
        parts = tuple(getattr(item, field.name) for field in fields(item) if field.repr)
    for part in parts:
        yield from _own(part)


@cache
def months() -> frozenset[str]:
    """Return the names of the months: the number before one is a day, never an amount."""
    return frozenset(say(f"dates.month.{month}") for month in range(1, 13))


def matched(text: str, levels: Sequence[Level]) -> str:
    """Return a text with its numbers linked to the figures that show as them; what is to be typed is none."""
    links, typed = list(links_of(text)), [one.span() for one in COMMAND.finditer(text)]
    for found in NUMBER.finditer(text):
        end = found.end("to") if found["to"] else found.end("first")
        held = [*((link.start, link.end) for link in links), *typed]
        if any(first < end and found.start() < last for first, last in held):
            continue
        word = found["unit"] or ""
        if word in months():
            continue
        unit = DAYS.get(word) or unit_word(word)
        ends = [found["first"].rstrip(","), *([found["to"][1:]] if found["to"] else [])]
        figure = next((f for level in levels if (f := level.find(ends, unit)) is not None), None)
        if figure is not None:
            links.append(Link(found.start(), found.end() if unit else end, figure))
    return text if len(links) == len(links_of(text)) else Linked(text, sorted(links, key=lambda x: x.start))
