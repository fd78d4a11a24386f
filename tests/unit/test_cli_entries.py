"""Entries from the command line: what is kept, what is asked first, what is told; on real folders."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from browseline.events import (
    Back,
    Bought,
    Counted,
    Cut,
    Fed,
    Forecast,
    Looked,
    Lost,
    Moved,
    Opened,
    Penned,
    Photographed,
    Rained,
    Shut,
    Sold,
    Split,
    Treated,
    Undone,
    Walked,
    Weaned,
    Worked,
)  # fmt: skip
from browseline.events.verbs import ENTRIES, spoken
from browseline.farm.read import read
from browseline.record.fold import fold
from browseline.record.state import State
from tests.unit.cli_farm import NOW, Done, SmallFarm, small_farm


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    return small_farm(tmp_path / "farm")


def state(farm: SmallFarm, now: str = NOW) -> State:
    from datetime import datetime

    found = read(farm.folder).farm
    assert found is not None
    return fold(found, farm.events(), datetime.fromisoformat(now))


EWE, LAMB = "sheep/ewe lactating twins", "sheep/lamb growing 30 kg"
KEPT = [
    (("walk", "6", "4.5 in"), "6", Walked, {"height": "4.5 in"}),
    (("walk", "gate", "4.5in", "good"), "6", Walked, {"height": "4.5in", "density": "good"}),
    (("walk", "6", "4", "1/2", "in"), "6", None, {}),
    (("walk", "6", "11", "cm"), "6", Walked, {"height": "11 cm"}),
    (("walk", "6", "4.5"), "6", Walked, {"height": "4.5 in"}),
    (("move", "ewes", "8"), "ewes", Moved, {"to": "8"}),
    (("move", "ewes", "to", "Top"), "ewes", Moved, {"to": "8"}),
    (("move", "ewes", "yard"), "ewes", Moved, {"to": "yard"}),
    (("shut", "4", "--because", "cherry limb down", "--until", "cleared"), "4", Shut,
     {"because": "cherry limb down", "until": "cleared"}),
    (("shut", "4", "because", "cherry", "down", "until", "leaves", "gone"), "4", Shut,
     {"because": "cherry down", "until": "leaves gone"}),
    (("shut", "4", "--because", "hay", "--until", "30 Jun"), "4", Shut,
     {"because": "hay", "until_day": "2026-06-30"}),
    (("open", "4", "--met", "cleared"), "4", Opened, {"met": "cleared"}),
    (("count", "ewes", "60"), "ewes", Counted, {"head": [f"{EWE}=60"]}),
    (("count", "ewes", "60 ewes, 96 lambs"), "ewes", Counted, {"head": [f"{EWE}=60", f"{LAMB}=96"]}),
    (("pen", "ewes", "0123", "--with", "1 ewe, 2 lambs", "--because", "lame"), "ewes", Penned,
     {"animal": "0123", "head": [f"{EWE}=1", f"{LAMB}=2"], "why": "lame"}),
    (("pen", "ewe", "0123", "lame"), "ewes", Penned, {"animal": "0123", "head": [f"{EWE}=1"], "why": "lame"}),
    (("feed", "ewes", "2 bales"), "ewes", Fed, {"amount": "2 bales"}),
    (("feed", "ewes", "2", "lot", "barn"), "ewes", Fed, {"amount": "2 bales", "lot": "barn"}),
    (("rain", "1.2in"), "farm", Rained, {"depth": "1.2in"}),
    (("forecast", "8 lb/ac/d", "--until", "2026-09-15"), "farm", Forecast,
     {"until": "2026-09-15", "growth": "8 lb/ac/d"}),
    (("forecast", "0.1 in/d", "until", "1", "Jun"), "farm", Forecast,
     {"until": "2026-06-01", "height": "0.1 in/d"}),
    (("forecast", "1 in", "--until", "Fri"), "farm", Forecast, {"until": "2026-05-08", "rain": "1 in"}),
    (("look", "trees", "7", "--seen", "30", "--bitten", "5", "--barked", "2"), "7", Looked,
     {"at": "trees", "planting": "hazel", "seen": 30, "bitten": 5, "barked": 2}),
    (("look", "trees", "7", "seen", "30", "bitten", "5", "barked", "2"), "7", Looked,
     {"at": "trees", "planting": "hazel", "seen": 30, "bitten": 5, "barked": 2}),
    (("sold", "40", "lambs", "8600"), "ewes", Sold,
     {"head": 40, "klass": "lamb growing 30 kg", "beast": "sheep", "price": "8600 USD"}),
    (("bought", "ewes", "4 ewes", "--price", "$800"), "ewes", Bought,
     {"head": 4, "klass": "ewe lactating twins", "beast": "sheep", "price": "$800"}),
    (("split", "ewes", "20", "ewes", "into", "dry", "--to", "8"), "ewes", Split,
     {"head": [f"{EWE}=20"], "into": "dry", "to": "8"}),
    (("wean", "96", "lambs", "into", "weaners"), "ewes", Weaned,
     {"head": 96, "klass": "lamb growing 30 kg", "new_klass": "lamb growing 30 kg", "beast": "sheep",
      "into": "weaners"}),
    (("treat", "0123", "as", "the", "vet", "said", "--withdrawal", "2026-06-20"), "0123", Treated,
     {"product": "as the vet said", "withdrawal": "2026-06-20"}),
    (("cut", "8", "hay", "--bales", "30"), "8", Cut, {"purpose": "hay", "bales": "30 bales"}),
    (("lost", "7", "hazel", "drought"), "hazel", Lost, {"trees": 7, "cause": "drought"}),
    (("lost", "hazel", "7"), "hazel", Lost, {"trees": 7}),
    (("work", "40", "min", "fence"), "farm", Worked, {"time": "40 min", "what": "fence"}),
]  # fmt: skip


@pytest.mark.parametrize(
    ("words", "subject", "kind", "value"), KEPT, ids=lambda x: " ".join(x) if isinstance(x, tuple) else ""
)
def test_what_is_typed_is_what_is_kept(
    farm: SmallFarm, words: tuple[str, ...], subject: str, kind: type | None, value: dict[str, object]
) -> None:
    done = farm.run(*words)
    if kind is None:
        assert done.code == 1
        assert farm.events() == ()
        return
    assert done.code == 0, done.all
    event = farm.last()
    assert isinstance(event.body, kind)
    assert (event.subject, event.body.value()) == (subject, value)
    assert event.id[-8:] in done.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("move", "cows", "8"), "Did you mean"),
        (("move", "ewes", "88"), "Did you mean 8?"),
        (("move", "ewes"), "It is not said: to."),
        (("move",), "It is not said: mob."),
        (("walk", "6", "fast"), "is no number"),
        (("walk", "6", "4 lb"), "does not measure length"),
        (("walk", "6", "4 in", "good", "extra"), "not understood behind walk"),
        (("look", "trees", "7", "--seen", "many"), "no whole number"),
        (("count", "ewes", "all"), "does not begin with a number"),
        (("sold", "40", "cows"), "more than one class is"),
        (("forecast", "8 lb/ac/d"), "It is not said: until."),
        (("forecast", "8 lb/ac/d", "--until", "later"), "is no day"),
        (("rain", "1 in", "--at", "8:00"), "ahead of now"),
        (("back", "ewes", "0999"), "is in no pen"),
        (("lost", "oaks", "7"), "No planting is called"),
        (("photo", "7", "nowhere.jpg"), "no file of that name"),
        (("work", "40", "fence"), "has no unit"),
        (("correct", "zzzzzzzz", "height=5 in"), "0 entries have an id"),
        (("undo",), "no entry in the last 24 hours"),
    ],
)  # fmt: skip
def test_a_mistake_is_a_finding_and_nothing_is_kept(
    farm: SmallFarm, words: tuple[str, ...], said: str
) -> None:
    done = farm.run(*words)
    assert done.code == 1
    assert said in done.all
    assert farm.events() == ()


def test_a_finding_says_where_what_and_how_to_mend_it(farm: SmallFarm) -> None:
    done = farm.run("move", "ewes", "88")
    assert done.err == '88  No paddock is called "88".\n    Did you mean 8?\n'


def test_a_shut_paddock_demands_a_reason_and_raises_an_alarm(farm: SmallFarm) -> None:
    farm.run("shut", "4", "because", "cherry limb down", "until", "cleared")
    refused = farm.run("move", "ewes", "4")
    assert refused.code == 1
    assert "shut: cherry limb down, until cleared" in refused.all
    assert isinstance(farm.last().body, Shut)
    done = farm.run("move", "ewes", "4", "--because", "fence down in 6")
    assert done.code == 0
    assert "which is shut: cherry limb down" in done.all
    assert "first now Shut, now" in done.all
    assert farm.last().body == Moved("4", "fence down in 6")
    assert [alarm.code for alarm in state(farm).alarms] == ["in_shut"]
    assert "which is shut: cherry limb down" in farm.run("today").all
    assert farm.run("open", "4", "met", "cleared").code == 0
    assert state(farm).alarms == ()
    assert state(farm).shut == ()


def test_a_reason_for_an_open_paddock_belongs_to_the_entry(farm: SmallFarm) -> None:
    farm.run("move", "ewes", "8", "--because", "short grass")
    assert (farm.last().body, farm.last().reason) == (Moved("8"), "short grass")


def test_an_improbable_height_is_asked_about_once_and_may_be_kept(farm: SmallFarm) -> None:
    assert farm.run("walk", "6", "7 in", "--at", "1 May 7:00").code == 0
    asked = farm.run("walk", "6", "20 in")
    assert asked.code == 1
    assert "last 7 in" in asked.all or "7 in" in asked.all
    assert "cm" in asked.all
    assert "--yes" in asked.all
    assert len(farm.events()) == 1
    assert farm.run("walk", "6", "20 in", "--yes").code == 0
    assert farm.run("walk", "6", "21 in").code == 0
    assert len(farm.events()) == 3


def test_more_animals_than_there_are_is_asked_about(farm: SmallFarm) -> None:
    asked = farm.run("died", "ewes", "97", "lambs")
    assert (asked.code, len(farm.events())) == (1, 0)
    assert "96 were there" in asked.all
    assert farm.run("died", "ewes", "97", "lambs", "--yes").code == 0


def test_a_count_that_differs_is_kept_and_stays_an_open_question(farm: SmallFarm) -> None:
    done = farm.run("count", "ewes", "59")
    assert done.code == 0
    assert "59" in done.all
    found = state(farm)
    assert [q.code for q in found.questions] == ["count"]
    mob = found.mob("ewes")
    assert mob is not None
    assert mob.head == 156
    farm.run("died", "ewes", "1 ewe")
    farm.run("count", "ewes", "59")
    assert state(farm).questions == ()


def test_pen_and_back_keep_the_young_with_the_dam(farm: SmallFarm) -> None:
    farm.run("pen", "ewes", "0123", "--with", "1 ewe, 2 lambs", "--because", "lame")
    assert [line.head for line in state(farm).mob("ewes").lines] == [59, 94]  # type: ignore[union-attr]
    done = farm.run("back", "ewes", "0123")
    assert done.code == 0
    assert isinstance(farm.last().body, Back)
    assert [line.head for line in state(farm).mob("ewes").lines] == [60, 96]  # type: ignore[union-attr]


def test_undo_takes_back_the_last_entry_and_leaves_a_trace(farm: SmallFarm) -> None:
    farm.run("walk", "6", "8 in")
    farm.run("walk", "6", "5 in")
    done = farm.run("undo", now="2026-05-07T07:00-04:00")
    assert done.code == 0
    assert "Taken back: height - Gate: 5 in" in done.all
    events = farm.events()
    assert [type(e.body) for e in events] == [Walked, Walked, Undone]
    assert events[2].supersedes == events[1].id
    assert [str(h.height) for h in state(farm).heights] == ["8 in"]
    farm.run("undo")
    assert state(farm).heights == ()
    assert len(farm.events()) == 4


def test_of_entries_of_one_instant_the_last_written_is_undone(farm: SmallFarm) -> None:
    for inches in ("5 in", "6 in", "7 in", "8 in"):
        farm.run("walk", "6", inches)
    assert "8 in" in farm.run("undo").out
    assert "7 in" in farm.run("undo").out


def test_undo_reaches_no_further_than_a_day(farm: SmallFarm) -> None:
    farm.run("walk", "6", "8 in")
    assert farm.run("undo", now="2026-05-07T07:31-04:00").code == 1
    assert len(farm.events()) == 1


def test_a_correction_stands_and_the_old_entry_stays(farm: SmallFarm) -> None:
    farm.run("walk", "6", "8 in", "good", "--at", "yesterday 18:00")
    old = farm.last()
    done = farm.run("correct", old.id[-8:], "height=5 in", "density=")
    assert done.code == 0
    new = farm.last()
    assert (new.body, new.supersedes, new.observed) == (Walked(new.body.height), old.id, old.observed)  # type: ignore[union-attr]
    assert [(str(h.height), h.density) for h in state(farm).heights] == [("5 in", "")]
    assert farm.run("correct", old.id, "colour=red").code == 1
    assert farm.run("correct", old.id, "height=red").code == 1
    moved = farm.run("correct", new.id[-8:], "about=8", "--at", "yesterday 17:00")
    assert moved.code == 0
    assert [h.paddock for h in state(farm).heights] == ["8"]


def test_two_corrections_of_one_entry_are_told_and_settled_by_undoing_one(farm: SmallFarm) -> None:
    farm.run("walk", "6", "8 in")
    first = farm.last().id
    farm.run("correct", first, "height=7 in")
    done = farm.run("correct", first, "height=6 in")
    assert "was corrected in two ways" in done.all
    assert "was corrected in two ways" in farm.run("today").all
    farm.run("undo")
    assert "two ways" not in farm.run("today").all
    assert [str(h.height) for h in state(farm).heights] == ["7 in"]


def test_a_question_is_told_once_and_on_the_farm_s_clock(farm: SmallFarm) -> None:
    done = farm.run("count", "ewes", "59")
    assert done.all.count("59 ewes in milk counted") == 1
    assert "open since 6 May 07:30" in done.all
    assert "open since 6 May 07:30" in farm.run("today").all


def test_an_interval_is_kept_as_an_interval(farm: SmallFarm) -> None:
    farm.run("walk", "8", "6 in")
    done = farm.run("move", "ewes", "8", "--at", "between 21:00 and 6:30")
    assert done.code == 0
    observed = farm.last().observed
    assert observed.end - observed.start == timedelta(hours=9.5)
    assert "0 to 9.5 h" in done.all
    assert "Energiser off" in done.all


def test_a_plan_is_planned_and_moves_nobody(farm: SmallFarm) -> None:
    done = farm.run("move", "ewes", "8", "--planned", "--at", "tomorrow 7:00")
    assert done.code == 0
    assert "Planned: move - Ewes: Top" in done.all
    assert farm.last().planned
    assert state(farm, "2026-05-08T07:00-04:00").mob("ewes").place == "6"  # type: ignore[union-attr]


def test_cautions_stand_where_the_hand_is(farm: SmallFarm) -> None:
    for words in (("cut", "8", "pollards"), ("thin", "hazel", "3"), ("storm", "wind")):
        done = farm.run(*words)
        assert "Dead or hanging limbs" in done.all
    assert "trained cutter" in farm.run("thin", "hazel", "3").all
    assert "Energiser off" in farm.run("move", "ewes", "8").all
    assert "Only what the label or the vet says" in farm.run("treat", "0123", "as said").all


def test_a_photo_is_kept_by_its_hash(farm: SmallFarm, tmp_path: Path) -> None:
    photo = tmp_path / "Row 1.JPG"
    photo.write_bytes(b"not really a photo")
    assert farm.run("photo", "7", str(photo)).code == 0
    body = farm.last().body
    assert isinstance(body, Photographed)
    assert (farm.folder / "files" / body.file).read_bytes() == b"not really a photo"


def test_a_net_makes_parts_that_can_be_walked_and_grazed(farm: SmallFarm) -> None:
    assert farm.run("net", "8", "a 1 ac, b 2 ac").code == 0
    assert farm.run("move", "ewes", "8/a").code == 0
    assert farm.run("walk", "8/b", "6 in").code == 0
    found = state(farm)
    assert (found.mob("ewes").part, found.heights[-1].part) == ("8/a", "8/b")  # type: ignore[union-attr]
    assert farm.run("net", "8", "c much").code == 1


def test_borrowed_animals_are_a_mob_of_their_own(farm: SmallFarm) -> None:
    done = farm.run("borrow", "20", "goats", "until", "30 Sep", "--to", "8", "--from", "next farm")
    assert done.code == 0
    mob = state(farm).mob("goats")
    assert mob is not None
    assert (mob.head, mob.place, mob.owner, str(mob.due)) == (20, "8", "next farm", "2026-09-30")
    assert farm.run("borrow", "20", "goats", "until", "30 Sep").code == 1
    assert farm.run("return", "goats").code == 0
    assert state(farm).mob("goats").ended is not None  # type: ignore[union-attr]


def test_no_farm_is_a_finding(tmp_path: Path) -> None:
    done = SmallFarm(tmp_path).run("walk", "6", "4 in")
    assert done.code == 1
    assert "no farm.toml in this folder" in done.all


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("move ewes to 8 at 7:00", "move ewes --to 8 --at 7:00"),
        ("shut 4 because a limb is down until cleared", "shut 4 --because|a limb is down --until cleared"),
        ("note fence at the gate", "note fence at the gate"),
        ("look trees 7 --seen 30 bitten 5", "look trees 7 --seen 30 --bitten 5"),
        ("shut 4 --because until", "shut 4 --because until"),
        ("shut 4 -- because", "shut 4 -- because"),
        ("today --why", "today --why"),
    ],
)
def test_words_without_dashes(typed: str, meant: str) -> None:
    said = spoken(typed.split())
    wanted = meant.replace("|a limb is down", "|a_limb_is_down").replace("|", " ").split()
    assert said == [word.replace("_", " ") for word in wanted]


def test_every_verb_has_its_kind() -> None:
    from browseline.events import KINDS

    without = {"undone", "corrected", "issued", "bitten"}
    assert {entry.kind for entry in ENTRIES.values()} == set(KINDS) - without


def test_more_than_there_will_be_is_asked_about_when_a_sale_is_planned(farm: SmallFarm) -> None:
    """What is planned by then counts too: of sixty ewes forty are to be sold, and twenty are left."""

    def planned(day: str, head: int) -> Done:
        return farm.run("sold", f"{head} ewes", "--planned", "--at", day)

    asked = planned("9 May", 61)
    assert asked.code == 1
    assert "With all that is planned until 9 May" in asked.all
    assert planned("9 May", 40).code == 0
    assert "takes out 21 ewes in milk, but 20 were there" in planned("12 May", 21).all
    before = planned("8 May", 21)
    assert (before.code, farm.last().observed.start.day) == (1, 9)
    assert "until 9 May: ewes: an entry takes out 40" in before.all
    assert planned("12 May", 20).code == 0


def test_the_same_loan_planned_twice_is_asked_about(farm: SmallFarm) -> None:
    lent = ("borrow", "10", "steers", "until", "20 May", "--planned", "--at", "9 May", "--weight", "700 lb")
    assert farm.run(*lent).code == 0
    again = farm.run(*lent)
    assert again.code == 1
    assert "is it one entry made twice" in again.all
    assert farm.run(*lent, "--yes").code == 0


@pytest.mark.parametrize(
    "words",
    [
        "sold 10 lambs", "bought ewes 4 ewes", "died ewes 1 ewe", "cut 4 hay", "feed ewes 2 bales",
        "spent 40 hay", "note x", "rain 1in", "shut 4 --because limb",
    ],
)  # fmt: skip
def test_a_coming_day_without_its_year_is_asked_about(farm: SmallFarm, words: str) -> None:
    """A day without its year is the last of its name: 20 May, said on 6 May, is a year ago."""
    asked = farm.run(*words.split(), "--at", "20 May")
    assert asked.code == 1
    assert "That would be 20 May 2025, 350 days ago." in asked.all
    assert len(farm.events()) == 0


def test_a_day_of_another_year_is_told_with_its_year(farm: SmallFarm) -> None:
    assert "20 May 2025 00:00" in farm.run("note", "x", "--at", "2025-05-20").all
    assert "2 May 00:00" in farm.run("note", "x", "--at", "2 May").all
    assert farm.run("spent", "40", "hay", "--at", "20 May 2025").code == 0


def test_a_number_that_names_itself_is_told_once(farm: SmallFarm) -> None:
    told = farm.run("cut", "8", "hay", "--bales", "30 bales")
    assert "30 bales" in told.all
    assert "bales 30 bales" not in told.all
