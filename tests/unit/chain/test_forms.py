"""Every verb as a form: what is asked, what it sends back, what was typed already, and what a look asks."""

from __future__ import annotations

import html
import re
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture, look
from browseline.chain.desk.desk import hold
from browseline.chain.desk.entry import entered
from browseline.chain.desk.form_given import typed_in
from browseline.chain.desk.form_mend import changes_in, correction_form
from browseline.chain.desk.forms import LOOKS, Form, form_of
from browseline.chain.desk.lookup import unknown
from browseline.chain.desk.mend import corrected, entry_of
from browseline.chain.desk.slots import fields_of
from browseline.chain.desk.typed import typed, words_of
from browseline.chain.entries_page import entries_page
from browseline.chain.in_units import in_units
from browseline.cli.demo import copy_example, example
from browseline.errors import BadInput
from browseline.events import Moved, Shut, Undone
from browseline.events.verbs import ENTRIES
from browseline.record.store import Record
from browseline.web.context import GROUPS
from tests.acceptance.cases import entry
from tests.unit.cli_farm import small_farm
from tests.web_farm import Served, token

GIVEN: dict[str, dict[str, str]] = {
    "move": {"mob": "heifers", "to": "1"},
    "merge": {"mob": "goats", "into": "ewes"},
    "split": {"mob": "heifers", "into": "young", "head:cattle/dairy heifer": "6"},
    "net": {"paddock": "1", "parts": "a 1 ac, b 1.9 ac"},
    "walk": {"paddock": "1", "height": "7", "density": "fair"},
    "look": {"at": "trees", "paddock": "2", "seen": "30", "bitten": "5", "barked": "2"},
    "shut": {"paddock": "4", "because": "limb down", "until": "cleared"},
    "open": {"paddock": "10"},
    "count": {"mob": "heifers", "head:cattle/dairy heifer": "45"},
    "pen": {"mob": "heifers", "animal": "17", "why": "lame", "head:cattle/dairy heifer": "1"},
    "born": {"mob": "ewes", "heads": "2", "heads_class": "lamb"},
    "died": {"mob": "goats", "heads": "1", "heads_class": "doe range browsing", "cause": "not known"},
    "sold": {"mob": "heifers", "heads": "2", "heads_class": "dairy heifer", "price": "1900"},
    "bought": {"mob": "heifers", "heads": "2", "heads_class": "dairy heifer", "price": "$1,900"},
    "wean": {
        "mob": "goats",
        "heads": "2",
        "heads_class": "doe range browsing",
        "new_klass": "kid weaned",
        "into": "kids",
    },
    "weigh": {"mob": "heifers", "weight": "700", "klass": "dairy heifer"},
    "borrow": {
        "new_mob": "donkeys",
        "heads": "2",
        "heads_class": "donkey",
        "until": "22 Aug",
        "owner": "Next door",
    },
    "return": {"mob": "goats"},
    "feed": {"mob": "heifers", "amount": "2"},
    "treat": {"animal": "17", "product": "x"},
    "rain": {"depth": "0.5"},
    "forecast": {"growth": "12 lb/ac/d", "until": "in 2 weeks"},
    "storm": {"what": "gale"},
    "cut": {"paddock": "5", "purpose": "hay", "bales": "40"},
    "sow": {"paddock": "5", "what": "clover"},
    "spread": {"paddock": "5", "what": "lime", "amount": "2000"},
    "sample": {"paddock": "5", "result": "pH 6.1"},
    "plant": {"planting": "hazel", "trees": "4"},
    "lost": {"planting": "hazel", "trees": "2", "cause": "drought"},
    "guard": {"planting": "hazel", "trees": "10", "guard": "tube"},
    "prune": {"planting": "hazel", "trees": "10"},
    "thin": {"planting": "hazel", "trees": "3"},
    "fell": {"planting": "hazel", "trees": "1", "why": "dead"},
    "measure": {"planting": "hazel", "tree": "7", "dbh": "4.8"},
    "pick": {"planting": "hazel", "amount": "120"},
    "spent": {"amount": "60", "what": "hay"},
    "earned": {"amount": "$400", "what": "nuts"},
    "fuel": {"amount": "5", "fuel": "diesel"},
    "work": {"time": "1.5", "what": "fence"},
    "note": {"text": "the owl is back"},
    "back": {"animal": "17"},
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("forms") / "farm"
    copy_example(example(), made)
    return made


@pytest.fixture(scope="module")
def picture(folder: Path) -> Picture:
    return look(folder, NOW)


NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")


def said(picture: Picture, verb: str, given: dict[str, str]) -> Any:
    """Return the event of a filled form; nothing is kept."""
    form = form_of(picture, verb, given)
    typed = typed_in(form, given, "owner")
    with hold(picture.folder, picture.now) as at:
        return entered(typed.entry, typed.words, typed.texts, at, typed.said)


@pytest.mark.parametrize("verb", [verb for verb in GIVEN if verb != "back"])
def test_every_form_makes_the_entry_of_its_verb(picture: Picture, verb: str) -> None:
    event = said(picture, verb, GIVEN[verb])
    assert event.kind == ENTRIES[verb].kind
    asked = {field.name for field in form_of(picture, verb, GIVEN[verb]).fields}
    assert set(GIVEN[verb]) <= asked, "what was given has no field"


def test_every_verb_stands_in_one_group_and_has_a_case() -> None:
    grouped = [verb for verbs in GROUPS.values() for verb in verbs]
    assert sorted(grouped) == sorted(ENTRIES)
    assert {*GIVEN, "photo"} == set(ENTRIES)


@pytest.mark.parametrize("verb", ENTRIES)
def test_what_a_kind_must_have_is_asked_at_once(picture: Picture, verb: str) -> None:
    form = form_of(picture, verb, {"mob": "heifers", "at": "trees"})
    asked = {field.name: field for field in form.fields}
    for name, wanted in fields_of(ENTRIES[verb].kind).items():
        if wanted.required and name not in ("head", "klass", "beast", "areas"):
            assert not asked[name].more, name
    assert asked["when"].more
    assert all(field.label for field in form.fields)


def test_a_bare_number_takes_the_unit_that_stood_beside_it(picture: Picture) -> None:
    metric = in_units(picture, "hectares")
    assert said(picture, "walk", {"paddock": "1", "height": "7"}).body.height.text == "7 in"
    assert said(metric, "walk", {"paddock": "1", "height": "18"}).body.height.text == "18 cm"
    assert said(metric, "walk", {"paddock": "1", "height": "7 in"}).body.height.text == "7 in"
    assert said(metric, "rain", {"depth": "12"}).body.depth.text == "12 mm"


def test_a_hundred_switches_of_units_change_nothing(picture: Picture) -> None:
    turned = picture
    for n in range(100):
        turned = in_units(turned, ("hectares", "acres")[n % 2])
    assert turned.farm == picture.farm
    assert turned.events == picture.events
    assert turned.state == picture.state


@pytest.mark.parametrize("at", LOOKS)
def test_a_look_asks_only_for_what_was_looked_at(picture: Picture, at: str) -> None:
    form = form_of(picture, "look", {"at": at})
    own = {field.name for field in form.fields} - {"paddock", "at", "when", "because", "planned"}
    assert own == set(LOOKS[at])
    assert form_of(picture, "look").choose == "at"


def test_a_time_and_what_was_looked_at_are_kept_apart(picture: Picture) -> None:
    event = said(picture, "look", {"at": "ground", "paddock": "2", "bare": "20", "when": "yesterday 18:00"})
    assert event.body.at == "ground"
    assert event.observed.start == datetime.fromisoformat("2026-06-09T18:00-04:00")


def test_a_gate_that_waits_for_a_condition_has_it_to_tick(folder: Path, picture: Picture) -> None:
    form = form_of(picture, "open", {"paddock": "10"})
    met = next(field for field in form.fields if field.name == "met")
    shut = picture.state.shut_now("10")
    assert shut is not None
    assert met.kind == "tick"
    assert met.choices[0].value == shut.until
    assert said(picture, "open", {"paddock": "10", "met": shut.until}).body.met == shut.until


def test_into_a_shut_paddock_the_reason_is_asked_first(picture: Picture) -> None:
    reason = _field(form_of(picture, "move", {"mob": "heifers", "to": "10"}), "because")
    assert (reason.required, reason.more) == (True, False)
    assert _field(form_of(picture, "move", {"mob": "heifers", "to": "1"}), "because").more


def _field(form: Form, name: str) -> Any:
    return next(field for field in form.fields if field.name == name)


def test_no_such_verb_and_no_such_entry(picture: Picture) -> None:
    with pytest.raises(BadInput):
        form_of(picture, "undo")
    with pytest.raises(BadInput):
        correction_form(picture, "nothing")


# ---------------------------------------------------------------- putting right, and the trace


def written(tmp_path: Path) -> Path:
    folder = tmp_path / "farm"
    copy_example(example(), folder)
    with Record.open(folder, device="phone") as record:
        record.append([entry("2026-06-10 07:00", "heifers", Moved("1")),
                       entry("2026-06-10 08:00", "4", Shut("limb down", "cleared"))])  # fmt: skip
    return folder


def test_only_what_was_changed_is_put_right(tmp_path: Path) -> None:
    folder = written(tmp_path)
    picture = look(folder, NOW)
    old = next(event for event in picture.events if event.body == Shut("limb down", "cleared"))
    form = correction_form(picture, old.id)
    given = {field.name: field.value for field in form.fields}
    changes, told = changes_in(picture, old.id, given | {"until": "dry", "when": "today 9:00"}, "owner")
    assert changes == ["until=dry"]
    with hold(folder, NOW) as at:
        event = corrected(at, entry_of(at, old.id), changes, told)
        assert (event.body, event.supersedes) == (Shut("limb down", "dry"), old.id)
        assert event.observed.start == datetime.fromisoformat("2026-06-10T09:00-04:00")
    changes, told = changes_in(
        picture, old.id, given | {"because": "two limbs down", "reason": "looked again"}, "owner"
    )
    assert (changes, told.because) == (["because=two limbs down"], "looked again")
    unchanged, told = changes_in(picture, old.id, given, "owner")
    assert (unchanged, told.at) == ([], "")


def test_both_entries_of_an_undo_stay_to_be_seen(tmp_path: Path) -> None:
    folder = written(tmp_path)
    events = look(folder, NOW).events
    moved = next(event for event in events if event.body == Moved("1") and event.device == "phone")
    with Record.open(folder, device="phone") as record:
        undone = entry("2026-06-10 07:30", "heifers", Undone())
        record.append([type(undone)(**{**_parts(undone), "supersedes": moved.id})])
    page = entries_page(look(folder, NOW))
    rows = {row.id: row for row in page.rows}
    assert rows[moved.id].state == "undone"
    assert rows[moved.id].undo is False
    assert rows[rows[moved.id].other].state == "undoes"
    assert "Gate" in rows[rows[moved.id].other].other_words


def _parts(event: Any) -> dict[str, Any]:
    return {name: getattr(event, name) for name in type(event).__dataclass_fields__}


def test_older_entries_follow_page_by_page(picture: Picture) -> None:
    seen: list[str] = []
    before, pages = "", 0
    while True:
        page = entries_page(picture, before)
        seen += [row.id for row in page.rows]
        before, pages = page.older, pages + 1
        if not before:
            break
    assert pages > 1
    assert sorted(seen) == sorted(event.id for event in picture.events)


def page_of(folder: Path, verb: str, **given: str) -> str:
    """Return the page that answers a form that was filled in so."""
    client = Served(folder).here()
    sent = client.post(f"/enter/{verb}", data={"csrf": token(client), **given})
    assert sent.status_code == 422
    return " ".join(re.sub(r"<[^>]+>", " ", html.unescape(sent.text)).split())


def test_a_form_speaks_of_its_fields_and_not_of_a_command(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    assert farm.run("shut", "4", "--because", "limb down").code == 0
    into_shut = page_of(farm.folder, "move", mob="ewes", to="4")
    assert "write why in the field for it" in into_shut
    height = page_of(farm.folder, "walk", paddock="6", height="abc")
    assert "Height: abc" in height
    ahead = page_of(farm.folder, "note", text="x", when="tomorrow 8:00")
    assert 'tick "This is planned, not done"' in ahead
    coming = page_of(farm.folder, "sold", mob="ewes", heads="10", heads_class="lamb", when="20 May")
    assert "That would be 20 May 2025" in coming
    assert 'tick "This is planned, not done"' in coming
    for page in (into_shut, height, ahead, coming):
        assert "--" not in page, page


def test_a_question_stands_under_the_name_of_the_paddock(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    assert farm.run("walk", "7", "6 in").code == 0
    tall = page_of(farm.folder, "walk", paddock="7", height="45")
    assert "Hazel 45 in?" in tall, tall


def test_a_comma_for_a_point_is_named(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    assert "Write a point: 4.5 in." in page_of(farm.folder, "walk", paddock="6", height="4,5")
    assert "has a comma where a point belongs" in farm.run("walk", "6", "4,5 in").all
    assert farm.run("spent", "1,240", "hay").code == 0


def test_of_many_names_it_is_said_how_many_are_left_out() -> None:
    wrong = unknown("paddock", "qqqq", (f"p{n:02}" for n in range(20)))
    assert wrong.findings[0].mend.endswith("p10, p11 and 8 more.")
    assert unknown("paddock", "qqqq", ("p1", "p2")).findings[0].mend == "There are: p1 and p2."


@pytest.mark.parametrize("line", ["promise away 10-14 Jun", "away 10-14 Jun", "holiday 10 Jun"])
def test_days_away_typed_as_an_entry_are_told_where_they_go(line: str) -> None:
    with pytest.raises(BadInput) as wrong:
        typed(words_of(line))
    (found,) = wrong.value.findings
    assert "browseline promise away" in found.mend
    assert "farm.toml" in found.mend
