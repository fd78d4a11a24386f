"""The rows of a planting in ``farm.toml`` one by one, and the rule by which rows shall stand."""

from __future__ import annotations

from browseline.farm import bounds
from browseline.farm.draft import ident
from browseline.farm.records import LayoutRule, TreeRow
from browseline.farm.toml_lines import Path
from browseline.farm.toml_table import Table, from_to

KEEPS_OFF = ("from_fence", "from_boundary", "from_building", "from_overhead", "from_buried", "from_water")


def read_rows(planting: Table) -> tuple[TreeRow, ...]:
    """Return the rows of a planting; say which has no name, which id stands twice, and which sum cannot be.

    An id is one of its planting only: the record names a row as ``planting/row``.
    """
    made: dict[str, TreeRow] = {}
    paths: dict[str, Path] = {}
    for table in planting.tables("rows"):
        row = _row(table)
        if row is None:
            table.told.finding("farm.no_name", table.path, table=table.title())
        elif row.id in made:
            table.told.finding("farm.double_id", table.path, id=row.id, first=table.told.where(paths[row.id]))
        else:
            made[row.id], paths[row.id] = row, table.path
    _sum(planting, tuple(made.values()))
    return tuple(made.values())


def _row(table: Table) -> TreeRow | None:
    typed, name = table.text("id"), table.text("name")
    found = ident(table.data)
    trees = table.whole("trees", 0, bounds.MOST_TREES)
    cultivar, rootstock = table.text("cultivar"), table.text("rootstock")
    planted = table.whole("planted", bounds.FIRST_YEAR, bounds.LAST_YEAR)
    table.close()
    return TreeRow(found, name or typed or found, trees, cultivar, rootstock, planted) if found else None


def _sum(planting: Table, rows: tuple[TreeRow, ...]) -> None:
    """Say of a planting's trees that they are fewer than those of its rows."""
    typed = planting.data.get("trees")
    together = sum(row.trees or 0 for row in rows)
    if isinstance(typed, int) and not isinstance(typed, bool) and together > typed >= 0:
        span = from_to(f"{together:,}", f"{bounds.MOST_TREES:,}")
        planting.told.finding(
            "farm.impossible", planting.at("trees"), key="trees", value=str(typed), span=span
        )


# ---------------------------------------------------------------- the rule by which rows shall stand


def read_rule(planting: Table) -> LayoutRule | None:
    """Return the rule of a planting's ``layout`` table, or None where there is none."""
    table = planting.table("layout")
    if table is None:
        return None
    fence, boundary, building, overhead, buried, water = (
        table.quantity(key, "length", bounds.SETBACK) for key in KEEPS_OFF
    )
    rule = LayoutRule(
        table.whole("rows_in_set", 1, bounds.MOST_ROWS_IN_SET) or 1,
        table.quantity("between", "length", bounds.SPACING),
        table.flag("staggered"),
        table.number("bearing", 0, 360),
        table.flag("contour"),
        table.quantity("drift", "share", bounds.DRIFT),
        table.quantity("headland", "length", bounds.SETBACK),
        table.quantity("implement", "length", bounds.IMPLEMENT),
        table.whole("passes", 1, bounds.MOST_PASSES),
        table.quantity("clearance", "length", bounds.SETBACK),
        fence,
        boundary,
        building,
        overhead,
        buried,
        water,
        table.names("partners"),
    )
    table.close()
    _sensible(table, rule)
    return rule


def _sensible(table: Table, rule: LayoutRule) -> None:
    """Say which keys of a rule need or exclude one another."""
    if rule.rows_in_set > 1 and rule.between is None and "between" not in table.bad:
        table.told.finding("layout.between", table.at("rows_in_set"), rows=rule.rows_in_set)
    if rule.contour and rule.bearing_deg is not None:
        table.told.finding("layout.both_ways", table.at("contour"))
    if rule.passes is not None and rule.implement is None and "implement" not in table.bad:
        table.told.finding("layout.passes", table.at("passes"))
