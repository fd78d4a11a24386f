"""Contour rows on ground whose contours are known: a plane, a cone, a saddle's flank, and a GeoTIFF."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from browseline.farm.records import LayoutRule
from browseline.layout import Layout, lay_out
from browseline.layout.plane import plane_of
from browseline.layout.terrain import Ground, ground_of, read_ground
from tests.layout_farms import box, farm, outline, planting, q

Floats = NDArray[np.float64]
RULE = LayoutRule(contour=True, from_fence=q("3 m"))


def ground(height: Callable[[Floats, Floats], Floats], half_m: float = 400.0, cell_m: float = 4.0) -> Ground:
    at = np.arange(-half_m, half_m + cell_m, cell_m)
    east, north = np.meshgrid(at, at)
    return ground_of(height(east, north), -half_m, -half_m, cell_m)


def laid(land: Ground, rule: LayoutRule = RULE, wide: float = 300, deep: float = 300) -> Layout:
    field = outline("1", box(wide, deep))
    return lay_out(farm(field, [planting("6 m", "15 m", rule)]), land)


def spacings(found: Layout) -> float:
    """Return the nearest that two trees of one row stand. [m]"""
    near = [
        np.hypot(np.diff(found.trees.east_m[r.first : r.first + r.count]),
                 np.diff(found.trees.north_m[r.first : r.first + r.count])).min()
        for r in found.rows if r.count > 1
    ]  # fmt: skip
    return float(min(near))


def test_a_plane_has_straight_rows_across_its_fall() -> None:
    """8 % to the bearing 30: rows run 120 (or 300), level, and 15 m apart."""
    a = math.radians(30)
    found = laid(ground(lambda e, n: 100 + 0.08 * (e * math.sin(a) + n * math.cos(a))))
    assert {round(r.bearing_deg % 180, 1) for r in found.rows if r.length_m > 20} == {120.0}
    assert max(r.drift_frac or 0 for r in found.rows) < 1e-6
    assert found.plantings[0].alley_m is not None
    assert found.plantings[0].alley_m[:2] == pytest.approx((15, 15), abs=0.01)
    assert len(found.rows) >= 300 / 15
    assert spacings(found) >= 6 - 1e-6


def test_a_cone_has_rows_on_circles() -> None:
    """A cone of 10 %: each row keeps its distance from the top, and neighbours differ by 15 m."""
    top = np.array([0.0, -400.0])
    found = laid(ground(lambda e, n: 100 - 0.1 * np.hypot(e - top[0], n - top[1]), 800.0))
    middles = []
    for row in found.rows:
        own = slice(row.first, row.first + row.count)
        away = np.hypot(found.trees.east_m[own] - top[0], found.trees.north_m[own] - top[1])
        assert np.ptp(away) < 0.25
        middles.append(float(away.mean()))
    assert np.diff(sorted(middles)) == pytest.approx(15, abs=0.1)
    assert max(r.drift_frac or 0 for r in found.rows) < 0.002
    assert spacings(found) >= 6 - 1e-6


def warped(e: Floats, n: Floats) -> Floats:
    """A slope of 8 % whose contours swing: parallels to one of them leave the others."""
    return 100 + 0.08 * n + 2.5 * np.sin(e / 60) * np.exp(-(((n + 100) / 120) ** 2))


@pytest.mark.parametrize("share", ["1 %", "2 %", "4 %"])
def test_drift_stays_under_its_bound(share: str) -> None:
    """Every row falls less along itself than the bound, measured here on the hill's own formula.

    The bound is kept on the smoothed ground over ten metres; what smoothing took off is allowed for.
    """
    rule = LayoutRule(contour=True, drift=q(share, "share"), from_fence=q("3 m"))
    found = laid(ground(warped), rule)
    bound = q(share, "share").to("1")
    assert max(r.drift_frac or 0 for r in found.rows) <= bound
    for row in found.rows:
        own = slice(row.first, row.first + row.count)
        e, n = found.trees.east_m[own], found.trees.north_m[own]
        run = np.hypot(e[2:] - e[:-2], n[2:] - n[:-2])
        fall = np.abs(warped(e[2:], n[2:]) - warped(e[:-2], n[:-2]))
        assert (fall / np.maximum(run, 1.0)).max(initial=0.0) <= 1.25 * bound + 0.004


def test_less_drift_takes_the_contour_anew_and_alleys_never_narrow() -> None:
    tight = laid(ground(warped), LayoutRule(contour=True, drift=q("1 %", "share"), from_fence=q("3 m")))
    loose = laid(ground(warped), LayoutRule(contour=True, drift=q("15 %", "share"), from_fence=q("3 m")))
    assert "layout.wedge" in {f.finding.code for f in tight.findings}
    assert "layout.wedge" not in {f.finding.code for f in loose.findings}
    assert tight.plantings[0].alley_m is not None
    assert tight.plantings[0].alley_m[0] >= 15 - 0.05
    assert tight.plantings[0].alley_m[2] > 16
    assert loose.plantings[0].alley_m is not None
    assert loose.plantings[0].alley_m[:2] == pytest.approx((15, 15), abs=0.05)


def test_level_ground_and_missing_ground_are_told() -> None:
    level = laid(ground(lambda e, n: 100 + 0 * e))
    assert [f.finding.code for f in level.findings] == ["layout.flat"]
    field = outline("1", box(300, 300))
    none = lay_out(farm(field, [planting("6 m", "15 m", RULE)]))
    assert [f.finding.code for f in none.findings] == ["layout.no_terrain"]
    assert len(level.trees) == len(none.trees) > 0


def test_straight_rows_down_a_slope_are_asked_about() -> None:
    found = laid(ground(lambda e, n: 100 + 0.1 * n), LayoutRule(bearing_deg=0, from_fence=q("3 m")))
    assert [f.finding.code for f in found.findings] == ["layout.steep"]
    assert found.rows[0].drift_frac == pytest.approx(0.1, abs=1e-3)
    across = laid(ground(lambda e, n: 100 + 0.1 * n), LayoutRule(bearing_deg=90, from_fence=q("3 m")))
    assert not across.findings


def test_a_geotiff_of_another_system_reads_back(tmp_path: Path) -> None:
    """Written in UTM by rasterio, read onto the farm's plane: heights within a centimetre on a slope."""
    import rasterio
    from affine import Affine
    from pyproj import Transformer

    field = outline("1", box(300, 300))
    plane = plane_of([field])
    to_utm = Transformer.from_crs("EPSG:4326", "EPSG:32623", always_xy=True)
    x0, y0 = to_utm.transform(plane.longitude_deg, plane.latitude_deg)
    transform = Affine(5, 0, x0 - 400, 0, -5, y0 + 400)
    columns, rows = np.meshgrid(np.arange(160) + 0.5, np.arange(160) + 0.5)
    x, y = x0 - 400 + 5 * columns, y0 + 400 - 5 * rows
    lon, lat = to_utm.transform(x, y, direction="INVERSE")
    east, north = plane.flat(lon.ravel(), lat.ravel())
    height = (50 + 0.06 * east + 0.03 * north).reshape(x.shape)
    with rasterio.open(
        tmp_path / "terrain.tif", "w", driver="GTiff", height=160, width=160, count=1, dtype="float64",
        crs="EPSG:32623", transform=transform,
    ) as out:  # fmt: skip
        out.write(height, 1)
    found = read_ground(tmp_path / "terrain.tif", plane, (-200, -200, 200, 200))
    assert found.cell_m == pytest.approx(5, abs=0.02)
    spots = np.array([-140.0, 0.0, 77.0]), np.array([120.0, 3.0, -141.0])
    assert found.heights(*spots) == pytest.approx(50 + 0.06 * spots[0] + 0.03 * spots[1], abs=0.01)
    rises = found.rises(*spots)
    assert rises[0] == pytest.approx(0.06, abs=1e-4)
    assert rises[1] == pytest.approx(0.03, abs=1e-4)
