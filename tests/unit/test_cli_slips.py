"""What people mistype: nothing that cannot be is kept, and each message says how to write it."""

from __future__ import annotations

from pathlib import Path

import pytest

from browseline.chain.desk.typed import typed, words_of
from browseline.errors import BadInput
from browseline.events import Looked
from tests.unit.cli_farm import FARM, SmallFarm

NORMALS = """
[place]
latitude = 42.0
longitude = -75.0

[normals]
unit = "C"
tmax = [1, 2, 7, 13, 19, 24, 27, 26, 22, 15, 9, 3]
tmin = [-9, -8, -4, 2, 8, 13, 16, 15, 11, 5, 0, -5]
rain_unit = "mm"
rain = [60, 55, 70, 80, 90, 100, 95, 90, 85, 80, 75, 65]
"""


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    folder = tmp_path / "farm"
    folder.mkdir()
    (folder / "farm.toml").write_text(FARM + NORMALS, encoding="utf-8")
    return SmallFarm(folder)


@pytest.mark.parametrize(
    ("words", "said", "mend"),
    [
        (("look", "trees", "7", "seen", "30", "bitten", "50"), "50 bitten, but 30", "Seen is every tree"),
        (("look", "trees", "7", "seen", "3", "barked", "4"), "4 barked, but 3", "Seen is every tree"),
        (("look", "trees", "7", "seen", "3", "sick", "4"), "4 sick, but 3", "Seen is every tree"),
        (("look", "ducks", "7"), "is nothing that is looked at", "trees, ground, animals and plants"),
        (("look", "6"), "not said what was looked at in 6", "browseline look ground 6"),
        (("look", "6", "--leaf", "60 %", "--seen", "4"), "not said what", "browseline look ground 6"),
        (
            ("promise", "away", "14-10", "May"),
            "days are typed backwards",
            "the earlier day first: 10 May to 14 May.",
        ),
        (("promise", "hay", "20 Jun", "to", "15 Jun", "7"), "days are typed backwards", "both years"),
        (("promise", "term", "14 Jul to 10 Jun"), "days are typed backwards", "both years"),
        (("promise", "shut", "2026-06-14 to 2026-06-10", "7"), "days are typed backwards", "both years"),
        (("promise", "away", "31", "Jun"), "There is no 31 Jun.", "last day of that month is 30 Jun"),
        (("promise", "away", "28-30 Feb"), "There is no 30 Feb.", "last day of that month is 28 Feb"),
        (("promise", "away", "28 Apr", "to", "31 Apr"), "There is no 31 Apr.", "month is 30 Apr"),
        (("promise", "away", "29", "Feb", "2027"), "There is no 29 Feb.", "month is 28 Feb"),
        (("promise", "away", "29 Feb"), "There is no 29 Feb 2027.", "month is 28 Feb"),
        (("promise", "away", "29 Feb to 2 Mar"), "There is no 29 Feb 2027.", "month is 28 Feb"),
        (("promise", "away", "29 Feb to 2 Mar 2026"), "There is no 29 Feb 2026.", "month is 28 Feb"),
        (("promise", "away", "27-29 Feb"), "There is no 29 Feb 2027.", "month is 28 Feb"),
        (("promise", "away", "10-14", "Jun", "2025"), "the last was 14 Jun 2025", "the year that is meant"),
        (("move", "ewes", "8", "--planned", "--at", "June 31"), "There is no 31 Jun.", "30 Jun"),
        (
            ("shut", "6", "--because", "mud", "--until", "31 Sept"),
            "There is no 31 Sep.",
            "last day of that month is 30 Sep",
        ),
        (("merge", "ewes", "into", "ewes"), "cannot join itself", "Name the mob that goes first"),
        (("merge", "lambs", "into", "ewes"), 'No mob is called "lambs"', "Name two mobs"),
        (("net", "6"), "at least two parts", '"a 1 ac, b 2 ac"'),
        (("net", "6", "a 1 ac"), "at least two parts", '"a 1 ac, b 2 ac"'),
        (("sold", "4", "lambs", "$3/lb"), "is no sum of money", "the whole sum that was paid"),
        (("spent", "3 dollars", "hay"), "is no sum of money", "240 USD"),
        (("walk", "6", "-4 in"), "below nothing", "without the minus"),
        (("move", "ewes"), "It is not said: to.", "Write it so: move ewes to 8"),
        (("back", "ewes", "0123"), "no animal is", "enter that first"),
        (("why", "gras"), "No page and no number", "Try grass"),
    ],
)
def test_a_slip_is_told_with_its_mend_and_nothing_is_kept(
    farm: SmallFarm, words: tuple[str, ...], said: str, mend: str
) -> None:
    done = farm.run(*words)
    assert done.code == 1
    assert said in done.all
    assert mend in done.all
    assert farm.events() == ()


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("20 Dec to 5 Jan", "20 Dec 2026 to 5 Jan 2027"),
        ("tomorrow", "Away, 7 May to 7 May"),
        ("tomorrow to Sat", "Away, 7 May to 9 May"),
        ("in 2 days to 12 May", "Away, 8 May to 12 May"),
        ("1 Jul to 30 Jun", "1 Jul 2025 to 30 Jun 2026"),
        ("14 Jun 2026 to 10 Jun 2027", "14 Jun 2026 to 10 Jun 2027"),
        ("27 Feb 2028 to 29 Feb 2028", "27 Feb 2028 to 29 Feb 2028"),
        ("29 Feb 2028 to 2 Mar 2028", "29 Feb 2028 to 2 Mar 2028"),
    ],
)
def test_days_over_a_new_year_are_not_backwards(farm: SmallFarm, said: str, kept: str) -> None:
    done = farm.run("promise", "away", said)
    assert done.code == 0
    assert kept in done.all


def test_a_promise_of_another_year_tells_it_and_one_that_stands_there_is_not_kept_twice(
    farm: SmallFarm,
) -> None:
    """What was typed of days that are over is the next such: the year says so."""
    assert "10 Apr 2027 to 14 Apr 2027" in farm.run("promise", "away", "10-14 Apr").all
    assert "10 Jun to 14 Jun" in farm.run("promise", "away", "10-14 Jun").all
    text = (farm.folder / "farm.toml").read_text(encoding="utf-8")
    again = farm.run("promise", "away", "10-14 Jun", "--what", "Fair")
    assert again.code == 1
    assert "stands in farm.toml already: Away [away-2026-06-10]" in again.all
    assert (farm.folder / "farm.toml").read_text(encoding="utf-8") == text
    for words in (("hay", "10-14 Jun", "7"), ("away", "10-15 Jun"), ("hay", "10-14 Jun", "8")):
        assert farm.run("promise", *words).code == 0, words


@pytest.mark.parametrize(
    ("words", "about"),
    [
        (("look", "7", "--leaf", "60 %"), "ground"), (("look", "7", "--bare", "20 %"), "ground"),
        (("look", "ground", "7", "--leaf", "60 %"), "ground"),
        (("look", "7", "seen", "30", "bitten", "5"), "trees"), (("look", "7", "--eyelid", "pale"), "animals"),
    ],
)  # fmt: skip
def test_a_look_in_a_paddock_is_about_what_its_options_are(
    farm: SmallFarm, words: tuple[str, ...], about: str
) -> None:
    assert farm.run(*words).code == 0
    event = farm.last()
    assert isinstance(event.body, Looked)
    assert (event.subject, event.body.at) == ("7", about)
    assert event.body.planting == ("hazel" if about == "trees" else "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("weigh", "ewes", "1500 lb", "ewe"), "One ewe in milk weighs"),
        (("rain", "40 in"), "The wettest month here has 3.9 in"),
        (("lost", "110", "hazel", "drought"), "takes out 110, but 109 stood"),
        (("thin", "110", "hazel"), "takes out 110, but 109 stood"),
        (("net", "6", "a 1 ac, b 20 ac"), "The parts add up to 21 ac; the whole has 3 ac"),
    ],
)
def test_what_is_hardly_so_is_asked_once_and_may_be_kept(
    farm: SmallFarm, words: tuple[str, ...], said: str
) -> None:
    asked = farm.run(*words)
    assert asked.code == 1
    assert said in asked.all
    assert farm.events() == ()
    assert farm.run(*words, "--yes").code == 0
    assert len(farm.events()) == 1


@pytest.mark.parametrize(
    "words",
    [
        ("look", "tree", "7", "seen", "30", "bitten", "30"), ("net", "6", "a 1.5 ac, b 1.5 ac"),
        ("weigh", "ewes", "150 lb", "ewe"), ("rain", "2 in"),
    ],
)  # fmt: skip
def test_what_may_be_so_is_kept_without_a_question(farm: SmallFarm, words: tuple[str, ...]) -> None:
    assert farm.run(*words).code == 0


def test_a_net_around_a_mob_is_kept_and_asks_on_which_part_it_is(farm: SmallFarm) -> None:
    kept = " ".join(farm.run("net", "6", "a 1.5 ac, b 1.5 ac").all.split())
    assert "on which part are they, 6/a, 6/b? Enter it as a move, like `move ewes 6/a`" in kept
    assert farm.run("move", "ewes", "6/a").code == 0
    assert "on which part" not in farm.run("today").all


def test_a_height_of_the_same_day_is_not_said_to_be_no_days_old(farm: SmallFarm) -> None:
    farm.run("walk", "6", "4.5 in")
    asked = farm.run("walk", "6", "20 in").all
    assert "Today it was 4.5 in" in asked
    assert "0 days" not in asked


@pytest.mark.parametrize(
    ("said", "mend"),
    [("moved", "move"), ("mvoe", "move"), ("wind", "storm"), ("money", "ledger")],
)
def test_a_verb_in_other_words_is_told_the_nearest(farm: SmallFarm, said: str, mend: str) -> None:
    done = farm.run(said, "ewes", "8")
    assert done.code == 2
    assert f'"{said}". Did you mean {mend}?' in done.all


def test_a_verb_that_is_like_no_other_is_told_where_all_are(farm: SmallFarm) -> None:
    assert "browseline --help" in farm.run("frobnicate").all


def test_a_key_is_told_those_that_begin_as_it_does(farm: SmallFarm) -> None:
    told = farm.run("why", "store.hay").all
    assert "store.hay" in told.partition("The nearest are:")[2]
    assert len(told.partition("The nearest are:")[2].split(",")) <= 4


def test_animals_of_two_mobs_are_asked_for_by_mob(farm: SmallFarm) -> None:
    farm.run("split", "ewes", "20 ewes", "into", "dry", "--to", "8")
    told = farm.run("sold", "4 ewes", "400 USD").all
    assert "More than one mob has" in told
    assert "ewes and dry" in told


def test_what_is_printed_may_be_typed(farm: SmallFarm) -> None:
    done = farm.run("count", "ewes", "60 ewes in milk, 96 growing lambs")
    assert done.code == 0, done.all
    assert "60 ewes in milk, 96 growing lambs" in done.all


ANSWERS = ("--name", "Hill", "--head", "60", "--kind", "sheep", "--area", "3 ac", "--height", "8 in")


@pytest.mark.parametrize("said", ["ewes in milk", "ewe in milk", "milk", "ewe lactating twins", "lactating"])
def test_a_first_farm_takes_the_class_as_people_say_it(tmp_path: Path, said: str) -> None:
    into = tmp_path / "hill"
    done = SmallFarm(tmp_path).run("start", "--in", str(into), *ANSWERS, "--class", said)
    assert done.code == 0, done.all
    assert 'class = "ewe lactating twins"' in (into / "farm.toml").read_text(encoding="utf-8")


def test_a_class_that_may_be_several_is_told_which_they_are(tmp_path: Path) -> None:
    done = SmallFarm(tmp_path).run("start", "--in", str(tmp_path / "hill"), *ANSWERS, "--class", "ewe")
    assert done.code == 1
    assert "may be more than one" in done.all
    assert "dry ewe, ewe early in lamb, ewe late in lamb, ewe in milk" in done.all
    assert not (tmp_path / "hill").exists()


def test_a_time_that_lies_ahead_is_told_as_the_answer_that_it_was(tmp_path: Path) -> None:
    words = (*ANSWERS, "--class", "ewes in milk", "--since", "tomorrow")
    done = SmallFarm(tmp_path).run("start", "--in", str(tmp_path / "hill"), *words)
    assert done.code == 1
    assert "--since tomorrow" in done.all
    assert "when they went in" in done.all


def test_a_capital_begins_a_verb_as_well(farm: SmallFarm) -> None:
    """The keyboard of a phone writes it so."""
    assert farm.run("Move", "ewes", "to", "8").code == 0
    assert typed(["Walk", "6", "4 in"]).entry.name == "walk"


@pytest.mark.parametrize(
    ("line", "mend"),
    [
        ("moved ewes 7", "Did you mean move ewes to 8"),
        ("frob", "Begin with what was done: move, walk, look"),
        ("why grass", "Begin with what was done: move, walk, look"),
        ("ewes 7", "Begin with what was done"),
    ],
)
def test_a_line_without_a_verb_is_told_how_to_begin(line: str, mend: str) -> None:
    """On the page there is no file: it must not be spoken of."""
    with pytest.raises(BadInput) as wrong:
        typed(words_of(line))
    told = str(wrong.value)
    assert mend in told
    assert "file" not in told


def test_a_line_below_nothing_is_refused_wherever_it_is_typed(farm: SmallFarm) -> None:
    (farm.folder / "week.txt").write_text("2026-05-05 walk 6 -4 in\n", encoding="utf-8")
    done = farm.run("note", "--from", str(farm.folder / "week.txt"), "--yes")
    assert "below nothing" in done.all
    assert farm.events() == ()


def test_lent_animals_that_nobody_knows_to_feed_are_told_what_to_write(farm: SmallFarm) -> None:
    """A bare "goats" is kept, for they did come; what to write so that grass can be told stands beside."""
    bare = farm.run("borrow", "20 goats", "until", "30 May").all
    assert "What they eat is not known" in bare
    assert "dry doe, browsing doe, meat doe in milk" in bare
    planned = farm.run(
        "borrow", "12 steers", "until", "30 May", "--planned", "--at", "20 May", "--weight", "700 lb"
    )
    assert "What they eat is not known" in planned.all
    known = farm.run(
        "borrow", "3 steers", "--class", "beef steer growing", "--kind", "cattle", "until", "30 May"
    ).all
    assert "They eat" in known
    assert "is not known, so no days" not in known


def test_opening_what_was_not_shut_is_told(farm: SmallFarm) -> None:
    assert "Top was not shut" in farm.run("open", "8").all
    farm.run("shut", "8", "--because", "wet")
    assert "was not shut" not in farm.run("open", "8", now="2026-05-06T08:30-04:00").all


def test_an_entry_is_read_back_as_people_say_it(farm: SmallFarm) -> None:
    """Heads by their class, a day by its month; names once each, though an id is like its name."""
    said = farm.run("borrow", "20", "goats", "until", "30 Sep").all
    assert "borrowed - Goats: 20 goats, until 30 Sep 2026." in said
    none = farm.run("move", "pigs", "to", "8").all
    assert "goats and Goats" not in none
    assert "There are: " in none


def test_a_planned_loan_to_ground_that_is_shut_or_taken_then_is_asked_about_and_not_ordered(
    farm: SmallFarm,
) -> None:
    lent = ("borrow", "rams", "2 rams", "--until", "30 May", "--planned")
    assert farm.run("promise", "shut", "8-20 May", "8", "--what", "Spray").code == 0
    assert farm.run("shut", "7", "--because", "wasps", "--until", "cleared").code == 0
    said = "Rams cannot come to {} then: {}."
    for place, day, words in (
        ("8", "9 May", said.format("Top", "that place is shut then, Promise")),
        ("6", "9 May", said.format("Gate", "Ewes would still be there")),
        ("7", "9 May", said.format("Hazel", "that place is shut then, Shut")),
    ):
        asked = farm.run(*lent, "--to", place, "--at", day)
        assert asked.code == 1
        assert words in asked.all
    assert farm.run("move", "ewes", "4", "--planned", "--at", "2026-05-09 07:00").code == 0
    assert farm.run(*lent, "--to", "6", "--at", "9 May").code == 0
    assert farm.run("undo").code == 0
    assert farm.run(*lent, "--to", "8", "--at", "9 May", "--yes").code == 0
    sheet = farm.run("papers", "relief", "--days", "5", "--text").all
    assert "Sat 12:00, Rams to Top (that place is shut then, Promise)" in sheet
    assert not any(words in sheet for words in ("Rams away", "Rams 8", "> 8 Top"))
    assert farm.run("papers", "calendar").code == 0
    (calendar,) = (farm.folder / "papers").glob("calendar*.ics")
    told = calendar.read_text(encoding="utf-8").replace("\n ", "").replace("\r", "")
    assert "Rams to Top (that place is shut then" in told.replace("\n ", "")
    assert "SUMMARY:Rams" not in told
