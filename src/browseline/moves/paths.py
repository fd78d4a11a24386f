"""How far animals walk: straight between the middles of paddocks, until lanes are laid out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.farm.records import Farm, Shape
from browseline.units import factor

Array = NDArray[np.float64]
YARD_KINDS = ("yard", "building", "sacrifice")


def far_km(farm: Farm, paddocks: tuple[str, ...]) -> Array:
    """Return the walk between any two places, the yard last; 0 where the map does not say.

    Parameters
    ----------
    paddocks : tuple of str
        In the order of the plan.

    Returns
    -------
    array, shape (place, place)
        On the ellipsoid, straight. [km]
    """
    shapes = {s.id: s for s in farm.shapes}
    own = [shapes.get(p.shape or p.id) if (p := farm.paddock(name)) else None for name in paddocks]
    spots = [_middle(s) for s in (*own, _yard(farm))]
    out = np.zeros((len(spots), len(spots)))
    if sum(s is not None for s in spots) < 2:
        return out
    from pyproj import Geod

    ellipsoid = Geod(ellps="WGS84")
    for a, here in enumerate(spots):
        for b, there in enumerate(spots[:a]):
            if here is not None and there is not None:
                out[a, b] = out[b, a] = ellipsoid.inv(*here, *there)[2] * factor("m", "km")
    return out


def _yard(farm: Farm) -> Shape | None:
    sacrifice = {p.shape or p.id for p in farm.paddocks if p.sacrifice}
    marked = [s for s in farm.shapes if s.id in sacrifice or s.kind in YARD_KINDS]
    return marked[0] if marked else None


def _middle(shape: Shape | None) -> tuple[float, float] | None:
    """Return the middle of a ring or of points, longitude first. [deg]"""
    if shape is None:
        return None
    ring = shape.rings[0] if shape.rings else shape.points
    if not ring:
        return None
    corners = ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring
    return float(np.mean([c[0] for c in corners])), float(np.mean([c[1] for c in corners]))
