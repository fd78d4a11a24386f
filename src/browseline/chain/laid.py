"""A farm's rows on its own ground, with the crowns that its measured trees pull."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from browseline.farm.read import TERRAIN
from browseline.farm.records import Farm
from browseline.layout.form import Layout
from browseline.record.state import State

if TYPE_CHECKING:
    from browseline.layout.plane import Plane
    from browseline.layout.terrain import Ground

AROUND_M = 100.0


def laid_out(folder: Path, farm: Farm, state: State) -> Layout:
    """Return the layout of a farm with its own ground and crowns that its measured trees pull."""
    from browseline.canopy.measured import crowns_after
    from browseline.layout.lay import lay_out

    return lay_out(farm, ground_under(folder, farm), crowns_after(farm, state))


def ground_under(folder: Path, farm: Farm) -> Ground | None:
    """Return the ground under a farm's map, or None where there is no grid or no map."""
    from browseline.layout.plane import plane_of

    return _ground(folder / TERRAIN, farm, plane_of(farm.shapes)) if farm.shapes else None


def _ground(path: Path, farm: Farm, plane: Plane) -> Ground | None:
    """Return the ground under the farm's map, or None where there is no grid."""
    if not path.is_file():
        return None
    import shapely

    from browseline.layout.plane import geometry
    from browseline.layout.terrain import read_ground

    bounds = shapely.total_bounds([geometry(shape, plane) for shape in farm.shapes])
    west, south, east, north = (float(x) for x in bounds)
    return read_ground(path, plane, (west - AROUND_M, south - AROUND_M, east + AROUND_M, north + AROUND_M))
