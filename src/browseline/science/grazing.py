"""The paddock-day: animals graze, hay is cut, then the sward grows. Compiled; every arrow uses this one.

Within a day removal comes first and growth follows on what is left. Growth is
``fertility x sum over groups of share x potential(day) x shape(mass)``, unless growth was typed for
the day. Masses are dry, to the ground, in kg/ha; nothing here knows a calendar or a price.
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from browseline.science.compiled import bare, njit
from browseline.science.forage import Group

Array = NDArray[np.float64]
Index = NDArray[np.int64]


class Leaf(NamedTuple):
    """Constants of growth in mass, by group: what `shape` of the forage equations needs, compiled.

    leaf_per_kg and per_ceiling (one over the ceiling) have shape (group,) [ha/kg]; the others are masses:
    below the first, leaf area no longer falls; above the second, idle days take standing herbage off.
    """

    leaf_per_kg: Array
    per_ceiling: Array
    leaf_from_kg_ha: float
    loss_from_kg_ha: float


class Paddocks(NamedTuple):
    """What stays fixed of every paddock: curve, area_ha and floor_kg_ha (paddock,), share (paddock, group).

    curve points into the potentials; area_ha is net of tree rows; no animal grazes below floor_kg_ha.
    """

    curve: Index
    share: Array
    area_ha: Array
    floor_kg_ha: Array


class Days(NamedTuple):
    """What the days bring.

    potential_kg_ha_d (curve, member, day, group), loss_per_d (curve, member, day),
    typed_kg_ha_d (day, paddock), not a number where growth was not typed,
    cut_to_kg_ha (day, paddock), infinite where no hay is cut.
    """

    potential_kg_ha_d: Array
    loss_per_d: Array
    typed_kg_ha_d: Array
    cut_to_kg_ha: Array


class Stays(NamedTuple):
    """Who stands where, one entry a mob, paddock and day, in order of days.

    first (day + 1,) holds where the entries of each day begin; the others have shape (entry,).
    """

    first: Index
    paddock: Index
    mob: Index
    day_frac: Array
    share_eaten: Array


class Grazed(NamedTuple):
    """A season of every paddock.

    mass_kg_ha (member, day + 1, paddock) at the start of each day and the end of the last;
    growth, loss, removed and cut_kg_ha (member, day, paddock); eaten and short_kg (member, day, mob).
    """

    mass_kg_ha: Array
    growth_kg_ha: Array
    loss_kg_ha: Array
    removed_kg_ha: Array
    cut_kg_ha: Array
    eaten_kg: Array
    short_kg: Array


class Season(NamedTuple):
    """A season of one paddock: mass_kg_ha (day + 1,); growth, loss, removed and cut_kg_ha (day,)."""

    mass_kg_ha: Array
    growth_kg_ha: Array
    loss_kg_ha: Array
    removed_kg_ha: Array
    cut_kg_ha: Array


def leaf_of(groups: list[Group], leaf_from_kg_ha: float, loss_from_kg_ha: float) -> Leaf:
    """Constants of growth in mass of the groups, in the order of the last axis of the potentials.

    Parameters
    ----------
    leaf_from_kg_ha, loss_from_kg_ha : float
        Masses where leaf area stops falling and where standing loss begins. [kg/ha]

    Returns
    -------
    Leaf
        Of shape (group,).

    References
    ----------
    derived_here, forage.md 1.2 and 1.2.1
    """
    leaf = [g.extinction * g.sla_m2_g * g.lamina_frac * g.green_frac / 10 for g in groups]
    ceiling = [1 / g.ceiling_kg_ha for g in groups]
    return Leaf(np.array(leaf), np.array(ceiling), float(leaf_from_kg_ha), float(loss_from_kg_ha))


def stays_of(
    days: int, paddock: ArrayLike, mob: ArrayLike,
    start_d: ArrayLike, end_d: ArrayLike, share_eaten: ArrayLike,
) -> Stays:  # fmt: skip
    """Split visits into days, each with the share of the day that the mob stood there.

    Parameters
    ----------
    days : int
        Length of the season; what lies outside is cut off. [d]
    paddock, mob : array of int, shape (visit,)
    start_d, end_d : array, shape (visit,)
        Time of arrival and of leaving, in days from the first; hours are parts of days. [d]
    share_eaten : array, shape (visit,)
        Of what disappears, over 0. [1]

    Returns
    -------
    Stays
        The share of a day is 0 to 1. [1]

    References
    ----------
    ours: bookkeeping of hours and days, no equation of its own
    """
    start, end = np.clip(np.asarray(start_d, float), 0, days), np.clip(np.asarray(end_d, float), 0, days)
    begins = np.floor(start).astype(np.int64)
    length = np.maximum(np.ceil(end).astype(np.int64) - begins, 0)
    visit = np.repeat(np.arange(len(length)), length)
    day = np.arange(len(visit)) - np.repeat(np.cumsum(length) - length, length) + begins[visit]
    frac = np.minimum(end[visit], day + 1) - np.maximum(start[visit], day)
    order = np.flatnonzero(frac > 0)
    order = order[np.argsort(day[order], kind="stable")]
    visit = visit[order]
    first = np.searchsorted(day[order], np.arange(days + 1)).astype(np.int64)
    where, who = np.asarray(paddock, np.int64)[visit], np.asarray(mob, np.int64)[visit]
    return Stays(first, where, who, frac[order], np.asarray(share_eaten, float)[visit])


@njit(cache=True, nogil=True, inline="always")
def shaped_kg_ha_d(mass, potential, day, share, leaf):  # type: ignore[no-untyped-def]
    """Growth of a mass on a day at fertility 1.

    Parameters
    ----------
    mass : float
        [kg/ha]
    potential : array, shape (day, group)
        [kg/ha/d]
    share : array, shape (group,)
        [1]

    Returns
    -------
    float
        [kg/ha/d]

    References
    ----------
    derived_here, forage.md 1.2; agrees with `forage.growth_kg_dm_ha_d`
    """
    leafy = max(mass, leaf.leaf_from_kg_ha)
    total = 0.0
    for g in range(share.shape[0]):
        filled = mass * leaf.per_ceiling[g]
        room = 1.0 - filled * filled
        if share[g] * potential[day, g] > 0.0 and room > 0.0:
            total += share[g] * potential[day, g] * (1.0 - np.exp(-leaf.leaf_per_kg[g] * leafy)) * room
    return total


@njit(cache=True, nogil=True, inline="always")
def paddock_day(mass, wanted, floor, cut_to, typed, fertility, potential, loss_per_d, day, share, leaf):  # type: ignore[no-untyped-def]
    """One day of one paddock: graze, cut, grow.

    Parameters
    ----------
    mass : float
        At the start of the day. [kg/ha]
    wanted : float
        What the animals would take off, eaten and trodden. [kg/ha]
    floor : float
        Mass below which no animal grazes. A leave-at height is no floor. [kg/ha]
    cut_to : float
        Mass left by a hay cut; infinite without one. [kg/ha]
    typed : float
        Growth as typed, not a number without; it stands in for growth and loss both. [kg/ha/d]

    Returns
    -------
    (end, growth, loss, removed, cut) : float
        ``mass + growth - loss - removed - cut == end``. [kg/ha]

    References
    ----------
    derived_here, forage.md 1.2 and 1.2.1, planner.md 1.3 (graze, then grow)
    """
    removed = min(wanted, max(0.0, mass - floor))
    left = mass - removed
    cut = max(0.0, left - cut_to)
    left -= cut
    if np.isnan(typed):
        growth = fertility * shaped_kg_ha_d(left, potential, day, share, leaf)
        loss = loss_per_d[day] * max(0.0, left - leaf.loss_from_kg_ha)
    else:
        growth = max(typed, -left)
        loss = 0.0
    return left + growth - loss, growth, loss, removed, cut


@njit(cache=True, nogil=True)
def one_paddock(start, wanted, floor, cut_to, typed, fertility, potential, loss_per_d, share, leaf):  # type: ignore[no-untyped-def]
    """A season of one paddock for one member, by the same step as `run`.

    Parameters
    ----------
    start : float
        [kg/ha]
    wanted, cut_to, typed, loss_per_d : array, shape (day,)
        As in `paddock_day`.
    potential : array, shape (day, group)
        [kg/ha/d]

    Returns
    -------
    Season
        What was eaten is ``removed x area x share eaten``.

    References
    ----------
    derived_here, forage.md 1.2 and planner.md 1.3
    """
    days = wanted.shape[0]
    mass = np.empty(days + 1)
    growth, loss, removed, cut = np.empty(days), np.empty(days), np.empty(days), np.empty(days)
    mass[0] = start
    for d in range(days):
        mass[d + 1], growth[d], loss[d], removed[d], cut[d] = paddock_day(
            mass[d], wanted[d], floor, cut_to[d], typed[d], fertility, potential, loss_per_d, d, share, leaf
        )
    return Season(mass, growth, loss, removed, cut)


@bare
def _wanted(day, demand, paddocks, stays, wanted):  # type: ignore[no-untyped-def]
    wanted[:] = 0.0
    for e in range(stays.first[day], stays.first[day + 1]):
        p = stays.paddock[e]
        taken = demand[day, stays.mob[e]] * stays.day_frac[e] / stays.share_eaten[e]
        wanted[p] += taken / paddocks.area_ha[p]


@bare
def _share_out(day, demand, stays, wanted, removed, eaten, short):  # type: ignore[no-untyped-def]
    for e in range(stays.first[day], stays.first[day + 1]):
        p, mob = stays.paddock[e], stays.mob[e]
        need = demand[day, mob] * stays.day_frac[e]
        got = need * removed[p] / wanted[p] if wanted[p] > 0.0 else 0.0
        eaten[mob] += got
        short[mob] += need - got


@bare
def _member(member, fertility, demand, paddocks, days, stays, leaf, out, wanted):  # type: ignore[no-untyped-def]
    mass = out.mass_kg_ha[member]
    for d in range(mass.shape[0] - 1):
        _wanted(d, demand, paddocks, stays, wanted)
        for p in range(wanted.shape[0]):
            c = paddocks.curve[p]
            (
                mass[d + 1, p], out.growth_kg_ha[member, d, p], out.loss_kg_ha[member, d, p],
                out.removed_kg_ha[member, d, p], out.cut_kg_ha[member, d, p],
            ) = paddock_day(
                mass[d, p], wanted[p], paddocks.floor_kg_ha[p], days.cut_to_kg_ha[d, p],
                days.typed_kg_ha_d[d, p], fertility[member, p], days.potential_kg_ha_d[c, member],
                days.loss_per_d[c, member], d, paddocks.share[p], leaf,
            )  # fmt: skip
        removed, eaten, short = out.removed_kg_ha[member, d], out.eaten_kg[member, d], out.short_kg[member, d]
        _share_out(d, demand, stays, wanted, removed, eaten, short)


WORTH_THREADS = 100_000
"""Paddock-days of all members from which on threads save more time than starting them takes."""


@njit(cache=True, nogil=True)
def _members(first, last, fertility, demand, paddocks, days, stays, leaf, out):  # type: ignore[no-untyped-def]
    wanted = np.empty(paddocks.area_ha.shape[0])
    for member in range(first, last):
        own = member if demand.shape[0] > 1 else 0
        _member(member, fertility, demand[own], paddocks, days, stays, leaf, out, wanted)


def run(
    start_kg_ha: ArrayLike, fertility: ArrayLike, demand_kg_d: ArrayLike,
    paddocks: Paddocks, days: Days, stays: Stays, leaf: Leaf,
) -> Grazed:  # fmt: skip
    """Every paddock of every member over a season, with stays fixed.

    Parameters
    ----------
    start_kg_ha, fertility : array, shape (member, paddock)
        Mass on the first day [kg/ha] and NI [1].
    demand_kg_d : array, shape (member, day, mob), or member 1 where all share it
        What a mob would eat in a whole day. [kg/d]

    Returns
    -------
    Grazed
        Intake falls short where a paddock is down at its floor.

    References
    ----------
    derived_here, forage.md 1.2, 1.2.1 and section 5
    """
    start = np.ascontiguousarray(start_kg_ha, float)
    demand = np.ascontiguousarray(demand_kg_d, float)
    members, count = start.shape
    length, mobs = demand.shape[1:]
    mass = np.empty((members, length + 1, count))
    mass[:, 0] = start
    growth, loss, removed, cut = (np.empty((members, length, count)) for _ in range(4))
    eaten, short = (np.zeros((members, length, mobs)) for _ in range(2))
    out = Grazed(mass, growth, loss, removed, cut, eaten, short)
    own = np.ascontiguousarray(fertility, float)
    if growth.size < WORTH_THREADS:
        _members(0, members, own, demand, paddocks, days, stays, leaf, out)
        return out
    bounds = np.linspace(0, members, min(members, os.cpu_count() or 1) + 1).astype(int)

    def part(i: int) -> None:
        _members(bounds[i], bounds[i + 1], own, demand, paddocks, days, stays, leaf, out)

    with ThreadPoolExecutor(len(bounds) - 1) as pool:
        list(pool.map(part, range(len(bounds) - 1)))
    return out


def crossing_d(mass_kg_ha: ArrayLike, threshold_kg_ha: ArrayLike) -> Array:
    """When mass first stands at or below a threshold, in days and parts of days from the start.

    Parameters
    ----------
    mass_kg_ha : array, shape (..., day + 1)
        At the start of each day and the end of the last; straight in between. [kg/ha]
    threshold_kg_ha : array, shape (...)
        [kg/ha]

    Returns
    -------
    array, shape (...)
        0 where it starts there, infinite where it never comes. [d]

    References
    ----------
    derived_here, forage.md section 5 (days in paddock)
    """
    mass = np.asarray(mass_kg_ha, float)
    threshold = np.asarray(threshold_kg_ha, float)[..., None]
    below = mass <= threshold
    after = np.argmax(below, axis=-1, keepdims=True)
    before = np.maximum(after - 1, 0)
    high = np.take_along_axis(mass, before, axis=-1)
    drop = high - np.take_along_axis(mass, after, axis=-1)
    part = np.where(after > 0, (high - threshold) / np.where(drop > 0, drop, 1), 0.0)
    when = np.where(np.any(below, axis=-1, keepdims=True), before + part, np.inf)
    return np.asarray(when[..., 0])
