"""Season and What if in the browser: costs part by part, what each rule is worth, ways to Why."""

from __future__ import annotations

import re
from datetime import datetime
from itertools import pairwise
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from browseline.chain import look
from browseline.chain.in_force import judged_plan, keep_plan, moves_due, plan_in_force
from browseline.chain.season_page import season_page
from browseline.cli.demo import copy_example, example
from browseline.events import Event, Moved, Shut, When, new_id
from browseline.moves.season import plan
from browseline.papers.season import season_sheet
from browseline.record.store import Record
from browseline.web.serve import build
from tests.web_farm import PAGE

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    folder: Path = tmp_path_factory.mktemp("season") / "farm"
    copy_example(example(), folder)
    picture = look(folder, NOW)
    keep_plan(picture, plan(picture.scene, None, 300), "owner")
    app = build(folder, lambda: NOW)
    return TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))


def opened(page: str) -> list[str]:
    """Return the texts of a page that are a way to Why, marks left out."""
    found = re.findall(r'<a class="why" href="[^"]+">(.*?)</a>', page)
    return [re.sub(r"<[^>]+>", "", text) for text in found]


def test_the_season_tells_its_costs_part_by_part_with_their_ranges(client: TestClient) -> None:
    page = client.get("/season", headers=PAGE).text
    told = opened(page)
    parts = [text for text in told if re.search(r", \$\d+", text) and not text.startswith("In all")]
    assert len(parts) >= 4
    assert sum(" to " in text for text in parts) >= 2
    (whole,) = [text for text in told if text.startswith("In all")]
    assert re.search(r"In all \$[\d,]+ \(\$[\d,]+ to \$[\d,]+\)", whole)
    assert any(text.startswith("These prices are guesses") for text in told)
    assert 'href="/what-if"' in page


def test_the_parts_of_a_cost_add_up_to_it(client: TestClient) -> None:
    made = client.get("/season", headers={"accept": "application/json"}).json()["plan"]
    parts = sum(part["parts"][0]["value"] for part in made["parts"])
    assert parts == pytest.approx(made["total"]["value"])


def test_what_if_tells_every_rule_and_opens_its_numbers(client: TestClient) -> None:
    page = client.get("/what-if", headers=PAGE).text
    for words in ("Move animals on Sun too", "One more paddock", "head fewer", "Luck alone", "is not in it"):
        assert words in page
    way = re.search(r'href="(/why/what-if\.[^"]+)"', page)
    assert way is not None
    assert client.get(way[1], headers=PAGE).status_code == 200


def test_what_if_tells_what_stands_out_first_and_the_rest_in_one_sentence(client: TestClient) -> None:
    page = client.get("/what-if", headers=PAGE).text
    worms = re.search(r"No longest stay by the limit Worms[^:]*: .{0,300}?\$(\d[\d,]*)</span> less", page)
    assert worms is not None
    assert (
        int(worms[1].replace(",", "")) > 37 * 30 / 2
    )  # goats stand past four days for five weeks, at 30 a day
    assert page.count("No difference that stands out from luck") <= 1
    assert page.index("No longest stay by the limit Worms") < page.index("Luck alone")


def test_the_season_begins_with_the_next_moves_then_what_costs_most_then_costs(client: TestClient) -> None:
    page = client.get("/season", headers=PAGE).text
    order = [page.index(words) for words in (
        "Next 7 days: firm", "What clashes or costs most", "Too long a stay.", "What it costs, part by part",
        "days of grass ahead", "What ends it", "Not grazed in this plan",
    )]  # fmt: skip
    assert order == sorted(order)
    plan = client.get("/season", headers={"accept": "application/json"}).json()["plan"]
    for move in plan["moves"]:
        assert move["says"] in page
    stays = [stay for mob in plan["mobs"] for stay in mob["stays"] if stay["lost"]]
    assert len(stays) >= 4
    assert all(stay["lost"].startswith(stay["runner_up"]) for stay in stays), "as it is named in a sentence"
    begun = [stay["lost"][0].upper() + stay["lost"][1:].split(":")[0] for stay in stays]
    assert all(words in page for words in begun)
    assert "The yard" in begun


def test_of_every_mob_the_first_lines_say_where_it_goes_or_how_long_it_stays(client: TestClient) -> None:
    plan = client.get("/season", headers={"accept": "application/json"}).json()["plan"]
    moved = {move["mob"] for move in plan["moves"]}
    names = {mob["name"] for mob in plan["mobs"] if mob["id"] not in moved}
    assert names == {words.split(":")[0] for words in plan["staying"]} >= {"Goats"}
    page = client.get("/season", headers=PAGE).text
    head = page[: page.index("What clashes or costs most")]
    for words in plan["staying"]:
        assert words in head
    ends = {mob["name"]: mob["stays"] for mob in plan["mobs"]}
    for words in plan["staying"]:
        stays = ends[words.split(":")[0]]
        first = next(i for i, stay in enumerate(stays) if stay["place"] != stays[0]["place"])
        assert f"until {stays[first]['begins']}, then {stays[first]['name']}." in words


def test_a_mob_in_ground_that_was_shut_now_moves_first_with_the_reason(tmp_path: Path) -> None:
    copy_example(example(), tmp_path / "farm")
    picture = look(tmp_path / "farm", NOW)
    keep_plan(picture, plan(picture.scene, None, 300), "owner")
    with Record.open(tmp_path / "farm") as record:
        record.append(
            [Event(new_id(NOW), record.device, "owner", When.at(NOW), NOW, "6", Shut("wasps' nest"))]
        )
    after = look(tmp_path / "farm", NOW)
    stale = season_page(after)
    assert stale.sentences[0].startswith("Mowing ewes must be out of Top now, before any planned move: Shut")
    assert stale.sentences[1].startswith("The plan in force can no longer be kept")
    assert stale.costs == ()
    assert any("Top is not open then. Shut: wasps' nest" in clash.says for clash in stale.clashes)
    assert not any(stay.reason for mob in stale.mobs for stay in mob.stays)  # what held on another day
    page = season_page(after, plan(after.scene, plan_in_force(after), 300))
    assert all(move.why for move in page.moves)
    first = next(move for move in page.moves if move.mob == "ewes")
    assert first.at == NOW
    assert first.says.startswith("Now: Mowing ewes go from Top to ")
    assert "wasps' nest" in first.why
    assert any("Top is not open then. Shut: wasps' nest" in change for change in page.changes)


def test_a_plan_made_again_with_nothing_new_says_that_nothing_differs(tmp_path: Path) -> None:
    copy_example(example(), tmp_path / "farm")
    picture = look(tmp_path / "farm", NOW)
    made = plan(picture.scene, None, 300)
    assert not any("Nothing in the next fortnight" in text for text in season_page(picture, made).sentences)
    keep_plan(picture, made, "owner")
    after = look(tmp_path / "farm", NOW)
    again = plan(after.scene, plan_in_force(after), 0)
    same = [text for text in season_page(after, again).sentences if "Nothing in the next fortnight" in text]
    assert len(same) == (0 if again.changes else 1)


def test_without_a_plan_both_say_how_to_make_one(tmp_path: Path) -> None:
    copy_example(example(), tmp_path / "farm")
    app = build(tmp_path / "farm", lambda: NOW)
    bare = TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))
    for name in ("season", "what-if"):
        assert "No plan is in force" in bare.get(f"/{name}", headers=PAGE).text


def test_a_plan_made_now_and_kept_costs_the_same_on_the_page(tmp_path: Path) -> None:
    copy_example(example(), tmp_path / "farm")
    picture = look(tmp_path / "farm", NOW)
    made = plan(picture.scene, None, 200)
    fresh = season_page(picture, made)
    keep_plan(picture, made, "owner")
    kept = season_page(look(tmp_path / "farm", NOW))
    assert fresh.total is not None
    assert kept.total is not None
    assert kept.total.value == pytest.approx(fresh.total.value)


def test_in_the_morning_before_the_planned_hour_the_page_tells_the_planned_hours(tmp_path: Path) -> None:
    """Moves of a plan made at noon are at noon, on the page as on Today and in the calendar."""
    copy_example(example(), tmp_path / "farm")
    picture = look(tmp_path / "farm", NOW)
    keep_plan(picture, plan(picture.scene, None, 200), "owner")
    after = look(tmp_path / "farm", datetime.fromisoformat("2026-06-11T07:10-04:00"))
    planned = {
        (e.subject, e.body.to, e.observed.start) for e in moves_due(after) if isinstance(e.body, Moved)
    }
    page = season_page(after)
    told = {(m.id, s.place, s.begin) for m in page.mobs for s in m.stays if s.begin > after.now}
    assert told == planned
    assert {(move.mob, move.place, move.at) for move in page.moves} <= planned
    for mob in page.mobs:
        assert all(one.end <= two.begin for one, two in pairwise(mob.stays))
    sheet = season_sheet(after, judged_plan(after), page)
    lost = {s.lost for m in page.mobs for s in m.stays if s.lost}
    assert any(bead.lost in lost for string in sheet.strings for bead in string.beads if bead.lost)
