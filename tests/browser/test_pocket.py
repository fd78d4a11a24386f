"""The pocket in a real browser: entries without a signal, the browser killed, the signal back."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Page

from browseline.chain import look, today
from browseline.events import Counted, Looked, Moved, Opened, Shut, Undone, Walked
from browseline.record.store import Record
from browseline.units import parse
from tests.browser.conftest import NOW, Server
from tests.browser.phone import LIMITS, Carried, Phone, home, keep
from tests.unit.cli_farm import NOW as SMALL_NOW
from tests.unit.cli_farm import small_farm


def test_a_move_without_a_signal_is_in_the_record_though_the_browser_was_killed(
    phone: Phone, carried: Carried, own_farm: Path
) -> None:
    page = phone.open(f"{carried.address}/today")
    page.wait_for_selector("section.mob")
    page.click("section[data-mob=heifers] a[href^='#move']")
    page.click("a.choice >> nth=0")
    page.click("button.keep")
    page.wait_for_selector("p.kept")
    phone.kill()

    page = phone.open(f"{carried.address}/pocket")
    assert page.inner_text("a[href='#list'] >> nth=0") == "Unsent: 1"
    with Server(own_farm, port=carried.port):
        home(page)
    with Record.open(own_farm) as record:
        event = record.events()[-1]
    assert isinstance(event.body, Moved)
    assert event.subject == "heifers"
    assert event.device.startswith("p-")
    assert event.observed.start.utcoffset() == timedelta(hours=-4)


def test_every_field_entry_works_without_a_signal(phone: Phone, carried: Carried, own_farm: Path) -> None:
    pocket = f"{carried.address}/pocket"
    page = phone.open(f"{pocket}#walk/7")
    page.select_option("[name=density]", "good")
    keep(page, height="8.5")
    page.goto(f"{pocket}#look/2/trees")
    keep(page, seen="30", bitten="5", barked="2")
    page.goto(f"{pocket}#shut/3")
    keep(page, because="limb down", until="cleared")
    page.goto(f"{pocket}#open/10")
    keep(page, met="cleared and dry")
    page.goto(f"{pocket}#count/heifers")
    keep(page, head="46")
    page.goto(f"{pocket}#move/ewes/3")
    keep(page, despite="nowhere else")
    page.goto(f"{pocket}#list")
    page.click("li[data-state=unsent] button >> nth=0")
    page.wait_for_selector("p.kept")
    with Server(own_farm, port=carried.port):
        home(page)
    with Record.open(own_farm) as record:
        made = record.events()[-7:]
    bodies = {type(event.body): event for event in made}
    assert set(bodies) == {Walked, Looked, Shut, Opened, Counted, Moved, Undone}
    assert bodies[Walked].body == Walked(parse("8.5 in", "length"), density="good")
    looked = bodies[Looked].body
    assert isinstance(looked, Looked)
    assert (looked.at, looked.seen, looked.bitten, looked.barked) == ("trees", 30, 5, 2)
    assert bodies[Shut].body == Shut("limb down", until="cleared")
    assert bodies[Counted].body == Counted(("46",))
    assert bodies[Moved].body == Moved("3", despite_shut="nowhere else")
    assert bodies[Undone].supersedes == bodies[Moved].id


@pytest.mark.parametrize(("days", "place"), [(0, "1"), (1.3, "2"), (4, "9"), (9.5, "4")])
def test_the_list_after_a_move_without_a_signal_is_that_of_the_server(
    phone: Phone, carried: Carried, own_farm: Path, days: float, place: str
) -> None:
    then = phone.at = NOW + timedelta(days=days)
    page = phone.open(f"{carried.address}/pocket#move/heifers/{place}")
    keep(page)
    offline = dict(page.evaluate(LIMITS))["heifers"]
    with Server(own_farm, now=then, port=carried.port):
        home(page)
    assert_like_the_server(own_farm, then, "heifers", offline)


@pytest.mark.parametrize("height", ["5", "8", "13.5"])
def test_the_list_after_a_height_without_a_signal_is_that_of_the_server(
    phone: Phone, carried: Carried, own_farm: Path, height: str
) -> None:
    page = phone.open(f"{carried.address}/pocket#walk/7")
    keep(page, height=height)
    offline = dict(page.evaluate(LIMITS))["heifers"]
    with Server(own_farm, port=carried.port):
        home(page)
    assert_like_the_server(own_farm, NOW, "heifers", offline)


def assert_like_the_server(
    folder: Path, now: datetime, mob: str, offline: list[tuple[str, str, float | None]]
) -> None:
    """Check names, order and instants against the page that the server makes with the entry in it."""
    page = today(look(folder, now + timedelta(minutes=1)))
    lines = next(part for part in page.mobs if part.id == mob).lines
    assert [(name, short) for name, short, _ in offline] == [(line.name, line.short) for line in lines]
    for (name, _, likely), line in zip(offline, lines, strict=True):
        assert (likely is None) == (line.likely is None), name
        if likely is not None and line.likely is not None:
            off = abs(likely / 1000 - line.likely.timestamp())
            ahead = max(line.likely.timestamp() - now.timestamp(), 0)
            wide = (line.latest - line.earliest).total_seconds() if line.latest and line.earliest else 0
            assert off < max(3600, ahead * 0.05, wide * 0.1), f"{name}: {off / 3600:.1f} h off"


def test_what_a_page_of_the_server_could_not_send_is_said_to_be_lost(
    phone: Phone, carried: Carried, own_farm: Path
) -> None:
    with Server(own_farm, port=carried.port) as address:
        page = phone.open(f"{address}/enter/note", ready="form")
        page.evaluate("navigator.serviceWorker.ready.then(() => 1)")
    page.fill("form [name=text]", "a ewe is lame")
    page.click("form button >> nth=0")
    page.wait_for_selector("text=There was no signal")
    page.wait_for_selector("section.mob")
    page.goto(f"{carried.address}/season")
    page.wait_for_selector("text=That page did not come")


@pytest.mark.parametrize("scripts", ["run", "did not run"])
def test_back_to_what_was_sent_loses_nothing_and_says_so(
    phone: Phone, carried: Carried, own_farm: Path, scripts: str
) -> None:
    with Server(own_farm, port=carried.port) as address:
        page = phone.open(f"{address}/enter", ready="form")
        if scripts != "run":
            page.route("**/static/back.js", lambda route: route.abort())
        page.evaluate("navigator.serviceWorker.ready.then(() => 1)")
        page.goto(f"{address}/enter")
        page.fill("[name=words]", "walk 9 10 in")
        page.click("form.typed button")
        page.click("text=Keep it")
        page.wait_for_selector("p.kept:has-text('10')")
        page.go_back()
        page.wait_for_selector("form.typed")
        assert page.url == f"{address}/enter"
        page.goto(f"{address}/walk/7")
        page.fill("[name=height]", "abc")
        page.click("button.act")
        page.wait_for_selector("main [role=alert]")
        page.fill("[name=height]", "11 in")
        page.click("button.act")
        page.wait_for_selector(".kept-before")
        page.go_back()
        page.wait_for_selector("[name=height]")
        assert page.url == f"{address}/walk/7"
    with Record.open(own_farm) as record:
        assert [event.body for event in record.events()[-2:]] == [
            Walked(parse("10 in", "length")), Walked(parse("11 in", "length")),
        ]  # fmt: skip


def test_where_plan_and_limits_agree_the_phone_tells_one_line(page390: Page, tmp_path: Path) -> None:
    """Cherry stands highest, so the limits alone say Cherry; Top is another plan."""
    for to, lines in (("4", 1), ("8", 2)):
        farm = small_farm(tmp_path / to)
        for paddock, inches in (("4", 9), ("6", 7), ("8", 8)):
            assert farm.run("walk", paddock, f"{inches} in").code == 0
        assert farm.run("move", "ewes", to, "--at", "2026-05-07 12:00", "--planned").code == 0
        with Server(farm.folder, datetime.fromisoformat(SMALL_NOW)) as address:
            page390.goto(f"{address}/pocket")
            page390.wait_for_selector("section[data-mob=ewes]")
            told = page390.locator("section[data-mob=ewes] p.next").all_inner_texts()
        assert len(told) == lines
        assert told[0].startswith("By your plan: ")
