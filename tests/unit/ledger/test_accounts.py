"""The ledger's pages at their edges: who comes and goes, what is not known, and what must always hold."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.chain.season_growth import grown_of
from browseline.chain.store import store
from browseline.events import (
    Borrowed,
    Event,
    Fed,
    Lost,
    Moved,
    Picked,
    Planted,
    Returned,
    Sold,
    Spent,
    Worked,
)
from browseline.farm.site import site_notes
from browseline.ledger.account import season_of
from browseline.ledger.balance_months import Grown, months_balance
from browseline.ledger.eaters import eaten
from browseline.ledger.hours import hours
from browseline.ledger.losses import notices, survival
from browseline.ledger.pasture_share import fed_dry, shares
from browseline.units import parse
from tests.acceptance.cases import BALE, entry, farm_folder, lb, mob, seen

FIRST = date(2026, 4, 1)
EWES = {"kind": "sheep", "class": "ewes", "head": 60, "weight": "150 lb", "intake": "4 lb/d"}
WHOLE = {"id": "season", "kind": "grazing", "what": "grazing", "from": FIRST, "to": date(2026, 5, 1)}


def case(
    folder: Path,
    *events: Event,
    now: str = "2026-04-11 06:00",
    season: bool = True,
    yields: bool = False,
    kind: str = "mixed_cool",
    mobs: Any = None,
    **more: Any,
) -> Picture:
    """Return sixty ewes eating 4 lb a day in April, the eleventh of it."""
    promises = [*more.pop("promises", ()), *([WHOLE] if season else [])]
    flock = mobs if mobs is not None else [mob(EWES, place="1", since="2026-04-01 00:00")]
    farm_folder(folder, as_of=FIRST, mobs=flock, promises=promises, **more)
    path = folder / "farm.toml"
    typed = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    typed["swards"]["pasture"] |= {"kind": kind} | ({"yearly_yield": "4800 lb/ac"} if yields else {})
    path.write_text(tomlkit.dumps(typed), encoding="utf-8")
    return seen(folder, now, events)


def words(picture: Picture, name: str) -> str:
    return "\n".join(PAGES[name](picture).sentences)


def need_lb(picture: Picture, klass: str = "ewes") -> float:
    (found,) = (one for one in eaten(picture.scene, FIRST, date(2026, 5, 1)) if one.klass == klass)
    assert found.need is not None
    return lb(found.need.value)


# ---------------------------------------------------------------- who eats


def test_past_days_from_the_record_and_days_to_come(tmp_path: Path) -> None:
    assert need_lb(case(tmp_path)) == pytest.approx(30 * 60 * 4)


def test_the_sold_eat_no_more_from_the_day_they_go(tmp_path: Path) -> None:
    sold = entry("2026-04-06 09:00", "ewes", Sold(20, "ewes", "sheep"))
    assert need_lb(case(tmp_path, sold)) == pytest.approx(5 * 60 * 4 + 25 * 40 * 4)


def test_a_borrowed_mob_eats_while_it_is_here(tmp_path: Path) -> None:
    came = entry(
        "2026-04-03 09:00", "goats", Borrowed(10, "goat", "does", intake=parse("3 lb/d", "intake"), to="2")
    )
    left = entry("2026-04-08 09:00", "goats", Returned())
    assert need_lb(case(tmp_path, came, left), "does") == pytest.approx(5 * 10 * 3)


def test_a_mob_that_is_to_come_eats_from_its_first_day_in_its_stage(tmp_path: Path) -> None:
    steers = {"id": "steers", "name": "Steers", "at": "2", "from": date(2026, 4, 21), "lines": [
        {"kind": "cattle", "class": "own steers", "head": 5, "intake": "10 lb/d",
         "stages": [{"from": date(2026, 4, 26), "stage": "fat", "intake": "20 lb/d"}]}]}  # fmt: skip
    picture = case(tmp_path, mobs=[mob(EWES, place="1"), steers])
    assert need_lb(picture, "own steers") == pytest.approx(5 * 5 * 10 + 5 * 5 * 20)


def test_a_mob_that_leaves_eats_to_its_last_day(tmp_path: Path) -> None:
    lambs = {"id": "lambs", "name": "Lambs", "at": "2", "to": date(2026, 4, 21), "lines": [
        {"kind": "sheep", "class": "own lambs", "head": 10, "intake": "2 lb/d"}]}  # fmt: skip
    assert need_lb(case(tmp_path, mobs=[mob(EWES, place="1"), lambs]), "own lambs") == pytest.approx(
        20 * 10 * 2
    )


# ---------------------------------------------------------------- the balance


def test_no_season_typed_counts_the_calendar_year_and_says_so(tmp_path: Path) -> None:
    picture = case(tmp_path, season=False)
    assert season_of(picture.farm, picture.today) == (date(2026, 1, 1), date(2027, 1, 1))
    page = words(picture, "balance")
    assert "counts the calendar year" in page
    assert "Who ate before 1 Apr 2026 is not in the record" in page


def test_the_last_season_is_told_when_none_is_to_come(tmp_path: Path) -> None:
    picture = case(tmp_path, now="2026-08-01 06:00")
    assert season_of(picture.farm, picture.today) == (FIRST, date(2026, 5, 1))


@pytest.mark.parametrize("kind", ["ryegrass_clover", "tall_fescue", "bermudagrass"])
def test_months_of_a_sward_that_is_spread(tmp_path: Path, kind: str) -> None:
    picture = case(tmp_path, yields=True, kind=kind)
    assert "stands in for your sward" in words(picture, "balance")


def test_members_are_added_up_before_the_range_is_taken(tmp_path: Path) -> None:
    """Two paddocks that grow against each other have a sum without a range."""
    picture = case(tmp_path)
    places = picture.scene.herbage.paddocks
    grown = np.ones((3, 1, len(places))) * 1000.0
    areas = {p.id: p.grazed_ha for p in picture.farm.paddocks}
    grown[:, 0, 0], grown[:, 0, 1] = [500, 1000, 1500], [1500, 1000, 500]
    assert areas[places[0]] == areas[places[1]]
    made = months_balance(picture.scene, Grown(places, ((2026, 4),), grown, 30))
    assert made.supply is not None
    assert made.supply.low == pytest.approx(made.supply.high)
    assert made.supplies[0].of is not None
    assert (made.supplies[0].of.low or 0) < (made.supplies[0].of.high or 0)
    (april,) = made.months
    assert april.supply is not None
    assert april.supply.low is None


def test_an_intake_that_is_not_known_leaves_need_and_share_open(tmp_path: Path) -> None:
    picture = case(tmp_path, yields=True)
    line = picture.scene.mobs[0].lines[0]
    odd = replace(line, klass="unheard of", intake=None)
    flock = replace(picture.scene.mobs[0], lines=(line, odd))
    heads = tuple((at, ident, (line, odd)) for at, ident, _ in picture.state.heads)
    scene = replace(picture.scene, mobs=(flock,), state=replace(picture.state, mobs=(flock,), heads=heads))
    made = months_balance(scene)
    assert made.need is None
    assert made.spare is None
    assert {one.klass: one.share for one in shares(scene, ())} == {"ewes": None, "unheard of": None}
    assert "what one eats is not known" in words(replace(picture, scene=scene), "balance")
    assert "is missing" in words(replace(picture, scene=scene), "share")


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(head=st.integers(0, 60), day=st.integers(1, 9))
def test_more_sold_or_sooner_never_needs_more(
    tmp_path_factory: pytest.TempPathFactory, head: int, day: int
) -> None:
    def need(sold: int, on: int) -> float:
        event = entry(f"2026-04-{on:02d} 09:00", "ewes", Sold(sold, "ewes", "sheep"))
        return need_lb(case(tmp_path_factory.mktemp("farm"), event)) if sold < 60 else 0.0

    assert need(head, day) <= need(max(head - 1, 0), day) + 1e-6
    assert need(head, day) <= need(head, day + 1) + 1e-6


# ---------------------------------------------------------------- share from pasture


def test_days_in_the_yard_without_feed_are_no_pasture(tmp_path: Path) -> None:
    moved = entry("2026-04-05 06:00", "ewes", Moved("yard"))
    page = words(case(tmp_path, moved, hay=[BALE | {"bales": "40 bales"}]), "share")
    assert "5 days off pasture, with less feed entered than they need; 5 days on pasture" in page


def test_feed_of_other_days_water_and_mineral_are_not_counted(tmp_path: Path) -> None:
    events = [
        entry("2026-04-02 08:00", "ewes", Fed(parse("150 gal", "volume"), what="water")),
        entry("2026-04-02 08:00", "ewes", Fed(parse("5 lb", "mass"), what="sheep mineral")),
        entry("2026-04-11 05:00", "ewes", Fed(parse("2 bales", "count"))),
        entry("2026-04-02 09:00", "ewes", Worked(parse("1 h", "time"))),
    ]
    picture = case(tmp_path, *events, hay=[BALE | {"bales": "40 bales"}])
    fed = fed_dry(picture.scene, picture.events, "ewes", FIRST, date(2026, 4, 11))
    assert fed is not None
    assert fed.value == 0
    assert "found 100.0 %" in words(picture, "share")


def test_grain_by_weight_leaves_the_share_open(tmp_path: Path) -> None:
    grain = entry("2026-04-02 08:00", "ewes", Fed(parse("50 lb", "mass"), what="grain"))
    picture = case(tmp_path, grain, hay=[BALE | {"bales": "40 bales"}])
    assert "share from pasture is not known" in words(picture, "share")


# ---------------------------------------------------------------- store, hours, losses, site


def test_a_barn_without_hay_says_so(tmp_path: Path) -> None:
    assert "no bales are in store" in words(case(tmp_path), "store")


def test_mineral_bought_and_not_yet_given(tmp_path: Path) -> None:
    bought = entry(
        "2026-04-02 08:00", "farm", Spent(parse("$45", "money"), "salt", weight=parse("50 lb", "mass"))
    )
    assert "salt: bought 50 lb, given 0 lb, left 50 lb." in words(case(tmp_path, bought), "store")


def test_water_for_a_mob_that_stands_nowhere(tmp_path: Path) -> None:
    water = entry("2026-04-02 08:00", "ghosts", Fed(parse("50 gal", "volume"), what="water"))
    assert "50 gal to ghosts, place not entered" in words(case(tmp_path, water), "store")


def test_a_crop_of_a_planting_that_is_gone_keeps_its_id(tmp_path: Path) -> None:
    picked = entry("2026-04-02 08:00", "old row", Picked(parse("5 lb", "mass")))
    assert [crop.name for crop in store(case(tmp_path, picked)).goods.crops] == ["old row"]


def test_a_stop_without_a_name_stops_what_was_started_last(tmp_path: Path) -> None:
    events = [
        entry("2026-04-02 08:00", "farm", Worked(what="fence", clock="start")),
        entry("2026-04-02 09:00", "farm", Worked(what="mow", clock="start")),
        entry("2026-04-02 10:00", "farm", Worked(clock="stop")),
    ]
    picture = case(tmp_path, *events, now="2026-04-02 12:00")
    found = {job: time.value for job, time in hours(picture.scene, picture.events).by_job}
    assert found == {"fence": pytest.approx(4), "mow": pytest.approx(1)}


def lost(trees: int, cause: str = "drought", planting: str = "walnuts-5") -> Event:
    return entry("2026-04-05 08:00", planting, Lost(trees, cause))


DROPS = {"5": date(2026, 9, 25), "10": date(2026, 9, 1)}


def test_without_a_normal_loss_nothing_is_judged(tmp_path: Path) -> None:
    picture = case(tmp_path, lost(40), harvest=DROPS)
    (found,) = notices(picture.scene)
    assert (found.may_qualify, found.cheque) == (None, None)
    page = words(picture, "losses")
    assert "The normal loss is not typed" in page
    assert "File by 4 Jul" in page
    assert "its date is not typed" in page


def test_a_loss_without_a_price_names_no_sum(tmp_path: Path) -> None:
    picture = case(tmp_path, lost(40, ""), harvest=DROPS, rules={"normal_loss": "3 %"})
    (found,) = notices(picture.scene)
    assert found.payable is not None
    assert found.cheque is None
    assert "cause not entered" in words(picture, "losses")


def test_a_small_loss_has_no_day_to_file(tmp_path: Path) -> None:
    page = words(case(tmp_path, lost(2), harvest=DROPS, rules={"normal_loss": "3 %"}), "losses")
    assert "would not qualify" in page
    assert "File by" not in page


def test_a_stand_that_was_not_counted_gives_no_notice(tmp_path: Path) -> None:
    picture = case(tmp_path, lost(2, planting="hazel"), harvest=DROPS)
    assert notices(picture.scene) == ()
    assert "How many trees stood is not typed for Hazel in 10" in words(picture, "losses")


def test_replanted_trees_stand_again(tmp_path: Path) -> None:
    again = entry("2026-04-06 08:00", "walnuts-5", Planted(3))
    found = {one.planting: one for one in survival(case(tmp_path, lost(4), again).scene)}
    assert (found["walnuts-5"].planted, found["walnuts-5"].alive) == (3, 108)


def trees(ident: str, species: str, where: str = "5", **more: Any) -> dict[str, Any]:
    return {
        "id": ident,
        "name": ident,
        "species": species,
        "paddock": where,
        "trees": 5,
        "harvested": False,
    } | more


def test_beside_walnut_what_is_not_known_is_said_and_walnuts_do_not_harm_each_other(tmp_path: Path) -> None:
    rows = [
        trees("a", "walnut_black"),
        trees("b", "pecan"),
        trees("c", "chestnut_chinese"),
        trees("d", "pear"),
    ]
    found = [(note.kind, note.about) for note in site_notes(case(tmp_path, plantings=rows).farm)]
    assert found == [("juglone_unknown", "c"), ("juglone_unknown", "c")]


def test_a_lease_over_trees_without_a_year_or_a_bearing_age(tmp_path: Path) -> None:
    rent = {"id": "rent", "kind": "lease", "what": "lease", "from": FIRST, "to": FIRST + timedelta(days=3650)}
    rows = [trees("a", "walnut_black"), trees("b", "poplar_hybrid", planted=2020)]
    found = [note.kind for note in site_notes(case(tmp_path, plantings=rows, promises=[rent]).farm)]
    assert found == ["lease_unknown", "lease_unknown"]


def test_a_farm_without_weather_models_nothing(tmp_path: Path) -> None:
    assert grown_of(case(tmp_path)) is None
