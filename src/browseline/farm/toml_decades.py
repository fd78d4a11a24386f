"""What a farm chooses for its years ahead: ``[decades]`` of ``farm.toml``."""

from __future__ import annotations

from typing import cast

from browseline import tables
from browseline.farm import bounds
from browseline.farm.draft import Draft, identify
from browseline.farm.future import (
    LOG_RULES,
    STOCK_RULES,
    WORK_KINDS,
    Future,
    LeafCut,
    LogRule,
    PlannedInput,
    PlannedWork,
    SoilChange,
    StockRule,
    WorkKind,
)
from browseline.farm.toml_table import Table

MOST_YEARS = 150
USUAL = Future()
MONTHS = 12
WORKS, INPUTS = "decades.works", "decades.inputs"
SOIL = "soil_carbon"
SOIL_KEYS = {
    "stock": "reference_stock",
    "use_before": "use_factor", "management_before": "management_factor", "input_before": "input_factor",
    "use_after": "use_factor", "management_after": "management_factor", "input_after": "input_factor",
}  # fmt: skip


def read_decades(draft: Draft, table: Table | None) -> Future:
    """Return the choices for the years ahead; what is not typed is as usual."""
    if table is None:
        return USUAL
    made = Future(
        years=table.whole("years", 1, MOST_YEARS) or USUAL.years,
        stock=cast("StockRule", table.one_of("stock", STOCK_RULES) or USUAL.stock),
        build_up=table.quantity("build_up", "share", bounds.SHARE),
        log_rule=cast("LogRule", table.one_of("log_rule", LOG_RULES) or USUAL.log_rule),
        form_class=table.quantity("form_class", "share", bounds.SHARE_EATEN),
        replant=table.flag("replant"),
        diesel=table.quantity("diesel", "volume"),
        petrol=table.quantity("petrol", "volume"),
        soil=_soil(table.table("soil")),
        works=tuple(work for each in table.tables("works") if (work := _work(draft, each)) is not None),
        inputs=tuple(one for each in table.tables("inputs") if (one := _input(draft, each)) is not None),
        fodder=tuple(cut for each in table.tables("fodder") if (cut := _leaf(each)) is not None),
    )
    table.close()
    return made


def _soil(table: Table | None) -> SoilChange | None:
    """Return the ground whose soil the book is asked about; None where something of it is missing."""
    if table is None:
        return None
    named = {name: table.one_of(name, tables.applies(SOIL, key)) for name, key in SOIL_KEYS.items()}
    for name in named:
        if not table.has(name):
            table.told.finding("farm.missing", table.path, key=name, table=table.title())
    area = table.quantity("area", "area", needed=True)
    year = table.whole("year", bounds.FIRST_YEAR, bounds.LAST_YEAR, needed=True)
    table.close()
    known = {name: text for name, text in named.items() if text is not None}
    if len(known) < len(named) or area is None or year is None:
        return None
    return SoilChange(**known, area=area, year=year)


def _work(draft: Draft, table: Table) -> PlannedWork | None:
    planting = table.text("planting", needed=True)
    kind = table.one_of("kind", WORK_KINDS)
    if kind is None and not table.has("kind"):
        table.told.finding("farm.missing", table.path, key="kind", table=table.title())
    year = table.whole("year", bounds.FIRST_YEAR, bounds.LAST_YEAR, needed=True)
    trees = table.whole("trees", 1, bounds.MOST_TREES)
    height = table.quantity("to_height", "length", bounds.LEADER)
    note = table.text("note") or ""
    named = identify(draft, table, WORKS) if table.has("id") or table.has("name") else None
    table.close()
    if planting is None or kind is None or year is None:
        return None
    ident = named[0] if named else f"{planting}-{kind}-{year}"
    return PlannedWork(ident, planting, cast("WorkKind", kind), year, trees, height, note)


def _input(draft: Draft, table: Table) -> PlannedInput | None:
    what = table.text("what", needed=True)
    amount = table.quantity("amount", "mass", needed=True)
    year = table.whole("year", bounds.FIRST_YEAR, bounds.LAST_YEAR, needed=True)
    every = table.whole("every", 1, MOST_YEARS)
    named = identify(draft, table, INPUTS) if what is not None or table.has("id") else None
    table.close()
    if named is None or what is None or amount is None or year is None:
        return None
    return PlannedInput(named[0], what, amount, year, every)


def _leaf(table: Table) -> LeafCut | None:
    planting = table.text("planting", needed=True)
    each = table.quantity("each", "mass", bounds.LEAF, needed=True)
    age = table.whole("from_age", 0, MOST_YEARS, needed=True)
    every, month = table.whole("every", 1, MOST_YEARS), table.whole("month", 1, MONTHS)
    ident = table.text("id") or f"{planting}-leaf"
    table.close()
    if planting is None or each is None or age is None:
        return None
    return LeafCut(ident, planting, each, age, every or 1, month)
