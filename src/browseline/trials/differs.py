"""What differs between lands, in short: the money first, then what it comes from, then what else counts.

A pick from the table of differences, for who reads on a phone; the table holds all of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from browseline.farm.accounts import MoneyPlan
from browseline.farm.records import Planting
from browseline.trials.table import Key, Table
from browseline.words import joined, say

FIRST = ("cash_a_year", "feed_grown")
"""What is told first of a land: what it leaves over, or what it grows where no money is planned."""
REASONS = ("feed_grown", "hay_short", "head_sold", "work_hours")
OF_FEED = ("feed_grown", "hay_short")
"""What stock eat: told after what is sold."""
MORE = "+"
SOLD = "yield"
"""The first word of what a money line follows where it sells what a planting yields."""
MOST = 3


Told = tuple[Key, str, str]
"""A row of the table of differences for one land: its key, its label and its text."""


@dataclass(frozen=True)
class Differs:
    """One land against the first: its name, what is told first of it, and what that comes from."""

    name: str
    first: str
    reasons: str = ""


def differs_of(made: Table, plan: MoneyPlan | None, plantings: Iterable[Planting]) -> tuple[Differs, ...]:
    """Return each land but the first, with what is told first and at the most three reasons.

    Reasons are feed, hay, head and hours, an annual crop, and what is sold of a planting by the money plan;
    what the land gives more is told before what it gives less.
    """
    sold = tuple(_sold(plan, plantings))
    out = []
    for column, name in enumerate(made.head[2:], start=1):
        told = [(key, row[0], row[column]) for key, row in zip(made.keys, made.less_rows, strict=True)]
        there = [(key, label, text) for key, label, text in told if text not in _nothing()]
        first = next((one for name_ in FIRST for one in there if one[0][1] == name_), None)
        if first is None:
            continue
        why = [one for one in there if one is not first and _counts(one[0], sold)]
        why.sort(key=lambda one: (not one[2].startswith(MORE), one[0][1] in OF_FEED))
        out.append(Differs(name, _line(first), _because(why[:MOST])))
    return tuple(out)


def _line(one: Told) -> str:
    return say("trials.differs.line", what=one[1], amount=one[2])


def _because(why: Sequence[Told]) -> str:
    return say("trials.differs.why", reasons=joined([_line(one) for one in why], "; ")) if why else ""


def _nothing() -> Sequence[str]:
    return say("trials.same"), say("trials.none"), say("trials.unknown")


def _sold(plan: MoneyPlan | None, plantings: Iterable[Planting]) -> Iterable[str]:
    """Yield what a money line sells of a planting, as the table calls it: its name and the product."""
    names = {one.id: one.name for one in plantings}
    for line in plan.lines if plan is not None else ():
        what, _, of = line.follows.partition(" ")
        ident, _, product = of.partition(" ")
        if what == SOLD and ident in names:
            yield f"{names[ident]}, {product}" if product else names[ident]


def _counts(key: Key, sold: tuple[str, ...]) -> bool:
    group, name, about = key
    if name in REASONS:
        return True
    return group == "harvest" and (any(about.startswith(of) for of in sold) or "," not in about)
