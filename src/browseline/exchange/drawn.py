"""What a foreign map file draws, in one form: name, word for its kind, GeoJSON geometry."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from browseline.errors import BadInput, finding
from browseline.farm.map_geojson import MOST_FEATURES, MOST_POINTS

Spot = tuple[float, float]
MOST_BYTES = 50_000_000
MEGABYTE = 1_000_000


@dataclass(frozen=True, slots=True)
class Drawn:
    """One shape: its name, what the file says it is, and its geometry with longitude first. [deg]"""

    name: str
    word: str
    form: str
    coordinates: Any

    @property
    def walked(self) -> bool:
        """Return whether it is one outline without holes, whose places are all pairs of numbers."""
        if self.form != "Polygon" or not isinstance(self.coordinates, list) or len(self.coordinates) != 1:
            return False
        ring = self.coordinates[0]
        return isinstance(ring, list) and all(_is_spot(spot) for spot in ring)

    def geometry(self) -> dict[str, Any]:
        """Return the shape as a GeoJSON geometry."""
        return {"type": self.form, "coordinates": self.coordinates}


class Counter:
    """How much was read so far; too much is refused before it fills the memory."""

    def __init__(self, name: str) -> None:
        self.name, self.points, self.features = name, 0, 0

    def add(self, points: int) -> None:
        """Count the points of one shape.

        Raises
        ------
        BadInput
            If the file holds more than any farm's map.
        """
        self.points += points
        self.features += 1
        if self.points > MOST_POINTS or self.features > MOST_FEATURES:
            raise BadInput([finding("map.too_much", self.name, features=MOST_FEATURES, points=MOST_POINTS)])


def line_or_ring(spots: Sequence[Spot], closed: bool) -> tuple[str, Any]:
    """Return a line, or the outline it makes where it comes back to its beginning."""
    line = [list(spot) for spot in spots]
    if not closed or len(spots) < 3:
        return "LineString", line
    return "Polygon", [line if line[0] == line[-1] else [*line, line[0]]]


def _is_spot(spot: Any) -> bool:
    return (
        isinstance(spot, list)
        and len(spot) >= 2
        and all(isinstance(x, (int, float)) and not isinstance(x, bool) for x in spot)
    )
