"""Light on the paddocks through the years, read off between the trees that the engine was asked about.

For each paddock and month light is known at some sizes of the crowns, with straight lines between. A member
reads it at its own crowns, corrected for its own leaf and height: how light answers to those was asked for,
too. Members' own trees that were worked out for themselves say how far off that is. What is asked follows
from a fixed set of members and stretches of forty years: neither more members nor more years change what any
member reads.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.canopy import TreeSizes, paddock_cover
from browseline.canopy.light import MONTH_LENGTH, clear_mj_m2_d
from browseline.canopy.shade import UNSHADED
from browseline.decades.crowns import TINY, crowns_of, place_of
from browseline.decades.form import LightAhead
from browseline.decades.leaf_cut import kept_depth
from browseline.decades.light_asked import AGE, CHECK, LEAF_BY, OTHER, TALL_BY, Asked
from browseline.decades.start import MONTHS, Start, season_months
from browseline.farm.records import Paddock

Array = npt.NDArray[np.float64]
EXTINCTIONS = np.geomspace(0.02, 20.0, 120)
SHADED = 1e-3


def light_ahead(start: Start, sizes: TreeSizes, asked: Asked | None) -> LightAhead:
    """Return the light on the grass of every paddock by year and member.

    Parameters
    ----------
    start : Start
    sizes : TreeSizes
        Of the years and members wanted.
    asked : Asked or None
        What ``ask`` gave for those years; None without trees on a map.
    """
    farm, paddocks = start.farm, tuple(start.farm.paddocks)
    shape = (len(sizes.years), len(sizes.members), len(paddocks))
    light = np.ones((*shape[:2], 12, shape[2]))
    cover, error = np.zeros(shape), np.zeros((shape[0], shape[2]))
    stand_in: list[str] = []
    weight = month_light(start)
    weight = weight / weight.sum()
    pattern = np.ones((12, shape[2]))
    if asked is not None:
        shade = 1 - _from_maps(start, sizes, asked, (light, cover, error))
        of_year = weight @ shade
        pattern = np.where(of_year > 1 - UNSHADED, shade / np.maximum(of_year, TINY), 1.0)
    for at, paddock in enumerate(paddocks):
        if start.cells is None or place_of(start.cells, paddock) is None:
            by_rows = paddock_cover(farm, sizes, paddock.id)
            if by_rows is not None and by_rows.any():
                cover[:, :, at] = by_rows
                stand_in.append(paddock.id)
        _typed(paddock, light[:, :, :, at], cover[:, :, at])
    season = [m - 1 for m in season_months(farm, start.today)]
    part = weight[season] / weight[season].sum()
    of_season = np.einsum("ymkp,k->ymp", light[:, :, season], part)
    return LightAhead(
        tuple(p.id for p in paddocks), of_season, light, cover, error, tuple(stand_in), weight,
        pattern,
    )  # fmt: skip


def month_light(start: Start) -> Array:
    """Return the light of each month on open ground: weights of the months. [MJ/m2]"""
    if start.farm.place is None:
        return np.ones(12)
    daily = np.array([clear_mj_m2_d(start.farm.place, month) for month in MONTHS])
    return np.asarray(daily * np.array(start.of_clear) * np.array(MONTH_LENGTH))


def _typed(paddock: Paddock, light: Array, cover: Array) -> None:
    """Put a typed light or cover into a paddock's columns: it holds today, trees of the map change it."""
    if paddock.light is not None:
        today = light[0].mean(axis=0)
        light[:] = np.clip(paddock.light.to("1") * light / np.maximum(today, TINY), 0.0, 1.0)
    elif paddock.cover is not None and (light > UNSHADED).all() and not cover.any():
        cover[:] = paddock.cover.to("1")


# ---------------------------------------------------------------- reading between what was asked


@dataclass(frozen=True, eq=False)
class Answers:
    """How the shade of one paddock answers to leaf and height of its crowns, others alike.

    ``extinction`` (month,) is how shade fills up with leaf; ``filled`` (leaf, month) is that at the leaves
    asked for, from none; ``heights`` (height,) are logs; ``shade`` (height, leaf, month) is over that of the
    trees as they are. [1]
    """

    extinction: Array
    filled: Array
    heights: Array
    shade: Array

    def times(self, filled: Array, taller: Array) -> Array:
        """Return the shade over that of usual trees, shape (…, month).

        Parameters
        ----------
        filled : array, shape (…, month)
            Over that of usual trees. [1]
        taller : array
            Log of the height over that of usual trees. [1]
        """
        out = np.empty(filled.shape)
        for month in range(filled.shape[-1]):
            at = [np.interp(filled[..., month], self.filled[:, month], of[:, month]) for of in self.shade]
            up = np.clip(taller / self.heights[-1], 0.0, 1.0)
            down = np.clip(taller / self.heights[0], 0.0, 1.0)
            out[..., month] = at[1] + up * (at[2] - at[1]) + down * (at[0] - at[1])
        return out


@dataclass(frozen=True, eq=False)
class Curve:
    """How the light of one paddock answers to its crowns, in one stretch of years.

    ``ground`` rises from bare ground; ``light`` (step, month), ``cover``, ``leaf`` and ``tall`` go with it.
    """

    ground: Array
    light: Array
    cover: Array
    leaf: Array
    tall: Array
    answers: Answers | None

    def read(self, ground: Array, leaf: Array, tall: Array, kept: Array | None = None) -> tuple[Array, Array]:
        """Return light by month (…, month) and cover (…) at a member's crowns.

        ``kept`` (…, month) is what cuts leave of the crowns' depth; None is all of it. [1]
        """
        light = np.stack([np.interp(ground, self.ground, of) for of in self.light.T], axis=-1)
        cover = np.interp(ground, self.ground, self.cover)
        if self.answers is None:
            return light, cover
        usual_leaf = np.interp(ground, self.ground, self.leaf)
        usual_tall = np.interp(ground, self.ground, self.tall)
        extinction = self.answers.extinction
        left = np.asarray(leaf)[..., None] if kept is None else np.asarray(leaf)[..., None] * kept
        filled = filled_by_month(left, extinction) / np.maximum(filled_up(usual_leaf, extinction), TINY)
        taller = np.log(np.maximum(tall, TINY) / np.maximum(usual_tall, TINY))
        there = (leaf > 0) & (usual_leaf > 0)
        shade = (1 - light) * np.where(there[..., None], self.answers.times(filled, taller), 1.0)
        return np.clip(1 - shade, 0.0, 1.0), cover


def filled_up(leaf: Array, extinction: Array) -> Array:
    """Return the share of its deepest shade that a crown casts with so much leaf, shape (…, month). [1]

    Parameters
    ----------
    leaf : array
        Leaf area over the ground of the crown. [1]
    extinction : array, shape (month,)
        [1]

    References
    ----------
    derived_here: the light engine's own law of a crown (light falls off with the leaf on its way), for a
    paddock of crowns as one; its constant is fitted to what the engine gave for less and more leaf
    """
    return filled_by_month(np.asarray(leaf)[..., None], extinction)


def filled_by_month(leaf: Array, extinction: Array) -> Array:
    """Return the same for leaf by month, shape (…, month) or (…, 1)."""
    return np.asarray(1 - np.exp(-extinction * leaf))


def _from_maps(start: Start, sizes: TreeSizes, asked: Asked, into: tuple[Array, Array, Array]) -> Array:
    """Fill light, cover and error of the paddocks on the map; return the first stretch's last light."""
    farm, (light, cover, error) = start.farm, into
    crowns, kept = crowns_of(farm, sizes), kept_depth(farm, sizes)
    found = [place_of(start.cells, p) if start.cells is not None else None for p in farm.paddocks]
    deepest = np.ones((12, len(found)))
    for paddock, place in ((p, at) for p, at in enumerate(found) if at is not None):
        deepest[:, paddock] = asked.light[asked.of(AGE, 0)[-1], :, place]
        answers = answers_of(asked, paddock, place)
        for first, end in sorted(set(zip(asked.first.tolist(), asked.end.tolist(), strict=True))):
            own = slice(first, min(end, len(sizes.years)))
            if own.start >= own.stop:
                continue
            curve = _curve(asked, first, paddock, place, answers)
            ground, leaf, tall = (x[own, :, paddock] for x in (crowns.ground, crowns.leaf, crowns.tall))
            left = _part(kept, own, paddock)
            light[own, :, :, paddock], cover[own, :, paddock] = curve.read(ground, leaf, tall, left)
            checks = asked.of(CHECK, first)
            error[own, paddock] = max((_off(asked, n, paddock, place, curve) for n in checks), default=0.0)
    return deepest


def _part(kept: Array | None, own: slice, paddock: int) -> Array | None:
    return None if kept is None else kept[own, :, :, paddock]


def _curve(asked: Asked, first: int, paddock: int, place: int, answers: Answers | None) -> Curve:
    """Return how a paddock's light answers to its crowns, from bare ground up: there all is light."""
    order = sorted(asked.of(AGE, first), key=lambda n: float(asked.ground[n, paddock]))
    ground = np.array([0.0, *asked.ground[order, paddock]])
    apart = np.concatenate(([True], np.diff(ground) > TINY))
    leaf, tall = (np.array([of[order[0], paddock], *of[order, paddock]]) for of in (asked.leaf, asked.tall))
    light = np.concatenate([np.ones((1, 12)), asked.light[order, :, place]])
    over = np.array([0.0, *asked.cover[order, place]])
    return Curve(ground[apart], light[apart], over[apart], leaf[apart], tall[apart], answers)


def answers_of(asked: Asked, paddock: int, place: int) -> Answers | None:
    """Return how a paddock's shade answers to leaf and height; None where it was not asked for.

    Parameters
    ----------
    asked : Asked
    paddock, place : int
        The paddock, and its place on the map.
    """
    others = asked.of(OTHER)
    if not others:
        return None
    base = next(n for n in asked.of(AGE) if asked.place[n] == asked.place[others[0]])
    nine = [*others[:4], base, *others[4:]]
    shade = 1 - asked.light[nine, :, place].reshape(len(TALL_BY), len(LEAF_BY), 12)
    usual = shade[1, 1]
    steady = usual > SHADED
    ratio = np.where(steady, shade / np.maximum(usual, TINY), 1.0)
    leaf = asked.leaf[base, paddock] * np.array(LEAF_BY)
    made = filled_up(leaf, EXTINCTIONS) / np.maximum(filled_up(leaf[1], EXTINCTIONS), TINY)
    off = ((made[:, :, None] - ratio[1][:, None, :]) ** 2).sum(axis=0)
    extinction = np.where(steady, EXTINCTIONS[np.argmin(off, axis=0)], EXTINCTIONS[-1])
    filled = filled_up(leaf, extinction) / np.maximum(filled_up(leaf[1], extinction), TINY)
    none = np.zeros((1, 12))
    with_none = np.concatenate([np.zeros((len(TALL_BY), 1, 12)), ratio], axis=1)
    return Answers(extinction, np.concatenate([none, filled]), np.log(np.array(TALL_BY)), with_none)


def _off(asked: Asked, check: int, paddock: int, place: int, curve: Curve) -> float:
    """Return what a member's own trees are off by, mean of the months. [1]"""
    mine = (of[check, paddock] for of in (asked.ground, asked.leaf, asked.tall))
    read, _ = curve.read(*mine)
    return abs(float(read.mean() - asked.light[check, :, place].mean()))
