"""Against what? One table of the land in five uses, one of what each is less than the land as it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from browseline import tables
from browseline.chain import Picture
from browseline.farm import factors
from browseline.figures import Figure
from browseline.ledger.account import Account
from browseline.science import crop as equations
from browseline.science import warming
from browseline.trials.crop import CropYears, ranged
from browseline.trials.equivalent import Apart, apart
from browseline.trials.for_us import for_us_words
from browseline.trials.land_uses import LandUse, land_uses
from browseline.trials.outcome import Measure, by_key, difference, figure_of
from browseline.trials.saves import saves_words
from browseline.trials.told import amount_of, told, told_change
from browseline.units import System, factor, plain
from browseline.words import linked, list_words, say

SCHEMA = "browseline/same-land/1"
GROUPS = ("feed", "harvest", "wood", "money", "carbon", "work", "food")
YEARS, MEMBERS = 15, 50
KG_T = factor("kg CO2", "t CO2")
UNKNOWN = ("money", "work", "food")
"""Groups of which a use without a number is not known; of all others it gives nothing."""
Rows = tuple[tuple[str, ...], ...]
Key = tuple[str, str, str]


@dataclass(frozen=True)
class SameLandPage(Account):
    """The land in several uses.

    ``rows`` has a column a use. ``less_head`` and ``less_rows`` are the table of differences to the land as
    it is, taken member by member. ``apart`` is the land that pasture and trees would need apart.
    """

    less_head: tuple[str, ...] = ()
    less_rows: Rows = ()
    saves: tuple[str, ...] = ()
    for_us: tuple[str, ...] = ()
    apart: tuple[Apart, ...] = ()


def same_land(picture: Picture, years: int = YEARS, members: int = MEMBERS) -> SameLandPage:
    """Return the page of a farm's land in other uses, ``years`` ahead, over so many members."""
    return same_land_page(picture, land_uses(picture, years, members), years, members)


def same_land_page(picture: Picture, uses: Sequence[LandUse], years: int, members: int) -> SameLandPage:
    """Return the page of uses that are worked out already."""
    system = picture.farm.units
    names = [say(f"trials.use.{one.use}") for one in uses]
    keys = tuple(_keys(uses))
    found = [by_key(one.measures) for one in uses]
    what = say("trials.head.what")
    rows = tuple(
        (
            _name(found, key),
            *(_cell(own.get(key), key, name, system) for own, name in zip(found, names, strict=True)),
        )
        for key in keys
    )
    others = tuple(zip(found[1:], names[1:], strict=True))
    less = tuple(
        (
            _name(found, key),
            *(_less(found[0].get(key), own.get(key), key, name, system) for own, name in others),
        )
        for key in keys
    )
    head = (what, *names)
    less_head = (what, *(say("trials.less", use=name) for name in names[1:]))
    shares = apart(picture.farm, uses)
    said = tuple(_told(picture, uses, shares, years, members))
    saves, us = saves_words(picture, uses[0]), for_us_words(picture, uses)
    return SameLandPage(SCHEMA, "same-land", said, (), head, rows, less_head, less, saves, us, shares)


def _keys(uses: Sequence[LandUse]) -> Iterator[Key]:
    """Yield what to tell, group by group; what is nothing in every use is left out."""
    every = [measure for one in uses for measure in one.measures]
    for group in GROUPS:
        mine = [measure for measure in every if measure.group == group and measure.by_year.any()]
        yield from dict.fromkeys(measure.key for measure in mine)


def _name(found: Sequence[dict[Key, Measure]], key: Key) -> str:
    measure = next(own[key] for own in found if key in own)
    name = say(f"figures.{measure.name}")
    whole = say("trials.label", name=name, about=measure.about) if measure.about else name
    if measure.name == "product":
        whole = measure.about
    return say("trials.row", name=whole, over=say(f"trials.over.{measure.over}"))


def _cell(measure: Measure | None, key: Key, name: str, system: System) -> str:
    """Return a use's number; without one it is not known of money, work and food, and nothing of all else."""
    if measure is None:
        return say("trials.unknown" if key[0] in UNKNOWN else "trials.none")
    return told(figure_of(measure, name), system)


def _less(here: Measure | None, other: Measure | None, key: Key, name: str, system: System) -> str:
    if here is None and other is None:
        return say("trials.none")
    if key[0] in UNKNOWN and (here is None or other is None):
        return say("trials.unknown")
    return told_change(difference(here, other, name), system)


# ---------------------------------------------------------------- the sentences


def _told(
    picture: Picture, uses: Sequence[LandUse], shares: Sequence[Apart], years: int, members: int
) -> Iterator[str]:
    farm = picture.farm
    yield say("trials.land.years", years=years, members=members)
    yield say("trials.land.never_netted")
    yield say("trials.land.lines") if farm.money is not None else say("trials.land.no_plan")
    if farm.money is not None and farm.same_land.crop.price is None:
        yield say("trials.land.no_crop_price")
    yield say("trials.land.animals_food") if farm.same_land.food else say("trials.land.no_food")
    yield say("trials.land.hours")
    yield from _apart_words(shares, bool(farm.plantings), farm.units)
    for one in uses:
        if one.crop is not None:
            yield from _crop_words(picture, one.crop)
    names = {p.id: p.name for p in farm.plantings}
    crops = [one for use in uses if use.projection is not None for one in use.projection.yields]
    old = dict.fromkeys(names.get(one.planting, one.planting) for one in crops if one.past_data)
    if old:
        yield say("trials.land.past_data", plantings=list_words(old))


def _apart_words(shares: Sequence[Apart], trees: bool, system: System) -> Iterator[str]:
    for one in shares:
        ratio, feed, alone = (told(figure, system) for figure in (one.ratio, one.feed, one.trees))
        yield say("trials.land.ler", planting=one.name, ratio=ratio, feed=feed, trees=alone)
    if shares:
        yield say("trials.land.ler_assumes")
    elif trees:
        yield say("trials.land.no_ler")


def _crop_words(picture: Picture, made: CropYears) -> Iterator[str]:
    system = picture.farm.units
    grain, spread, fuel, area = (
        _own(figure, system) for figure in (made.grain, made.nitrogen, made.fuel, made.area)
    )
    yield say("trials.land.crop", crop=made.kind, area=area, grain=grain, nitrogen=spread, fuel=fuel)
    if not made.swings:
        yield say("trials.land.crop_still")
    metric = factors.metric(picture.farm)
    row = factors.warming(metric, "N2O")
    if row is not None:
        total = made.n2o_kg.sum(axis=0)
        warm = warming.co2e_kg(total, np.array(row.middle()))
        parts = (*made.n2o_figures, row.figure("nitrous_oxide", metric))
        figure = ranged("crop_warming", warm * KG_T, "t CO2e", made.kind, parts)
        burned = ranged("crop_fuel_co2", made.fuel_kg_co2 * KG_T, "t CO2", made.kind, (made.fuel, made.area))
        yield say("trials.land.crop_gas", warm=told(figure, system), metric=metric, fuel=told(burned, system))
    yield _scale()


def _own(figure: Figure, system: System) -> str:
    return linked(amount_of(figure.value or 0.0, figure.unit, system), figure)


def _scale() -> str:
    """Return what a part per million of the air is: a scale, no claim."""
    row = tables.row("crop", "carbon_of_ppm", "air")
    value = float(equations.air_gt_co2(np.array(1.0), row.middle()))
    made = Figure(
        "air_ppm", value, "1", parts=(row.figure("carbon_of_ppm", "air"),),
        formula=f"{row.middle():g} × {equations.CO2_OF_CARBON_IN_AIR:g}",
    )  # fmt: skip
    return say("trials.land.scale", gt=linked(plain(value, 2), made))
