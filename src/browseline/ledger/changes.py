"""One change of a plan, as somebody would type it: a price, a yield, a head count, a rate, a year."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from browseline.farm.accounts import Loan, MoneyLine, MoneyPlan, Steps
from browseline.units import Quantity, plain

ChangeOn = Literal["price", "yield", "count", "rate", "discount", "later"]
DIGITS = 6
"""Figures to which a changed yield or count is written."""


@dataclass(frozen=True, slots=True)
class Change:
    """One input of a plan, another than typed.

    ``about`` is a line's or a loan's id; ``to`` is the new price, rate or discount, the factor on yield or
    count, or how many years later.
    """

    on: ChangeOn
    about: str
    to: Fraction


def changed(plan: MoneyPlan, change: Change) -> MoneyPlan:
    """Return the plan with one input changed, everything else as it was."""
    if change.on == "discount":
        return replace(plan, discount=percent(change.to))
    if change.on == "rate":
        return replace(plan, loans=tuple(_loan(loan, change) for loan in plan.loans))
    return replace(plan, lines=tuple(_line(line, change) for line in plan.lines))


def percent(share: Fraction) -> Quantity:
    """Return a share as a quantity in percent."""
    return Quantity(f"{plain(float(share * 100), 6)} %", share * 100, "%")


def money_of(amount: Fraction, unit: str) -> Quantity:
    """Return an amount of money as it is typed."""
    return Quantity(f"{float(amount):.2f} {unit}", amount, unit)


def _loan(loan: Loan, change: Change) -> Loan:
    return replace(loan, rate=percent(change.to)) if loan.id == change.about else loan


def _line(line: MoneyLine, change: Change) -> MoneyLine:
    if line.id != change.about:
        return line
    if change.on == "price":
        return replace(line, price=money_of(change.to, line.price.unit))
    if change.on == "later":
        return _later(line, int(change.to))
    if change.on == "count" and not line.follows:
        return replace(line, count=_scaled(line.count, change.to))
    return replace(line, each=_scaled(line.each, change.to))


def _scaled(steps: Steps, factor: Fraction) -> Steps:
    return tuple((year, float(f"{number * float(factor):.{DIGITS}g}")) for year, number in steps)


def _later(line: MoneyLine, years: int) -> MoneyLine:
    """Return a line that begins and ends so many years later; what grows by the year waits as long."""
    each = tuple((year + years if year > 1 else year, number) for year, number in line.each)
    due = line.due.replace(year=line.due.year + years, day=min(line.due.day, 28)) if line.due else None
    last = line.to_year + years if line.to_year is not None else None
    return replace(line, from_year=line.from_year + years, to_year=last, each=each, due=due)


def typed_keys(plan: MoneyPlan, change: Change) -> dict[str, object]:
    """Return what to type in ``farm.toml``: values by keys such as ``money.lines.<id>.price``."""
    after = changed(plan, change)
    if change.on == "discount":
        return {"money.discount": after.discount.text}
    if change.on == "rate":
        loan = next(one for one in after.loans if one.id == change.about)
        return {f"money.loans.{change.about}.rate": loan.rate.text}
    before, line = (next(one for one in of.lines if one.id == change.about) for of in (plan, after))
    names = {
        "price": "price",
        "count": "count",
        "each": "each",
        "from_year": "from",
        "to_year": "to",
        "due": "due",
    }
    out: dict[str, object] = {}
    for field, name in names.items():
        was, now = getattr(before, field), getattr(line, field)
        if was != now and not (line.due and field in ("from_year", "to_year")):
            out[f"money.lines.{change.about}.{name}"] = _as_typed(now)
    return out


def edits_of(plan: MoneyPlan, change: Change) -> tuple[str, ...]:
    """Return a change as edits of ``farm.toml``: ``money.lines.lambs.price=205.50 USD``."""
    return tuple(f"{key}={_as_text(value)}" for key, value in typed_keys(plan, change).items())


def _as_text(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{year} = {number!r}" for year, number in value.items()) + " }"
    return str(value)


def _as_typed(value: object) -> object:
    if isinstance(value, Quantity):
        return value.text
    if isinstance(value, tuple):
        return value[0][1] if len(value) == 1 and value[0][0] == 1 else {str(y): n for y, n in value}
    return value
