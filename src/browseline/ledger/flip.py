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
from browseline.ledger.cash import counts
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

    def margin(self, plan: MoneyPlan) -> float:
        """Return by how much the answer is yes; below 0 it is no."""
        return margin(self.question, plan, self.knocks, self.given)

    def yes(self, plan: MoneyPlan) -> bool:
        return self.margin(plan) >= 0


def margin(question: Question, plan: MoneyPlan, knocks: Sequence[Knock], given: Drawn = NOBODY) -> float:
    """Return by how much a plan says yes: coverage at its least less what is wanted, or worth today.

    A plan in which nothing is due is covered without end.
    """
    cash = middle_cash(plan, knocks, given)
    if question == "worth":
        return float(finance.present_value(cash.cash, plan.discount.to("1")))
    covered = cash.coverage
    least = float(np.nanmin(covered)) if not np.isnan(covered).all() else math.inf
    return least - wanted(plan)


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
    asked = _Ask(question, plan, knocks, given)
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
    before = asked.yes(asked.plan)

    def same(value: Fraction) -> bool:
        return asked.yes(changed(asked.plan, change(value))) == before

    near, far = was, None
    for n in range(1, STEPS + 1):
        value = was + (end - was) * Fraction(n, STEPS) ** 2
        if not same(value):
            far = value
            break
        near = value
    if far is None:
        return None
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        near, far = (middle, far) if same(middle) else (near, middle)
    return _written(asked, change(was), far, end < was, lambda value: not same(value))


def _written(
    asked: _Ask, change: Change, exact: Fraction, down: bool, turned: Callable[[Fraction], bool]
) -> Fraction | None:
    """Return a value as somebody would type it, on the side on which the answer is turned."""
    step = _step(asked.plan, change)
    steps = exact / step
    value = (math.floor(steps) if down else math.ceil(steps)) * step
    for tried in (value, value + (-step if down else step)):
        if tried >= 0 and turned(tried):
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
