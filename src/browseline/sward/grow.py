"""The sward arrow: heights, stays, weather and typed growth in; herbage of every paddock out.

A paddock's newest height rules what stands there: the model only carries it to now. Its error is
drawn for each member, in pairs of equal size and opposite sign, so that the middle member is the
height as read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.events import When
from browseline.farm.needs import demand
from browseline.farm.records import Farm, Paddock
from browseline.figures import Figure, typed
from browseline.record.state import HeightRead, State, TypedGrowth
from browseline.science import draws, grazing
from browseline.sward.clock import day_number
from browseline.sward.growing import Growing, blank_growing
from browseline.sward.herbage import Herbage, Known
from browseline.sward.numbers import SwardNumbers, book_mass_per_height, share_eaten, sward_numbers
from browseline.units import Quantity

Array = NDArray[np.float64]
Fertility = Mapping[str, tuple[float, float]]
SMALLEST_SHARE_OF_READING = 0.1


@dataclass(frozen=True)
class _Start:
    """A paddock's newest height as mass of the members, and the day number it was read on."""

    mass_kg_ha: Array
    at_d: float
    figure: Figure


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
    reads = [state.last_height(p.id) for p in paddocks]
    first = min([h.at.end.astimezone(zone).date() for h in reads if h is not None], default=today)
    days = (today - first).days + 1
    starts = [
        _start(farm, p, n, h, members, first, zone) for p, n, h in zip(paddocks, numbers, reads, strict=True)
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
    history, mass = _to_now(farm, state, now, first, starts, ni, land, past, numbers, filled.leaf, zone)
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
    )


# ---------------------------------------------------------------- readings to mass


def _start(
    farm: Farm,
    paddock: Paddock,
    numbers: SwardNumbers,
    read: HeightRead | None,
    members: int,
    first: date,
    zone: ZoneInfo,
) -> _Start | None:
    if read is None:
        return None
    per_cm = mass_per_height_of(numbers, read)
    height_cm = read.height.to("cm")
    figure = typed(
        "height",
        height_cm,
        "cm",
        read.height.text,
        about=paddock.id,
        who=read.who,
        as_of=read.at.end.astimezone(zone).date(),
    )
    middle = height_cm * (per_cm.value or 0.0)
    error = reading_error_kg_ha(read.readings) * paired_normal(
        farm.seed, f"height {paddock.id} {read.event}", members
    )
    mass = np.maximum(middle + error, SMALLEST_SHARE_OF_READING * middle)
    return _Start(mass, day_number(read.at.end, first, zone), figure)


def mass_per_height_of(numbers: SwardNumbers, read: HeightRead) -> Figure:
    """Return the mass per height of one reading: typed with it, or of its density class. [kg/ha/cm]"""
    if read.mass_per_height is not None:
        value = read.mass_per_height.to("kg/ha/cm")
        return typed("mass_per_height", value, "kg/ha/cm", read.mass_per_height.text, about=read.paddock)
    farms_own = numbers.mass_per_height.origins[0].basis == "farm"
    if read.density and not farms_own:
        return book_mass_per_height(numbers.kind, read.density)
    return numbers.mass_per_height


def reading_error_kg_ha(readings: int | None) -> float:
    """Return the standard error of a paddock's mean mass from its heights. [kg DM/ha]

    References
    ----------
    forage.md 1.3, 6: 350 to 750 kg/ha for the mean of few readings; here the lower end for many,
    the upper for one, the middle where nobody wrote down how many.
    """
    row = tables.row("forage", "reading_sd", "paddock mean")
    if readings is None or row.low is None or row.high is None:
        return row.middle()
    return float(np.sqrt(row.low**2 + (row.high**2 - row.low**2) / max(readings, 1)))


def paired_normal(seed: int, quantity: str, members: int) -> Array:
    """Return standard normal draws, shape (member,): the first 0, then pairs of opposite sign. [1]

    The middle of the members is then exactly 0, and one more member changes no other draw.
    """
    pairs = members // 2
    chance = np.array([draws.uniform(seed, quantity, pair, 0, 1)[0] for pair in range(pairs)])
    size = draws.normal(chance) if pairs else chance
    out = np.zeros(members)
    out[1::2] = size[: len(out[1::2])]
    out[2::2] = -size[: len(out[2::2])]
    return out


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
    where = {p.id: i for i, p in enumerate(paddocks)}
    for cut in state.cuts:
        day = (cut.at.end.astimezone(zone).date() - first).days
        if cut.paddock in where and 0 <= day < days:
            i = where[cut.paddock]
            to_cm = cut.to_height.to("cm") if cut.to_height else (numbers[i].leave_at.value or 0.0)
            out[day, i] = numbers[i].mass_kg_ha(to_cm)
    return out


# ---------------------------------------------------------------- the past


def _middle(when: When) -> datetime:
    return when.start + (when.end - when.start) / 2


def _lines_then(state: State, mob: str, when: datetime) -> Figure | None:
    """Return what a mob ate a day at an instant: the animals that were in it then. [kg/d]"""
    logged = [(at, lines) for at, ident, lines in state.heads if ident == mob and at <= when]
    if logged:
        return demand(max(logged, key=lambda entry: entry[0])[1])
    standing = state.mob(mob)
    return demand(standing.lines) if standing else None


def _past_stays(
    farm: Farm,
    state: State,
    now: datetime,
    first: date,
    starts: list[_Start | None],
    numbers: tuple[SwardNumbers, ...],
    zone: ZoneInfo,
) -> tuple[grazing.Stays, Array, list[tuple[int, float, float, float]]]:
    """Return past visits since each paddock's newest height, and the demand of each as its own mob."""
    where = {p.id: i for i, p in enumerate(farm.paddocks)}
    visits: list[tuple[int, float, float, float, float]] = []
    for stay in state.stays:
        i = where.get(stay.place)
        if i is None or stay.planned or starts[i] is None:
            continue
        begin, end = _middle(stay.begin), (_middle(stay.end) if stay.end else now)
        needs = _lines_then(state, stay.mob, begin)
        a, b = day_number(begin, first, zone), day_number(min(end, now), first, zone)
        if b > a and needs is not None and needs.value:
            visits.append((i, a, b, share_eaten(numbers[i], b - a).value or 1.0, needs.value))
    days = (now.astimezone(zone).date() - first).days + 1
    columns = list(zip(*visits, strict=True)) if visits else [(), (), (), (), ()]
    stays = grazing.stays_of(days, columns[0], range(len(visits)), columns[1], columns[2], columns[3])
    demands = np.tile(np.array(columns[4], float), (1, days, 1))
    return stays, demands, [(v[0], v[1], v[2], v[4] / v[3]) for v in visits]


def _to_now(
    farm: Farm,
    state: State,
    now: datetime,
    first: date,
    starts: list[_Start | None],
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


def _since_readings(stays: grazing.Stays, starts: list[_Start | None]) -> grazing.Stays:
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
    starts: list[_Start | None],
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
