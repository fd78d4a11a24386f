"""The page of money: the deepest hole first, then years, loans, what moves it, and what is in no sum."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from browseline.events import Event
from browseline.farm.accounts import MoneyPlan
from browseline.figures import Figure, entered, typed
from browseline.ledger.account import Account, happened
from browseline.ledger.facts import area_of_all
from browseline.ledger.money import BreakEven, Mover, Outlook, break_even, movers, outlook, unsigned
from browseline.ledger.postings import CASH, money_entries
from browseline.limits import Scene
from browseline.units import CHOSEN, factor, plain
from browseline.words import joined, linked, list_words, say

BASE, DOWNSIDE = "base", "downside"
SIGNS = {"USD": "$", "EUR": "€", "GBP": "£"}
MONEY_OUT, MONEY_IN = "money_out", "money_in"


@dataclass(frozen=True)
class MoneyPage(Account):
    """The page of money. ``cases`` are the base and, where something can go wrong, the downside."""

    cases: tuple[Outlook, ...] = ()
    break_even: tuple[BreakEven, ...] = ()
    movers: tuple[Mover, ...] = ()
    on_record: tuple[Figure, ...] = ()


def amount_words(value: float, currency: str, digits: int = 0) -> str:
    """Return money in words: −$8,390, or 8,390 CAD."""
    sign = "−" if round(value, digits) < 0 else ""
    number = f"{abs(value):,.{digits}f}"
    return f"{sign}{SIGNS[currency]}{number}" if currency in SIGNS else f"{sign}{number} {currency}"


def money_words(figure: Figure, digits: int = 0) -> str:
    """Return a figure of money in words, linked to it."""
    return linked(amount_words(figure.value or 0.0, figure.unit, digits), figure)


def money_account(scene: Scene, events: Iterable[Event], off: Sequence[str] = ()) -> MoneyPage:
    """Return the page; ``off`` names knocks of the downside that are switched off."""
    record = _on_record(scene, events)
    plan = scene.farm.money
    if plan is None:
        said = (say("money.no_plan"), *_record_words(record), say("money.disclaimer"))
        return MoneyPage("browseline/money/1", "money", said, record, on_record=record)
    knocks = tuple(knock for knock in plan.knocks if knock.id not in off)
    cases: tuple[Outlook, ...] = (outlook(plan, BASE),)
    if knocks:
        cases = (*cases, outlook(plan, DOWNSIDE, knocks))
    even, moved = break_even(plan, knocks), movers(plan, knocks)
    head, rows = _table(plan, cases)
    said = tuple(_told(scene, plan, cases, even, moved, record, off))
    figures = tuple(
        figure for case in reversed(cases) for figure in (case.deepest.total, case.worth, case.end)
    )
    return MoneyPage("browseline/money/1", "money", said, figures, head, rows, cases, even, moved, record)


# ---------------------------------------------------------------- the table


def _table(plan: MoneyPlan, cases: Sequence[Outlook]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    columns = [
        say("money.column", case=say(f"money.case.{case.name}"), what=say(f"money.head.{what}"))
        for case in cases
        for what in ("available", "coverage", "cash", "total")
    ]
    head = (say("money.head.year"), say("money.head.payment"), *columns)
    rows = []
    for n in range(plan.years):
        first = cases[0].years[n]
        cells = [cell for case in cases for cell in _cells(case, n)]
        rows.append((f"{first.year} ({first.calendar})", money_words(first.payment), *cells))
    return head, tuple(rows)


def _cells(case: Outlook, n: int) -> tuple[str, ...]:
    year = case.years[n]
    return (
        money_words(year.available), cover_words(year.coverage), money_words(year.cash),
        money_words(year.total),
    )  # fmt: skip


def cover_words(coverage: Figure | None) -> str:
    """Return a coverage in words: 1.41, or that nothing is due."""
    if coverage is None or coverage.value is None:
        return say("money.nothing_due")
    sign = "−" if round(coverage.value, 2) < 0 else ""
    return linked(f"{sign}{abs(coverage.value):.2f}", coverage)


# ---------------------------------------------------------------- the sentences


def _told(
    scene: Scene, plan: MoneyPlan, cases: Sequence[Outlook], even: Sequence[BreakEven],
    moved: Sequence[Mover], record: Sequence[Figure], off: Sequence[str],
) -> Iterator[str]:  # fmt: skip
    for case in reversed(cases):
        yield from _case_words(plan, case)
    yield from _knock_words(plan, off)
    yield from _loan_words(plan, cases[0])
    if any(case.worst.coverage is not None for case in cases):
        yield say("money.covers")
    yield from _own_words(scene, plan, cases[-1])
    for one in even:
        share = linked(f"{100 * (one.share.value or 0.0):.0f} %", one.share)
        yield say("money.break_even", line=one.line, price=money_words(one.price, 2), share=share)
    if moved:
        lines = [say("money.mover", line=m.line, change=money_words(m.change)) for m in moved]
        yield say("money.moves", lines=joined(lines, "; "))
    yield from (say("money.unsigned", line=line) for line in unsigned(plan))
    yield from _record_words(record)
    yield say("money.guesses")
    yield say("money.disclaimer")


def _case_words(plan: MoneyPlan, case: Outlook) -> Iterator[str]:
    name = say(f"money.case.{case.name}")
    deep, worst = case.deepest, case.worst
    if (deep.total.value or 0.0) < 0:
        yield say(
            "money.deepest", case=name, year=deep.year, calendar=deep.calendar, total=money_words(deep.total)
        )
    else:
        yield say("money.no_hole", case=name)
    key = "money.worst" if worst.coverage is not None else "money.worst_cash"
    fields = {"case": name, "year": worst.year, "cash": money_words(worst.cash)}
    if worst.coverage is not None:
        yield say(key, **fields, coverage=cover_words(worst.coverage), available=money_words(worst.available))
    else:
        yield say(key, **fields)
    yield from _below(plan, case, name)
    back = case.payback
    if back is not None and (deep.total.value or 0.0) < 0:
        year = linked(f"{back.value:.0f}", back)
        yield say("money.payback", case=name, year=year)
    elif back is None:
        yield say("money.no_payback", case=name)
    worth, end = money_words(case.worth), money_words(case.end)
    yield say("money.worth", case=name, discount=plan.discount.text, worth=worth, end=end)
    if case.rate_of_return is not None:
        rate = linked(f"{100 * (case.rate_of_return.value or 0.0):.1f} %", case.rate_of_return)
        yield say("money.rate", case=name, rate=rate)


def _below(plan: MoneyPlan, case: Outlook, name: str) -> Iterator[str]:
    """Yield the years in which the loans are covered less than the farm wants."""
    wanted = plan.cover_wanted
    if wanted is None:
        return
    thin = [y.year for y in case.years if y.coverage is not None and (y.coverage.value or 0.0) < wanted]
    if thin:
        yield say("money.below", case=name, wanted=f"{wanted:g}", years=list_words(_runs(thin)))


def _runs(years: Sequence[int]) -> list[str]:
    """Return years as runs: 1 to 6, 11."""
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    return [f"{run[0]}" if len(run) == 1 else say("money.run", first=run[0], last=run[-1]) for run in runs]


def _knock_words(plan: MoneyPlan, off: Sequence[str]) -> Iterator[str]:
    on = [knock.name for knock in plan.knocks if knock.id not in off]
    left_out = [knock.name for knock in plan.knocks if knock.id in off]
    if on:
        yield say("money.knocks", knocks="; ".join(on))
    if left_out:
        yield say("money.knocks_off", knocks="; ".join(left_out))


def _loan_words(plan: MoneyPlan, case: Outlook) -> Iterator[str]:
    if not plan.loans:
        yield say("money.no_loan")
        return
    for loan in plan.loans:
        only = say("money.interest_only", years=loan.interest_only) if loan.interest_only else ""
        buys = say("money.buys", what=loan.buys) if loan.buys else ""
        fields = {"loan": loan.name, "amount": loan.amount.text, "rate": loan.rate.text, "years": loan.years}
        yield say("money.loan", **fields, only=only, buys=buys)
    most = max(case.years, key=lambda year: year.payment.value or 0.0)
    yield say("money.payment", payment=money_words(most.payment, 2))


def _own_words(scene: Scene, plan: MoneyPlan, case: Outlook) -> Iterator[str]:
    """Yield what is left a year by the hour of own work and by the land: own labour is in no line."""
    mean = (case.end.value or 0.0) / plan.years
    name = say(f"money.case.{case.name}")
    if plan.own_hours is None:
        yield say("money.no_hours")
    else:
        hours = typed("own_hours", plan.own_hours.to("h"), "h", plan.own_hours.text)
        value = mean / hours.value if hours.value else 0.0
        formula = f"{plain(case.end.value or 0.0, 2)} ÷ {plan.years} ÷ {plan.own_hours.text}"
        each = Figure("cash_an_hour", value, plan.currency, parts=(case.end, hours), formula=formula)
        yield say("money.hours", case=name, hours=plan.own_hours.text, each=money_words(each, 2))
    land = area_of_all(scene.farm.paddocks, grazed=False)
    if land.value:
        unit = CHOSEN[scene.farm.units]["area"]
        size = land.value * factor("ha", unit)
        formula = f"{plain(case.end.value or 0.0, 2)} ÷ {plan.years} ÷ {plain(size)} {unit}"
        each = Figure("cash_an_area", mean / size, plan.currency, parts=(case.end, land), formula=formula)
        yield say("money.land", case=name, each=money_words(each, 2), unit=unit)


# ---------------------------------------------------------------- what happened


def _on_record(scene: Scene, events: Iterable[Event]) -> tuple[Figure, ...]:
    """Return the money on record by year and currency: what came in, what went out."""
    said: dict[tuple[int, str, str], list[tuple[float, str, object, str]]] = {}
    done = happened(events, scene.now)
    people = {event.id: event.who for event in done}
    for entry in money_entries(done, scene.zone):
        for posting in entry.postings:
            if posting.account == CASH:
                name = MONEY_IN if posting.amount > 0 else MONEY_OUT
                amount = abs(float(posting.amount))
                text = f"{amount_words(amount, posting.unit, 2)} {posting.because}"
                line = (amount, text, posting.day, people.get(posting.event, ""))
                said.setdefault((posting.day.year, name, posting.unit), []).append(line)
    return tuple(
        entered(name, unit, lines, about=str(year))  # type: ignore[arg-type]
        for (year, name, unit), lines in sorted(said.items())
    )


def _record_words(record: Sequence[Figure]) -> Iterator[str]:
    for figure in record:
        key = "money.came_in" if figure.name == MONEY_IN else "money.went_out"
        yield say(key, year=figure.about, amount=money_words(figure, 2))
