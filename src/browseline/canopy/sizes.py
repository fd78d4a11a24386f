"""Trees through the years: stem, height, crown, leaf area and how many stand, by member and planting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
import numpy.typing as npt

from browseline.canopy.climate import nearest_cities
from browseline.canopy.fates import Fates, counted, fates
from browseline.canopy.growing import QUANTITIES, Grown, grow
from browseline.canopy.history import Cohort, TreeWork, done
from browseline.canopy.measured import Learnt, learnt
from browseline.farm.records import Farm, Planting
from browseline.figures import Basis, Figure, Origin
from browseline.record.state import State

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
LOW, HIGH = 0.1, 0.9
FIGURES = {
    "stem_cm": ("tree_stem", "cm"), "height_m": ("tree_height", "m"), "crown_m": ("tree_crown", "m"),
    "base_m": ("tree_base", "m"), "leaf_m2": ("tree_leaf", "m2"),
}  # fmt: skip


@dataclass(frozen=True)
class TreeSizes:
    """Sizes of the mean tree of every cohort; all arrays are (year, member, cohort).

    Attributes
    ----------
    years : tuple of int
        Calendar years; a size is that of the year's summer.
    members : tuple of int
    cohorts : tuple of Cohort
        Trees set together in one year: a planting, a row of it, replants.
    stem_cm, height_m, crown_m, base_m, leaf_m2 : array
        Stem at breast height [cm], height [m], crown diameter [m], height of the crown's base [m], leaf
        area of a tree in full leaf [m2]; 0 before planting.
    alive : array of int
        Trees that stand.
    scatter : array, shape (year, cohort)
        Standard deviation of the log of one tree's stem about its cohort's. [1]
    past_data : array of bool, shape (year, cohort)
        True where sizes are carried on or held because nothing as old or thick was measured.
    learnt : dict
        Planting to what its measured trees teach.
    fates : dict
        Planting to its trees one by one.
    unknown : tuple of str
        Plantings whose number of trees or year of planting is not known: left out.
    """

    years: tuple[int, ...]
    members: tuple[int, ...]
    cohorts: tuple[Cohort, ...]
    stem_cm: Array
    height_m: Array
    crown_m: Array
    base_m: Array
    leaf_m2: Array
    alive: Ints
    scatter: Array
    past_data: npt.NDArray[np.bool_]
    learnt: Mapping[str, Learnt]
    fates: Mapping[str, Fates]
    unknown: tuple[str, ...] = ()

    def of(self, planting: str) -> tuple[int, ...]:
        """Return the places of a planting's cohorts along the last axis."""
        return tuple(i for i, cohort in enumerate(self.cohorts) if cohort.planting == planting)

    def mean(self, quantity: str, planting: str) -> Array:
        """Return the mean over a planting's standing trees, shape (year, member); NaN where none stands."""
        at = list(self.of(planting))
        trees = self.alive[:, :, at].astype(np.float64)
        total = np.asarray((getattr(self, quantity)[:, :, at] * trees).sum(axis=2))
        count = np.asarray(trees.sum(axis=2))
        out = np.full(count.shape, np.nan)
        np.divide(total, count, out=out, where=count > 0)
        return out

    def figure(self, quantity: str, planting: str, year: int) -> Figure:
        """Return the mean tree of a planting in a year with its 80 % range and where it comes from."""
        at = self.years.index(year)
        taught = self.learnt[planting]
        low, middle, high = (float(x) for x in self.expected(quantity, planting)[:, at])
        name, unit = FIGURES[quantity]
        parts = (taught.figure(planting),)
        return Figure(name, middle, unit, low, high, origins(taught.curve.rows), parts=parts, about=planting)

    def expected(self, quantity: str, planting: str) -> Array:
        """Return low, middle and high of the 80 % range over members, shape (3, year)."""
        return np.asarray(np.nanquantile(self.mean(quantity, planting), (LOW, 0.5, HIGH), axis=1))


def origins(rows: Sequence[Mapping[str, str]]) -> tuple[Origin, ...]:
    """Return where the rows of a curve come from."""
    return tuple(
        Origin(row["source"], row["locator"], cast("Basis", row["basis"]), note=row.get("note", ""))
        for row in rows
    )


def grow_trees(
    farm: Farm, state: State, years: Sequence[int], members: Sequence[int],
    planned: Sequence[TreeWork] = (), replant: bool = False,
) -> TreeSizes:  # fmt: skip
    """Return the trees of a farm by year and member, from the record and the tables.

    Years up to that of ``state`` tell what the record says of numbers; after it trees die at a rate that
    each member drew. Sizes are by the book, pulled by what was measured; each member has its own site.

    Parameters
    ----------
    farm : Farm
    state : State
        The record up to now.
    years : sequence of int
        Calendar years, in order. [yr]
    members : sequence of int
        Which members of the ensemble.
    planned : sequence of TreeWork
        Thinning, felling, pruning and planting that is meant to be done after now.
    replant : bool
        Whether gaps are filled again in each year in which a planting lacks the share of its trees at
        which replanting is common practice.
    """
    last_known = max(state.at.year, farm.as_of.year)
    cities = nearest_cities(farm)
    stands: dict[str, Fates] = {}
    taught: dict[str, Learnt] = {}
    unknown: list[str] = []
    grown: list[Grown] = []
    for planting in farm.plantings:
        works = (*planned, *(_refill(planting, last_known, years[-1]) if replant else ()))
        past = done(farm, state, planting.id)
        own = fates(planting, farm.seed, members, past, last_known, years[-1], works)
        if own is None:
            unknown.append(planting.id)
            continue
        stands[planting.id] = own
        taught[planting.id] = learnt(farm, planting, state, cities)
        grown += [grow(cohort, own, taught[planting.id], farm.seed, years) for cohort in own.cohorts]
    return _gather(years, members, grown, stands, taught, tuple(unknown))


def _refill(planting: Planting, after: int, last: int) -> tuple[TreeWork, ...]:
    """Return a look at the gaps every year; they are filled where enough trees are lost."""
    return tuple(TreeWork(planting.id, year, "planted", planned=True) for year in range(after + 1, last + 1))


def _gather(
    years: Sequence[int], members: Sequence[int], grown: list[Grown], stands: dict[str, Fates],
    taught: dict[str, Learnt], unknown: tuple[str, ...],
) -> TreeSizes:  # fmt: skip
    """Return the cohorts side by side along the last axis."""
    empty = np.zeros((len(years), len(members), 0))

    def beside(quantity: str) -> Array:
        return np.stack([g.sizes[quantity] for g in grown], axis=2) if grown else empty

    alive = [counted(own, years) for own in stands.values()]
    scatter = [g.scatter for g in grown] or [empty[:, 0]]
    past = [g.past_data for g in grown] or [empty[:, 0].astype(bool)]
    return TreeSizes(
        tuple(years), tuple(members), tuple(g.cohort for g in grown),
        stem_cm=beside("stem_cm"), height_m=beside("height_m"), crown_m=beside("crown_m"),
        base_m=beside("base_m"), leaf_m2=beside("leaf_m2"),
        alive=np.concatenate(alive, axis=2) if alive else empty.astype(np.int64),
        scatter=np.column_stack(scatter), past_data=np.column_stack(past),
        learnt=taught, fates=stands, unknown=unknown,
    )  # fmt: skip


__all__ = ["QUANTITIES", "TreeSizes", "grow_trees"]
