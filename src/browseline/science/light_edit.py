"""Light after a few trees were moved, added or felled: only the ground that they shade is made anew."""

from __future__ import annotations

from typing import Any

import numpy as np

from browseline.science import light_tiles as tiles
from browseline.science.light import Light, in_bands, land_masks
from browseline.science.light_fade import fade
from browseline.science.light_ground import empty_tile, read_tile
from browseline.science.light_scene import Crowns, Directions, Grid, rays_of, stand_of
from browseline.science.light_tiles import COLS, STRIDE, Rays, Stand, quick


@quick
def _shaded(tile: Any, few: Stand, rays: Rays, ray: int) -> bool:
    """Whether any of a few crowns may shade the tile in a direction."""
    shaded = False
    for n in range(few.x_m.size):
        shaded = shaded or tiles.crown_touches(tile, few, n, rays, ray)
    return shaded


@quick
def _difference(tile: Any, kept: Any, gone: Any, come: Any, lit: Any, fall: Any, out: Any) -> None:
    """Add the change of one direction's light to the tile's sum. ``fall``: weight, by east, by north."""
    for row in range(tile.rows):
        for col in range(tile.cols):
            i = row * STRIDE + col
            change = fade(kept[i] + come[i]) - fade(kept[i] + gone[i])
            if change != 0 and lit[row, col]:
                falls = fall[0] - fall[1] * tile.east[i] - fall[2] * tile.north[i]
                out[i] += max(falls, 0.0) * change


@quick
def _depth_of(tile: Any, stand: Stand, rays: Rays, ray: int, out: Any) -> None:
    """Write the depth of a stand over the tile, and set the tile's own to 0."""
    tiles.add_depth(tile, stand, rays, ray)
    for i in range(out.size):
        out[i] = tile.depth[i]
        tile.depth[i] = 0


@quick
def _change_tile(
    tile: Any, stands: Any, rays: Rays, masks: Any, all_lit: Any, place: Any, depths: Any, out: Any
) -> bool:
    """Sum the change of light over the directions that the crowns shade; whether there are any."""
    kept, gone, come = stands
    any_ = False
    for ray in range(rays.weight.size):
        if not (_shaded(tile, gone, rays, ray) or _shaded(tile, come, rays, ray)):
            continue
        any_ = True
        for n, stand in enumerate((kept, gone, come)):
            _depth_of(tile, stand, rays, ray, depths[n])
        lean = rays.weight[ray] * rays.cot_el[ray]
        fall = (rays.weight[ray], lean * rays.sin_az[ray], lean * rays.cos_az[ray])
        mask = rays.mask[ray]
        lit = masks[mask, place[0] :, place[1] :] if mask >= 0 else all_lit
        _difference(tile, depths[0], depths[1], depths[2], lit, fall, out)
    return any_


@quick
def _write_change(tile: Any, out: Any, light: Any, sky: Any, first_row: int, first_col: int) -> None:
    """Add a tile's change to the map."""
    for row in range(tile.rows):
        for col in range(tile.cols):
            r, c = first_row + row, first_col + col
            if sky[r, c] > 0:
                light[r, c] = min(max(light[r, c] + out[row * STRIDE + col] / sky[r, c], 0.0), 1.0)


@quick
def _change_band(
    stands: Any, rays: Rays, masks: Any, all_lit: Any, ground: Any, cell_m: float, row: int, arrays: Any,
    depths: Any, out: Any, light: Any, sky: Any,
) -> None:  # fmt: skip
    """Add the change of a band of tiles to the map."""
    for col in range(0, ground.shape[1], COLS):
        tile = read_tile(arrays, ground, cell_m, row, col)
        out[:] = 0
        if _change_tile(tile, stands, rays, masks, all_lit, (row, col), depths, out):
            _write_change(tile, out, light, sky, row, col)


def light_changed(
    light: Light,
    kept: Crowns,
    gone: Crowns,
    come: Crowns,
    grid: Grid,
    directions: Directions,
    workers: int | None = None,
) -> Light:
    """Light of a map after some trees went and others came; a moved tree goes and comes.

    Parameters
    ----------
    light : Light
        The map with ``kept`` and ``gone``, shape (row, col). [1]
    kept, gone, come : Crowns
        Trees in both maps, in the old one alone, in the new one alone. [m]
    grid, directions, workers
        As for the map itself.

    Returns
    -------
    Light
        A new map with ``kept`` and ``come``, shape (row, col). [1]

    References
    ----------
    ours: as ``light_map``; where no shadow of these trees falls nothing is touched
    """
    ground = np.ascontiguousarray(grid.ground_m, np.float32)
    rows, masks = land_masks(directions, grid, workers)
    rays = rays_of(directions, rows)
    stands = (stand_of(kept, grid), stand_of(gone, grid), stand_of(come, grid))
    share, most = light.light_frac.copy(), max(stand.x_m.size for stand in stands)
    all_lit = np.ones((tiles.ROWS, COLS), np.uint8)

    def work(row: int) -> None:
        depths = np.zeros((3, tiles.ROWS * STRIDE), np.float32)
        _change_band(
            stands, rays, masks, all_lit, ground, grid.cell_m, row, empty_tile(most), depths,
            np.zeros(tiles.ROWS * STRIDE), share, light.open_frac,
        )  # fmt: skip

    in_bands(ground.shape[0], work, workers)
    return Light(share, light.open_frac)


def some(crowns: Crowns, chosen: Any) -> Crowns:
    """Part of the crowns.

    Parameters
    ----------
    crowns : Crowns
        shape (tree,). [m]
    chosen : array of bool or int, shape (tree,) or (part,)
        Which. [1]

    Returns
    -------
    Crowns
        shape (part,). [m]

    References
    ----------
    ours: definition
    """
    return Crowns(*(np.asarray(values)[chosen] for values in crowns))
