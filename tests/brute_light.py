"""Light by brute force in float64: every cell, every crown, every direction, from the equation itself."""

from __future__ import annotations

import os

import numpy as np
import numpy.typing as npt

from browseline.science.light import Crowns, Directions, Grid

JIT = os.environ.get("NUMBA_DISABLE_JIT") != "1"
"""Uncompiled, for the count of branches, small farms and few cases have to do."""
Doubles = npt.NDArray[np.float64]


def places(grid: Grid) -> tuple[Doubles, Doubles, Doubles]:
    """Return x, y and height of the cells."""
    ground = grid.ground_m.astype(np.float64)
    x, y = np.meshgrid(
        grid.x_m + grid.cell_m * np.arange(ground.shape[1]),
        grid.y_m + grid.cell_m * np.arange(ground.shape[0]),
    )
    return x, y, ground


def depth(crowns: Crowns, grid: Grid, azimuth_deg: float, zenith_deg: float) -> Doubles:
    """Return optical depth: |p + t s| = 1 in axes scaled by the crown, the part with t above 0."""
    x, y, z = places(grid)
    azimuth, zenith = np.radians(azimuth_deg), np.radians(zenith_deg)
    toward = np.array([np.sin(zenith) * np.sin(azimuth), np.sin(zenith) * np.cos(azimuth), np.cos(zenith)])
    total = np.zeros_like(z)
    for x0, y0, foot, centre, a, c, k in zip(*crowns, strict=True):
        s = toward / np.array([a, a, c])
        p = np.stack([(x - x0) / a, (y - y0) / a, (z - foot - centre) / c])
        aa, bb, cc = s @ s, np.tensordot(s, p, 1), (p * p).sum(0) - 1
        root = np.sqrt(np.maximum(bb * bb - aa * cc, 0))
        total += k * (np.maximum((-bb + root) / aa, 0) - np.maximum((-bb - root) / aa, 0))
    return total


def light(crowns: Crowns, grid: Grid, directions: Directions) -> tuple[Doubles, Doubles]:
    """Return the share that trees leave, and open light over that of level ground, no land in the way."""
    _, _, z = places(grid)
    north, east = np.gradient(z, grid.cell_m)
    under, sky = np.zeros_like(z), np.zeros_like(z)
    for azimuth, zenith, weight in zip(*directions, strict=True):
        tangent, turn = np.tan(np.radians(zenith)), np.radians(azimuth)
        falls = weight * np.maximum(1 - tangent * (east * np.sin(turn) + north * np.cos(turn)), 0)
        under += falls * np.exp(-depth(crowns, grid, azimuth, zenith))
        sky += falls
    return under / sky, sky / directions.weight.sum()


def rolling(rows: int, cols: int, cell_m: float, height_m: float = 4.0) -> npt.NDArray[np.float32]:
    """Return rolling ground."""
    x, y = np.meshgrid(np.arange(cols) * cell_m, np.arange(rows) * cell_m)
    z = height_m * (np.sin(x / 60) + 0.75 * np.cos(y / 45)) + 0.02 * x
    return np.asarray(z, np.float32)


def scattered(grid: Grid, trees: int, seed: int, beyond_m: float = 20.0) -> Crowns:
    """Return crowns of many sizes, on the grid and beyond it."""
    luck = np.random.default_rng(seed)
    rows, cols = grid.ground_m.shape
    x = luck.uniform(-beyond_m, cols * grid.cell_m + beyond_m, trees)
    y = luck.uniform(-beyond_m, rows * grid.cell_m + beyond_m, trees)
    at = np.clip(y / grid.cell_m, 0, rows - 1).astype(int), np.clip(x / grid.cell_m, 0, cols - 1).astype(int)
    half = luck.uniform(0.8, 5, trees)
    return Crowns(
        x + grid.x_m, y + grid.y_m, grid.ground_m[at].astype(np.float64), half + luck.uniform(0, 3, trees),
        luck.uniform(0.8, 5, trees), half, luck.uniform(0.05, 0.5, trees),
    )  # fmt: skip


def anywhere(count: int, seed: int, lowest_deg: float = 4.0) -> Directions:
    """Return directions all over the sky, of any weight."""
    luck = np.random.default_rng(seed)
    return Directions(
        luck.uniform(0, 360, count), luck.uniform(0, 90 - lowest_deg, count), luck.uniform(0.1, 1, count)
    )


def joined(*crowns: Crowns) -> Crowns:
    """Return several lots of crowns as one."""
    return Crowns(*(np.concatenate(parts) for parts in zip(*crowns, strict=True)))


def alike(
    x_m: Doubles, y_m: Doubles, centre_m: float, radius_m: float, half_m: float, per_m: float
) -> Crowns:
    """Return crowns of one size on level ground."""
    each = np.ones(np.size(x_m))
    return Crowns(
        np.ravel(x_m).astype(np.float64), np.ravel(y_m).astype(np.float64), 0 * each, centre_m * each,
        radius_m * each, half_m * each, per_m * each,
    )  # fmt: skip
