"""What is meant to be spread: its gases by the book's own equation, its years, its shared errors."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.decades.carbon import carbon_ahead
from browseline.decades.inputs import input_air
from browseline.events import Spread
from browseline.farm.accounts import CarbonRules
from browseline.farm.future import Future, PlannedInput
from browseline.farm.records import Farm
from browseline.ledger.inputs_carbon import spread_lines
from browseline.record.state import State
from browseline.units import parse
from tests.unit.decades.orchard import NOW, farm, grown
from tests.unit.decades.test_carbon_ahead import MANY, book, feed, flock
from tests.unit.ledger.small import event, scene
from tests.unit.ledger.small import farm as record_farm

YEARS = tuple(range(2026, 2067))


def planned(what: str, amount: str, year: int = 2027, every: int | None = None) -> PlannedInput:
    return PlannedInput(what, what, parse(amount, "mass"), year, every)


def with_inputs(*inputs: PlannedInput, of: Farm | None = None) -> Farm:
    return replace(of or farm(), future=Future(inputs=inputs))


def test_by_hand_lime_every_four_years() -> None:
    """ipcc2006_v4_ch11 Eq 11.12: 2,000 kg of limestone x 0.12 x 44 / 12 = 880 kg CO2, ten times to 2066."""
    made = input_air(with_inputs(planned("Lime", "2 t", 2027, 4)), YEARS, range(5))
    assert set(made.flow_kg) == {("lime", "CO2")}
    flow = made.flow_kg["lime", "CO2"]
    assert [year for year, kg in zip(YEARS, flow[:, 0], strict=True) if kg] == list(range(2027, 2067, 4))
    np.testing.assert_allclose(flow[1], 2000 * 0.12 * 44 / 12)
    assert flow.sum(axis=0) == pytest.approx(8800)
    assert [(o.source, o.locator) for o in made.origins["lime", "CO2"]] == [("ipcc2006_v4_ch11", "Eq 11.12")]


def test_by_hand_urea_each_year() -> None:
    """Eq 11.13: 100 kg x 0.20 x 44/12 = 73.33 kg CO2; 46 kg N x 0.010 x 44/28 = 0.7229 kg N2O, and by air
    46 x 0.15 x 0.010 x 44/28 = 0.10843; what water takes errs by a skewed factor about its book value.
    """
    made = input_air(with_inputs(planned("urea", "100 kg", 2026, 1)), YEARS[:3], MANY).flow_kg
    np.testing.assert_allclose(made["urea", "CO2"], 73.3333, rtol=1e-5)
    np.testing.assert_allclose(made["fertiliser", "N2O"], 0.722857, rtol=1e-5)
    np.testing.assert_allclose(made["fertiliser_air", "N2O"], 0.108429, rtol=1e-5)
    water = made["fertiliser_water", "N2O"]
    assert water.mean() == pytest.approx(46 * 0.24 * 0.011 * 44 / 28, rel=0.12)
    assert water[0].std() > 0.3 * water[0].mean()
    np.testing.assert_array_equal(water[0], water[2])


@given(st.sampled_from(["lime", "dolomite", "urea", "34-0-0", "10-20-20"]), st.integers(1, 100_000))
@settings(max_examples=40, deadline=None)
def test_what_is_planned_gives_what_the_same_entry_gives(what: str, kilograms: int) -> None:
    """The record and the years ahead have one equation: members differ by the factors' error alone."""
    entry = [event("1", Spread(what, parse(f"{kilograms} kg", "mass")))]
    lines = spread_lines(scene(record_farm(), entry), entry)
    noted = {line.line: line.amount.value or 0.0 for line in lines if line.amount is not None}
    ahead = input_air(with_inputs(planned(what, f"{kilograms} kg", 2026)), (2026,), range(3)).flow_kg
    assert {line for line, _ in ahead} == set(noted)
    for (line, _), flow in ahead.items():
        if line != "fertiliser_water":
            np.testing.assert_allclose(flow, noted[line], rtol=1e-12)


def test_water_takes_one_error_with_the_dung() -> None:
    """FracLEACH and EF5 are the same factors for dung and for what is spread."""
    made = with_inputs(planned("34-0-0", "100 kg", 2026, 1), of=flock(62, weight="70 kg"))
    flows = book(made, feed(62)).flow_kg
    ratio = flows["fertiliser_water", "N2O"] / flows["dung_water", "N2O"]
    np.testing.assert_allclose(ratio, ratio[0, 0], rtol=1e-12)


def test_more_members_or_years_change_no_other() -> None:
    made = with_inputs(planned("urea", "100 kg", 2024, 3), planned("lime", "1 t", 2030))
    long, short = input_air(made, YEARS, range(9)).flow_kg, input_air(made, YEARS[:7], range(4)).flow_kg
    assert set(long) == set(short)
    for key, flow in short.items():
        np.testing.assert_array_equal(long[key][:7, :4], flow)


def test_a_plan_begun_in_the_past_goes_on() -> None:
    made = input_air(with_inputs(planned("lime", "1 t", 2024, 3)), YEARS[:6], (0,)).flow_kg["lime", "CO2"]
    assert np.flatnonzero(made[:, 0]).tolist() == [1, 4]


def test_two_things_spread_add_up_in_one_line() -> None:
    lime, dolomite = planned("lime", "1 t", 2027), planned("dolomite", "1 t", 2027)
    both = input_air(with_inputs(lime, dolomite), YEARS[:3], (0,)).flow_kg["lime", "CO2"]
    assert both[1, 0] == pytest.approx(1000 * (0.12 + 0.13) * 44 / 12)


def test_what_has_no_factor_is_named_and_gives_no_line() -> None:
    made = input_air(with_inputs(planned("compost", "3 t", 2027, 1)), YEARS[:3], (0,))
    assert not made.flow_kg
    assert made.no_factor == ("compost",)
    old = with_inputs(planned("urea", "3 t", 2027, 1), of=farm(carbon=CarbonRules(edition="2006")))
    assert input_air(old, YEARS[:3], (0,)).no_factor == ("urea",)


def test_nothing_typed_gives_no_line_and_is_said() -> None:
    sizes = grown(farm(), years=YEARS[:3], members=(0, 1))
    bare = carbon_ahead(farm(), State(NOW), sizes, feed(0.0, 2), (), YEARS[:3])
    assert not [line for line, _ in bare.flow_kg if line in ("lime", "urea") or line.startswith("fert")]
    assert "inputs" in bare.left_out
    typed = with_inputs(planned("lime", "2 t"))
    spread = carbon_ahead(typed, State(NOW), sizes, feed(0.0, 2), (), YEARS[:3])
    assert ("lime", "CO2") in spread.flow_kg
    assert "inputs" not in spread.left_out
    assert "bought" in spread.left_out
    assert {o.locator for o in spread.origins_of(("lime", "CO2"))} == {"Eq 11.12"}
    assert spread.origins_of(("decay", "CO2")) == spread.origins
