"""What a farm's own trees do to its paddocks this year, kept by content: the map is drawn once a year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from browseline.chain.keep import content_key, kept_arrays
from browseline.farm.read import TERRAIN
from browseline.farm.records import Farm
from browseline.record.state import State

if TYPE_CHECKING:
    from browseline.canopy.shade import TreeShade
    from browseline.weather import Weather

MEMBERS = 21
MEAN_CELLS = 120_000
STEP = 0.05
CLEAR = (1.0,) * 12
PARTS = ("light_frac", "cover_frac", "heat_frac", "row_ha")


def tree_shade(
    folder: Path, farm: Farm, state: State, year: int, of_clear: Sequence[float]
) -> TreeShade | None:
    """Return what the trees of a year do to the paddocks; None where none stands on the map.

    Parameters
    ----------
    folder : Path
        Of the farm: its terrain is read from there.
    farm : Farm
    state : State
        The record up to now.
    year : int
        [yr]
    of_clear : sequence of float, twelve
        As ``clear_shares`` gives it. [1]
    """
    if farm.place is None or not farm.plantings or not on_map(farm):
        return None
    from browseline.canopy.shade import TreeShade

    trees = (state.row_counts, state.losses, state.planted, state.trees_cut, state.tree_sizes)
    key = content_key(
        farm.place, farm.normals, farm.seed, farm.as_of, farm.plantings, farm.paddocks, farm.shapes, trees,
        state.at.year, year, tuple(of_clear), terrain_of(folder), farm.rules,
    )  # fmt: skip
    held = kept_arrays("trees", key, lambda: _made(folder, farm, state, year, of_clear))
    if held is None:
        return None
    leaders = dict(zip((str(p) for p in held["plantings"]), (tuple(x) for x in held["leaders"]), strict=True))
    paddocks = tuple(str(p) for p in held["paddocks"])
    light, cover, heat, rows = (held[name] for name in PARTS)
    return TreeShade(year, paddocks, light, cover, heat, rows, leaders)


def on_map(farm: Farm) -> bool:
    """Return whether a paddock with trees is on the farm's map."""
    drawn = {shape.id for shape in farm.shapes if shape.kind == "paddock"}
    homes = {p.paddock for p in farm.plantings}
    return any((p.shape or p.id) in drawn for p in farm.paddocks if p.id in homes)


def terrain_of(folder: Path) -> tuple[int, int]:
    """Return size and time of the farm's terrain: what tells one from another. [1, ns]"""
    path = folder / TERRAIN
    if not path.is_file():
        return (0, 0)
    found = path.stat()
    return found.st_size, found.st_mtime_ns


def _made(
    folder: Path, farm: Farm, state: State, year: int, of_clear: Sequence[float]
) -> dict[str, Any] | None:
    from browseline.canopy.cells import cells_of
    from browseline.canopy.shade import shade_of
    from browseline.canopy.sizes import grow_trees
    from browseline.chain.laid import ground_under, laid_out

    if farm.place is None:
        return None
    cells = cells_of(farm, ground_under(folder, farm), most=MEAN_CELLS)
    layout = laid_out(folder, replace(farm, planned=()), state)
    if cells is None or not len(layout.trees):
        return None
    sizes = grow_trees(farm, state, (year,), range(MEMBERS))
    made = shade_of(farm, farm.place, cells, layout, sizes, year, of_clear)
    names = list(made.leaders)
    return {
        "paddocks": np.array(made.paddocks, dtype=str), "plantings": np.array(names, dtype=str),
        "leaders": np.array([made.leaders[name] for name in names]).reshape(-1, 3),
        **{name: getattr(made, name) for name in PARTS},
    }  # fmt: skip


def clear_shares(farm: Farm, weather: Weather | None) -> tuple[float, ...]:
    """Return the light of each month over that of a clear sky, in steps; 1 where it is not known. [1]

    Steps are wide enough that a new day's weather seldom asks for new maps.
    """
    if weather is None or farm.place is None:
        return CLEAR
    from browseline.canopy.light import MONTHS, clear_mj_m2_d

    of = weather.days.astype("datetime64[M]").astype(int) % 12 + 1
    daily = weather.rs_mj_m2_d.mean(axis=0)
    out = []
    for month in MONTHS:
        clear, own = clear_mj_m2_d(farm.place, month), daily[of == month]
        share = float(own.mean()) / clear if clear > 0 and own.size else 1.0
        out.append(min(max(round(share / STEP) * STEP, STEP), 1.0))
    return tuple(round(share, 2) for share in out)


def with_row_ground(farm: Farm, trees: TreeShade | None) -> Farm:
    """Return the farm with the ground that standing rows take, where nobody typed it. [ha]"""
    if trees is None:
        return farm
    rows = dict(zip(trees.paddocks, trees.row_ha, strict=True))
    return replace(
        farm,
        paddocks=tuple(
            replace(p, row_area_ha=min(float(rows.get(p.id, 0.0)), p.area_ha)) if p.row_area_ha == 0 else p
            for p in farm.paddocks
        ),
    )
