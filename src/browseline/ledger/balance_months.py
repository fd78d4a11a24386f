"""Forage against animals, year and months: what paddocks yield for stock, what stock need of it.

Supply is a typed yearly yield × the share that stock may have × the grazed area; nothing is guessed for
a paddock whose yield nobody typed. It is the yield under today's trees: how it falls as crowns close
comes with the decades.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from browseline import tables
from browseline.farm.records import Paddock
from browseline.figures import Figure, typed
from browseline.ledger.account import Account, dated, season_notes, season_of
from browseline.ledger.eaters import Eaten, eaten
from browseline.limits import Scene
from browseline.units import factor, shown
from browseline.words import list_words, say

PERCENT = factor("%", "1")
SPREAD = {
    "mixed_cool": "Tall grass + N",
    "ryegrass_clover": "Tall grass + N",
    "bluegrass_clover": "Kentucky bluegrass/white clover",
    "orchardgrass_legume": "Alfalfa/grass",
    "timothy_legume": "Red clover/grass",
    "tall_fescue": "Tall grass + N",
    "bermudagrass": "Warm-season grass",
    "bahiagrass": "Warm-season grass",
    "tall_native_warm": "Warm-season grass",
}
"""Which printed forage stands in for a sward when a year's yield is spread over months: a guess."""


@dataclass(frozen=True)
class Supply:
    """What one paddock yields for stock in a year. ``of`` is None where no yield was typed. [kg DM]"""

    paddock: str
    name: str
    kind: str
    of: Figure | None


@dataclass(frozen=True)
class Month:
    """One month: supply (None where the sward's spread is not known), need, and supply less need. [kg DM]"""

    year: int
    month: int
    supply_kg: float | None
    need_kg: float
    spare_kg: float | None


@dataclass(frozen=True)
class MonthsBalance:
    """The balance of a season: supply of a year against the need of the season's days.

    ``supply``, ``need`` and ``spare`` are None where a part of them is not known; a spare below 0 is
    short. [kg DM]
    """

    first: date
    last: date
    supplies: tuple[Supply, ...]
    eaters: tuple[Eaten, ...]
    supply: Figure | None
    need: Figure | None
    spare: Figure | None
    months: tuple[Month, ...]


def share_harvested(scene: Scene, paddock: Paddock) -> Figure:
    """Return the share of a year's growth that stock may have: typed, else the planning default. [1]"""
    own = scene.farm.sward_of(paddock)
    if own is not None and own.harvest_share is not None:
        return typed("share_harvested", own.harvest_share.to("1"), "1", own.harvest_share.text, about=own.id)
    row = tables.row("balance", "share_harvested", "set-stocked or slow rotation")
    return Figure(
        "share_harvested", row.middle() * PERCENT, "1", origins=row.figure("share_harvested").origins
    )


def supply_of(scene: Scene, paddock: Paddock) -> Supply:
    """Return what a paddock yields for stock in a year."""
    own = scene.farm.sward_of(paddock)
    kind = own.kind if own is not None else ""
    if own is None or own.yearly_yield is None:
        return Supply(paddock.id, paddock.name, kind, None)
    grown = typed("yearly_yield", own.yearly_yield.to("kg/ha"), "kg/ha", own.yearly_yield.text, about=own.id)
    share = share_harvested(scene, paddock)
    kg = paddock.grazed_ha * (grown.value or 0.0) * (share.value or 0.0)
    formula = f"{paddock.grazed_ha:.4g} ha × {grown.value:.5g} kg/ha × {share.value:.3g}"
    figure = Figure("supply", kg, "kg", formula=formula, parts=(grown, share), about=paddock.name)
    return Supply(paddock.id, paddock.name, kind, figure)


def months_balance(scene: Scene) -> MonthsBalance:
    """Return the balance of the season that today is in."""
    first, last = season_of(scene.farm, scene.days[0])
    land = [p for p in scene.farm.paddocks if _counts(p, first, last)]
    supplies = tuple(supply_of(scene, p) for p in land)
    eaters = eaten(scene, first, last)
    supply = _sum("supply", [s.of for s in supplies])
    need = _sum("feed_need", [e.need for e in eaters])
    spare = None
    if supply is not None and need is not None:
        left = (supply.value or 0.0) - (need.value or 0.0)
        formula = f"{supply.value:.6g} − {need.value:.6g} kg"
        spare = Figure("feed_spare", left, "kg", formula=formula, parts=(supply, need))
    return MonthsBalance(
        first, last, supplies, eaters, supply, need, spare, tuple(_months(supplies, eaters, first, last))
    )


def _counts(paddock: Paddock, first: date, last: date) -> bool:
    return (paddock.from_day or first) < last and first < (paddock.to_day or last)


def _sum(name: str, parts: list[Figure | None]) -> Figure | None:
    """Return the sum of figures; None where one is not known or none is there."""
    known = [part for part in parts if part is not None]
    if not known or len(known) < len(parts):
        return None
    formula = " + ".join(f"{part.value:.5g}" for part in known)
    return Figure(
        name, sum(part.value or 0.0 for part in known), "kg", formula=f"{formula} kg", parts=tuple(known)
    )


# ---------------------------------------------------------------- month by month


def month_share(kind: str, month: int) -> float | None:
    """Return the share of a year's yield that falls in a month; None where the sward has no row. [1]

    Printed shares sum to 99 or 101 by rounding: they are scaled to the whole.
    """
    forage = SPREAD.get(kind)
    if forage is None:
        return None
    rows = {m: tables.row("balance", "month_share", f"{forage}, {m}").middle() for m in range(4, 13)}
    return rows.get(month, 0.0) / sum(rows.values())


def _months(
    supplies: tuple[Supply, ...], eaters: tuple[Eaten, ...], first: date, last: date
) -> Iterator[Month]:
    needs: dict[tuple[int, int], float] = {}
    for one in eaters:
        for year, month, kg in one.by_month:
            needs[year, month] = needs.get((year, month), 0.0) + kg
    year, month = first.year, first.month
    while date(year, month, 1) < last:
        need = needs.get((year, month), 0.0)
        supply = _month_supply(supplies, month)
        yield Month(year, month, supply, need, supply - need if supply is not None else None)
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)


def _month_supply(supplies: tuple[Supply, ...], month: int) -> float | None:
    total = 0.0
    for one in supplies:
        share = month_share(one.kind, month)
        if one.of is None or share is None:
            return None
        total += (one.of.value or 0.0) * share
    return total if supplies else None


# ---------------------------------------------------------------- the page


def balance_account(scene: Scene) -> Account:
    """Return the page: supply by paddock, need by class, what is spare, month by month."""
    made = months_balance(scene)
    figures = tuple(f for f in (made.spare, made.supply, made.need) if f is not None)
    head = tuple(say(f"account.balance.head.{c}") for c in ("month", "supply", "need", "spare"))
    rows = tuple(_row(scene, month) for month in made.months)
    return Account("browseline/balance/1", "balance", tuple(_told(scene, made)), figures, head, rows)


def _mass(scene: Scene, kg: float | None) -> str:
    if kg is None:
        return say("account.not_known")
    return shown(kg, "mass", scene.farm.units, 0)


def _row(scene: Scene, month: Month) -> tuple[str, ...]:
    name = f"{say(f'dates.month.{month.month}')} {month.year}"
    return (name, *(_mass(scene, kg) for kg in (month.supply_kg, month.need_kg, month.spare_kg)))


def _told(scene: Scene, made: MonthsBalance) -> Iterator[str]:
    days = (made.last - made.first).days
    yield say("account.balance.season", first=dated(made.first), last=dated(made.last), days=days)
    yield from season_notes(scene.farm)
    if made.first < scene.farm.as_of:
        yield say("account.balance.from", day=dated(scene.farm.as_of))
    yield from _told_supply(scene, made)
    for one in made.eaters:
        kg = one.need.value if one.need is not None else None
        key = "need" if one.need is not None else "need_unknown"
        yield say(f"account.balance.{key}", klass=one.klass, amount=_mass(scene, kg), days=one.head_days)
    yield from _told_spare(scene, made)
    if made.supply is None:
        yield say("account.balance.trees")
        return
    if any(month.supply_kg is None for month in made.months):
        yield say("account.balance.no_months")
    elif any((month.spare_kg or 0.0) < 0 for month in made.months):
        short = (say(f"dates.month.{m.month}") for m in made.months if (m.spare_kg or 0.0) < 0)
        yield say("account.balance.short_months", months=list_words(short))
    stand_ins = dict.fromkeys(SPREAD[s.kind] for s in made.supplies if s.kind in SPREAD)
    if stand_ins:
        yield say("account.balance.spread", forage=list_words(stand_ins))
    yield say("account.balance.trees")


def _told_supply(scene: Scene, made: MonthsBalance) -> Iterator[str]:
    area = sum(p.grazed_ha for p in scene.farm.paddocks if p.id in {s.paddock for s in made.supplies})
    unread = [s.name for s in made.supplies if s.of is None]
    if made.supply is not None:
        acres = shown(area, "area", scene.farm.units)
        yield say("account.balance.supply", area=acres, amount=_mass(scene, made.supply.value))
    if unread:
        yield say("account.balance.no_yield", paddocks=list_words(unread))
    outside = [p.name for p in scene.farm.plantings if p.paddock is None]
    if outside:
        yield say("account.balance.outside", plantings=list_words(outside))


def _told_spare(scene: Scene, made: MonthsBalance) -> Iterator[str]:
    if made.need is not None:
        yield say("account.balance.needs", amount=_mass(scene, made.need.value))
    if made.spare is None or made.supply is None:
        yield say("account.balance.open")
        return
    spare = made.spare.value or 0.0
    share = 100 * abs(spare) / (made.supply.value or 1.0)
    key = "spare" if spare >= 0 else "short"
    yield say(f"account.balance.{key}", amount=_mass(scene, abs(spare)), share=f"{share:.0f}")
