"""Which paddocks hold trees, and where hay can be fed without harm to any."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from browseline.farm.records import Farm
from browseline.limits import Scene


def treed(farm: Farm, paddock: str) -> bool:
    """Return whether trees stand in a paddock: a planting, rows, a typed cover, or ground not open."""
    found = farm.paddock(paddock)
    if found is None:
        return False
    rows = found.row_area_ha > 0 or found.cover is not None or not found.open_ground
    return rows or any(p.paddock == paddock for p in farm.plantings)


def treed_paddocks(scene: Scene) -> tuple[str, ...]:
    """Return the paddocks with trees, in the order of the farm."""
    return tuple(p for p in scene.paddocks if treed(scene.farm, p))


def feeding_ground(scene: Scene, counted: list[int]) -> str | None:
    """Return the one open paddock to feed hay in: marked so by the farm, never one with trees.

    Where none is marked it is the open one without trees that has least to lose.

    Parameters
    ----------
    counted : list of int
        Open paddocks by their places on the herbage axis.
    """
    marked = next(_marked(scene), None)
    if marked is not None:
        return marked
    herbage = scene.herbage
    bare = [i for i in counted if not treed(scene.farm, herbage.paddocks[i])]
    if not bare:
        return None
    middle = np.median(herbage.mass_kg_ha[:, bare], axis=0)
    above = [
        max(float(m) - herbage.numbers[i].mass_kg_ha(herbage.numbers[i].leave_at.value or 0.0), 0.0)
        * float(herbage.land.area_ha[i])
        for i, m in zip(bare, middle, strict=True)
    ]
    return herbage.paddocks[bare[int(np.argmin(np.round(above, 6)))]]


def _marked(scene: Scene) -> Iterator[str]:
    """Yield the paddocks that the farm marked to feed in, that are not shut and hold no trees."""
    for paddock in scene.farm.paddocks:
        if (
            paddock.sacrifice
            and not treed(scene.farm, paddock.id)
            and scene.state.shut_now(paddock.id) is None
        ):
            yield paddock.id
