"""Carbon and gases of the years ahead by line: trees, dead wood and products, animals. Nothing is netted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes
from browseline.decades.beast_air import beast_air
from browseline.decades.form import CarbonAhead, FeedAhead, Yield
from browseline.decades.tree_pools import Pools, origins, tree_pools
from browseline.farm.records import Farm
from browseline.figures import Origin
from browseline.record.state import State
from browseline.science.warming import star_series

Array = npt.NDArray[np.float64]
POOLS = ("above", "below", "dead", "products")
GROWTH, DECAY, FELLED = ("tree_growth", "CO2"), ("decay", "CO2"), ("felled", "CO2")


def carbon_ahead(
    farm: Farm, state: State, sizes: TreeSizes, feed: FeedAhead, wood: tuple[Yield, ...], years: Sequence[int]
) -> CarbonAhead:
    """Return the carbon book of the years ahead.

    Above 0 is into the air; what trees take is below. Soil, fuel and what is bought are in no line: soil is
    claimed by two samplings only, the others nobody has typed for the years ahead.

    Parameters
    ----------
    farm : Farm
    state : State
        The record up to today: stems measured, weights.
    sizes : TreeSizes
        Of those years.
    feed : FeedAhead
        The head carried.
    wood : tuple of Yield
        What is felled, whose sources go along.
    years : sequence of int
        Calendar years; the first is that of today. [yr]
    """
    stock: dict[tuple[str, str], Array] = {}
    found: list[Pools] = []
    said: list[Origin] = [origin for one in wood for origin in one.origins]
    for planting in farm.plantings:
        if sizes.of(planting.id):
            pools = tree_pools(farm, state, sizes, planting)
            found.append(pools)
            stock |= {(planting.id, pool): getattr(pools, pool) for pool in POOLS}
            said += origins(farm, planting)
    air = beast_air(farm, state, feed, sizes.members)
    flows = {**_trees(found), **air.flow_kg}
    last = measured_to(state)
    projected = np.array([last is None or year > last for year in years])
    every = tuple(dict.fromkeys((*said, *air.origins)))
    return CarbonAhead(
        stock, flows, projected, every, no_factor=air.no_factor, left_out=(*LEFT_OUT, *_bought(feed))
    )


LEFT_OUT = ("soil", "fuel", "inputs")
"""What no line holds, by the keys of its words."""


def _bought(feed: FeedAhead) -> tuple[str, ...]:
    return ("hay",) if feed.hay_kg.any() else ()


def _trees(found: Sequence[Pools]) -> dict[tuple[str, str], Array]:
    """Return the lines of trees, all plantings together; none without trees. [kg CO2]"""
    if not found:
        return {}
    total = {key: np.sum([getattr(p, name) for p in found], axis=0) for key, name in (
        (GROWTH, "grown"), (DECAY, "decayed"), (FELLED, "burned"))}  # fmt: skip
    return {**total, GROWTH: -total[GROWTH]}


def measured_to(state: State) -> int | None:
    """Return the last year in which a stem was measured; None where none was. [yr]"""
    return max((size.at.end.year for size in state.tree_sizes if size.dbh is not None), default=None)


def methane_star(flow_kg: Array, before_kg: Array | float, factor: float) -> Array:
    """Return warming-equivalents (GWP*) of a stream of methane, shape (year, member). [kg CO2-we]

    Parameters
    ----------
    flow_kg : array, shape (year, member)
        [kg CH4]
    before_kg : array, shape (20, ...), or float
        Of the twenty years before: of the record, or of what somebody says. [kg CH4]
    factor : float
        GWP100 of methane. [kg CO2e/kg]
    """
    return star_series(flow_kg * factor, np.asarray(before_kg) * factor)
