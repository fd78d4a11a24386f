"""Gases of animals in the carbon book: tiers, classes, days there, GWP* and by the kilogram sold."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from browseline.events import (
    Sold,
)  # fmt: skip
from browseline.farm import factors
from browseline.farm.accounts import CarbonRules, Diet
from browseline.farm.beast_gases import animal_lines, enteric_figure
from browseline.farm.diets import animal_of
from browseline.farm.records import Farm, Line, Mob, Planting
from browseline.ledger.beasts_carbon import present, standing
from browseline.ledger.carbon import carbon_book, is_young
from browseline.ledger.carbon_page import carbon_account
from browseline.ledger.intensity import by_kilogram
from browseline.ledger.star import herd_star
from tests.small_farm import some
from tests.unit.ledger.small import NOW, event, farm, mob, quantity, scene

OAKS = Planting("oaks", "Oaks", "oak_white", "1", 2014, 100, harvested=False)
LONG_AGO = NOW - timedelta(days=4 * 365 + 200)


def sheep_farm(*lines: Line, **rules: Any) -> Farm:
    return farm(mobs=(mob(*lines),), carbon=CarbonRules(**rules))


def line(kind: str, klass: str, head: int, weight: str | None = None) -> Line:
    return Line(kind, klass, head, quantity(weight, "mass") if weight else None, quantity("2 kg/d", "intake"))


def amounts(of: Farm) -> dict[str, float | None]:
    (there,) = standing(scene(of))
    return {one.line: one.amount.value if one.amount else None for one in animal_lines(of, there)}


def test_the_ewe_of_the_reference() -> None:
    """carbon.md 2: a 70 kg ewe, North America: 9 kg CH4, 0.108766 kg N2O in three parts."""
    found = amounts(sheep_farm(line("sheep", "ewes", 1, "70 kg")))
    assert found["enteric"] == 9
    assert found["dung_n"] == pytest.approx(0.042158, abs=5e-7)
    assert found["dung_air"] == pytest.approx(0.029510, abs=5e-7)
    assert found["dung_water"] == pytest.approx(0.037099, abs=5e-7)


def test_the_second_tier_is_the_worked_ewe() -> None:
    """W1 of carbon.md: 10.66186 kg CH4 belched, 0.10304 kg from dung."""
    diet = Diet("sheep", "ewes", quantity("65 %", "share"), young_gain=quantity("20 kg", "mass"),
                pregnant=quantity("100 %", "share"), wool=quantity("4 kg", "mass"))  # fmt: skip
    found = amounts(sheep_farm(line("sheep", "ewes", 1, "70 kg"), diets=(diet,)))
    assert found["enteric"] == pytest.approx(10.66186, abs=5e-5)
    assert found["dung"] == pytest.approx(0.10304, abs=5e-5)


@pytest.mark.parametrize(
    ("kind", "klass", "weight", "diet", "expected"),
    [
        (
            "cattle",
            "cows",
            "500 kg",
            {"digestible": "60 %", "milk": "4 kg/d", "fat": "4 %", "pregnant": "85 %"},
            98.228,
        ),
        (
            "cattle",
            "steers",
            "250 kg",
            {"digestible": "65 %", "gain": "0.7 kg/d", "mature": "600 kg"},
            45.218,
        ),
        (
            "goat",
            "does",
            "50 kg",
            {"digestible": "65 %", "milk": "1 kg/d", "pregnant": "100 %", "litter": 2},
            11.470,
        ),
        ("cattle", "bulls", "800 kg", {"digestible": "60 %"}, 100.729),
    ],
    ids=["W2", "W3", "W4", "W6"],
)
def test_the_second_tier_of_the_worked_animals(
    kind: str, klass: str, weight: str, diet: dict[str, Any], expected: float
) -> None:
    dims = {"digestible": "share", "milk": "intake", "fat": "share", "pregnant": "share", "gain": "intake",
            "mature": "mass"}  # fmt: skip
    typed: dict[str, Any] = {key: quantity(v, dims[key]) if key in dims else v for key, v in diet.items()}
    found = amounts(sheep_farm(line(kind, klass, 1, weight), diets=(Diet(kind, klass, **typed),)))
    assert found["enteric"] == pytest.approx(expected, abs=6e-4)


def test_growing_lambs_by_their_gain() -> None:
    """W5 of carbon.md grows 20 kg in a year around 35 kg: 7.46485 kg CH4."""
    diet = Diet("sheep", "ewe lambs", quantity("65 %", "share"), gain=quantity(f"{20 / 365} kg/d", "intake"),
                wool=quantity("2.5 kg", "mass"))  # fmt: skip
    found = amounts(sheep_farm(line("sheep", "ewe lambs", 1, "35 kg"), diets=(diet,)))
    assert found["enteric"] == pytest.approx(7.46485, abs=5e-4)


@pytest.mark.parametrize(
    ("kind", "klass", "rules", "expected"),
    [
        ("cattle", "dairy cows", {}, 138), ("cattle", "steers", {"region": "Oceania"}, 63),
        ("sheep", "ewes", {"region": "Africa"}, 5), ("sheep", "ewes", {"edition": "2006"}, 8),
        ("horse", "donkey", {}, 10), ("horse", "pony", {}, 18), ("pig", "sows", {}, 1.5),
        ("chicken", "layers", {}, None), ("goose", "geese", {}, None),
    ],
)  # fmt: skip
def test_the_first_tier_by_kind_and_region(
    kind: str, klass: str, rules: dict[str, Any], expected: float | None
) -> None:
    """ipcc2019_v4_ch10, Tables 10.10 and 10.11; poultry has no default and is never nothing."""
    of = sheep_farm(line(kind, klass, 1, "50 kg"), **rules)
    (there,) = standing(scene(of))
    made = enteric_figure(of, there)
    assert (made.value if made else None) == expected


def test_no_factor_is_said_and_never_nothing() -> None:
    of = sheep_farm(line("goose", "geese", 10, "5 kg"))
    page = carbon_account(scene(of), ())
    assert "no factor for methane of goose" in "\n".join(page.sentences)
    assert all("0 kg" not in row for row in page.rows)


def test_a_dry_climate_leaches_nothing_and_an_older_edition_lacks_its_dung() -> None:
    ewe = line("sheep", "ewes", 1, "70 kg")
    assert amounts(sheep_farm(ewe, climate="dry climate"))["dung_water"] == 0
    old = amounts(sheep_farm(ewe, edition="2006"))
    assert old["dung"] is None
    assert old["dung_n"] == pytest.approx(8.9425 * 0.01 * 44 / 28)


def test_animals_count_by_their_days_in_the_year() -> None:
    young = farm(mobs=(mob(line("sheep", "ewes", 50)),))
    made = scene(replace(young, as_of=(NOW - timedelta(days=73)).date()))
    begin = made.farm.as_of
    (there,) = present(made, begin, begin + timedelta(days=73))
    assert there.head_years.value == pytest.approx(50 * 73 / 365, rel=0.01)


def test_young_ones_are_told_by_their_class() -> None:
    assert [is_young(word) for word in ("lambs", "goat kid", "ewes", "beef cow")] == [
        True,
        True,
        False,
        False,
    ]


# ---------------------------------------------------------------- sex and age


@pytest.mark.parametrize(
    ("klass", "diet", "row"),
    [
        ("rams", {"gain": quantity("0.1 kg/d", "intake")}, "sheep, intact males"),
        ("wethers", {"gain": quantity("0.1 kg/d", "intake")}, "sheep, castrates"),
        ("ewes", {"gain": quantity("0.1 kg/d", "intake")}, "sheep, females"),
    ],
)
def test_the_sex_of_growing_sheep(klass: str, diet: dict[str, Any], row: str) -> None:
    _, rows = animal_of(Diet("sheep", klass, quantity("65 %", "share"), **diet), 50.0)
    assert row in {one.applies_to for one in rows}


@pytest.mark.parametrize(("klass", "row"), [("bulls", "cattle, bulls"), ("heifers", "cattle, females")])
def test_the_sex_of_growing_cattle(klass: str, row: str) -> None:
    more: dict[str, Any] = {"gain": quantity("0.5 kg/d", "intake"), "mature": quantity("600 kg", "mass")}
    _, rows = animal_of(Diet("cattle", klass, quantity("65 %", "share"), **more), 300.0)
    assert row in {one.applies_to for one in rows}


def test_goats_grow_by_their_own_row() -> None:
    diet = Diet("goat", "kids", quantity("65 %", "share"), gain=quantity("0.1 kg/d", "intake"))
    _, rows = animal_of(diet, 20.0)
    assert {one.applies_to for one in rows if one.key == "growth_a"} == {"goat, all"}


# ---------------------------------------------------------------- GWP* and by the kilogram


def ewes_here(
    head: int, weight: str | None = "70 kg", since: datetime = LONG_AGO, **more: Any
) -> tuple[Farm, Any]:
    """Return a farm with ewes on record since long ago, and its scene."""
    line = Line("sheep", "ewes", head, quantity(weight, "mass") if weight else None)
    made = replace(farm(mobs=(Mob("m", "Mob", (line,)),), **more), as_of=since.date())
    return made, scene(made)


def test_star_needs_twenty_years_and_says_which() -> None:
    """smith2021: a steady stream counts 0.28 of its GWP100, a new one 4.53 times."""
    _, at = ewes_here(100)
    found = some(herd_star(at))
    assert (found.recorded.value, found.first.value) == (LONG_AGO.year, LONG_AGO.year + 20)
    yearly = 100 * (9 + some(found.yearly.parts[1].value) / 100) * 27 / 1000
    assert found.yearly.value == pytest.approx(yearly)
    assert found.new.value == pytest.approx(4.53 * yearly)
    assert found.steady.value == pytest.approx(0.28 * yearly)
    assert found.then.value == pytest.approx(0.28 * yearly, rel=0.01)
    assert found.then.mark == "G"
    assert herd_star(scene(farm(mobs=()))) is None


def test_star_of_a_flock_that_shrank_takes_the_first_year_on_record() -> None:
    """A hundred ewes in the record's first year, sixty now: 4.53 x 60 - 4.25 x 100 is below nothing."""
    made, _ = ewes_here(100)
    found = some(herd_star(scene(made, [event("m", Sold(40, "ewes", "sheep"), NOW - timedelta(days=40))])))
    yearly = some(found.yearly.value)
    assert found.then.value == pytest.approx(4.53 * yearly - 4.25 * yearly / 0.6, rel=0.01)
    assert some(found.then.value) < 0


def test_the_page_prints_star_with_its_years() -> None:
    _, at = ewes_here(100)
    words = "\n".join(carbon_account(at, ()).sentences)
    assert f"on record from {LONG_AGO.year}" in words
    assert f"{LONG_AGO.year + 20} is the first year" in words
    assert "proves neither" in words


def test_by_the_kilogram_each_line_apart_and_nothing_of_trees() -> None:
    _, at = ewes_here(100)
    sold = [event("m", Sold(40, "ewes", "sheep"), NOW - timedelta(days=40))]
    made = scene(replace(at.farm, plantings=(OAKS,)), sold)
    book = carbon_book(made, sold)
    found = by_kilogram(made, sold, book)
    assert [one.line for one in found] == ["enteric", "dung", "dung_n", "dung_air", "dung_water"]
    belched = next(x for x in book.years[-1].lines if x.gas.line == "enteric")
    assert some(found[0].a_kg).value == pytest.approx(some(some(belched.co2e).value) / (40 * 70))
    words = "\n".join(carbon_account(made, sold, per_kg=True).sentences)
    assert "kg CO2e a kg of live weight sold" in words
    assert "taken off none of them" in words
    assert "live weight" not in "\n".join(carbon_account(made, sold).sentences)


def test_no_weight_no_figure_by_the_kilogram() -> None:
    _, at = ewes_here(100, weight=None)
    sold = [event("m", Sold(40, "ewes", "sheep"), NOW - timedelta(days=40))]
    made = scene(at.farm, sold)
    assert {one.a_kg for one in by_kilogram(made, sold, carbon_book(made, sold))} == {None}
    assert "not known" in "\n".join(carbon_account(made, sold, per_kg=True).sentences)
    none = carbon_account(made, (), per_kg=True)
    assert "no animals were sold" in "\n".join(none.sentences)


@pytest.mark.parametrize(
    ("klass", "sort"),
    [("dairy in milk", "cattle, dairy"), ("dairy heifer", "cattle, other"), ("dairy calf", "cattle, other"),
     ("beef cow", "cattle, other")],
)  # fmt: skip
def test_a_dairy_heifer_is_no_dairy_cow(klass: str, sort: str) -> None:
    """Dairy cows are grown and in milk, all else is other cattle (ipcc2019_v4_ch10, Table 10.1)."""
    assert factors.sort_of("cattle", klass) == sort
