"""Cultivars by the record: survival, causes, looks and yield, row by row."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from browseline.events import Looked, Lost, Picked
from browseline.farm.records import Planting, TreeRow
from browseline.ledger.cultivars import cultivars, cultivars_account
from browseline.limits import Scene
from browseline.record.fold import fold
from browseline.science.shares import score_interval
from browseline.units import parse
from browseline.words import links_of
from tests.acceptance.cases import entry
from tests.small_farm import NOW, farm, scene

ROWS = (
    TreeRow("a", "A", 40, "First", "seedling"), TreeRow("b", "B", 40, "Second"),
    TreeRow("c", "C", 20, "First", "seedling"),
)  # fmt: skip
NUTS = Planting("nuts", "Nuts", "chestnut_chinese", "1", 2020, 100, ("First", "Second"), rows=ROWS)
SINGLE = Planting("one", "One", "hazel_hybrid", "2", 2020, 30, ("Third",))
MIXED = Planting("mixed", "Mixed", "hazel_hybrid", "3", 2020, 30, ("Third", "Fourth"))


EVENTS = (
    entry("2026-04-25 08:00", "nuts", Lost(4, "blight", row="a")),
    entry("2026-04-26 08:00", "nuts", Lost(12, "blight", row="b")),
    entry("2026-04-27 08:00", "nuts", Lost(2, "", row="c")),
    entry("2026-04-28 08:00", "one", Lost(3, "vole")),
    entry("2026-05-01 08:00", "1", Looked("trees", "nuts", seen=30, bitten=2, row="a", sick=3)),
    entry("2026-05-01 09:00", "1", Looked("trees", "nuts", seen=10, bitten=1, row="c")),
    entry("2026-05-02 08:00", "nuts", Picked(parse("72 kg", "mass"), row="a")),
    entry("2026-05-02 09:00", "nuts", Picked(parse("18 kg", "mass"))),
)


def seen() -> Scene:
    own = replace(farm(), as_of=date(2026, 4, 20), plantings=(NUTS, SINGLE, MIXED))
    return scene(own, fold(own, EVENTS, NOW))


def test_rows_of_one_cultivar_and_rootstock_count_together() -> None:
    """First on seedling, rows A and C: 60 stood, 4 + 2 lost, 54 alive; 3 of 30 sick, 3 of 40 bitten."""
    first, second, third = cultivars(seen(), EVENTS)
    assert (first.cultivar, first.rootstock, first.where) == ("First", "seedling", ["A", "C"])
    assert sum(f.value or 0 for f in first.stood) == 60
    assert sum(f.value or 0 for f in first.alive) == 54
    assert dict(first.causes) == {"blight": 4, "": 2}
    assert (first.seen, first.bitten, first.judged, first.sick) == (40, 3, 30, 3)
    assert dict(second.causes) == {"blight": 12}
    assert third.cultivar == "Third"
    assert sum(f.value or 0 for f in third.alive) == 27


def test_a_tree_bears_what_its_row_was_picked_and_no_other() -> None:
    """72 kg from the 36 trees left in row A are 2 kg a tree; 18 kg without a row are nobody's."""
    first, second, _ = cultivars(seen(), EVENTS)
    assert [y.a_tree.value for y in first.bore if y.a_tree is not None] == [pytest.approx(2.0)]
    assert second.bore == []


def test_the_page_tells_share_with_its_range_and_who_is_in_no_line() -> None:
    page = cultivars_account(seen(), EVENTS)
    assert [row[0] for row in page.rows] == ["First on seedling", "Second", "Third"]
    assert page.rows[0][2].startswith("54, 90 % (")
    low, high = score_interval(54, 60, 1.2815515655446004)
    assert f"({100 * low:.0f}–{100 * high:.0f})" in page.rows[0][2]
    assert "12 blight" in page.rows[1][3] or "blight" in page.rows[1][3]
    assert "no look" in page.rows[1][4]
    assert any("Mixed" in sentence for sentence in page.sentences)
    assert all(not any(c.isdigit() for c in cell) or links_of(cell) for row in page.rows for cell in row[1:])


def test_a_farm_that_names_none_is_told_how() -> None:
    own = replace(farm(), plantings=(MIXED,))
    page = cultivars_account(scene(own), ())
    assert page.rows == ()
    assert "[[plantings.rows]]" in page.sentences[0]
