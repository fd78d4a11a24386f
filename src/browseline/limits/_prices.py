"""Prices of the season plan: the farm's own where it typed one, else the weights of the tables.

A farm types them in ``[prices]`` under these names. The weights are placeholders and marked as guesses.
"""

from __future__ import annotations

from browseline import tables
from browseline.farm.own_hay import in_dollars
from browseline.farm.records import Farm
from browseline.figures import Figure, typed
from browseline.units import UNITS

ROWS = {
    "yard_day": ("yard_cost", "a mob off grass"),
    "left_short": ("below_cost", "herbage left short"),
    "entered_early": ("early_cost", "entered before it is ready"),
    "move": ("move_cost", "any arrival"),
    "walk": ("walk_cost", "walking"),
    "end_cover": ("cover_cost", "cover short at the end"),
    "heat_day": ("heat_cost", "a hot day without shade"),
    "change_near": ("churn_cost", "next 7 days"),
    "change_later": ("churn_cost", "days 8 to 14"),
}
"""The name under which a farm types each price, and the row that stands where it typed none. By kilogram
short, mob-day, arrival, kilometre, and livestock unit and day."""

TRIP = "water_trip"
"""The name of the price that no row stands in for: nothing, until a farm types it."""


def price(farm: Farm, name: str) -> Figure:
    """Return a price of the plan: as the farm typed it, else the row's. [USD by the unit of the row]

    A sum alone is by what the row is by, a kilogram or a kilometre; one by the pound or mile is converted.
    """
    row = tables.row("stays", *ROWS[name])
    said = in_dollars(farm.price(name))
    if said is not None and said.dimension in ("money", UNITS[row.unit].dimension):
        value = said.to(said.unit if said.dimension == "money" else row.unit)
        return typed(row.key, value, row.unit, said.text, about=name)
    found = row.figure(row.key, name)
    return Figure(row.key, row.middle(), row.unit, origins=found.origins, about=name)


def trip(farm: Farm) -> Figure | None:
    """Return what one filling of a trailer costs; None where the farm typed no sum for it. [USD]"""
    said = in_dollars(farm.price(TRIP))
    if said is None or said.dimension != "money":
        return None
    return typed(TRIP, said.to(said.unit), said.unit, said.text, about=TRIP)


def price_usd(farm: Farm, name: str) -> float:
    """Return the number of a price of the plan. [USD by the unit of the row]"""
    return price(farm, name).value or 0.0
