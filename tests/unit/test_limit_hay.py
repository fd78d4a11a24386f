"""Hay that lies shuts its ground to stock: by the farm's own days, until bales or an opening are entered."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from browseline.chain import look
from browseline.chain.pages import PAGES
from browseline.chain.pocket.page import pocket
from browseline.events import When
from browseline.farm.read import read
from browseline.farm.records import Rules
from browseline.limits import Bite, Scene, bites, faces, ready
from browseline.limits.hay import LIMIT, lying
from browseline.moves import judge, plan, yardstick_of
from browseline.moves.rules import all_yard
from browseline.papers.relief import relief
from browseline.record.fold import fold
from browseline.record.state import CutDone
from browseline.units import parse
from tests.loose import loose
from tests.moves_farms import DAY, broken, grazed, number, with_rules
from tests.small_farm import NOW
from tests.unit.cli_farm import FARM, SmallFarm, small_farm
from tests.web_farm import Served

CUT_DAYS_AGO = 1
DONE = CutDone("4", When.at(NOW - CUT_DAYS_AGO * DAY), "hay")
TODAY = NOW.date()
OFF = TODAY + timedelta(days=5 - CUT_DAYS_AGO)


def hay_rules(**more: Any) -> Rules:
    own = {"worm_stay": parse("60 d", "time"), "worm_rest": parse("1 d", "time")}
    return Rules(**(own | {"hay_days": parse("5 d", "time")} | more))


def mown(*cuts: CutDone, rules: Rules | None = None, **more: Any) -> Scene:
    """Return a farm of which paddock 4 was cut."""
    heights = (4.2, 7.0, 7.0, 13.0, 7.0)
    return grazed(
        (1.0, 2.0, 2.0, 6.0, 2.0), heights, days=15, members=3, growth="30 lb/ac/d",
        rules=rules or hay_rules(), cuts=cuts, **more,
    )  # fmt: skip


def hay_bite(scene: Scene, paddock: str = "4") -> Bite | None:
    return next((b for b in bites(scene, "ewes", paddock) if b.limit == "hay"), None)


def closed_to(scene: Scene) -> np.ndarray:
    (face,) = [face for face in faces(scene) if face.name == "hay"]
    assert face.closed is not None
    return face.closed


def test_ground_on_which_hay_lies_is_shut_to_all_until_the_day_it_is_off() -> None:
    scene = mown(DONE, mobs=2)
    assert [(hay.place, hay.off) for hay in lying(scene)] == [("4", OFF)]
    closed = closed_to(scene)
    for d, day in enumerate(scene.days):
        assert closed[:, d, 3].tolist() == [day < OFF] * 2
    assert not closed[:, :, [0, 1, 2, 4]].any()
    found = hay_bite(scene)
    assert found is not None
    assert found.hardness == "hard"
    assert found.moment is not None
    assert found.moment.likely == NOW
    assert [figure.name for figure in found.figures] == ["hay_days"]
    assert found.because == "Hay lies there: cut 5 May, off by 10 May (5 d)."
    (told,) = [one for one in ready(scene, "ewes", "4") if one.limit == "hay"]
    assert told.moment is not None
    assert scene.local(told.moment.likely).date() == OFF
    assert hay_bite(scene, "2") is None


@pytest.mark.parametrize(
    "cuts",
    [
        (),
        (replace(DONE, off=True),),
        (replace(DONE, purpose="mowing"),),
        (replace(DONE, at=When.at(NOW - 5 * DAY)),),
        (DONE, replace(DONE, at=When.at(NOW), off=True)),
    ],
    ids=["none", "bales counted", "mown", "five days ago", "baled since"],
)
def test_nothing_is_shut_where_no_hay_lies(cuts: tuple[CutDone, ...]) -> None:
    scene = mown(*cuts)
    assert lying(scene) == ()
    assert not closed_to(scene).any()
    assert hay_bite(scene) is None


def test_a_day_less_and_the_hay_still_lies() -> None:
    assert lying(mown(replace(DONE, at=When.at(NOW - 4 * DAY))))[0].off == TODAY + DAY
    (half,) = lying(mown(DONE, rules=hay_rules(hay_days=parse("4.5 d", "time"))))
    assert half.off == OFF, "half a day is a day on which it lies"


def test_a_farm_that_never_said_how_long_hay_lies_hears_nothing() -> None:
    scene = mown(DONE, rules=hay_rules(hay_days=None))
    assert lying(scene) == ()
    assert not closed_to(scene).any()
    assert hay_bite(scene) is None


def test_hay_of_a_part_shuts_that_part_and_hay_of_the_whole_every_part() -> None:
    scene = mown()
    parts = tuple(replace(scene.farm.paddocks[3], id=f"4/{x}", parents=("4",)) for x in "ab")
    home = replace(scene.farm, paddocks=(*scene.farm.paddocks[:3], *parts))
    names = ("1", "2", "3", "4/a", "4/b")

    def shut(cut: CutDone) -> list[str]:
        seen = replace(scene, farm=home, paddocks=names, state=replace(scene.state, cuts=(cut,)), memo={})
        closed = LIMIT.face(seen).closed
        assert closed is not None
        return [name for p, name in enumerate(names) if closed[0, 0, p]]

    assert shut(DONE) == ["4/a", "4/b"]
    assert shut(replace(DONE, part="4/b")) == ["4/b"]
    whole = replace(scene, state=replace(scene.state, cuts=(replace(DONE, part="4/b"),)), memo={})
    assert [hay.place for hay in lying(whole)] == ["4"], "the net is gone: it lies somewhere on the whole"


def test_a_plan_keeps_off_lying_hay_and_it_costs_nothing_by_itself() -> None:
    scene, free = mown(DONE, mobs=2), mown(replace(DONE, off=True), mobs=2)
    season = plan(scene, iterations=1500)
    assert broken(scene, season) == []
    begun = [s.stay.begin.start.date() for s in season.stays if s.stay.place == "4"]
    assert begun, "it is the best grass as soon as the hay is off"
    assert min(begun) >= OFF
    assert (
        min(s.stay.begin.start.date() for s in plan(free, iterations=1500).stays if s.stay.place == "4") < OFF
    )
    # the same plan costs the same with and without the hay: the limit shuts, it prices nothing
    for found in (scene, free):
        yardstick = yardstick_of(found, faces(found))
        yard = all_yard(yardstick)
        assert judge(yardstick, yard).total_usd == pytest.approx(
            judge(yardstick_of(free, faces(free)), yard).total_usd, abs=1e-9
        )
        yard[0, 0] = 3
        assert judge(yardstick, yard).kept is (found is free)


def test_no_cut_is_proposed_where_hay_lies_and_days_of_plan_and_limit_are_the_same() -> None:
    """A cut of the plan, entered on its day, shuts by the limit what the plan had shut itself."""
    making = {
        "hay_pass": parse("5 USD/ac", "money by area"),
        "hay_field_loss": parse("10 %", "share"),
        "hay_stubble": parse("8 in", "length"),
    }
    before = plan(with_rules(mown(), **making), iterations=400)
    soon = min(before.cuts, key=lambda cut: cut.day)
    on_day = When.at(NOW.replace(day=soon.day.day, month=soon.day.month))
    entered = with_rules(mown(CutDone(soon.paddock, on_day, "hay")), **making)
    (hay,) = lying(entered)
    assert (hay.day, hay.off) == (soon.day, soon.clear)
    again = plan(with_rules(mown(DONE), **making), iterations=400)
    assert all(cut.day >= OFF for cut in again.cuts if cut.paddock == "4")
    assert all(number(cut.saved) >= 0.5 for cut in again.cuts)


# ---------------------------------------------------------------- on a real folder

DAYS = '\n[rules]\nhay_days = "4 d"\n'
HIGH = ("cut", "4", "hay", "--to-height", "9 in")
"""A cut after which the paddock is the best there is, but for the hay on it."""


def farm_with(folder: Path, rules: str = DAYS) -> SmallFarm:
    made = small_farm(folder, FARM + rules)
    for paddock in ("4", "6", "7", "8"):
        assert made.run("walk", paddock, "9 in" if paddock != "4" else "11 in").code == 0
    return made


def today(farm: SmallFarm, now: str = "2026-05-06T08:00-04:00") -> dict[str, Any]:
    found: dict[str, Any] = json.loads(farm.run("today", "--json", now=now).out)
    return found


def shut_on(farm: SmallFarm, now: str = "2026-05-06T08:00-04:00") -> list[tuple[str, str]]:
    return [(one["paddock"], one["until"]) for one in today(farm, now)["shut"]]


def test_today_names_another_place_tells_why_and_opens_again(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm")
    assert "Next: Cherry" in farm.run("today").all
    assert farm.run(*HIGH).code == 0
    told = farm.run("today").all
    assert "Next: Cherry" not in told
    assert "Cherry: hay lies, cut 6 May - until 10 May." in told
    assert shut_on(farm) == [("Cherry", "until 10 May")]
    assert shut_on(farm, "2026-05-09T23:00-04:00") == [("Cherry", "until 10 May")]
    assert shut_on(farm, "2026-05-10T00:30-04:00") == []
    assert farm.run("move", "ewes", "4").code == 0, "the limit bites; it refuses no entry"
    first = today(farm)["mobs"][0]["lines"][0]
    assert (first["limit"], first["hard"], first["when"]) == ("hay", "hard", "now")
    assert first["because"] == "Hay lies there: cut 6 May, off by 10 May (4 d)."
    assert "enter its bales, or open the paddock" in first["act"].lower()
    opened = farm.run("why", first["figures"][0]["key"])
    assert opened.code == 0
    assert "4 d" in opened.all


@pytest.mark.parametrize(
    "entry", [("open", "4"), ("cut", "4", "hay", "--bales", "20")], ids=["opened", "bales"]
)
def test_hay_that_is_off_sooner_is_entered(tmp_path: Path, entry: tuple[str, ...]) -> None:
    farm = farm_with(tmp_path / "farm")
    assert farm.run(*HIGH, now="2026-05-04T10:00-04:00").code == 0
    assert shut_on(farm) == [("Cherry", "until 8 May")]
    done = farm.run(*entry)
    assert done.code == 0
    assert "was not shut" not in done.all
    assert shut_on(farm) == []


def test_opening_for_one_condition_leaves_the_hay_where_it_is(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm")
    farm.run(*HIGH)
    farm.run("shut", "4", "because", "cherry limb down", "until", "cleared")
    assert len(shut_on(farm)) == 2
    assert farm.run("open", "4", "met", "cleared").code == 0
    assert shut_on(farm) == [("Cherry", "until 10 May")]


def test_a_farm_without_hay_days_is_told_nothing(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm", "")
    assert farm.run(*HIGH).code == 0
    assert shut_on(farm) == []
    assert "Next: Cherry" in farm.run("today").all


def test_hay_of_a_part_behind_a_net_is_shut_on_that_part(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm")
    assert farm.run("net", "4", "a 1 ac, b 2 ac").code == 0
    assert farm.run("cut", "4/a", "hay").code == 0
    seen = look(farm.folder, datetime.fromisoformat("2026-05-06T08:00-04:00")).scene.herbage
    high = [number(seen.height_now(seen.index(part))) for part in ("4/a", "4/b")]
    assert high == [pytest.approx(4 * 2.54, abs=0.1), pytest.approx(11 * 2.54, abs=0.1)]
    assert [until for _, until in shut_on(farm)] == ["until 10 May"]
    assert "was not shut" in farm.run("open", "4/b").all
    assert [until for _, until in shut_on(farm)] == ["until 10 May"]
    assert "was not shut" not in farm.run("open", "4/a").all
    assert shut_on(farm) == []
    assert farm.run("cut", "4/b", "hay", "--bales", "5").code == 0
    assert shut_on(farm) == [], "bales are counted, into the farm's own lot"
    home = read(farm.folder).farm
    assert home is not None
    lots = fold(home, farm.events(), datetime.fromisoformat("2026-05-06T08:00-04:00")).hay
    assert [(lot.lot, lot.bales) for lot in lots] == [("barn", 65.0)]


@pytest.mark.parametrize("name", ["today", "shut", "ready", "season"])
def test_every_number_of_a_page_that_tells_of_lying_hay_opens(tmp_path: Path, name: str) -> None:
    farm = farm_with(tmp_path / "farm")
    assert farm.run(*HIGH).code == 0
    assert farm.run("move", "ewes", "4").code == 0
    picture = look(farm.folder, datetime.fromisoformat("2026-05-06T08:00-04:00"))
    page = PAGES[name].make(picture)
    assert loose(picture, page) == []


def test_the_pages_open_it_and_the_phone_tells_it(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm")
    assert farm.run(*HIGH).code == 0
    browser = Served(farm.folder).here()
    told = browser.get("/shut").text
    assert "hay lies, cut" in told
    assert "/enter/open?paddock=4" in told
    form = browser.get("/enter/open?paddock=4").text
    assert '<option value="4" selected' in form or 'value="4" checked' in form
    picture = look(farm.folder, datetime.fromisoformat("2026-05-06T08:00-04:00"))
    (cherry,) = [one for one in pocket(picture, "owner", "owner", "0").paddocks if one.id == "4"]
    assert "hay lies" in cherry.shut


def test_the_relief_sheet_tells_it_once(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm")
    assert farm.run(*HIGH).code == 0
    sheet = relief(look(farm.folder, datetime.fromisoformat("2026-05-06T08:00-04:00")))
    assert [line.places for line in sheet.hay] == [("4 Cherry",)]
    assert "No stock in there until the hay is off, about Sun 10 May" in sheet.hay[0].words
    assert not any("Cherry" in line.paddocks for line in sheet.shut)


def test_a_cut_of_the_whole_cuts_every_part(tmp_path: Path) -> None:
    farm = farm_with(tmp_path / "farm")
    assert farm.run("cut", "4", "hay", now="2026-05-06T07:40-04:00").code == 0
    assert farm.run("net", "4", "a 1 ac, b 2 ac", now="2026-05-06T07:50-04:00").code == 0
    seen = look(farm.folder, datetime.fromisoformat("2026-05-06T08:00-04:00")).scene.herbage
    for part in ("4/a", "4/b"):
        assert number(seen.height_now(seen.index(part))) == pytest.approx(4 * 2.54, abs=0.1)
