"""The course of one species on one farm: stem, height, crown and leaf area by years since planting."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import book
from browseline.canopy.book import CROWN, HEIGHT, LEAF, STEM, Fit
from browseline.science import trees_crown, trees_height, trees_open
from browseline.science.draws import normal
from browseline.science.trees_open import Array
from browseline.units import factor

SPREAD_80 = float(normal(np.array([0.9]))[0])
QUARTILE = float(normal(np.array([0.75]))[0])


Bools = npt.NDArray[np.bool_]
SHAPE = "stem from height"


class Curve(Protocol):
    """What every way of growing a tree answers; arrays of any one shape.

    Attributes
    ----------
    sites : dict
        Variance of the log between sites, by relation; of ``SHAPE`` where the stem comes from the height.
        [1]
    rows : tuple of dict
        The table rows that it was made from.
    """

    @property
    def sites(self) -> dict[str, float]:
        """Return the variance of the log between sites, by relation. [1]"""

    @property
    def rows(self) -> tuple[book.Line, ...]:
        """Return the table rows behind the curve."""

    def stem_cm(self, since_yr: Array, seedling_yr: Array | float) -> Array:
        """Return the median stem by years since planting and the years of a seedling in it. [cm]"""

    def height_m(self, stem_cm: Array, since_yr: Array, log_growth: Array | float = 0.0) -> Array:
        """Return the median height of a tree of a stem, of an age, that grows by some log factor. [m]"""

    def crown_m(self, stem_cm: Array) -> Array:
        """Return the median crown diameter. [m]"""

    def leaf_m2(self, stem_cm: Array, crown_m: Array) -> Array:
        """Return the median leaf area. [m2]"""

    def tree_variances(self, stem_cm: Array, since_yr: Array) -> dict[str, Array]:
        """Return the variance of the log size of one tree of an age about its site's, by relation. [1]"""

    def past_data(self, stem_cm: Array, since_yr: Array) -> Bools:
        """Return where a size is held or carried on because the data end."""


def book_variance(between: str, relation: str) -> float:
    """Return a squared standard deviation of the log from the table. [1]"""
    return book.middle(between, relation) ** 2


def range_variance(key: str, applies_to: str, tail: float = SPREAD_80) -> float:
    """Return the variance of the log that a row's low and high say, taken as an 80 % range or another. [1]"""
    row = tables.row("trees", key, applies_to)
    if not row.low or not row.high:
        return 0.0
    return float((np.log(row.high / row.low) / (2 * tail)) ** 2)


@dataclass(frozen=True)
class ByHeight:
    """A species without measured free-standing trees: height by a curve, the stem by factor or height.

    ``site_index_ft`` is None where nothing measured tells it; then the fallback curve stands.
    """

    species: str
    site_index_ft: float | None = None

    @property
    def _factor_cm_yr(self) -> float | None:
        """Return the forest growth of the stem, or None where no factor is known. [cm/yr]"""
        if self.species not in tables.applies("trees", "growth_factor"):
            return None
        return factor("in", "cm") / book.middle("growth_factor", self.species)

    @property
    def rows(self) -> tuple[book.Line, ...]:
        """Return the rows of height, stem and crown."""
        tall = [book.line_of(key, self.species) for key in ("cr_a", "cr_k", "cr_p")]
        if self.site_index_ft is not None:
            tall = [book.curves(self.species)[0].row]
        by_factor = self._factor_cm_yr is not None
        stem = (
            book.line_of("growth_factor", self.species)
            if by_factor
            else book.line_of("height_to_stem", book.OPEN)
        )
        return (*tall, stem, book.crown_width(self.species).row)

    @cached_property
    def sites(self) -> dict[str, float]:
        """Return the variance of the log between sites, by relation; of a guess its own range. [1]"""
        out = {relation: book_variance("between_sites", relation) for relation in book.RELATIONS}
        if self._factor_cm_yr is not None:
            out[STEM] += range_variance("open_times", "forest growth factor")
        else:
            out[SHAPE] = range_variance("height_to_stem", book.OPEN, QUARTILE)
        return out

    def _tall_m(self, since_yr: Array) -> Array:
        if self.site_index_ft is not None:
            chosen = book.curves(self.species)[0]
            tall = trees_height.height_ft(chosen.form, self.site_index_ft, since_yr, chosen.b)
            return np.asarray(tall * factor("ft", "m"))
        a, k, p = (book.middle(key, self.species) for key in ("cr_a", "cr_k", "cr_p"))
        return trees_height.chapman_richards_m(since_yr, a, k, p)

    def stem_cm(self, since_yr: Array, seedling_yr: Array | float) -> Array:
        """Return the stem by the growth factor of open trees, else by height over 40. [cm]"""
        if self._factor_cm_yr is None:
            return self._tall_m(since_yr) * factor("m", "cm") / book.middle("height_to_stem", book.OPEN)
        times, years = (book.middle(k, "forest growth factor") for k in ("open_times", "open_years"))
        return trees_open.factor_stem_cm(since_yr, self._factor_cm_yr, times, years)

    def height_m(self, stem_cm: Array, since_yr: Array, log_growth: Array | float = 0.0) -> Array:
        """Return the height by age, times the planting's growth. [m]"""
        return np.asarray(self._tall_m(since_yr) * np.exp(log_growth))

    def crown_m(self, stem_cm: Array) -> Array:
        """Return the crown of an open-grown tree of the stem. [m]"""
        return book.crown_width(self.species).width_m(stem_cm)

    def leaf_m2(self, stem_cm: Array, crown_m: Array) -> Array:
        """Return crown footprint times the species' leaf area index (conflict K26). [m2]"""
        return book.crown_lai(self.species).middle() * trees_crown.footprint_m2(crown_m)

    def tree_variances(self, stem_cm: Array, since_yr: Array) -> dict[str, Array]:
        """Return the variance of one tree's log size, as among the measured species. [1]"""
        return {r: np.full(np.shape(stem_cm), book_variance("between_trees", r)) for r in book.RELATIONS}

    def past_data(self, stem_cm: Array, since_yr: Array) -> Bools:
        """Return everywhere: no free-standing tree of the species was measured."""
        return np.ones(np.shape(stem_cm), dtype=bool)


@dataclass(frozen=True)
class OpenGrown:
    """A species with measured free-standing trees: stem by age, the rest by stem (conflict K27).

    ``near`` and ``pooled`` hold the fits by relation; without a farm's climate they are the same. A relation
    that was not measured is the one of ``otherwise``.
    """

    species: str
    near: dict[str, Fit]
    pooled: dict[str, Fit]
    otherwise: ByHeight

    @property
    def rows(self) -> tuple[book.Line, ...]:
        """Return the rows of the fits, and of the fallback where one of them is missing."""
        missing = self.otherwise.rows if len(self.near) < len(book.RELATIONS) else ()
        return (*(fit.row for fit in self.near.values()), *missing)

    @cached_property
    def sites(self) -> dict[str, float]:
        """Return the variance of the log between sites, by relation. [1]"""
        own = {relation: self._site(relation) for relation in self.near}
        if STEM in self.near:
            own[SHAPE] = 0.0
        return {**self.otherwise.sites, **own}

    def _site(self, relation: str) -> float:
        """Return the variance between sites; in a pooled fit it is part of the scatter, at most half. [1]"""
        fit, between = self.near[relation], book_variance("between_sites", relation)
        return min(between, fit.relation.log_mse / 2) if self._mixes_sites(fit) else between

    @staticmethod
    def _mixes_sites(fit: Fit) -> bool:
        return fit.region == book.POOLED and fit.relation.log_mse > 0

    def _along(self, relation: str, x: Array, start: float = 0.0, power: float = 1.0) -> Array:
        near, pooled = self.near[relation].relation, self.pooled[relation].relation
        return trees_open.carried_on(x, near, pooled, start, power)

    def stem_cm(self, since_yr: Array, seedling_yr: Array | float) -> Array:
        """Return the median stem; a seedling takes its years to the stem from which ages count. [cm]"""
        if STEM not in self.near:
            return self.otherwise.stem_cm(since_yr, seedling_yr)
        counted = book.middle("counted_from")
        first = self._along(STEM, np.zeros(1), counted)
        young = first * np.clip(since_yr / np.maximum(seedling_yr, trees_open.TINY), 0.0, 1.0)
        grown = self._along(STEM, np.asarray(since_yr - seedling_yr), counted)
        return np.where(since_yr < seedling_yr, young, grown)

    def height_m(self, stem_cm: Array, since_yr: Array, log_growth: Array | float = 0.0) -> Array:
        """Return the median height by stem. [m]"""
        if HEIGHT not in self.near:
            return self.otherwise.height_m(stem_cm, since_yr, log_growth)
        return self._along(HEIGHT, stem_cm)

    def crown_m(self, stem_cm: Array) -> Array:
        """Return the median crown diameter by stem. [m]"""
        return self._along(CROWN, stem_cm) if CROWN in self.near else self.otherwise.crown_m(stem_cm)

    def leaf_m2(self, stem_cm: Array, crown_m: Array) -> Array:
        """Return the median leaf area by stem, by as much less as the crown is kept from spreading. [m2]"""
        if LEAF not in self.near:
            return self.otherwise.leaf_m2(stem_cm, crown_m)
        free = np.maximum(self.crown_m(stem_cm), trees_open.TINY)
        return np.asarray(self._along(LEAF, stem_cm, power=2.0) * np.minimum(crown_m / free, 1.0) ** 2)

    def tree_variances(self, stem_cm: Array, since_yr: Array) -> dict[str, Array]:
        """Return the variance of one tree's log size at its age, what its stem varies carried along. [1]"""
        out = dict(self.otherwise.tree_variances(stem_cm, since_yr))
        if STEM in self.near:
            out[STEM] = self.own_variance(STEM, since_yr)
        for relation in (r for r in (HEIGHT, CROWN, LEAF) if r in self.near):
            carried = self.steepness(relation, stem_cm) ** 2 * out[STEM]
            out[relation] = self.own_variance(relation, stem_cm) + carried
        return out

    def own_variance(self, relation: str, x: Array) -> Array:
        """Return the variance of the log about a fit; of a pooled one less what differs by site. [1]"""
        fit = self.near[relation]
        variance = trees_open.log_variance(fit.relation, _inside(fit, x))
        return np.asarray(variance - self.sites[relation]) if self._mixes_sites(fit) else variance

    def steepness(self, relation: str, x: Array) -> Array:
        """Return d ln y / d ln x of a fit inside its data. [1]"""
        fit = self.near[relation]
        return trees_open.steepness(fit.relation, _inside(fit, x))

    def past_data(self, stem_cm: Array, since_yr: Array) -> Bools:
        """Return where age or stem lies above what was measured anywhere, or a relation was not measured."""
        if len(self.near) < len(book.RELATIONS):
            return self.otherwise.past_data(stem_cm, since_yr)
        ends = [max(self.near[r].relation.x_max, self.pooled[r].relation.x_max) for r in book.RELATIONS]
        least = book.middle("seedling_years")
        return np.asarray((since_yr - least > ends[0]) | (stem_cm > min(ends[1:])))


def _inside(fit: Fit, x: Array) -> Array:
    return np.clip(x, fit.relation.x_min, fit.relation.x_max)


def curve_of(species: str, cities: tuple[str, ...] = (), site_index_ft: float | None = None) -> Curve:
    """Return how a species grows: by measured free-standing trees where there are any, else by height.

    Parameters
    ----------
    species : str
        An id of the list of species.
    cities : tuple of str
        Measured cities, nearest in climate first; none takes the pooled fits.
    site_index_ft : float, optional
        Told by measured heights; used where no free-standing trees were measured. [ft]

    Raises
    ------
    LookupError
        If the species is not of the list.
    """
    book.kinds(species)
    otherwise = ByHeight(species, site_index_ft)
    pairs = {r: book.nearest(options, cities) for r, options in book.fits(species).items() if options}
    if not pairs:
        return otherwise
    near, pooled = ({r: pair[end] for r, pair in pairs.items()} for end in (0, 1))
    return OpenGrown(species, near, pooled, otherwise)
