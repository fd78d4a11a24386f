"""Every tree where it stands in one year of one member: places of the layout, sizes of its planting."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.canopy.fates import Fates
from browseline.canopy.sizes import QUANTITIES, TreeSizes
from browseline.layout.form import Layout
from browseline.science import draws

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class TreesThere:
    """Standing trees in columns, all of shape (tree,).

    Attributes
    ----------
    at : array of int
        Which tree of ``Layout.trees``.
    cohort : array of int
        Which cohort of the sizes.
    east_m, north_m : array
        On the layout's plane. [m]
    stem_cm, height_m, crown_m, base_m, leaf_m2 : array
        Of the mean tree of its cohort, as in ``TreeSizes``.
    drawn : bool
        Whether which places are empty was drawn for some planting, since nobody recorded it.
    beyond : int
        Trees counted for which the layout has no place.
    """

    at: Ints
    cohort: Ints
    east_m: Array
    north_m: Array
    stem_cm: Array
    height_m: Array
    crown_m: Array
    base_m: Array
    leaf_m2: Array
    drawn: bool
    beyond: int


def trees_there(layout: Layout, sizes: TreeSizes, year: int, member: int) -> TreesThere:
    """Return the trees that stand in a year of a member, each in its place.

    Parameters
    ----------
    layout : Layout
    sizes : TreeSizes
        With that year and member.
    year : int
        Calendar year. [yr]
    member : int
        One of ``sizes.members``.
    """
    when, who = sizes.years.index(year), sizes.members.index(member)
    at: list[Ints] = []
    cohort: list[Ints] = []
    drawn, beyond = False, 0
    for planting, own in sizes.fates.items():
        spots, by_draw = _spots(layout, own, who)
        drawn |= by_draw or bool((own.drawn[who] & (own.end[who] <= year)).any())
        alive = own.alive(year)[who]
        place = own.place[who]
        there = np.where(place >= 0, spots[np.maximum(place, 0)], -1)
        beyond += int((alive & (there < 0)).sum())
        kept = alive & (there >= 0)
        group = np.repeat(sizes.of(planting), [c.count for c in own.cohorts]).astype(np.int64)
        at.append(there[kept])
        cohort.append(group[kept])
    tree, group = (np.concatenate(x) if x else np.zeros(0, dtype=np.int64) for x in (at, cohort))
    columns = {quantity: getattr(sizes, quantity)[when, who][group] for quantity in QUANTITIES}
    trees = layout.trees
    return TreesThere(
        tree, group, trees.east_m[tree], trees.north_m[tree], **columns, drawn=drawn, beyond=beyond
    )


def _spots(layout: Layout, own: Fates, who: int) -> tuple[Ints, bool]:
    """Return the place in the layout of each tree that stood at the beginning, -1 where none is left.

    A row's trees take the row's places; the others what is left. Where a layout has more places than
    trees, the empty ones are drawn, and the second value says so.
    """
    rows = [row for row in layout.rows if row.planting == own.planting.id]
    free = {row.row: list(range(row.first, row.first + row.count)) for row in rows}
    out: list[int] = []
    drawn = False
    for cohort in (c for c in own.cohorts if not c.replant):
        key = cohort.row if cohort.row in free else None
        places = free.pop(key) if key is not None else [p for row in free.values() for p in row]
        if key is None:
            free = {}
        if len(places) > cohort.count:
            what = f"trees.place.{own.planting.id}"
            chance = draws.uniform(own.seed, what, own.members[who], 0, len(places))
            keep = np.sort(np.argsort(chance, kind="stable")[: cohort.count])
            places, drawn = [places[i] for i in keep], True
        out += [*places, *[-1] * (cohort.count - len(places))]
    return np.array(out, dtype=np.int64), drawn
