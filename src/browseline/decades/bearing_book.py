"""What the table of yields knows of a species: its product, the ages and yields of a tree, how they vary."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.farm.site import tree_row
from browseline.figures import NINE_TENTHS, Origin
from browseline.tables import Row

Array = npt.NDArray[np.float64]
PRODUCTS = {
    "nuts": "nuts", "in-shell": "nuts", "fruit": "fruit", "pods": "pods", "acorns": "acorns", "sap": "sap",
}  # fmt: skip
"""What a product is called, by the first word that the table has for it."""
LIKE = {"chestnut_hybrid": "chestnut_chinese"}
"""Species that the list of species sends to the yields of another."""
AGES = re.compile(r"(\d+)-(\d+)$")


@dataclass(frozen=True)
class Bearing:
    """How trees of a species bear.

    Attributes
    ----------
    product, form : str
        *nuts*, *fruit*, *pods*, *acorns* or *sap*, and in which form the weight is: *hulled dry*.
    unit : str
        kg, or L of sap.
    from_yr, to_yr, yields : array, shape (row,)
        Ages of each row and the yield of a tree. [yr, yr, unit/tree/yr]
    rows : tuple of Row
    early_yr, late_yr : float
        How much earlier or later than the rows a planting may come into bearing. [yr]
    depth : float
        Of full and thin years in turn; 0 where none is known. [1]
    level : float
        Standard deviation of the log of the yield about the rows, shared by all years. [1]
    """

    product: str
    form: str
    unit: str
    from_yr: Array
    to_yr: Array
    yields: Array
    rows: tuple[Row, ...]
    early_yr: float
    late_yr: float
    depth: float
    level: float

    @property
    def last_yr(self) -> float:
        """Return the last age that the table knows. [yr]"""
        return float(self.to_yr[-1])

    @property
    def origins(self) -> tuple[Origin, ...]:
        """Return where the rows come from, each once."""
        found = (Origin(row.source, row.locator, row.basis, note=row.note) for row in self.rows)
        return tuple(dict.fromkeys(found))


@cache
def bearing(species: str) -> Bearing | None:
    """Return how a species bears; None where the table has no yields of it."""
    named = LIKE.get(species, species)
    found = [(a, b, product, row) for s, product, a, b, row in _rows() if s == named]
    if not found:
        return None
    found.sort(key=lambda one: one[0])
    words = found[0][2].split()
    begun, ended, _, rows = zip(*found, strict=True)
    shift = _shift(species)
    product = PRODUCTS[words[0]]
    return Bearing(
        product, " ".join(words if words[0] != product else words[1:]),
        "L" if rows[0].unit == "L/tap/yr" else "kg",
        np.array(begun), np.array(ended),
        np.array([row.middle() for row in rows]), rows, -shift, shift, _depth(named), _level(rows),
    )  # fmt: skip


@cache
def _rows() -> tuple[tuple[str, str, float, float, Row], ...]:
    """Return every row of yields with its species, product and ages."""
    out = []
    for applies in tables.applies("yields", "tree_yield"):
        species, product, ages = applies.rsplit(", ", 2)
        match = AGES.match(ages)
        if match is not None:
            row = tables.row("yields", "tree_yield", applies)
            out.append((species, product, float(match[1]), float(match[2]), row))
    return tuple(out)


def _shift(species: str) -> float:
    """Return half the range of the age at the first crop; 0 where none is known. [yr]"""
    row = tree_row(species)
    low, high = (row.get(f"first_bearing_{end}_yr", "") for end in ("low", "high"))
    return (float(high) - float(low)) / 2 if low and high else 0.0


def _depth(species: str) -> float:
    if species not in tables.applies("yields", "alternation"):
        return 0.0
    return tables.row("yields", "alternation", species).middle()


def _level(rows: tuple[Row, ...]) -> float:
    """Return the spread of the log that a species' own range tells, else the mean of those that tell one."""
    own = _spreads(rows)
    return float(np.mean(own or _spreads(tuple(row for *_, row in _rows()))))


def _spreads(rows: tuple[Row, ...]) -> list[float]:
    return [float(np.log(r.high / r.low) / (2 * NINE_TENTHS)) for r in rows if r.low and r.high]


def year_spread() -> float:
    """Return the spread of the log from year to year that full and thin years leave unexplained. [1]"""
    return tables.row("yields", "alternation_left", "locust_honey").middle()


def frost_row() -> Row:
    """Return the share of a crop that a late frost leaves. [1]"""
    return tables.row("yields", "frost_left", "any crop")
