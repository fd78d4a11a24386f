"""The page of the decades: bands, the bad decade, what is kept of the slow parts, the verb."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from browseline.chain import Picture
from browseline.chain.decades_bands import lean_members, told_years
from browseline.chain.decades_page import DecadesPage, decades_page
from browseline.chain.keys import figures_of
from browseline.chain.years_ahead import projection_of
from browseline.cli.group import app
from browseline.decades.form import Projection
from browseline.farm.records import Planting
from browseline.ledger.money_page import money_account
from browseline.units import parse
from tests import small_farm
from tests.acceptance.cases import EWE, farm_folder, mob, seen
from tests.acceptance.test_p12 import MONEY

YEARS, MEMBERS = 12, 20
ROWS = Planting(
    "rows", "Rows", "pecan", "2", 2010, 60, spacing=parse("30 ft", "length"), alley=parse("40 ft", "length")
)


@pytest.fixture(scope="module")
def picture() -> Picture:
    """Return a farm of three paddocks with weather, one with rows on no map."""
    farm = replace(small_farm.farm(weather=True), plantings=(ROWS,))
    return small_farm.look(farm, small_farm.state(farm), members=5)


@pytest.fixture(scope="module")
def ahead(picture: Picture) -> Projection:
    return projection_of(picture, YEARS, MEMBERS)


@pytest.fixture(scope="module")
def page(picture: Picture) -> DecadesPage:
    return decades_page(picture, YEARS, MEMBERS)


def test_bands_hold_eight_members_in_ten(ahead: Projection, page: DecadesPage) -> None:
    grown = page.band("grown")
    assert grown is not None
    total = ahead.feed.grown_kg.sum(axis=2)
    inside = (total >= np.array(grown.low)[:, None]) & (total <= np.array(grown.high)[:, None])
    assert inside.mean() == pytest.approx(0.8, abs=0.02)
    assert [figure.value for figure in grown.figures] == list(grown.likely)
    assert len(page.rows) == YEARS + 1


def test_gases_stand_on_lines_of_their_own(page: DecadesPage) -> None:
    keys = [band.key for band in page.bands]
    assert {"gas.tree_growth.CO2", "gas.enteric.CH4", "carbon.above", "carbon.below"} <= set(keys)
    taken = page.band("gas.tree_growth.CO2")
    assert taken is not None
    assert min(taken.likely) < 0


def test_less_light_is_told_with_its_year(page: DecadesPage) -> None:
    (rows,) = page.paddocks
    assert rows.paddock == "2"
    assert rows.comes
    assert "crown cover is not shade" in " ".join(page.sentences)


def test_a_bad_decade_shows_the_leanest_tenth(picture: Picture, ahead: Projection, page: DecadesPage) -> None:
    lean = lean_members(ahead)
    assert len(lean) == MEMBERS // 10
    total = ahead.feed.grown_kg.sum(axis=2)
    worst = np.array([total[n : n + 10].sum(axis=0) for n in range(len(total) - 9)]).min(axis=0)
    assert set(lean) == set(np.argsort(worst)[: len(lean)])
    bad, usual = decades_page(picture, YEARS, MEMBERS, bad_decade=True).band("grown"), page.band("grown")
    assert bad is not None
    assert usual is not None
    assert sum(bad.likely) < sum(usual.likely)


def test_what_was_kept_gives_the_same_years(picture: Picture, ahead: Projection) -> None:
    again = projection_of(replace(picture, scene=replace(picture.scene, memo={})), YEARS, MEMBERS)
    assert again is not ahead
    np.testing.assert_array_equal(again.feed.hay_kg, ahead.feed.hay_kg)
    np.testing.assert_array_equal(again.yields[0].amount, ahead.yields[0].amount)


def test_every_figure_has_its_key(page: DecadesPage) -> None:
    held = figures_of(page)
    assert len(held) == len(set(held.values()))
    assert any(key.startswith("decades.bands.grown") for key in held)


@pytest.mark.parametrize(("last", "told"), [(40, 5), (20, 3), (12, 3), (6, 7)])
def test_years_with_less_room(last: int, told: int) -> None:
    assert len(told_years(last)) == told


def test_the_verb_prints_or_gives_its_record(tmp_path: Path) -> None:
    folder = farm_folder(
        tmp_path / "farm", as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})],
        decades={"stock": "sell_down", "years": 6},
    )  # fmt: skip
    words = ["decades", "--members", "5", "--farm", str(folder), "--now", "2026-10-01T06:00-04:00"]
    said = CliRunner().invoke(app, words)
    assert said.exit_code == 0, said.output
    assert "sold down to what the grass bore" in " ".join(said.output.split())
    made = json.loads(CliRunner().invoke(app, [*words, "--json"]).output)
    assert (made["schema"], made["years"], made["members"]) == ("browseline/decades/1", 6, 5)


def test_a_farm_whose_growth_nobody_knows_is_told_neither_cover_nor_hay(tmp_path: Path) -> None:
    folder = farm_folder(tmp_path / "farm", as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})])
    made = decades_page(seen(folder, "2026-10-01 06:00"), 6, 5)
    assert "What grows is not known" in made.sentences[1]
    assert not any("covers less than" in sentence for sentence in made.sentences)
    assert made.band("need") is not None
    assert made.band("hay") is None


def test_the_money_plan_is_a_band_of_its_own_years(tmp_path: Path) -> None:
    folder = farm_folder(
        tmp_path / "farm", as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=MONEY
    )
    money = decades_page(seen(folder, "2028-10-01 06:00"), 30, 5).band("money")
    assert money is not None
    assert (money.unit, money.years[0], money.years[-1]) == ("USD", 2028, 2040)
    # p12 as planned: its third year, and the last; nothing in the case has a range.
    outlook = money_account(seen(folder, "2028-10-01 06:00").scene, ()).cases[0]
    assert [money.likely[0], money.likely[-1]] == pytest.approx(
        [outlook.years[2].cash.value, outlook.years[14].cash.value]
    )
