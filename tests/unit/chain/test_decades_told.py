"""The page Decades says where its numbers end: past the data, without a factor, soil by the book."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from browseline.chain.decades_told import input_words, past_words, soil_words
from browseline.decades.carbon import carbon_ahead, soil_book_kg
from browseline.decades.form import Projection
from browseline.decades.yields import yields_ahead
from browseline.farm.future import Future, PlannedInput
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.record.state import State
from browseline.units import parse
from browseline.words import links_of
from tests.unit.decades.orchard import NOW, farm, grown, planting
from tests.unit.decades.test_carbon_ahead import SOIL, feed


def ahead(made: Farm, years: tuple[int, ...]) -> Projection:
    members = (0, 1)
    sizes = grown(made, years=years, members=members)
    eaters = feed(30.0, 2, "chicken", "hens")
    eaters = replace(eaters, head=np.full((len(years), 2, 1), 30.0))
    found: dict[str, Any] = {
        "yields": yields_ahead(made, sizes, years, members, None),
        "carbon": carbon_ahead(made, State(NOW), sizes, eaters, (), years),
    }
    return cast("Projection", SimpleNamespace(**found))


def test_trees_that_outlive_the_table_are_named() -> None:
    hazel = farm(planting("hz", "hazel_hybrid", 2026))
    long = "\n".join(past_words(hazel, ahead(hazel, tuple(range(2026, 2177)))))
    assert "Past the data" in long
    assert "Hz" in long
    assert "Past the data" not in "\n".join(past_words(hazel, ahead(hazel, tuple(range(2026, 2040)))))


def test_stock_without_a_factor_is_named_and_is_not_nothing() -> None:
    made = farm(planting("hz", "hazel_hybrid", 2026))
    words = "\n".join(past_words(made, ahead(made, (2026, 2027))))
    assert "hens" in words
    assert "is not nothing" in words


def test_soil_by_the_book_is_told_apart_when_asked_for() -> None:
    """carbon.md section 4: 4.877 t CO2 a year."""
    made = farm(future=Future(soil=SOIL))
    years = tuple(range(2026, 2050))
    assert soil_book_kg(made, years) is not None
    (told,) = soil_words(made, ahead(made, years))
    assert "4.9 t CO2 a year" in told
    assert "in no claim" in told
    assert not list(soil_words(farm(), ahead(farm(), years)))


def test_what_is_planned_opens_to_the_row_of_its_factor() -> None:
    """2,000 kg of lime: 880 kg CO2, in pounds 1,940.1 (ipcc2006_v4_ch11 Eq 11.12)."""
    lime = PlannedInput("lime", "lime", parse("2 t", "mass"), 2027, 4)
    made = farm(future=Future(inputs=(lime,)))
    told = list(input_words(made, ahead(made, (2026, 2027))))
    assert told[0] == "You plan to spread lime: 2 t in 2027, and again every 4 years."
    assert told[1] == "Each time lime gives off 1,940.1 lb of CO2."
    gas = next(link.to for link in links_of(told[1]) if getattr(link.to, "name", "") == "spread_co2")
    assert isinstance(gas, Figure)
    row = next(part for part in gas.parts if part.name == "carbon_of_input")
    assert (row.value, row.origins[0].locator) == (0.12, "Eq 11.12")
    assert len(links_of(told[0])) == 4


def test_the_three_ways_of_nitrogen_are_told_apart() -> None:
    """100 lb at 34 %: 34 lb N x 0.010 x 44/28 = 0.5 lb where it lies; 0.11 of it by way of air: 0.1."""
    made = farm(future=Future(inputs=(PlannedInput("b", "34-0-0", parse("100 lb", "mass"), 2027, 1),)))
    _, gives = input_words(made, ahead(made, (2026, 2027)))
    assert "0.5 lb of N2O from the nitrogen that is spread" in gives
    assert "0.1 lb of N2O from spread nitrogen lost to the air" in gives


def test_nothing_planned_is_said_and_so_is_what_has_no_factor() -> None:
    (none,) = input_words(farm(), ahead(farm(), (2026, 2027)))
    assert none == "No lime, urea or fertiliser is planned, so none is counted."
    made = farm(future=Future(inputs=(PlannedInput("c", "compost", parse("2 t", "mass"), 2027),)))
    planned, lacking = input_words(made, ahead(made, (2026, 2027)))
    assert planned == "You plan to spread compost: 2 t in 2027."
    assert lacking.startswith("The gas of compost is not known.")
