"""Worked cases of what animals need, of shared diets, of harm and of food safety, by id and source."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from browseline import tables
from browseline.farm import needs
from browseline.record.state import HeadLine
from browseline.science import animals
from browseline.units import convert, parse

WITH_TABLE = Path(__file__).with_name("needs.csv")


@dataclass(frozen=True)
class Case:
    """One worked case: what goes in, what comes out, within how much."""

    id: str
    function: str
    inputs: dict[str, Any]
    expected: float
    tolerance: float


def _cases() -> list[Case]:
    with WITH_TABLE.open(encoding="utf-8", newline="") as lines:
        return [
            Case(r["id"], r["function"], json.loads(r["inputs"]), float(r["expected"]), float(r["tolerance"]))
            for r in csv.DictReader(lines)
        ]


def _to(value: float, given: str, wanted: str) -> float:
    return float(convert(Fraction(str(value)), given, wanted))


def _interval(case: str) -> float:
    row = {"edible part touches soil": "edible part touches soil",
           "edible part does not touch soil": "edible part off the soil"}[case]  # fmt: skip
    return tables.row("stays", "harvest_interval", row).middle()


ANSWERS: dict[str, Callable[..., Any]] = {
    "digestible energy from TDN": lambda tdn_kg_d, **_: animals.digestible_energy_mcal_d(tdn_kg_d),
    "metabolisable energy from TDN": lambda tdn_kg_d, **_: animals.metabolisable_energy_mcal_d(tdn_kg_d),
    "intake as percent of body weight": lambda dm_lb_d, weight_lb, **_: animals.intake_pct(
        dm_lb_d, weight_lb
    ),
    "net energy for maintenance, the two systems agree": lambda mcal_kg075: _to(mcal_kg075, "Mcal", "MJ"),
    "summer water by weight": lambda gal_100lb, weight_kg: animals.summer_water_l_d(weight_kg, gal_100lb),
    "US gallons to litres": lambda us_gal, **_: _to(us_gal, "gal/d", "L/d"),
    "digestible energy of an idle horse": lambda bw_kg: animals.horse_energy_mcal_d(bw_kg),
    "head of one kind when kinds share the diet": animals.head_sharing_diet,
    "lethal dose, grams per pound to grams per kilogram": lambda g_lb: _to(g_lb, "g/lb", "g/kg"),
    "days from last grazing to first organic harvest": _interval,
}


@pytest.mark.parametrize("case", _cases(), ids=lambda c: c.id)
def test_against_worked_cases(case: Case) -> None:
    got = float(ANSWERS[case.function](**case.inputs))
    assert got == pytest.approx(case.expected, abs=case.tolerance + 1e-12)


@pytest.mark.parametrize(
    ("klass", "pounds"),
    [("ewe maintenance", 2.6), ("ewe late gestation twins", 4.0), ("ewe lactating twins", 4.4)],
)
def test_a_150_lb_ewe_eats_what_the_table_prints(klass: str, pounds: float) -> None:
    """ohio_sheep2023, Table 1: pounds of a 150-lb ewe raising twins; half the weight eats half."""
    for weight, share in (("150 lb", 1.0), ("75 lb", 0.5), ("180 lb", 1.2)):
        figure = needs.intake(HeadLine("sheep", klass, 1, parse(weight, "mass")))
        assert figure is not None
        assert figure.value == pytest.approx(share * pounds * 0.45359237, rel=1e-9)
        assert figure.mark == "B"


def test_sixty_ewes_in_milk_drink_142_gallons() -> None:
    """sdsu_ewe_water2022: 2.36 gal a head and day; 60 x 2.36 = 142."""
    figure = needs.water((HeadLine("sheep", "ewe lactating twins", 60),), hot=False)
    assert figure is not None
    assert _to(figure.value or 0, "L/d", "gal/d") == pytest.approx(141.6, abs=0.05)


def test_a_cow_in_milk_never_drinks_less_than_a_dry_one() -> None:
    """K09: 67.8 L is printed for the cow in milk at 80 F, 73.8 for the dry one by the summer rule."""
    dry, milk = (HeadLine("cattle", k, 1) for k in ("beef cow dry gestating", "beef cow lactating"))
    for hot in (False, True):
        need, floor = needs.water((milk,), hot=hot), needs.water((dry,), hot=hot)
        assert need is not None
        assert floor is not None
        assert (need.value or 0) >= (floor.value or 0)
    hottest = needs.water((milk,), hot=True)
    assert hottest is not None
    assert hottest.value == 73.8
    for temp in (-10.0, 4.4, 20.0, 26.7, 45.0):
        one, other = needs.water_at((milk,), temp), needs.water_at((dry,), temp)
        assert one is not None
        assert other is not None
        assert (one.value or 0) >= (other.value or 0)


def test_poultry_water_at_the_printed_temperatures() -> None:
    """uky_poultry_water, Table 12.1: a layer 0.21 L at 20 C and 0.40 L at 32 C; half way half way."""
    hens = (HeadLine("chicken", "layer", 100),)
    for temp, litres in ((20, 21.0), (32, 40.0), (26, 30.5), (0, 21.0), (50, 40.0)):
        figure = needs.water_at(hens, temp)
        assert figure is not None
        assert figure.value == pytest.approx(litres)
