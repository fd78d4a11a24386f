"""A number for a person: value, range, unit, mark, age, and what it was made from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from browseline.units import amount_words
from browseline.words import linked

Mark = Literal["M", "B", "G"]
Basis = Literal[
    "farm",
    "published-read",
    "published-copy",
    "derived",
    "conflict",
    "common-practice",
    "from-memory",
    "placeholder",
]

BASES: dict[Basis, Mark] = {
    "farm": "M",
    "published-read": "B",
    "published-copy": "B",
    "derived": "B",
    "conflict": "B",
    "common-practice": "G",
    "from-memory": "G",
    "placeholder": "G",
}
NINE_TENTHS = 1.2815515655446004
"""Spreads from the middle to the ends of an 80 % range: the nine-tenths point of the normal. [1]"""
MOST_TEXTS = 12
"""So many typed texts are told in a sum; of more, how many there are."""
_WEAKNESS: dict[Mark, int] = {"M": 0, "B": 1, "G": 2}


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a figure was read: a source of the tables, or who measured it and when."""

    source: str
    locator: str = ""
    basis: Basis = "farm"
    who: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A printed number that can answer "why?".

    Parameters
    ----------
    name : str
        Key of its words, ``figures.<name>``.
    value, low, high : float or None
        The likely value and the 80 % range, in ``unit``. None is "not known", never 0.
    unit : str
        A word of ``units.UNITS``.
    origins : tuple of Origin
        Where a number that was not calculated comes from.
    formula : str
        The calculation with its numbers in it.
    parts : tuple of Figure
        The figures it was calculated from.
    as_of : date, optional
        The day the number was measured or stands for.
    about : str
        What it belongs to: a paddock, a mob, a species.
    """

    name: str
    value: float | None
    unit: str
    low: float | None = None
    high: float | None = None
    origins: tuple[Origin, ...] = ()
    formula: str = ""
    parts: tuple[Figure, ...] = ()
    as_of: date | None = None
    about: str = ""
    typed: str = ""

    @property
    def mark(self) -> Mark:
        """Return M (measured here), B (book) or G (guess): the weakest of all it is made from."""
        return weakest(self._marks())

    def _marks(self) -> Iterator[Mark]:
        for origin in self.origins:
            yield BASES[origin.basis]
        for part in self.parts:
            yield part.mark

    def age_d(self, today: date) -> int | None:
        """Return the age in days of the oldest measurement in it, or None. [d]"""
        ages = [part.age_d(today) for part in self.parts]
        if self.as_of is not None:
            ages.append((today - self.as_of).days)
        known = [age for age in ages if age is not None]
        return max(known) if known else None


def money_words(figure: Figure, digits: int = 0) -> str:
    """Return a figure of money in words, linked to it: −$8,390."""
    return linked(amount_words(figure.value or 0.0, figure.unit, digits), figure)


def weakest(marks: Iterable[Mark]) -> Mark:
    """Return the weakest of some marks; a number with no origin is a guess."""
    found = list(marks)
    return max(found, key=_WEAKNESS.__getitem__) if found else "G"


def typed(
    name: str,
    value: float,
    unit: str,
    text: str,
    *,
    about: str = "",
    as_of: date | None = None,
    who: str = "",
) -> Figure:
    """Return the figure of a number that somebody on this farm typed."""
    origin = Origin("farm", basis="farm", who=who)
    return Figure(name, value, unit, origins=(origin,), about=about, as_of=as_of, typed=text)


def entered(
    name: str,
    unit: str,
    entries: Sequence[tuple[float, str, date, str]],
    *,
    about: str = "",
) -> Figure:
    """Return the sum of what people entered in the record, with the texts they typed.

    Parameters
    ----------
    entries : sequence of (value, text, day, who)
        One an entry, in order of days. ``as_of`` is the newest day; nothing entered is 0.
    """
    if not entries:
        return Figure(name, 0.0, unit, origins=(Origin("farm", "record"),), formula="0", about=about)
    values, texts, days, people = zip(*entries, strict=True)
    origins = tuple(Origin("farm", basis="farm", who=who) for who in dict.fromkeys(people))
    formula, typed_text = ("", texts[0]) if len(texts) == 1 else (_added(texts), "")
    return Figure(
        name, sum(values), unit, origins=origins, formula=formula, as_of=max(days), about=about,
        typed=typed_text,
    )  # fmt: skip


def _added(texts: Sequence[str]) -> str:
    """Return texts with plus signs between; of very many how many there are."""
    told = " + ".join(texts[:MOST_TEXTS])
    return told if len(texts) <= MOST_TEXTS else f"{told} + … ({len(texts)})"
