"""An annual crop on the same land, by year and member: grain, nitrogen, gases, fuel, money, hours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.farm import factors
from browseline.farm.records import Farm, Paddock
from browseline.farm.same_land import Crop, Pass
from browseline.figures import NINE_TENTHS, Figure, typed
from browseline.ledger.facts import area_of_all
from browseline.science import carbon, crop, draws, nitrogen
from browseline.tables import Row
from browseline.units import Quantity, factor

Array = npt.NDArray[np.float64]
WAYS = ("fertiliser", "residues", "air", "water")
ALL_PASSES = ("all corn field operations, low", "all corn field operations, high")
FUEL = "diesel"
KINDS_OF_FUEL = "field fuel per pass (table value)"
LEAST_FACTOR = 0.05
"""No draw of a yield or of fuel is below this share of its middle. [1]"""


@dataclass(frozen=True, eq=False)
class CropYears:
    """A crop by year and member.

    Attributes
    ----------
    grain_kg : array, shape (year, member)
        Fresh. [kg]
    n2o_kg : array, shape (way, member)
        Of a year: of fertiliser, of residues, by air, by water. [kg N2O]
    fuel_kg_co2 : array, shape (member,)
        Of a year. [kg CO2]
    cash : array, shape (year, member), or None
        What the grain brings less what is typed as cost; None where no price is typed. [money]
    """

    kind: str
    area: Figure
    grain: Figure
    nitrogen: Figure
    residue_kg_n_ha: float
    fuel: Figure
    passes: tuple[Pass, ...]
    grain_kg: Array
    n2o_kg: Array
    fuel_kg_co2: Array
    cash: Array | None
    hours: float | None
    swings: bool

    @property
    def n2o_figures(self) -> tuple[Figure, ...]:
        """Return the figures of a year's nitrous oxide by way. [kg N2O]"""
        return tuple(
            ranged("crop_n2o", self.n2o_kg[way], "kg N2O", name, (self.area, self.nitrogen, self.grain))
            for way, name in enumerate(WAYS)
        )


def ranged(name: str, values: Array, unit: str, about: str, parts: tuple[Figure, ...]) -> Figure:
    """Return members as a figure: their middle and 80 % range."""
    low, middle, high = (float(x) for x in np.percentile(values, (10, 50, 90)))
    return Figure(name, middle, unit, low, high, parts=parts, about=about, formula=f"n = {np.size(values)}")


def ground(farm: Farm, chosen: Sequence[str] = ()) -> tuple[Paddock, ...]:
    """Return the paddocks of the land: those named, or all that is grazed or planted."""
    return tuple(p for p in farm.paddocks if not chosen or p.id in chosen)


def crop_years(farm: Farm, first_year: int, years: int, members: Sequence[int]) -> CropYears:
    """Return the farm's annual crop, or maize as the tables hold it, on the same land.

    A yield swings from year to year only as far as the farm typed: no table says what weather does to it.
    Factors of gases and of fuel are drawn once a member for all years.
    """
    own = farm.same_land.crop
    area = area_of_all(ground(farm, own.paddocks), grazed=False)
    grain, spread = (
        _typed_or(own.grain, "crop_grain", own.kind),
        _typed_or(own.nitrogen, "crop_nitrogen", own.kind),
    )
    fresh_kg_ha, n_kg_ha = _kg_ha(grain), _kg_ha(spread)
    left = _residues(own.kind, fresh_kg_ha)
    swing = _swing(farm.seed, own, first_year, years, members)
    area_ha = area.value or 0.0
    grain_kg = fresh_kg_ha * area_ha * swing
    passes = own.passes or ()
    fuel = fuel_figure(passes)
    burned = tables.row("fuel", "co2_of_fuel", FUEL)
    gallons = (fuel.value or 0.0) * area_ha * factor("ha", "ac")
    off = _relative(
        farm.seed, "crop.fuel", members, tables.row("carbon_spread", "relative_sd", KINDS_OF_FUEL)
    )
    return CropYears(
        own.kind, area, grain, spread, left, fuel, passes, grain_kg,
        _gases(farm, n_kg_ha, left, members) * area_ha,
        carbon.fuel_kg_co2(gallons * off, burned.middle()),
        _cash(own, grain_kg, area_ha), _hours(own, area_ha), own.yield_range is not None,
    )  # fmt: skip


def _typed_or(own: Quantity | None, key: str, kind: str) -> Figure:
    """Return what the farm typed, or the table's row."""
    if own is not None:
        return typed(key, own.to("kg/ha"), "kg/ha", own.text, about=kind)
    return tables.row("crop", key, kind).figure(key, kind)


def _kg_ha(figure: Figure) -> float:
    return (figure.value or 0.0) * factor(figure.unit, "kg/ha")


def _residues(kind: str, fresh_kg_ha: float) -> float:
    """Return the nitrogen of what stays on and in the ground. [kg N/ha]"""
    names = ("residue_ratio", "residue_below_ratio", "residue_nitrogen_above", "residue_nitrogen_below")
    dry = fresh_kg_ha * tables.row("crop", "crop_dry_share", kind).middle()
    return float(
        nitrogen.residue_kg_n_ha(np.array(dry), *(tables.row("crop", name, kind).middle() for name in names))
    )


def _swing(seed: int, own: Crop, first_year: int, years: int, members: Sequence[int]) -> Array:
    """Return what a year's yield is of the middle one, shape (year, member). [1]"""
    if own.yield_range is None:
        return np.ones((years, len(members)))
    calendar = np.arange(first_year, first_year + years)
    chance = draws.uniform_by_year(seed, "crop.yield", members, calendar)
    return np.maximum(1 + own.yield_range.to("1") / NINE_TENTHS * draws.normal(chance.T), LEAST_FACTOR)


def _relative(seed: int, quantity: str, members: Sequence[int], spread: Row) -> Array:
    """Return a factor a member around one, shape (member,). [1]"""
    chance = np.array([draws.uniform(seed, quantity, member, 0, 1)[0] for member in members])
    return np.maximum(1 + spread.middle() * draws.normal(chance), LEAST_FACTOR)


def _within(seed: int, row: Row | None, members: Sequence[int]) -> Array:
    """Return a factor of the table a member, shape (member,): its two halves by their own widths.

    Published ranges of these factors are those of nineteen in twenty.
    """
    if row is None:
        return np.full(len(members), np.nan)
    chance = np.array(
        [draws.uniform(seed, f"factor.{row.key}.{row.applies_to}", m, 0, 1)[0] for m in members]
    )
    z, middle = draws.normal(chance), row.middle()
    below = (middle - (row.low if row.low is not None else middle)) / NINETEEN_IN_TWENTY
    above = ((row.high if row.high is not None else middle) - middle) / NINETEEN_IN_TWENTY
    return np.maximum(middle + z * np.where(z < 0, below, above), 0.0)


NINETEEN_IN_TWENTY = 1.959963984540054
"""Spreads from the middle to the ends of a 95 % range. [1]"""


def _gases(farm: Farm, n_kg_ha: float, left_kg_ha: float, members: Sequence[int]) -> Array:
    """Return nitrous oxide by way and member, shape (way, member). [kg N2O/ha]"""
    found = (
        factors.spread_emitted(farm, True), factors.air_lost(farm, "default"), factors.air_emitted(farm),
        factors.water_lost(farm), factors.water_emitted(farm),
    )  # fmt: skip
    drawn = [_within(farm.seed, row, members) for row in found]
    even = np.ones(len(members))
    return crop.crop_kg_n2o_ha(n_kg_ha * even, left_kg_ha * even, *drawn)


def fuel_figure(passes: Sequence[Pass]) -> Figure:
    """Return the fuel of a year's passes; of all passes of the crop where none is typed. [gal/ac]"""
    if not passes:
        low, high = (tables.row("fuel", "field_fuel", name) for name in ALL_PASSES)
        middle = (low.middle() + high.middle()) / 2
        parts = tuple(row.figure("field_fuel", row.applies_to) for row in (low, high))
        formula = f"({low.middle():g} + {high.middle():g}) ÷ 2"
        return Figure("crop_fuel", middle, "gal/ac", low.low, high.high, parts=parts, formula=formula)
    rows = [(one.times, tables.row("fuel", "field_fuel", one.machine)) for one in passes]
    formula = " + ".join(f"{times:g} × {row.middle():g}" for times, row in rows)
    value = sum(times * row.middle() for times, row in rows)
    low_ = sum(times * (row.low if row.low is not None else row.middle()) for times, row in rows)
    high_ = sum(times * (row.high if row.high is not None else row.middle()) for times, row in rows)
    parts = tuple(row.figure("field_fuel", row.applies_to) for _, row in rows)
    return Figure("crop_fuel", value, "gal/ac", low_, high_, parts=parts, formula=formula)


def _cash(own: Crop, grain_kg: Array, area_ha: float) -> Array | None:
    if own.price is None:
        return None
    cost = sum(float(one.amount.value) * area_ha * factor("ha", one.per) for one in own.costs)
    return np.asarray(grain_kg * factor("kg", own.per) * float(own.price.value) - cost)


def _hours(own: Crop, area_ha: float) -> float | None:
    """Return the hours of a year, as typed for an area; None where none are. [h]"""
    return own.hours.to("h") * area_ha * factor("ha", own.hours_per) if own.hours is not None else None
