"""Is it for us? Hours against hours there are, the first tree crop, and whether trees on pasture pay."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

import numpy as np
import numpy.typing as npt

from browseline.chain import Picture
from browseline.decades import Yield
from browseline.farm.accounts import MoneyLine
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, typed
from browseline.ledger.hours import worked
from browseline.science import finance
from browseline.trials.alternatives import without_trees
from browseline.trials.cash import cash_of, line_worth
from browseline.trials.land_uses import LandUse
from browseline.trials.outcome import by_key, difference
from browseline.trials.told import told
from browseline.units import Quantity, amount_words, factor, plain
from browseline.words import joined, linked, list_words, say

Array = npt.NDArray[np.float64]
Verdict = Literal["pays", "only_if", "costs"]
TENTH = 10.0
MOST_TIMES = 10.0
HALVINGS = 40
WEEK_D, YEAR_D, WEEKS = 7, 365, 52
FEW_MONTHS = 6
"""Months with hours on record below which the record says nothing of a year; the tool's own."""


@dataclass(frozen=True)
class OnlyIf:
    """A price at which nine futures of ten are no worse than plain pasture: the smallest single change."""

    line: str
    was: Figure
    price: Figure


@dataclass(frozen=True)
class ForUs:
    """What trees on pasture earn against the same land as plain pasture.

    ``worth`` is the difference in worth today, ``yearly`` in money left of a year; both None without a plan.
    """

    verdict: Verdict | None
    worth: Figure | None
    yearly: Figure | None
    only_if: OnlyIf | None


def for_us(farm: Farm, uses: Sequence[LandUse]) -> ForUs:
    """Return whether the land pays better as it is than as plain pasture, member by member."""
    by_use = {one.use: one for one in uses}
    here, pasture = by_use.get("here"), by_use.get("pasture")
    if here is None or pasture is None or farm.money is None or not farm.plantings:
        return ForUs(None, None, None, None)
    worth, yearly = (_over(pasture, here, name) for name in ("worth_today", "cash_a_year"))
    if worth is None or worth.low is None or worth.high is None:
        return ForUs(None, None, None, None)
    if worth.low >= 0:
        return ForUs("pays", worth, yearly, None)
    if worth.high <= 0:
        return ForUs("costs", worth, yearly, None)
    return ForUs("only_if", worth, yearly, _only_if(farm, here, pasture))


def _over(pasture: LandUse, here: LandUse, name: str) -> Figure | None:
    """Return what the land as it is brings more than plain pasture. [money]"""
    key = ("money", name, "")
    return difference(by_key(pasture.measures).get(key), by_key(here.measures).get(key), "")


# ---------------------------------------------------------------- only if


def _only_if(farm: Farm, here: LandUse, pasture: LandUse) -> OnlyIf | None:
    """Return the smallest change of one price with which nine futures of ten are no worse."""
    plan, ahead = farm.money, here.projection
    if plan is None or ahead is None or here.cash is None or pasture.cash is None:
        return None
    rate = plan.discount.to("1")
    behind = finance.present_value(here.cash, rate) - finance.present_value(pasture.cash, rate)
    found = []
    for line in plan.lines:
        if line.kind != "income":
            continue
        times = _times(behind, line_worth(farm, ahead, ahead.members, line.id), _sale(line))
        if times is not None:
            found.append((abs(times - 1), line))
    for _, line in sorted(found, key=lambda one: one[0]):
        made = _least_paying(farm, line, here, pasture)
        if made is not None:
            return _told_if(line, made)
    return None


def _least_paying(farm: Farm, line: MoneyLine, here: LandUse, pasture: LandUse) -> Farm | None:
    """Return the farm with a line's least price, to the cent, at which the land pays; None if none does."""
    low, high = float(line.price.value) * 100 // 1, float(line.price.value) * MOST_TIMES * 100 // 1
    made = _priced(farm, line, high)
    if not _pays(made, here, pasture):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        tried = _priced(farm, line, middle)
        if _pays(tried, here, pasture):
            made, high = tried, middle
        else:
            low = middle
    return made


def _sale(line: MoneyLine) -> float:
    """Return what share of a line's money moves with its price: all, and what selling costs on top. [1]"""
    less = float(line.less.value) if line.less is not None else 0.0
    price = float(line.price.value)
    return price / (price - less) if price > less else 1.0


def _times(behind: Array, worth: Array, sale: float) -> float | None:
    """Return about how many times its price lifts the tenth of the futures to nothing; None if none does.

    About: where the price is drawn, what selling costs is no fixed share of a line's money.
    """

    def tenth(times: float) -> float:
        return float(np.percentile(behind + (times - 1) * sale * worth, TENTH))

    if tenth(MOST_TIMES) < 0:
        return None
    low, high = 1.0, MOST_TIMES
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if tenth(middle) >= 0 else (middle, high)
    return high


def _priced(farm: Farm, line: MoneyLine, cents: float) -> Farm:
    """Return the farm with one price of so many cents."""
    plan = farm.money
    if plan is None:
        return farm
    price = Quantity(
        amount_words(cents / 100, line.price.unit, 2), Fraction(round(cents), 100), line.price.unit
    )
    lines = tuple(replace(own, price=price) if own.id == line.id else own for own in plan.lines)
    return replace(farm, money=replace(plan, lines=lines))


def _pays(farm: Farm, here: LandUse, pasture: LandUse) -> bool:
    """Return whether a farm's plan, worked out anew, is no worse than pasture in nine futures of ten."""
    ahead, plan = here.projection, farm.money
    if ahead is None or plan is None or pasture.cash is None:
        return False
    cash = cash_of(farm, ahead, ahead.members)
    if cash is None:
        return False
    beside = cash_of(without_trees(farm), pasture.projection, ahead.members)
    if beside is None:
        return False
    rate = plan.discount.to("1")
    return bool(np.percentile(finance.present_value(cash - beside, rate), TENTH) >= -1e-6)


def _told_if(line: MoneyLine, farm: Farm) -> OnlyIf:
    plan = farm.money
    own = next(one for one in plan.lines if one.id == line.id) if plan is not None else line
    guess = (Origin("farm", basis="placeholder"),)
    price, unit = float(line.price.value), line.price.unit
    was = Figure("line_price", price, unit, origins=guess, about=line.name, typed=line.price.text)
    needed, formula = float(own.price.value), f"{line.price.text} → {own.price.text}"
    return OnlyIf(
        line.name, was, Figure("price_needed", needed, unit, formula=formula, parts=(was,), about=line.name)
    )


# ---------------------------------------------------------------- hours


@dataclass(frozen=True)
class HoursByMonth:
    """Hours a week by month, January first; ``of``: typed by month or *year*, the *record*, the *table*."""

    months: tuple[Figure, ...]
    of: str
    there: Figure | None

    @property
    def short(self) -> tuple[int, ...]:
        """Return the months that need more hours than there are."""
        if self.there is None or self.there.value is None:
            return ()
        most = self.there.value
        return tuple(n + 1 for n, figure in enumerate(self.months) if (figure.value or 0.0) > most)


def hours_by_month(picture: Picture, here: LandUse) -> HoursByMonth:
    """Return the hours a week that each month needs: typed, the last year's record, else a book's."""
    farm = picture.farm
    day = farm.labour_hours_day
    there = None
    if day is not None:
        there = typed("hours_there", WEEK_D * day.to("d") / factor("h", "d"), "h", f"{WEEK_D} × {day.text}")
    said = farm.same_land.hours_by_month
    if said is not None:
        months = tuple(
            typed("hours_week", hours, "h", f"{hours:g} h", about=_month(n)) for n, hours in enumerate(said)
        )
        return HoursByMonth(months, "typed", there)
    kept = _on_record(picture)
    if kept:
        return HoursByMonth(kept, "record", there)
    plan = farm.money
    if plan is not None and plan.own_hours is not None:
        year = typed("own_hours", plan.own_hours.to("h"), "h", plan.own_hours.text)
        return HoursByMonth(_evenly(year.value or 0.0, (), (year,)), "year", there)
    return HoursByMonth(_by_table(here), "table", there)


def _month(n: int) -> str:
    return say(f"dates.month.{n + 1}")


def _on_record(picture: Picture) -> tuple[Figure, ...]:
    """Return hours a week of each month of the last year on record; nothing where few months have any."""
    by_month = [0.0] * 12
    for one in worked(picture.scene, picture.events):
        if 0 <= (picture.today - one.day).days < YEAR_D:
            by_month[one.day.month - 1] += one.hours
    if sum(hours > 0 for hours in by_month) < FEW_MONTHS:
        return ()
    weeks = YEAR_D / 12 / WEEK_D
    record = (Origin("farm", "record"),)
    return tuple(
        Figure(
            "hours_week",
            hours / weeks,
            "h",
            origins=record,
            formula=f"{hours:.4g} h ÷ {weeks:.3g}",
            about=_month(n),
        )
        for n, hours in enumerate(by_month)
    )


def _by_table(here: LandUse) -> tuple[Figure, ...]:
    """Return the hours of a year, spread evenly: no table says how work falls by month."""
    work = by_key(here.measures).get(("work", "work_hours", ""))
    if work is None:
        return ()
    book = (Origin("teagasc_labour2000", "excerpt, no page recorded", "published-read"),)
    return _evenly(float(np.median(work.by_year[0])), book, ())


def _evenly(year_h: float, origins: tuple[Origin, ...], parts: tuple[Figure, ...]) -> tuple[Figure, ...]:
    """Return the hours of a year by month, as if every week took as many. [h/week]"""
    formula = f"{year_h:.4g} h ÷ {WEEKS}"
    return tuple(
        Figure(
            "hours_week", year_h / WEEKS, "h", origins=origins, parts=parts, formula=formula, about=_month(n)
        )
        for n in range(12)
    )


# ---------------------------------------------------------------- the first tree crop


def first_crops(farm: Farm, yields: Sequence[Yield]) -> tuple[tuple[str, Figure | None, float], ...]:
    """Return each sold crop's first year of harvest, and the share of futures without one."""
    sold = {p.id: p.name for p in farm.plantings if p.harvested}
    found = []
    for one in yields:
        if one.planting not in sold:
            continue
        there = one.first[np.isfinite(one.first)]
        figure = None
        if there.size:
            low, middle, high = (float(x) for x in np.percentile(there, (10, 50, 90), method="nearest"))
            figure = Figure(
                "first_harvest", middle, "yr", low, high, origins=one.origins, about=sold[one.planting]
            )
        found.append((sold[one.planting], figure, 1 - there.size / len(one.first)))
    return tuple(found)


# ---------------------------------------------------------------- the sentences


def for_us_words(picture: Picture, uses: Sequence[LandUse]) -> tuple[str, ...]:
    """Return the answer in sentences: no praise, no verdict on people."""
    here = uses[0]
    return (
        *_hours_words(picture, hours_by_month(picture, here)), *_first_words(picture.farm, here),
        *_pay_words(picture, for_us(picture.farm, uses)),
    )  # fmt: skip


def _hours_words(picture: Picture, hours: HoursByMonth) -> Iterator[str]:
    if not hours.months:
        yield say("trials.us.no_hours")
        return
    months = [
        say("trials.us.month", month=figure.about, hours=linked(plain(figure.value or 0.0, 1), figure))
        for figure in hours.months
    ]
    if len({plain(figure.value or 0.0, 1) for figure in hours.months}) == 1:
        months = [
            linked(
                say("trials.us.every_month", hours=plain(hours.months[0].value or 0.0, 1)), hours.months[0]
            )
        ]
    yield say(f"trials.us.hours_{hours.of}", months=joined(months, "; "))
    if hours.there is None:
        yield say("trials.us.no_there")
        return
    there = linked(plain(hours.there.value or 0.0, 1), hours.there)
    if hours.short:
        names = list_words(say(f"dates.month.{n}") for n in hours.short)
        yield say("trials.us.short", there=there, months=names)
    else:
        yield say("trials.us.enough", there=there)


def _first_words(farm: Farm, here: LandUse) -> Iterator[str]:
    yields = here.projection.yields if here.projection is not None else ()
    for name, figure, never in first_crops(farm, yields):
        if figure is None:
            yield say("trials.us.no_first", planting=name)
            continue
        low, high = figure.low or 0.0, figure.high or 0.0
        year = linked(f"{figure.value:.0f}", figure)
        span = say("trials.us.years", low=f"{low:.0f}", high=f"{high:.0f}") if low != high else ""
        late = say("trials.us.never", share=f"{100 * never:.0f} %") if never > 0 else ""
        yield say(
            "trials.us.first", planting=name, year=year, span=linked(span, figure), never=linked(late, figure)
        )


def _pay_words(picture: Picture, found: ForUs) -> Iterator[str]:
    system = picture.farm.units
    if found.verdict is None or found.worth is None:
        yield say("trials.us.no_money")
        return
    plan = picture.farm.money
    far = Figure("window_years", float(plan.years if plan is not None else 0), "yr",
                 origins=(Origin("farm", basis="farm"),), about="plan")  # fmt: skip
    years = linked(f"{far.value:.0f}", far)
    fields = {"worth": told(found.worth, system), "yearly": told(found.yearly, system), "years": years}
    if found.verdict == "costs" and found.yearly is not None:
        cost = linked(amount_words(-(found.yearly.value or 0.0), found.yearly.unit), found.yearly)
        yield say("trials.us.costs", cost=cost, **fields)
    elif found.verdict == "pays":
        yield say("trials.us.pays", **fields)
    elif found.only_if is not None:
        one = found.only_if
        price = linked(amount_words(one.price.value or 0.0, one.price.unit, 2), one.price)
        was = linked(one.was.typed, one.was)
        yield say("trials.us.only_if", line=one.line, price=price, was=was, **fields)
    else:
        yield say("trials.us.unsure", **fields)
