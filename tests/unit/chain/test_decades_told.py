"""The page Decades says where its numbers end: past the data, without a factor, soil by the book."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

from browseline.chain.decades_told import past_words, soil_words
from browseline.decades.carbon import carbon_ahead, soil_book_kg
from browseline.decades.form import Projection
from browseline.decades.yields import yields_ahead
from browseline.farm.future import Future
from browseline.farm.records import Farm
from browseline.record.state import State
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
