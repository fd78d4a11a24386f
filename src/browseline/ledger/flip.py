"""The smallest single change that turns a yes into a no, or a no into a yes.

Each input alone is moved away from what is typed, both ways, until the answer turns; the change is then
written as somebody would type it (cents, tenths of a percent, whole head, whole years) on the far side of the
turn, and kept only if the plan with it answers otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np

from browseline.farm.accounts import Knock, MoneyLine, MoneyPlan
from browseline.ledger.cash import Array, Cash, counts, loan_cash, plan_cash
from browseline.ledger.changes import Change, ChangeOn, changed
from browseline.ledger.drawn import NOBODY, Drawn, middle_cash
from browseline.science import finance

Question = Literal["covers", "worth"]
MOST_TIMES = 4.0
"""An input is moved to nothing and up to so many times itself. [1]"""
MOST_RATE = Fraction(1)
STEPS = 60
HALVINGS = 40
CENT, TENTH = Fraction(1, 100), Fraction(1, 1000)


@dataclass(frozen=True)
class Flip:
    """A change that turns the answer: what is typed, what turns it, and how far away that is.

    ``far`` is the change as a share of what is typed; years late as a share of the plan's years. [1]
    """

    change: Change
    was: Fraction
    far: float


@dataclass(frozen=True)
class Answer:
    """A question about a plan, its answer, and the changes that turn it, the smallest first."""

    question: Question
    yes: bool
    flips: tuple[Flip, ...]


@dataclass(frozen=True, eq=False)
class _Ask:
    """A question of one plan and its knocks."""

    question: Question
    plan: MoneyPlan
    knocks: Sequence[Knock]
    given: Drawn
    cash: Cash

    def yes(self, plan: MoneyPlan) -> bool:
        """Return the answer of a plan."""
        return margin(self.question, plan, self.knocks, self.given) >= 0

    def tell(self, available: Array, beside: Array, payment: Array, discount: float) -> float:
        """Return by how much columns of money say yes."""
        if self.question == "worth":
            return float(finance.present_value(available + beside - payment, discount))
        due = payment > 0
        return float((available[due] / payment[due]).min()) - wanted(self.plan) if due.any() else math.inf


def margin(question: Question, plan: MoneyPlan, knocks: Sequence[Knock], given: Drawn = NOBODY) -> float:
    """Return by how much a plan says yes: coverage at its least less what is wanted, or worth today.

    A plan in which nothing is due is covered without end.
    """
    cash = middle_cash(plan, knocks, given)
    asked = _Ask(question, plan, knocks, given, cash)
    return asked.tell(cash.available, cash.beside, cash.payment, plan.discount.to("1"))


def wanted(plan: MoneyPlan) -> float:
    """Return the coverage that counts as covered: what the farm typed, at least 1."""
    return max(1.0, plan.cover_wanted or 0.0)


def ask(question: Question, plan: MoneyPlan, knocks: Sequence[Knock] = (), given: Drawn = NOBODY) -> Answer:
    """Return the answer to a question and what single changes turn it, the smallest first.

    Parameters
    ----------
    question : str
        *covers*: every year covers principal and interest as wanted; *worth*: worth more than nothing today.
    knocks : sequence of Knock
        Those that strike.
    given : Drawn
        What the decades give, by its mean, and what is on record.
    """
    asked = _Ask(question, plan, knocks, given, middle_cash(plan, knocks, given))
    found = [flip for change, was in inputs(plan, question) for flip in _turns(asked, change, was)]
    return Answer(question, asked.yes(plan), tuple(sorted(found, key=lambda one: one.far)))


def inputs(plan: MoneyPlan, question: Question) -> Iterator[tuple[Callable[[Fraction], Change], Fraction]]:
    """Yield every input as a change of it, with what is typed: price, yield, count, rate, discount, years."""
    for line in plan.lines:
        if counts(line):
            yield from _of_line(line)
    for loan in plan.loans:
        yield _to("rate", loan.id), Fraction(loan.rate.to("1"))
    if question == "worth":
        yield _to("discount", ""), Fraction(plan.discount.to("1"))


def _to(on: ChangeOn, about: str) -> Callable[[Fraction], Change]:
    return lambda to: Change(on, about, to)


def _of_line(line: MoneyLine) -> Iterator[tuple[Callable[[Fraction], Change], Fraction]]:
    if line.price.value:
        yield _to("price", line.id), line.price.value
    if line.each != ((1, 1.0),) or line.follows:
        yield _to("yield", line.id), Fraction(1)
    if line.count != ((1, 1.0),) and not line.follows:
        yield _to("count", line.id), Fraction(1)
    if line.kind in ("income", "refund") and not line.follows:
        yield _to("later", line.id), Fraction(0)


def _turns(asked: _Ask, change: Callable[[Fraction], Change], was: Fraction) -> Iterator[Flip]:
    """Yield where one input alone turns the answer, going up and going down."""
    if change(was).on == "later":
        yield from _late(asked, change)
        return
    most = max(was * Fraction(MOST_TIMES), MOST_RATE if change(was).on in ("rate", "discount") else was)
    for end in (Fraction(0), most):
        turned = _root(asked, change, was, end)
        if turned is not None:
            yield Flip(change(turned), was, abs(float(turned / was) - 1) if was else math.inf)


def _late(asked: _Ask, change: Callable[[Fraction], Change]) -> Iterator[Flip]:
    before = asked.yes(asked.plan)
    for years in range(1, asked.plan.years + 1):
        if asked.yes(changed(asked.plan, change(Fraction(years)))) != before:
            yield Flip(change(Fraction(years)), Fraction(0), years / asked.plan.years)
            return


def _root(asked: _Ask, change: Callable[[Fraction], Change], was: Fraction, end: Fraction) -> Fraction | None:
    """Return the first value on the way to an end at which the answer is another, written beyond it."""
    tell = _along(asked, change, was)
    before = tell(float(was)) >= 0
    near, far = float(was), None
    for n in range(1, STEPS + 1):
        value = float(was) + float(end - was) * (n / STEPS) ** 2
        if (tell(value) >= 0) != before:
            far = value
            break
        near = value
    if far is None:
        return None
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        near, far = (middle, far) if (tell(middle) >= 0) == before else (near, middle)
    return _written(asked, change, far, end < was)


def _along(asked: _Ask, change: Callable[[Fraction], Change], was: Fraction) -> Callable[[float], float]:
    """Return the margin as it goes with one input: money is a straight line in a price, a yield, a count."""
    plan, cash = asked.plan, asked.cash
    one, discount = change(was), plan.discount.to("1")
    if one.on == "discount":
        return lambda value: asked.tell(cash.available, cash.beside, cash.payment, value)
    if one.on == "rate":
        return lambda value: asked.tell(
            cash.available, cash.beside, _payment(plan, change(Fraction(value))), discount
        )
    ends = np.broadcast_to(np.array([0.0, 1.0]), (plan.years, 2))
    key = (one.about, "price" if one.on == "price" else "yield")
    both = plan_cash(plan, asked.knocks, {key: ends}, asked.given.means, asked.given.mixed)
    (none, slope), (beside, beside_slope) = (
        (of[:, 0], of[:, -1] - of[:, 0]) for of in (both.available, both.beside)
    )
    typed = float(was)

    def tell(value: float) -> float:
        share = value / typed
        return asked.tell(none + share * slope, beside + share * beside_slope, cash.payment, discount)

    return tell


def _payment(plan: MoneyPlan, change: Change) -> Array:
    """Return what the loans take by year with one rate changed, shape (year,). [money]"""
    paid = [loan_cash(loan, plan.years).sum(axis=1) for loan in changed(plan, change).loans]
    return np.asarray(sum(paid, np.zeros(plan.years)))


def _written(asked: _Ask, change: Callable[[Fraction], Change], exact: float, down: bool) -> Fraction | None:
    """Return a value as somebody would type it, on the side on which the plan itself answers otherwise."""
    step, before = _step(asked.plan, change(Fraction(1))), asked.yes(asked.plan)
    steps = Fraction(exact) / step
    value = (math.floor(steps) if down else math.ceil(steps)) * step
    for tried in (value, value + (-step if down else step)):
        if tried >= 0 and asked.yes(changed(asked.plan, change(tried))) != before:
            return tried
    return None


def _step(plan: MoneyPlan, change: Change) -> Fraction:
    """Return the step in which a value is typed: cents, tenths of a percent, whole head."""
    if change.on == "price":
        return CENT
    if change.on == "count":
        line = next(one for one in plan.lines if one.id == change.about)
        (_, first), *more = line.count
        if not more and first == round(first) and first:
            return Fraction(1, round(first))
    return TENTH
