"""The sizes of one cohort by year and member: its site, its neighbours, what was pruned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.canopy import book
from browseline.canopy.book import CROWN, HEIGHT, LEAF, STEM
from browseline.canopy.curves import SHAPE
from browseline.canopy.fates import Fates, places
from browseline.canopy.history import Cohort, TreeWork
from browseline.canopy.measured import Learnt, seedling_range
from browseline.science import draws

Array = npt.NDArray[np.float64]
QUANTITIES = ("stem_cm", "height_m", "crown_m", "base_m", "leaf_m2")
TINY = 1e-9
QUARTERS = (0.25, 0.5, 0.75)
OF_SITE = (HEIGHT, CROWN, LEAF, SHAPE)


@dataclass(frozen=True)
class Grown:
    """Sizes of one cohort by quantity, each of shape (year, member).

    ``scatter`` is the standard deviation of the log of one tree's stem, ``past_data`` where the data end,
    both by year.
    """

    cohort: Cohort
    sizes: dict[str, Array]
    scatter: Array
    past_data: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Site:
    """What a planting's ground does to its trees in each member; all arrays of shape (1, member).

    ``growth`` is the log of the growth factor, ``seedling`` years [yr], ``ratio`` crown over tree height,
    the others factors by relation. [1]
    """

    growth: Array
    seedling: Array
    ratio: Array
    factors: dict[str, Array]


def site_of(planting: str, taught: Learnt, species: str, seed: int, members: Sequence[int]) -> Site:
    """Return the draws of a planting's site, one for each member."""

    def chance(what: str) -> Array:
        name = f"trees.{what}.{planting}"
        return draws.uniform_of(seed, name, members, 0, 1).T

    low, high = seedling_range()
    row = book.crown_ratio(species)
    middle = row.middle()
    quartiles = (row.low or middle, middle, row.high or middle)
    curve = taught.curve
    return Site(
        growth=taught.mean + taught.variance**0.5 * draws.normal(chance("growth")),
        seedling=low + (high - low) * chance("seedling"),
        ratio=np.interp(chance("ratio"), QUARTERS, quartiles),
        factors={r: np.exp(curve.sites.get(r, 0.0) ** 0.5 * draws.normal(chance(r))) for r in OF_SITE},
    )


def grow(cohort: Cohort, own: Fates, taught: Learnt, seed: int, years: Sequence[int]) -> Grown:
    """Return the sizes of a cohort's mean tree.

    Parameters
    ----------
    cohort : Cohort
        One of ``own``.
    own : Fates
        Of its planting, with what was taken out and pruned.
    taught : Learnt
        The curve and what measured trees say of it.
    seed : int
        Of the farm.
    years : sequence of int
        Calendar years, in order. [yr]
    """
    curve, members = taught.curve, own.members
    site = site_of(cohort.planting, taught, cohort.species, seed, members)
    ages = np.array([max(year - cohort.planted, 0) for year in years], dtype=np.float64)
    since = np.repeat(ages[:, None], len(members), axis=1)
    median = curve.stem_cm(since, site.seedling) * np.exp(site.growth) * site.factors[SHAPE]
    scatter = curve.tree_variances(median, since)
    lift = {relation: np.exp(variance / 2) for relation, variance in scatter.items()}
    free = curve.crown_m(median) * site.factors[CROWN]
    crown = kept_apart(free, own, years)
    alone = curve.crown_m(median)
    leaf = curve.leaf_m2(median, alone * crown / np.maximum(free, TINY)) * site.factors[LEAF]
    sizes = {
        "stem_cm": median * lift[STEM],
        "height_m": curve.height_m(median, since, site.growth) * site.factors[HEIGHT] * lift[HEIGHT],
        "crown_m": crown * lift[CROWN],
        "leaf_m2": leaf * lift[LEAF],
    }
    there = np.array([year >= cohort.planted for year in years])[:, None]
    sizes = {q: np.where(there, np.maximum.accumulate(size, axis=0), 0.0) for q, size in sizes.items()}
    natural = sizes["height_m"] * (1 - site.ratio)
    sizes["base_m"] = pruned(natural, sizes["height_m"], cohort, own.pruned, years)
    left = (sizes["height_m"] - sizes["base_m"]) / np.maximum(sizes["height_m"] - natural, TINY)
    sizes["leaf_m2"] = sizes["leaf_m2"] * np.clip(left, 0.0, 1.0)
    past = np.any(curve.past_data(median, since), axis=1).astype(bool)
    return Grown(cohort, sizes, scatter[STEM].mean(axis=1) ** 0.5, past)


def kept_apart(free_m: Array, own: Fates, years: Sequence[int]) -> Array:
    """Return the crown that neighbours leave room for: the diameter of the circle of equal ground. [m]

    Along the row a crown spreads to the spacing times a tenth more, across it to the alley; what was taken
    out on purpose leaves its room, in each member what was taken there.
    """
    planting, touching = own.planting, book.middle("touching")
    along, across = free_m, free_m
    if planting.spacing is not None:
        room = places(own) / np.maximum(places(own) - own.free_places(years), 1)
        along = np.minimum(free_m, touching * planting.spacing.to("m") * room)
    if planting.alley is not None:
        across = np.minimum(free_m, touching * planting.alley.to("m"))
    return np.asarray(np.sqrt(along * across))


def pruned(
    base_m: Array, height_m: Array, cohort: Cohort, works: Sequence[TreeWork], years: Sequence[int]
) -> Array:
    """Return the crown's base, raised by pruning; a planned one to no more than half of the height. [m]

    Parameters
    ----------
    base_m, height_m : array, shape (year, member)
        Base without pruning, and height. [m]
    cohort : Cohort
    works : sequence of TreeWork
        Prunings; those of other rows are passed over.
    years : sequence of int
        [yr]
    """
    out, most = base_m, book.middle("prune_at_most")
    for work in works:
        elsewhere = bool(work.row and cohort.row and work.row != cohort.row)
        at = next((i for i, year in enumerate(years) if year >= work.year), None)
        if work.to_height_m is None or elsewhere or at is None:
            continue
        share = min((work.trees or cohort.count) / cohort.count, 1.0)
        to = np.minimum(work.to_height_m, height_m[at] * (most if work.planned else 1.0))
        raised = out.copy()
        raised[at:] = (1 - share) * out[at:] + share * np.maximum(out[at:], to)
        out = raised
    return out
