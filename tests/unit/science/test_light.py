"""The light map against brute force in float64, and what surrounds it."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from browseline.science.light import Crowns, Directions, Grid, Light, level_grid, light_map, mean_by_area
from browseline.science.light_edit import light_changed, some
from browseline.science.light_fade import fade
from browseline.science.light_ground import land_lit, steepest
from browseline.science.light_rows import RowPattern, row_light
from tests import brute_light as brute

SIDE, TREES, RAYS = ((70, 110), 24, 40) if brute.JIT else ((20, 24), 4, 5)


def grid_of(kind: str) -> Grid:
    rows, cols = SIDE
    if kind == "level":
        return level_grid(100.5, -20.5, 1.0, rows, cols)
    ground = brute.rolling(rows, cols, 1.0)
    if kind == "rough":
        ground = ground + np.random.default_rng(5).normal(0, 0.4, ground.shape).astype(np.float32)
    return Grid(100.5, -20.5, 1.0, ground)


@pytest.mark.parametrize(("kind", "lowest_deg"), [("level", 3.0), ("rolling", 14.0), ("rough", 76.0)])
def test_the_map_is_brute_force(kind: str, lowest_deg: float) -> None:
    """Bar 1e-3. Every direction is above the steepest slope here, so that no land is in the way."""
    grid = grid_of(kind)
    crowns, directions = brute.scattered(grid, TREES, 1), brute.anywhere(RAYS, 2, lowest_deg)
    assert (
        steepest(grid.ground_m, 1.0) < np.tan(np.radians(90 - directions.zenith_deg)).min() or kind == "rough"
    )
    if kind == "rough":
        directions = directions._replace(zenith_deg=directions.zenith_deg * 0.9)
    got = light_map(crowns, grid, directions)
    share, sky = brute.light(crowns, grid, directions)
    assert np.abs(got.light_frac - share).max() < 1e-5
    assert np.abs(got.open_frac - sky).max() < 1e-5
    assert share.min() < 0.9


def test_crowns_that_reach_the_ground_and_stand_below_it() -> None:
    rows, cols = SIDE
    east = np.arange(cols, dtype=np.float32)[None, :] * np.ones((rows, 1), np.float32)
    grid = Grid(0.0, 0.0, 1.0, 0.5 * east)
    x, y = np.array([cols / 2, cols / 3]), np.array([rows / 2, rows / 3])
    crowns = brute.alike(x, y, 2.0, 4.0, 2.5, 0.3)._replace(ground_m=0.5 * x)
    directions = brute.anywhere(RAYS, 3, 30.0)
    assert (
        np.abs(
            light_map(crowns, grid, directions).light_frac - brute.light(crowns, grid, directions)[0]
        ).max()
        < 1e-5
    )


def test_fade_is_the_exponential() -> None:
    depth = np.linspace(0, 40, 401, dtype=np.float32)
    assert np.array([fade(d) for d in depth]) == pytest.approx(np.exp(-depth.astype(np.float64)), abs=2e-6)
    assert fade(np.float32(0)) == 1


def test_without_trees_all_light_is_left() -> None:
    none = brute.alike(np.zeros(0), np.zeros(0), 1.0, 1.0, 1.0, 1.0)
    leafless = brute.alike(np.zeros(3), np.zeros(3), 1.0, 1.0, 1.0, 0.0)
    grid = level_grid(0, 0, 1.0, 5, 7)
    for crowns in (none, leafless):
        got = light_map(crowns, grid, brute.anywhere(4, 1))
        assert (got.light_frac == 1).all()
        assert got.open_frac == pytest.approx(np.ones((5, 7)), abs=1e-6)


@pytest.mark.parametrize(
    ("field", "value"), [("radius_m", -1.0), ("depth_per_m", np.nan), ("x_m", np.inf), ("half_depth_m", -0.1)]
)
def test_crowns_that_are_none_are_refused(field: str, value: float) -> None:
    crowns = brute.alike(np.zeros(1), np.zeros(1), 1.0, 1.0, 1.0, 1.0)._replace(**{field: np.array([value])})
    with pytest.raises(ValueError, match="numbers"):
        light_map(crowns, level_grid(0, 0, 1.0, 2, 2), brute.anywhere(2, 1))


@pytest.mark.parametrize(
    ("zenith", "weight", "said"),
    [
        ([90.0], [1.0], "horizon"),
        ([-1.0], [1.0], "horizon"),
        ([10.0], [0.0], "weights"),
        ([10.0, 9.0], [1.0, -1.0], "weights"),
    ],
)
def test_directions_that_are_none_are_refused(zenith: list[float], weight: list[float], said: str) -> None:
    crowns = brute.alike(np.zeros(1), np.zeros(1), 1.0, 1.0, 1.0, 1.0)
    wrong = Directions(np.zeros(len(zenith)), np.array(zenith), np.array(weight))
    with pytest.raises(ValueError, match=said):
        light_map(crowns, level_grid(0, 0, 1.0, 2, 2), wrong)


def ridge() -> Grid:
    """Return level ground with a wall 10 m high along its 41st column."""
    ground = np.zeros((9, 100), np.float32)
    ground[:, 40] = 10
    return Grid(0.0, 0.0, 1.0, ground)


@pytest.mark.parametrize(("azimuth_deg", "side"), [(90.0, -1), (270.0, 1)])
def test_a_wall_shades_as_far_as_its_height_says(azimuth_deg: float, side: int) -> None:
    lit = land_lit(ridge().ground_m, 1.0, azimuth_deg, 30.0)
    dark = np.flatnonzero(lit[4] == 0) - 40
    assert np.sign(dark).tolist() == [side] * len(dark)
    assert len(dark) == pytest.approx(10 / np.tan(np.radians(30)), abs=1)
    turned = land_lit(np.ascontiguousarray(ridge().ground_m.T), 1.0, 90.0 - azimuth_deg, 30.0)
    assert (lit == turned.T).all()


def test_a_hill_shades_as_rays_do() -> None:
    """Against rays walked cell by cell over the ground, linear between cells."""
    rows, cols = SIDE
    x, y = np.meshgrid(np.arange(cols), np.arange(rows))
    ground = (12 * np.exp(-((x - cols / 2) ** 2 + (y - rows / 2) ** 2) / 60)).astype(np.float32)
    for azimuth in (40.0, 130.0, 200.0, 300.0):
        lit = land_lit(ground, 1.0, azimuth, 20.0)
        step = np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))
        seen = np.ones_like(lit)
        for far in np.arange(0.5, 40, 0.5):
            col, row = x + step[0] * far, y + step[1] * far
            inside = (col >= 0) & (col <= cols - 2) & (row >= 0) & (row <= rows - 2)
            i, j = np.clip(row.astype(int), 0, rows - 2), np.clip(col.astype(int), 0, cols - 2)
            v, u = row - i, col - j
            height = (
                ground[i, j] * (1 - u) * (1 - v) + ground[i, j + 1] * u * (1 - v)
                + ground[i + 1, j] * (1 - u) * v + ground[i + 1, j + 1] * u * v
            )  # fmt: skip
            seen[inside & (height > ground + far * np.tan(np.radians(20.0)) + 1e-3)] = 0
        assert (lit != seen).mean() < 0.02
        assert (seen == 0).sum() > 10


def test_land_in_the_way_takes_open_light_and_not_the_trees_share() -> None:
    grid, low = ridge(), Directions(np.array([90.0, 0.0]), np.array([60.0, 0.0]), np.array([1.0, 3.0]))
    none = some(brute.alike(np.zeros(1), np.zeros(1), 1.0, 1.0, 1.0, 1.0), [])
    got = light_map(none, grid, low)
    assert got.open_frac[4, 30] == pytest.approx(0.75, abs=1e-6)
    assert got.open_frac[4, 10] == pytest.approx(1.0, abs=1e-6)
    assert (got.light_frac == 1).all()
    falling = (-5.0 * np.arange(20) * np.ones((3, 1))).astype(np.float32)
    west = Directions(np.array([270.0]), np.array([45.0]), np.ones(1))
    away = light_map(none, Grid(0, 0, 1.0, falling), west)
    assert (away.open_frac[:, 1:] == 0).all()
    assert (away.light_frac == 1).all()


def test_tilted_ground_gets_as_much_light_for_each_area_of_the_map_as_level_ground() -> None:
    """Over a whole hill, with no land in the way, what falls on it is what falls on the level below it."""
    directions = brute.anywhere(RAYS, 4, 60.0)
    x = np.linspace(0, 2 * np.pi, 61)
    ground = (2 * np.sin(x)[None, :] * np.ones((5, 1))).astype(np.float32)
    none = some(brute.alike(np.zeros(1), np.zeros(1), 1.0, 1.0, 1.0, 1.0), [])
    sky = light_map(none, Grid(0, 0, 1.0, ground), directions).open_frac
    assert sky[:, :-1].mean() == pytest.approx(1.0, abs=2e-3)
    assert np.ptp(sky) > 0.005


def test_moved_added_and_felled_trees_give_the_map_made_anew() -> None:
    grid = grid_of("rolling")
    crowns, directions = brute.scattered(grid, TREES, 6), brute.anywhere(RAYS, 7, 4.0)
    crowns.x_m[0], crowns.y_m[0], crowns.depth_per_m[0] = 100.5 + SIDE[1] / 2, -20.5 + SIDE[0] / 2, 0.4
    before = light_map(crowns, grid, directions)
    gone = np.arange(TREES) < 1
    moved = some(crowns, gone)._replace(x_m=some(crowns, gone).x_m + 9.0)
    got = light_changed(before, some(crowns, ~gone), some(crowns, gone), moved, grid, directions)
    anew = light_map(brute.joined(some(crowns, ~gone), moved), grid, directions)
    assert np.abs(got.light_frac - anew.light_frac).max() < 5e-6
    assert np.abs(anew.light_frac - before.light_frac).max() > 0.02
    assert before.light_frac is not got.light_frac


def test_an_edit_touches_only_the_ground_it_shades() -> None:
    grid = level_grid(0, 0, 1.0, *SIDE)
    crowns = brute.alike(np.array([5.0]), np.array([5.0]), 3.0, 2.0, 2.0, 0.3)
    high = Directions(np.array([10.0]), np.array([20.0]), np.ones(1))
    before = Light(np.full(SIDE, 0.5, np.float32), np.ones(SIDE, np.float32))
    got = light_changed(before, some(crowns, []), some(crowns, []), crowns, grid, high).light_frac
    assert (got[12:] == np.float32(0.5)).all()
    assert (got[:12, :12] < 0.5).any()


@pytest.mark.parametrize("slope", [(0.0, 0.0), (0.08, -0.05)])
@pytest.mark.parametrize("slip_m", [0.0, 2.0])
def test_the_wrapped_cell_is_the_whole_map(slope: tuple[float, float], slip_m: float) -> None:
    """Bar 1e-4. Double rows 12 m apart, 4 m in the row, far beyond every shadow."""
    directions = brute.anywhere(RAYS, 8, 12.0)
    reach = 40 if brute.JIT else 16
    up, over = (
        v.ravel() for v in np.meshgrid(np.arange(-reach, reach + 1), np.arange(-reach // 2, reach // 2 + 1))
    )
    one = np.ones(2)
    cell = RowPattern(
        0.0, 4.0, 12.0, slip_m, np.array([0.0, 1.5]), np.array([0.0, 3.0]), np.array([4.0, 5.0]), 2 * one,
        np.array([2.5, 3.0]), 0.3 * one,
    )  # fmt: skip
    lots = []
    for n in range(2):
        x, y = cell.across_m[n] + 12.0 * over, cell.along_m[n] + 4.0 * up - slip_m * over
        lots.append(
            brute.alike(x, y, cell.centre_m[n], 2.0, cell.half_depth_m[n], 0.3)._replace(
                ground_m=slope[0] * x + slope[1] * y
            )
        )
    x, y = np.meshgrid(np.arange(12) + 0.5, np.arange(4) + 0.5)
    grid = Grid(0.5, 0.5, 1.0, (slope[0] * x + slope[1] * y).astype(np.float32))
    full = light_map(brute.joined(*lots), grid, directions)
    share, sky = row_light(cell, directions, *slope, (4, 12))
    assert np.abs(full.light_frac - share).max() < 1e-4
    assert full.open_frac == pytest.approx(np.full((4, 12), sky), abs=1e-4)


def test_rows_of_any_bearing_are_the_same_rows_under_a_turned_sky() -> None:
    directions = brute.anywhere(RAYS, 9, 10.0)
    one = np.ones(1)
    cell = RowPattern(0.0, 5.0, 14.0, 1.0, 0 * one, 0 * one, 4 * one, 2 * one, 3 * one, 0.3 * one)
    turned = directions._replace(azimuth_deg=directions.azimuth_deg + 37)
    share, _ = row_light(cell, directions, 0.0, 0.0, (5, 7))
    assert row_light(cell._replace(bearing_deg=37.0), turned, 0.0, 0.0, (5, 7))[0] == pytest.approx(
        share, abs=1e-9
    )


def test_a_slope_that_turns_from_all_light_takes_none() -> None:
    one = np.ones(1)
    cell = RowPattern(0.0, 5.0, 14.0, 0.0, 0 * one, 0 * one, 4 * one, 2 * one, 3 * one, 0.3 * one)
    share, sky = row_light(cell, Directions(90 * one, 45 * one, one), 2.0, 0.0, (2, 2))
    assert (share.tolist(), sky) == ([[1, 1], [1, 1]], 0)
    with pytest.raises(ValueError, match="above 0"):
        row_light(cell._replace(in_row_m=0.0), Directions(90 * one, 45 * one, one), 0.0, 0.0, (2, 2))


def test_mean_by_area() -> None:
    values = np.array([[0.2, 0.4], [0.6, 1.0]], np.float32)
    where = np.array([[0, 0], [2, -1]])
    assert mean_by_area(values, where, 4) == pytest.approx([0.3, np.nan, 0.6, np.nan], nan_ok=True)


def test_many_maps_at_once_are_the_map_alone() -> None:
    grid = grid_of("rolling")
    crowns, directions = brute.scattered(grid, TREES, 11), brute.anywhere(RAYS, 12)
    alone = light_map(crowns, grid, directions, workers=1)
    with ThreadPoolExecutor(4) as pool:
        maps = list(pool.map(lambda _: light_map(crowns, grid, directions, workers=3), range(6)))
    assert all((m.light_frac == alone.light_frac).all() for m in maps)


def test_two_processes_make_the_same_map_at_once() -> None:
    code = (
        "import numpy as np\n"
        "from browseline.science.light import Crowns, Directions, level_grid, light_map\n"
        "x = np.linspace(2, 20, 7)\n"
        "crowns = Crowns(x, 2 * x, 0 * x, x / 4 + 2, x / 8 + 1, x / 5, x / 50)\n"
        "sky = Directions(x * 9, x * 3, x)\n"
        "print(float(light_map(crowns, level_grid(0, 0, 1.0, 100, 24), sky, 2).light_frac.mean()))"
    )
    both = [
        subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True) for _ in range(2)
    ]
    said = [process.communicate(timeout=300)[0] for process in both]
    assert [process.returncode for process in both] == [0, 0]
    assert said[0] == said[1] != ""


def test_crowns_leave_no_trace_of_their_order() -> None:
    grid = level_grid(0, 0, 1.0, *SIDE)
    crowns, directions = brute.scattered(grid, TREES, 13), brute.anywhere(RAYS, 14)
    back = some(crowns, np.arange(TREES)[::-1])
    first, second = light_map(crowns, grid, directions), light_map(Crowns(*back), grid, directions)
    assert np.abs(first.light_frac - second.light_frac).max() < 2e-6
