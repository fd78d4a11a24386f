"""Straight rows: counts worked out by hand for rectangles, sets, headlands, setbacks, implements."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from browseline.farm.records import LayoutRule, TreeRow
from browseline.layout import Layout, lay_out
from tests.layout_farms import box, farm, line, outline, planting, point, q, world

FT = 0.3048
NONE = q("0 m")


def laid(wide_ft: float, deep_ft: float, rule: LayoutRule, turn_deg: float = 0.0, **more: Any) -> Layout:
    """Return the layout of pears 20 ft apart in rows 40 ft apart in a rectangle."""
    field = outline("1", box(wide_ft * FT, deep_ft * FT), turn_deg=turn_deg)
    return lay_out(farm(field, [planting(rule=rule, **more)]))


def counts(layout: Layout) -> list[int]:
    return [row.count for row in layout.rows]


def test_20_by_40_in_a_rectangle_up_to_the_fence() -> None:
    """200 x 400 ft: 200/40 + 1 = 6 rows of 400/20 + 1 = 21."""
    assert counts(laid(200, 400, LayoutRule(from_fence=NONE))) == [21] * 6


def test_20_by_40_twenty_feet_off_the_fence() -> None:
    """160/40 + 1 = 5 rows of 360/20 + 1 = 19."""
    assert counts(laid(200, 400, LayoutRule(from_fence=q("20 ft")))) == [19] * 5


@pytest.mark.parametrize("turn_deg", [0, 18, 73, 145])
def test_a_turned_field_holds_the_same_rows(turn_deg: float) -> None:
    found = laid(200, 400, LayoutRule(from_fence=q("20 ft")), turn_deg)
    assert counts(found) == [19] * 5
    bearings = {round(row.bearing_deg % 180, 1) for row in found.rows}
    assert bearings == {round(turn_deg % 180, 1)}


def test_rows_by_a_bearing_run_across() -> None:
    """Rows to the east: 400/40 + 1 = 11 rows of 200/20 + 1 = 11."""
    found = laid(200, 400, LayoutRule(from_fence=NONE, bearing_deg=90))
    assert counts(found) == [11] * 11
    assert {round(row.bearing_deg) for row in found.rows} == {90}


def test_headland_shortens_rows_at_their_ends_only() -> None:
    """30 ft at both ends: (400 - 60)/20 + 1 = 18; the rows beside the fence stay."""
    found = laid(200, 400, LayoutRule(from_fence=NONE, headland=q("30 ft")))
    assert counts(found) == [18] * 6


def test_double_rows() -> None:
    """10 ft inside a set: period 50; 1 + (200 - 10)/50 = 4 sets of two rows of 21."""
    found = laid(200, 400, LayoutRule(rows_in_set=2, between=q("10 ft"), from_fence=NONE))
    assert counts(found) == [21] * 8
    assert found.plantings[0].alley_m == pytest.approx((40 * FT,) * 3, abs=0.01)


def test_triple_rows() -> None:
    """8 ft inside a set: period 56; 1 + floor((200 - 16)/56) = 4 sets of three rows."""
    found = laid(200, 400, LayoutRule(rows_in_set=3, between=q("8 ft"), from_fence=NONE))
    assert counts(found) == [21] * 12


def test_staggered_rows_shift_by_half_a_spacing() -> None:
    """Every second row stands in the gaps of the first: 21, 20, 21, 20, 21, 20."""
    found = laid(200, 400, LayoutRule(staggered=True, from_fence=NONE))
    assert counts(found) == [21, 20] * 3


def test_alley_from_whole_passes() -> None:
    """3 passes of 12 ft and 4 ft on each side: 44 ft; 200/44 = 4.5, so 5 rows."""
    rule = LayoutRule(implement=q("12 ft"), passes=3, clearance=q("4 ft"), headland=NONE, from_fence=NONE)
    found = laid(200, 400, rule, alley=None)
    assert len(found.rows) == 5
    assert found.plantings[0].alley_m == pytest.approx((44 * FT,) * 3, abs=0.01)
    assert found.plantings[0].passes == pytest.approx(3, abs=0.01)
    assert not found.findings


def test_margins_are_alike() -> None:
    found = laid(210, 410, LayoutRule(from_fence=NONE))
    assert found.trees.east_m.min() == pytest.approx(-found.trees.east_m.max(), abs=0.01)
    assert found.trees.north_m.min() == pytest.approx(-found.trees.north_m.max(), abs=0.01)
    assert found.trees.east_m.max() == pytest.approx(100 * FT, abs=0.01)


def test_trees_stand_where_the_map_says() -> None:
    """Longitude and latitude come back to the plane they were made from."""
    found = laid(200, 400, LayoutRule(from_fence=NONE))
    spots = world([(-100 * FT, -200 * FT)])
    nearest = np.hypot(found.trees.longitude_deg - spots[0][0], found.trees.latitude_deg - spots[0][1])
    assert nearest.min() < 1e-7


def test_rows_and_trees_are_named() -> None:
    found = laid(200, 400, LayoutRule(from_fence=NONE), rows=(TreeRow("east", "East"), TreeRow("w", "W")))
    assert [row.id for row in found.rows] == [f"trees/{w}" for w in ("east", "w", "1", "2", "3", "4")]
    assert found.tree_name(22) == "trees/w/2"
    assert found.rows[1].first == 21


def test_cultivars_take_turns_by_row() -> None:
    found = laid(200, 400, LayoutRule(from_fence=NONE), cultivars=("a", "b"))
    assert [row.cultivars for row in found.rows] == [("a",), ("b",)] * 3
    assert (found.cultivar(0), found.cultivar(21)) == ("a", "b")


def test_cultivars_take_turns_by_tree_in_one_row() -> None:
    found = laid(30, 400, LayoutRule(from_fence=NONE), cultivars=("a", "b"))
    assert [found.cultivar(tree) for tree in range(4)] == ["a", "b", "a", "b"]


def test_as_many_places_as_trees_are_counted() -> None:
    found = laid(200, 400, LayoutRule(from_fence=NONE), trees=50)
    assert counts(found) == [21, 21, 8]
    assert [f.finding.code for f in found.findings] == ["layout.room_left"]


def test_more_trees_than_room() -> None:
    found = laid(200, 400, LayoutRule(from_fence=NONE), trees=200)
    assert [f.finding.code for f in found.findings] == ["layout.fewer_places"]


def test_a_line_across_the_field_parts_the_rows() -> None:
    """A buried line across the middle, 25 ft kept: the stems from 180 to 220 ft go, three of 21."""
    field = outline("1", box(200 * FT, 400 * FT))
    pipe = line("pipe", "buried_line", [(-60, 0), (60, 0)])
    found = lay_out(farm(field, [planting(rule=LayoutRule(from_fence=NONE, from_buried=q("25 ft")))], pipe))
    assert counts(found) == [18] * 6
    assert all(len(row.lines) == 2 for row in found.rows)
    assert not found.findings


def test_no_room_is_told() -> None:
    found = laid(60, 60, LayoutRule(from_fence=q("40 ft")))
    assert len(found.trees) == 0
    assert [f.finding.code for f in found.findings] == ["layout.no_room"]


def test_two_plantings_share_a_field() -> None:
    """The second keeps an alley away from the first."""
    field = outline("1", box(200 * FT, 400 * FT))
    rule = LayoutRule(from_fence=NONE)
    pair = [planting(rule=rule, trees=42), planting(rule=rule, id="more", name="More")]
    found = lay_out(farm(field, pair))
    first, second = found.plantings
    assert (first.places, second.places) == (42, 84)
    east = [found.trees.east_m[row.first] for row in found.rows]
    assert np.diff(sorted(east)) == pytest.approx(40 * FT, abs=0.01)


def test_what_the_ground_and_the_guards_come_to() -> None:
    """A strip 2.5 m wide under six rows of 400 ft, its ends 1.25 m longer but cut at the fence."""
    found = laid(200, 400, LayoutRule(from_fence=NONE))
    (paddock,), (one,) = found.paddocks, found.plantings
    strips_m2 = 4 * 400 * FT * 2.5 + 2 * 400 * FT * 1.25
    assert paddock.row_ground_ha == pytest.approx(strips_m2 / 10_000, rel=1e-4)
    assert paddock.grazed_ha == pytest.approx(paddock.area_ha - strips_m2 / 10_000, rel=1e-4)
    assert (one.guards, one.guard_m, one.to_plant) == (126, 2.0, True)
    assert one.row_length_m == pytest.approx(6 * 400 * FT, abs=0.02)


def test_fences_are_counted_once() -> None:
    """Two fields of 60 x 100 m with a common side: 2 x 320 - 100 m; a lane of 150 m."""
    left = outline("1", [(-60, 0), (0, 0), (0, 100), (-60, 100), (-60, 0)])
    right = outline("2", [(0, 0), (60, 0), (60, 100), (0, 100), (0, 0)])
    base = farm(left, [], right, line("lane", "lane", [(-60, -5), (90, -5)]))
    from dataclasses import replace

    two = replace(base, paddocks=(*base.paddocks, replace(base.paddocks[0], id="2", shape="2", name="Two")))
    found = lay_out(two)
    assert found.fence_m == pytest.approx(540, abs=0.01)
    assert not found.fence_drawn
    assert found.lane_m == pytest.approx(150, abs=0.001)


def test_drawn_fences_go_first() -> None:
    field = outline("1", box(100, 100))
    found = lay_out(farm(field, [], line("f", "fence", [(-50, 0), (50, 0)])))
    assert (found.fence_drawn, round(found.fence_m, 3)) == (True, 100.0)


def test_surveyed_trees_go_first_and_keep_their_order() -> None:
    field = outline("1", box(100, 100))
    walked = [(0.0, 30.0), (0.2, 24.0), (-0.1, 18.0), (0.0, 12.0)]
    points = [point(f"t{n}", "tree", at, "trees", row="a") for n, at in enumerate(walked)]
    rows = line("r", "tree_row", [(10, -20), (10, 20)], "trees")
    found = lay_out(farm(field, [planting()], *points, rows))
    assert [(row.id, row.how, row.count) for row in found.rows] == [("trees/a", "surveyed", 4)]
    assert list(found.trees.north_m) == pytest.approx([30, 24, 18, 12], abs=0.01)


def test_points_without_a_row_are_sorted_into_rows() -> None:
    field = outline("1", box(100, 100))
    spots = [(x, y) for x in (20.0, -20.0, 0.0) for y in range(-30, 31, 6)]
    points = [point(f"t{n}", "tree", at, "trees") for n, at in enumerate(spots)]
    found = lay_out(farm(field, [planting()], *points))
    assert [(row.row, row.count) for row in found.rows] == [("1", 11), ("2", 11), ("3", 11)]
    assert found.trees.east_m[0] == pytest.approx(-20, abs=0.01)
    assert found.plantings[0].alley_m == pytest.approx((20, 20, 20), abs=0.01)


def test_a_drawn_row_has_stems_a_spacing_apart() -> None:
    """108 m at 20 ft: 17.7 steps, so 18 stems with 2.2 m left at both ends."""
    field = outline("1", box(100, 120))
    found = lay_out(farm(field, [planting()], line("trees-4", "tree_row", [(0, -54), (0, 54)], "trees")))
    assert [(row.id, row.count) for row in found.rows] == [("trees/4", 18)]
    assert found.trees.north_m[0] == pytest.approx(-54 + (108 - 17 * 20 * FT) / 2, abs=0.01)


def test_a_planting_without_outline_or_spacing_is_told() -> None:
    field = outline("1", box(100, 120))
    loose = planting(id="a", name="A", paddock=None)
    bare = planting(id="b", name="B", alley=None)
    found = lay_out(farm(field, [loose, bare]))
    assert [f.finding.code for f in found.findings] == ["layout.no_outline", "layout.no_spacing"]
