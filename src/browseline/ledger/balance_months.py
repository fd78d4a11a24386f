"""Forage against animals, year and months: what paddocks yield for stock, what stock need of it.

Supply is a typed yearly yield × the share that stock may have × the grazed area. Where nobody typed a
yield and the weather is known, it is what the season's weather grows, as a range over the members;
where neither is known nothing is guessed. It is the yield under today's trees: how it falls as crowns
close comes with the decades.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm.records import Paddock
from browseline.figures import Figure, typed
from browseline.ledger.account import season_of
from browseline.ledger.eaters import Eaten, eaten
from browseline.limits import Scene
from browseline.units import factor
from browseline.words import say

Array = NDArray[np.float64]
QUANTILES = (0.1, 0.5, 0.9)
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
class Grown:
    """What the weather grows in a season, cut back every ``rest_d`` days to the height to leave.

    ``kg_ha`` has shape (member, month, paddock), ``months`` (year, month) in order. [kg DM/ha]
    """

    paddocks: tuple[str, ...]
    months: tuple[tuple[int, int], ...]
    kg_ha: Array
    rest_d: int


@dataclass(frozen=True)
class Supply:
    """What one paddock yields for stock: in a year as typed, or over the season as modelled.

    ``of`` is None where neither is known; ``by_month`` is shaped (member, month) and None where the
    yield was typed. [kg DM]
    """

    paddock: str
    name: str
    kind: str
    of: Figure | None
    by_month: Array | None = None


@dataclass(frozen=True)
class Month:
    """One month: supply (None where the sward's spread is not known), need, and supply less need. [kg DM]

    ``low_kg`` and ``high_kg`` are the 80 % range of the supply where weather made it.
    """

    year: int
    month: int
    supply_kg: float | None
    need_kg: float
    spare_kg: float | None
    low_kg: float | None = None
    high_kg: float | None = None


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


def supply_of(scene: Scene, paddock: Paddock, grown: Grown | None = None) -> Supply:
    """Return what a paddock yields for stock: typed, else grown by the weather, else not known."""
    own = scene.farm.sward_of(paddock)
    kind = own.kind if own is not None else ""
    share = share_harvested(scene, paddock)
    if own is None or own.yearly_yield is None:
        return _modelled(scene, paddock, kind, share, grown)
    typed_yield = typed(
        "yearly_yield", own.yearly_yield.to("kg/ha"), "kg/ha", own.yearly_yield.text, about=own.id
    )
    kg = paddock.grazed_ha * (typed_yield.value or 0.0) * (share.value or 0.0)
    formula = f"{paddock.grazed_ha:.4g} ha × {typed_yield.value:.5g} kg/ha × {share.value:.3g}"
    figure = Figure("supply", kg, "kg", formula=formula, parts=(typed_yield, share), about=paddock.name)
    return Supply(paddock.id, paddock.name, kind, figure)


def _modelled(scene: Scene, paddock: Paddock, kind: str, share: Figure, grown: Grown | None) -> Supply:
    if grown is None or paddock.id not in grown.paddocks:
        return Supply(paddock.id, paddock.name, kind, None)
    at = grown.paddocks.index(paddock.id)
    kg = grown.kg_ha[:, :, at] * paddock.grazed_ha * (share.value or 0.0)
    low, middle, high = np.quantile(kg.sum(axis=1), QUANTILES)
    fertility = scene.herbage.numbers[scene.herbage.paddocks.index(paddock.id)].fertility
    formula = say("account.balance.grown_formula", area=f"{paddock.grazed_ha:.4g} ha",
                  share=f"{share.value:.3g}", rest=grown.rest_d)  # fmt: skip
    figure = Figure("supply", float(middle), "kg", float(low), float(high), formula=formula,
                    parts=(fertility, share), about=paddock.name)  # fmt: skip
    return Supply(paddock.id, paddock.name, kind, figure, kg)


def months_balance(scene: Scene, grown: Grown | None = None) -> MonthsBalance:
    """Return the balance of the season that today is in.

    Parameters
    ----------
    grown : Grown, optional
        What the weather grows where nobody typed a yield.
    """
    first, last = season_of(scene.farm, scene.days[0])
    land = [p for p in scene.farm.paddocks if _counts(p, first, last)]
    supplies = tuple(supply_of(scene, p, grown) for p in land)
    eaters = eaten(scene, first, last)
    supply = _ranged(_sum("supply", [s.of for s in supplies]), supplies)
    need = _sum("feed_need", [e.need for e in eaters])
    spare = None
    if supply is not None and need is not None:
        left = (supply.value or 0.0) - (need.value or 0.0)
        formula = f"{supply.value:.6g} − {need.value:.6g} kg"
        low, high = (x - (need.value or 0.0) if x is not None else None for x in (supply.low, supply.high))
        spare = Figure("feed_spare", left, "kg", low, high, formula=formula, parts=(supply, need))
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


def _ranged(total: Figure | None, supplies: tuple[Supply, ...]) -> Figure | None:
    """Return the sum of the supplies with its range: members are added up before the range is taken."""
    members = [s.by_month.sum(axis=1) for s in supplies if s.by_month is not None]
    if total is None or not members:
        return total
    typed_kg = sum((s.of.value or 0.0) for s in supplies if s.of is not None and s.by_month is None)
    low, middle, high = (float(x) + typed_kg for x in np.quantile(np.sum(members, axis=0), QUANTILES))
    return replace(total, value=middle, low=low, high=high, formula=say("account.balance.sum_formula"))


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
    for at, (year, month) in enumerate(months_of(first, last)):
        need = needs.get((year, month), 0.0)
        found = _month_supply(supplies, month, at)
        if found is None:
            yield Month(year, month, None, need, None)
            continue
        low, middle, high = found
        ranged = (low, high) if low < high else (None, None)
        yield Month(year, month, middle, need, middle - need, *ranged)


def months_of(first: date, last: date) -> tuple[tuple[int, int], ...]:
    """Return the calendar months that a stretch of days touches, ``last`` not included."""
    out, year, month = [], first.year, first.month
    while date(year, month, 1) < last:
        out.append((year, month))
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    return tuple(out)


def _month_supply(supplies: tuple[Supply, ...], month: int, at: int) -> tuple[float, float, float] | None:
    """Return low, likely and high supply of a month; None where a part of it is not known. [kg DM]"""
    typed_kg, members = 0.0, []
    for one in supplies:
        share = month_share(one.kind, month)
        if one.by_month is not None:
            members.append(one.by_month[:, at])
        elif one.of is None or share is None:
            return None
        else:
            typed_kg += (one.of.value or 0.0) * share
    if not members:
        return typed_kg, typed_kg, typed_kg
    low, middle, high = (float(x) + typed_kg for x in np.quantile(np.sum(members, axis=0), QUANTILES))
    return low, middle, high
