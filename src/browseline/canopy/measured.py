"""What measured trees teach: one growth factor for each species of a planting, with its error."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time

import numpy as np

from browseline import tables
from browseline.canopy import book, curves
from browseline.canopy.book import CROWN, HEIGHT, STEM
from browseline.canopy.climate import nearest_cities
from browseline.canopy.history import first_cohorts
from browseline.events import When
from browseline.farm.records import Farm, Planting
from browseline.figures import Figure, Origin
from browseline.record.state import State, TreeSize
from browseline.science import trees_height, trees_open
from browseline.science.trees_open import Array
from browseline.units import factor

MIDSUMMER_D = 182.5
YEAR_D = 365.25
TINY = 1e-6
STEMS_CM = np.geomspace(0.2, 250.0, 400)


@dataclass(frozen=True, slots=True)
class Learnt:
    """The growth of a planting over that of the book.

    ``mean`` and ``variance`` are of the log of the factor; ``trees`` is how many were measured, 0 leaves the
    book; ``as_of`` the day of the newest measure.
    """

    curve: curves.Curve
    mean: float
    variance: float
    trees: int
    as_of: date | None

    def figure(self, planting: str) -> Figure:
        """Return the growth factor with its 80 % range. [1]"""
        spread = curves.SPREAD_80 * self.variance**0.5
        low, middle, high = (float(np.exp(self.mean + z)) for z in (-spread, 0.0, spread))
        between = tables.row("trees", "between_sites", STEM)
        origins = (Origin("farm", basis="farm"),) if self.trees else between.figure("between_sites").origins
        parts = () if self.trees else (between.figure("between_sites", planting),)
        return Figure("tree_growth", middle, "1", low, high, origins, parts=parts, about=planting,
                      as_of=self.as_of)  # fmt: skip


def seedling_range() -> tuple[float, float]:
    """Return how long a seedling takes to the stem from which the data count. [yr, yr]"""
    row = tables.row("trees", "seedling_years", book.ANY)
    return float(row.low or 0.0), float(row.high or 0.0)


def years_since(planted: int, day: date) -> float:
    """Return growing seasons from planting to a day; midsummer is the middle of one. [yr]"""
    return day.year - planted + (day.timetuple().tm_yday - MIDSUMMER_D) / YEAR_D


def learnt(farm: Farm, planting: Planting, state: State, cities: Sequence[str] = ()) -> Learnt:
    """Return how the trees of a planting grow: by the book, pulled by the trees that were measured.

    The newest measure of each tree counts; of one measure the stem counts before the height. Where none was
    entered the leader of the farm's file counts as one tree. A species without measured open-grown trees but
    with a site-index curve takes the curve that its measured heights lie on.

    Parameters
    ----------
    farm : Farm
    planting : Planting
    state : State
        With the trees that were measured.
    cities : sequence of str
        Measured cities, nearest in climate first.
    """
    sizes = newest(state, planting.id) or _of_file(farm, planting)
    measures = [m for size in sizes if (m := _measure(planting, size)) is not None]
    site = _site_index(planting.species, measures)
    curve = curves.curve_of(planting.species, tuple(cities), site)
    told = [(m, r) for m in measures if (r := _log_ratio(curve, m)) is not None]
    if not told:
        return Learnt(curve, 0.0, curve.sites[STEM], 0, None)
    scatter = float(np.mean([_scatter(curve, m) for m, _ in told]))
    shared = float(np.mean([_unknown_start(curve, m) for m, _ in told]))
    ratio = float(np.mean([r for _, r in told]))
    mean, variance = trees_open.factor_learnt(ratio, len(told), curve.sites[STEM], scatter, shared)
    return Learnt(curve, mean, variance, len(told), max(m.day for m, _ in told))


@dataclass(frozen=True, slots=True)
class Measure:
    """One measured tree: years since planting [yr], stem [cm] or height [m], and the day."""

    since: Array
    stem_cm: float | None
    tall_m: float | None
    day: date


def newest(state: State, planting: str) -> list[TreeSize]:
    """Return the newest measure of each tree of a planting; trees without a name are one each."""
    last: dict[str, TreeSize] = {}
    own = [s for s in state.tree_sizes if s.planting == planting and (s.dbh or s.height or s.leader)]
    for number, size in enumerate(sorted(own, key=lambda s: s.at.end)):
        last[size.tree or f"#{number}"] = size
    return list(last.values())


def _of_file(farm: Farm, planting: Planting) -> list[TreeSize]:
    """Return the leader that the farm's file gives, as one tree measured at its ``as_of``."""
    if planting.leader is None:
        return []
    noon = datetime.combine(farm.as_of, time(12), UTC)
    return [TreeSize(planting.id, "", When.at(noon), leader=planting.leader)]


def _measure(planting: Planting, size: TreeSize) -> Measure | None:
    """Return a measure with the age of its row's trees, or None where it was not planted yet."""
    cohorts = first_cohorts(planting)
    own = next((c for c in cohorts if size.row and c.row == size.row), cohorts[0] if cohorts else None)
    day = size.at.end.date()
    since = years_since(own.planted, day) if own is not None else 0.0
    if since <= 0:
        return None
    tall = size.height or size.leader
    stem_cm = size.dbh.to("cm") if size.dbh is not None else None
    return Measure(np.array([since]), stem_cm, tall.to("m") if tall is not None else None, day)


def _site_index(species: str, measures: Sequence[Measure]) -> float | None:
    """Return the site index on which the measured heights lie, or None. [ft]"""
    options = book.curves(species)
    known = [(m.tall_m, float(m.since[0])) for m in measures if m.tall_m is not None]
    if not options or not known or options[0].form == "king":
        return None
    tall_ft = np.array([tall for tall, _ in known]) * factor("m", "ft")
    ages = np.array([age for _, age in known])
    site = trees_height.site_index_ft(options[0].form, tall_ft, ages, options[0].b)
    return float(np.exp(np.nanmean(np.log(site)))) if np.isfinite(site).any() else None


def _log_ratio(curve: curves.Curve, measure: Measure) -> float | None:
    """Return ln of the measured over the expected stem, a height turned to the stem that would carry it."""
    expected = float(curve.stem_cm(measure.since, sum(seedling_range()) / 2)[0])
    stem = measure.stem_cm if measure.stem_cm is not None else _stem_of(curve, measure)
    if stem is None or stem <= 0 or expected <= 0:
        return None
    return float(np.log(stem / expected))


def _by_stem(curve: curves.Curve) -> bool:
    return isinstance(curve, curves.OpenGrown) and HEIGHT in curve.near


def _stem_of(curve: curves.Curve, measure: Measure) -> float | None:
    """Return the stem whose median height was measured, or None above all of them. [cm]"""
    if measure.tall_m is None:
        return None
    if _by_stem(curve):
        since = np.full(STEMS_CM.shape, measure.since[0])
        heights = np.maximum.accumulate(curve.height_m(STEMS_CM, since))
        return float(np.interp(measure.tall_m, heights, STEMS_CM)) if measure.tall_m <= heights[-1] else None
    by_age = float(curve.height_m(np.ones(1), measure.since)[0])
    return float(curve.stem_cm(measure.since, sum(seedling_range()) / 2)[0]) * measure.tall_m / by_age


def _scatter(curve: curves.Curve, measure: Measure) -> float:
    """Return the variance of the log stem that one measured tree tells; a height tells it less well. [1]"""
    stem = curve.stem_cm(measure.since, sum(seedling_range()) / 2)
    variance = float(curve.tree_variances(stem, measure.since)[STEM][0])
    if measure.stem_cm is None and isinstance(curve, curves.OpenGrown) and _by_stem(curve):
        steep = max(float(curve.steepness(HEIGHT, stem)[0]), TINY)
        variance += (float(curve.own_variance(HEIGHT, stem)[0]) + curve.sites[HEIGHT]) / steep**2
    return variance


def _unknown_start(curve: curves.Curve, measure: Measure) -> float:
    """Return the variance of the log stem that the unknown years of a seedling make. [1]"""
    early, late = (curve.stem_cm(measure.since, years) for years in seedling_range())
    apart = np.log(np.maximum(early, TINY) / np.maximum(late, TINY)) / (2 * curves.SPREAD_80)
    return float(apart[0] ** 2)


def crowns_after(farm: Farm, state: State | None = None) -> Callable[[Planting, int], float | None]:
    """Return what tells the crown width of a planting's mean tree some years after planting. [m]

    The answer is what the layout asks for: by the book, pulled by the trees measured in ``state``; crowns
    spread freely. None where the species is not listed.
    """
    cities = nearest_cities(farm)

    def width(planting: Planting, years: int) -> float | None:
        if planting.species not in book.species():
            return None
        taught = learnt(farm, planting, state or State(datetime.combine(farm.as_of, time(12), UTC)), cities)
        curve, growth = taught.curve, taught.mean
        since = np.array([float(years)])
        stem = curve.stem_cm(since, sum(seedling_range()) / 2) * np.exp(growth)
        lift = np.exp(curve.tree_variances(stem, since)[CROWN] / 2)
        return float((curve.crown_m(stem) * lift)[0])

    return width
