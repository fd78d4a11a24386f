"""What practitioners do, as plans: longest rested first, or most feed first; and all in the yard.

Enter at the height to start at and after the rest, else the yard; leave at the height to leave, at
the longest stay of any limit, or before a paddock shuts. They see the herbage of each day and do not
plan ahead, but for days on which nobody can move animals.
"""

from __future__ import annotations

import numpy as np

from browseline.moves.form import Plan, Yardstick
from browseline.moves.kernel import Field, follows_on, rest_usd
from browseline.science import grazing
from browseline.science.compiled import compiled

LONGEST_RESTED, MOST_FEED = 0, 1


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
        by_rule(rule, yardstick.bars, field, 0, len(field.mass_kg_ha), 0, place)
        plans.append(place)
    return tuple(plans)


@compiled
def next_move_day(t, can_move):  # type: ignore[no-untyped-def]
    """Return the next day after ``t`` on which animals can be moved, or the end of the days."""
    for d in range(t + 1, can_move.shape[0]):
        if can_move[d]:
            return d
    return can_move.shape[0]


@compiled
def _most_stay(m, p, bars):  # type: ignore[no-untyped-def]
    """Return the longest stay by any limit, and by hard ones. [d]"""
    most, hard = np.inf, np.inf
    for f in range(bars.over_usd_d.shape[0]):
        most = min(most, bars.longest_d[f, m, p])
        if bars.stay_hard[f]:
            hard = min(hard, bars.longest_d[f, m, p])
    return most, hard


@compiled
def _open_until(m, p, t, until, bars):  # type: ignore[no-untyped-def]
    clear = True
    for d in range(t, until):
        clear &= bars.open_[m, d, p]
    return clear


@compiled
def _target(numbers, m, p):  # type: ignore[no-untyped-def]
    most = 0.0
    for f in range(numbers.shape[0]):
        most = max(most, numbers[f, m, p])
    return most


@compiled
def _must_leave(m, p, t, until, stood, mass, bars, area):  # type: ignore[no-untyped-def]
    """Return whether the rule takes a mob out of its paddock: 0 no, 1 by grass or stay, 2 by a hard limit."""
    most, hard = _most_stay(m, p, bars)
    if not _open_until(m, p, t, until, bars) or stood + until - t > hard:
        return 2
    if stood + 1 > most:
        return 1
    taken = bars.demand_kg_d[t, m] / bars.eaten_frac[p, min(stood + 1, bars.eaten_frac.shape[1] - 1)] / area
    return 1 if mass - taken < _target(bars.leave_kg_ha, m, p) - 0.5 * taken else 0


@compiled
def _best_paddock(rule, m, t, until, here, left, mass, bars, area):  # type: ignore[no-untyped-def]
    """Return the paddock a rule takes next, or the yard."""
    count = bars.open_.shape[2]
    best, best_key = count, -np.inf
    nobody = np.zeros(here.shape[0], np.bool_)
    for p in range(count):
        taken = False
        for i in range(here.shape[0]):
            taken |= here[i] == p and not bars.together[m, i]
        if taken or here[m] == p or not _open_until(m, p, t, until, bars):
            continue
        if until - t > _most_stay(m, p, bars)[1] or mass[p] < _target(bars.enter_kg_ha, m, p):
            continue
        if rest_usd(p, m, t, left[p], nobody, bars)[0] > 0.0:
            continue
        if not follows_on(m, t, left[p], here == p, bars):
            continue
        key = (mass[p] - _target(bars.leave_kg_ha, m, p)) * area[p] if rule == 1 else t - np.max(left[p])
        if key > best_key:
            best, best_key = p, key
    return best


@compiled
def _graze_day(s, t, here, stood, bars, field, mass):  # type: ignore[no-untyped-def]
    """Run every paddock of one member over one day."""
    longest = bars.eaten_frac.shape[1] - 1
    for p in range(mass.shape[0]):
        wanted = 0.0
        for m in range(here.shape[0]):
            if here[m] == p:
                wanted += (
                    bars.demand_kg_d[t, m]
                    / bars.eaten_frac[p, min(stood[m] + 1, longest)]
                    / field.land.area_ha[p]
                )
        curve = field.land.curve[p]
        mass[p] = grazing.paddock_day(
            mass[p], wanted, field.land.floor_kg_ha[p], field.days.cut_to_kg_ha[t, p],
            field.days.typed_kg_ha_d[t, p], field.fertility[s, p], field.days.potential_kg_ha_d[curve, s],
            field.days.loss_per_d[curve, s], t, field.land.share[p], field.leaf,
        )[0]  # fmt: skip


@compiled
def _as_planned(t, place, here, stood, left):  # type: ignore[no-untyped-def]
    """Move the mobs that a plan moves on one day."""
    for m in range(here.shape[0]):
        if place[m, t] != here[m]:
            if here[m] < left.shape[0]:
                left[here[m], m] = t
            here[m], stood[m] = place[m, t], 0


@compiled
def _decide(rule, t, here, stood, left, mean, arrived, bars, area):  # type: ignore[no-untyped-def]
    """Move the mobs that a rule moves on one day; those that must go come first."""
    yard = bars.open_.shape[2]
    until = next_move_day(t, bars.can_move)
    for turn in (2, 1):
        for m in range(here.shape[0]):
            p = here[m]
            why = 1 if p == yard else _must_leave(m, p, t, until, stood[m], mean[p], bars, area[p])
            if why != turn or arrived >= bars.arrivals[t]:
                continue
            new = _best_paddock(rule, m, t, until, here, left, mean, bars, area)
            if new == p:
                continue
            if p != yard:
                left[p, m] = t
            here[m], stood[m] = new, 0
            arrived += 1


@compiled
def by_rule(rule, bars, field, first, end, kept_d, place):  # type: ignore[no-untyped-def]
    """Fill the days of a plan by a rule that looks at the mean herbage of some members each day.

    Parameters
    ----------
    rule : int
        ``LONGEST_RESTED`` or ``MOST_FEED``.
    first, end : int
        The members looked at.
    kept_d : int
        First days of the plan that stay as they are. [d]
    place : int array, shape (mob, day)
        Changed from then on.
    """
    mobs, days = place.shape
    here, stood = bars.start.copy(), bars.been_d.copy()
    left = -bars.ago_d.T.copy()
    mass = field.mass_kg_ha[first:end].copy()
    mean = np.empty(mass.shape[1])
    for t in range(days):
        for p in range(mass.shape[1]):
            mean[p] = mass[:, p].sum() / mass.shape[0]
        if t < kept_d:
            _as_planned(t, place, here, stood, left)
        elif bars.can_move[t]:
            _decide(rule, t, here, stood, left, mean, 0, bars, field.land.area_ha)
        for s in range(first, end):
            _graze_day(s, t, here, stood, bars, field, mass[s - first])
        for m in range(mobs):
            place[m, t] = here[m]
            stood[m] += 1
