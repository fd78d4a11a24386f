"""Leaf fodder of the trees in the years ahead, by what the farm typed: no table knows the leaf of a tree."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes
from browseline.decades.form import Yield
from browseline.decades.yields import first_year
from browseline.farm.future import LeafCut
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, typed

Array = npt.NDArray[np.float64]
LEAF, KG = "leaf", "kg"
OWN = Origin("farm", basis="farm")


def fodder_ahead(farm: Farm, sizes: TreeSizes) -> tuple[Yield, ...]:
    """Return the leaf that is cut of every planting with a typed cut, its cuts together. [kg DM]"""
    made: dict[str, Array] = {}
    for cut in farm.future.fodder:
        if sizes.of(cut.planting):
            made[cut.planting] = made.get(cut.planting, 0.0) + cut_kg(sizes, cut)
    return tuple(_yield(farm, sizes, planting, amount) for planting, amount in made.items())


def fed_kg(farm: Farm, sizes: TreeSizes) -> Array:
    """Return the leaf that stock have by month, shape (year, member, month). [kg DM]"""
    fed = np.zeros((len(sizes.years), len(sizes.members), 12))
    for cut in farm.future.fodder:
        if cut.month is not None and sizes.of(cut.planting):
            fed[:, :, cut.month - 1] += cut_kg(sizes, cut)
    return fed


def cut_kg(sizes: TreeSizes, cut: LeafCut) -> Array:
    """Return the leaf of one typed cut, of the trees that stand and are due, shape (year, member). [kg DM]

    Replants are cut by their own age.
    """
    out = np.zeros((len(sizes.years), len(sizes.members)))
    for cohort in sizes.of(cut.planting):
        planted = sizes.cohorts[cohort].planted
        due = np.array([float(cut.falls(year - planted)) for year in sizes.years])
        out += due[:, None] * sizes.alive[:, :, cohort]
    return out * cut.each.to(KG)


def each_of(cut: LeafCut) -> Figure:
    """Return the leaf of a tree at one cut as it is typed. [kg]"""
    return typed("leaf_each", cut.each.to(KG), KG, cut.each.text, about=cut.planting)


def cuts_of(farm: Farm) -> Iterator[tuple[str, LeafCut]]:
    """Yield the typed cuts, each with the name of its planting."""
    names = {p.id: p.name for p in farm.plantings}
    for cut in farm.future.fodder:
        yield names.get(cut.planting, cut.planting), cut


def _yield(farm: Farm, sizes: TreeSizes, planting: str, amount: Array) -> Yield:
    species = next(p.species for p in farm.plantings if p.id == planting)
    trees = sizes.alive[:, :, list(sizes.of(planting))].sum(axis=2).astype(np.float64)
    each = np.divide(amount, trees, out=np.zeros(amount.shape), where=trees > 0)
    frosted = np.zeros(amount.shape, dtype=np.bool_)
    first = first_year(amount, sizes.years)
    return Yield(planting, species, LEAF, KG, amount, each, frosted, first, (OWN,), form="dry")
