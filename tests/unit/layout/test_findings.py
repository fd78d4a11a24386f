"""Findings of a layout: what each says, on what it rests, and that nothing is told without cause."""

from __future__ import annotations

from dataclasses import replace

import pytest

from browseline.farm.records import Farm, LayoutRule, Paddock, Planting, Shape, Soil
from browseline.layout import Layout, LayoutFinding, lay_out
from browseline.layout.machines import years_of
from browseline.layout.rule import keeps_off
from tests.layout_farms import box, farm, line, outline, planting, point, q

FT = 0.3048
RULE = LayoutRule(from_fence=q("0 m"))


def codes(layout: Layout) -> list[str]:
    return [one.finding.code.removeprefix("layout.") for one in layout.findings]


def only(layout: Layout) -> LayoutFinding:
    (found,) = layout.findings
    return found


def field(wide_ft: float = 200, deep_ft: float = 400) -> Shape:
    return outline("1", box(wide_ft * FT, deep_ft * FT))


# ---------------------------------------------------------------- how far stems keep off


@pytest.mark.parametrize(
    ("species", "what", "feet"),
    [
        ("hazel_hybrid", "building", 10),  # grows to 5 m: small
        ("pear", "building", 15),  # 10 m: medium
        ("oak_white", "building", 20),  # 30 m: large
        ("hazel_hybrid", "overhead_line", 0),  # under 20 ft: both lists let it stand below
        ("pear", "overhead_line", 20),  # 33 ft: 20 ft of the towns against 15 of the cooperatives
        ("oak_white", "overhead_line", 65),  # the stricter of 40 and 65
        ("pear", "buried_line", 10),
        ("pear", "boundary", 15),  # half its crown is 3.5 m
    ],
)  # fmt: skip
def test_distances_by_grown_size(species: str, what: str, feet: float) -> None:
    kept = {one.what: one for one in keeps_off(planting(species=species))}
    assert kept[what].distance_m == pytest.approx(feet * FT)
    assert kept[what].origins[0].locator == "trees.md section 5"
    assert kept[what].origins[0].basis == "common-practice"


def test_boundary_is_half_a_wide_crown() -> None:
    kept = {one.what: one for one in keeps_off(planting(species="pecan"))}
    assert kept["boundary"].distance_m == pytest.approx(12.5)
    assert [origin.source for origin in kept["boundary"].origins] == ["common_practice", "ah654"]


def test_what_is_typed_goes_first_and_water_has_no_figure() -> None:
    rule = LayoutRule(from_building=q("7 m"))
    kept = {one.what: one for one in keeps_off(planting(rule=rule))}
    assert (kept["building"].distance_m, kept["building"].origins[0].basis) == (7.0, "farm")
    assert "water" not in kept
    assert {one.what for one in keeps_off(planting(rule=LayoutRule(from_water=q("9 m"))))} > {"water"}


# ---------------------------------------------------------------- conflicts of rows on the map


@pytest.mark.parametrize(
    ("kind", "least"),
    [("overhead_line", "20 ft"), ("buried_line", "10 ft"), ("fence", "9.8 ft")],
)
def test_a_drawn_row_beside_a_line(kind: str, least: str) -> None:
    """A row 2 m from a line along it: every stem is nearer than its kind may be."""
    near = line("Long one", kind, [(2, -50), (2, 50)])
    row = line("trees-1", "tree_row", [(0, -50), (0, 50)], "trees")
    found = only(lay_out(farm(field(), [planting(rule=LayoutRule())], near, row)))
    assert found.finding.code == f"layout.near_{kind}"
    assert least in found.finding.what
    assert "17 trees of Trees" in found.finding.what
    assert "6.6 ft" in found.finding.what
    assert found.finding.level == "question"
    assert found.origins


def test_a_row_at_the_edge_and_outside() -> None:
    row = line("trees-1", "tree_row", [(0, -40), (0, 70)], "trees")
    found = lay_out(farm(field(), [planting()], row))
    assert codes(found) == ["outside"]
    assert "2 trees" in found.findings[0].finding.what


def test_boundary_building_water_and_keep_out() -> None:
    edge = outline("edge", box(210 * FT, 420 * FT), "boundary")
    barn = outline("barn", [(4, 5), (10, 5), (10, 10), (4, 10), (4, 5)], "building")
    spring = outline("spring", [(-1, -10), (1, -10), (1, 0), (-1, 0), (-1, -10)], "keep_out")
    trough = point("trough", "water", (0.0, 30.0))
    rows = [
        line("trees-1", "tree_row", [(0, -50), (0, 50)], "trees"),
        line("trees-2", "tree_row", [(30.2, -50), (30.2, 50)], "trees"),
    ]
    rule = LayoutRule(from_fence=q("0 m"), from_water=q("10 ft"))
    found = lay_out(farm(field(), [planting(rule=rule)], edge, barn, spring, trough, *rows))
    assert sorted(codes(found)) == ["near_boundary", "near_building", "near_keep_out", "near_water"]


def test_a_tree_surveyed_twice() -> None:
    spots = [(0.0, 0.0), (0.0, 6.0), (0.3, 6.2), (0.0, 12.0)]
    points = [point(f"t{n}", "tree", at, "trees", row="a") for n, at in enumerate(spots)]
    found = only(lay_out(farm(field(), [planting()], *points)))
    assert found.finding.code == "layout.close"
    assert "a/2 and a/3" in found.finding.what


def test_rows_by_rule_conflict_with_nothing() -> None:
    barn = outline("barn", [(5, 5), (15, 5), (15, 15), (5, 15), (5, 5)], "building")
    power = line("power", "overhead_line", [(-60, -20), (60, 0)])
    assert codes(lay_out(farm(field(), [planting(rule=LayoutRule())], barn, power))) == []


# ---------------------------------------------------------------- machines


def test_an_alley_that_is_no_whole_number_of_passes() -> None:
    """40 ft with 4 ft free on both sides: 32/12 = 2.7 passes; 32 ft holds 2, 44 ft holds 3."""
    rule = LayoutRule(implement=q("12 ft"), clearance=q("4 ft"), from_fence=q("0 m"), headland=q("0 m"))
    found = only(lay_out(farm(field(), [planting(rule=rule)])))
    assert found.finding.code == "layout.passes_whole"
    assert "2.7 passes" in found.finding.what
    assert found.finding.mend == "An alley of 32 ft holds 2, one of 44 ft holds 3."
    assert found.origins[0].basis == "farm"


def test_an_implement_wider_than_the_alley() -> None:
    rule = LayoutRule(implement=q("36 ft"), clearance=q("4 ft"), from_fence=q("0 m"), headland=q("0 m"))
    found = only(lay_out(farm(field(), [planting(rule=rule)])))
    assert found.finding.code == "layout.too_narrow"
    assert "44 ft" in found.finding.mend


def test_years_in_which_crowns_close_the_alley() -> None:
    """Alley 44 ft, 12 ft implement, 4 ft free on each side, crowns that widen by 1 ft a year.

    In year 9 they leave 35 ft, two passes; in year 33 they leave 11 ft.
    """
    widths = [float(year) for year in range(1, 41)]
    assert years_of(44, 4, 12, widths) == (9, 33)
    assert years_of(44, 4, 12, [3.0] * 40) == (0, 0)


def test_the_year_is_told_with_the_crown() -> None:
    rule = LayoutRule(
        implement=q("12 ft"), passes=3, clearance=q("4 ft"), from_fence=q("0 m"), headland=q("0 m")
    )
    grove = planting(rule=rule, planted=2027, alley=None)
    made = farm(field(), [grove])
    found = lay_out(made, crowns=lambda which, year: year * FT)
    assert codes(found) == ["fewer_passes", "no_pass"]
    assert "in year 33 after planting (2060) crowns of 33 ft" in found.findings[1].finding.what
    assert codes(lay_out(made, crowns=lambda which, year: None)) == []


# ---------------------------------------------------------------- kinds


def with_soil(made: Farm, drainage: str) -> Farm:
    paddock = replace(made.paddocks[0], soil="low")
    return replace(made, soils=(Soil("low", drainage=drainage),), paddocks=(paddock,))


@pytest.mark.parametrize(("species", "told"), [("walnut_english", ["wet"]), ("oak_swamp_white", [])])
def test_wet_soil_under_walnut_and_swamp_white_oak(species: str, told: list[str]) -> None:
    """S9: "somewhat poorly drained" is cautioned under walnut, and not under swamp white oak."""
    made = farm(field(), [planting(species=species, harvested=False, rule=RULE)])
    found = lay_out(with_soil(made, "somewhat poorly drained"))
    assert codes(found) == told
    if told:
        assert found.findings[0].origins[0].basis == "common-practice"


def pair(other: str, apart_m: float, wide_m: float = 120.0) -> Layout:
    """Return a walnut row and another kind's row so far from it, both drawn."""
    ground = outline("1", box(wide_m, 100))
    walnut = planting(id="walnut", name="Walnut", species="walnut_black", harvested=False)
    kin = planting(id="kin", name="Kin", species=other, harvested=False)
    left = -wide_m / 2 + 20
    rows = [
        line("walnut-1", "tree_row", [(left, -40), (left, 40)], "walnut"),
        line("kin-1", "tree_row", [(left + apart_m, -40), (left + apart_m, 40)], "kin"),
    ]
    return lay_out(farm(ground, [walnut, kin], *rows))


@pytest.mark.parametrize(
    ("other", "apart_m", "told"),
    [
        ("apple_standard", 16.9, ["juglone_near"]),  # half of 24 m and 5 m: 17 m
        ("apple_standard", 17.1, []),
        ("willow", 10.0, ["juglone_unknown_near"]),
        ("oak_white", 10.0, []),
    ],
)
def test_walnut_poison_reaches_half_a_crown_and_five_metres(
    other: str, apart_m: float, told: list[str]
) -> None:
    found = pair(other, apart_m)
    assert codes(found) == told
    if told:
        assert found.findings[0].about == "kin"
        assert "55.8 ft of a walnut" in found.findings[0].finding.what


def test_without_places_one_paddock_counts_as_in_reach() -> None:
    walnut = planting(id="walnut", name="Walnut", species="walnut_black", harvested=False, alley=None)
    apple = planting(id="apple", name="Apple", species="apple_standard", harvested=False, alley=None)
    found = lay_out(farm(field(), [walnut, apple]))
    assert "juglone" in codes(found)


@pytest.mark.parametrize(
    ("species", "cultivars", "told"),
    [
        ("hazel_hybrid", ("One",), "one_cultivar"),
        ("walnut_english", ("One",), "one_cultivar_better"),
        ("hazel_hybrid", (), "no_cultivar"),
        ("chestnut_chinese", ("One",), "one_cultivar_unknown"),
        ("hazel_hybrid", ("One", "Two"), ""),
        ("chestnut_chinese", (), ""),
    ],
)
def test_one_cultivar(species: str, cultivars: tuple[str, ...], told: str) -> None:
    found = lay_out(farm(field(), [planting(species=species, cultivars=cultivars)]))
    assert codes(found) == ([told] if told else [])


def test_a_partner_planting_gives_the_pollen() -> None:
    far = Paddock("2", "Two", 1.0)
    partner = planting(id="pollen", name="Pollen", species="hazel_hybrid", cultivars=("P",), paddock="2")
    alone = planting(
        species="hazel_hybrid", cultivars=("One",), rule=LayoutRule(from_fence=q("0 m"), partners=("pollen",))
    )
    made = farm(field(), [alone, partner])
    found = lay_out(replace(made, paddocks=(*made.paddocks, far)))
    assert codes(found) == ["no_outline", "one_cultivar"]  # both about the partner alone
    assert {one.about for one in found.findings} == {"pollen"}


# ---------------------------------------------------------------- ground and gaps


def test_ground_under_standing_rows_against_what_is_typed() -> None:
    stands = planting(planned=False, planted=2016, rule=RULE)
    made = farm(field(), [stands])
    assert codes(lay_out(made)) == ["row_ground_untyped"]
    odd = replace(made, paddocks=(replace(made.paddocks[0], row_area_ha=0.05),))
    assert codes(lay_out(odd)) == ["row_ground"]
    laid = lay_out(made).paddocks[0].row_ground_ha
    fits = replace(made, paddocks=(replace(made.paddocks[0], row_area_ha=1.2 * laid),))
    assert codes(lay_out(fits)) == []


def test_many_gaps_are_told() -> None:
    row = line("trees-1", "tree_row", [(0, -50), (0, 50)], "trees")
    few: Planting = planting(trees=8)
    assert codes(lay_out(farm(field(), [few], row))) == ["gaps"]
    assert codes(lay_out(farm(field(), [replace(few, trees=15)], row))) == []


def test_every_finding_names_its_source() -> None:
    found = lay_out(farm(field(), [planting(species="hazel_hybrid", cultivars=("One",), trees=900)]))
    assert {"fewer_places", "one_cultivar"} == set(codes(found))
    assert all(one.origins and one.origins[0].source for one in found.findings)
