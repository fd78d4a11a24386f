"""The balance of forage and animals in words and as a table of months."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.farm.herd_words import class_words
from browseline.figures import Figure
from browseline.ledger.account import Account, dated, season_notes
from browseline.ledger.balance_ages import TABLE, AgedLight, AtAge, balance_by_age
from browseline.ledger.balance_months import Grown, Month, MonthsBalance, months_balance
from browseline.ledger.eaters import Eaten
from browseline.limits import Scene
from browseline.sward.spread import SPREAD
from browseline.units import shown
from browseline.words import linked, list_words, say


def balance_account(scene: Scene, grown: Grown | None = None, aged: AgedLight | None = None) -> Account:
    """Return the page: supply by paddock, need by class, what is spare, by month and by age of trees."""
    made = months_balance(scene, grown)
    ages = balance_by_age(scene, made, aged) if aged is not None else ()
    figures = tuple(f for f in (made.spare, made.supply, made.need) if f is not None)
    figures += tuple(f for one in ages for f in (one.supply, one.spare) if f is not None)
    head = tuple(say(f"account.balance.head.{c}") for c in ("month", "supply", "need", "spare"))
    rows = tuple(_row(scene, month) for month in made.months)
    return Account("browseline/balance/1", "balance", tuple(_told(scene, made, ages)), figures, head, rows)


def _mass(scene: Scene, figure: Figure | None) -> str:
    if figure is None:
        return say("account.not_known")
    return linked(shown(figure.value or 0.0, "mass", scene.farm.units, 0), figure)


def _ends(scene: Scene, figure: Figure) -> tuple[str, str]:
    """Return the ends of a range, each of them the figure's own."""
    low, high = (
        linked(shown(kg or 0.0, "mass", scene.farm.units, 0), figure) for kg in (figure.low, figure.high)
    )
    return low, high


def _row(scene: Scene, month: Month) -> tuple[str, ...]:
    name = f"{say(f'dates.month.{month.number}')} {month.month[:4]}"
    supply = _mass(scene, month.supply)
    if month.supply is not None and month.supply.low is not None:
        low, high = _ends(scene, month.supply)
        supply = say("account.balance.ranged", likely=supply, low=low, high=high)
    return (name, supply, _mass(scene, month.need), _mass(scene, month.spare))


def _told(scene: Scene, made: MonthsBalance, ages: tuple[AtAge, ...]) -> Iterator[str]:
    days = linked(f"{made.days.value:.0f}", made.days)
    yield say("account.balance.season", first=dated(made.first), last=dated(made.last), days=days)
    yield from season_notes(scene.farm)
    if made.first < scene.farm.as_of:
        yield say("account.balance.from", day=dated(scene.farm.as_of))
    yield from _told_supply(scene, made)
    yield from (_told_need(scene, one) for one in made.eaters)
    yield from _told_spare(scene, made)
    if made.supply is not None:
        yield from _told_months(made)
    yield from _told_ages(scene, ages) if ages else (say("account.balance.trees"),)


def _told_ages(scene: Scene, ages: tuple[AtAge, ...]) -> Iterator[str]:
    """Yield the balance for each age of the trees, and which paddocks yield less by then."""
    yield say("account.balance.ages")
    for one in ages:
        names = [p.name for p in scene.farm.paddocks if p.id in one.fallen]
        spare = one.spare.value or 0.0 if one.spare is not None else 0.0
        key = "open" if one.spare is None else "spare" if spare >= 0 else "short"
        size = linked(shown(abs(spare), "mass", scene.farm.units, 0), one.spare) if one.spare else ""
        yield say(
            f"account.balance.age.{key}", years=_years(one), supply=_mass(scene, one.supply), amount=size
        )
        if names:
            yield say("account.balance.age.less", years=_years(one), paddocks=list_words(names))


def _years(one: AtAge) -> str:
    return linked(f"{one.age}", Figure("tree_age", float(one.age), "yr", origins=TABLE))


def _told_need(scene: Scene, one: Eaten) -> str:
    key = "need" if one.need is not None else "need_unknown"
    head_days = linked(f"{one.head_days.value:,.0f}", one.head_days)
    return say(
        f"account.balance.{key}",
        klass=class_words(one.klass, 2),
        amount=_mass(scene, one.need),
        days=head_days,
    )


def _told_months(made: MonthsBalance) -> Iterator[str]:
    """Yield the months that are short, and which forage stands in for the sward."""
    short = [say(f"dates.month.{month.number}") for month in made.months if month.short]
    if short:
        yield say("account.balance.short_months", months=list_words(short))
    spread = [s.kind for s in made.supplies if s.kind in SPREAD and s.by_month is None]
    stand_ins = dict.fromkeys(SPREAD[kind] for kind in spread)
    if stand_ins:
        yield say("account.balance.spread", forage=list_words(stand_ins))


def _told_supply(scene: Scene, made: MonthsBalance) -> Iterator[str]:
    modelled = [s.name for s in made.supplies if s.by_month is not None]
    if made.supply is not None:
        acres = linked(shown(made.area.value or 0.0, "area", scene.farm.units), made.area)
        key = "supply_grown" if modelled else "supply"
        low, high = _ends(scene, made.supply)
        yield say(f"account.balance.{key}", area=acres, amount=_mass(scene, made.supply), low=low,
                  high=high)  # fmt: skip
    unread = [s.name for s in made.supplies if s.of is None]
    outside = [p.name for p in scene.farm.plantings if p.paddock is None]
    if modelled:
        yield say("account.balance.modelled", paddocks=list_words(modelled))
    yield from [say("account.balance.no_yield", paddocks=list_words(unread))] if unread else []
    yield from [say("account.balance.outside", plantings=list_words(outside))] if outside else []


def _told_spare(scene: Scene, made: MonthsBalance) -> Iterator[str]:
    if made.need is not None:
        yield say("account.balance.needs", amount=_mass(scene, made.need))
    if made.spare is None or made.share is None:
        yield say("account.balance.open")
        return
    spare = made.spare.value or 0.0
    size = linked(shown(abs(spare), "mass", scene.farm.units, 0), made.spare)
    share = linked(f"{100 * (made.share.value or 0.0):.0f}", made.share)
    yield say(f"account.balance.{'spare' if spare >= 0 else 'short'}", amount=size, share=share)
