"""Carbon and gases of the years ahead by line: trees, dead wood and products, animals. Nothing is netted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import TreeSizes
from browseline.decades import leaf_cut
from browseline.decades.beast_air import beast_air
from browseline.decades.form import CarbonAhead, FeedAhead, Yield
from browseline.decades.inputs import input_air
from browseline.decades.tree_pools import Pools, origins, tree_pools
from browseline.farm.records import Farm
from browseline.farm.soil_book import LandUse
from browseline.figures import Origin
from browseline.record.state import State
from browseline.science import carbon
from browseline.science.warming import star_series
from browseline.units import factor

Array = npt.NDArray[np.float64]
POOLS = ("above", "below", "dead", "products")
GROWTH, DECAY, FELLED = ("tree_growth", "CO2"), ("decay", "CO2"), ("felled", "CO2")
FUEL, LEAF = ("fuel", "CO2"), ("leaf", "CO2")


def carbon_ahead(
    farm: Farm, state: State, sizes: TreeSizes, feed: FeedAhead, wood: tuple[Yield, ...], years: Sequence[int]
) -> CarbonAhead:
    """Return the carbon book of the years ahead.

    Above 0 is into the air; what trees take is below. Soil and what is bought are in no line; fuel is where
    the farm typed what a year burns, lime, urea and fertiliser where it typed what it means to spread.

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
            said += leaf_cut.origins(farm, planting) if pools.leaf.any() else ()
    air = beast_air(farm, state, feed, sizes.members)
    spread = input_air(farm, years, sizes.members)
    fuels = _fuel(farm, len(years), len(sizes.members))
    flows = {**_trees(found), **_leaf(found), **air.flow_kg, **fuels, **spread.flow_kg}
    last = measured_to(state)
    projected = np.array([last is None or year > last for year in years])
    burned = [_fuel_row(n) for n in ("diesel", "petrol") if getattr(farm.future, n) is not None]
    fuel = (Origin(row.source, row.locator, row.basis, note=row.note) for row in burned)
    inputs = (origin for one in spread.origins.values() for origin in one)
    every = tuple(dict.fromkeys((*said, *air.origins, *fuel, *inputs)))
    return CarbonAhead(
        stock, flows, projected, every, no_factor=air.no_factor, left_out=tuple(_left_out(farm, feed)),
        soil_book_kg=soil_book_kg(farm, years), line_origins=spread.origins,
        no_input_factor=spread.no_factor,
    )  # fmt: skip


def _left_out(farm: Farm, feed: FeedAhead) -> Iterator[str]:
    """Yield what no line holds: *soil*, untyped *fuel*, *inputs* (or *bought* things beside them), *hay*."""
    yield "soil"
    if farm.future.diesel is None and farm.future.petrol is None:
        yield "fuel"
    yield "bought" if farm.future.inputs else "inputs"
    if feed.hay_kg.any():
        yield "hay"


def _fuel(farm: Farm, years: int, members: int) -> dict[tuple[str, str], Array]:
    """Return the carbon dioxide of the fuel that the farm typed for a year; no line without. [kg CO2]"""
    typed = {"diesel": farm.future.diesel, "petrol": farm.future.petrol}
    burned = [
        float(carbon.fuel_kg_co2(np.array(volume.to("gal")), _fuel_row(name).middle()))
        for name, volume in typed.items() if volume is not None
    ]  # fmt: skip
    return {FUEL: np.full((years, members), sum(burned))} if burned else {}


def _fuel_row(name: str) -> tables.Row:
    return tables.row("fuel", "co2_of_fuel", name)


def soil_book_kg(farm: Farm, years: Sequence[int]) -> Array | None:
    """Return the book's soil carbon of ground whose use changes, below 0 from the air; None unasked. [kg CO2]

    Twenty years of it, then none; a projection from defaults that stands apart.
    """
    asked = farm.future.soil
    if asked is None:
        return None
    row = tables.row("soil_carbon", "reference_stock", asked.stock)
    before = LandUse(asked.use_before, asked.management_before, asked.input_before).factor()
    after = LandUse(asked.use_after, asked.management_after, asked.input_after).factor()
    passed = np.array(years, dtype=np.float64) - asked.year
    gained = carbon.soil_change_t_c(row.middle(), before, after, passed) * asked.area.to("ha")
    return -carbon.co2_of_carbon(gained) * factor("t CO2", "kg CO2")


def _trees(found: Sequence[Pools]) -> dict[tuple[str, str], Array]:
    """Return the lines of trees, all plantings together; none without trees. [kg CO2]"""
    if not found:
        return {}
    total = {key: np.sum([getattr(p, name) for p in found], axis=0) for key, name in (
        (GROWTH, "grown"), (DECAY, "decayed"), (FELLED, "burned"))}  # fmt: skip
    return {**total, GROWTH: -total[GROWTH]}


def _leaf(found: Sequence[Pools]) -> dict[tuple[str, str], Array]:
    """Return what comes back of leaf that was cut for stock; no line where none is cut. [kg CO2]"""
    cut = [pools.leaf for pools in found if pools.leaf.any()]
    return {LEAF: np.sum(cut, axis=0)} if cut else {}


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
