"""What the record plans for the years ahead counts once in its year, by hand, never twice."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from browseline.decades.entered import entries_ahead, hay_cuts, no_weight, with_entries
from browseline.decades.herd import herd_of
from browseline.decades.inputs import input_air
from browseline.decades.start import Start, works_of
from browseline.decades.stock import carry
from browseline.events import Bought, Cut, Event, Felled, Planted, Pruned, Sold, Spread, Thinned
from browseline.farm.future import Future, PlannedInput, PlannedWork
from browseline.farm.records import Line
from browseline.record.state import State
from browseline.units import parse
from tests import small_farm
from tests.unit.decades import test_own_feed as own
from tests.unit.decades.orchard import NOW, farm
from tests.unit.decades.test_stock import ewes, grown, start
from tests.unit.ledger.small import event

ZONE = ZoneInfo("America/New_York")
YEARS = (2026, 2027, 2028)
LIME = PlannedInput("lime", "Lime", parse("2 t", "mass"), 2027, 4)


def on(year: int, month: int = 6, day: int = 1) -> datetime:
    return datetime(year, month, day, 16, tzinfo=UTC)


def spread(what: str, amount: str | None, at: datetime, *, planned: bool = True) -> Event:
    body = Spread(what, parse(amount, "mass") if amount else None)
    return event("1", body, at, planned=planned)


def begun(*events: Event, future: Future | None = None) -> Start:
    coming = entries_ahead(events, NOW, ZONE)
    return Start(farm(future=future or Future()), State(NOW), NOW.date(), coming=coming)


def lime_kg(of: Start) -> list[float]:
    """Return the carbon dioxide of lime by year, one member. [kg]"""
    flow = input_air(with_entries(of).farm, YEARS, range(1)).flow_kg
    return [float(x) for x in flow.get(("lime", "CO2"), np.zeros((3, 1)))[:, 0]]


def test_planned_lime_gives_off_its_gas_in_its_year_alone() -> None:
    """ipcc2006_v4_ch11 Eq 11.12: 1,000 kg of limestone x 0.12 x 44 / 12 = 440 kg CO2."""
    assert lime_kg(begun(spread("lime", "1 t", on(2027)))) == pytest.approx([0, 440, 0])
    assert lime_kg(begun()) == [0, 0, 0]


def test_what_the_file_says_of_the_year_covers_the_entry() -> None:
    """The file means 2 t in 2027. Entries of 0.5 and 1.5 t are those; of 3 t they are 1 t more: 1,320 kg."""
    typed = Future(inputs=(LIME,))
    assert lime_kg(begun(future=typed)) == pytest.approx([0, 880, 0])
    covered = begun(
        spread("lime", "500 kg", on(2027)), spread("limestone", "1.5 t", on(2027, 9)), future=typed
    )
    assert lime_kg(covered) == pytest.approx([0, 880, 0])
    more = begun(spread("lime", "3 t", on(2027)), future=typed)
    assert lime_kg(more) == pytest.approx([0, 1320, 0])
    assert with_entries(with_entries(more)).farm == with_entries(more).farm
    assert lime_kg(begun(spread("lime", "3 t", on(2028)), future=typed)) == pytest.approx([0, 880, 1320])


def test_dolomite_and_a_grade_are_other_things_than_lime() -> None:
    """1,000 kg of dolomite x 0.13 x 44 / 12 = 476.67 kg, beside the 880 of the lime."""
    typed = Future(inputs=(LIME,))
    assert lime_kg(begun(spread("dolomite", "1 t", on(2027)), future=typed)) == pytest.approx(
        [0, 880 + 476.6667, 0]
    )
    bags = begun(spread("34-0-0", "100 kg", on(2027)), spread("spring 34-0-0", "50 kg", on(2027, 4)))
    (only,) = with_entries(bags).farm.future.inputs
    assert only.amount.to("kg") == pytest.approx(150)


def test_this_year_counts_what_was_spread_and_what_is_still_planned_later_only_plans() -> None:
    """Spread in March 1 t, planned for September 1 t: 880 kg in year 0. A plan whose day went by is none."""
    done = spread("lime", "1 t", on(2026, 3), planned=False)
    gone = spread("lime", "5 t", on(2026, 4))
    last_year = spread("lime", "7 t", on(2025, 6), planned=False)
    made = begun(done, gone, last_year, spread("lime", "1 t", on(2026, 9)))
    assert lime_kg(made) == pytest.approx([880, 0, 0])


def test_what_has_no_weight_is_named_and_in_no_sum() -> None:
    made = begun(spread("lime", None, on(2027)))
    assert lime_kg(made) == [0, 0, 0]
    assert no_weight(made) == ("lime",)


def test_work_on_trees_beyond_what_the_file_means_to_do() -> None:
    typed = Future(works=(PlannedWork("w", "nuts", "thin", 2030, 20),))
    entries = (
        event("nuts", Thinned(30), on(2030), planned=True), event("nuts", Felled(5), on(2031), planned=True),
        event("nuts", Pruned(None, parse("2 m", "length")), on(2028), planned=True),
        event("nuts", Planted(4), on(2029), planned=True), event("gone", Felled(9), on(2031), planned=True),
    )  # fmt: skip
    made = with_entries(begun(*entries, future=typed)).farm.future.works
    assert [(w.kind, w.year, w.trees) for w in made] == [
        ("thin", 2030, 20), ("prune", 2028, None), ("plant", 2029, 4), ("thin", 2030, 10), ("fell", 2031, 5),
    ]  # fmt: skip
    assert made[1].to_height == parse("2 m", "length")
    every = replace(typed, works=(PlannedWork("w", "nuts", "thin", 2030),))
    assert len(with_entries(begun(entries[0], future=every)).farm.future.works) == 1
    assert [work.trees for work in works_of(farm(), Future(works=made)) if work.kind == "thinned"] == [20, 10]


# ---------------------------------------------------------------- animals


def trading(*lines: Line, events: tuple[Event, ...]) -> Start:
    of = start(*lines)
    return replace(of, coming=entries_ahead(events, small_farm.NOW, ZONE))


def test_ewes_to_be_sold_eat_to_the_end_of_their_month_and_are_fewer_after() -> None:
    """100 ewes at 1 kg a day; 10 are sold in June 2027: 10 x 184 days are not eaten, then 10 x 365."""
    sale = event("mob", Sold(10, "ewe maintenance"), on(2027), planned=True)
    made = carry(herd_of(trading(ewes(), events=(sale,))), grown(9e4, 9e4, 9e4), Future(), 1, range(1))
    assert made.head[:, 0, 0] == pytest.approx([100, 100, 90])
    assert made.need_kg.sum(axis=2)[:, 0] == pytest.approx([36500, 36500 - 1840, 32850])
    assert made.need_kg[1, 0, 5] == pytest.approx(3000)
    assert made.need_kg[1, 0, 6] == pytest.approx(90 * 31)
    plain = carry(herd_of(trading(ewes(), events=())), grown(9e4, 9e4, 9e4), Future(), 1, range(1))
    assert (made.sold - plain.sold)[1, 0, 0] == pytest.approx(10)
    assert (made.sold - plain.sold)[0, 0, 0] == 0
    assert (made.bought - plain.bought)[1, 0, 0] == 0


def test_head_in_are_head_out_with_trades_under_every_rule() -> None:
    events = (
        event("mob", Sold(15, "ewe maintenance"), on(2027), planned=True),
        event("mob", Bought(7, "ewe maintenance"), on(2028, 3), planned=True),
    )
    herd = herd_of(trading(ewes(births=date(2026, 4, 10)), events=events))
    kg = grown(30_000, 40_000, 20_000, 60_000, 60_000)
    for rule in ("fixed", "follow", "sell_down"):
        made = carry(herd, kg, Future(stock=rule), 1, range(1))
        change = made.head[1:] - made.head[:-1]
        flows = made.born - made.died - made.sold + made.bought
        np.testing.assert_allclose(flows[:-1], change, atol=1e-9)
    fixed = carry(herd, kg, Future(), 1, range(1))
    assert fixed.head[:, 0, 0] == pytest.approx([100, 100, 85, 92, 92])


def test_grass_bears_the_herd_that_is_there_after_the_trade() -> None:
    """Half of 100 ewes are sold in 2026; grass of 18,250 kg bears all of the 50 that are left, not half."""
    sale = event("mob", Sold(50, "ewe maintenance"), on(2026), planned=True)
    herd = herd_of(trading(ewes(), events=(sale,)))
    made = carry(herd, grown(18250, 18250, 18250), Future(stock="sell_down"), 1, range(1))
    assert made.head[:, 0, 0] == pytest.approx([100, 50, 50])


def test_no_more_is_sold_than_is_there_and_young_stock_come_round() -> None:
    lambs = Line("sheep", "lambs", 150, intake=parse("0.8 kg/d", "intake"))
    events = (
        event("mob", Sold(500, "ewe maintenance"), on(2027), planned=True),
        event("mob", Sold(120, "lambs"), on(2027, 9), planned=True),
        event("elsewhere", Sold(3, "ewe maintenance"), on(2027, 9), planned=True),
    )
    herd = herd_of(trading(ewes(), lambs, events=events))
    assert [(t.at, t.head) for t in herd.trades] == [(0, -100)]
    made = carry(herd, grown(9e4, 9e4, 9e4), Future(), 1, range(1))
    assert made.head[2, 0] == pytest.approx([0, 150])
    assert (made.need_kg >= 0).all()


def test_a_class_that_is_only_to_be_bought_joins_its_mob() -> None:
    """Three rams at 90 kg, bought in 2027, stand there from 2028 on; nobody had any before."""
    rams = event("mob", Bought(3, "ram", weight=parse("90 kg", "mass")), on(2027), planned=True)
    calves = event("mob", Bought(9, "ewe lambs"), on(2027), planned=True)
    herd = herd_of(trading(ewes(), events=(rams, calves)))
    assert [(c.kind, c.klass, c.head) for c in herd.classes[1:]] == [("sheep", "ram", 0)]
    made = carry(herd, grown(9e4, 9e4, 9e4), Future(), 1, range(1))
    assert made.head[:, 0, 1] == pytest.approx([0, 0, 3])
    assert made.bought[1, 0, 1] == pytest.approx(3)


# ---------------------------------------------------------------- hay


def test_a_planned_cut_is_made_once_though_it_does_not_pay() -> None:
    """4,000 kg in May for stock who leave all, 800 kg/ha; a cut of 65 for 64 of hay. Two ha are planned.

    2 ha x 800 x 0.54 = 864 kg reach the mouth; without the entry none, and next year none.
    """
    dear = replace(own.MAKING, usd_ha=65.0)
    may = own.MAY
    made = own.ways(own.month((may, 4000.0), years=2), own.month((may, 8000.0), years=2), making=dear)
    need = own.month((own.NOVEMBER, 3000.0), years=2)
    got, bought, spare = own.fed(replace(made, meant_ha={(0, own.JUNE): 0.0}), need, own.month(years=2))
    assert got.cut_ha.sum() == 0
    got, bought, spare = own.fed(replace(made, meant_ha={(0, own.JUNE): 2.0}), need, own.month(years=2))
    assert got.cut_ha[:, 0] == pytest.approx([2.0, 0.0])
    assert got.made_kg[0, 0] == pytest.approx(864.0)
    assert bought[0, 0, own.NOVEMBER] == pytest.approx(3000 - 864)
    ins = made.grass_kg.sum() + got.beyond_kg.sum() + bought.sum()
    outs = need.sum() + got.lost_kg.sum() + spare.sum() + got.over_kg[-1, 0]
    assert ins == pytest.approx(outs)


def test_no_more_is_cut_than_stock_leave_and_only_of_ground_that_no_promise_cuts() -> None:
    dear = replace(own.MAKING, usd_ha=65.0)
    made = own.ways(own.month((own.MAY, 4000.0)), own.month((own.MAY, 8000.0)), making=dear)
    meant = replace(made, meant_ha={(0, own.JUNE): 99.0})
    got, _, _ = own.fed(meant, own.month((own.MAY, 3000.0)), own.month((own.MAY, 3000.0)))
    assert got.cut_ha[0, 0] == pytest.approx(2.5)
    cuts = (event("1", Cut(area=parse("2 ac", "area")), on(2027), planned=True),
            event("2", Cut(), on(2027, 6, 20), planned=True), event("2", Cut("mow"), on(2027), planned=True),
            event("3", Cut(), on(2026, 9), planned=True))  # fmt: skip
    of = small_farm.farm()
    begin = Start(of, State(NOW), NOW.date(), coming=entries_ahead(cuts, NOW, ZONE))
    acre = small_farm.ACRE_HA
    assert hay_cuts(begin) == pytest.approx({(1, 5): 5 * acre, (0, 8): 3 * acre})
    assert hay_cuts(begin, ("3",)) == pytest.approx({(1, 5): 5 * acre})
