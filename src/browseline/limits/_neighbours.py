"""Trees without a guard in a paddock or just over its fence: what roots and mouths can get at."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from browseline.farm.records import Planting
from browseline.limits._plants import REACH_M, outlines
from browseline.limits._reach import standing
from browseline.limits.form import Scene


def bare_trees(scene: Scene, paddock: str, named: Collection[str] = ()) -> tuple[Planting, ...]:
    """Return the plantings with a tree that has no guard, in a paddock or beside it.

    Parameters
    ----------
    named : collection of str
        Plantings that somebody typed as beside it: for a farm without a map.
    """
    near = set(_near(scene, paddock))
    return tuple(
        planting
        for planting in scene.farm.plantings
        if (planting.paddock in near or planting.id in named) and standing(scene, planting).bare != 0
    )


def _near(scene: Scene, paddock: str) -> Iterator[str]:
    """Yield the paddock, what it is a part of, and the paddocks that lie within reach on the map."""
    yield from scene.ground(paddock)
    drawn = outlines(scene)
    here = next((drawn[place] for place in scene.ground(paddock) if place in drawn), None)
    if here is None:
        return
    for other in scene.farm.paddocks:
        if other.id in drawn and here.distance(drawn[other.id]) <= REACH_M:
            yield other.id
