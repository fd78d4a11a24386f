"""What a cut of leaf fodder takes off the trees: their leaf for the rest of the year, and its carbon.

A cut takes the typed weight off the leaf that the table of the parts of a tree gives a stem of that size, at
most all of it. From the month after the cut until new leaf comes the crown is as much barer, by the light
engine's own law: bare wood still shades. Crowns keep their width and stems their growth, for no source says
what a cut takes of either; new leaf is whole again.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes, book
from browseline.canopy.season import leaf_days, monthly_leaf_share
from browseline.decades.start import in_paddock
from browseline.farm import tree_mass
from browseline.farm.future import LeafCut
from browseline.farm.records import Farm, Place, Planting
from browseline.figures import Origin
from browseline.units import factor

Array = npt.NDArray[np.float64]
FOLIAGE, BARE = "foliage", ("bare_share", "any leaf-losing tree")
KG, THIN_CM, TINY = "kg", 2.5, 1e-9
MONTHS = 12
MONTH_D = 365 / MONTHS


def leaf_kg(farm: Farm, sizes: TreeSizes, planting: Planting, cohort: int) -> Array:
    """Return the dry leaf of a tree of a cohort by the table of parts, shape (year, member). [kg]

    References
    ----------
    jenkins2003, Table 6: foliage over all above ground by the stem
    """
    line = tree_mass.equation_of(farm, planting)
    stem = np.maximum(sizes.stem_cm[:, :, cohort], THIN_CM)
    return np.asarray(tree_mass.mass_kg(line, stem) * tree_mass.part_share(line, stem, FOLIAGE))


def taken(farm: Farm, sizes: TreeSizes) -> Iterator[tuple[LeafCut, int, Array]]:
    """Yield each cut, a cohort that it takes leaf of, and how much of a tree's, shape (year, member). [kg]"""
    plantings = {p.id: p for p in farm.plantings}
    for cut in farm.future.fodder:
        for cohort in sizes.of(cut.planting):
            since = sizes.cohorts[cohort].planted
            due = np.array([float(cut.falls(year - since)) for year in sizes.years])
            if due.any():
                there = leaf_kg(farm, sizes, plantings[cut.planting], cohort)
                yield cut, cohort, due[:, None] * np.minimum(cut.each.to(KG), there)


def cut_kg(farm: Farm, sizes: TreeSizes, planting: str) -> Array:
    """Return the dry leaf that cuts take off a planting's trees, shape (year, member). [kg]"""
    out = np.zeros((len(sizes.years), len(sizes.members)))
    for cut, cohort, each in taken(farm, sizes):
        if cut.planting == planting:
            out += each * sizes.alive[:, :, cohort]
    return out


def cut_share(farm: Farm, sizes: TreeSizes, cut: LeafCut) -> Array:
    """Return the share of a tree's leaf that a cut takes, shape (year, member); 0 where none is due. [1]

    Of the cohort that most trees are of.
    """
    found = [(cohort, each) for own, cohort, each in taken(farm, sizes) if own is cut]
    if not found:
        return np.zeros((len(sizes.years), len(sizes.members)))
    cohort, each = max(found, key=lambda one: float(sizes.alive[:, :, one[0]].sum()))
    planting = next(p for p in farm.plantings if p.id == cut.planting)
    return each / np.maximum(leaf_kg(farm, sizes, planting, cohort), TINY)


def origins(farm: Farm, planting: Planting) -> tuple[Origin, ...]:
    """Return where the leaf of a tree comes from."""
    rows = tree_mass.part_rows(tree_mass.equation_of(farm, planting), FOLIAGE)
    return tuple(Origin(row.source, row.locator, row.basis, note=row.note) for row in rows)


# ---------------------------------------------------------------- light


def kept_depth(farm: Farm, sizes: TreeSizes) -> Array | None:
    """Return what cuts leave of the crowns' depth for light, shape (year, member, month, paddock). [1]

    The mean of a paddock's trees by their leaf; None where no cut names a month, or the place is not known.
    """
    if farm.place is None or not any(cut.month for cut in farm.future.fodder):
        return None
    lost, place = _lost(farm, farm.place, sizes), farm.place
    each = [_depth(place, c.species, np.minimum(lost[..., n], 1.0)) for n, c in enumerate(sizes.cohorts)]
    depth, there = np.stack(each, axis=-1), _there(farm, sizes)
    leaf = (sizes.leaf_m2 * sizes.alive * factor("m2", "ha"))[:, :, None, :]
    whole = np.broadcast_to(leaf, depth.shape) @ there
    left = np.divide((leaf * depth) @ there, whole, out=np.ones(whole.shape), where=whole > 0)
    return np.asarray(left)


def _lost(farm: Farm, place: Place, sizes: TreeSizes) -> Array:
    """Return the share of a tree's leaf that is missing, shape (year, member, month, cohort). [1]"""
    lost = np.zeros((len(sizes.years), len(sizes.members), MONTHS, len(sizes.cohorts)))
    plantings = {p.id: p for p in farm.plantings}
    for cut, cohort, each in taken(farm, sizes):
        if cut.month is not None:
            planting = plantings[cut.planting]
            share = each / np.maximum(leaf_kg(farm, sizes, planting, cohort), TINY)
            lost[..., cohort] += share[:, :, None] * _months(place, planting.species, cut.month)
    return lost


def _there(farm: Farm, sizes: TreeSizes) -> Array:
    """Return 1 where a cohort stands in a paddock, all where none does: shape (cohort, paddock)."""
    plantings = {p.id: p for p in farm.plantings}
    there = np.array(
        [[in_paddock(plantings[c.planting], p) for p in farm.paddocks] for c in sizes.cohorts], dtype=float
    )
    there[:, ~there.any(axis=0)] = 1.0
    return there


def _months(place: Place, species: str, cut: int) -> Array:
    """Return 1 in the months after a cut in which its leaf is missing: until new leaf, or the year's end."""
    ends = leaf_days(place, species)
    out = int(ends[0] % 365 // MONTH_D) if ends is not None else MONTHS
    last = out if cut - 1 < out else MONTHS
    month = np.arange(MONTHS)
    return ((month >= cut) & (month < last)).astype(np.float64)


def _depth(place: Place, species: str, lost: Array) -> Array:
    """Return a crown's depth with a share of its leaf gone over that with all, shape (…, month). [1]"""
    bare = book.middle(*BARE)
    leaf = np.asarray(monthly_leaf_share(place, species))
    return np.asarray((bare + (1 - bare) * leaf * (1 - lost)) / (bare + (1 - bare) * leaf))
