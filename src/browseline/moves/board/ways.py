"""Where a mob is, as prices: leaving a place earns what coming to the next costs, so that walks add up.

With a price for leaving each place on each day, an arrival costs the least of walk and price over the places
it may come from. No walk costs less than its arrival and leaving together, whatever the prices, so that with
any of them the paddocks and the yard can be asked each for itself.

References
----------
derived_here, planner.md 1.5
"""

from __future__ import annotations

import numpy as np

from browseline.moves.board.fast import folded, stepped


@folded
def comings(b, leave, usd, out_of, first_day, end_day):  # type: ignore[no-untyped-def]
    """Fill what an arrival costs at the prices of leaving, and from where it then comes.

    Parameters
    ----------
    leave : array, shape (mob, day + 1, place)
        Price of leaving a place on a day. [USD]
    usd, out_of : array and int array, shape (mob, day, place)
        Filled on days of moving: walk, price and move [USD]; and the place. On the first day each comes from
        where it stands.
    first_day, end_day : int
        Days to fill, the last one excluded.
    """
    mobs, _, places = usd.shape
    for m in range(mobs):
        for day in range(first_day, end_day):
            if not b.can_move[day]:
                continue
            usd[m, day], out_of[m, day] = np.inf, b.start[m]
            first, end = (0, places) if day > 0 else (b.start[m], b.start[m] + 1)
            for p in range(first, end):
                _out_of(b, p, leave[m, day, p], usd[m, day], out_of[m, day])
            if day == 0:
                usd[m, day, b.start[m]] = 0.0


@folded
def _out_of(b, p, leave, usd, out_of):  # type: ignore[no-untyped-def]
    """Let a place be the one that arrivals come from where it is the nearest so far."""
    for q in range(usd.shape[0]):
        c = b.prices.move + b.prices.km * b.far_km[p, q] + leave
        nearer = p != q and c < usd[q]
        usd[q] = c if nearer else usd[q]
        out_of[q] = p if nearer else out_of[q]


@folded
def _yard_day(b, m, day, price):  # type: ignore[no-untyped-def]
    return b.prices.yard_d + b.prices.hay * b.demand_kg_d[m, day] - price[m, day]


@stepped
def in_yard(b, m, price, arrival, come, leave, offered, came, arrived, gone):  # type: ignore[no-untyped-def]
    """Return what a mob's days in the yard cost at the prices, at the least, and add them to what is offered.

    Parameters
    ----------
    price : array, shape (mob, day)
        Of a mob-day. [USD]
    arrival : array, shape (day,)
        Price of an arrival. [USD]
    come, leave : array, shape (mob, day, place), (mob, day + 1, place)
        As in `comings`.
    offered, came : array, shape (mob, day), (day,)
        Days and arrivals are added.
    arrived, gone : array, shape (mob, day + 1, place)
        Who comes and leaves when and where: added.
    """
    days, yard = b.can_move.shape[0], b.area_ha.shape[0]
    inside, outside = np.zeros(days + 1), np.zeros(days + 1)
    for day in range(days - 1, -1, -1):
        stay = _yard_day(b, m, day, price) + inside[day + 1]
        inside[day], outside[day] = stay, outside[day + 1]
        if b.can_move[day]:
            inside[day] = min(stay, outside[day + 1] - (leave[m, day, yard] if day > 0 else 0.0))
            outside[day] = min(outside[day], come[m, day, yard] + arrival[day] + stay)
    here = b.start[m] == yard
    value = inside[0] if here else outside[0]
    for day in range(days):
        if here and inside[day] < _yard_day(b, m, day, price) + inside[day + 1]:
            here = False
            gone[m, day, yard] += 1.0
        elif not here and outside[day] < outside[day + 1]:
            here = True
            came[day] += 1.0
            arrived[m, day, yard] += 1.0
        if here:
            offered[m, day] += 1.0
    return value


@stepped
def missing(arrived, gone, out_of):  # type: ignore[no-untyped-def]
    """Return by how many more come out of each place than leave it, shape (mob, day + 1, place)."""
    found = -gone
    for m in range(out_of.shape[0]):
        found[m, 0] = 0.0
        for day in range(1, out_of.shape[1]):
            for q in range(out_of.shape[2]):
                came = max(arrived[m, day, q], 0.0)
                found[m, day, out_of[m, day, q]] += came
    return found
