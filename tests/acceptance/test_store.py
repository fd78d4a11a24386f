"""The store (item 7, with m10): bought bales, nuts picked and sold, mineral, water hauled; and s13, hours."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.chain.store import store
from browseline.events import Earned, Event, Fed, Moved, Picked, Spent, Worked
from browseline.ledger.hours import hours
from browseline.units import Quantity, parse
from tests.acceptance.cases import BALE, EWE, entry, farm_folder, lb, mob, seen

NOW = "2026-10-10 06:00"


def mass(text: str) -> Quantity:
    return parse(text, "mass")


def money(text: str) -> Quantity:
    return parse(text, "money")


def bales(text: str) -> Quantity:
    return parse(text, "count")


def barn(folder: Path, *events: Event, kind: str = "sheep", klass: str = "ewes", **more: Any) -> Picture:
    flock = mob(
        EWE | {"kind": kind, "class": klass, "intake": "2.6 lb/d"}, place="8", since="2026-10-01 07:00"
    )
    farm_folder(folder, as_of=date(2026, 10, 1), mobs=[flock], hay=[BALE | {"bales": "40 bales"}], **more)
    return seen(folder, NOW, events)


def words(picture: Picture, name: str = "store") -> str:
    return "\n".join(PAGES[name](picture).sentences)


def test_bought_bales_go_into_the_store(tmp_path: Path) -> None:
    bought = entry("2026-10-05 08:00", "farm", Spent(money("$1,080"), "hay", bales("18 bales")))
    fed = entry("2026-10-06 08:00", "ewes", Fed(bales("2 bales")))
    hay = store(barn(tmp_path, bought, fed)).hay
    assert hay is not None
    assert hay.bales.value == pytest.approx(56)
    assert lb(hay.eaten.value) == pytest.approx(56 * 598.4, rel=0.001)


def test_bales_of_before_the_farm_began_are_in_the_opening(tmp_path: Path) -> None:
    early = entry("2026-09-01 08:00", "farm", Spent(money("$600"), "hay", bales("10 bales")))
    hay = store(barn(tmp_path, early)).hay
    assert hay is not None
    assert hay.bales.value == pytest.approx(40)


def test_bales_of_an_undescribed_lot_are_told(tmp_path: Path) -> None:
    bought = entry("2026-10-05 08:00", "farm", Spent(money("$90"), "straw", bales("5 bales"), lot="loft"))
    assert "Bales whose weight is not described: loft" in words(barn(tmp_path, bought))


def test_nuts_picked_less_sold(tmp_path: Path) -> None:
    events = [
        entry("2026-10-03 08:00", "walnuts-5", Picked(mass("120 lb"))),
        entry("2026-10-04 08:00", "walnuts-6", Picked(mass("80 lb"))),
        entry("2026-10-05 08:00", "hazel", Picked(mass("40 lb"))),
        entry("2026-10-06 08:00", "farm", Earned(money("$300"), "walnuts at the gate", mass("150 lb"))),
    ]
    found = {crop.name: round(lb(crop.left.value)) for crop in store(barn(tmp_path, *events)).goods.crops}
    assert found == {"walnut": 50, "hazel": 40}


def test_more_sold_than_picked_is_asked_about(tmp_path: Path) -> None:
    sold = entry("2026-10-06 08:00", "farm", Earned(money("$50"), "hazelnuts", mass("20 lb")))
    assert "only 0 lb is entered as picked. Which is missing?" in words(barn(tmp_path, sold))


def test_mineral_bought_and_given_with_the_caution_on_copper(tmp_path: Path) -> None:
    events = [
        entry("2026-10-02 08:00", "farm", Spent(money("$45"), "sheep mineral", weight=mass("50 lb"))),
        entry("2026-10-03 08:00", "ewes", Fed(mass("12 lb"), what="sheep mineral")),
    ]
    page = words(barn(tmp_path, *events))
    assert "sheep mineral: bought 50 lb, given 12 lb, left 38 lb." in page
    assert "copper that kills sheep" in page
    assert "ppm" not in page


def test_no_caution_on_copper_where_there_are_no_sheep(tmp_path: Path) -> None:
    given = entry("2026-10-03 08:00", "ewes", Fed(mass("12 lb"), what="mineral"))
    assert "copper" not in words(barn(tmp_path, given, kind="goat", klass="does"))


def test_water_hauled_by_mob_and_place(tmp_path: Path) -> None:
    def hauled(day: int, place: str = "") -> Event:
        return entry(
            f"2026-10-{day:02d} 12:00", "ewes", Fed(parse("150 gal", "volume"), where=place, what="water")
        )

    events = [hauled(2), hauled(3), entry("2026-10-04 08:00", "ewes", Moved("9")), hauled(5)]
    found = store(barn(tmp_path, *events)).goods.hauled
    assert [(h.place, round(h.water.value or 0)) for h in found] == [("8", 1136), ("9", 568)]
    assert "Water hauled: 300 gal to Ewes, 8." in words(barn(tmp_path / "again", *events))


def test_feed_by_weight_takes_no_bale(tmp_path: Path) -> None:
    hay = store(barn(tmp_path, entry("2026-10-03 08:00", "ewes", Fed(mass("12 lb"), what="grain")))).hay
    assert hay is not None
    assert hay.bales.value == pytest.approx(40)


# ---------------------------------------------------------------- s13: hours


def test_s13_start_and_stop_total_pay_and_method(tmp_path: Path) -> None:
    """Two hours by the clock, half an hour typed, 1.5 h as an interval: 4 h; (300 - 60) / 4 = 60 an hour."""
    events = [
        entry("2026-10-02 08:00", "farm", Worked(what="fence", clock="start")),
        entry("2026-10-02 10:00", "farm", Worked(what="fence", clock="stop")),
        entry("2026-10-03 08:00", "farm", Worked(parse("30 min", "time"), "move")),
        entry("2026-10-03 09:00", "farm", Worked(what="fence"), until="2026-10-03 10:30"),
        entry("2026-10-04 08:00", "farm", Earned(money("$300"), "lambs")),
        entry("2026-10-04 09:00", "farm", Spent(money("$60"), "wire")),
    ]
    picture = barn(tmp_path, *events, labour={"hours_day": "2 h"})
    made = hours(picture.scene, picture.events)
    assert made.total.value == pytest.approx(4.0)
    jobs = [(job, round(time.value or 0.0, 6)) for job, time in made.by_job]
    assert jobs == [("fence", 3.5), ("move", 0.5)]
    assert made.pay is not None
    assert made.pay.value == pytest.approx(60.0)
    page = words(picture, "hours")
    assert "over the hours that were entered" in page
    assert "of 14.0 h there are" in page


def test_s13_a_start_without_a_stop_runs_and_is_told(tmp_path: Path) -> None:
    picture = barn(tmp_path, entry("2026-10-10 04:00", "farm", Worked(what="lambing", clock="start")))
    assert hours(picture.scene, picture.events).total.value == pytest.approx(2.0)
    assert "Still running: lambing" in words(picture, "hours")


def test_s13_a_stop_of_nothing_adds_nothing(tmp_path: Path) -> None:
    picture = barn(tmp_path, entry("2026-10-09 04:00", "farm", Worked(what="fence", clock="stop")))
    assert hours(picture.scene, picture.events).total.value == 0


def test_s13_hours_due_are_the_planned_moves(tmp_path: Path) -> None:
    plans = [entry(f"2026-10-{day} 08:00", "ewes", Moved("9"), planned=True) for day in (11, 14, 25)]
    picture = barn(tmp_path, *plans)
    assert hours(picture.scene, picture.events).due.value == pytest.approx(0.5)
    assert "Pay an hour cannot be said" in words(picture, "hours")
