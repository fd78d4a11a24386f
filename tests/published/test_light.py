"""Shade and light: the worked cases of light.csv by formula and on the map, sun and sky beside pvlib.

Field readings (LM rows of the reference shelf's light_measured.csv) are held in test_light_field.py.
"""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pvlib
import pytest

from browseline.science import light_forms as forms
from browseline.science.light import Directions, depth_map, level_grid, light_map
from browseline.science.light_sky import (
    above_horizon,
    beam_share,
    clear_global_w_m2,
    days_light,
    sky_patches,
    sun_and_sky,
    sun_place,
    sun_times,
)
from tests.brute_light import JIT, alike

CASES = list(csv.DictReader(Path(__file__).with_name("light.csv").read_text("utf-8").splitlines()))
Inputs = dict[str, Any]


def crown(x: Inputs) -> tuple[float, float, float]:
    return x["crown_radius_m"], x["half_depth_m"], x["sun_elevation_deg"]


def per_m(x: Inputs) -> float:
    return float(x["lad_m2_m3"] * x["g"])


def share_taken(x: Inputs) -> float:
    return forms.shadow_interception(per_m(x) * forms.longest_chord_m(*crown(x)))


def taken_m2(x: Inputs) -> float:
    return forms.shadow_area_m2(*crown(x)) * share_taken(x)


def hedge(x: Inputs) -> float:
    turn = np.array(float(x["sun_azimuth_deg"] - x["row_azimuth_deg"]))
    up = np.array(float(x["sun_elevation_deg"]))
    return float(forms.hedgerow_share(x["height_m"], x["width_m"], x["spacing_m"], turn, up))


RESULT: dict[str, Callable[[Inputs], float]] = {
    "ground shadow of an ellipsoid crown": lambda x: forms.shadow_area_m2(*crown(x)),
    "longest chord through the crown": lambda x: forms.longest_chord_m(*crown(x)),
    "share of light intercepted in the shadow": share_taken,
    "shaded area times share intercepted": taken_m2,
    "thin-crown upper bound of interception": lambda x: forms.thin_interception_m2(*crown(x), per_m(x)),
    "direct light through trees at random": lambda x: forms.light_at_random(x["trees_ha"] / 1e4, taken_m2(x)),
    "direct light when no shadows overlap": lambda x: forms.light_apart(x["trees_ha"] / 1e4, taken_m2(x)),
    "shaded share of the ground by opaque hedgerows": hedge,
    "thin interception of a porous hedge, per metre of row": lambda x: forms.thin_hedge_m2_m(
        x["height_m"], x["width_m"], x["sun_elevation_deg"], per_m(x)
    ),
    "mean sky view of an alley floor between opaque walls": lambda x: forms.alley_sky_mean(
        x["width_m"], x["height_m"]
    ),
    "sky view at the middle of an alley": lambda x: forms.alley_sky_middle(x["width_m"], x["height_m"]),
    "diffuse light through a continuous canopy": lambda x: forms.diffuse_through(x["lai"], x["g"]),
}


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["id"])
def test_formula_against_the_worked_case(case: dict[str, str]) -> None:
    result = RESULT[case["function"]](json.loads(case["inputs"]))
    assert result == pytest.approx(float(case["expected"]), abs=float(case["tolerance"]))


def test_a_thin_crown_by_the_series_is_the_crown_by_the_formula() -> None:
    """trees.md section 3, 6 gives both; they meet at 0.01, and against the mean over a fine shadow."""
    assert forms.shadow_interception(0.00999) == pytest.approx(forms.shadow_interception(0.01001), rel=3e-3)
    r = (np.arange(100_000) + 0.5) / 100_000  # the chord over a disc is sqrt(1 - r^2) of the longest
    for depth in (0.005, 0.5, 3.0):
        mean = (2 * r * -np.expm1(-depth * np.sqrt(1 - r**2))).mean()
        assert forms.shadow_interception(depth) == pytest.approx(mean, rel=1e-4)


# -- the same cases on the map: D1-D5 at 0.1 m -------------------------------------------------

D1_TO_D4 = [(3.0, 5.0, 45.0, 0.6), (3.0, 3.0, 30.0, 0.5), (2.5, 3.5, 20.0, 1.0)]


@pytest.mark.parametrize(("a", "c", "elevation", "leaf"), D1_TO_D4)
@pytest.mark.parametrize("azimuth", [0.0, 37.0, 90.0, 205.0] if JIT else [205.0])
def test_one_crown_on_the_map(a: float, c: float, elevation: float, leaf: float, azimuth: float) -> None:
    """D1-D4 at 0.1 m: shadow within 0.5 %, depth over the ground and light taken within 1e-3."""
    tree = alike(np.zeros(1), np.zeros(1), c + 0.5, a, c, leaf / 2)
    far = (c + 0.5) / np.tan(np.radians(elevation))
    x, y = -far * np.sin(np.radians(azimuth)), -far * np.cos(np.radians(azimuth))
    side = int(20 * np.hypot(a, c / np.tan(np.radians(elevation)))) + 20  # the whole shadow, at 0.1 m
    grid = level_grid(x - side / 20 + 0.03, y - side / 20 + 0.04, 0.1, side, side)
    depth = depth_map(tree, grid, azimuth, 90 - elevation).astype(np.float64)
    assert (depth > 0).sum() * 0.01 == pytest.approx(forms.shadow_area_m2(a, c, elevation), rel=5e-3)
    thin = forms.thin_interception_m2(a, c, elevation, leaf / 2)
    assert depth.sum() * 0.01 == pytest.approx(thin, rel=1e-3)
    taken = forms.shadow_area_m2(a, c, elevation) * forms.shadow_interception(
        leaf / 2 * forms.longest_chord_m(a, c, elevation)
    )
    one = Directions(np.array([azimuth]), np.array([90 - elevation]), np.ones(1))
    light = light_map(tree, grid, one).light_frac.astype(np.float64)
    assert (1 - light).sum() * 0.01 == pytest.approx(taken, rel=1e-3)
    assert depth.max() == pytest.approx(leaf / 2 * forms.longest_chord_m(a, c, elevation), rel=1e-3)


def test_a_stand_on_the_map() -> None:
    """D5: 80 crowns/ha. Apart, the no-overlap value; at random, the random one within its own luck."""
    sun = Directions(np.array([140.0]), np.array([45.0]), np.ones(1))
    taken = 54.955 * 0.7308
    step = np.sqrt(1e4 / 80)
    x, y = np.meshgrid((np.arange(20) - 4) * step, (np.arange(20) - 4) * step)
    grid = level_grid(0.1, 0.1, 0.2, round(8 * step / 0.2), round(8 * step / 0.2))
    apart = light_map(alike(x, y, 6.0, 3.0, 5.0, 0.3), grid, sun).light_frac.mean()
    assert apart == pytest.approx(0.6787, abs=2e-3)
    assert apart == pytest.approx(forms.light_apart(0.008, taken), abs=2e-3)
    luck = np.random.default_rng(8)
    means = []
    side, maps = (200, 20) if JIT else (60, 8)
    for _ in range(maps):
        at = luck.uniform(-40, side + 40, (2, luck.poisson(0.008 * (side + 80) ** 2)))
        wide = level_grid(0.5, 0.5, 1.0, side, side)
        means.append(light_map(alike(at[0], at[1], 6.0, 3.0, 5.0, 0.3), wide, sun).light_frac.mean())
    spread = np.std(means) / np.sqrt(len(means))
    assert np.mean(means) == pytest.approx(0.7252, abs=3 * spread)
    assert spread < (0.005 if JIT else 0.03)


@pytest.mark.parametrize(("azimuth", "expected"), [(90.0, 0.6408), (180.0, 0.1111)])
def test_a_hedgerow_on_the_map(azimuth: float, expected: float) -> None:
    """D6: a hedge 8 m high and 2 m wide, packed with small opaque crowns, 18 m from the next."""
    across, up, along = np.meshgrid(
        np.arange(-0.9, 1.0, 0.2), np.arange(0.1, 8.0, 0.2), np.arange(-9, 9.1, 0.2)
    )
    packed = alike(across, along, 0.0, 0.14, 0.14, 1000.0)._replace(centre_m=up.ravel())
    rows = [packed._replace(x_m=packed.x_m + 18.0 * n) for n in (0, 1)]
    both = type(packed)(*(np.concatenate(parts) for parts in zip(*rows, strict=True)))
    grid = level_grid(0.05, 0.0, 0.1, 1, 180)
    shaded = (depth_map(both, grid, azimuth, 50.0) > 1).mean()
    assert shaded == pytest.approx(expected, abs=0.1 / 18 + 0.08 / 18)


@pytest.mark.parametrize("row_azimuth", [0.0, 30.0, 90.0, 155.0])
@pytest.mark.parametrize(("azimuth", "zenith"), [(120.0, 30.0), (200.0, 55.0), (265.0, 70.0)])
def test_an_opaque_row_against_pvlibs_projected_zenith(
    row_azimuth: float, azimuth: float, zenith: float
) -> None:
    """An endless row of an elliptic section shades 2 sqrt(a2 + c2 tan2 p), p projected by pvlib."""
    a, c, spacing, cell = 1.5, 2.0, 40.0, 0.1
    projected = pvlib.shading.projected_solar_zenith_angle(zenith, azimuth, 0.0, row_azimuth)
    wanted_m = 2 * np.hypot(a, c * np.tan(np.radians(projected)))
    turn = np.radians(row_azimuth)
    along = np.arange(-60, 60, 0.05)
    row = alike(along * np.sin(turn), along * np.cos(turn), 2.5, a, c, 1e4)
    # A line of cells across the row, as a grid one cell high under a row turned the other way.
    turned = row._replace(x_m=0 * along, y_m=along)
    grid = level_grid(-spacing / 2 + cell / 2, 0.0, cell, 1, int(spacing / cell))
    shaded_m = (depth_map(turned, grid, azimuth - row_azimuth, zenith) > 1e-3).sum() * cell
    assert shaded_m == pytest.approx(wanted_m, abs=cell + 0.02)


def test_an_alley_between_opaque_walls_sees_the_sky_that_it_should() -> None:
    """D8 by the patches: walls of no width, 10 m high, 20 m apart, shade by the hedgerow rule."""
    sky = sky_patches(45, 90)
    shaded = forms.hedgerow_share(10.0, 0.0, 20.0, sky.azimuth_deg, 90 - sky.zenith_deg)
    assert (sky.weight * (1 - shaded)).sum() == pytest.approx(0.6180, abs=2e-3)
    coarse = sky_patches()
    shaded = forms.hedgerow_share(10.0, 0.0, 20.0, coarse.azimuth_deg, 90 - coarse.zenith_deg)
    assert (coarse.weight * (1 - shaded)).sum() == pytest.approx(0.6180, abs=6e-3)


@pytest.mark.parametrize(("lai", "expected"), [(1, 0.4432), (2, 0.2194), (3, 0.1135)])
def test_a_closed_canopy_by_the_patches(lai: float, expected: float) -> None:
    """D9 by the 9 x 18 patches of a map."""
    sky = sky_patches()
    through = np.exp(-0.5 * lai / np.cos(np.radians(sky.zenith_deg)))
    assert (sky.weight * through).sum() == pytest.approx(expected, abs=3e-3)


# -- sun and sky beside pvlib ------------------------------------------------------------------

EPOCH = pd.Timestamp("2000-01-01T12", tz="UTC")


@pytest.mark.parametrize(("latitude", "longitude"), [(41.0, -90.0), (-38.0, 175.0), (2.0, 20.0), (61.0, 9.0)])
def test_the_sun_stands_where_pvlib_says(latitude: float, longitude: float) -> None:
    times = pd.date_range("2026-01-03", "2040-12-30", freq="211h", tz="UTC")
    days = np.asarray((times - EPOCH) / pd.Timedelta(days=1), np.float64)
    azimuth, zenith = sun_place(days, latitude, longitude)
    theirs = pvlib.solarposition.get_solarposition(times, latitude, longitude)
    up = theirs["zenith"].to_numpy() < 90
    assert np.abs(zenith - theirs["zenith"].to_numpy())[up].max() < 0.02
    aside = (azimuth - theirs["azimuth"].to_numpy() + 180) % 360 - 180
    assert np.abs(aside * np.sin(np.radians(zenith)))[up].max() < 0.02


def test_a_days_steps_begin_and_end_with_the_sun() -> None:
    """Their number times the step is pvlib's day length, at places east and west of Greenwich."""
    for longitude in (-120.0, 0.0, 150.0):
        times = sun_times(2026, range(1, 366, 7), 10, 41.0, longitude)
        hours = pd.Series(times.day_of_year).value_counts().sort_index() / 6
        days = pd.date_range("2026-01-01", periods=53, freq="7D", tz="UTC")
        spa = pvlib.solarposition.sun_rise_set_transit_spa(days, 41.0, 0.0)
        theirs = (spa["sunset"] - spa["sunrise"]) / pd.Timedelta(hours=1)
        assert np.abs(hours.to_numpy() - (theirs.to_numpy() - 0.15)).max() < 0.4  # theirs with refraction


def test_clear_sky_is_pvlibs() -> None:
    zenith = np.linspace(0, 89, 90)
    theirs = pvlib.clearsky.haurwitz(pd.Series(zenith))["ghi"].to_numpy()
    assert clear_global_w_m2(zenith) == pytest.approx(theirs, rel=1e-9)


def test_the_beam_is_what_pvlibs_erbs_leaves() -> None:
    zenith, day = np.array([20.0, 40.0, 60.0, 75.0]), np.full(4, 172.0)
    given = np.array([900.0, 300.0, 420.0, 150.0])
    theirs = pvlib.irradiance.erbs(given, zenith, 172)
    beam = 1 - theirs["dhi"] / given
    assert beam_share(given, zenith, day) == pytest.approx(np.asarray(beam), abs=6e-3)


def test_patches_hold_the_whole_sky() -> None:
    for overcast, mean in ((False, 2 / 3), (True, 5 / 7)):
        # Mean sine of elevation of the light: int sin^2 cos / int sin cos = 2/3; overcast 5/7.
        sky = sky_patches(60, 36, overcast)
        assert sky.weight.sum() == pytest.approx(1)
        assert (sky.weight * np.cos(np.radians(sky.zenith_deg))).sum() == pytest.approx(mean, abs=1e-3)
    small = sky_patches()
    assert len(small.weight) == 162
    assert (small.weight * np.sin(np.radians(small.azimuth_deg))).sum() == pytest.approx(0, abs=1e-12)


def test_sun_and_sky_share_the_light() -> None:
    times = sun_times(2026, [172], 30, 41.0, -90.0)
    clear = clear_global_w_m2(times.zenith_deg)
    both = sun_and_sky(times, clear, sky_patches())
    assert both.weight.sum() == pytest.approx(1)
    dull = sun_and_sky(times, 0.2 * clear, sky_patches())
    assert dull.weight[-162:].sum() > 0.95 > both.weight[-162:].sum()
    year = days_light(2026, range(15, 366, 30), 41.0, -90.0)
    assert len(year.weight) >= 438
    with pytest.raises(ValueError, match="rise"):
        days_light(2026, [355], 75.0, 0.0)


def test_a_far_horizon_hides_what_is_below_it() -> None:
    sky = sky_patches()
    hidden = above_horizon(sky, np.array([0.0, 90.0, 180.0, 270.0]), np.array([0.0, 40.0, 0.0, 0.0]))
    dark = hidden.weight == 0
    assert dark.any()
    assert (sky.azimuth_deg[dark] < 180).all()
    assert (90 - sky.zenith_deg[dark] < 40).all()
    assert (hidden.weight[~dark] == sky.weight[~dark]).all()


# -- how many directions a map needs -----------------------------------------------------------


def month_of(days: range, step_min: float, rings: int, sectors: int) -> Directions:
    times = sun_times(2026, days, step_min, 41.0, -90.0)
    return sun_and_sky(times, 0.6 * clear_global_w_m2(times.zenith_deg), sky_patches(rings, sectors))


@pytest.mark.parametrize(
    ("name", "size", "in_row_m", "bar"),
    [("age 10", (3.8, 1.8, 2.2, 0.43), 5.0, 0.02), ("age 30", (8.2, 4.0, 5.2, 0.25), 8.0, 0.035)],
)
def test_438_directions_make_the_map_of_1700(
    name: str, size: tuple[float, float, float, float], in_row_m: float, bar: float
) -> None:
    """January at 41 N, rows 12 m apart: 30 min sun and 9 x 18 sky against 18 min and 20 x 40."""
    x, y = np.meshgrid(np.arange(-240, 300, 12.0), np.arange(-240, 300, in_row_m))
    trees, grid = alike(x, y, *size), level_grid(0.5, 0.5, 1.0, *((48, 48) if JIT else (2, 6)))
    few, many = month_of(range(1, 32, 2), 30, 9, 18), month_of(range(1, 32), 18, 20, 40)
    assert (len(few.weight) >= 438, len(many.weight) >= 1700) == (True, True)
    off = light_map(trees, grid, few).light_frac - light_map(trees, grid, many).light_frac
    assert np.sqrt((off.astype(np.float64) ** 2).mean()) <= bar
