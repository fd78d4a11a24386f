"""One land in five uses, in the same weather, at the same prices, with the same factors, member by member."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from browseline.chain import Picture
from browseline.chain.tree_shade import terrain_of
from browseline.chain.years_ahead import ahead_of, start_of
from browseline.decades import Projection
from browseline.decades.start import Start
from browseline.farm.records import Farm
from browseline.figures import Origin
from browseline.ledger.facts import area_of_all
from browseline.science import finance
from browseline.trials.alternatives import OTHERWISE, USES, Use, left_alone
from browseline.trials.cash import cash_of
from browseline.trials.crop import WAYS, CropYears, crop_years
from browseline.trials.outcome import Measure, gas_measure, measures_of
from browseline.units import UNITS, factor

Array = npt.NDArray[np.float64]
FOOD = (Origin("farm", basis="farm"),)
GATHERED = ("harvest", "wood")
"""Groups of what nobody takes from trees that are left alone."""


@dataclass(frozen=True, eq=False)
class LandUse:
    """The land in one use: what it gives, and for the annual crop what that is worked out from.

    ``cash`` is what is left of each year of the money plan, shape (year, member); None without a plan.
    """

    use: Use
    measures: tuple[Measure, ...]
    cash: Array | None
    projection: Projection | None = None
    crop: CropYears | None = None


def land_uses(picture: Picture, years: int, members: int) -> tuple[LandUse, ...]:
    """Return the farm's land as it is, as plain pasture, as trees alone, under a crop, and left alone.

    Without trees there are three of them: as it is, under a crop, and with nobody's stock on it.
    """
    start, ground = start_of(picture), terrain_of(picture.folder)
    made: dict[Use, LandUse] = {}
    for use in USES:
        if use == "crop":
            made[use] = _under_crop(start, years, tuple(range(members)))
        elif start.farm.plantings or use in ("here", "pasture"):
            made[use] = _projected(_otherwise(start, use), use, ground, years, members)
    return tuple(made.values())


def _otherwise(start: Start, use: Use) -> Start:
    """Return a start with the farm in another use."""
    farm = OTHERWISE[use](start.farm)
    state = start.state if use in ("here", "pasture") else replace(start.state, mobs=())
    if use == "pasture":
        return replace(start, farm=farm, state=state, layout=None, cells=None)
    return replace(start, farm=farm, state=state)


def _projected(own: Start, use: Use, ground: object, years: int, members: int) -> LandUse:
    """Return a use that the decades can project; what they share is kept."""
    made = ahead_of(own, ground, years, members)
    cash = cash_of(own.farm, made, made.members)
    found = measures_of(made, {p.id: p.name for p in own.farm.plantings})
    if use != "here" and _hours_unknown(own):
        found = tuple(m for m in found if m.group != "work")
    if use == "alone":
        found = tuple(m for m in found if m.group not in GATHERED)
    if not own.state.mobs and use != "here":
        found = tuple(m for m in found if m.group != "feed")
    return LandUse(
        use,
        (*found, *(food_of(own.farm, made) if use != "alone" else ()), *money_of(own.farm, cash)),
        cash,
        made,
    )


def _hours_unknown(start: Start) -> bool:
    """Return whether hours of another use are not known: typed for the farm as it is, or without stock."""
    plan = start.farm.money
    return (plan is not None and plan.own_hours is not None) or not start.state.mobs


# ---------------------------------------------------------------- the annual crop


def _under_crop(start: Start, years: int, members: Sequence[int]) -> LandUse:
    """Return the land under the annual crop: no tree, no stock; what else the farm pays stays to be paid."""
    farm = start.farm
    made = crop_years(farm, start.today.year, years + 1, members)
    bare = replace(farm, money=left_alone(farm).money)
    cash = None
    if made.cash is not None and bare.money is not None:
        rest = cash_of(bare, None, tuple(members))
        grown = made.cash[: bare.money.years]
        short = bare.money.years - len(grown)
        grown = np.vstack([grown, np.repeat(grown[-1:], short, axis=0)]) if short > 0 else grown
        cash = np.asarray(grown + (rest if rest is not None else 0.0))
    return LandUse("crop", (*_of_crop(farm, made), *money_of(bare, cash)), cash, crop=made)


def _of_crop(farm: Farm, made: CropYears) -> Iterator[Measure]:
    shape = made.grain_kg.shape
    origins = made.grain.origins
    yield Measure("product", made.kind, "kg", made.grain_kg, "whole", origins, "harvest")
    gases = np.broadcast_to(made.n2o_kg[:, None, :], (len(WAYS), *shape))
    for way, kg in zip(WAYS, gases, strict=True):
        yield gas_measure(CROP_LINES[way], "N2O", kg, made.nitrogen.origins)
    fuel = np.broadcast_to(made.fuel_kg_co2, shape)
    yield gas_measure("fuel", "CO2", fuel, made.fuel.parts[0].origins)
    if made.hours is not None:
        yield Measure("work_hours", "", "h", np.full(shape, made.hours), "year", FOOD, "work")
    energy = dict(farm.same_land.food).get("crop")
    if energy is not None:
        yield from _eaten(made.grain_kg, made.grain_kg * energy.to("kcal/kg"))


CROP_LINES: Mapping[str, str] = {
    "fertiliser": "fertiliser", "residues": "residues", "air": "fertiliser_air", "water": "fertiliser_water",
}  # fmt: skip
"""The line of the carbon book of each way of a crop's nitrogen."""


# ---------------------------------------------------------------- food and money


def food_of(farm: Farm, made: Projection) -> Iterator[Measure]:
    """Yield food by weight and energy, of products whose energy the farm typed; nothing of any other."""
    known = dict(farm.same_land.food)
    kg = kcal = None
    for one in made.yields:
        energy = known.get(one.planting)
        if energy is None or UNITS[one.unit].dimension != "mass":
            continue
        mine = one.amount * factor(one.unit, "kg")
        kg = mine if kg is None else kg + mine
        kcal = mine * energy.to("kcal/kg") if kcal is None else kcal + mine * energy.to("kcal/kg")
    if kg is not None and kcal is not None:
        yield from _eaten(kg, kcal)


def _eaten(kg: Array, kcal: Array) -> Iterator[Measure]:
    yield Measure("food_mass", "", "kg", kg, "year", FOOD, "food")
    yield Measure("food_energy", "", "Mcal", kcal * factor("kcal", "Mcal"), "year", FOOD, "food")


def money_of(farm: Farm, cash: Array | None) -> Iterator[Measure]:
    """Yield the money left of a year and what all is worth today; nothing without a plan."""
    plan = farm.money
    if plan is None or cash is None:
        return
    guess = (Origin("farm", basis="placeholder"),)
    yield Measure("cash_a_year", "", plan.currency, cash, "year", guess, "money")
    worth = finance.present_value(cash, plan.discount.to("1"))
    yield Measure("worth_today", "", plan.currency, np.atleast_2d(worth), "whole", guess, "money")


def area_ha(farm: Farm) -> float:
    """Return the area of all paddocks, rows in them included. [ha]"""
    return area_of_all(farm.paddocks, grazed=False).value or 0.0
