"""What practitioners do, as plans: longest rested first, or most feed first; and all in the yard.

Enter at the height to start at and after the rest, else the yard; leave at the height to leave, at
the longest stay of any limit, or before a paddock shuts. They see the herbage of each day and do not
plan ahead, but for days on which nobody can move animals.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from browseline.moves.form import Plan, Yardstick
from browseline.moves.kernel import Array, Bools, Field, Index, in_wake
from browseline.science import grazing
from browseline.science.compiled import bare, compiled, njit

LONGEST_RESTED, MOST_FEED = 0, 1
REST_TOLERANCE_D = 1e-9


def all_yard(yardstick: Yardstick) -> Plan:
    """Return the plan that is always possible: everybody to the yard as soon as they can be moved."""
    bars = yardstick.bars
    place = np.full((len(yardstick.mobs), len(yardstick.days)), yardstick.yard, np.int64)
    for m, stuck in enumerate(bars.stuck_d):
        place[m, :stuck] = bars.start[m]
    return place


def rule_plans(yardstick: Yardstick, field: Field) -> tuple[Plan, ...]:
    """Return the plans of the practitioners' rules, the longest rested first before the most feed first.

    Parameters
    ----------
    field : Field
        The members whose mean the rules look at.
    """
    plans = []
    for rule in (LONGEST_RESTED, MOST_FEED):
        place = all_yard(yardstick)
        by_rule(rule, yardstick.bars, eye_of(yardstick.bars), field, 0, len(field.mass_kg_ha), 0, place)
        plans.append(place)
    return tuple(plans)


@bare
def next_move_day(t, can_move):  # type: ignore[no-untyped-def]
    """Return the next day after ``t`` on which animals can be moved, or the end of the days."""
    for d in range(t + 1, can_move.shape[0]):
        if can_move[d]:
            return d
    return can_move.shape[0]


class Eye(NamedTuple):
    """What a rule looks at beside herbage: of all limits the one that binds.

    until (day,) the next day on which animals can be moved; clear (mob, day, paddock) open until then;
    most_d and hard_d (mob, paddock) the longest stay by any limit and by hard ones; leave_kg_ha and
    enter_kg_ha (mob, paddock); from_d and own_d (mob, paddock) first day that is fit, and rest between two
    stays of the same mob; rest_d (mob, mob) rest of a paddock after the first of them before the second.
    """

    until: Index
    clear: Bools
    most_d: Array
    hard_d: Array
    leave_kg_ha: Array
    enter_kg_ha: Array
    from_d: Array
    own_d: Array
    rest_d: Array


@compiled
def _highest(numbers, least, out):  # type: ignore[no-untyped-def]
    """Fill the highest of the limits and of a least, shape (mob, paddock or mob)."""
    out[:] = least
    for f in range(numbers.shape[0]):
        for i in range(out.shape[0]):
            for k in range(out.shape[1]):
                out[i, k] = max(out[i, k], numbers[f, i, k])
    return out


@compiled
def eye_of(bars):  # type: ignore[no-untyped-def]
    """Return what a rule looks at beside herbage, as an ``Eye``."""
    mobs, days, count = bars.open_.shape
    until, clear = np.zeros(days, np.int64), bars.open_.copy()
    for t in range(days - 1, -1, -1):
        until[t] = next_move_day(t, bars.can_move)
        if t + 1 < until[t]:
            clear[:, t] &= clear[:, t + 1]
    shape, hard, never = (mobs, count), np.full((mobs, count), np.inf), -np.inf
    for f in range(bars.stay_hard.shape[0]):
        if bars.stay_hard[f]:
            hard = np.minimum(hard, bars.longest_d[f])
    return Eye(
        until,
        clear,
        -_highest(-bars.longest_d, never, np.empty(shape)),
        hard,
        _highest(bars.leave_kg_ha, 0.0, np.empty(shape)),
        _highest(bars.enter_kg_ha, 0.0, np.empty(shape)),
        _highest(bars.fit_from_d, never, np.empty(shape)),
        _highest(bars.own_rest_d, never, np.empty(shape)),
        _highest(bars.rest_d, never, np.empty((mobs, mobs))),
    )


@bare
def _must_leave(m, p, t, stood, mass, bars, eye, area):  # type: ignore[no-untyped-def]
    """Return whether the rule takes a mob out of its paddock: 0 no, 1 by grass or stay, 2 by a hard limit."""
    if not eye.clear[m, t, p] or stood + eye.until[t] - t > eye.hard_d[m, p]:
        return 2
    if stood + 1 > eye.most_d[m, p]:
        return 1
    taken = bars.demand_kg_d[t, m] / bars.eaten_frac[p, min(stood + 1, bars.eaten_frac.shape[1] - 1)] / area
    return 1 if mass - taken < eye.leave_kg_ha[m, p] - 0.5 * taken else 0


class Sward(NamedTuple):
    """What a rule sees of the herbage: who grazed where, and each paddock run up to the day it was looked at.

    place and length (mob, day) where each mob stood on the days before, and on which day of its stay;
    mass_kg_ha (member, paddock) on the morning of the day upto (paddock,), and mean_kg_ha (paddock,) of those
    that are marked (paddock,); first the first member in the arrays of the field and of the bars, which are
    here by themselves because a loop pays for each table it goes through.
    """

    place: Index
    length: Index
    mass_kg_ha: Array
    upto: Index
    marked: Bools
    mean_kg_ha: Array
    first: int
    fertility: Array
    area_ha: Array
    curve: Index
    share: Array
    floor_kg_ha: Array
    cut_to_kg_ha: Array
    typed_kg_ha_d: Array
    potential_kg_ha_d: Array
    loss_per_d: Array
    leaf: grazing.Leaf
    demand_kg_d: Array
    eaten_frac: Array


@compiled
def _sward_of(place, bars, field, first, end):  # type: ignore[no-untyped-def]
    land, days, mass = field.land, field.days, field.mass_kg_ha[first:end].copy()
    count, length = mass.shape[1], np.zeros(place.shape, np.int64)
    return Sward(
        place, length, mass, np.zeros(count, np.int64), np.zeros(count, np.bool_), np.zeros(count), first,
        field.fertility, land.area_ha, land.curve, land.share, land.floor_kg_ha, days.cut_to_kg_ha,
        days.typed_kg_ha_d, days.potential_kg_ha_d, days.loss_per_d, field.leaf, bars.demand_kg_d,
        bars.eaten_frac,
    )  # fmt: skip


@njit(cache=True, nogil=True, inline="always")
def _wanted_kg_ha(p, d, place, length, demand, eaten, area):  # type: ignore[no-untyped-def]
    """Return what those who stand on a paddock on a day take off it, eaten and trodden. [kg/ha]"""
    wanted = 0.0
    for m in range(place.shape[0]):
        if place[m, d] == p:
            wanted += demand[d, m] / eaten[p, min(length[m, d], eaten.shape[1] - 1)] / area
    return wanted


@bare
def _look(t, sward):  # type: ignore[no-untyped-def]
    """Fill the mean herbage of the marked paddocks on the morning of a day, running each up to it."""
    mass, upto, marked, mean = sward.mass_kg_ha, sward.upto, sward.marked, sward.mean_kg_ha
    place, length, demand, eaten = sward.place, sward.length, sward.demand_kg_d, sward.eaten_frac
    cut_to, typed, areas, leaf = sward.cut_to_kg_ha, sward.typed_kg_ha_d, sward.area_ha, sward.leaf
    shares, floors, curves, fertility = sward.share, sward.floor_kg_ha, sward.curve, sward.fertility
    potentials, losses, first = sward.potential_kg_ha_d, sward.loss_per_d, sward.first
    for p in range(mass.shape[1]):
        if not marked[p]:
            continue
        area, curve, share, floor, total = areas[p], curves[p], shares[p], floors[p], 0.0
        for i in range(mass.shape[0]):
            s, stands = first + i, mass[i, p]
            potential, loss = potentials[curve, s], losses[curve, s]
            for d in range(upto[p], t):
                wanted = _wanted_kg_ha(p, d, place, length, demand, eaten, area)
                stands = grazing.paddock_day(
                    stands, wanted, floor, cut_to[d, p], typed[d, p], fertility[s, p],
                    potential, loss, d, share, leaf,
                )[0]  # fmt: skip
            mass[i, p] = stands
            total += stands
        upto[p] = t
        mean[p] = total / mass.shape[0]


@bare
def _best_paddock(rule, m, t, here, left, bars, eye, sward):  # type: ignore[no-untyped-def]
    """Return the paddock a rule takes next, or the yard; herbage is looked at last, where all else fits."""
    clear, hard_d, from_d, own_d, rest_d = eye.clear, eye.hard_d, eye.from_d, eye.own_d, eye.rest_d
    leave, enter, areas = eye.leave_kg_ha, eye.enter_kg_ha, sward.area_ha
    marked, mean, leader, together = sward.marked, sward.mean_kg_ha, bars.leader[m], bars.together
    soon_d, late_d, sooner_d = bars.follow_d[m]
    best, best_key, until = mean.shape[0], -np.inf, eye.until[t]
    for p in range(mean.shape[0]):
        fits = here[m] != p and clear[m, t, p] and until - t <= hard_d[m, p]
        fits &= max(from_d[m, p] - t, own_d[m, p] - (t - left[p, m])) <= REST_TOLERANCE_D
        for i in range(here.shape[0]):
            fits &= here[i] != p or together[m, i]
            fits &= rest_d[i, m] - (t - left[p, i]) <= REST_TOLERANCE_D
        if leader >= 0:
            stays, runs = here[leader] == p, together[m, leader]
            fits &= in_wake(t, left[p, leader], stays, runs, soon_d, late_d, sooner_d)
        marked[p] = fits
    _look(t, sward)
    for p in range(mean.shape[0]):
        if not marked[p] or mean[p] < enter[m, p]:
            continue
        key = (mean[p] - leave[m, p]) * areas[p]
        if rule == LONGEST_RESTED:
            key = np.inf
            for i in range(here.shape[0]):
                key = min(key, t - left[p, i])
        if key > best_key:
            best, best_key = p, key
    return best


@bare
def _as_planned(t, place, here, stood, left):  # type: ignore[no-untyped-def]
    """Move the mobs that a plan moves on one day."""
    for m in range(here.shape[0]):
        if place[m, t] != here[m]:
            if here[m] < left.shape[0]:
                left[here[m], m] = t
            here[m], stood[m] = place[m, t], 0


@bare
def _decide(rule, t, here, stood, left, bars, eye, sward):  # type: ignore[no-untyped-def]
    """Move the mobs that a rule moves on one day; those that must go come first."""
    yard, arrived = bars.open_.shape[2], 0
    sward.marked[:] = False
    for m in range(here.shape[0]):
        if here[m] != yard:
            sward.marked[here[m]] = True
    _look(t, sward)
    for turn in (2, 1):
        for m in range(here.shape[0]):
            why = 1
            if here[m] != yard:
                stands, area = sward.mean_kg_ha[here[m]], sward.area_ha[here[m]]
                why = _must_leave(m, here[m], t, stood[m], stands, bars, eye, area)
            if why != turn or arrived >= bars.arrivals[t]:
                continue
            new = _best_paddock(rule, m, t, here, left, bars, eye, sward)
            if new == here[m]:
                continue
            if here[m] != yard:
                left[here[m], m] = t
            here[m], stood[m] = new, 0
            arrived += 1


@compiled
def by_rule(rule, bars, eye, field, first, end, kept_d, place):  # type: ignore[no-untyped-def]
    """Fill the days of a plan by a rule that looks at the mean herbage of some members each day.

    Parameters
    ----------
    rule : int
        ``LONGEST_RESTED`` or ``MOST_FEED``.
    eye : Eye
        Of ``eye_of``.
    first, end : int
        The members looked at.
    kept_d : int
        First days of the plan that stay as they are. [d]
    place : int array, shape (mob, day)
        Changed from then on.
    """
    here, stood = bars.start.copy(), bars.been_d.copy()
    left = -bars.ago_d.T.copy()
    _play(rule, bars, eye, _sward_of(place, bars, field, first, end), kept_d, place, here, stood, left)


@bare
def _play(rule, bars, eye, sward, kept_d, place, here, stood, left):  # type: ignore[no-untyped-def]
    """Do as `by_rule`, from where each mob stands and when each paddock was left."""
    mobs, days = place.shape
    for t in range(days):
        if t < kept_d:
            _as_planned(t, place, here, stood, left)
        elif bars.can_move[t]:
            _decide(rule, t, here, stood, left, bars, eye, sward)
        for m in range(mobs):
            place[m, t] = here[m]
            stood[m] += 1
            sward.length[m, t] = stood[m]
