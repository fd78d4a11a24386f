"""The rule of a planting in metres, what is not typed taken from the tables with its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from browseline import tables
from browseline.farm.records import LayoutRule, Planting
from browseline.farm.site import tree_row
from browseline.figures import Basis, Origin
from browseline.layout.form import KeptOff
from browseline.science.spacing import alley_for_passes_m
from browseline.units import Quantity, factor

TABLE = "layout"
FARM = (Origin("farm", basis="farm"),)
SMALL, MEDIUM = "height to 25 ft", "height to 45 ft"
LOW, TALL, TALLER = "height to 20 ft", "height to 40 ft", "taller"
CLASSES_FT = {LOW: 20.0, SMALL: 25.0, TALL: 40.0, MEDIUM: 45.0}
KINDS = ("fence", "boundary", "building", "overhead_line", "buried_line", "water")


@dataclass(frozen=True, slots=True)
class Spaced:
    """A rule with every number known. Lengths in m, the drift as a share."""

    in_row_m: float
    alley_m: float
    rows_in_set: int
    between_m: float
    staggered: bool
    bearing_deg: float | None
    contour: bool
    drift_frac: float
    headland_m: float
    implement_m: float | None
    clearance_m: float
    row_width_m: float

    @property
    def period_m(self) -> float:
        """Return how far the first row of a set is from that of the next. [m]"""
        return (self.rows_in_set - 1) * self.between_m + self.alley_m


def spaced(planting: Planting) -> Spaced | None:
    """Return the rule of a planting in metres; None without a spacing or an alley."""
    rule = planting.layout or LayoutRule()
    implement_m = _m(rule.implement)
    clearance_m = clearance(planting)
    alley_m = _m(planting.alley)
    if alley_m is None and implement_m is not None and rule.passes is not None:
        alley_m = alley_for_passes_m(rule.passes, implement_m, clearance_m)
    if planting.spacing is None or alley_m is None:
        return None
    drift = tables.row(TABLE, "contour_drift", "rows on the contour").middle() * factor("%", "1")
    return Spaced(
        planting.spacing.to("m"),
        alley_m,
        rule.rows_in_set,
        _m(rule.between) or 0.0,
        rule.staggered,
        rule.bearing_deg,
        rule.contour,
        rule.drift.to("1") if rule.drift is not None else drift,
        headland(rule),
        implement_m,
        clearance_m,
        row_width_m(planting),
    )


def _m(quantity: Quantity | None) -> float | None:
    return quantity.to("m") if quantity is not None else None


def clearance(planting: Planting) -> float:
    """Return what is left free of machines on each side of a row. [m]"""
    rule = planting.layout
    if rule is not None and rule.clearance is not None:
        return rule.clearance.to("m")
    return tables.row(TABLE, "clearance", "each side of a row").middle()


def headland(rule: LayoutRule) -> float:
    """Return the room to turn at the ends of rows; none is kept where no implement is named. [m]"""
    if rule.headland is not None:
        return rule.headland.to("m")
    if rule.implement is None:
        return 0.0
    return tables.row(TABLE, "headland", "tractor and mower").middle()


def row_width_m(planting: Planting) -> float:
    """Return how wide the strip under a row is that is not grazed. [m]"""
    return planting.row_width.to("m") if planting.row_width is not None else 2 * clearance(planting)


# ---------------------------------------------------------------- how far stems keep off


def keeps_off(planting: Planting) -> tuple[KeptOff, ...]:
    """Return how far the stems of a planting keep off fences, boundary, buildings, lines and water.

    What the farm typed goes first. For water no figure is known: it is kept only as typed.
    """
    rule = planting.layout or LayoutRule()
    typed = (rule.from_fence, rule.from_boundary, rule.from_building, rule.from_overhead, rule.from_buried,
             rule.from_water)  # fmt: skip
    usual = dict(_usual(planting.species))
    found = []
    for what, quantity in zip(KINDS, typed, strict=True):
        if quantity is not None:
            found.append(KeptOff(planting.id, what, quantity.to("m"), FARM))
        elif what in usual:
            found.append(KeptOff(planting.id, what, *usual[what]))
    return tuple(found)


def _usual(species: str) -> Iterator[tuple[str, tuple[float, tuple[Origin, ...]]]]:
    """Yield, for each kind of thing, the distance of the tables and its origins. [m]"""
    row = tree_row(species)
    height_m = float(row.get("mature_height_high_m") or "inf")
    half_crown_m = float(row.get("crown_width_high_m") or 0.0) / 2
    tall, wide = _origin(row, "height"), _origin(row, "crown")
    yield "fence", _row("fence", "any tree", high=True)
    least_m, where = _row("boundary", "any tree")
    yield "boundary", (half_crown_m, (*where, *wide)) if half_crown_m > least_m else (least_m, where)
    near_m, where = _row("building", _height_class(height_m, (SMALL, MEDIUM)))
    yield "building", (near_m, (*where, *tall))
    towns = _row("overhead_community", _height_class(height_m, (SMALL, MEDIUM)))
    stricter = _row("overhead_cooperative", _height_class(height_m, (LOW, TALL)))
    farther = max(towns, stricter, key=lambda one: one[0])
    yield "overhead_line", (farther[0], (*farther[1], *tall))
    yield "buried_line", _row("buried", "any tree", high=True)


def _height_class(height_m: float, classes: tuple[str, str]) -> str:
    """Return the class of a grown height; a height that is not known counts as tall."""
    return next((c for c in classes if height_m <= CLASSES_FT[c] * factor("ft", "m")), TALLER)


def _row(key: str, applies_to: str, high: bool = False) -> tuple[float, tuple[Origin, ...]]:
    row = tables.row(TABLE, key, applies_to)
    number = row.high if high and row.high is not None else row.middle()
    origin = Origin(row.source, row.locator, row.basis, note=row.note)
    return number * factor(row.unit, "m"), (origin,)


def _origin(row: object, column: str) -> tuple[Origin, ...]:
    found = row if isinstance(row, dict) else {}
    source, basis = found.get(f"{column}_source", ""), found.get(f"{column}_basis", "")
    made: Basis = basis or "placeholder"
    return (Origin(source, "grown size", made),) if source else ()
