"""What measured trees teach: one growth factor for each species of a planting, with its error."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from browseline import tables
from browseline.canopy import book, curves
from browseline.canopy.book import HEIGHT, STEM
from browseline.canopy.history import Cohort
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
        origins = (Origin("farm", basis="farm"),) if self.trees else ()
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


def learnt(cohort: Cohort, state: State, cities: Sequence[str] = ()) -> Learnt:
    """Return how the trees of a planting grow: by the book, pulled by the trees that were measured.

    The newest measure of each tree counts; of one measure the stem counts before the height. A species
    without measured open-grown trees but with a site-index curve takes the curve that its measured heights
    lie on.

    Parameters
    ----------
    cohort : Cohort
        Its first trees: replants are not told apart by a measure.
    state : State
        With the trees that were measured.
    cities : sequence of str
        Measured cities, nearest in climate first.
    """
    sizes = newest(state, cohort.planting)
    site = _site_index(cohort, sizes)
    curve = curves.curve_of(cohort.species, tuple(cities), site)
    ratios = [r for s in sizes if (r := _log_ratio(curve, cohort, s)) is not None]
    if not ratios:
        return Learnt(curve, 0.0, curve.sites[STEM], 0, None)
    since = np.array([max(years_since(cohort.planted, s.at.end.date()), 0.1) for s in sizes])
    early, late = (curve.stem_cm(since, years) for years in seedling_range())
    apart = np.log(np.maximum(early, TINY) / np.maximum(late, TINY)) / (2 * curves.SPREAD_80)
    shared = float(np.mean(apart**2))
    stem = curve.stem_cm(since, sum(seedling_range()) / 2)
    scatter = float(np.mean(curve.tree_variances(stem, since)[STEM]))
    mean, variance = trees_open.factor_learnt(
        float(np.mean(ratios)), len(ratios), curve.sites[STEM], scatter, shared
    )
    return Learnt(curve, mean, variance, len(ratios), max(s.at.end.date() for s in sizes))


def newest(state: State, planting: str) -> list[TreeSize]:
    """Return the newest measure of each tree of a planting; trees without a name are one each."""
    last: dict[str, TreeSize] = {}
    own = [s for s in state.tree_sizes if s.planting == planting and (s.dbh or s.height or s.leader)]
    for number, size in enumerate(sorted(own, key=lambda s: s.at.end)):
        last[size.tree or f"#{number}"] = size
    return list(last.values())


def _tall_m(size: TreeSize) -> float | None:
    tall = size.height or size.leader
    return tall.to("m") if tall is not None else None


def _site_index(cohort: Cohort, sizes: Sequence[TreeSize]) -> float | None:
    """Return the site index on which the measured heights lie, or None. [ft]"""
    options = book.curves(cohort.species)
    found = [(_tall_m(s), years_since(cohort.planted, s.at.end.date())) for s in sizes]
    known = [(tall, age) for tall, age in found if tall is not None and age > 0]
    if not options or not known or options[0].form == "king":
        return None
    tall_ft = np.array([tall for tall, _ in known]) * factor("m", "ft")
    ages = np.array([age for _, age in known])
    site = trees_height.site_index_ft(options[0].form, tall_ft, ages, options[0].b)
    return float(np.exp(np.nanmean(np.log(site)))) if np.isfinite(site).any() else None


def _log_ratio(curve: curves.Curve, cohort: Cohort, size: TreeSize) -> float | None:
    """Return ln of the measured over the expected stem, a height turned to the stem that would carry it."""
    since = np.array([years_since(cohort.planted, size.at.end.date())])
    if since[0] <= 0:
        return None
    expected = float(curve.stem_cm(since, sum(seedling_range()) / 2)[0])
    stem = size.dbh.to("cm") if size.dbh is not None else _stem_of(curve, size, since)
    if stem is None or stem <= 0 or expected <= 0:
        return None
    return float(np.log(stem / expected))


def _stem_of(curve: curves.Curve, size: TreeSize, since: Array) -> float | None:
    """Return the stem whose median height was measured, or None above all of them. [cm]"""
    tall = _tall_m(size)
    if tall is None:
        return None
    if isinstance(curve, curves.OpenGrown) and HEIGHT in curve.near:
        heights = np.maximum.accumulate(curve.height_m(STEMS_CM, np.full(STEMS_CM.shape, since[0])))
        return float(np.interp(tall, heights, STEMS_CM)) if tall <= heights[-1] else None
    by_age = float(curve.height_m(np.ones(1), since)[0])
    return float(curve.stem_cm(since, 0.0)[0]) * tall / by_age if by_age > 0 else None
