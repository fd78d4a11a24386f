"""Stock and trees on separate land: how much land each would need apart for what it gives together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.decades import FeedAhead
from browseline.farm.records import Farm, Paddock, Planting
from browseline.figures import Figure, typed
from browseline.science.crop import land_equivalent
from browseline.trials.land_uses import LandUse
from browseline.trials.outcome import range_of
from browseline.units import Quantity

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Apart:
    """One planting on its paddock: areas apart for one together, and the two shares of it. [1]"""

    planting: str
    name: str
    ratio: Figure
    feed: Figure
    trees: Figure


def apart(farm: Farm, uses: Sequence[LandUse]) -> tuple[Apart, ...]:
    """Return the land that pasture and trees would need apart, for plantings whose own orchard is typed.

    The feed's share is what the paddock grows over what it grows without trees, member by member, all years
    together; the trees' share how many stand here for those of an orchard. Each tree is taken to bear alike.
    """
    feeds = {one.use: one.projection.feed for one in uses if one.projection is not None}
    if "here" not in feeds or "pasture" not in feeds or not feeds["here"].grows:
        return ()
    made = []
    for planting in farm.plantings:
        dense = dict(farm.same_land.alone).get(planting.id)
        ground = next((p for p in farm.paddocks if planting.paddock in (p.id, *p.parents)), None)
        if dense is not None and ground is not None and planting.trees:
            made.append(_apart(planting, ground, dense, feeds["here"], feeds["pasture"]))
    return tuple(made)


def _grown(feed: FeedAhead, paddock: str) -> Array:
    """Return what a paddock grows in all years, shape (member,). [kg]"""
    return np.asarray(feed.grown_paddock_kg[:, :, feed.paddocks.index(paddock)].sum(axis=0))


def _apart(planting: Planting, ground: Paddock, dense: Quantity, here: FeedAhead, open_: FeedAhead) -> Apart:
    grown = [_grown(feed, ground.id) for feed in (here, open_)]
    share = land_equivalent(grown[0][None], grown[1][None])
    middle, low, high = range_of(share)
    feed_share = Figure(
        "feed_share", middle, "1", low, high, origins=here.origins, about=planting.name,
        formula=f"{np.median(grown[0]):,.0f} kg ÷ {np.median(grown[1]):,.0f} kg",
    )  # fmt: skip
    stood = typed(
        "trees_stood", float(planting.trees or 0), "trees", f"{planting.trees}", about=planting.name
    )
    area = typed("area_whole", ground.area_ha, "ha", "", about=ground.name)
    alone = typed("orchard_density", dense.to("trees/ha"), "trees/ha", dense.text, about=planting.name)
    of_trees = (planting.trees or 0) / ground.area_ha / dense.to("trees/ha")
    formula = f"{planting.trees} ÷ {ground.area_ha:.4g} ha ÷ {dense.to('trees/ha'):.4g} trees/ha"
    tree_share = Figure(
        "trees_share", of_trees, "1", formula=formula, parts=(stood, area, alone), about=planting.name
    )
    whole = land_equivalent(
        np.stack([grown[0], np.full_like(share, of_trees)]), np.stack([grown[1], np.ones_like(share)])
    )
    value, least, most = range_of(whole)
    ratio = Figure(
        "land_equivalent", value, "1", least, most, formula=f"{middle:.3g} + {of_trees:.3g}",
        parts=(feed_share, tree_share), about=planting.name,
    )  # fmt: skip
    return Apart(planting.id, planting.name, ratio, feed_share, tree_share)
