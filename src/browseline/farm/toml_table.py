"""One table of ``farm.toml``, read key by key: what is wrong becomes a finding, the rest is used."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from browseline.farm.bounds import Bounds
from browseline.farm.names import nearest
from browseline.farm.names import words as list_of
from browseline.farm.told import Told, shown, str_of
from browseline.farm.toml_lines import Path
from browseline.units import CHOSEN, UNITS, NotAQuantity, Quantity, System, convert, parse, plain
from browseline.words import say

LONGEST_NUMBER = 200
LONGEST_TEXT = 2000
MOST_NUMBER = 1e15
PLAIN_SHARE = "1"
MOST_LISTED = 40
FEW_LISTED = 14


class Table:
    """A table and where it stands. Every reader returns None (or a default) for what is not usable."""

    def __init__(self, told: Told, path: Path, data: Mapping[str, Any], units: System = "acres") -> None:
        self.told, self.path, self.data, self.units = told, path, data, units
        self.asked: set[str] = set()
        self.bad: set[str] = set()

    # ------------------------------------------------------------ what is there

    def has(self, key: str) -> bool:
        """Return whether a key was typed."""
        return key in self.data

    def at(self, key: str) -> Path:
        """Return the path of a key."""
        return (*self.path, key)

    def _take(self, key: str, needed: bool = False) -> Any:
        self.asked.add(key)
        value = self.data.get(key)
        if value is None and needed:
            self.bad.add(key)
            self.told.finding("farm.missing", self.path, key=key, table=self.title())
        return value

    def title(self) -> str:
        """Return the table's heading as it is written in the file."""
        names = ".".join(str(part) for part in self.path if isinstance(part, str))
        if not names:
            return self.told.name
        return f"[[{names}]]" if isinstance(self.path[-1], int) else f"[{names}]"

    def refuse(self, key: str, wanted: str) -> None:
        """Say that a value is of the wrong sort; ``wanted`` is a key of the catalogue."""
        self.bad.add(key)
        self.told.finding(
            "farm.sort",
            self.at(key),
            key=key,
            value=shown(self.data[key]),
            wanted=say(f"findings.wanted.{wanted}"),
        )

    # ------------------------------------------------------------ words and plain counts

    def text(self, key: str, *, needed: bool = False) -> str | None:
        """Return a text; a whole number counts as one, since ids are often numbers."""
        value = self._take(key, needed)
        if value is None:
            return None
        if isinstance(value, int) and not isinstance(value, bool):
            value = shown(value)
        if not isinstance(value, str) or len(value) > LONGEST_TEXT:
            self.refuse(key, "text")
            return None
        if not value.strip():
            if needed:
                self.bad.add(key)
                self.told.finding("farm.empty", self.at(key), key=key)
            return None
        return value.strip()

    def word(self, key: str, which: str, *, of: str = "", needed: bool = False) -> str | None:
        """Return a word of a closed list."""
        typed = self.text(key, needed=needed)
        return None if typed is None else self.listed(key, typed, which, of)

    def listed(self, key: str, typed: str, which: str, of: str = "") -> str | None:
        """Return a typed word if a closed list has it, else say which word is nearest."""
        return self._known(key, typed, list_of(which, of))

    def one_of(self, key: str, known: Sequence[str]) -> str | None:
        """Return a text that is one of a few; None if it was not typed."""
        typed = self.text(key)
        return self._known(key, typed, known) if typed is not None else None

    def _known(self, key: str, typed: str, known: Sequence[str]) -> str | None:
        if typed in known:
            return typed
        self.bad.add(key)
        near = nearest(typed, known)
        fields: dict[str, Any] = {"key": key, "value": shown(typed)}
        if not known:
            self.told.finding("farm.word_of_none", self.at(key), **fields)
        elif near is None:
            self.told.finding("farm.word", self.at(key), known=listed(known, MOST_LISTED), **fields)
        else:
            few = listed(known, FEW_LISTED)
            self.told.finding("farm.word_near", self.at(key), near=near, known=few, **fields)
        return None

    def flag(self, key: str, default: bool = False) -> bool:
        """Return true or false."""
        value = self._take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self.refuse(key, "flag")
            return default
        return value

    def whole(self, key: str, least: int, most: int, *, needed: bool = False) -> int | None:
        """Return a plain count."""
        value = self._take(key, needed)
        if value is None:
            return None
        if isinstance(value, str) and value.strip().removeprefix("-").isdecimal() and len(value) < 20:
            value = int(value)
        if isinstance(value, bool) or not isinstance(value, int):
            self.refuse(key, "whole")
            return None
        if not least <= value <= most:
            self._impossible(key, value, from_to(f"{least:,}", f"{most:,}"))
            return None
        return value

    def number(self, key: str, least: float, most: float, *, needed: bool = False) -> float | None:
        """Return a plain number that needs no unit, such as a latitude."""
        value = self._take(key, needed)
        return None if value is None else self._number(key, value, least, most)

    def _number(self, key: str, value: Any, least: float, most: float) -> float | None:
        if not is_number(value):
            self.refuse(key, "number")
            return None
        if not least <= value <= most:
            self._impossible(key, value, from_to(f"{least:g}", f"{most:g}"))
            return None
        return float(value)

    def _impossible(self, key: str, value: object, span: str) -> None:
        self.bad.add(key)
        self.told.finding("farm.impossible", self.at(key), key=key, value=shown(value), span=span)

    # ------------------------------------------------------------ quantities

    def quantity(
        self,
        key: str,
        dimension: str,
        bounds: Bounds | None = None,
        *,
        bare: str | None = None,
        needed: bool = False,
    ) -> Quantity | None:
        """Return a number with its unit as typed; ``bare`` is the unit of a number that is a plain count."""
        value = self._take(key, needed)
        if value is None:
            return None
        if isinstance(value, (list, dict, date, bool)) or len(str_of(value)) > LONGEST_NUMBER:
            self.refuse(key, "quantity")
            return None
        try:
            found = parse(str_of(value), dimension, bare)
        except NotAQuantity as wrong:
            self.no_quantity(key, wrong)
            return None
        if bounds is not None and not bounds.hold(found.to(bounds.unit if bounds.unit != "%" else "1")):
            self._out_of_bounds(key, found, bounds)
            return None
        return found

    def no_quantity(self, key: str, wrong: NotAQuantity) -> None:
        """Say in what way a value is not a number with its unit, or not a unit."""
        self.bad.add(key)
        unit = example_unit(wrong.wanted, self.units)
        fields: dict[str, Any] = {"key": key, "value": shown(wrong.text), "unit": unit}
        fields["units"] = ", ".join(word for word in units_of(wrong.wanted) if word != PLAIN_SHARE)
        path = self.at(key)
        if wrong.reason == "missing_unit":
            self.told.finding("farm.missing_unit", path, meant=_meant(wrong), **fields)
        elif wrong.reason == "unit":
            self.told.finding("farm.unknown_unit", path, **fields)
        elif wrong.reason == "dimension":
            self.told.finding("farm.other_unit", path, **fields)
        else:
            self.told.finding("farm.no_number", path, **fields)

    def _out_of_bounds(self, key: str, found: Quantity, bounds: Bounds) -> None:
        inside = bounds.unit if bounds.unit != "%" else "1"
        least, most = (
            f"{plain(float(convert(Fraction(x), inside, found.unit)))} {found.unit}"
            for x in (bounds.least, bounds.most)
        )
        self._impossible(key, found.text, above_to(least, most) if bounds.open else from_to(least, most))

    # ------------------------------------------------------------ dates, lists, tables

    def day(self, key: str, *, needed: bool = False) -> date | None:
        """Return a day: a TOML date, or a text with the year first."""
        value = self._take(key, needed)
        if value is None:
            return None
        found = as_day(value)
        if found is None:
            self.refuse(key, "day")
        return found

    def instant(self, key: str) -> str | None:
        """Return an instant as ISO text: a TOML date or time, or a text such as 2026-05-12 08:00."""
        value = self._take(key)
        if value is None:
            return None
        text = value.isoformat(sep=" ") if isinstance(value, datetime) else str_of(value).strip()
        try:
            datetime.fromisoformat(text)
        except ValueError:
            self.refuse(key, "instant")
            return None
        return text

    def names(self, key: str) -> tuple[str, ...]:
        """Return a list of texts; a single text is a list of one."""
        value = self._take(key)
        if value is None:
            return ()
        items = value if isinstance(value, list) else [value]
        if not all(isinstance(i, (str, int)) and not isinstance(i, bool) for i in items):
            self.refuse(key, "names")
            return ()
        return tuple(shown(i).strip() for i in items)

    def names_of(self, key: str, known: Sequence[str]) -> tuple[str, ...]:
        """Return a list of texts of which each is one of a few."""
        return tuple(name for name in self.names(key) if self._known(key, name, known) is not None)

    def numbers(self, key: str) -> tuple[float, ...] | None:
        """Return a list of plain numbers whose unit stands beside it."""
        value = self._take(key)
        if value is None:
            return None
        if not isinstance(value, list) or not all(is_number(item) for item in value):
            self.refuse(key, "numbers")
            return None
        return tuple(float(item) for item in value)

    def table(self, key: str) -> Table | None:
        """Return the table under a key."""
        value = self._take(key)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.refuse(key, "table")
            return None
        return Table(self.told, self.at(key), value, self.units)

    def tables(self, key: str) -> Iterator[Table]:
        """Yield the tables of an array of tables."""
        value = self._take(key)
        if value is None:
            return
        if not isinstance(value, list):
            self.refuse(key, "tables")
            return
        for number, item in enumerate(value):
            if isinstance(item, dict):
                yield Table(self.told, (*self.at(key), number), item, self.units)
            else:
                self.refuse(key, "tables")

    def named(self, key: str) -> Iterator[tuple[str, Table]]:
        """Yield name and table of every table under a key."""
        under = self.table(key)
        if under is None:
            return
        for name in under.data:
            inner = under.table(name)
            if inner is not None:
                yield name, inner

    def close(self) -> None:
        """Say of every key that nobody asked for that it is not known."""
        for key in self.data:
            if key not in self.asked:
                self._unknown(key)

    def _unknown(self, key: str) -> None:
        near = nearest(key, self.asked)
        fields: dict[str, Any] = {"key": shown(key), "table": self.title()}
        if not self.asked:
            self.told.finding("farm.key_of_none", self.at(key), **fields)
        elif near is None:
            known = ", ".join(sorted(self.asked))
            self.told.finding("farm.unknown_key", self.at(key), known=known, **fields)
        else:
            self.told.finding("farm.unknown_key_near", self.at(key), near=near, **fields)


def from_to(least: str, most: str) -> str:
    """Return a span in words, its ends included."""
    return say("findings.span.from", least=least, most=most)


def above_to(least: str, most: str) -> str:
    """Return a span in words, its lower end left out."""
    return say("findings.span.above", least=least, most=most)


def listed(known: Sequence[str], most: int) -> str:
    """Return words with commas, the first so many of them; in quotes where a comma is part of a word."""
    quoted = any("," in word for word in known)
    shown_words = [f'"{word}"' if quoted else word for word in known[:most]]
    return ", ".join(shown_words) + (", …" if len(known) > most else "")


def is_number(value: Any) -> bool:
    """Return whether a value is a finite number."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return False
    return abs(value) < MOST_NUMBER


def as_day(value: Any) -> date | None:
    """Return the day of a TOML date or of a text with the year first, or None."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            return None
    return None


def units_of(dimension: str) -> Sequence[str]:
    """Return the unit words of a dimension."""
    return [word for word, unit in UNITS.items() if unit.dimension in dimension.split("|")]


def example_unit(dimension: str, units: System) -> str:
    """Return the unit that a person of these units would most likely write."""
    if dimension == "share":
        return "%"
    usual = CHOSEN[units].get(dimension)
    return usual if usual is not None else next(iter(units_of(dimension)), "")


def _meant(wrong: NotAQuantity) -> str:
    """Return a number that lacks its unit as it is best typed: a share such as 0.2 is 20 in the hundred."""
    typed = shown(wrong.text)
    if wrong.wanted != "share" or not is_plain(typed):
        return typed
    share = Fraction(typed.strip())
    return plain(float(share * 100)) if 0 < share < 1 else typed


def is_plain(typed: str) -> bool:
    """Return whether a text is a plain decimal number."""
    return typed.strip().replace(".", "", 1).isdecimal()
