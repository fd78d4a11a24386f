"""How long rows take on 100 ha with 10,000 trees: straight, and on the contour of rolling ground."""

from __future__ import annotations

from datetime import date

import numpy as np
from pyproj import Proj

from browseline.farm.records import Farm, LayoutRule, Paddock, Planting, Shape
from browseline.layout import Layout, lay_out
from browseline.layout.terrain import Ground, ground_of
from browseline.units import parse

SIDE_M, CELL_M = 1000.0, 4.0
SPACING, ALLEY = parse("6.2 m", "length"), parse("16 m", "length")


def square(contour: bool) -> Farm:
    """Return a farm of one square field, its trees only a rule."""
    plane = Proj(proj="laea", lat_0=41.0, lon_0=-45.0, ellps="WGS84")
    half = SIDE_M / 2
    corners = ((-half, -half), (half, -half), (half, half), (-half, half), (-half, -half))
    ring = tuple(plane(east, north, inverse=True) for east, north in corners)
    field = Shape("1", "paddock", "1", "Polygon", (ring,), area_ha=100.0)
    rule = LayoutRule(contour=contour, from_fence=parse("3 m", "length"))
    grove = Planting("t", "t", "pear", "1", spacing=SPACING, alley=ALLEY, layout=rule, planned=True)
    paddock = Paddock("1", "1", 100.0, shape="1")
    return Farm(
        "Large", "UTC", "hectares", date(2026, 1, 1), (paddock,), (), shapes=(field,), planned=(grove,)
    )


def rolling() -> Ground:
    """Return a slope of 8 % with a swing of 6 m every 940 m."""
    at = np.arange(-900.0, 900.0 + CELL_M, CELL_M)
    east, north = np.meshgrid(at, at)
    return ground_of(100 + 0.08 * north + 6 * np.sin(east / 150) + 0.02 * east, -900.0, -900.0, CELL_M)


class Rows:
    """Bar: 10,000 trees in less than 1 s."""

    timeout = 120.0

    def setup(self) -> None:
        self.straight, self.contour, self.ground = square(False), square(True), rolling()
        self.lay()

    def lay(self, contour: bool = False) -> Layout:
        """Return the layout of one of the two farms."""
        return lay_out(self.contour, self.ground) if contour else lay_out(self.straight)

    def time_10000_trees_straight(self) -> None:
        self.lay()

    def time_10000_trees_on_the_contour(self) -> None:
        self.lay(contour=True)

    def peakmem_10000_trees_on_the_contour(self) -> None:
        self.lay(contour=True)

    def track_trees_straight(self) -> int:
        return len(self.lay().trees)

    def track_steepest_drift_percent(self) -> float:
        return 100 * max(row.drift_frac or 0.0 for row in self.lay(contour=True).rows)
