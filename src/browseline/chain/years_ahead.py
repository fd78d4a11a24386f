"""A farm's years ahead, kept by content: the light of its trees is worked out once, the rest when asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

from browseline.chain.laid import ground_under, laid_out
from browseline.chain.look import Picture
from browseline.chain.tree_shade import MEAN_CELLS, clear_shares, on_map
from browseline.decades.start import Start


def start_of(picture: Picture) -> Start:
    """Return what a projection starts from, as the chain sees the farm now."""
    farm, scene = picture.farm, picture.scene
    layout = cells = None
    if farm.place is not None and farm.plantings and on_map(farm):
        from browseline.canopy.cells import cells_of

        layout = laid_out(picture.folder, farm, picture.state)
        cells = cells_of(farm, ground_under(picture.folder, farm), most=MEAN_CELLS)
    return Start(
        farm, picture.state, picture.today, layout, cells, clear_shares(farm, picture.weather),
        dict(cast("Mapping[str, tuple[float, float]]", scene.memo.get("taught") or {})),
    )  # fmt: skip
