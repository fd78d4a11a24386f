"""What trees will bear, by planting, year and member: age, full and thin years, late frost, crowding.

What the book does not know of a planting's level is one draw for all its years, and one for all plantings
of a species: it does not shrink by adding years or trees.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import TreeSizes, leaf_days
from browseline.canopy.growing import kept_apart
from browseline.decades.bearing_book import Bearing, bearing, frost_row, year_spread
from browseline.decades.draws_ahead import chances, luck, yearly_luck
from browseline.decades.form import Yield
from browseline.decades.weather_years import LEAP_DAYS, WeatherYears
from browseline.farm.records import Farm, Planting
from browseline.figures import Origin
from browseline.science.bearing import alternating, by_age, left_by_frost
from browseline.units import convert

Array = npt.NDArray[np.float64]
TINY = 1e-9
SAP = "sap"


def yields_ahead(
    farm: Farm, sizes: TreeSizes, years: Sequence[int], members: Sequence[int], weather: WeatherYears | None
) -> tuple[Yield, ...]:
    """Return the crops of every planting whose species has yields in the table.

    Parameters
    ----------
    farm : Farm
    sizes : TreeSizes
        Of those years and members.
    years, members : sequence of int
    weather : WeatherYears or None
        None leaves frost out.
    """
    made = (_of_planting(farm, sizes, p, years, members, weather) for p in farm.plantings)
    return tuple(one for one in made if one is not None)


def without_yields(farm: Farm) -> tuple[str, ...]:
    """Return the plantings meant to be harvested whose species has no yields in the table."""
    return tuple(p.id for p in farm.plantings if p.harvested and bearing(p.species) is None)


def _of_planting(
    farm: Farm, sizes: TreeSizes, planting: Planting, years: Sequence[int], members: Sequence[int],
    weather: WeatherYears | None,
) -> Yield | None:  # fmt: skip
    book, at = bearing(planting.species), sizes.of(planting.id)
    if book is None or not at:
        return None
    trend = np.stack([_trend(farm, sizes, planting, book, i) for i in at], axis=2)
    trees = sizes.alive[:, :, list(at)].astype(np.float64)
    whole = (trend * trees).sum(axis=2) * _turns(farm, planting, book, years, members)
    standing = trees.sum(axis=2)
    each = np.divide(whole, standing, out=np.zeros(whole.shape), where=standing > 0)
    left = _left(farm, planting, weather, whole.shape)
    amount, frosted = whole * left, (left < 1.0) & (whole > 0)
    oldest = max(years) - min(sizes.cohorts[i].planted for i in at)
    return Yield(
        planting.id, planting.species, book.product, book.unit, amount, each, frosted,
        first_year(whole, years), (*book.origins, *_frost_origin(frosted)),
        past_data=oldest > book.last_yr, form=book.form,
    )  # fmt: skip


def _trend(farm: Farm, sizes: TreeSizes, planting: Planting, book: Bearing, cohort: int) -> Array:
    """Return what the mean tree of a cohort bears between full and thin years, shape (year, member)."""
    planted = sizes.cohorts[cohort].planted
    age = np.array(sizes.years, dtype=np.float64)[:, None] - planted
    chance = chances(farm.seed, f"yields.age.{planting.id}", sizes.members)[None, :]
    shift = book.early_yr + (book.late_yr - book.early_yr) * chance
    bears = by_age(age - shift, book.from_yr, book.to_yr, book.yields)
    if book.product == SAP:
        thick = tables.row("yields", "tap_from", planting.species).middle()
        return np.where(sizes.stem_cm[:, :, cohort] >= thick, bears, 0.0)
    return np.asarray(bears * _room(sizes, planting, cohort))


def _room(sizes: TreeSizes, planting: Planting, cohort: int) -> Array:
    """Return the share of a free crown's ground that neighbours leave, shape (year, member). [1]

    The book's trees stand free; one that is crowded bears by as much less as its crown covers.
    """
    free = sizes.learnt[planting.id].curve.crown_m(sizes.stem_cm[:, :, cohort])
    kept = kept_apart(free, sizes.fates[planting.id], sizes.years)
    return np.asarray(np.minimum(kept / np.maximum(free, TINY), 1.0) ** 2)


def _turns(
    farm: Farm, planting: Planting, book: Bearing, years: Sequence[int], members: Sequence[int]
) -> Array:
    """Return the share of the trend in each year and member, its mean about 1: turns, level, year. [1]

    Level errors are half of the species' book, half of the planting's ground.
    """
    phase = (chances(farm.seed, f"yields.phase.{planting.id}", members) < 0.5).astype(np.int64)
    turns = alternating(book.depth, np.array(years)[:, None], phase[None, :])
    shared = luck(farm.seed, f"yields.level.{planting.species}", members)
    own = luck(farm.seed, f"yields.ground.{planting.id}", members)
    level = book.level * (shared + own) / np.sqrt(2.0)
    spread = year_spread()
    yearly = spread * yearly_luck(farm.seed, f"yields.year.{planting.id}", members, years)
    return np.asarray(turns * np.exp(level[None, :] - book.level**2 / 2 + yearly - spread**2 / 2))


def bloom_day(farm: Farm, species: str) -> float | None:
    """Return the day that stands for bloom: leaf-out of the species; None where frost is not counted. [d]"""
    if species in tables.applies("yields", "no_frost"):
        return None
    ends = leaf_days(farm.place, species) if farm.place is not None else None
    return ends[0] if ends is not None else None


def _left(farm: Farm, planting: Planting, weather: WeatherYears | None, shape: tuple[int, ...]) -> Array:
    bloom = bloom_day(farm, planting.species)
    if weather is None or bloom is None:
        return np.ones(shape)
    hard = tables.row("yields", "hard_frost", "any bloom")
    cold = float(convert(Fraction(hard.middle()), hard.unit, "C"))
    return left_by_frost(weather.last_frost(cold), np.asarray(bloom % LEAP_DAYS), frost_row().middle())


def _frost_origin(frosted: npt.NDArray[np.bool_]) -> tuple[Origin, ...]:
    row = frost_row()
    return (Origin(row.source, row.locator, row.basis, note=row.note),) if frosted.any() else ()


def first_year(amount: Array, years: Sequence[int]) -> Array:
    """Return the first year with a crop by member; NaN where none falls into the years. [yr]

    Parameters
    ----------
    amount : array, shape (year, member)
    years : sequence of int
    """
    bears = amount > 0
    first = np.array(years, dtype=np.float64)[np.argmax(bears, axis=0)]
    return np.where(bears.any(axis=0), first, np.nan)
