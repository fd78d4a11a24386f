"""The cases of a money plan side by side: what bites first, one table of measures, and each case's years."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from browseline.farm.accounts import MoneyPlan
from browseline.figures import Figure, money_words
from browseline.ledger.money import Outlook
from browseline.ledger.money_drawn_told import first_draws
from browseline.ledger.money_told import discount_words, thin_years, wanted_figure
from browseline.ledger.money_words import (
    case_words,
    count_words,
    cover_words,
    dated_words,
    high_words,
    in_case_words,
    low_words,
    percent_words,
    plain_cover,
    runs_words,
    year_words,
)
from browseline.ledger.spread import Spread
from browseline.words import linked, list_words, say

Rows = tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Fold:
    """A part of a page that is opened when it is needed: its title, sentences and, if any, a table."""

    key: str
    title: str
    sentences: tuple[str, ...] = ()
    head: tuple[str, ...] = ()
    rows: Rows = ()


# ---------------------------------------------------------------- what bites first


def first_words(cases: Sequence[Outlook], spread: Spread | None) -> Iterator[str]:
    """Yield the deepest hole and the worst year of all cases, then how often the draws fall short."""
    case = min(cases, key=lambda one: one.deepest.total.value or 0.0)
    deep = case.deepest
    if (deep.total.value or 0.0) < 0:
        year, calendar = (year_words(n, deep.total) for n in (deep.year, deep.calendar))
        yield say(
            "money.first.hole", total=money_words(deep.total), year=year, calendar=calendar,
            case=in_case_words(case.name),
        )  # fmt: skip
    else:
        yield say("money.first.no_hole")
    yield _worst(cases)
    if spread is not None:
        yield from first_draws(spread)


def _worst(cases: Sequence[Outlook]) -> str:
    """Return the year of all cases that covers the loans least; without loans, of the least cash."""
    case = min(cases, key=_badness)
    worst = case.worst
    year, calendar = (year_words(n, worst.cash) for n in (worst.year, worst.calendar))
    fields = {
        "case": in_case_words(case.name), "year": year, "calendar": calendar, "cash": money_words(worst.cash)
    }  # fmt: skip
    if worst.coverage is None:
        return say("money.first.worst_cash", **fields)
    return say(
        "money.first.worst", **fields, coverage=cover_words(worst.coverage),
        available=money_words(worst.available),
    )  # fmt: skip


def _badness(case: Outlook) -> float:
    of = case.worst.coverage if case.worst.coverage is not None else case.worst.cash
    return of.value or 0.0


# ---------------------------------------------------------------- cases as columns


def cases_table(
    plan: MoneyPlan, cases: Sequence[Outlook], spread: Spread | None
) -> tuple[tuple[str, ...], Rows]:
    """Return the measures down, the cases across; the last column tells the range of the draws."""
    columns = [_measures(plan, case) for case in cases]
    if spread is not None:
        columns.append(_drawn(plan, spread))
    head = (say("money.measure"), *(case_words(case.name) for case in cases))
    if spread is not None:
        head = (*head, say("money.measure.range"))
    rows = tuple((_label(plan, what), *(column[what] for column in columns)) for what in _shown(plan, cases))
    return head, rows


def _shown(plan: MoneyPlan, cases: Sequence[Outlook]) -> tuple[str, ...]:
    """Return the measures in the order of need; those of loans only where there are loans."""
    loans = any(case.worst.coverage is not None for case in cases)
    thin = ("thin",) if loans else ()
    covered = ("coverage", "available") if loans else ()
    rate = ("rate",) if plan.loans else ()
    return ("hole", "hole_year", "worst", *covered, "left", *thin, "payback", "end", "worth", *rate)


def _label(plan: MoneyPlan, what: str) -> str:
    own = wanted_figure(plan)
    wanted = linked(f"{own.value or 0.0:g}", own)
    return say(f"money.measure.{what}", wanted=wanted, discount=discount_words(plan))


def _measures(plan: MoneyPlan, case: Outlook) -> dict[str, str]:
    """Return what a case says under each measure."""
    deep, worst, back = case.deepest, case.worst, case.payback
    hole = (deep.total.value or 0.0) < 0
    thin = thin_years(case, wanted_figure(plan).value or 1.0)
    return {
        "hole": money_words(deep.total) if hole else say("money.cell.none"),
        "hole_year": dated_words(deep.year, deep.calendar, deep.total) if hole else say("money.cell.none"),
        "worst": dated_words(worst.year, worst.calendar, worst.cash),
        "coverage": cover_words(worst.coverage),
        "available": money_words(worst.available),
        "left": money_words(worst.cash),
        "thin": list_words(runs_words(thin)) if thin else say("money.cell.none"),
        "payback": linked(f"{back.value:.0f}", back) if back is not None else say("money.cell.never"),
        "end": money_words(case.end),
        "worth": money_words(case.worth),
        "rate": percent_words(case.rate_of_return) if case.rate_of_return is not None
        else say("money.cell.no_rate"),
    }  # fmt: skip


def _drawn(plan: MoneyPlan, found: Spread) -> dict[str, str]:
    """Return what four draws of five say under each measure."""
    deep, worst = found.deepest, found.worst
    return {
        "hole": _between(found.hole),
        "hole_year": dated_words(deep.year, deep.calendar, deep.total),
        "worst": dated_words(worst.year, worst.calendar, worst.cash),
        "coverage": _covered(worst.coverage),
        "available": say("money.cell.not_drawn"),
        "left": _between(worst.cash),
        "thin": _uncovered(plan, found),
        "payback": _paid(found),
        "end": _between(found.end),
        "worth": _between(found.worth),
        "rate": _rates(found.rate_of_return),
    }


def _between(figure: Figure) -> str:
    return say("money.cell.between", low=low_words(figure), high=high_words(figure))


def _covered(coverage: Figure | None) -> str:
    if coverage is None or coverage.low is None or coverage.high is None:
        return cover_words(coverage)
    low, high = (linked(plain_cover(end), coverage) for end in (coverage.low, coverage.high))
    return say("money.cell.between", low=low, high=high)


def _uncovered(plan: MoneyPlan, found: Spread) -> str:
    """Return in how many draws some year does not cover the loans, where that is what is asked."""
    asked = (wanted_figure(plan).value or 1.0) == 1.0
    if found.uncovered is None or not asked:
        return say("money.cell.not_drawn")
    return say("money.cell.draws", some=count_words(found.uncovered), draws=count_words(found.draws))


def _paid(found: Spread) -> str:
    back = found.payback
    if back is None or back.high is None:
        return say("money.cell.unpaid", some=count_words(found.unpaid), draws=count_words(found.draws))
    low, high = (linked(f"{year:.0f}", back) for year in (back.low or back.value or 0.0, back.high))
    return low if str(low) == str(high) else say("money.cell.between", low=low, high=high)


def _rates(rate: Figure | None) -> str:
    if rate is None or rate.low is None or rate.high is None:
        return say("money.cell.no_rate")
    low, high = (percent_words(rate, end) for end in (rate.low, rate.high))
    return say("money.cell.between", low=low, high=high)


# ---------------------------------------------------------------- year by year


def years_folds(plan: MoneyPlan, cases: Sequence[Outlook]) -> Iterator[Fold]:
    """Yield every year of each case, what the loans take beside it."""
    columns = ("available", "payment", "beside", "cash", "total") if not plan.loans else (
        "available", "payment", "coverage", "beside", "cash", "total")  # fmt: skip
    head = (say("money.head.year"), *(say(f"money.head.{what}") for what in columns))
    for number, case in enumerate(cases):
        title = say("money.fold.years", case=case_words(case.name))
        yield Fold(f"years-{number + 1}", title, (), head, tuple(_years(case, columns)))


def _years(case: Outlook, columns: Sequence[str]) -> Iterator[tuple[str, ...]]:
    for year in case.years:
        cells = {
            "available": money_words(year.available), "payment": money_words(year.payment),
            "coverage": cover_words(year.coverage), "beside": money_words(year.beside),
            "cash": money_words(year.cash), "total": money_words(year.total),
        }  # fmt: skip
        yield (dated_words(year.year, year.calendar, year.cash), *(cells[what] for what in columns))
