"""What is said of the cases of a money plan: the worst first, then loans, own work, what moves it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from browseline.farm.accounts import Loan, MoneyPlan
from browseline.figures import Figure, money_words, typed
from browseline.ledger.drawn import Drawn
from browseline.ledger.facts import area_of_all
from browseline.ledger.money import Outlook
from browseline.ledger.money_words import (
    case_words,
    cover_words,
    percent_words,
    runs_words,
    year_words,
)
from browseline.ledger.sensitivity import BreakEven, Mover
from browseline.limits import Scene
from browseline.units import CHOSEN, factor, plain
from browseline.words import joined, linked, list_words, say


def worst_words(plan: MoneyPlan, case: Outlook) -> Iterator[str]:
    """Yield the deepest hole, the worst year and the years of thin coverage of a case."""
    name, deep, worst = case_words(case.name), case.deepest, case.worst
    if (deep.total.value or 0.0) < 0:
        year, calendar = (year_words(n, deep.total) for n in (deep.year, deep.calendar))
        yield say("money.deepest", case=name, year=year, calendar=calendar, total=money_words(deep.total))
    else:
        yield say("money.no_hole", case=name)
    fields = {"case": name, "year": year_words(worst.year, worst.cash), "cash": money_words(worst.cash)}
    if worst.coverage is not None:
        coverage, available = cover_words(worst.coverage), money_words(worst.available)
        yield say("money.worst", **fields, coverage=coverage, available=available)
    else:
        yield say("money.worst_cash", **fields)
    yield from _below(plan, case, name)


def discount_words(plan: MoneyPlan) -> str:
    """Return the discount as typed, linked."""
    return linked(plan.discount.text, typed("discount", plan.discount.to("1"), "1", plan.discount.text))


def _below(plan: MoneyPlan, case: Outlook, name: str) -> Iterator[str]:
    """Yield the years in which the loans are covered less than the farm wants."""
    thin = thin_years(case, plan.cover_wanted) if plan.cover_wanted is not None else ()
    if thin:
        own = linked(f"{plan.cover_wanted:g}", wanted_figure(plan))
        yield say("money.below", case=name, wanted=own, years=list_words(runs_words(thin)))


def thin_years(case: Outlook, wanted: float) -> tuple[tuple[int, Figure], ...]:
    """Return the years whose coverage is less than what is wanted, each with its coverage."""
    return tuple(
        (year.year, year.coverage)
        for year in case.years
        if year.coverage is not None and (year.coverage.value or 0.0) < wanted
    )


def wanted_figure(plan: MoneyPlan) -> Figure:
    """Return the coverage that counts as enough: what the farm typed, at least 1."""
    own = plan.cover_wanted
    if own is not None and own >= 1:
        return typed("cover_wanted", own, "1", f"{own:g}")
    return Figure("cover_wanted", 1.0, "1", formula="1")


def knock_words(plan: MoneyPlan, off: Sequence[str]) -> Iterator[str]:
    """Yield what goes wrong in the downside and in each bad decade, and what is switched off."""
    on = [knock.name for knock in plan.knocks_of() if knock.id not in off]
    if on:
        yield say("money.knocks", knocks="; ".join(on))
    for decade in plan.decades:
        struck = [knock.name for knock in plan.knocks_of(decade) if knock.id not in off]
        if struck:
            yield say("money.decade", decade=decade, knocks="; ".join(struck))
    left_out = [knock.name for knock in plan.knocks if knock.id in off]
    if left_out:
        yield say("money.knocks_off", knocks="; ".join(left_out))


def loan_words(plan: MoneyPlan, case: Outlook) -> Iterator[str]:
    """Yield every loan with its terms, and the most that they take in a year."""
    if not plan.loans:
        yield say("money.no_loan")
        return
    yield from (_one_loan(loan) for loan in plan.loans)
    if any(loan.interest_only for loan in plan.loans):
        yield say("money.interest_only_years")
    most = max(case.years, key=lambda year: year.payment.value or 0.0)
    yield say("money.payment", payment=money_words(most.payment, 2))


def _one_loan(loan: Loan) -> str:
    def years(name: str, number: int) -> str:
        return linked(f"{number}", typed(name, float(number), "yr", f"{number}", about=loan.name))

    only = ""
    if loan.interest_only:
        only = say("money.interest_only", years=years("loan_interest_only", loan.interest_only))
    buys = say("money.buys", what=loan.buys) if loan.buys else ""
    amount = typed(
        "loan_amount", float(loan.amount.value), loan.amount.unit, loan.amount.text, about=loan.name
    )
    rate = typed("loan_rate", loan.rate.to("1"), "1", loan.rate.text, about=loan.name)
    return say(
        "money.loan", loan=loan.name, amount=linked(loan.amount.text, amount),
        rate=linked(loan.rate.text, rate), years=years("loan_years", loan.years), only=only, buys=buys,
    )  # fmt: skip


def own_words(scene: Scene, plan: MoneyPlan, case: Outlook) -> Iterator[str]:
    """Yield what is left a year by the hour of own work and by the land: own labour is in no line."""
    mean = (case.end.value or 0.0) / plan.years
    name = case_words(case.name)
    if plan.own_hours is None:
        yield say("money.no_hours")
    else:
        hours = typed("own_hours", plan.own_hours.to("h"), "h", plan.own_hours.text)
        value = mean / hours.value if hours.value else 0.0
        formula = f"{plain(case.end.value or 0.0, 2)} ÷ {plan.years} ÷ {plan.own_hours.text}"
        each = Figure("cash_an_hour", value, plan.currency, parts=(case.end, hours), formula=formula)
        said = linked(plan.own_hours.text, hours)
        yield say("money.hours", case=name, hours=said, each=money_words(each, 2))
    land = area_of_all(scene.farm.paddocks, grazed=False)
    if land.value:
        unit = CHOSEN[scene.farm.units]["area"]
        size = land.value * factor("ha", unit)
        formula = f"{plain(case.end.value or 0.0, 2)} ÷ {plan.years} ÷ {plain(size)} {unit}"
        each = Figure("cash_an_area", mean / size, plan.currency, parts=(case.end, land), formula=formula)
        yield say("money.land", case=name, each=money_words(each, 2), unit=unit)


def moved_words(even: Sequence[BreakEven], moved: Sequence[Mover]) -> Iterator[str]:
    """Yield the price and yield at which nothing is left, line by line, and what moves the worth most."""
    spare = [one.line for one in even if min(one.price.value or 0.0, one.share.value or 0.0) < 0]
    if spare:
        yield say("money.break_even.spare", lines=list_words(spare))
    for one in even:
        if one.line in spare:
            continue
        share = percent_words(one.share, digits=0)
        yield say("money.break_even", line=one.line, price=money_words(one.price, 2), share=share)
    if moved:
        lines = [say("money.mover", line=m.line, change=money_words(m.change)) for m in moved]
        yield say("money.moves", lines=joined(lines, "; "))


def followed_words(plan: MoneyPlan, given: Drawn) -> Iterator[str]:
    """Yield where a line's count comes from the decades, or should and does not."""
    for line in plan.lines:
        if line.id in given.follows:
            yield say("money.follows", line=line.name, what=line.follows)
        elif line.name in given.unknown:
            yield say("money.not_followed", line=line.name, what=line.follows)
