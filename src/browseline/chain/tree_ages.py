"""Light of the season when the trees are 0, 5, 10 and 15 years old, kept by content."""

from __future__ import annotations

from typing import Any

import numpy as np

from browseline.chain.keep import content_key, kept_arrays
from browseline.chain.laid import ground_under, laid_out
from browseline.chain.look import Picture
from browseline.chain.tree_shade import MEAN_CELLS, MEMBERS, clear_shares, on_map
from browseline.ledger.account import season_of
from browseline.ledger.balance_ages import AgedLight
from browseline.ledger.balance_months import months_of

PARTS = ("light_frac", "now_frac")


def aged_light(picture: Picture) -> AgedLight | None:
    """Return the season's light by age of the trees; None where no tree stands on the map."""
    farm, state = picture.farm, picture.state
    if farm.place is None or not on_map(farm) or picture.scene.trees is None:
        return None
    from browseline.canopy.ages import AGES

    first, last = season_of(farm, picture.today)
    months = tuple(sorted({month for _, month in months_of(first, last)}))
    clear = clear_shares(farm, picture.weather)
    trees = (state.row_counts, state.losses, state.planted, state.trees_cut, state.tree_sizes)
    key = content_key(
        farm.place, farm.normals, farm.seed, farm.as_of, farm.plantings, farm.paddocks, farm.shapes, trees,
        state.at.year, months, clear, AGES,
    )  # fmt: skip
    held = kept_arrays("ages", key, lambda: _made(picture, months, clear))
    if held is None:
        return None
    return AgedLight(AGES, tuple(str(p) for p in held["paddocks"]), *(held[name] for name in PARTS))


def _made(picture: Picture, months: tuple[int, ...], clear: tuple[float, ...]) -> dict[str, Any] | None:
    from browseline.canopy.ages import light_by_age, years_at
    from browseline.canopy.cells import cells_of
    from browseline.canopy.light import clear_mj_m2_d
    from browseline.canopy.sizes import grow_trees

    farm, trees = picture.farm, picture.scene.trees
    cells = cells_of(farm, ground_under(picture.folder, farm), most=MEAN_CELLS)
    years = years_at(farm)
    if farm.place is None or trees is None or cells is None or not years:
        return None
    layout = laid_out(picture.folder, farm, picture.state)
    sizes = grow_trees(farm, picture.state, years, range(MEMBERS))
    light = light_by_age(farm, farm.place, cells, layout, sizes, months, clear)
    weight = np.array([clear_mj_m2_d(farm.place, month) * clear[month - 1] for month in months])
    by_month = trees.light_frac[[month - 1 for month in months]]
    now = dict(zip(trees.paddocks, (by_month * weight[:, None]).sum(axis=0) / weight.sum(), strict=True))
    typed = {p.id: p.light.to("1") for p in farm.paddocks if p.light is not None}
    return {
        "paddocks": np.array(cells.paddocks, dtype=str), "light_frac": light,
        "now_frac": np.array([typed.get(p, now.get(p, 1.0)) for p in cells.paddocks]),
    }  # fmt: skip
