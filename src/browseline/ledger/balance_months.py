"""Forage against animals, year and months: what paddocks yield for stock, what stock need of it.

Supply is a typed yearly yield × the share that stock may have × the grazed area. Where nobody typed a
yield and the weather is known, it is what the season's weather grows, as a range over the members;
where neither is known nothing is guessed. It is the yield under today's trees: how it falls as crowns
close comes with the decades.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm.records import Paddock
from browseline.figures import Figure, typed
from browseline.ledger.account import season_of
from browseline.ledger.eaters import Eaten, eaten
from browseline.ledger.facts import area, area_of_all, counted, days_between
from browseline.limits import Scene
from browseline.sward.spread import month_share
from browseline.units import factor
from browseline.words import say

Array = NDArray[np.float64]
QUANTILES = (0.1, 0.5, 0.9)
PERCENT = factor("%", "1")


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
    """One month: supply and spare (None where the sward's spread is not known), need. [kg DM]

    The range of the supply, where weather made it, holds 80 % of the members.
    """

    month: str
    supply: Figure | None
    need: Figure
    spare: Figure | None

    @property
    def number(self) -> int:
        """Return the month of the year, from 1."""
        return int(self.month[5:])

    @property
    def short(self) -> bool:
        """Return whether the supply is less than the need."""
        return self.spare is not None and (self.spare.value or 0.0) < 0


@dataclass(frozen=True)
class MonthsBalance:
    """The balance of a season: supply of a year against the need of the season's days.

    ``supply``, ``need`` and ``spare`` are None where a part of them is not known; a spare below 0 is
    short. [kg DM] ``share`` is the spare over the supply [1], ``days`` the season [d], ``area`` the grazed
    land that counts [ha].
    """

    first: date
    last: date
    days: Figure
    area: Figure
    supplies: tuple[Supply, ...]
    eaters: tuple[Eaten, ...]
    supply: Figure | None
    need: Figure | None
    spare: Figure | None
    share: Figure | None
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
    parts = (area(paddock), typed_yield, share)
    figure = Figure("supply", kg, "kg", formula=formula, parts=parts, about=paddock.name)
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
                    parts=(area(paddock), fertility, share), about=paddock.name)  # fmt: skip
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
    spare = _less(supply, need, "") if supply is not None and need is not None else None
    return MonthsBalance(
        first, last, days_between(first, last), area_of_all(land, scene.farm.name), supplies, eaters, supply,
        need, spare, _share(spare, supply), tuple(_months(supplies, eaters, first, last)),
    )  # fmt: skip


def _less(supply: Figure, need: Figure, about: str) -> Figure:
    """Return supply less need, with the range of the supply. [kg DM]"""
    left = (supply.value or 0.0) - (need.value or 0.0)
    low, high = (x - (need.value or 0.0) if x is not None else None for x in (supply.low, supply.high))
    formula = f"{supply.value:.6g} kg − {need.value:.6g} kg"
    return Figure("feed_spare", left, "kg", low, high, formula=formula, parts=(supply, need), about=about)


def _share(spare: Figure | None, supply: Figure | None) -> Figure | None:
    """Return the spare over the supply, in size; None where either is not known. [1]"""
    if spare is None or supply is None or not supply.value:
        return None
    share = abs(spare.value or 0.0) / supply.value
    formula = f"{abs(spare.value or 0.0):.6g} kg ÷ {supply.value:.6g} kg"
    return Figure("spare_share", share, "1", formula=formula, parts=(spare, supply))


def _counts(paddock: Paddock, first: date, last: date) -> bool:
    return (paddock.from_day or first) < last and first < (paddock.to_day or last)


def _sum(name: str, parts: list[Figure | None]) -> Figure | None:
    """Return the sum of figures; None where one is not known or none is there."""
    known = [part for part in parts if part is not None]
    if not known or len(known) < len(parts):
        return None
    formula = " + ".join(f"{part.value:.5g} kg" for part in known)
    return Figure(name, sum(part.value or 0.0 for part in known), "kg", formula=formula, parts=tuple(known))


def _ranged(total: Figure | None, supplies: tuple[Supply, ...]) -> Figure | None:
    """Return the sum of the supplies with its range: members are added up before the range is taken."""
    members = [s.by_month.sum(axis=1) for s in supplies if s.by_month is not None]
    if total is None or not members:
        return total
    typed_kg = sum((s.of.value or 0.0) for s in supplies if s.of is not None and s.by_month is None)
    low, middle, high = (float(x) + typed_kg for x in np.quantile(np.sum(members, axis=0), QUANTILES))
    return replace(total, value=middle, low=low, high=high, formula=say("account.balance.sum_formula"))


# ---------------------------------------------------------------- month by month


def _months(
    supplies: tuple[Supply, ...], eaters: tuple[Eaten, ...], first: date, last: date
) -> Iterator[Month]:
    for at, (year, month) in enumerate(months_of(first, last)):
        name = f"{year}-{month:02d}"
        need = _month_need(eaters, year, month, name)
        supply = _month_supply(supplies, month, at, name)
        yield Month(name, supply, need, _less(supply, need, name) if supply is not None else None)


def _month_need(eaters: tuple[Eaten, ...], year: int, month: int, name: str) -> Figure:
    """Return what all classes need in a month. [kg DM]"""
    parts = tuple(need for one in eaters for y, m, need in one.months if (y, m) == (year, month))
    if not parts:
        return counted("feed_need", 0.0, "kg", about=name, formula="0")
    formula = " + ".join(f"{part.value:.5g} kg" for part in parts)
    return Figure(
        "feed_need", sum(p.value or 0.0 for p in parts), "kg", formula=formula, parts=parts, about=name
    )


def months_of(first: date, last: date) -> tuple[tuple[int, int], ...]:
    """Return the calendar months that a stretch of days touches, ``last`` not included."""
    out, year, month = [], first.year, first.month
    while date(year, month, 1) < last:
        out.append((year, month))
        year, month = (year, month + 1) if month < 12 else (year + 1, 1)
    return tuple(out)


def _month_supply(supplies: tuple[Supply, ...], month: int, at: int, name: str) -> Figure | None:
    """Return the supply of a month; None where a part of it is not known. [kg DM]"""
    spread = _typed_month([one for one in supplies if one.by_month is None], month, name)
    grown = [one for one in supplies if one.by_month is not None]
    members = [one.by_month[:, at] for one in grown if one.by_month is not None]
    if spread is None or not members:
        return spread
    typed_kg = spread.value or 0.0
    low, middle, high = (float(x) + typed_kg for x in np.quantile(np.sum(members, axis=0), QUANTILES))
    ranged = low < high
    formula = " + ".join((say("account.balance.month_formula"), *([spread.formula] if spread.parts else [])))
    return Figure(
        "supply", middle, "kg", low if ranged else None, high if ranged else None, formula=formula,
        parts=(*_known(grown), *spread.parts), about=name,
    )  # fmt: skip


def _known(supplies: Sequence[Supply]) -> tuple[Figure, ...]:
    return tuple(one.of for one in supplies if one.of is not None)


def _typed_month(supplies: Sequence[Supply], month: int, name: str) -> Figure | None:
    """Return what typed yields give in a month; None where a yield or its spread is not known. [kg DM]"""
    yields = [(one.of, month_share(one.kind, month)) for one in supplies]
    known = [(of, share) for of, share in yields if of is not None and share is not None]
    if len(known) < len(yields):
        return None
    total = sum((of.value or 0.0) * (share.value or 0.0) for of, share in known)
    formula = " + ".join(f"{of.value:.5g} kg × {share.value:.3g}" for of, share in known) or "0"
    parts = tuple(dict.fromkeys(chain.from_iterable(known)))
    return Figure("supply", total, "kg", formula=formula, parts=parts, about=name)
