"""The rows of a planting in ``farm.toml``: trees, cultivar, rootstock and year, row by row."""

from __future__ import annotations

from browseline.farm import bounds
from browseline.farm.draft import ident
from browseline.farm.records import TreeRow
from browseline.farm.toml_lines import Path
from browseline.farm.toml_table import Table, from_to


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
