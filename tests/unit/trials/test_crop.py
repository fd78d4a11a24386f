"""An annual crop on the same land: the hectare of the reference, draws, what was typed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from browseline.farm.records import Farm
from browseline.farm.same_land import Crop, CropCost, Pass, SameLand
from browseline.science.crop import land_equivalent
from browseline.trials.crop import WAYS, crop_years
from browseline.units import factor, parse
from tests.small_farm import ACRE_HA, farm

MEMBERS = range(400)


def hectare(**said: object) -> Farm:
    return replace(farm(acres=(1 / ACRE_HA,)), same_land=SameLand(crop=Crop(**said)))  # type: ignore[arg-type]


def test_a_hectare_of_maize_is_that_of_the_reference() -> None:
    """Carbon.md section 5: residues 86.6 kg N; 2.554, 1.361, 0.281, 1.033 kg N2O; 47 L of diesel.

    Middles of members lie near, for two of the factors are skewed; the fuel is 5 gal/ac, 46.8 L/ha.
    """
    found = crop_years(hectare(), 2026, 2, MEMBERS)
    assert found.grain_kg == pytest.approx(10_960)
    assert found.residue_kg_n_ha == pytest.approx(86.6, abs=0.05)
    by_way = dict(zip(WAYS, np.median(found.n2o_kg, axis=1), strict=True))
    assert by_way["fertiliser"] == pytest.approx(2.554, rel=0.08)
    assert by_way["residues"] == pytest.approx(1.361, rel=0.08)
    assert by_way["air"] == pytest.approx(0.281, rel=0.15)
    assert by_way["water"] == pytest.approx(1.033, rel=0.15)
    assert np.median(found.fuel_kg_co2) == pytest.approx(126.8, rel=0.03)


def test_one_draw_of_a_factor_serves_all_years_and_more_members_change_none() -> None:
    few, many = (crop_years(hectare(), 2026, years, range(m)) for years, m in ((1, 5), (40, 60)))
    assert np.array_equal(few.n2o_kg, many.n2o_kg[:, :5])
    assert np.array_equal(few.fuel_kg_co2, many.fuel_kg_co2[:5])


def test_a_yield_swings_only_as_far_as_was_typed() -> None:
    still = crop_years(hectare(), 2026, 30, MEMBERS).grain_kg
    swung = crop_years(hectare(yield_range=parse("20 %", "share")), 2026, 30, MEMBERS).grain_kg
    assert np.ptp(still) == 0
    low, high = np.percentile(swung, (10, 90)) / 10_960
    assert (low, high) == (pytest.approx(0.8, abs=0.01), pytest.approx(1.2, abs=0.01))


def test_money_and_hours_only_of_what_was_typed() -> None:
    bare = crop_years(hectare(), 2026, 1, range(3))
    assert bare.cash is None
    assert bare.hours is None
    told = crop_years(
        hectare(price=parse("$200", "money"), costs=(CropCost("seed", parse("$110", "money"), "ac"),),
                hours=parse("2 h", "time"), hours_per="ha"), 2026, 1, range(3),
    )  # fmt: skip
    assert told.cash == pytest.approx(10.96 * 200 - 110 / ACRE_HA)
    assert told.hours == pytest.approx(2)


def test_money_hours_grain_and_gases_go_by_the_area() -> None:
    said = {"price": parse("$200", "money"), "costs": (CropCost("seed", parse("$110", "money"), "ac"),),
            "hours": parse("2 h", "time"), "hours_per": "ha"}  # fmt: skip
    one, three = (
        crop_years(replace(hectare(**said), paddocks=farm(acres=(ha / ACRE_HA,)).paddocks), 2026, 1, range(9))
        for ha in (1, 3)
    )
    assert one.cash is not None
    assert three.cash == pytest.approx(3 * one.cash)
    assert three.hours == pytest.approx(6)
    assert three.grain_kg[0, 0] == pytest.approx(3 * 10_960)
    assert three.n2o_kg == pytest.approx(3 * one.n2o_kg)
    assert three.fuel_kg_co2 == pytest.approx(3 * one.fuel_kg_co2)


def test_passes_that_were_typed_replace_those_of_the_table() -> None:
    found = crop_years(hectare(passes=(Pass("sprayer", 3), Pass("planter, no-till", 1))), 2026, 1, range(3))
    assert found.fuel.value == pytest.approx(3 * 0.1 + 0.35)
    assert found.fuel.low == pytest.approx(3 * 0.065 + 0.2275)
    assert factor("gal", "L") / factor("ac", "ha") == pytest.approx(9.35396, abs=5e-6)


def test_land_equivalent() -> None:
    """By hand: 0.8 of the feed and 0.6 of the nuts on one acre need 1.4 acres apart."""
    assert land_equivalent(np.array([[80.0], [6.0]]), np.array([[100.0], [10.0]])) == pytest.approx(1.4)
    assert land_equivalent(np.array([[5.0], [0.0]]), np.array([[5.0], [0.0]])) == pytest.approx(1.0)
    assert np.isinf(land_equivalent(np.array([[5.0]]), np.array([[0.0]]))).all()
