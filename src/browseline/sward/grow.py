"""The sward arrow: heights, stays, weather and typed growth in; herbage of every paddock out.

A paddock's newest height rules what stands there: the model only carries it to now. Its error is
drawn for each member, in pairs of equal size and opposite sign, so that the middle member is the
height as read.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from itertools import product
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm.records import Farm, Paddock
from browseline.record.state import State, TypedGrowth
from browseline.science import grazing
from browseline.sward.bared import bare_figure, bared, joined_history
from browseline.sward.clock import day_number
from browseline.sward.growing import Growing, blank_growing
from browseline.sward.herbage import Herbage, Known
from browseline.sward.numbers import SwardNumbers, sward_numbers
from browseline.sward.past import to_now
from browseline.sward.start import newest_height, paired_normal, start_of
from browseline.units import Quantity

Array = NDArray[np.float64]
Fertility = Mapping[str, tuple[float, float]]


def grow(
    farm: Farm,
    state: State,
    now: datetime,
    growing: Growing | None,
    *,
    horizon_d: int,
    members: int,
    fertility: Fertility | None = None,
) -> Herbage:
    """Return the herbage of every paddock at ``now`` and what the days ahead bring.

    Parameters
    ----------
    growing : Growing or None
        What weather makes of the days (``growing_days``); None without weather: then nothing grows
        but what was typed.
    horizon_d, members : int
        Days ahead; members (odd, so that one of them stands in the middle).
    fertility : mapping from paddock to (mean, standard error), optional
        As the farm taught it (``readings``); the prior of the sward where it says nothing.
    """
    zone = ZoneInfo(farm.time_zone)
    paddocks = tuple(farm.paddocks)
    numbers = tuple(sward_numbers(farm, p) for p in paddocks)
    today = now.astimezone(zone).date()
    reads = [newest_height(state, p) for p in paddocks]
    first = min([h.at.end.astimezone(zone).date() for h in reads if h is not None], default=today)
    days = (today - first).days + 1
    starts = [
        start_of(farm, p, n, h, members, first, zone)
        for p, n, h in zip(paddocks, numbers, reads, strict=True)
    ]
    filled = growing or blank_growing(first, today + timedelta(days=horizon_d + 1), members)
    ni = np.stack(
        [_fertility(farm, p, n, fertility or {}, members) for p, n in zip(paddocks, numbers, strict=True)], 1
    )
    land = _land(paddocks, numbers, filled)
    typed_growth, sources = _typed_growth(
        state, paddocks, numbers, first, days + horizon_d + 1, zone, growing
    )
    cuts = _cuts(state, paddocks, numbers, first, days, zone)
    past = filled.slice(first, days)._replace(typed_kg_ha_d=typed_growth[:days].copy(), cut_to_kg_ha=cuts)
    history, mass = to_now(farm, state, now, first, starts, ni, land, past, numbers, filled.leaf, zone)
    anew = bared(state, paddocks, reads, starts, history, first, zone)
    if any(a is not b for a, b in zip(anew, starts, strict=True)):
        stood = history
        history, mass = to_now(farm, state, now, first, anew, ni, land, past, numbers, filled.leaf, zone)
        history = joined_history(stood, history, starts, anew)
    ahead = _ahead(filled, typed_growth, now, first, horizon_d, zone)
    growth = _growth_now(mass, ni, land, ahead, filled.leaf)
    return Herbage(
        now,
        tuple(p.id for p in paddocks),
        numbers,
        tuple(s.figure if s else None for s in starts),
        sources,
        np.array([s is not None for s in starts]),
        mass,
        ni,
        land,
        filled.leaf,
        ahead,
        growth,
        first,
        history,
        filled.deficit_on(today, land.curve) if growing is not None else None,
        tuple(bare_figure(state, p, h, zone) for p, h in zip(paddocks, reads, strict=True)),
    )


def _fertility(farm: Farm, paddock: Paddock, numbers: SwardNumbers, taught: Fertility, members: int) -> Array:
    figure = numbers.fertility
    mean, sd = figure.value or 0.0, 0.0
    if figure.low is not None and figure.high is not None:
        sd = (figure.high - figure.low) / 2
    mean, sd = taught.get(paddock.id, (mean, sd))
    limits = tables.row("forage", "NI", "limits")
    drawn = mean + sd * paired_normal(farm.seed, f"fertility {paddock.id}", members)
    return np.asarray(np.clip(drawn, limits.low, limits.high))


# ---------------------------------------------------------------- land, typed growth, cuts


def _land(
    paddocks: tuple[Paddock, ...], numbers: tuple[SwardNumbers, ...], growing: Growing
) -> grazing.Paddocks:
    floor = tables.row("forage", "leaf_from", "any sward").middle()
    return grazing.Paddocks(
        np.array([growing.curve_of.get(p.id, 0) for p in paddocks], np.int64),
        np.array([n.shares for n in numbers], float),
        np.array([max(p.grazed_ha, 1e-6) for p in paddocks]),
        np.full(len(paddocks), floor),
    )


def _typed_growth(
    state: State,
    paddocks: tuple[Paddock, ...],
    numbers: tuple[SwardNumbers, ...],
    first: date,
    days: int,
    zone: ZoneInfo,
    growing: Growing | None,
) -> tuple[Array, tuple[Known, ...]]:
    """Return growth as typed, NaN where weather decides, 0 where neither is known. [kg DM/ha/d]"""
    out = np.full((days, len(paddocks)), np.nan if growing is not None else 0.0)
    source: list[Known] = ["weather" if growing is not None else ""] * len(paddocks)
    for entry in sorted(state.growth, key=lambda g: _typed_rank(g, numbers, zone)):
        begin = max((entry.since.start.astimezone(zone).date() - first).days, 0)
        end = (entry.until - first).days
        for i, (paddock, own) in enumerate(zip(paddocks, numbers, strict=True)):
            if entry.paddock in ("", "farm", paddock.id) and end > begin:
                out[begin:end, i] = growth_kg_ha_d(entry.growth, own)
                source[i] = "typed"
    return out, tuple(source)


def _typed_rank(entry: TypedGrowth, numbers: tuple[SwardNumbers, ...], zone: ZoneInfo) -> tuple[date, float]:
    """Return the order in which typed growth is put down: a later day over an earlier, then the slower.

    Growths typed on one day are cases side by side (ledger.growth); the slowest is counted with.
    """
    rate = growth_kg_ha_d(entry.growth, numbers[0]) if numbers else 0.0
    return entry.since.start.astimezone(zone).date(), -rate


def growth_kg_ha_d(growth: Quantity, numbers: SwardNumbers) -> float:
    """Return typed growth, by mass or by height, as mass. [kg DM/ha/d]"""
    if growth.dimension == "height growth":
        return numbers.mass_kg_ha(growth.to("cm/d"))
    return growth.to("kg/ha/d")


def _cuts(
    state: State,
    paddocks: tuple[Paddock, ...],
    numbers: tuple[SwardNumbers, ...],
    first: date,
    days: int,
    zone: ZoneInfo,
) -> Array:
    out = np.full((days, len(paddocks)), np.inf)
    for cut, (i, paddock) in product(state.cuts, enumerate(paddocks)):
        day = (cut.at.end.astimezone(zone).date() - first).days
        if cut.place in (paddock.id, *paddock.parents) and 0 <= day < days:
            to_cm = cut.to_height.to("cm") if cut.to_height else (numbers[i].leave_at.value or 0.0)
            out[day, i] = numbers[i].mass_kg_ha(to_cm)
    return out


# ---------------------------------------------------------------- the days ahead


def _ahead(
    growing: Growing, typed_growth: Array, now: datetime, first: date, horizon_d: int, zone: ZoneInfo
) -> grazing.Days:
    """Return the coming days in steps of 24 h from now: each mixes the two calendar days it spans."""
    today = now.astimezone(zone).date()
    part = day_number(now, today, zone)
    days = growing.slice(today, horizon_d + 1)
    begin = (today - first).days
    said = typed_growth[begin : begin + horizon_d + 1]
    mixed = _mix(said, part, 0)
    mixed = np.where(np.isnan(mixed), said[:-1], mixed)
    return grazing.Days(
        np.ascontiguousarray(_mix(days.potential_kg_ha_d, part, 2)),
        np.ascontiguousarray(_mix(days.loss_per_d, part, 2)),
        np.ascontiguousarray(mixed),
        np.full((horizon_d, said.shape[1]), np.inf),
    )


def _mix(values: Array, part: float, axis: int) -> Array:
    length = values.shape[axis]
    here = np.take(values, range(length - 1), axis)
    after = np.take(values, range(1, length), axis)
    return np.asarray((1 - part) * here + part * after)


def _growth_now(
    mass: Array, ni: Array, land: grazing.Paddocks, ahead: grazing.Days, leaf: grazing.Leaf
) -> Array:
    first = grazing.Days(*(x[:, :, :1] for x in ahead[:2]), *(x[:1] for x in ahead[2:]))
    nobody = grazing.stays_of(1, [], [], [], [], [])
    run = grazing.run(mass, ni, np.zeros((1, 1, 0)), land, first, nobody, leaf)
    return np.asarray(run.growth_kg_ha[:, 0] - run.loss_kg_ha[:, 0])
