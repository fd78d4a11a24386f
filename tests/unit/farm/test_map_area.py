"""Areas and their spread against published figures and second computations."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from pyproj import Geod, Transformer

from browseline.farm.map_area import area_sd_m2, corners, geodesic_area_m2, measured, on_plane, plane
from browseline.farm.records import Shape
from browseline.units import factor
from tests.walked import blob, square, walked

AC_M2 = factor("ac", "ha") / factor("m2", "ha")


def flat_square(side: float) -> list[tuple[float, float]]:
    return [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0)]


@pytest.mark.parametrize(("error_m", "percent"), [(2.1, 2.3), (8.0, 8.9)])
def test_two_acres_by_four_corners(error_m: float, percent: float) -> None:
    """JOB 4: a square of 2.0 ac by four corners is ±2.3 % at 2.1 m and ±8.9 % at 8 m (1 SD)."""
    area = 2.0 * AC_M2
    spread = area_sd_m2([flat_square(math.sqrt(area))], error_m)
    assert 100 * spread / area == pytest.approx(percent, abs=0.05)


@pytest.mark.parametrize("corners_", [3, 4, 7, 12])
def test_spread_against_thousands_of_walks(corners_: int) -> None:
    """A second computation: the scatter of areas of 20,000 outlines with random corners."""
    rng = np.random.default_rng(5)
    turn = np.sort(rng.uniform(0, 2 * np.pi, corners_))
    ring = np.stack([60 * np.cos(turn), 45 * np.sin(turn)], axis=1)
    noisy = ring + rng.normal(0, 2.1 / math.sqrt(2), (20_000, corners_, 2))
    x, y = noisy[..., 0], noisy[..., 1]
    areas = 0.5 * (x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1)
    closed = [(float(a), float(b)) for a, b in [*ring, ring[0]]]
    assert area_sd_m2([closed], 2.1) == pytest.approx(areas.std(), rel=0.03)


def test_geodesic_area_against_a_printed_one() -> None:
    """GeographicLib's documented example: the land of Antarctica by 18 points, 13662703680020.1 m2."""
    antarctica = [
        (-58.0, -63.1), (-74.0, -72.9), (-102.0, -71.9), (-102.0, -74.9), (-131.0, -74.3), (-163.0, -77.5),
        (163.0, -77.4), (172.0, -71.7), (140.0, -65.9), (113.0, -65.7), (88.0, -66.6), (59.0, -66.9),
        (25.0, -69.8), (-4.0, -70.0), (-14.0, -71.0), (-33.0, -77.3), (-46.0, -77.9), (-61.0, -74.7),
        (-58.0, -63.1),
    ]  # fmt: skip
    assert abs(geodesic_area_m2([tuple(antarctica)])) == pytest.approx(13_662_703_680_020.1, rel=1e-14)


@pytest.mark.parametrize("latitude", [-45.0, 0.5, 41.0, 64.0])
def test_geodesic_area_against_an_equal_area_plane(latitude: float) -> None:
    """A second computation: shapely on Albers' equal-area plane through the field."""
    ring = blob(np.random.default_rng(2), 60, (-45.0, latitude), mean_m=300.0)
    albers = f"+proj=aea +lat_1={latitude - 0.01} +lat_2={latitude + 0.01} +lon_0=-45 +ellps=WGS84"
    turn = Transformer.from_crs("EPSG:4326", albers, always_xy=True)
    east, north = turn.transform([x for x, _ in ring], [y for _, y in ring])
    theirs = shapely.Polygon(list(zip(east, north, strict=True))).area
    assert abs(geodesic_area_m2([tuple(ring)])) == pytest.approx(theirs, rel=2e-5)


def test_holes_are_taken_off_and_spread_adds_up() -> None:
    outer, hole = square(100), square(20)[::-1]
    shape = Shape("a", "paddock", "a", "Polygon", (tuple(outer), tuple(hole)))
    made = measured(shape, plane([shape]), 2.0)
    assert made.area_ha == pytest.approx(0.96, rel=1e-4)
    assert made.area_sd_ha == pytest.approx(math.hypot(100, 20) * 2.0 * 1e-4, rel=1e-3)


def test_what_encloses_nothing_has_no_area() -> None:
    line = Shape("a", "lane", "a", "LineString", points=((-45.0, 41.0), (-45.0, 41.1)))
    assert measured(line, plane([line]), 2.0) == line
    assert measured(line, plane([]), None) == line


def test_points_of_one_edge_are_not_counted_as_independent() -> None:
    """A walked track of a square has 120 points and still four corners; its ± is that of four corners."""
    ring = square(90)
    track = walked(ring, np.random.default_rng(1), 2.1)
    shape = Shape("a", "paddock", "a", "Polygon", ((*track, track[0]),))
    made = measured(shape, plane([shape]), 2.1)
    kept = corners(on_plane(shape.rings[0], plane([shape])), 2.1)
    assert len(track) > 110
    assert 4 <= len(kept) - 1 <= 12
    assert made.area_ha is not None
    assert made.area_sd_ha is not None
    assert made.area_sd_ha == pytest.approx(2.1 * 90 * 1e-4, rel=0.25)
    assert abs(made.area_ha - 0.81) < 3 * made.area_sd_ha


def test_outlines_smaller_than_the_error_keep_their_corners() -> None:
    assert len(corners(flat_square(1.0), 20.0)) >= 3


def test_tracks_scatter_as_the_spread_says() -> None:
    """Sixty walks of one field: about two in three lie within one ±."""
    ring = square(90)
    within = []
    for seed in range(60):
        track = walked(ring, np.random.default_rng(seed), 2.1)
        shape = Shape("a", "paddock", "a", "Polygon", ((*track, track[0]),))
        made = measured(shape, plane([shape]), 2.1)
        assert made.area_ha is not None
        assert made.area_sd_ha is not None
        within.append(abs(made.area_ha - 0.81) <= made.area_sd_ha)
    assert 0.5 <= np.mean(within) <= 1.0


def test_across_the_date_line() -> None:
    globe = Geod(ellps="WGS84")
    spots = [globe.fwd(179.9999, -17.0, azimuth, 100.0)[:2] for azimuth in (45, -45, -135, 135)]
    ring = tuple((float(x), float(y)) for x, y in [*spots, spots[0]])
    shape = Shape("a", "paddock", "a", "Polygon", (ring,))
    made = measured(shape, plane([shape]), 2.1)
    assert made.area_ha == pytest.approx(2.0, rel=1e-4)
    assert made.area_sd_ha == pytest.approx(2.1 * math.sqrt(20_000) * 1e-4, rel=1e-3)
