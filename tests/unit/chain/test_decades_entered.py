"""Planned entries on the page of the years ahead and in its money: told once, with numbers that open."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest

from browseline.chain import Picture
from browseline.chain.decades_entered import entered_words
from browseline.chain.decades_page import decades_page
from browseline.chain.money_ahead import futures
from browseline.chain.years_ahead import meant_of, projection_of, start_of
from browseline.events import Bought, Cut, Sold, Spread, Thinned
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.future import Future, PlannedInput
from browseline.papers.evidence_facts import meant_words
from browseline.units import parse
from browseline.words import links_of
from tests import small_farm
from tests.unit.chain.test_decades_page import ROWS
from tests.unit.ledger.small import event

YEARS, MEMBERS = 4, 3
EWE = "ewe lactating twins"


def on(year: int) -> datetime:
    return datetime(year, 6, 2, 16, tzinfo=UTC)


EVENTS = (
    event("1", Spread("lime", parse("3 t", "mass")), on(2027), planned=True),
    event("ewes", Sold(20, EWE), on(2027), planned=True),
    event("ewes", Bought(2, "ewe lambs"), on(2028), planned=True),
    event("2", Cut(area=parse("1 ha", "area")), on(2027), planned=True),
    event("rows", Thinned(10), on(2028), planned=True),
    event("3", Spread("urea"), on(2028), planned=True),
)


@pytest.fixture(scope="module")
def picture() -> Picture:
    lime = PlannedInput("lime", "Lime", parse("2 t", "mass"), 2027, 2)
    farm = replace(small_farm.farm(weather=True), plantings=(ROWS,), future=Future(inputs=(lime,)))
    seen = small_farm.look(farm, small_farm.state(farm), members=5)
    return replace(seen, events=EVENTS)


def test_the_years_ahead_take_the_entries_in(picture: Picture) -> None:
    """2 t of the file, 3 t of the entry in 2027: 3,000 x 0.12 x 44 / 12 = 1,320 kg."""
    ahead = projection_of(picture, YEARS, MEMBERS)
    np.testing.assert_allclose(ahead.carbon.flow_kg["lime", "CO2"][:, 0], [0, 1320, 0, 880, 0])
    assert ahead.feed.head[:, 0, 0].tolist() == [60, 60, 40, 40, 40]
    plain = projection_of(replace(picture, events=(), scene=replace(picture.scene, memo={})), YEARS, MEMBERS)
    fewer = plain.sizes.alive[2:, :, 0] - ahead.sizes.alive[2:, :, 0]
    assert (plain.sizes.alive[:2] == ahead.sizes.alive[:2]).all()
    assert fewer[0] == pytest.approx(10, abs=1e-6)
    assert picture.farm.future.inputs[0].amount.to("t") == 2
    assert not picture.farm.future.works


def test_money_that_follows_lime_pays_for_all_of_it_once(picture: Picture) -> None:
    """3 t in 2027, 2 t in 2029, at 60 a ton."""
    line = MoneyLine("lime", "Lime", "cost", parse("$60", "money"), count=((1, 1.0),), follows="input lime",
                     per="t")  # fmt: skip
    plan = MoneyPlan(2026, 5, parse("5 %", "share"), lines=(line,))
    ahead = projection_of(picture, YEARS, MEMBERS)
    assert futures(picture.farm, plan, ahead).follows["lime"].amount[:, 0] == pytest.approx([0, 3, 0, 2, 0])


def test_each_entry_is_told_and_its_numbers_open(picture: Picture) -> None:
    said = list(entered_words(start_of(picture), projection_of(picture, YEARS, MEMBERS)))
    assert len(said) == 5
    assert "You plan to sell 20 " in said[0]
    assert "2 Jun 2027" in said[0]
    assert "so many fewer" in said[0]
    assert "changes no head" in said[1]
    assert "2.5 ac of 2" in said[2]
    assert "makes no hay here" in said[2]
    assert said[3] == "Your record plans to thin Rows in 2028: 10 trees come out."
    assert "how much urea" in said[4]
    assert all(len(links_of(one)) >= 1 for one in said)
    page = decades_page(picture, YEARS, MEMBERS)
    more = [one for one in page.sentences if "on top of what the farm file plans" in one]
    assert len(more) == 1
    assert more[0].startswith("By your record 1000 kg of lime count in 2027")
    assert sum("You plan to sell 20" in one for one in page.sentences) == 1


def test_without_entries_nothing_is_said(picture: Picture) -> None:
    bare = replace(picture, events=())
    assert not list(entered_words(start_of(bare), projection_of(picture, YEARS, MEMBERS)))
    assert start_of(bare).today == date(2026, 5, 6)


def test_a_buyer_is_told_of_trees_that_only_an_entry_takes_out(picture: Picture) -> None:
    assert meant_of(picture).future.works[0].kind == "thin"
    (told,) = meant_words(meant_of(picture), {"rows"})
    assert "means to thin in 2028" in told
    assert not list(meant_words(meant_of(replace(picture, events=())), {"rows"}))
