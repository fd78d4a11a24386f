"""How a farm makes hay of its own, as it typed it: what is missing, what hay is worth, its line of money."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from browseline import tables
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.records import Farm, HayLot, Rules
from browseline.figures import Figure, typed
from browseline.units import UNITS, Quantity
from browseline.words import say

NEEDED = ("hay_pass", "hay_field_loss", "hay_days")
MADE = "hay made"
"""What a line of money follows for the area that is cut."""
LINE = "rule: hay made"
"""Id of the line of money that nobody typed."""
SOLD, SOLD_LINE, SOLD_PRICE = "hay sold", "rule: hay sold", "hay_sold"
"""What a line follows for the hay that is sold, the id of that line, its price in the farm's file."""
SEASON_CURRENCY = "USD"
"""What the plan of a season reckons in: the tables' prices are in it."""


def not_said(rules: Rules) -> tuple[str, ...]:
    """Return what a farm does not say of making hay, by the names under which it is typed."""
    return tuple(name for name in NEEDED if getattr(rules, name) is None)


def lies_d(rules: Rules) -> int | None:
    """Return for how many days hay lies, that of the cut among them; None where the farm does not say. [d]"""
    return max(math.ceil(rules.hay_days.to("d")), 1) if rules.hay_days is not None else None


def hay_price(farm: Farm) -> Figure:
    """Return what a kilogram of hay as dry matter costs: the farm's own price, else the row. [USD/kg]"""
    return _typed_price(farm) or tables.row("stays", "hay_cost", "fed instead of grass").figure("hay_cost")


def in_dollars(price: Quantity | None) -> Quantity | None:
    """Return a price that the plan of a season can reckon with: one in the currency of its tables."""
    return price if price is not None and price.unit.split("/")[0] == SEASON_CURRENCY else None


def _typed_price(farm: Farm) -> Figure | None:
    """Return the farm's price of hay as dry matter. [USD/kg]

    ``hay`` by weight as it stands; a price of a bale, that of ``hay`` before that of a lot, by the first lot
    whose bale is weighed and whose dry share is typed.
    """
    said = in_dollars(farm.price("hay"))
    if said is not None and said.dimension == "money by mass":
        return typed("hay_cost", said.to("USD/kg"), "USD/kg", said.text)
    for lot in farm.hay:
        price = said if said is not None and said.dimension == "money" else in_dollars(lot.price)
        found = _of_bale(lot, price) if price is not None and price.dimension == "money" else None
        if found is not None:
            return found
    return None


def sale_price(farm: Farm) -> Figure | None:
    """Return what a kilogram of dry hay fetches where the farm typed a price of hay sold. [USD/kg]

    Of a bale, by the first lot whose bale is weighed and whose dry share is typed; None without either.
    """
    said = farm.price(SOLD_PRICE)
    if said is None:
        return None
    if said.dimension == "money by mass":
        return typed("hay_sale", said.to("USD/kg"), "USD/kg", said.text)
    lot = next((lot for lot in farm.hay if dry_bale_kg(lot)), None)
    made = _of_bale(lot, said) if lot is not None else None
    return replace(made, name="hay_sale") if made is not None else None


def dry_bale_kg(lot: HayLot) -> float:
    """Return the dry matter of a bale of a lot; 0 where it is not known. [kg]"""
    return lot.bale_weight.to("kg") * lot.dry.to("1") if lot.dry is not None else 0.0


def _of_bale(lot: HayLot, price: Quantity) -> Figure | None:
    """Return what a kilogram costs at a price of a bale of a lot; None where its dry weight is not known."""
    dry_kg = dry_bale_kg(lot)
    bale = price.to(price.unit)
    if dry_kg <= 0 or bale < 0:
        return None
    part = typed("bale_price", bale, price.unit, price.text, about=lot.id)
    formula = f"{price.text} ÷ {dry_kg:.4g} kg"
    return Figure("hay_cost", bale / dry_kg, "USD/kg", formula=formula, parts=(part,))


def with_making(plan: MoneyPlan | None, rules: Rules) -> MoneyPlan | None:
    """Return a money plan with the cost of making hay by the area cut, as a line of its own.

    It is put in where the farm says all of how it makes hay, in the plan's currency, and no line that
    somebody typed follows ``hay made``. Before the years ahead begin it is nothing.
    """
    if plan is None or not_said(rules) or any(line.follows == MADE for line in plan.lines):
        return plan
    price = rules.hay_pass
    currency, _, area = price.unit.partition("/") if price is not None else ("", "", "")
    if price is None or currency != plan.currency or area not in UNITS:
        return plan
    text = price.text.rpartition("/")[0].strip()
    cost = Quantity(text, price.value, currency)
    name = say("decades.hay.line")
    line = MoneyLine(LINE, name, "cost", cost, count=((1, 0.0),), follows=MADE, per=area, market=MADE)
    return replace(plan, lines=(*plan.lines, line))


def with_selling(
    plan: MoneyPlan | None, rules: Rules, price: Quantity | None, lots: Sequence[HayLot]
) -> MoneyPlan | None:
    """Return a money plan with the hay that is sold by the bale, as a line of its own.

    It is put in where hay is made, its price is typed in the plan's currency, a bale's dry weight is known
    and no line that somebody typed follows ``hay sold``.
    """
    if plan is None or price is None or not_said(rules) or any(line.follows == SOLD for line in plan.lines):
        return plan
    if price.unit != plan.currency or not any(dry_bale_kg(lot) for lot in lots):
        return plan
    name = say("decades.hay.sold_line")
    line = MoneyLine(
        SOLD_LINE, name, "income", price, count=((1, 0.0),), follows=SOLD, per="bales", market=SOLD
    )
    return replace(plan, lines=(*plan.lines, line))


def typed_lines(plan: MoneyPlan) -> tuple[MoneyLine, ...]:
    """Return the lines of a plan that somebody typed."""
    return tuple(line for line in plan.lines if line.id not in (LINE, SOLD_LINE))
