"""The balance of forage and animals in words and as a table of months."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.ledger.account import Account, dated, season_notes
from browseline.ledger.balance_months import SPREAD, Grown, Month, MonthsBalance, months_balance
from browseline.limits import Scene
from browseline.units import shown
from browseline.words import list_words, say


def balance_account(scene: Scene, grown: Grown | None = None) -> Account:
    """Return the page: supply by paddock, need by class, what is spare, month by month."""
    made = months_balance(scene, grown)
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
    supply = _mass(scene, month.supply_kg)
    if month.low_kg is not None and month.high_kg is not None:
        low, high = (_mass(scene, kg) for kg in (month.low_kg, month.high_kg))
        supply = say("account.balance.ranged", likely=supply, low=low, high=high)
    return (name, supply, _mass(scene, month.need_kg), _mass(scene, month.spare_kg))


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
    if any((month.spare_kg or 0.0) < 0 for month in made.months):
        short = (say(f"dates.month.{m.month}") for m in made.months if (m.spare_kg or 0.0) < 0)
        yield say("account.balance.short_months", months=list_words(short))
    spread = [s.kind for s in made.supplies if s.kind in SPREAD and s.by_month is None]
    stand_ins = dict.fromkeys(SPREAD[kind] for kind in spread)
    if stand_ins:
        yield say("account.balance.spread", forage=list_words(stand_ins))
    yield say("account.balance.trees")


def _told_supply(scene: Scene, made: MonthsBalance) -> Iterator[str]:
    area = sum(p.grazed_ha for p in scene.farm.paddocks if p.id in {s.paddock for s in made.supplies})
    unread = [s.name for s in made.supplies if s.of is None]
    modelled = [s.name for s in made.supplies if s.by_month is not None]
    if made.supply is not None:
        acres = shown(area, "area", scene.farm.units)
        key = "supply_grown" if modelled else "supply"
        low, high = (_mass(scene, x) for x in (made.supply.low, made.supply.high))
        yield say(f"account.balance.{key}", area=acres, amount=_mass(scene, made.supply.value), low=low,
                  high=high)  # fmt: skip
    if modelled:
        yield say("account.balance.modelled", paddocks=list_words(modelled))
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
