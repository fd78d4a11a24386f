"""``[same_land]`` of ``farm.toml``: the annual crop, the mowing, the orchard that the farm is set against."""

from __future__ import annotations

from collections.abc import Sequence

from browseline import tables
from browseline.farm import bounds
from browseline.farm.draft import Draft, identify
from browseline.farm.same_land import ACRE, DIESEL, MAIZE, TONNE, Crop, CropCost, Mowing, Pass, SameLand
from browseline.farm.toml_table import Table
from browseline.units import NotAQuantity, Quantity, parse

AREAS = ("ac", "ha")
MASSES = ("t", "kg", "lb")
CROP = "crop"
MOST_PASSES = 60
MONTHS = 12


def crops() -> tuple[str, ...]:
    """Return the crops whose residues are known."""
    return tables.applies("crop", "residue_ratio")


def machines() -> tuple[str, ...]:
    """Return the machines whose fuel is known."""
    return tables.applies("fuel", "field_fuel")


def fuels() -> tuple[str, ...]:
    """Return the fuels whose carbon dioxide is known."""
    return tables.applies("fuel", "co2_of_fuel")


def read_same_land(draft: Draft, table: Table | None) -> SameLand:
    """Return what the land is set against; what is not typed stays unknown."""
    if table is None:
        return SameLand()
    paddocks = tuple(p.id for p in draft.paddocks)
    plantings = tuple(p.id for p in draft.plantings)
    lines = tuple(line.id for line in draft.money.lines) if draft.money is not None else ()
    made = SameLand(
        table.names_of("tree_lines", lines),
        table.names_of("stock_lines", lines),
        _by_name(table.table("alone"), plantings, "stocking"),
        _by_name(table.table("food"), (*plantings, CROP), "food energy"),
        _spans(table.table("tree_nitrogen"), plantings),
        _hours(table),
        _crop(table.table(CROP), paddocks),
        tuple(one for each in table.tables("mowing") if (one := _mowing(draft, each, paddocks)) is not None),
    )
    table.close()
    return made


def _by_name(table: Table | None, known: Sequence[str], dimension: str) -> tuple[tuple[str, Quantity], ...]:
    if table is None:
        return ()
    table.asked.update(known)
    found = [(name, table.quantity(name, dimension)) for name in known if table.has(name)]
    table.close()
    return tuple((name, amount) for name, amount in found if amount is not None)


def _spans(table: Table | None, known: Sequence[str]) -> tuple[tuple[str, tuple[Quantity, ...]], ...]:
    """Return weights by name, each one number or the two ends of a range."""
    if table is None:
        return ()
    found = []
    for name in known:
        typed = table.names(name)
        try:
            span = tuple(sorted((parse(text, "mass") for text in typed), key=lambda q: q.to("kg")))
        except NotAQuantity as wrong:
            table.no_quantity(name, wrong)
            continue
        if typed:
            found.append((name, span[:1] + span[-1:] if len(span) > 1 else span))
    table.close()
    return tuple(found)


def _hours(table: Table) -> tuple[float, ...] | None:
    found = table.numbers("hours_by_month")
    if found is None:
        return None
    if len(found) != MONTHS or not all(0 <= hours <= 7 * bounds.HOURS_A_DAY.most for hours in found):
        table.refuse("hours_by_month", "twelve_hours")
        return None
    return found


def _crop(table: Table | None, paddocks: Sequence[str]) -> Crop:
    if table is None:
        return Crop()
    made = Crop(
        table.one_of("kind", crops()) or MAIZE,
        table.names_of("paddocks", paddocks),
        table.quantity("grain", "herbage mass", bounds.YEARLY_YIELD),
        table.quantity("yield_range", "share", bounds.SHARE),
        table.quantity("nitrogen", "herbage mass"),
        table.quantity("price", "money"),
        table.one_of("per", MASSES) or TONNE,
        table.quantity("hours", "time"),
        table.one_of("hours_per", AREAS) or ACRE,
        tuple(one for each in table.tables("passes") if (one := _pass(each)) is not None),
        tuple(cost for each in table.tables("costs") if (cost := _cost(each)) is not None),
    )
    table.close()
    return made


def _pass(table: Table) -> Pass | None:
    machine, times = table.one_of("machine", machines()), table.number("times", 0, MOST_PASSES)
    table.close()
    return Pass(machine, 1.0 if times is None else times) if machine is not None else None


def _cost(table: Table) -> CropCost | None:
    name, amount = table.text("name", needed=True), table.quantity("amount", "money", needed=True)
    per = table.one_of("per", AREAS) or ACRE
    table.close()
    return CropCost(name, amount, per) if name is not None and amount is not None else None


def _mowing(draft: Draft, table: Table, paddocks: Sequence[str]) -> Mowing | None:
    found = identify(draft, table, "mowing")
    where = table.names_of("paddocks", paddocks)
    passes = table.whole("passes", 1, MOST_PASSES, needed=True)
    machine, fuel = table.one_of("machine", machines()), table.one_of("fuel", fuels())
    table.close()
    if found is None or passes is None or machine is None:
        return None
    return Mowing(*found, where, passes, machine, fuel or DIESEL)
