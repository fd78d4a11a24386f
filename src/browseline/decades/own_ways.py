"""How a farm makes, stores and keeps feed of its own in the years ahead, of what it typed and recorded."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy.light import MONTH_LENGTH
from browseline.decades.entered import hay_cuts
from browseline.decades.grown import GrownAhead, there_in
from browseline.decades.held import Held, held_ground
from browseline.decades.start import Start, season_months
from browseline.farm.own_hay import hay_price, not_said, sale_price
from browseline.farm.records import Farm, HayLot
from browseline.figures import Origin
from browseline.record.state import State
from browseline.science import feed
from browseline.sward.numbers import sward_numbers

Array = npt.NDArray[np.float64]
LOSS, LOSS_OF = "standing_loss", "any sward"


@dataclass(frozen=True)
class Making:
    """How hay is made: a cut [USD/ha], share kept from field to mouth [1], what its dry matter is worth.

    ``field_kept`` is the share that comes off the field [1], ``price_usd_kg`` of that, ``most_ha`` (month,)
    the most that is cut in a month [ha], ``above_kg_ha`` what the typed stubble leaves above the height to
    leave, ``sale_usd_kg`` what a kilogram off the field fetches; 0 sells none.
    """

    usd_ha: float
    field_kept: float
    kept: float
    price_usd_kg: float
    most_ha: tuple[float, ...]
    above_kg_ha: float
    sale_usd_kg: float = 0.0


@dataclass(frozen=True, eq=False)
class Piece:
    """Ground held from stock with what grows on it, shape (year, member, month) [kg], and its area by year.

    ``kg`` is what stock may have, ``full_kg`` all. [ha]
    """

    held: Held
    kg: Array
    full_kg: Array
    area_ha: Array


@dataclass(frozen=True, eq=False)
class Ways:
    """What of its own a farm can feed.

    Attributes
    ----------
    bales_kg : float
        In store today, as eaten. [kg DM]
    making : Making or None
    pieces : tuple of Piece
    grass_kg, full_kg : array, shape (year, member, month)
        Growth of ground that nobody holds: what stock may have, and all. [kg DM]
    open_ha : array, shape (year, month)
        That ground.
    first : int
        Month of today, from 0.
    season : tuple of int
        Months of the grazing season, from 0.
    standing_loss_d : float
        What grass that is kept loses a day once it is ready. [1/d]
    meant_ha : mapping from (year from today's, month from 0)
        Area that entries plan to cut for hay. [ha]
    """

    bales_kg: float
    making: Making | None
    pieces: tuple[Piece, ...]
    grass_kg: Array
    full_kg: Array
    open_ha: Array
    first: int
    season: tuple[int, ...]
    standing_loss_d: float
    origins: tuple[Origin, ...]
    meant_ha: Mapping[tuple[int, int], float] = field(default_factory=dict)

    @property
    def held_kg(self) -> Array | None:
        """Return what of the growth is kept from stock, shape (year, member, month); None if nothing."""
        return np.sum([piece.kg for piece in self.pieces], axis=0) if self.pieces else None


def ways_of(start: Start, grown: GrownAhead, years: Sequence[int]) -> Ways | None:
    """Return what a farm can feed of its own; None where it typed nothing of it."""
    farm = start.farm
    bales = bales_kg(farm, start.state)
    making, held = making_of(farm), held_ground(farm)
    if grown.full_kg is None or grown.held_kg is None or grown.held_full_kg is None:
        held, making = (), None
    if bales <= 0 and making is None and not held:
        return None
    area = np.array([p.grazed_ha for p in farm.paddocks]) * there_in(farm.paddocks, years)
    pieces, taken = [], np.zeros((len(farm.paddocks), 12))
    for n, one in enumerate(held):
        own, full = _of(grown.held_kg, n), _of(grown.held_full_kg, n)
        pieces.append(Piece(one, own, full, area[:, one.ground].sum(axis=1)))
        taken = taken + one.share
    kept, full_kept = (sum((getattr(p, name) for p in pieces), 0.0) for name in ("kg", "full_kg"))
    all_kg = grown.full_kg if grown.full_kg is not None else grown.month_kg
    return Ways(
        bales, making, tuple(pieces), np.maximum(grown.month_kg - kept, 0.0),
        np.maximum(all_kg - full_kept, 0.0), area @ (1 - taken), start.today.month - 1,
        tuple(month - 1 for month in season_months(farm, start.today)),
        standing_loss().middle(), tuple(_origins(held)), _meant(start, held),
    )  # fmt: skip


def _meant(start: Start, held: Sequence[Held]) -> dict[tuple[int, int], float]:
    """Return the area that entries plan to cut for hay, without ground that is promised for it. [ha]"""
    ground = [one.ground for one in held if one.kind == "hay"]
    named = [p.id for n, p in enumerate(start.farm.paddocks) if any(own[n] for own in ground)]
    return hay_cuts(start, named)


def standing_loss() -> tables.Row:
    """Return what standing grass loses a day when nothing grows. [1/d]"""
    return tables.row("forage", LOSS, LOSS_OF)


def _of(arrays: Array | None, n: int) -> Array:
    return arrays[n] if arrays is not None else np.zeros(0)


def _origins(held: Sequence[Held]) -> list[Origin]:
    """Return where own feed comes from: what the farm typed, and the standing loss of kept grass."""
    row = standing_loss()
    loss = [Origin(row.source, row.locator, row.basis)] if any(h.kind == "stockpile" for h in held) else []
    return [Origin("farm", basis="farm"), *loss]


def making_of(farm: Farm) -> Making | None:
    """Return how a farm makes hay; None where it does not say all of it.

    Cuts of a month come one after another: as many as the days from cut to clear fit into it, each of the
    most that is cut in a day. What is lost in store and in feeding is typed with the first lot of hay.
    """
    rules = farm.rules
    if not_said(rules) or rules.hay_pass is None or rules.hay_field_loss is None or rules.hay_days is None:
        return None
    days, most = max(rules.hay_days.to("d"), 1.0), rules.hay_area_day
    each = most.to("ha") if most is not None else np.inf
    in_field = 1 - rules.hay_field_loss.to("1")
    lot = farm.hay[0] if farm.hay else None
    kept = in_field * _share(lot, "store_loss") * _share(lot, "feeding_loss")
    sale = sale_price(farm)
    by_month = tuple(each * max(length // days, 1.0) for length in MONTH_LENGTH)
    return Making(
        rules.hay_pass.to("USD/ha"), in_field, kept, hay_price(farm).value or 0.0, by_month,
        above_kg_ha(farm), (sale.value or 0.0) if sale is not None else 0.0,
    )  # fmt: skip


def _share(lot: HayLot | None, name: str) -> float:
    """Return what is left after a loss typed with a lot; all of it where none is typed. [1]"""
    said = getattr(lot, name) if lot is not None else None
    return 1.0 if said is None else float(1 - said.to("1"))


def above_kg_ha(farm: Farm) -> float:
    """Return what the typed stubble leaves above the height to leave, the mean over the ground. [kg DM/ha]"""
    stubble, area = farm.rules.hay_stubble, sum(p.grazed_ha for p in farm.paddocks)
    if stubble is None or area <= 0:
        return 0.0
    total = 0.0
    for paddock in farm.paddocks:
        numbers = sward_numbers(farm, paddock)
        more = numbers.mass_kg_ha(stubble.to("cm")) - numbers.mass_kg_ha(numbers.leave_at.value or 0.0)
        total += max(more, 0.0) * paddock.grazed_ha
    return total / area


def bales_kg(farm: Farm, state: State) -> float:
    """Return what the bales in store are worth as eaten, as the balance counts them. [kg DM]

    Bales of a lot that the farm does not describe count as those of the first.
    """
    if not farm.hay:
        return 0.0
    lots = {lot.id: lot for lot in farm.hay}
    return sum(one.bales * _eaten_kg(lots.get(one.lot, farm.hay[0])) for one in state.hay)


def _eaten_kg(lot: HayLot) -> float:
    """Return what one bale is worth as eaten; shares that nobody typed take nothing off. [kg DM]"""
    dry = lot.dry.to("1") if lot.dry is not None else 1.0
    losses = (1 - _share(lot, name) for name in ("store_loss", "feeding_loss"))
    return float(feed.eaten_kg(lot.bale_weight.to("kg"), dry, *losses))
