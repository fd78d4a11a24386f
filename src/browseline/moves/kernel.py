"""The judge's arithmetic, compiled: what a plan costs, paddock by paddock, on the paddock-day step.

A plan is ``place``, int array (mob, day): a paddock's number, or ``len(paddocks)`` for the yard. Once
it is settled who is where, every paddock can be run alone; a change runs again only what it touches.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.moves.skipped import skipped_by_followers
from browseline.science import grazing
from browseline.science.compiled import bare, compiled, njit

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
Index = NDArray[np.int64]
TERMS = ("hay", "yard", "below", "early", "over", "rest", "moves", "walk", "cover", "job", "dear", "behind")
HAY, YARD_DAYS, BELOW, EARLY, OVER, REST, MOVES, WALK, COVER, JOB, DEAR, BEHIND = range(12)
COUNT = len(TERMS)


class Bars(NamedTuple):
    """What a plan is measured by. The first axis of stay, rest, below and enter is the limit.

    open_ (mob, day, paddock); can_move (day,); together (mob, mob); arrivals (day,) most arrivals;
    longest_d (limit, mob, paddock), over_usd_d and stay_hard (limit,); rest_d (limit, mob, mob),
    fit_from_d (limit, mob, paddock), rest_usd_d and rest_hard (limit,); leave_kg_ha and enter_kg_ha
    (limit, mob, paddock), below_usd_kg and early_usd_kg (limit,); demand_kg_d (day, mob);
    eaten_frac (paddock, whole days of stay); start, been_d and stuck_d (mob,): where each stands, how
    many days already, how many first days nobody can move it; ago_d (mob, paddock) days since it left;
    far_km (place, place); prices_usd (6,): hay a kg, yard a day, a move, a km, cover a kg,
    a day off an open job. leader (mob,) whom each follows, -1 if nobody; follow_d (mob, 3) how soon and how
    late after it, and by how much moves of later days come before now's; job (mob, day) paddock of the job
    that is open, -1 if none; work_d (mob,) days there until it is foreseen done, infinite if not known.
    own_rest_d (limit, mob, paddock) rest between two stays of the same mob. off (mob, day) days on which a
    mob is housed or gone, so that the yard is no price; dear_usd (mob, day, paddock) what a day there costs
    by limits that say so, such as heat; alike (place,) the first part of the whole that each is a part of: a
    job on the whole is done in any.
    """

    open_: Bools
    can_move: Bools
    together: Bools
    arrivals: Index
    longest_d: Array
    over_usd_d: Array
    stay_hard: Bools
    rest_d: Array
    fit_from_d: Array
    rest_usd_d: Array
    rest_hard: Bools
    leave_kg_ha: Array
    below_usd_kg: Array
    enter_kg_ha: Array
    early_usd_kg: Array
    demand_kg_d: Array
    eaten_frac: Array
    start: Index
    been_d: Index
    stuck_d: Index
    ago_d: Array
    far_km: Array
    prices_usd: Array
    leader: Index
    follow_d: Array
    job: Index
    work_d: Array
    own_rest_d: Array
    off: Bools
    dear_usd: Array
    alike: Index


class Field(NamedTuple):
    """The herbage of some members on the paddocks of a plan.

    mass_kg_ha and fertility (member, paddock); cover_kg_ha (paddock,) is the cover worth having at the
    end; the others as in `grazing.Paddocks` and `grazing.Days`.
    """

    mass_kg_ha: Array
    fertility: Array
    land: grazing.Paddocks
    days: grazing.Days
    leaf: grazing.Leaf
    cover_kg_ha: Array


@bare
def mark_runs(place, m, bars, length, starts, ends):  # type: ignore[no-untyped-def]
    """Mark the visits of one mob: whole days of each, first and last days.

    Parameters
    ----------
    place : int array, shape (mob, day)
    m : int
    length : int array, shape (mob, day)
        Filled: days of the whole visit, those already stood included. [d]
    starts, ends : bool array, shape (mob, day)
        Filled: arrival; last day there (the last day of the plan too).
    """
    days = place.shape[1]
    begin = 0
    for t in range(days):
        before = bars.start[m] if t == 0 else place[m, t - 1]
        starts[m, t] = place[m, t] != before
        if starts[m, t]:
            begin = t
        last = t == days - 1 or place[m, t + 1] != place[m, t]
        ends[m, t] = last
        if last:
            been = 0 if begin > 0 or starts[m, 0] else bars.been_d[m]
            for d in range(begin, t + 1):
                length[m, d] = t + 1 - begin + been


@bare
def rest_usd(p, m, t, left, here, bars):  # type: ignore[no-untyped-def]
    """Return days short of rest and their cost if mob ``m`` comes to ``p`` on day ``t``; infinite if barred.

    Parameters
    ----------
    left : array, shape (mob,)
        Day on which each mob last left; minus infinity if never. [d]
    here : bool array, shape (mob,)
        Which mobs stand there and stay.

    Returns
    -------
    (days, cost) : float
        [d], [USD]
    """
    days, cost = 0.0, 0.0
    for f in range(bars.rest_usd_d.shape[0]):
        missing = max(bars.fit_from_d[f, m, p] - t, bars.own_rest_d[f, m, p] - (t - left[m]))
        for i in range(left.shape[0]):
            if not (here[i] and i != m):
                missing = max(missing, bars.rest_d[f, i, m] - (t - left[i]))
        if missing > 1e-9:
            if bars.rest_hard[f]:
                return missing, np.inf
            days += missing
            cost += missing * bars.rest_usd_d[f]
    return days, cost


@njit(cache=True, nogil=True, inline="always")
def in_wake(t, left_d, stays, together, soon_d, late_d, sooner_d):  # type: ignore[no-untyped-def]
    """Return whether a mob may come behind its leader, that left on a day or stays there, as `follows_on`."""
    behind = t - left_d + (sooner_d if t == 0 else 0.0)
    return together if stays else soon_d - 1e-9 <= behind <= late_d + 1e-9


@bare
def follows_on(m, t, left, here, bars):  # type: ignore[no-untyped-def]
    """Return whether a mob may come to a paddock on a day: its leader, if any, was there just before.

    Parameters
    ----------
    left : array, shape (mob,)
        As in `rest_usd`; minus infinity if never. [d]
    here : bool array, shape (mob,)
        Which mobs stand there and stay: with its leader only one that runs with it may come.
    """
    leader = bars.leader[m]
    if leader < 0:
        return True
    soon_d, late_d, sooner_d = bars.follow_d[m]
    return in_wake(t, left[leader], here[leader], bars.together[m, leader], soon_d, late_d, sooner_d)


@bare
def over_usd(p, m, length, inside, excused, bars):  # type: ignore[no-untyped-def]
    """Return days past the longest stays and their cost; infinite where a hard one is passed by choice.

    Parameters
    ----------
    length, inside : int
        Days of the whole visit, and those of them inside the plan. [d]
    excused : bool
        Whether nobody could have moved the mob earlier.

    Returns
    -------
    (days, cost) : float
        [d], [USD]
    """
    days, cost = 0.0, 0.0
    for f in range(bars.over_usd_d.shape[0]):
        past = min(length - bars.longest_d[f, m, p], float(inside))
        if past > 1e-9:
            if bars.stay_hard[f] and not excused:
                return past, np.inf
            days += past
            cost += past * bars.over_usd_d[f]
    return days, cost


@bare
def _barred(p, t, place, bars):  # type: ignore[no-untyped-def]
    """Return whether somebody stands on a paddock who must not, on one day."""
    for m in range(place.shape[0]):
        if place[m, t] != p:
            continue
        excused = t < bars.stuck_d[m] and bars.start[m] == p
        if excused:
            continue
        if not bars.open_[m, t, p]:
            return True
        for i in range(place.shape[0]):
            if i != m and place[i, t] == p and not bars.together[m, i]:
                return True
    return False


@compiled
def calendar_usd(p, place, length, starts, ends, bars, amount, usd):  # type: ignore[no-untyped-def]
    """Cost of what the calendar alone decides on one paddock; infinite if a hard limit is broken.

    Parameters
    ----------
    amount, usd : array, shape (term,)
        Added to: days over stay and short of rest, times skipped by a follower, and their cost. [d, 1, USD]

    Returns
    -------
    float
        [USD]
    """
    mobs = place.shape[0]
    left, here, since = np.empty(mobs), np.zeros(mobs, np.bool_), np.zeros(mobs, np.int64)
    return _calendar_usd(p, place, length, starts, ends, bars, amount, usd, left, here, since)


@bare
def _calendar_usd(p, place, length, starts, ends, bars, amount, usd, left, here, since):  # type: ignore[no-untyped-def]
    """Do as `calendar_usd`, in room of its caller: three arrays, shape (mob,)."""
    mobs, days = place.shape
    for m in range(mobs):
        left[m] = -bars.ago_d[m, p]
    total = 0.0
    for t in range(days):
        for m in range(mobs):
            here[m] = place[m, t] == p and not starts[m, t]
        for m in range(mobs):
            if place[m, t] != p:
                continue
            if starts[m, t] and not follows_on(m, t, left, here, bars):
                return np.inf
            if starts[m, t]:
                since[m] = t
                short, cost = rest_usd(p, m, t, left, here, bars)
                total += cost
                amount[REST] += short
                usd[REST] += cost
            if ends[m, t]:
                inside = t + 1 - since[m]
                excused = t < bars.stuck_d[m] and bars.start[m] == p
                past, cost = over_usd(p, m, length[m, t], inside, excused, bars)
                total += cost
                amount[OVER] += past
                usd[OVER] += cost
        if total == np.inf or _barred(p, t, place, bars):
            return np.inf
        for m in range(mobs):
            if place[m, t] == p and ends[m, t]:
                left[m] = t + 1.0
    skipped = skipped_by_followers(p, place, ends, bars)
    amount[BEHIND] += skipped
    usd[BEHIND] += skipped * bars.prices_usd[1]
    return total + skipped * bars.prices_usd[1]


@bare
def mob_usd(m, place, starts, bars, amount, usd):  # type: ignore[no-untyped-def]
    """Cost of one mob but for grass: yard, hay, moves, walks, days off a job, dear days; infinite if barred.

    Parameters
    ----------
    amount, usd : array, shape (term,)
        Added to. [kg, d, 1, km; USD]

    Returns
    -------
    float
        [USD]
    """
    days = place.shape[1]
    yard = bars.open_.shape[2]
    hay, off, moves, walk, idle, worked, dear = 0.0, 0, 0, 0.0, 0, 0, 0.0
    for t in range(days):
        if bars.job[m, t] >= 0 and worked < bars.work_d[m]:
            works = bars.job[m, t] == bars.alike[place[m, t]]
            idle += not works
            worked += works
        if place[m, t] == yard:
            off += not bars.off[m, t]
            hay += bars.demand_kg_d[t, m]
        elif bars.dear_usd[m, t, place[m, t]] > 0.0:
            dear += bars.dear_usd[m, t, place[m, t]]
            amount[DEAR] += 1.0
        if starts[m, t]:
            if not bars.can_move[t]:
                return np.inf
            moves += 1
            walk += bars.far_km[bars.start[m] if t == 0 else place[m, t - 1], place[m, t]]
    price = bars.prices_usd
    amount[HAY] += hay
    amount[YARD_DAYS] += off
    amount[MOVES] += moves
    amount[WALK] += walk
    amount[JOB] += idle
    usd[HAY] += hay * price[0]
    usd[YARD_DAYS] += off * price[1]
    usd[MOVES] += moves * price[2]
    usd[WALK] += walk * price[3]
    usd[JOB] += idle * price[5]
    usd[DEAR] += dear
    return hay * price[0] + off * price[1] + moves * price[2] + walk * price[3] + idle * price[5] + dear


@bare
def too_many_arrivals(starts, bars):  # type: ignore[no-untyped-def]
    """Return whether a day has more arrivals than people can make."""
    for t in range(starts.shape[1]):
        count = 0
        for m in range(starts.shape[0]):
            count += starts[m, t]
        if count > bars.arrivals[t]:
            return True
    return False


@bare
def _early_kg(p, t, mass, place, starts, bars, area):  # type: ignore[no-untyped-def]
    """Herbage short of the height to start where somebody comes, and its cost; once for all who come."""
    kg, cost = 0.0, 0.0
    for f in range(bars.early_usd_kg.shape[0]):
        short = 0.0
        for m in range(place.shape[0]):
            if place[m, t] == p and starts[m, t]:
                short = max(short, (bars.enter_kg_ha[f, m, p] - mass) * area)
        kg += short
        cost += short * bars.early_usd_kg[f]
    return kg, cost


@bare
def _below_kg(p, t, left, place, bars, area):  # type: ignore[no-untyped-def]
    """Herbage short of the height to leave on the evening of a grazed day, and its cost; once for all there.

    Every evening counts, not the last of a visit alone: else a paddock stripped over a week costs what
    one bite too many costs, and stripping is cheaper than hay.
    """
    kg, cost = 0.0, 0.0
    for f in range(bars.below_usd_kg.shape[0]):
        short = 0.0
        for m in range(place.shape[0]):
            if place[m, t] == p:
                short = max(short, (bars.leave_kg_ha[f, m, p] - left) * area)
        kg += short
        cost += short * bars.below_usd_kg[f]
    return kg, cost


@bare
def run_paddock(p, s, first, place, length, starts, bars, field, mass, cost, amount, usd):  # type: ignore[no-untyped-def]
    """Run one paddock for one member from a day on, by the same step as `grazing.run`.

    Parameters
    ----------
    first : int
        ``mass[first]`` and ``cost[first]`` are given. [d]
    mass, cost : array, shape (day + 1,)
        Filled: herbage at the start of each day and cost so far. [kg/ha, USD]
    amount, usd : array, shape (term,)
        Added to: hay for what was short, herbage left short and entered early, cover short at the end.

    Returns
    -------
    float
        Cost of the whole season. [USD]
    """
    days = place.shape[1]
    area, curve = field.land.area_ha[p], field.land.curve[p]
    potential, loss = field.days.potential_kg_ha_d[curve, s], field.days.loss_per_d[curve, s]
    share, floor, fertility = field.land.share[p], field.land.floor_kg_ha[p], field.fertility[s, p]
    longest = bars.eaten_frac.shape[1] - 1
    price = bars.prices_usd
    hay, below, below_usd, early, early_usd = 0.0, 0.0, 0.0, 0.0, 0.0
    for t in range(first, days):
        wanted, need = 0.0, 0.0
        for m in range(place.shape[0]):
            if place[m, t] == p:
                need += bars.demand_kg_d[t, m]
                wanted += bars.demand_kg_d[t, m] / bars.eaten_frac[p, min(length[m, t], longest)] / area
        end, _, _, removed, cut = grazing.paddock_day(
            mass[t], wanted, floor, field.days.cut_to_kg_ha[t, p], field.days.typed_kg_ha_d[t, p],
            fertility, potential, loss, t, share, field.leaf,
        )  # fmt: skip
        today = 0.0
        if need > 0.0:
            unmet = need * (1.0 - removed / wanted)
            hay += unmet
            kg, dear = _early_kg(p, t, mass[t], place, starts, bars, area)
            early, early_usd = early + kg, early_usd + dear
            kg, cheap = _below_kg(p, t, mass[t] - removed - cut, place, bars, area)
            below, below_usd = below + kg, below_usd + cheap
            today = unmet * price[0] + dear + cheap
        mass[t + 1] = end
        cost[t + 1] = cost[t] + today
    cover = max(0.0, field.cover_kg_ha[p] - mass[days]) * area
    amount[HAY] += hay
    amount[BELOW] += below
    amount[EARLY] += early
    amount[COVER] += cover
    usd[HAY] += hay * price[0]
    usd[BELOW] += below_usd
    usd[EARLY] += early_usd
    usd[COVER] += cover * price[4]
    return cost[days] + cover * price[4]


@compiled
def whole_plan(place, bars, field, mass, amount, usd):  # type: ignore[no-untyped-def]
    """Judge a whole plan over the members of a field.

    Parameters
    ----------
    place : int array, shape (mob, day)
    mass : array, shape (paddock, member, day + 1)
        Filled. [kg/ha]
    amount, usd : array, shape (member, term)
        Filled: in the term's own unit, and its cost. [kg, d, 1, km; USD]

    Returns
    -------
    bool
        Whether every hard limit is kept.
    """
    mobs, days = place.shape
    length = np.zeros((mobs, days), np.int64)
    starts, ends = np.zeros((mobs, days), np.bool_), np.zeros((mobs, days), np.bool_)
    one, one_usd, first = np.zeros(COUNT), np.zeros(COUNT), np.int64(0)
    kept = True
    for m in range(mobs):
        mark_runs(place, m, bars, length, starts, ends)
        kept &= mob_usd(m, place, starts, bars, one, one_usd) < np.inf
    kept &= not too_many_arrivals(starts, bars)
    cost = np.zeros(days + 1)
    for p in range(mass.shape[0]):
        kept &= calendar_usd(p, place, length, starts, ends, bars, one, one_usd) < np.inf
    for s in range(field.mass_kg_ha.shape[0]):
        amount[s] = one
        usd[s] = one_usd
        for p in range(mass.shape[0]):
            mass[p, s, 0] = field.mass_kg_ha[s, p]
            run_paddock(p, s, first, place, length, starts, bars, field, mass[p, s], cost, amount[s], usd[s])
    return kept
