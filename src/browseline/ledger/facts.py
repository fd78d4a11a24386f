"""Plain facts of a farm as figures: areas, counts, lengths of days, each with where it stands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from browseline.farm.records import Paddock
from browseline.figures import NINE_TENTHS, Figure, Origin, typed
from browseline.tables import Row
from browseline.words import linked, say

RECORD = Origin("farm", "record")
"""Whatever the record's entries add up to."""


def counted(name: str, value: float, unit: str, *, about: str = "", formula: str = "") -> Figure:
    """Return a number that the entries of the record add up to."""
    return Figure(name, value, unit, origins=(RECORD,), about=about, formula=formula)


def rounded_up(formula: str) -> str:
    """Return a formula that says that whole ones are counted."""
    return say("account.rounded_up", formula=formula)


def quoted(row: Row, text: str = "") -> str:
    """Return words of a source (the note of a row, if no others are given), linked to where they stand."""
    return linked(text or row.note, Origin(row.source, row.locator, row.basis))


def area(paddock: Paddock) -> Figure:
    """Return the area of a paddock that animals graze: without its tree rows. [ha]"""
    whole = whole_area(paddock)
    if not paddock.row_area_ha:
        return whole
    rows = typed("area_rows", paddock.row_area_ha, "ha", "", about=paddock.name)
    return Figure(
        "area_grazed", paddock.grazed_ha, "ha", parts=(whole, rows), about=paddock.name,
        formula=f"{paddock.area_ha:.4g} ha − {paddock.row_area_ha:.3g} ha",
    )  # fmt: skip


def whole_area(paddock: Paddock) -> Figure:
    """Return the area of a paddock: typed, or as drawn on the map with its spread. [ha]"""
    if paddock.deeded is not None:
        return typed("area_whole", paddock.area_ha, "ha", paddock.deeded.text, about=paddock.name)
    spread = NINE_TENTHS * (paddock.area_sd_ha or 0.0)
    low, high = (paddock.area_ha + sign * spread if spread else None for sign in (-1, 1))
    return Figure(
        "area_whole", paddock.area_ha, "ha", low, high, origins=(Origin("farm"),),
        formula=say("account.area.map"), about=paddock.name,
    )  # fmt: skip


def area_of_all(paddocks: Sequence[Paddock], about: str = "", *, grazed: bool = True) -> Figure:
    """Return the area of paddocks together, grazed or with their tree rows. [ha]"""
    parts = tuple(area(paddock) if grazed else whole_area(paddock) for paddock in paddocks)
    formula = " + ".join(f"{part.value:.3g} ha" for part in parts) or "0"
    value = sum(part.value or 0.0 for part in parts)
    return Figure("area_together", value, "ha", parts=parts, formula=formula, about=about)


def days_between(first: date, last: date, origins: Iterable[Origin] = (Origin("farm"),)) -> Figure:
    """Return the days from one day up to another. [d]"""
    formula = f"{last.isoformat()} − {first.isoformat()}"
    return Figure("days_between", (last - first).days, "d", origins=tuple(origins), formula=formula)
