"""What must hold of own feed in any projection: it balances, and years, members and splits change nothing."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.decades_farm import start_of
from browseline.decades.form import OwnFeed, Projection
from browseline.decades.project import project
from browseline.decades.start import Start
from browseline.farm.future import Future, StockRule
from browseline.farm.records import HayLot, Promise, Rules
from browseline.record.state import HayState
from browseline.units import parse

Array = NDArray[np.float64]
YEARS, MEMBERS = 12, 8
RULES = Rules(
    hay_pass=parse("60 USD/ac", "money by area"), hay_field_loss=parse("20 %", "share"),
    hay_days=parse("5 d", "time"), hay_stubble=parse("4 in", "length"),
    hay_area_day=parse("5 ac", "area"),
)  # fmt: skip
BARN = HayLot(
    "barn", parse("40 bales", "count"), parse("800 lb", "mass"), parse("88 %", "share"),
    parse("8 %", "share"), parse("15 %", "share"),
)  # fmt: skip
HAY = Promise("cut", "hay", "a cut", date(2026, 5, 10), date(2026, 6, 20), ("1",))
WINTER = Promise("kept", "stockpile", "kept for winter", date(2026, 8, 1), date(2026, 11, 16), ("0", "3"))
NAMES = ("store_kg", "hay_kg", "winter_kg", "cut_ha", "made_kg", "beyond_kg", "lost_kg", "over_kg")
RULE_WORDS: tuple[StockRule, ...] = ("fixed", "follow", "sell_down")


def start(rule: StockRule = "fixed") -> Start:
    """Return a farm of four paddocks that makes hay, keeps grass for winter and has bales."""
    made = start_of(4)
    farm = replace(
        made.farm, rules=RULES, hay=(BARN,), promises=(*made.farm.promises, HAY, WINTER),
        future=Future(stock=rule),
    )  # fmt: skip
    state = replace(made.state, hay=(HayState("barn", 40.0, date(2026, 5, 1)),))
    return replace(made, farm=farm, state=state)


def ahead(of: Start, years: int = YEARS, members: int = MEMBERS) -> Projection:
    return project(of, years=years, members=members, engine=lambda own, wanted: None)


def own_of(made: Projection) -> OwnFeed:
    assert made.feed.own is not None
    return made.feed.own


def columns(made: Projection) -> dict[str, Array]:
    own = {name: getattr(own_of(made), name) for name in NAMES}
    return own | {name: getattr(made.feed, name) for name in ("hay_kg", "spare_kg", "need_kg", "head")}


@pytest.fixture(scope="module")
def whole() -> Projection:
    return ahead(start())


@pytest.mark.parametrize("rule", RULE_WORDS)
def test_what_is_there_is_what_goes(rule: StockRule) -> None:
    """Grown + there before + taken beyond the share + bought = eaten + lost + spare + there after."""
    feed = ahead(start(rule)).feed
    own = feed.own
    assert own is not None
    comes = feed.grown_kg.sum(axis=2) + own.beyond_kg + feed.hay_kg.sum(axis=2)
    goes = feed.need_kg.sum(axis=2) + own.lost_kg + feed.spare_kg
    before = np.concatenate([np.full((1, MEMBERS), own.bales_kg), own.over_kg[:-1]])
    # What stands over the end of a year is eaten or spare in the next one: no more than December grew.
    standing = np.cumsum(before + comes - goes - own.over_kg, axis=0)
    assert (standing >= -1e-6).all()
    assert (standing <= feed.grown_kg[:, :, -1] + 1e-6).all()
    # The season ends in October: nothing grows in December, so every year closes by itself.
    assert standing == pytest.approx(0.0, abs=1e-6)


def test_every_way_is_used_and_nothing_is_below_nothing(whole: Projection) -> None:
    for name in NAMES:
        values = getattr(own_of(whole), name)
        assert (values >= -1e-9).all(), name
        assert values.any(), name
    assert (whole.feed.hay_kg >= -1e-9).all()
    assert (whole.feed.spare_kg >= -1e-6).all()


def test_own_feed_takes_the_place_of_bought_hay(whole: Projection) -> None:
    """Bales are counted once; less hay is bought than by the farm that types none of it."""
    made = start()
    bare = replace(
        made, farm=replace(made.farm, rules=Rules(), hay=(), promises=made.farm.promises[:1]),
        state=replace(made.state, hay=()),
    )  # fmt: skip
    without = ahead(bare)
    assert without.feed.own is None
    assert whole.feed.hay_kg.sum() < without.feed.hay_kg.sum()
    own = own_of(whole)
    assert (own.store_kg.sum(axis=(0, 2)) <= own.bales_kg + 1e-6).all()
    assert own.store_kg[0, :, : own.first].sum() == 0


def test_a_long_run_begins_as_a_short_one(whole: Projection) -> None:
    short = columns(ahead(start(), years=5))
    for name, values in columns(whole).items():
        np.testing.assert_allclose(values[:6], short[name], rtol=1e-12, atol=1e-9, err_msg=name)


def test_more_members_change_no_other(whole: Projection) -> None:
    few = columns(ahead(start(), members=3))
    for name, values in columns(whole).items():
        np.testing.assert_allclose(values[:, :3], few[name], rtol=1e-12, atol=1e-9, err_msg=name)


@pytest.mark.parametrize("which", [0, 1])
def test_a_split_paddock_changes_no_total(whole: Projection, which: int) -> None:
    """Ground kept for winter (0) or promised for hay (1) in two halves that keep its promise."""
    made = start()
    first = made.farm.paddocks[which]
    halves = tuple(
        replace(first, id=f"{which}{part}", area_ha=first.area_ha / 2, parents=(first.id,)) for part in "ab"
    )
    paddocks = [half for p in made.farm.paddocks for half in (halves if p is first else (p,))]
    split = columns(ahead(replace(made, farm=replace(made.farm, paddocks=tuple(paddocks)))))
    for name, values in columns(whole).items():
        np.testing.assert_allclose(split[name], values, rtol=1e-9, atol=1e-6, err_msg=name)
