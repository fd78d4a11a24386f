"""Against what? One table of the land in five uses, one of what each is less than the land as it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from browseline import tables
from browseline.chain import Picture, look
from browseline.chain.kept_page import kept_page, page_key
from browseline.chain.years_ahead import MEMBERS
from browseline.farm import factors
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.ledger.account import Account
from browseline.science import crop as equations
from browseline.science import warming
from browseline.trials.crop import CropYears, ranged
from browseline.trials.differs import Differs, differs_of
from browseline.trials.equivalent import Apart, apart
from browseline.trials.for_us import for_us_words
from browseline.trials.land_uses import LandUse, land_uses
from browseline.trials.saves import saves_words
from browseline.trials.table import Column, Rows, table_of
from browseline.trials.told import amount_of, span_words, told
from browseline.units import System, factor, plain
from browseline.words import linked, list_words, say

SCHEMA = "browseline/same-land/1"
KG_T = factor("kg CO2", "t CO2")


@dataclass(frozen=True)
class SameLandPage(Account):
    """The land in several uses.

    ``rows`` has a column a use. ``less_head`` and ``less_rows`` are the table of differences to the land as
    it is, taken member by member, ``differs`` a pick of it. ``apart`` is the land that pasture and trees
    would need apart.
    """

    less_head: tuple[str, ...] = ()
    less_rows: Rows = ()
    saves: tuple[str, ...] = ()
    for_us: tuple[str, ...] = ()
    apart: tuple[Apart, ...] = ()
    differs: tuple[Differs, ...] = ()


def same_land(picture: Picture, years: int | None = None, members: int = MEMBERS) -> SameLandPage:
    """Return the page of a farm's land in other uses.

    Parameters
    ----------
    years : int, optional
        How many ahead; by default as many as the farm chose for its decades.
    """
    wanted = years if years is not None else picture.farm.future.years
    return same_land_page(picture, land_uses(picture, wanted, members), wanted, members)


def same_land_at(
    folder: Path, now: datetime, years: int | None = None, members: int = MEMBERS
) -> SameLandPage:
    """Return the page of a farm's land in other uses on a day, worked out once for all that it hangs on.

    Raises
    ------
    BadInput
        If the folder cannot be used as it is.
    """
    key = page_key(folder, now, SCHEMA, years, members)
    return kept_page(
        "same-land", key, lambda: same_land(look(folder, now), years, members), SameLandPage, (Apart, Differs)
    )


def same_land_page(picture: Picture, uses: Sequence[LandUse], years: int, members: int) -> SameLandPage:
    """Return the page of uses that are worked out already."""
    system = picture.farm.units
    columns = [Column(say(f"trials.use.{one.use}"), one.measures) for one in uses]
    made = table_of(columns, system)
    shares = apart(picture.farm, uses)
    said = tuple(_told(picture, uses, shares, years, members))
    saves, us = saves_words(picture, uses[0]), for_us_words(picture, uses)
    short = differs_of(made, picture.farm.money, picture.farm.plantings)
    return SameLandPage(
        SCHEMA, "same-land", said, (), made.head, made.rows, made.less_head, made.less_rows, saves, us,
        shares, short,
    )  # fmt: skip


# ---------------------------------------------------------------- the sentences


def _told(
    picture: Picture, uses: Sequence[LandUse], shares: Sequence[Apart], years: int, members: int
) -> Iterator[str]:
    farm = picture.farm
    yield span_words("trials.land.years", years, members)
    yield say("trials.land.never_netted")
    yield say("trials.land.lines") if farm.money is not None else say("trials.land.no_plan")
    yield from _line_words(farm)
    if farm.money is not None and farm.same_land.crop.price is None:
        yield say("trials.land.no_crop_price")
    yield say("trials.land.animals_food") if farm.same_land.food else say("trials.land.no_food")
    yield say("trials.land.hours")
    grows = any(one.projection is not None and one.projection.feed.grows for one in uses)
    if farm.same_land.alone and not grows:
        yield say("trials.land.ler_unknown")
    else:
        yield from _apart_words(shares, bool(farm.plantings), farm.units)
    for one in uses:
        if one.crop is not None:
            yield from _crop_words(picture, one.crop)
    names = {p.id: p.name for p in farm.plantings}
    crops = [one for use in uses if use.projection is not None for one in use.projection.yields]
    old = dict.fromkeys(names.get(one.planting, one.planting) for one in crops if one.past_data)
    if old:
        yield say("trials.land.past_data", plantings=list_words(old))


def _line_words(farm: Farm) -> Iterator[str]:
    """Yield what stays in every column because nobody named whose it is."""
    if farm.money is None or not farm.plantings:
        return
    loose = [line.name for line in farm.money.lines if not line.follows]
    if loose and not farm.same_land.tree_lines:
        yield say("trials.land.no_tree_lines", lines=list_words(loose))
    if loose and not farm.same_land.stock_lines:
        yield say("trials.land.no_stock_lines")


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
    chosen = picture.farm.same_land.crop.paddocks
    if chosen:
        names = list_words(p.name for p in picture.farm.paddocks if p.id in chosen)
        yield say("trials.land.crop_part", crop=made.kind, paddocks=names)
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
