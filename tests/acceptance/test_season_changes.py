"""After an entry the plan is made again: every day that differs is told in a sentence, with why."""

from __future__ import annotations

import json
import re
import shutil
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from browseline.chain import Picture, look
from browseline.chain.in_force import keep_plan, moves_due, plan_in_force
from browseline.chain.season_page import season_page
from browseline.cli.demo import copy_example, example
from browseline.cli.group import app
from browseline.moves.form import Season
from browseline.moves.season import judged, plan
from browseline.words import day_words
from tests.loose import loose

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
MORNING = datetime.fromisoformat("2026-06-11T08:00-04:00")
TODAY, FORTNIGHT, AHEAD = date(2026, 6, 10), 14, 45
REASONS = (
    "is not open then.", "is shut then", "when nobody can move animals.", "no longer fits", "would now cost",
    "By itself ", "is taken by", "Kept to the letter", "It goes with what else changed",
)  # fmt: skip
ENTRIES = {
    "a gate is shut": ("shut", "Top", "because", "wasps' nest"),
    "a walk finds it short": ("walk", "Top", "3in"),
    "a walk finds it tall": ("walk", "Old Locust", "11in"),
    "rain": ("rain", "3in"),
    "the mob grows": ("bought", "heifers", "30", "heifers"),
    "half the mob goes": ("sold", "23", "heifers", "12000"),
    "they went elsewhere": ("move", "heifers", "to", "Gate"),
}


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder: Path = tmp_path_factory.mktemp("kept") / "farm"
    copy_example(example(), folder)
    picture = look(folder, NOW)
    keep_plan(picture, plan(picture.scene, None, 1500), "owner")
    return folder


def places(picture: Picture, season: Season, mob: str) -> list[str]:
    """Return where a mob is planned on each of the days ahead, by the dates of its stays."""
    out = [""] * AHEAD
    for planned in season.of(mob):
        end = planned.stay.end.end if planned.stay.end is not None else planned.stay.begin.end
        first, last = (picture.scene.local(at).date() for at in (planned.stay.begin.start, end))
        for n in range(AHEAD):
            if first <= TODAY + timedelta(days=n) < last:
                out[n] = planned.stay.place
    return out


def days_told(changes: tuple[str, ...], mob: str) -> set[date]:
    """Return the days that the sentences on a mob name."""
    names = {day_words(TODAY + timedelta(days=n)): TODAY + timedelta(days=n) for n in range(AHEAD + 1)}
    out: set[date] = set()
    for text in changes:
        found = re.match(rf"{mob}, (\d+ \w+) to (\d+ \w+): ", text)
        if found is not None:
            first, last = names[found[1]], names[found[2]]
            out |= {first + timedelta(days=n) for n in range((last - first).days)}
    return out


@pytest.mark.parametrize("words", ENTRIES.values(), ids=ENTRIES)
def test_every_day_that_differs_is_told_with_why(kept: Path, words: tuple[str, ...], tmp_path: Path) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "farm"))
    done = CliRunner().invoke(app, [*words, "--farm", str(folder), "--now", NOW.isoformat()])
    assert done.exit_code == 0, done.output
    picture = look(folder, NOW)
    old = plan_in_force(picture)
    assert old is not None
    season = plan(picture.scene, old, 1500)
    page = season_page(picture, season)
    for mob in picture.scene.mobs:
        was, now = (places(picture, one, mob.id) for one in (old, season))
        differs = {TODAY + timedelta(days=n) for n in range(AHEAD) if was[n] and was[n] != now[n]}
        soon = {day for day in differs if day < TODAY + timedelta(days=FORTNIGHT)}
        assert soon <= days_told(page.changes, mob.name) <= differs, "a change is told to its own end"
    for text in page.changes:
        assert " instead of " in text
        assert any(reason in text for reason in REASONS)
    assert loose(picture, page) == []
    said = any("Nothing in the next fortnight differs" in text for text in page.sentences)
    assert said is not bool(page.changes)


def test_a_shut_gate_is_the_reason_told_for_the_mob_that_stood_there(kept: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(kept, tmp_path / "farm"))
    CliRunner().invoke(app, [*ENTRIES["a gate is shut"], "--farm", str(folder), "--now", NOW.isoformat()])
    picture = look(folder, NOW)
    page = season_page(picture, plan(picture.scene, plan_in_force(picture), 1500))
    ewes = [text for text in page.changes if text.startswith("Mowing ewes, 10 Jun to ")]
    assert len(ewes) == 1
    assert "instead of Top. Top is not open then. Shut: wasps' nest, until somebody opens it." in ewes[0]


def test_no_change_is_told_to_cost_more_than_all_of_them_save(tmp_path: Path) -> None:
    """A cherry in New Locust: a storm shuts it, a look next morning opens it, and half the fortnight changes.

    With all else as planned anew the old way of a single mob collides with the others: $1,460 was told where
    the whole plan in force costs some $500 more than the new one.
    """
    folder = tmp_path / "farm"
    copy_example(example(), folder)
    picture = look(folder, NOW)
    keep_plan(picture, plan(picture.scene, None, 12_000), "owner")
    path = folder / "map.geojson"
    drawn = json.loads(path.read_text(encoding="utf-8"))
    pin = {"type": "Point", "coordinates": [-44.998525, 40.999069]}
    told = {"kind": "hazard", "name": "Wild cherry, New Locust", "plant": "cherry"}
    drawn["features"].append({"type": "Feature", "id": "haz-ol", "properties": told, "geometry": pin})
    path.write_text(json.dumps(drawn), encoding="utf-8")
    for words, at in ((("storm", "wind", "--at", "today 2:00"), NOW), (("season", "--keep"), NOW),
                      (("look", "plants", "8", "--clear", "yes"), MORNING)):  # fmt: skip
        done = CliRunner().invoke(app, [*words, "--farm", str(folder), "--now", at.isoformat()])
        assert done.exit_code == 0, done.output
    picture = look(folder, MORNING, horizon_d=45)
    old = plan_in_force(picture)
    assert old is not None
    season, in_force = plan(picture.scene, old, 12_000), judged(picture.scene, old)
    assert season.total.value is not None
    assert in_force.total.value is not None
    whole = in_force.total.value - season.total.value
    assert whole > 100
    prices = [
        float(said.replace(",", "")) for said in re.findall(r"now cost \$([\d,.]+) more", str(season.changes))
    ]
    assert [usd for usd in prices if usd > whole + 1] == []
    saves = re.findall(r"all of it together saves \$([\d,.]+)\.", " ".join(season.changes))
    assert {float(usd.replace(",", "")) for usd in saves} == {round(whole)}
    assert loose(picture, season_page(picture, season)) == []


def test_a_plan_kept_again_brings_no_move_of_an_older_plan_back(tmp_path: Path) -> None:
    """What the new plan has no move for is taken back with all that it once stood in the stead of."""
    folder = tmp_path / "farm"
    copy_example(example(), folder)
    early = (NOW - timedelta(hours=4)).isoformat()  # other hours: each move of it has a successor
    first = CliRunner().invoke(app, ["season", "--keep", "--farm", str(folder), "--now", early])
    assert first.exit_code == 0, first.output
    for words in (("season", "--keep"), ("sold", "ewes", "9 ewes", "--planned", "--at", "17 Jun"),
                  ("sold", "heifers", "46 heifers", "--planned", "--at", "20 Jun"),
                  ("season", "--keep")):  # fmt: skip
        done = CliRunner().invoke(app, [*words, "--farm", str(folder), "--now", NOW.isoformat()])
        assert done.exit_code == 0, done.output
    picture = look(folder, NOW)
    sold = {"ewes": date(2026, 6, 17), "heifers": date(2026, 6, 20)}
    own = [e for e in moves_due(picture) if e.subject in sold]
    assert own
    assert [e for e in own if e.observed.start.date() > sold[e.subject]] == []
    assert picture.state.disagreements == ()
