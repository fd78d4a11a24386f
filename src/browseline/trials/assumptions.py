"""What designs are compared under: one assumption at a time moved within its range, for all of them alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from browseline.farm import settings
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.future import LOG_RULES, STOCK_RULES
from browseline.farm.records import Farm
from browseline.figures import Figure, typed
from browseline.ledger.drawn import ranges_of
from browseline.units import Quantity, amount_words
from browseline.words import known, linked, say

Needs = Literal["money", "decades"]
Change = Callable[[Farm], Farm]
SHADE = "shade_against_yield"


@dataclass(frozen=True)
class Assumption:
    """One assumption and what it may be instead.

    Attributes
    ----------
    id, name : str
    was : str
        What all designs are compared under, in words.
    needs : str
        What must be worked out anew where it is another: the *money* alone, or the *decades*.
    ends : tuple of (words, change)
        What it is instead, and how a farm comes to it.
    at : callable or None
        Of a number: the change to so many times it, and that in words.
    spans : tuple of float
        Of a number: its range, as times of itself. [1]
    """

    id: str
    name: str
    was: str
    needs: Needs
    ends: tuple[tuple[str, Change], ...] = ()
    at: Callable[[float], tuple[str, Change]] | None = None
    spans: tuple[float, ...] = ()


def assumptions(farm: Farm) -> tuple[Assumption, ...]:
    """Return the assumptions of a farm that have a range or another reading: prices, yields, rules, shade."""
    plan = farm.money
    lines = tuple(_of_lines(plan)) if plan is not None else ()
    return (*lines, *_of_rules(farm))


def _of_lines(plan: MoneyPlan) -> Iterator[Assumption]:
    for line in plan.lines:
        for what, said in ranges_of(plan, line).items():
            span = said.to("1")
            if what == "price":
                yield Assumption(
                    f"price {line.id}", say("trials.assume.price", line=line.name), _as_typed(line), "money",
                    at=_priced(line), spans=(1 / (1 + span), 1 + span),
                )  # fmt: skip
            elif what == "yield":
                yield Assumption(
                    f"yield {line.id}", say("trials.assume.yield", line=line.name), _whole(line), "money",
                    at=_bearing(line), spans=(1 / (1 + span), 1 + span),
                )  # fmt: skip


def _price(line: MoneyLine) -> Figure:
    return typed("line_price", float(line.price.value), line.price.unit, line.price.text, about=line.name)


def _as_typed(line: MoneyLine) -> str:
    """Return a price as somebody typed it, linked to its figure."""
    return linked(line.price.text, _price(line))


def _yield(line: MoneyLine) -> Figure:
    """Return a line's yield as the share that it is of itself, for it is a number a year. [1]"""
    years = ", ".join(f"{number:g}" for _, number in line.each)
    return typed("yield_typed", 1.0, "1", years, about=line.name)


def _whole(line: MoneyLine) -> str:
    return linked("100 %", _yield(line))


def _priced(line: MoneyLine) -> Callable[[float], tuple[str, Change]]:
    def at(times: float) -> tuple[str, Change]:
        cents = round(float(line.price.value) * times * 100)
        words, unit = amount_words(cents / 100, line.price.unit, 2), line.price.unit
        price = Quantity(words, Fraction(cents, 100), unit)
        formula = f"{float(line.price.value):.4g} {unit} × {times:.4g}"
        figure = Figure("flip_to", cents / 100, unit, formula=formula, parts=(_price(line),), about=line.name)
        return linked(words, figure), lambda farm: _with_line(farm, line.id, price=price)

    return at


def _bearing(line: MoneyLine) -> Callable[[float], tuple[str, Change]]:
    def at(times: float) -> tuple[str, Change]:
        each = tuple((year, number * times) for year, number in line.each)
        figure = Figure(
            "flip_to", times, "1", formula=f"1 × {times:.4g}", parts=(_yield(line),), about=line.name
        )
        return linked(f"{100 * times:.0f} %", figure), lambda farm: _with_line(farm, line.id, each=each)

    return at


def _with_line(farm: Farm, ident: str, **changes: object) -> Farm:
    """Return a farm with one line of its plan changed; as it is where it has no such line."""
    plan = farm.money
    if plan is None:
        return farm
    lines = tuple(replace(one, **changes) if one.id == ident else one for one in plan.lines)  # type: ignore[arg-type]
    return replace(farm, money=replace(plan, lines=lines))


def _of_rules(farm: Farm) -> Iterator[Assumption]:
    """Yield the stocking rule, the log rule and the reading of shade, each with its other values."""
    now = farm.future
    yield Assumption(
        "stock", say("trials.assume.stock"), _word("stock", now.stock), "decades",
        tuple((_word("stock", rule), _future(stock=rule)) for rule in STOCK_RULES if rule != now.stock),
    )  # fmt: skip
    yield Assumption(
        "log_rule", say("trials.assume.log_rule"), _word("log", now.log_rule), "decades",
        tuple((_word("log", rule), _future(log_rule=rule)) for rule in LOG_RULES if rule != now.log_rule),
    )  # fmt: skip
    used = settings.reading(farm, SHADE).applies_to
    yield Assumption(
        SHADE, say("trials.assume.shade"), used, "decades",
        tuple((name, _reading(name)) for name in settings.names_of(SHADE) if name != used),
    )  # fmt: skip


def _word(of: str, rule: str) -> str:
    key = f"trials.rule.{of}.{rule}"
    return say(key) if known(key) else rule


def _future(**changes: object) -> Change:
    return lambda farm: replace(farm, future=replace(farm.future, **changes))  # type: ignore[arg-type]


def _reading(name: str) -> Change:
    def change(farm: Farm) -> Farm:
        chosen = tuple((key, own) for key, own in farm.rules.chosen if key != SHADE)
        return replace(farm, rules=replace(farm.rules, chosen=(*chosen, (SHADE, name))))

    return change
