"""The other inner loop of the light map: the depths of a tile become light."""

from __future__ import annotations

from typing import Any

from browseline.science.light_tiles import COLS, ONE, ROWS, STRIDE, ZERO, F, Rays, Tile, U, quick, within


@within
def fade(depth: Any) -> Any:
    """Share of light that a depth lets through, exp(-depth) within 1e-6.

    Parameters
    ----------
    depth : float32
        0 or more; past 32 it counts as 32. [1]

    Returns
    -------
    float32
        0 to 1. [1]

    References
    ----------
    ours: four terms of the series at a 32nd of the depth, squared five times; held to numpy
    """
    y = min(depth, F(32)) * F(-1 / 32)
    p = ONE + y * (ONE + y * (F(1 / 2) + y * (F(1 / 6) + y * F(1 / 24))))
    p = p * p
    p = p * p
    p = p * p
    p = p * p
    return p * p


@quick
def add_light(tile: Tile, rays: Rays, ray: int) -> None:
    """Turn the tile's depths into light of one direction, and set them to 0 again.

    Parameters
    ----------
    tile : Tile
        Ground and its sums, changed in place. [m]
    rays : Rays
        shape (direction,). [1]
    ray : int
        Which of them. [1]

    Returns
    -------
    None
        The tile holds the light so far. [1]

    References
    ----------
    ours: light on an area of the map: it falls by the rise towards the sun over the tangent of its height
    """
    weight = F(rays.weight[ray])
    by_east = F(rays.weight[ray] * rays.cot_el[ray] * rays.sin_az[ray])
    by_north = F(rays.weight[ray] * rays.cot_el[ray] * rays.cos_az[ray])
    east, north, depth, light, sky = tile.east, tile.north, tile.depth, tile.light, tile.open
    for row in range(tile.rows):
        at = U(row * STRIDE)
        for lane in range(COLS):
            i = at + U(lane)
            falls = max(weight - by_east * east[i] - by_north * north[i], ZERO)
            light[i] += falls * fade(depth[i])
            sky[i] += falls
            depth[i] = ZERO


@quick
def add_open(tile: Tile, rays: Rays, ray: int) -> None:
    """Add the light of one direction that no crown stands before: as ``add_light`` with depths of 0.

    Parameters
    ----------
    tile : Tile
        Ground and its sums, changed in place. [m]
    rays : Rays
        shape (direction,). [1]
    ray : int
        Which of them. [1]

    Returns
    -------
    None
        The tile holds the light so far. [1]

    References
    ----------
    ours: as ``add_light``
    """
    weight = F(rays.weight[ray])
    by_east = F(rays.weight[ray] * rays.cot_el[ray] * rays.sin_az[ray])
    by_north = F(rays.weight[ray] * rays.cot_el[ray] * rays.cos_az[ray])
    east, north, light, sky = tile.east, tile.north, tile.light, tile.open
    for row in range(tile.rows):
        at = U(row * STRIDE)
        for lane in range(COLS):
            i = at + U(lane)
            falls = max(weight - by_east * east[i] - by_north * north[i], ZERO)
            light[i] += falls
            sky[i] += falls


@quick
def remember(tile: Tile, before: Any) -> None:
    """Copy light and open light of the tile, shape (2, ROWS x STRIDE).

    Parameters
    ----------
    tile : Tile
        Ground and its sums. [1]
    before : array, shape (2, ROWS x STRIDE)
        Where to. [1]

    Returns
    -------
    None

    References
    ----------
    ours: a copy
    """
    for i in range(ROWS * STRIDE):
        before[0, i], before[1, i] = tile.light[i], tile.open[i]


@quick
def hide(tile: Tile, mask: Any, first_row: int, first_col: int, before: Any) -> None:
    """Take back the light just added where the land stands before the sky.

    Parameters
    ----------
    tile : Tile
        Ground and its sums, changed in place. [m]
    mask : array, shape (row, col)
        1 where the land lets the direction through. [1]
    first_row, first_col : int
        Of the tile in the mask. [1]
    before : array, shape (2, ROWS x STRIDE)
        Light and open light as they were. [1]

    Returns
    -------
    None

    References
    ----------
    ours: as ``land_lit``
    """
    for row in range(tile.rows):
        for col in range(tile.cols):
            if not mask[first_row + row, first_col + col]:
                i = row * STRIDE + col
                tile.light[i], tile.open[i] = before[0, i], before[1, i]
