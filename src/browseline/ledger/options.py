"""Ways out of too little feed, in order of money. The tool puts them side by side and chooses none."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

from browseline.farm.herd_words import class_words
from browseline.figures import Figure, typed
from browseline.ledger.balance import Balance, Ground, balances, grass_days
from browseline.ledger.facts import rounded_up
from browseline.ledger.hay import Bale, Lasting, sold, whole_bales
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say

STEP = 10
"""Animals are offered for sale by tens: nobody sells 37.96 lambs."""
WEEK_D = 7


@dataclass(frozen=True)
class Outcome:
    """What is left to buy in one growth when an option is taken: bales, spare as eaten, money.

    ``buy`` and ``bill`` are bales and money as figures.
    """

    case: str
    bales: int
    spare: Figure | None
    money: Decimal | None
    currency: str
    buy: Figure
    bill: Figure | None = None


@dataclass(frozen=True)
class Option:
    """One way out: what it is, what it saves and leaves to buy, how long the grass lasts then.

    ``saved`` is in bales, as a fraction. ``key`` is *buy*, *sell*, *feeder*, *later* or *nothing*.
    """

    key: str
    words: str
    saved: Figure | None
    outcomes: tuple[Outcome, ...]
    lasts: Lasting | None = None
    head: int = 0
    klass: str = ""
    figures: tuple[Figure, ...] = ()

    @property
    def money(self) -> Decimal | None:
        """Return what is to be spent on hay in the worst growth."""
        known = [o.money for o in self.outcomes if o.money is not None]
        return max(known) if known else None


def options(there: Ground, last: date) -> tuple[Option, ...]:
    """Return the ways out up to ``last``, the cheapest first; empty where nothing is short.

    Doing nothing comes last: it costs nothing and ends on the day that is told.
    """
    found = balances(there, last)
    bale = there.store.bale if there.store is not None else None
    if not found or bale is None or found[0].short_kg <= 0:
        return ()
    ways = [
        _buy(there, found, bale),
        *_sales(there, found, bale, last),
        *_feeder(there, found, bale),
        *_later(there, found, bale, last),
    ]
    return (*sorted(ways, key=_dearness), _nothing(found, bale, last))


def _dearness(option: Option) -> tuple[Decimal, int, str]:
    most = max(o.bales for o in option.outcomes)
    return (option.money if option.money is not None else Decimal(most), most, option.key)


def sell(there: Ground, last: date, kind: str, klass: str, head: int) -> Option | None:
    """Return what selling so many animals now does; None where no bale is described or need is unknown."""
    found = balances(there, last)
    bale = there.store.bale if there.store is not None else None
    return _sell(there, found, bale, last, kind, klass, head) if found and bale is not None else None


def outcome(balance: Balance, bale: Bale, short_kg: float | None = None) -> Outcome:
    """Return what is left to buy in one growth."""
    short = balance.short_kg if short_kg is None else short_kg
    bales = whole_bales(short, bale)
    money = Decimal(bales) * Decimal(str(float(bale.price.value))) if bale.price is not None else None
    spare = None
    if short <= 0:
        spare = Figure("feed_spare", -short, "kg", parts=(balance.short,), formula=f"{-short:.4g} kg")
    currency = bale.price.unit if bale.price else ""
    buy = _to_buy(bales, short, balance, bale)
    return Outcome(balance.case.label, bales, spare, money, currency, buy, _bill(buy, bale))


def _to_buy(bales: int, short_kg: float, balance: Balance, bale: Bale) -> Figure:
    """Return the bales that close a gap, rounded up. [bales]"""
    formula = rounded_up(f"{max(short_kg, 0.0):.7g} kg ÷ {bale.eaten.value:.7g} kg")
    parts, about = (balance.short, bale.eaten), str(balance.case.label)
    return Figure("bales_to_buy", bales, "bales", formula=formula, parts=parts, about=about)


def _bill(buy: Figure, bale: Bale) -> Figure | None:
    """Return what bales cost; None where no price is typed."""
    if bale.price is None:
        return None
    each = typed("bale_price", float(bale.price.value), bale.price.unit, bale.price.text, about=bale.lot)
    value = (buy.value or 0.0) * (each.value or 0.0)
    formula = f"{buy.value:g} × {each.value:g}"
    parts, about = (buy, each), buy.about
    return Figure("hay_bill", value, bale.price.unit, formula=formula, parts=parts, about=about)


def outcome_words(there: Ground, made: Outcome) -> str:
    """Return an outcome as people say it: 22 bales, $1,320; or none, with 338 lb spare."""
    if made.spare is not None:
        return say(
            "feed.outcome.spare", spare=shown(made.spare.value or 0.0, "mass", there.scene.farm.units, 0)
        )
    count = linked(f"{made.bales}", made.buy)
    if made.money is None or made.bill is None:
        return say("feed.outcome.bales", count=count)
    money = linked(money_words(made.money, made.currency), made.bill)
    return say("feed.outcome.money", count=count, money=money)


def money_words(money: Decimal, currency: str) -> str:
    """Return an amount in whole units of its currency."""
    amount = f"{money:,.0f}"
    if currency == "USD":
        return say("feed.money.usd", amount=amount)
    return say("feed.money.other", amount=amount, currency=currency)


def _both(there: Ground, outcomes: Iterable[Outcome]) -> str:
    told = [(o.case, outcome_words(there, o)) for o in outcomes]
    if len(told) == 1:
        return told[0][1]
    return list_words(say("feed.outcome.case", what=what, case=case) for case, what in told)


def _buy(there: Ground, found: Sequence[Balance], bale: Bale) -> Option:
    outcomes = tuple(outcome(b, bale) for b in found)
    return Option("buy", say("feed.option.buy", outcome=_both(there, outcomes)), None, outcomes)


def _sales(there: Ground, found: Sequence[Balance], bale: Bale, last: date) -> list[Option]:
    """Return one step of a sale for every class, and the sale that closes the gap in the kindest growth."""
    out = []
    for kind, klass, there_are in _classes(there):
        one = _sell(there, found, bale, last, kind, klass, STEP)
        out += [one] if one is not None else []
        saved = one.saved.value if one is not None and one.saved is not None else 0.0
        gap = found[-1].short_kg / (bale.eaten.value or 1.0)
        needed = min(math.ceil(gap / saved) * STEP, there_are) if saved else 0
        whole = _sell(there, found, bale, last, kind, klass, needed) if needed > STEP else None
        out += [whole] if whole is not None else []
    return out


def _classes(there: Ground) -> list[tuple[str, str, int]]:
    """Return (kind, class, head) of what is the farm's own to sell, ten at least."""
    heads: dict[tuple[str, str], int] = {}
    for mob in there.mobs:
        for line in () if mob.owner or mob.due else mob.lines:
            heads[line.kind, line.klass] = heads.get((line.kind, line.klass), 0) + line.head
    return [(kind, klass, n) for (kind, klass), n in heads.items() if n >= STEP]


def _sell(
    there: Ground, found: Sequence[Balance], bale: Bale, last: date, kind: str, klass: str, head: int
) -> Option | None:  # fmt: skip
    fewer = sold(there.mobs, kind, klass, head)
    after = balances(there, last, fewer)
    if not after:
        return None
    kept = (found[0].need.value or 0.0) - (after[0].need.value or 0.0)
    saved = _bales("bales_saved", kept, bale, f"{head} × {klass}")
    outcomes = tuple(outcome(b, bale) for b in after)
    lasts = grass_days(there.scene, there, there.cases[0], fewer) if there.ground.which else None
    selling = Figure("head_to_sell", head, "head", formula=say("feed.option.tens"), about=klass)
    fields = {
        "head": linked(f"{head}", selling), "klass": class_words(klass, head), "saved": _one(saved),
        "outcome": _both(there, outcomes),
    }  # fmt: skip
    if lasts is None:
        words = say("feed.option.sell", **fields)
    else:
        words = say("feed.option.sell_grass", days=_one(lasts.days), **fields)
    return Option("sell", words, saved, outcomes, lasts, head, klass, (selling,))


def _one(figure: Figure) -> str:
    return linked(f"{figure.value:.1f}", figure)


def _bales(name: str, kg: float, bale: Bale, about: str) -> Figure:
    formula = f"{kg:.5g} kg ÷ {bale.eaten.value:.4g} kg"
    return Figure(
        name, kg / (bale.eaten.value or 1.0), "bales", formula=formula, parts=(bale.eaten,), about=about
    )


def _feeder(there: Ground, found: Sequence[Balance], bale: Bale) -> list[Option]:
    """Return a feeder that loses half as much, if loss in feeding was typed."""
    loss = bale.feeding_loss.value or 0.0
    if "feeding_loss" in bale.not_typed or loss <= 0:
        return []
    better = bale.better_fed(loss / 2)
    in_store = there.store.bales.value or 0.0 if there.store is not None else 0.0
    more = (better.eaten.value or 0.0) - (bale.eaten.value or 0.0)
    outcomes = tuple(outcome(b, better, b.short_kg - in_store * more) for b in found)
    hay_need = found[0].short_kg + (found[0].store.value or 0.0)
    saved = Figure(
        "bales_saved", hay_need / (bale.eaten.value or 1.0) - hay_need / (better.eaten.value or 1.0), "bales",
        formula=f"{hay_need:.5g} kg ÷ {bale.eaten.value:.4g} − {hay_need:.5g} kg ÷ {better.eaten.value:.4g}",
        parts=(bale.eaten, better.eaten), about="feeder",
    )  # fmt: skip
    words = say(
        "feed.option.feeder", loss=linked(f"{100 * loss:.3g}", bale.feeding_loss), saved=_one(saved),
        less=linked(f"{50 * loss:.3g}", better.feeding_loss), outcome=_both(there, outcomes),
    )  # fmt: skip
    return [Option("feeder", words, saved, outcomes)]


def _later(there: Ground, found: Sequence[Balance], bale: Bale, last: date) -> list[Option]:
    """Return what a week less of it saves: grass earlier, or the first grazing brought forward."""
    sooner = last - timedelta(days=WEEK_D)
    if sooner <= there.scene.days[0]:
        return []
    after = balances(there, sooner)
    saved = _bales("bales_saved", found[0].short_kg - after[0].short_kg, bale, "week")
    outcomes = tuple(outcome(b, bale) for b in after)
    words = say("feed.option.week", day=day_words(sooner), saved=_one(saved), outcome=_both(there, outcomes))
    return [Option("later", words, saved, outcomes)]


def _nothing(found: Sequence[Balance], bale: Bale, last: date) -> Option:
    told = [(b.case.label, _ending(b.all_last, last)) for b in found]
    if len(told) == 1:
        ends = told[0][1]
    else:
        ends = list_words(say("feed.outcome.case", what=what, case=case) for case, what in told)
    words = say("feed.option.nothing", ends=ends)
    none = tuple(replace(outcome(b, bale), money=None, bill=None) for b in found)
    return Option("nothing", words, None, none, found[0].all_last)


def _ending(end: Lasting | None, last: date) -> str:
    if end is None or end.out >= last:
        return say("feed.until.past", last=day_words(last))
    ends = (linked(day_words(day), end.days) for day in (end.last_full, end.out))
    return say("feed.until.days", last=next(ends), out=next(ends))
