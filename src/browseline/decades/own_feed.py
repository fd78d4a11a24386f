"""Own feed through the months: grass kept for winter, bales in store, hay made; what is short is bought."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from browseline.canopy.light import MONTH_LENGTH
from browseline.decades.form import OwnFeed
from browseline.decades.own_ways import Making, Piece, Ways

Array = npt.NDArray[np.float64]
TINY, LEAST_KG = 1e-9, 1e-6
"""What rounding leaves: less is nothing. [kg]"""
MONTHS = 12


@dataclass(eq=False)
class _Run:
    """What is in hand while the months go by, shape (member,) each, and what came of it."""

    ways: Ways
    store: Array
    hay: Array
    piles: list[Array]
    fed: list[Array] = field(default_factory=list)
    out: dict[str, Array] = field(default_factory=dict)


def feed_own(
    ways: Ways, short_kg: Array, spare_month_kg: Array, open_kg: Array
) -> tuple[OwnFeed, Array, Array]:
    """Return a farm's own feed by year and member, the hay that is still bought, and what more is spare.

    In every month what grazed grass leaves short is fed in turn: grass kept for winter, the bales in store
    today (from the month of today on), hay that was made; what is short then is bought. Hay is cut of grass
    that grew in the month before and that nobody ate, within the grazing season, where a hectare's hay is
    worth more than its cut, and no more than tops the store up to a year's hay: what was fed over the
    twelve months before, in the first year what that year lacks. Ground promised for hay is cut each year,
    an area that entries plan to cut once, as far as stock leave its grass, whether it pays or not. Where a
    price of hay sold is typed, what is wanted no more is cut and sold off the field as far as that pays.

    Parameters
    ----------
    ways : Ways
    short_kg, spare_month_kg : array, shape (year, member, month)
        What grazed grass leaves short, and what of it nobody ate (``Carried``). [kg DM]
    open_kg : array, shape (year, member, month)
        What could be grazed of the ground that nobody holds, leaf of trees with it. [kg DM]
    """
    years, members, _ = short_kg.shape
    run = _Run(ways, np.full(members, ways.bales_kg), np.zeros(members),
               [np.zeros((2, members)) for _ in ways.pieces])  # fmt: skip
    for name in ("store", "eaten", "winter", "bought"):
        run.out[name] = np.zeros_like(short_kg)
    for name in ("cut_ha", "made", "beyond", "lost", "over", "spare", "sold"):
        run.out[name] = np.zeros((years, members))
    first_wanted = short_kg[0].sum(axis=1)
    for year in range(years):
        for month in range(MONTHS):
            _feed(run, year, month, short_kg[year, :, month])
            spare, could = spare_month_kg[year, :, month], _before(open_kg, year, month)
            _make(run, (year, month), spare, could, first_wanted)
            _grow(run, year, month)
        run.out["over"][year] = run.store + run.hay + sum((pile[0] for pile in run.piles), np.zeros(members))
    out = run.out
    own = OwnFeed(
        out["store"], out["eaten"], out["winter"], out["cut_ha"], out["made"], out["beyond"], out["lost"],
        out["over"], ways.bales_kg, ways.making is not None,
        any(piece.held.kind == "stockpile" for piece in ways.pieces), ways.first, ways.origins,
        out["sold"],
    )  # fmt: skip
    return own, out["bought"], out["spare"]


def _past(run: _Run, year: int, month: int) -> bool:
    """Return whether a month was over before today: what it fed and cut is on record."""
    return year == 0 and month < run.ways.first


def _before(of: Array, year: int, month: int) -> Array:
    """Return the column of the month before; nothing before the first. [kg]"""
    if month:
        return np.asarray(of[year, :, month - 1])
    return np.asarray(of[year - 1, :, -1]) if year else np.zeros(of.shape[1])


# ---------------------------------------------------------------- eaten


def _feed(run: _Run, year: int, month: int, short: Array) -> None:
    """Feed what a month lacks: kept grass, bales in store, own hay; the rest is bought."""
    left = short.copy()
    for piece, pile in zip(run.ways.pieces, run.piles, strict=True):
        if piece.held.kind == "stockpile":
            _weather(run, piece, pile, year, month)
            eaten = _off_pile(run, piece, pile, month, left)
            run.out["winter"][year, :, month] += eaten
            left = left - eaten
    run.fed.append(left)
    if not _past(run, year, month):
        store = np.minimum(run.store, left)
        hay = np.minimum(run.hay, left - store)
        run.store, run.hay = run.store - store, run.hay - hay
        run.out["store"][year, :, month], run.out["eaten"][year, :, month] = store, hay
        left = left - store - hay
    run.out["bought"][year, :, month] = np.where(left > LEAST_KG, left, 0.0)


def _back(run: _Run, piece: Piece) -> int:
    """Return the month in which what was kept is old grass: the first of the next grazing season.

    Where grass is grazed all year, or the season begins while the ground is kept, it is the month in which
    it is kept again.
    """
    season, held = run.ways.season, piece.held
    first = next((m for m in season if (m - 1) % MONTHS not in season), held.begins)
    inside = (first - held.begins) % MONTHS <= (held.ends - held.begins) % MONTHS
    return held.begins if inside else first


def _weather(run: _Run, piece: Piece, pile: Array, year: int, month: int) -> None:
    """Take off what kept grass loses in a month after the one it was ready in; what is too old is spare."""
    held, back = piece.held, _back(run, piece)
    if month == back:
        run.out["spare"][year] += pile[0]
        pile[:] = 0.0
        return
    if 0 < (month - held.ends) % MONTHS < ((back - held.ends) % MONTHS or MONTHS):
        gone = pile[0] * (1 - (1 - run.ways.standing_loss_d) ** MONTH_LENGTH[month])
        pile[0] -= gone
        run.out["lost"][year] += gone


def _off_pile(run: _Run, piece: Piece, pile: Array, month: int, short: Array) -> Array:
    """Return what is eaten of kept grass in a month: none while it is kept, part of its last month. [kg]"""
    held, back = piece.held, _back(run, piece)
    since = (month - held.ends) % MONTHS
    if since >= ((back - held.ends) % MONTHS or MONTHS):
        return np.zeros_like(short)
    grown = pile[0]
    eaten = np.minimum(grown, short * (held.open_frac if since == 0 else 1.0))
    pile[0] = grown - eaten
    return np.asarray(eaten)


def _grow(run: _Run, year: int, month: int) -> None:
    """Add what grew on held ground in a month: it is there from the month after."""
    for piece, pile in zip(run.ways.pieces, run.piles, strict=True):
        pile[0] += piece.kg[year, :, month]
        pile[1] += piece.full_kg[year, :, month]


# ---------------------------------------------------------------- cut


def _make(run: _Run, at: tuple[int, int], spare: Array, could: Array, first_wanted: Array) -> None:
    """Make the hay of a month, where any is made: promised ground, then what stock leave."""
    making = run.ways.making
    if making is None:
        return
    wanted = np.sum(run.fed[-MONTHS:], axis=0) if len(run.fed) > MONTHS else first_wanted
    _promised_cuts(run, making, *at, wanted)
    _spare_cuts(run, making, at, spare, could, wanted)


def _promised_cuts(run: _Run, making: Making, year: int, month: int, wanted: Array) -> None:
    """Cut the ground promised for hay at the end of its promise; what the store need not hold may be sold."""
    for piece, pile in zip(run.ways.pieces, run.piles, strict=True):
        if piece.held.kind != "hay" or piece.held.ends != month:
            continue
        own = pile[0] + piece.kg[year, :, month]
        full = pile[1] + piece.full_kg[year, :, month]
        # What grows in the month of the cut is in the cut, and is not added again.
        pile[0], pile[1] = -piece.kg[year, :, month], -piece.full_kg[year, :, month]
        if _past(run, year, month):
            run.out["spare"][year] += own
            continue
        area = np.full_like(own, piece.area_ha[year])
        if making.sale_usd_kg > 0:
            share = _wanted_of(run, making, area, full, wanted)
            _cut(run, making, year, area * (1 - share), own * (1 - share), full * (1 - share), sold=True)
            area, own, full = area * share, own * share, full * share
        _cut(run, making, year, area, own, full)


def _wanted_of(run: _Run, making: Making, area: Array, full: Array, wanted: Array) -> Array:
    """Return the share of a cut that tops the store up, shape (member,). [1]"""
    made = np.maximum(full - area * making.above_kg_ha, 0.0) * making.kept
    room = np.maximum(wanted - run.store - run.hay, 0.0)
    return np.minimum(np.divide(room, made, out=np.ones_like(room), where=made > TINY), 1.0)


def _spare_cuts(
    run: _Run, making: Making, at: tuple[int, int], spare: Array, could: Array, wanted: Array
) -> None:
    """Cut of what grew in the month before and nobody ate as much as pays and is wanted; then what sells.

    Parameters
    ----------
    at : (year, month)
    spare, could : array, shape (member,)
        What nobody ate of that month's growth, and all that could be grazed of it. [kg]
    wanted : array, shape (member,)
        A year's hay as eaten. [kg]
    """
    year, month = at
    ways = run.ways
    if _past(run, year, month) or month not in ways.season or not spare.any():
        return
    ground = float(ways.open_ha[year, month - 1] if month else ways.open_ha[max(year - 1, 0), -1])
    if ground <= 0:
        return
    each = _before(ways.full_kg, year, month) / ground
    take = np.maximum(each - making.above_kg_ha, 0.0)
    share = np.divide(spare, could, out=np.zeros_like(spare), where=could > TINY)
    left_ha = np.minimum(share, 1.0) * ground
    most = np.minimum(left_ha, max(making.most_ha[month] - _area_promised(run, year, month), 0.0))
    room = np.maximum(wanted - run.store - run.hay, 0.0)
    fills = np.divide(room, take * making.kept, out=np.zeros_like(room), where=take * making.kept > TINY)
    area = np.minimum(most * _pays(making, take, making.price_usd_kg), fills)
    area = np.maximum(area, np.minimum(ways.meant_ha.get(at, 0.0), left_ha))
    more = np.maximum(most * _pays(making, take, making.sale_usd_kg) - area, 0.0)
    for ha, sold in ((area, False), (more, True)):
        own = ha / ground * _before(ways.grass_kg, year, month)
        run.out["spare"][year] -= own
        _cut(run, making, year, ha, own, ha * each, sold=sold)


def _pays(making: Making, take: Array, price_usd_kg: float) -> npt.NDArray[np.bool_]:
    """Return where a hectare's hay is worth more than its cut, shape (member,)."""
    return np.asarray(take * making.field_kept * price_usd_kg > making.usd_ha)


def _area_promised(run: _Run, year: int, month: int) -> float:
    """Return the area of promised ground that is cut in a month. [ha]"""
    hay = (p for p in run.ways.pieces if p.held.kind == "hay" and p.held.ends == month)
    return float(sum(piece.area_ha[year] for piece in hay))


def _cut(
    run: _Run, making: Making, year: int, area: Array, own: Array, full: Array, *, sold: bool = False
) -> None:
    """Cut an area: what stands above the stubble is hay, less what is lost up to the mouth or the sale."""
    left = np.minimum(area * making.above_kg_ha, full)
    taken = full - left
    made = taken * (making.field_kept if sold else making.kept)
    if sold:
        run.out["sold"][year] += made
    else:
        run.hay = run.hay + made
        run.out["made"][year] += made
    run.out["cut_ha"][year] += area * (full > TINY)
    run.out["lost"][year] += taken - made
    run.out["beyond"][year] += full - own
    run.out["spare"][year] += left
