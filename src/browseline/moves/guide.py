"""What a day of grazing is worth, and what each paddock is worth from a day on: a guide for the search.

The mean herbage of the members is put on a grid of masses. For every paddock, mob, day, length of visit
and mass the cost and the herbage left are tabled; prices per mob and day are then found at which the
paddocks, each for itself, would just offer what the mobs ask for. Only the search looks at this: every
figure that is shown comes from the judge.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline.moves.kernel import Bars, Field
from browseline.science import grazing
from browseline.science.compiled import compiled

Array = NDArray[np.float64]
LENGTHS = np.array([1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 21], np.int64)
GRID = 40


class Guide(NamedTuple):
    """Tables of the guide; masses count in steps of the grid.

    step_kg_ha; net (paddock, day, mass) growth of a day; cost (paddock, mob, day, length, mass) [USD],
    infinite where a visit cannot be; after (same) mass at its end; rested (paddock, mob, day + 1, mass)
    mass once the least rest after that mob is over; rest_d (mob,) that rest; start (paddock,) mass now;
    prices (mob, day) [USD/d]; value (paddock, day + 1, mass) [USD] of a rested paddock.
    """

    step_kg_ha: float
    net: Array
    cost: NDArray[np.float32]
    after: NDArray[np.float32]
    rested: NDArray[np.float32]
    rest_d: NDArray[np.int64]
    start: Array
    prices: Array
    value: Array


def guide_of(bars: Bars, field: Field, start_kg_ha: Array, steps: int) -> Guide:
    """Return the guide of a scene.

    Parameters
    ----------
    start_kg_ha : array, shape (paddock,)
        Mass that the guide takes to stand now. [kg DM/ha]
    steps : int
        Of the search for prices.
    """
    mobs, days, paddocks = bars.open_.shape
    top = max(float(start_kg_ha.max(initial=0.0)), float((1 / field.leaf.per_ceiling).max()))
    step = top / (GRID - 1)
    net = mean_growth(field, np.arange(GRID, dtype=float) * step) / step
    shape = (paddocks, mobs, days, len(LENGTHS), GRID)
    cost, after = np.empty(shape, np.float32), np.empty(shape, np.float32)
    _visits(bars, field, net, step, LENGTHS, cost, after)
    least = bars.rest_d.max(axis=0).min(axis=1) if len(bars.rest_d) else np.zeros(mobs)
    rest_d = np.clip(np.ceil(least), 1, max(days, 1)).astype(np.int64)
    rested = np.empty((paddocks, mobs, days + 1, GRID), np.float32)
    _rested(net, step, rest_d, rested)
    most = bars.demand_kg_d.T * bars.prices_usd[0] + bars.prices_usd[1]
    prices, value = _prices(bars, field, cost, after, rested, rest_d, start_kg_ha / step, step, net, LENGTHS,
                            np.ascontiguousarray(most), steps)  # fmt: skip
    return Guide(step, net, cost, after, rested, rest_d, start_kg_ha / step, prices, value)


def mean_growth(field: Field, mass_kg_ha: Array) -> Array:
    """Return the mean growth less loss over members at some masses.

    Parameters
    ----------
    mass_kg_ha : array, shape (mass,)
        Evenly spaced. [kg DM/ha]

    Returns
    -------
    array, shape (paddock, day, mass)
        [kg DM/ha/d]
    """
    count, days = len(field.land.area_ha), field.days.typed_kg_ha_d.shape[0]
    net = np.empty((count, days, len(mass_kg_ha)))
    _net_at(field, mass_kg_ha, net)
    return net


@compiled
def _net_at(field, mass, net):  # type: ignore[no-untyped-def]
    """Fill the mean growth less loss of each paddock, day and mass. [kg/ha/d]"""
    paddocks, days, grid = net.shape
    members = field.mass_kg_ha.shape[0]
    for k in range(paddocks * days):
        p, t = k // days, k % days
        c = field.land.curve[p]
        for j in range(grid):
            total = 0.0
            for s in range(members):
                total += grazing.paddock_day(
                    mass[j], 0.0, 0.0, np.inf, field.days.typed_kg_ha_d[t, p], field.fertility[s, p],
                    field.days.potential_kg_ha_d[c, s], field.days.loss_per_d[c, s], t, field.land.share[p],
                    field.leaf,
                )[0] - mass[j]  # fmt: skip
            net[p, t, j] = total / members


@compiled
def on_grid(row, x):  # type: ignore[no-untyped-def]
    """Return a row of the grid at a mass in steps, straight in between, flat outside."""
    last = row.shape[0] - 1
    if x <= 0.0:
        return row[0]
    if x >= last:
        return row[last]
    i = int(x)
    return row[i] + (x - i) * (row[i + 1] - row[i])


@compiled
def visit(p, m, t, days, stood, x, bars, net, step, area, floor):  # type: ignore[no-untyped-def]
    """Return the cost of a visit on the guide's herbage, what enters and stays aside, and the mass left.

    Parameters
    ----------
    days, stood : int
        Of the visit; and those that the mob stood there before. [d]
    x : float
        Mass at arrival, in steps of the grid. [1]

    Returns
    -------
    (cost, after) : float
        Hay and herbage left short [USD]; mass in steps.
    """
    share = bars.eaten_frac[p, min(days + stood, bars.eaten_frac.shape[1] - 1)]
    hay, left, cost = 0.0, x, 0.0
    for d in range(t, t + days):
        demand = bars.demand_kg_d[d, m]
        wanted = demand / share / area / step
        removed = min(wanted, max(0.0, x - floor / step))
        if wanted > 0.0:
            hay += demand * (1.0 - removed / wanted)
        left = x - removed
        for f in range(bars.below_usd_kg.shape[0]):
            cost += max(0.0, bars.leave_kg_ha[f, m, p] - left * step) * area * bars.below_usd_kg[f]
        x = left + on_grid(net[p, d], left)
    return cost + hay * bars.prices_usd[0], x


@compiled
def _over(p, m, days, bars):  # type: ignore[no-untyped-def]
    cost = 0.0
    for f in range(bars.over_usd_d.shape[0]):
        past = days - bars.longest_d[f, m, p]
        if past > 1e-9:
            if bars.stay_hard[f]:
                return np.inf
            cost += past * bars.over_usd_d[f]
    return cost


@compiled
def _early(p, m, mass, area, bars):  # type: ignore[no-untyped-def]
    cost = 0.0
    for f in range(bars.early_usd_kg.shape[0]):
        cost += max(0.0, bars.enter_kg_ha[f, m, p] - mass) * area * bars.early_usd_kg[f]
    return cost


@compiled
def _visits(bars, field, net, step, lengths, cost, after):  # type: ignore[no-untyped-def]
    """Fill cost and mass after of every visit that hard limits allow."""
    paddocks, mobs, days = cost.shape[:3]
    cost[:], after[:] = np.inf, 0.0
    for k in range(paddocks * mobs * days):
        p, m, t = k // (mobs * days), k // days % mobs, k % days
        if not bars.can_move[t]:
            continue
        area, floor = field.land.area_ha[p], field.land.floor_kg_ha[p]
        clear = _clear_days(m, p, t, bars)
        for i in range(lengths.shape[0]):
            n = lengths[i]
            over = _over(p, m, n, bars)
            if n > clear or over == np.inf or (t + n < days and not bars.can_move[t + n]):
                continue
            for j in range(cost.shape[4]):
                usd, end = visit(p, m, t, n, np.int64(0), float(j), bars, net, step, area, floor)
                usd += over + bars.prices_usd[2] + _early(p, m, j * step, area, bars)
                cost[p, m, t, i, j], after[p, m, t, i, j] = usd, end


@compiled
def _clear_days(m, p, t, bars):  # type: ignore[no-untyped-def]
    """Return for how many days from a day on a paddock is open to a mob."""
    clear, days = 0, bars.can_move.shape[0]
    while t + clear < days and bars.open_[m, t + clear, p]:
        clear += 1
    return clear


@compiled
def grown(p, t, until, x, net):  # type: ignore[no-untyped-def]
    """Return the mass of a resting paddock on a later day, in steps of the grid."""
    for d in range(t, until):
        x += on_grid(net[p, d], x)
    return x


@compiled
def _rested(net, step, rest_d, rested):  # type: ignore[no-untyped-def]
    paddocks, mobs, ends, grid = rested.shape
    for k in range(paddocks * mobs * ends):
        p, m, t = k // (mobs * ends), k // ends % mobs, k % ends
        for j in range(grid):
            rested[p, m, t, j] = grown(p, t, min(t + rest_d[m], ends - 1), float(j), net)


@compiled
def _best_visit(p, t, x, cost, after, rested, rest_d, prices_to, lengths, value):  # type: ignore[no-untyped-def]
    """Return what the best visit that begins on a day brings, by which mob and how long."""
    best, mob, which = -np.inf, -1, -1
    ends = value.shape[0] - 1
    for m in range(prices_to.shape[0]):
        for i in range(lengths.shape[0]):
            end = t + lengths[i]
            if end > ends or cost[p, m, t, i, 0] == np.inf:
                continue
            after_x = on_grid(after[p, m, t, i], x)
            worth = prices_to[m, t] - prices_to[m, end] - on_grid(cost[p, m, t, i], x)
            worth += on_grid(value[min(end + rest_d[m], ends)], on_grid(rested[p, m, end], after_x))
            if worth > best:
                best, mob, which = worth, m, i
    return best, mob, which


@compiled
def _value(p, cost, after, rested, rest_d, prices_to, lengths, net, cover_usd, value):  # type: ignore[no-untyped-def]
    """Fill what a rested paddock is worth on each day and mass, from the last day back."""
    days, grid = value.shape[0] - 1, value.shape[1]
    value[days] = -cover_usd
    for t in range(days - 1, -1, -1):
        for j in range(grid):
            wait = on_grid(value[t + 1], j + net[p, t, j])
            best, _, _ = _best_visit(p, t, float(j), cost, after, rested, rest_d, prices_to, lengths, value)
            value[t, j] = max(wait, best)


@compiled
def _offered(p, x, first, cost, after, rested, rest_d, prices_to, lengths, net, value, offer):  # type: ignore[no-untyped-def]
    """Add to ``offer`` the mob-days that a paddock would take at these prices."""
    t, days = first, value.shape[0] - 1
    while t < days:
        wait = on_grid(value[t + 1], x + on_grid(net[p, t], x))
        best, m, i = _best_visit(p, t, x, cost, after, rested, rest_d, prices_to, lengths, value)
        if best <= wait:
            x += on_grid(net[p, t], x)
            t += 1
            continue
        end = t + lengths[i]
        offer[m, t:end] += 1.0
        x = on_grid(rested[p, m, end], on_grid(after[p, m, t, i], x))
        t = min(end + rest_d[m], days)


@compiled
def _first_rested(p, bars, days):  # type: ignore[no-untyped-def]
    """Return the first day on which a paddock is rested for some mob after what went before. [d]"""
    best = float(days)
    for m in range(bars.rest_d.shape[1]):
        need = 0.0
        for f in range(bars.rest_d.shape[0]):
            need = max(need, bars.fit_from_d[f, m, p])
            for i in range(bars.rest_d.shape[1]):
                need = max(need, bars.rest_d[f, i, m] - bars.ago_d[i, p])
        best = min(best, need)
    return int(np.ceil(max(best, 0.0)))


@compiled
def _prices(bars, field, cost, after, rested, rest_d, start, step, net, lengths, most, steps):  # type: ignore[no-untyped-def]
    """Return prices at which offer meets need, and the paddocks' worth at them.

    References
    ----------
    derived_here, planner.md 1.5: prices per mob-day, momentum steps that shrink
    """
    paddocks, mobs, days = cost.shape[:3]
    grid = cost.shape[4]
    value = np.zeros((paddocks, days + 1, grid))
    prices = most * 0.3
    push, mean, counted = np.zeros((mobs, days)), np.zeros((mobs, days)), 0
    prices_to, cover = np.zeros((mobs, days + 1)), np.empty(grid)
    for k in range(steps + 1):
        if k == steps and counted > 0:
            prices = mean / counted
        for m in range(mobs):
            for t in range(days - 1, -1, -1):
                prices_to[m, t] = prices_to[m, t + 1] + prices[m, t]
        offer = np.zeros((mobs, days))
        for p in range(paddocks):
            for j in range(grid):
                short = max(0.0, field.cover_kg_ha[p] - j * step)
                cover[j] = short * field.land.area_ha[p] * bars.prices_usd[4]
            _value(p, cost, after, rested, rest_d, prices_to, lengths, net, cover, value[p])
            first = min(_first_rested(p, bars, days), days)
            x = grown(p, np.int64(0), first, start[p], net)
            _offered(p, x, first, cost, after, rested, rest_d, prices_to, lengths, net, value[p], offer)
        if k == steps:
            break
        size = 0.3 * (0.03 ** (k / steps))
        push = 0.8 * push + 0.2 * (1.0 - offer)
        prices = np.minimum(np.maximum(prices + size * most * push, 0.0), most)
        if k >= 2 * steps // 3:
            mean += prices
            counted += 1
    return prices, value
