"""What a layout is: trees in columns, rows, plantings and paddocks with their measures, findings.

Places are metres east and north of the middle of the farm's map, on an equal-area plane
(``layout/plane.py``), and longitude and latitude on WGS84.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from browseline.errors import Finding
from browseline.farm.records import Planting
from browseline.figures import Figure, Origin

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.int64]

Line = tuple[tuple[float, float], ...]
How = Literal["rule", "drawn", "surveyed"]
Crowns = Callable[[Planting, int], float | None]
"""Width of a planting's crowns so many years after planting, or None where it is not known. [m]"""


@dataclass(frozen=True, slots=True, eq=False)
class Trees:
    """Every place for a tree, in columns that cannot be written, ordered by row and along the row.

    ``row`` is the place of its row in ``Layout.rows``; ``number`` counts from 1 at the row's beginning.
    """

    row: Ints
    number: Ints
    east_m: Floats
    north_m: Floats
    longitude_deg: Floats
    latitude_deg: Floats

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.row)


@dataclass(frozen=True, slots=True)
class LaidRow:
    """One row: ``planting/row`` is its id, ``first`` and ``count`` its trees in the columns of ``Trees``.

    ``lines`` are its pieces on the plane [m]; ``drift_frac`` is the steepest fall along it, where the
    ground is known. ``cultivars`` follow one another tree by tree where a row has several.
    """

    id: str
    planting: str
    row: str
    name: str
    paddock: str
    how: How
    lines: tuple[Line, ...]
    length_m: float
    bearing_deg: float
    first: int
    count: int
    cultivars: tuple[str, ...] = ()
    rootstock: str | None = None
    drift_frac: float | None = None

    @property
    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Return where the row begins and ends on the plane. [m]"""
        return self.lines[0][0], self.lines[-1][-1]


@dataclass(frozen=True, slots=True)
class LaidPlanting:
    """A planting on the ground.

    ``places`` are drawn, ``counted`` is what the farm's file says, None if nothing. ``alley_m`` is the
    narrowest, middle and widest distance between sets of rows. ``guards`` counts trees that need a guard.
    """

    id: str
    name: str
    species: str
    paddock: str
    how: How
    rows: tuple[str, ...]
    places: int
    counted: int | None
    in_row_m: float | None
    alley_m: tuple[float, float, float] | None
    trees_per_ha: float | None
    row_length_m: float
    row_ground_ha: float
    guards: int
    guard_m: float | None
    passes: float | None
    to_plant: bool


@dataclass(frozen=True, slots=True)
class LaidPaddock:
    """A paddock with trees or without: its area, the ground under its rows, what is left to graze. [ha]"""

    id: str
    name: str
    area_ha: float
    row_ground_ha: float
    typed_row_ground_ha: float
    places: int

    @property
    def grazed_ha(self) -> float:
        """Return the area without its rows. [ha]"""
        return max(self.area_ha - self.row_ground_ha, 0.0)


@dataclass(frozen=True, slots=True)
class KeptOff:
    """How far the stems of a planting keep off one kind of thing, and why. [m]"""

    planting: str
    what: str
    distance_m: float
    origins: tuple[Origin, ...]


@dataclass(frozen=True, slots=True)
class LayoutFinding:
    """A finding, what it is about, and the source it rests on."""

    finding: Finding
    about: str
    origins: tuple[Origin, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Where every tree stands or shall stand, and what that takes of the ground."""

    longitude_deg: float
    latitude_deg: float
    trees: Trees
    rows: tuple[LaidRow, ...]
    plantings: tuple[LaidPlanting, ...]
    paddocks: tuple[LaidPaddock, ...]
    kept_off: tuple[KeptOff, ...]
    fence_m: float
    fence_drawn: bool
    lane_m: float
    figures: tuple[Figure, ...]
    findings: tuple[LayoutFinding, ...]

    def row(self, ident: str) -> LaidRow | None:
        """Return the row of an id ``planting/row``, or None."""
        return next((row for row in self.rows if row.id == ident), None)

    def planting(self, ident: str) -> LaidPlanting | None:
        """Return the planting of an id, or None."""
        return next((p for p in self.plantings if p.id == ident), None)

    def tree_name(self, tree: int) -> str:
        """Return the name of a tree: planting, row and its number in the row."""
        return f"{self.rows[int(self.trees.row[tree])].id}/{int(self.trees.number[tree])}"

    def cultivar(self, tree: int) -> str:
        """Return the cultivar of a tree, or nothing."""
        row = self.rows[int(self.trees.row[tree])]
        return row.cultivars[(int(self.trees.number[tree]) - 1) % len(row.cultivars)] if row.cultivars else ""
