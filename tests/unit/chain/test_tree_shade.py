"""Trees of the map in the chain: kept by content, fed to grass, heat, reach and balance."""

from __future__ import annotations

import json
import warnings
from dataclasses import replace
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from browseline.canopy.shade import TreeShade
from browseline.chain import Picture, look, tree_shade
from browseline.chain.canopy_page import canopy_page, canopy_seen
from browseline.chain.season_growth import grown_of
from browseline.chain.tree_ages import aged_light
from browseline.cli.demo import copy_example, example
from browseline.cli.group import app
from browseline.ledger.balance_ages import balance_by_age, kept_share
from browseline.ledger.balance_months import months_balance
from browseline.ledger.trees_near import treed
from browseline.limits import heat
from browseline.limits._reach import judged, standing
from browseline.papers.light_map import CLASSES, grey_png, greys, light_drawing
from browseline.sward.growing import growing_days
from browseline.units import parse


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, datetime]:
    own = tmp_path_factory.mktemp("shade") / "farm"
    return own, copy_example(example(), own)


@pytest.fixture(scope="module")
def demo(folder: tuple[Path, datetime]) -> Picture:
    return look(*folder)


def shade(picture: Picture) -> TreeShade:
    assert picture.scene.trees is not None
    return picture.scene.trees


# ---------------------------------------------------------------- the year's shade


def test_only_paddocks_with_trees_or_beside_them_lose_light(demo: Picture) -> None:
    own = shade(demo)
    lit = dict(zip(own.paddocks, own.light_frac.min(axis=0), strict=True))
    trees = [p for p in own.paddocks if treed(demo.farm, p)]
    assert {p for p, light in lit.items() if light < 0.95} <= set(trees)
    assert all(own.light_of(p) is None for p in demo.farm.paddocks if p.id in ("1", "6", "13"))
    assert len(own.light_of(demo.farm.paddocks[1]) or ()) == 12


def test_shade_is_read_back_as_it_was_made(
    folder: tuple[Path, datetime], demo: Picture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tree_shade, "_made", lambda *_: pytest.fail("made anew"))
    again = look(*folder)
    assert np.array_equal(shade(again).light_frac, shade(demo).light_frac)
    assert shade(again).leaders == shade(demo).leaders


def test_a_part_of_a_paddock_has_the_light_of_its_whole(demo: Picture) -> None:
    whole = demo.farm.paddocks[2]
    part = replace(whole, id=f"{whole.id}/a", parents=(whole.id,))
    assert shade(demo).light_of(part) == shade(demo).light_of(whole)


def test_rows_take_their_ground_only_where_nobody_typed_it(demo: Picture) -> None:
    own = shade(demo)
    bare = replace(demo.farm, paddocks=tuple(replace(p, row_area_ha=0.0) for p in demo.farm.paddocks))
    made = tree_shade.with_row_ground(bare, own)
    by_id = dict(zip(own.paddocks, own.row_ha, strict=True))
    assert {p.id: p.row_area_ha for p in made.paddocks} == {p: float(x) for p, x in by_id.items()}
    assert tree_shade.with_row_ground(demo.farm, own).paddock("2") == demo.farm.paddock("2")
    assert tree_shade.with_row_ground(bare, None) is bare


def test_a_farm_without_a_map_is_as_it_was(demo: Picture) -> None:
    bare = replace(demo.farm, shapes=())
    assert tree_shade.tree_shade(demo.folder, bare, demo.state, 2025, tree_shade.CLEAR) is None
    assert demo.weather is not None
    one, two = growing_days(bare, demo.weather), growing_days(bare, demo.weather, None)
    assert np.array_equal(one.potential_kg_ha_d, two.potential_kg_ha_d)
    assert all(curve.months == () for curve in one.curves)
    assert {curve.cover for curve in one.curves} == {0.0, 0.3, 0.34}


def test_months_of_a_clear_sky_without_weather(demo: Picture) -> None:
    assert tree_shade.clear_shares(demo.farm, None) == tree_shade.CLEAR
    shares = tree_shade.clear_shares(demo.farm, demo.weather)
    assert all(0.3 < share <= 1 for share in shares)
    assert all(round(share / tree_shade.STEP, 6).is_integer() for share in shares)


# ---------------------------------------------------------------- what it feeds


def test_grass_under_the_trees_grows_by_their_light(demo: Picture) -> None:
    assert demo.weather is not None
    dark = replace(shade(demo), light_frac=0.5 * shade(demo).light_frac)
    open_sky = growing_days(replace(demo.farm, shapes=()), demo.weather)
    lit, less = (growing_days(demo.farm, demo.weather, own) for own in (shade(demo), dark))
    at = demo.farm.paddocks[2].id
    sums = [float(g.potential_kg_ha_d[g.curve_of[at]].sum()) for g in (lit, less)]
    assert sums[1] < sums[0]
    same = [float(g.potential_kg_ha_d[g.curve_of["1"]].sum()) for g in (lit, open_sky)]
    assert same[0] == same[1]
    assert lit.curves[lit.curve_of[at]].cover == 0


def test_typed_light_goes_before_the_map(demo: Picture) -> None:
    assert demo.weather is not None
    said = replace(demo.farm.paddocks[2], light=parse("60 %", "share"))
    own = replace(demo.farm, paddocks=(said,))
    made = growing_days(own, demo.weather, shade(demo))
    assert (made.curves[0].light, made.curves[0].months) == (0.6, ())


def test_shade_in_the_heat_comes_from_the_map_where_no_cover_is_typed(demo: Picture) -> None:
    scene = demo.scene
    typed_cover = heat.shade(scene, "2")
    thrown = heat.shade(scene, "12")
    assert typed_cover is not None
    assert typed_cover.name == "cover"
    assert thrown is not None
    assert thrown.name == "heat_shade"
    assert 0.05 < (thrown.value or 0) < 0.5
    none = heat.shade(scene, "13")
    assert none is not None
    assert none.value == 0
    assert heat.shade(replace(scene, trees=None, memo={}), "13") is None


def test_leaders_nobody_measured_are_grown_and_judged_by_their_worse_end(demo: Picture) -> None:
    farm = replace(
        demo.farm, plantings=tuple(replace(p, leader=None, guard=None) for p in demo.farm.plantings)
    )
    scene = replace(demo.scene, farm=farm, memo={})
    mob = next(m for m in scene.mobs if m.id == "heifers")
    old = next(p for p in farm.plantings if p.id == "locust-old")
    leader = standing(scene, old).leader
    assert leader is not None
    assert leader.low is not None
    assert leader.mark == "G"
    assert leader.low < (leader.value or 0)
    for low, middle, verdict in ((900, 1200, "clear"), (100, 900, "ask"), (60, 100, "shut")):
        trees = replace(shade(demo), leaders={"locust-old": (float(low), float(middle), 2000.0)})
        own = replace(scene, trees=trees, memo={})
        found = [j for j in judged(own, mob, "2") if j.standing.planting.id == "locust-old"]
        assert [j.verdict for j in found] == [verdict], (low, middle)


# ---------------------------------------------------------------- the balance by age


def test_s5_with_older_trees_only_treed_paddocks_fall(demo: Picture) -> None:
    made = months_balance(demo.scene, grown_of(demo))
    aged = aged_light(demo)
    assert aged is not None
    found = balance_by_age(demo.scene, made, aged)
    assert [one.age for one in found] == [0, 5, 10, 15]
    assert found[0].fallen == ()
    at_15 = found[-1].fallen
    assert {"2", "3", "4"} <= set(at_15)
    assert all(treed(demo.farm, p) for p in at_15)
    supplies = [one.supply.value or 0 for one in found]
    assert supplies == sorted(supplies, reverse=True)
    assert supplies[3] < supplies[0]
    assert made.need is not None
    for one in found:
        assert one.spare is not None
        assert one.spare.value == pytest.approx((one.supply.value or 0) - (made.need.value or 0))


def test_a_sward_in_full_light_keeps_its_yield_and_less_in_less() -> None:
    kept = [kept_share((0.7, 0.0, 0.3), light) for light in (1.0, 0.7, 0.5, 0.3)]
    assert kept[0] == 1
    assert kept == sorted(kept, reverse=True)
    assert kept[2] == pytest.approx(0.7 * 0.78 + 0.3 * 0.65)


# ---------------------------------------------------------------- page, drawing, verb


def test_the_page_counts_years_from_now_and_by_the_calendar(demo: Picture) -> None:
    one, other = canopy_page(demo, 5, 6), canopy_page(demo, demo.today.year + 5, 6)
    assert one == other
    assert (one.year, one.month) == (demo.today.year + 5, 6)
    now = canopy_page(demo, None, 6)
    light = {f.about: f for f in now.figures if f.name == "paddock_light"}
    later = {f.about: f for f in one.figures if f.name == "paddock_light"}
    assert all((later[p].value or 0) <= (light[p].value or 0) + 0.02 for p in light)
    assert all((f.low or 0) <= (f.value or 0) <= (f.high or 1) for f in light.values())


def test_the_drawing_has_bar_north_legend_and_greys_apart(demo: Picture) -> None:
    seen = canopy_seen(demo, 15, 6)
    assert seen is not None
    made = light_drawing(seen)
    for words in ("North", "ft", "95 % of open light and more", "less than 30 % of open light", "Jun"):
        assert words in made.svg
    assert "-45." not in made.svg
    tones = [grey for _, grey in CLASSES]
    assert min(a - b for a, b in pairwise(tones)) >= 30
    assert list(greys(np.array([1.0, 0.95, 0.9, 0.72, 0.5, 0.31, 0.0], np.float32))) == [
        255, 255, 222, 184, 140, 92, 36,
    ]  # fmt: skip


def test_the_png_is_read_by_a_general_library(tmp_path: Path) -> None:
    """GDAL reads what was written, cell by cell."""
    import rasterio

    cells = (np.arange(12, dtype=np.uint8) * 20).reshape(3, 4)
    path = tmp_path / "cells.png"
    path.write_bytes(grey_png(cells))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
        with rasterio.Env(GDAL_PAM_ENABLED="NO"), rasterio.open(path) as grid:
            assert np.array_equal(grid.read(1), cells)


def test_the_verb_draws_and_tells_the_same_as_json(folder: tuple[Path, datetime], tmp_path: Path) -> None:
    where, now = folder
    common = ["canopy", "--year", "12", "--month", "6", "--farm", str(where), "--now", now.isoformat()]
    told = CliRunner().invoke(app, [*common, "--out", str(tmp_path)])
    assert told.exit_code == 0, told.output
    assert "Long Alley" in told.output
    assert "Cover is not shade" not in told.output
    assert "Crown cover is not shade" in told.output.replace("\n", " ")
    names = sorted(p.name for p in tmp_path.iterdir())
    assert names == [f"canopy-{now.year + 12}-06.{kind}" for kind in ("png", "svg")]
    made = json.loads(CliRunner().invoke(app, [*common, "--json"]).output)
    assert made["schema"] == "browseline/canopy/1"
    assert (made["year"], made["month"]) == (now.year + 12, 6)
    assert len(made["rows"]) == 13


def test_without_trees_on_the_map_the_page_says_so(demo: Picture) -> None:
    bare = replace(demo, farm=replace(demo.farm, shapes=()))
    page = canopy_page(bare)
    assert page.rows == ()
    assert "no paddock with trees" in page.sentences[0]
