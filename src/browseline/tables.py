"""Coefficients with their sources: the rows of ``data/*.csv``."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import cast

from browseline.figures import Basis, Figure, Origin


@dataclass(frozen=True, slots=True)
class Row:
    """One coefficient. An empty value is None: only a range, or nothing, is known."""

    table: str
    key: str
    applies_to: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    source: str
    locator: str
    basis: Basis
    note: str = ""

    def middle(self) -> float:
        """Return the value, or the middle of the range where no value is given.

        Raises
        ------
        LookupError
            If the row holds neither.
        """
        if self.value is not None:
            return self.value
        if self.low is None or self.high is None:
            raise LookupError(f"{self.table}: {self.key} for {self.applies_to} has no number")
        return (self.low + self.high) / 2

    def figure(self, name: str, about: str = "") -> Figure:
        """Return the row as a figure that names its source."""
        origins = (Origin(self.source, self.locator, self.basis, note=self.note),)
        return Figure(name, self.middle(), self.unit, self.low, self.high, origins=origins, about=about)


def _number(text: str) -> float | None:
    return float(text) if text.strip() else None


def _lines(table: str) -> list[dict[str, str]]:
    path = resources.files("browseline") / "data" / f"{table}.csv"
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))


@cache
def table(name: str) -> Mapping[tuple[str, str], Row]:
    """Return every row of a table by key and what it applies to."""
    rows = {}
    for line in _lines(name):
        key, applies = line["key"], line["applies_to"]
        rows[key, applies] = Row(
            name,
            key,
            applies,
            _number(line["value"]),
            _number(line["low"]),
            _number(line["high"]),
            line["unit"],
            line["source"],
            line["locator"],
            cast("Basis", line["basis"]),
            line.get("note", ""),
        )
    return rows


def row(name: str, key: str, applies_to: str = "") -> Row:
    """Return one coefficient.

    Raises
    ------
    LookupError
        If the table has no such row.
    """
    try:
        return table(name)[key, applies_to]
    except KeyError:
        raise LookupError(f"{name}: no {key} for {applies_to!r}") from None


def applies(name: str, key: str) -> tuple[str, ...]:
    """Return all that a coefficient is known for, in the order of the table."""
    return tuple(a for k, a in table(name) if k == key)


@cache
def texts(name: str) -> tuple[Mapping[str, str], ...]:
    """Return the rows of a table of words (sources, names, cautions, conflicts)."""
    return tuple(_lines(name))


@cache
def sources() -> Mapping[str, Mapping[str, str]]:
    """Return every source by its key."""
    return {line["source_id"]: line for line in texts("sources")}
