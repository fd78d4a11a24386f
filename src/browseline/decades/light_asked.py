"""Which trees the light engine is asked about: a few ages, the same with other leaf or height, and checks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes, grow_trees, trees_there
from browseline.canopy.cells import Cells
from browseline.canopy.light import crown_cover, middle_trees
from browseline.canopy.months import months_light
from browseline.decades.crowns import TINY, Crowns, crowns_of, farm_wide
from browseline.decades.start import Start, thinnings, works_of
from browseline.layout.form import Layout

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
KNOTS, LEFT_OUT = 6, 4
FIXED, STRETCH = 21, 40
WIDEST, WIDER = 1.0, 1.25
AGE, CHECK, OTHER = 0, 1, 2
LEAF_BY, TALL_BY = (0.25, 1.0, 4.0), (0.45, 1.0, 2.2)
EVERY_MEMBER = 5
QUANTITIES = ("stem_cm", "height_m", "crown_m", "base_m", "leaf_m2")


@dataclass(frozen=True, eq=False)
class Asked:
    """What the engine gave for the trees of some years; places on the map are paddocks of the cells.

    Attributes
    ----------
    first, end : array of int, shape (ask,)
        The stretch between thinnings that a year belongs to, as places along the years, ``end`` not in it.
    kind : array of int, shape (ask,)
        0 an age, 1 a member's own trees that only check what is read, 2 the trees of one age with their leaf
        and height times ``leaf_by`` and ``tall_by``, leaf within height, all but once both.
    place : array of int, shape (ask,)
        Of the year along the years.
    leaf_by, tall_by : array, shape (ask,)
        [1]
    light : array, shape (ask, month, place)
        What the trees leave of the light. [1]
    cover : array, shape (ask, place)
        Ground under crowns, each spot once, of kind 0. [1]
    ground, leaf, tall : array, shape (ask, paddock)
        As in ``Crowns``.
    """

    first: Ints
    end: Ints
    kind: Ints
    place: Ints
    leaf_by: Array
    tall_by: Array
    light: Array
    cover: Array
    ground: Array
    leaf: Array
    tall: Array

    def of(self, kind: int, first: int | None = None) -> list[int]:
        """Return the asks of a kind, of all stretches or of one."""
        own = self.kind == kind
        return [int(n) for n in np.flatnonzero(own if first is None else own & (self.first == first))]


class _Ask(NamedTuple):
    era: slice
    place: int
    kind: int
    leaf_by: float
    tall_by: float
    trees: TreeSizes


def stretch(years: Sequence[int]) -> tuple[int, ...]:
    """Return the years from the first to the end of the stretch of forty that holds the last. [yr]"""
    whole = max(1, -(-(len(years) - 1) // STRETCH)) * STRETCH
    return tuple(range(years[0], years[0] + whole + 1))


def ask(start: Start, years: Sequence[int]) -> Asked | None:
    """Return what the light engine gives for the trees that are worked out; None without trees on a map.

    Parameters
    ----------
    start : Start
    years : sequence of int
        Calendar years wanted; the ages are those of their ``stretch``. [yr]
    """
    farm, works = start.farm, works_of(start.farm, start.farm.future)
    if start.cells is None or start.layout is None or not len(start.layout.trees):
        return None
    known = grow_trees(farm, start.state, stretch(years), range(FIXED), works, farm.future.replant)
    wanted = [one for era in eras(known.years, thinnings(works)) for one in _of_era(start, known, era)]
    wanted += _leaf_and_height([one for one in wanted if one.kind == AGE and one.place <= STRETCH])
    seen = [_seen(start, start.cells, start.layout, one) for one in wanted]
    crowns = [crowns_of(farm, one.trees) for one in wanted]
    plain = [(one.era.start, one.era.stop, one.kind, one.place, one.leaf_by, one.tall_by) for one in wanted]
    first, end, kind, place, leaf_by, tall_by = (np.array(column) for column in zip(*plain, strict=True))
    light, cover = (np.array(column) for column in zip(*seen, strict=True))
    ground, leaf, tall = (_at(crowns, wanted, name) for name in ("ground", "leaf", "tall"))
    return Asked(first, end, kind, place, leaf_by, tall_by, light, cover, ground, leaf, tall)


def _at(crowns: Sequence[Crowns], wanted: Sequence[_Ask], name: str) -> Array:
    return np.array([getattr(c, name)[one.place, 0] for c, one in zip(crowns, wanted, strict=True)])


def _of_era(start: Start, known: TreeSizes, era: slice) -> list[_Ask]:
    """Return the ages of a stretch, its end with wide crowns, and members' own trees between."""
    middle = middle_trees(known)
    wide = _wide(middle, middle_trees(known, WIDEST))
    ground = farm_wide(crowns_of(start.farm, middle).ground[:, 0], start.farm)
    knots, left = ages_wanted(ground[era])
    ages = [_Ask(era, era.start + k, AGE, 1.0, 1.0, middle) for k in knots]
    checks = [
        _Ask(era, era.start + k, CHECK, 1.0, 1.0, member_trees(known, (n + 1) * EVERY_MEMBER))
        for n, k in enumerate(left)
    ]
    return [*ages, _Ask(era, era.stop - 1, AGE, 1.0, 1.0, wide), *checks]


def _leaf_and_height(ages: Sequence[_Ask]) -> list[_Ask]:
    """Return the trees of the last age but one of the first stretch with less and more leaf and height."""
    if len(ages) < 3:
        return []
    base = ages[-3]
    return [
        base._replace(kind=OTHER, leaf_by=leaf, tall_by=tall, trees=_other(base.trees, leaf, tall))
        for tall in TALL_BY for leaf in LEAF_BY if (leaf, tall) != (1.0, 1.0)
    ]  # fmt: skip


def _wide(middle: TreeSizes, widest: TreeSizes) -> TreeSizes:
    """Return middle trees with crowns wider than any member's, as dense and as tall as they were."""
    crown = widest.crown_m * WIDER
    over = crown / np.maximum(middle.crown_m, TINY)
    return replace(middle, crown_m=crown, leaf_m2=middle.leaf_m2 * over**2)


def _other(trees: TreeSizes, leaf: float, tall: float) -> TreeSizes:
    return replace(
        trees, leaf_m2=trees.leaf_m2 * leaf, height_m=trees.height_m * tall, base_m=trees.base_m * tall
    )


def member_trees(sizes: TreeSizes, member: int) -> TreeSizes:
    """Return the trees of one member alone."""
    at = [sizes.members.index(member % len(sizes.members))]
    fates = {name: own.of(at) for name, own in sizes.fates.items()}
    columns = {name: getattr(sizes, name)[:, at] for name in QUANTITIES}
    return replace(sizes, members=(sizes.members[at[0]],), alive=sizes.alive[:, at], fates=fates, **columns)


def eras(years: Sequence[int], cuts: Sequence[int]) -> list[slice]:
    """Return the stretches of years between thinnings, forty at most, as places along the years."""
    ends = set(range(STRETCH + 1, len(years), STRETCH)) | {years.index(y) for y in cuts if y in years[1:]}
    edges = [0, *sorted(ends), len(years)]
    return [slice(a, b) for a, b in pairwise(edges)]


def ages_wanted(crowns: Array) -> tuple[list[int], list[int]]:
    """Return places of the years to ask the engine for, and of years between them that check it.

    Ends and steps of equal size in the square root of the crowns; the checks lie amid the widest steps.
    """
    size = np.sqrt(np.maximum.accumulate(np.maximum(crowns, 0.0)))
    steps = np.linspace(size[0], size[-1], KNOTS)
    knots = sorted({int(np.argmin(np.abs(size - step))) for step in steps} | {0, len(crowns) - 1})
    gaps = sorted(pairwise(knots), key=lambda g: size[g[0]] - size[g[1]])
    left = [(a + b) // 2 for a, b in gaps if b - a > 1][:LEFT_OUT]
    return knots, sorted(left)


def _seen(start: Start, cells: Cells, layout: Layout, wanted: _Ask) -> tuple[Array, Array]:
    """Return light by month and cover of a year's trees; cover is 0 where nobody reads it."""
    one, year = wanted.trees, wanted.trees.years[wanted.place]
    if start.farm.place is None:
        raise ValueError("light needs a latitude")
    there = trees_there(layout, one, year, one.members[0])
    light = np.nan_to_num(months_light(cells, start.farm.place, one, there, start.of_clear), nan=1.0)
    if wanted.kind != AGE:
        return light, np.zeros(len(cells.paddocks))
    return light, crown_cover(cells, there)
