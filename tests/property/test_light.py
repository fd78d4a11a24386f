"""What light under trees must obey, whatever the trees."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.science.light import Crowns, Directions, Grid, depth_map, level_grid, light_map
from browseline.science.light_edit import some
from browseline.science.light_forms import depth_per_m, shadow_area_m2
from tests import brute_light as brute

SHAPE = (40, 50) if brute.JIT else (12, 14)
FEW = settings(max_examples=25 if brute.JIT else 2)
SEED = st.integers(0, 10_000)
NEAR = 2e-6  # float32
RIM = 5e-4  # a cell on the rim of a shadow, where the chord begins steeply


def map_of(crowns: Crowns, directions: Directions, grid: Grid | None = None) -> np.ndarray:
    found = light_map(crowns, grid or level_grid(0, 0, 1.0, *SHAPE), directions, workers=1)
    return found.light_frac.astype(np.float64)


@FEW
@given(SEED, st.integers(0, 12), st.booleans())
def test_light_lies_between_none_and_all(seed: int, trees: int, hilly: bool) -> None:
    ground = brute.rolling(*SHAPE, 1.0, 12.0) if hilly else np.zeros(SHAPE, np.float32)
    grid = Grid(0, 0, 1.0, ground)
    crowns = brute.scattered(grid, trees, seed)
    found = light_map(
        crowns._replace(depth_per_m=20 * crowns.depth_per_m), grid, brute.anywhere(9, seed, 1.0), 1
    )
    assert ((found.light_frac >= 0) & (found.light_frac <= 1)).all()
    assert (found.open_frac >= 0).all()


@FEW
@given(SEED, st.floats(1.0, 3.0))
def test_more_leaf_never_means_more_light(seed: int, times: float) -> None:
    grid = level_grid(0, 0, 1.0, *SHAPE)
    crowns, directions = brute.scattered(grid, 6, seed), brute.anywhere(8, seed)
    more = map_of(crowns._replace(depth_per_m=times * crowns.depth_per_m), directions)
    assert (more <= map_of(crowns, directions) + NEAR).all()


@FEW
@given(SEED, st.integers(1, 7))
def test_more_trees_never_mean_more_light(seed: int, fewer: int) -> None:
    grid = level_grid(0, 0, 1.0, *SHAPE)
    crowns, directions = brute.scattered(grid, 8, seed), brute.anywhere(8, seed)
    assert (map_of(crowns, directions) <= map_of(some(crowns, slice(fewer)), directions) + NEAR).all()


@FEW
@given(SEED, st.floats(0, 360), st.floats(15, 80), st.floats(1, 10))
def test_a_lower_sun_takes_more_light(seed: int, azimuth: float, high: float, lower: float) -> None:
    """The whole of the light taken on level ground, the crown's shadow inside the grid."""
    luck = np.random.default_rng(seed)
    a, c = luck.uniform(1.2, 2, 2)
    tree = brute.alike(np.array([60.0]), np.array([60.0]), 2.5, a, c, luck.uniform(0.1, 1))
    grid = level_grid(0, 0, *((0.2, 601, 601) if brute.JIT else (0.5, 241, 241)))
    taken = [
        (1 - map_of(tree, Directions(np.array([azimuth]), np.array([90 - up]), np.ones(1)), grid)).sum()
        for up in (high, high - min(lower, high - 5))
    ]
    assert taken[1] >= taken[0] * (0.99 if brute.JIT else 0.95)


@FEW
@given(SEED, st.floats(0, 360), st.floats(12, 85))
def test_the_shadow_is_as_large_whatever_the_azimuth(seed: int, azimuth: float, elevation: float) -> None:
    luck = np.random.default_rng(seed)
    a, c = luck.uniform(1.5, 4, 2)
    tree = brute.alike(np.array([0.0]), np.array([0.0]), c + 1, a, c, 0.3)
    cell, cells = (0.2, 451) if brute.JIT else (0.6, 151)
    grid = level_grid(-45.02, -45.03, cell, cells, cells)
    shaded = (depth_map(tree, grid, azimuth, 90 - elevation, 1) > 0).sum() * cell**2
    edge = cell * 8 * max(a, c) / np.sin(np.radians(elevation))  # cells along the rim
    assert abs(shaded - shadow_area_m2(a, c, elevation)) < max(0.005 * shaded, 0.2 * edge)


@FEW
@given(SEED)
def test_a_mirrored_farm_has_the_mirrored_map(seed: int) -> None:
    ground = brute.rolling(*SHAPE, 1.0)
    grid, other = Grid(0, 0, 1.0, ground), Grid(0, 0, 1.0, np.ascontiguousarray(ground[:, ::-1]))
    crowns, directions = brute.scattered(grid, 7, seed), brute.anywhere(8, seed, 12.0)
    turned = crowns._replace(x_m=SHAPE[1] - 1 - crowns.x_m)
    mirrored = directions._replace(azimuth_deg=360 - directions.azimuth_deg)
    off = np.abs(map_of(turned, mirrored, other)[:, ::-1] - map_of(crowns, directions, grid))
    assert off.max() < RIM
    assert off.mean() < NEAR


@FEW
@given(SEED)
def test_a_farm_turned_by_a_quarter_has_the_turned_map(seed: int) -> None:
    """Rows of the map become columns: chunks along the other axis, the same light."""
    ground = brute.rolling(*SHAPE, 1.0)
    grid, other = Grid(0, 0, 1.0, ground), Grid(0, 0, 1.0, np.ascontiguousarray(ground.T))
    crowns, directions = brute.scattered(grid, 7, seed), brute.anywhere(8, seed, 12.0)
    turned = crowns._replace(x_m=crowns.y_m, y_m=crowns.x_m)
    over = directions._replace(azimuth_deg=90 - directions.azimuth_deg)
    off = np.abs(map_of(turned, over, other).T - map_of(crowns, directions, grid))
    assert off.max() < RIM
    assert off.mean() < NEAR


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_a_leafless_crown_never_takes_more_than_one_in_leaf(leaf: float, less: float, bare: float) -> None:
    one = np.array([0.5])
    full, part = (depth_per_m(one, 0.5, np.array([x]), np.array([bare])) for x in (leaf, leaf * less))
    assert 0 <= part[0] <= full[0] + 1e-15
    assert depth_per_m(one, 0.5, np.ones(1), np.array([bare]))[0] == 0.25
