"""Money ahead in ``farm.toml``: ``[money]`` with its loans, lines and knocks."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TypeVar, cast

from browseline.farm import bounds
from browseline.farm.accounts import (
    FOLLOWS,
    KNOCKS,
    LINE_KINDS,
    Knock,
    KnockOn,
    LineKind,
    Loan,
    MoneyLine,
    MoneyPlan,
    Steps,
)
from browseline.farm.draft import Draft, ident, identify
from browseline.farm.toml_table import Table, is_number
from browseline.units import UNITS, Quantity, unit_word

MOST_YEARS = 60
MOST_TIMES = 1e9
USUAL_YEARS = 15
KNOCKED_BY = {"amount": "add", "later": "years_later"}
T = TypeVar("T")


def read_money(draft: Draft, table: Table | None) -> MoneyPlan | None:
    """Return the money ahead; None where nothing usable was typed."""
    if table is None:
        return None
    first = table.whole("first_year", bounds.FIRST_YEAR, bounds.LAST_YEAR, needed=True)
    years = table.whole("years", 1, MOST_YEARS) or USUAL_YEARS
    discount = table.quantity("discount", "share", bounds.SHARE, needed=True)
    hours = table.quantity("own_hours", "time")
    wanted = table.number("cover_wanted", 0, MOST_TIMES)
    price_range, yield_range = _share(table, "price_range"), _share(table, "yield_range")
    pledged, lender = table.text("pledged") or "", table.text("lender") or ""
    loans = _there(_loan(draft, each) for each in table.tables("loans"))
    span = (first, years) if first is not None else None
    lines = _there(_line(draft, each, span) for each in table.tables("lines"))
    known = _typed_ids(table)
    knocks = _there(_knock(draft, each, known) for each in table.tables("knocks"))
    table.close()
    currency = _currency(table, loans, lines)
    if first is None or discount is None or currency is None:
        return None
    return MoneyPlan(
        first, years, discount, loans, lines, knocks, hours, wanted, currency, price_range, yield_range,
        pledged, lender,
    )  # fmt: skip


def _typed_ids(table: Table) -> tuple[str, ...]:
    """Return the ids of all lines, those too that have a fault of their own: it is told once, where it is."""
    typed = table.data.get("lines")
    tables = [each for each in typed if isinstance(each, dict)] if isinstance(typed, list) else []
    return tuple(name for name in map(ident, tables) if name)


def _there(found: Iterable[T | None]) -> tuple[T, ...]:
    return tuple(one for one in found if one is not None)


def _currency(table: Table, loans: tuple[Loan, ...], lines: tuple[MoneyLine, ...]) -> str | None:
    """Return the one currency of a plan; two in one plan are a fault."""
    found = {loan.amount.unit for loan in loans} | {line.price.unit for line in lines}
    found |= {line.less.unit for line in lines if line.less is not None}
    if len(found) > 1:
        table.told.finding("farm.currencies", table.path, found=", ".join(sorted(found)))
        return None
    return next(iter(found), "USD")


def _loan(draft: Draft, table: Table) -> Loan | None:
    found = identify(draft, table, "loans")
    amount = table.quantity("amount", "money", needed=True)
    rate = table.quantity("rate", "share", bounds.SHARE, needed=True)
    years = table.whole("years", 1, MOST_YEARS, needed=True)
    only = table.whole("interest_only", 0, max((years or 1) - 1, 0)) or 0
    first, buys = table.whole("first", 1, MOST_YEARS) or 1, table.text("buys") or ""
    table.close()
    if found is None or amount is None or rate is None or years is None:
        return None
    return Loan(*found, amount, rate, years, only, first, buys)


def _line(draft: Draft, table: Table, span: tuple[int, int] | None) -> MoneyLine | None:
    found = identify(draft, table, "lines")
    kind = table.one_of("kind", LINE_KINDS)
    price = table.quantity("price", "money", needed=True)
    count, each = _steps(table, "count"), _steps(table, "each")
    less = table.quantity("less", "money")
    signed, note = table.day("signed"), table.text("note") or ""
    follows, per = _follows(draft, table)
    market, record = table.text("market") or "", table.names("record")
    ranges = (_share(table, "price_range"), _share(table, "yield_range"), _share(table, "price_swing"))
    due, years = _years(table, span)
    if kind is None and not table.has("kind"):
        table.told.finding("farm.missing", table.path, key="kind", table=table.title())
    table.close()
    if found is None or kind is None or price is None:
        return None
    made = cast("LineKind", kind)
    return MoneyLine(
        *found, made, price, count, each, less, years[0], years[1], signed, note, follows, per, market,
        ranges[0], ranges[1], ranges[2], due, record,
    )  # fmt: skip


def _share(table: Table, key: str) -> Quantity | None:
    return table.quantity(key, "share", bounds.SHARE)


def _years(table: Table, span: tuple[int, int] | None) -> tuple[date | None, tuple[int, int | None]]:
    """Return the day on which a line falls, if one is typed, and its first and last year of the plan."""
    first, last = _span(table)
    due = table.day("due")
    if due is None or span is None:
        return due, (first, last)
    year = due.year - span[0] + 1
    if not 1 <= year <= span[1]:
        table.refuse("due", "day_of_plan")
        return None, (first, last)
    return due, (year, year)


def _span(table: Table) -> tuple[int, int | None]:
    """Return the first and the last year of the plan; a last before the first is a fault."""
    first, last = table.whole("from", 1, MOST_YEARS) or 1, table.whole("to", 1, MOST_YEARS)
    if last is not None and last < first:
        table.told.finding("farm.years_backward", table.at("to"), first=first, last=last)
        return first, None
    return first, last


def _follows(draft: Draft, table: Table) -> tuple[str, str]:
    """Return what of the decades a line follows, and the unit that its price is for."""
    typed, per = table.text("follows") or "", table.text("per") or ""
    unit = unit_word(per) if per else ""
    if per and (unit is None or UNITS[unit].dimension == "money"):
        table.refuse("per", "unit")
        return "", ""
    if typed and not _can_follow(draft, typed):
        table.refuse("follows", "follows")
        return "", ""
    return typed, unit or ""


def _can_follow(draft: Draft, typed: str) -> bool:
    """Return whether a farm has what a line follows; products and classes are looked up in the decades."""
    what, _, about = typed.partition(" ")
    if what in ("yield", "wood"):
        return about.partition(" ")[0] in draft.known["plantings"]
    if what == "hay":
        return about in ("", "bought", "made", "sold")
    if what == "hours":
        return True
    if what == "input":
        return about in draft.known["inputs"]
    return what in FOLLOWS and about.partition("/")[0] in draft.known["mobs"]


def _steps(table: Table, key: str) -> Steps:
    """Return a number for all years, or numbers each from a year on (``{ 1 = 327, 4 = 294.3 }``)."""
    if not isinstance(table.data.get(key), dict):
        plain = table.number(key, 0, MOST_TIMES)
        return ((1, 1.0 if plain is None else plain),)
    under = table.table(key)
    typed = under.data if under is not None else {}
    good = all(
        year.isdecimal() and 1 <= int(year) <= MOST_YEARS and _is_times(n) for year, n in typed.items()
    )
    if not good or not typed:
        table.refuse(key, "by_year")
        return ((1, 0.0),)
    return tuple(sorted((int(year), float(number)) for year, number in typed.items()))


def _is_times(value: object) -> bool:
    return is_number(value) and 0 <= cast("float", value) <= MOST_TIMES


def _knock(draft: Draft, table: Table, known: tuple[str, ...]) -> Knock | None:
    found = identify(draft, table, "knocks")
    line, on = table.one_of("line", known), table.one_of("on", KNOCKS)
    times = table.number("factor", 0, MOST_TIMES)
    add = table.quantity("add", "money")
    later = table.whole("years_later", 0, MOST_YEARS) or 0
    (first, last), decade = _span(table), table.text("decade") or ""
    table.close()
    by = "" if on is None else KNOCKED_BY.get(on, "factor")
    if by and not table.has(by):
        table.told.finding("farm.knock_without", table.at("on"), on=on, key=by)
    if found is None or line is None or on is None:
        return None
    factor = 1.0 if times is None else times
    return Knock(*found, line, cast("KnockOn", on), factor, add, later, first, last, decade)
