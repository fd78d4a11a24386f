"""What animals have taken and days have grown since the newest heights: herbage up to this instant."""

from __future__ import annotations

from datetime import date, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from browseline.events import When
from browseline.farm.needs import demand, on_grass
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.record.state import State, Stay
from browseline.science import grazing
from browseline.sward.clock import day_number
from browseline.sward.numbers import SwardNumbers, share_eaten
from browseline.sward.start import Start

Array = NDArray[np.float64]


def _middle(when: When) -> datetime:
    return when.start + (when.end - when.start) / 2


def _parts(state: State, stay: Stay, begin: datetime, end: datetime) -> list[tuple[datetime, datetime]]:
    """Return a stay cut at the instants at which the animals in the mob changed."""
    cuts = sorted(at for at, mob, _ in state.heads if mob == stay.mob and begin < at < end)
    return list(pairwise([begin, *cuts, end]))


def _lines_then(state: State, mob: str, when: datetime) -> Figure | None:
    """Return what a mob ate a day at an instant: the animals that were in it then. [kg/d]"""
    logged = [(at, lines) for at, ident, lines in state.heads if ident == mob and at <= when]
    if logged:
        return demand(on_grass(max(logged, key=lambda entry: entry[0])[1]))
    standing = state.mob(mob)
    return demand(on_grass(standing.lines)) if standing else None


def _ground_of(farm: Farm, stay: Stay) -> list[tuple[int, float]]:
    """Return the paddocks that a stay grazed, each with its share of the stay.

    A stay on a whole that has since been split falls on the parts by area.
    """
    place = stay.part or stay.place
    whole = [(i, 1.0) for i, p in enumerate(farm.paddocks) if p.id == place]
    if whole:
        return whole
    parts = [(i, p.grazed_ha) for i, p in enumerate(farm.paddocks) if place in p.parents]
    total = sum(area for _, area in parts)
    return [(i, area / total) for i, area in parts] if total > 0 else []


def _past_stays(
    farm: Farm,
    state: State,
    now: datetime,
    first: date,
    starts: list[Start | None],
    numbers: tuple[SwardNumbers, ...],
    zone: ZoneInfo,
) -> tuple[grazing.Stays, Array, list[tuple[int, float, float, float]]]:
    """Return past visits since each paddock's newest height, and the demand of each as its own mob."""
    visits: list[tuple[int, float, float, float, float]] = []
    for stay in state.stays:
        begin, end = _middle(stay.begin), min(_middle(stay.end) if stay.end else now, now)
        if end <= begin or stay.planned:
            continue
        ground = [(i, part) for i, part in _ground_of(farm, stay) if starts[i] is not None]
        length = day_number(end, first, zone) - day_number(begin, first, zone)
        for since, until in _parts(state, stay, begin, end):
            needs = _lines_then(state, stay.mob, since)
            if needs is None or not needs.value:
                continue
            a, b = (day_number(t, first, zone) for t in (since, until))
            for i, part in ground:
                visits.append((i, a, b, share_eaten(numbers[i], length).value or 1.0, needs.value * part))
    days = (now.astimezone(zone).date() - first).days + 1
    columns = list(zip(*visits, strict=True)) if visits else [(), (), (), (), ()]
    stays = grazing.stays_of(days, columns[0], range(len(visits)), columns[1], columns[2], columns[3])
    demands = np.tile(np.array(columns[4], float), (1, days, 1))
    return stays, demands, [(v[0], v[1], v[2], v[4] / v[3]) for v in visits]


def to_now(
    farm: Farm,
    state: State,
    now: datetime,
    first: date,
    starts: list[Start | None],
    ni: Array,
    land: grazing.Paddocks,
    past: grazing.Days,
    numbers: tuple[SwardNumbers, ...],
    leaf: grazing.Leaf,
    zone: ZoneInfo,
) -> tuple[Array, Array]:
    """Return the history by day, and the herbage at this very instant. [kg DM/ha]

    A height is carried back to its midnight so that the day's grazing before it is not taken twice;
    days before it stand still.
    """
    members, count = ni.shape
    stays, demands, visits = _past_stays(farm, state, now, first, starts, numbers, zone)
    begin = np.zeros((members, count))
    quiet = past.typed_kg_ha_d
    growth = np.zeros((members, count))
    for i, start in enumerate(starts):
        if start is None:
            continue
        day = int(start.at_d)
        quiet[:day, i] = 0.0
        past.cut_to_kg_ha[:day, i] = np.inf
        taken = sum(
            rate * max(min(b, start.at_d) - max(a, day), 0.0) / land.area_ha[i]
            for p, a, b, rate in visits
            if p == i
        )
        growth[:, i] = _day_growth(start.mass_kg_ha, ni[:, i], land, past, leaf, day, i)
        begin[:, i] = start.mass_kg_ha + taken - (start.at_d - day) * growth[:, i]
    live = _since_readings(stays, starts)
    run = grazing.run(begin, ni, demands, land, past, live, leaf)
    return run.mass_kg_ha, _at_instant(run, day_number(now, first, zone), starts, visits, land)


def _since_readings(stays: grazing.Stays, starts: list[Start | None]) -> grazing.Stays:
    """Drop the entries of days before each paddock's newest height."""
    days = np.repeat(np.arange(len(stays.first) - 1), np.diff(stays.first))
    from_day = np.array([int(s.at_d) if s is not None else 0 for s in starts] or [0])
    keep = days >= from_day[stays.paddock] if len(days) else np.zeros(0, bool)
    first = np.searchsorted(days[keep], np.arange(len(stays.first))).astype(np.int64)
    return grazing.Stays(
        first, stays.paddock[keep], stays.mob[keep], stays.day_frac[keep], stays.share_eaten[keep]
    )


def _at_instant(
    run: grazing.Grazed,
    now_d: float,
    starts: list[Start | None],
    visits: list[tuple[int, float, float, float]],
    land: grazing.Paddocks,
) -> Array:
    """Return the herbage at a time of the last day: its growth by share, its grazing by the hours so far."""
    day = run.mass_kg_ha.shape[1] - 2
    part = now_d - day
    mass = (
        run.mass_kg_ha[:, day]
        + part * (run.growth_kg_ha[:, day] - run.loss_kg_ha[:, day])
        - run.cut_kg_ha[:, day]
    )
    for i in range(mass.shape[1]):
        so_far = sum(rate * max(min(b, now_d) - max(a, day), 0.0) for p, a, b, rate in visits if p == i)
        mass[:, i] -= np.minimum(so_far / land.area_ha[i], run.removed_kg_ha[:, day, i])
    return np.asarray(np.maximum(mass, 0.0))


def _day_growth(
    mass: Array, ni: Array, land: grazing.Paddocks, days: grazing.Days, leaf: grazing.Leaf, day: int, i: int
) -> Array:
    """Return the growth of one paddock on one day, for every member. [kg DM/ha/d]"""
    one = grazing.Paddocks(
        np.array([land.curve[i]]), land.share[i : i + 1], land.area_ha[i : i + 1], np.zeros(1)
    )
    part = grazing.Days(
        days.potential_kg_ha_d[:, :, day : day + 1],
        days.loss_per_d[:, :, day : day + 1],
        days.typed_kg_ha_d[day : day + 1, i : i + 1],
        np.full((1, 1), np.inf),
    )
    nobody = grazing.stays_of(1, [], [], [], [], [])
    run = grazing.run(mass[:, None], ni[:, None], np.zeros((1, 1, 0)), one, part, nobody, leaf)
    return np.asarray(run.growth_kg_ha[:, 0, 0] - run.loss_kg_ha[:, 0, 0])
