"""The reading verbs on real folders: what is printed, and the record that ``--json`` gives."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from browseline.cli.options import folder_of, now_of
from browseline.errors import BadInput
from browseline.events import Issued, Moved, Walked
from browseline.record.store import Record
from tests.unit.cli_farm import NOW, SmallFarm, small_farm


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    made = small_farm(tmp_path / "farm")
    for paddock, height in (("6", "7 in"), ("8", "8.5 in"), ("7", "8 in")):
        assert made.run("walk", paddock, height).code == 0
    return made


# ---------------------------------------------------------------- today


def test_today_tells_limits_in_order_of_arrival(farm: SmallFarm) -> None:
    done = farm.run("today")
    lines = done.out.splitlines()
    assert lines[0] == "Wed 6 May   Small Farm   (America/New_York)"
    first = next(i for i, line in enumerate(lines) if line.startswith(" > "))
    assert lines[first].startswith(" > Worms: by Fri 7:00, 4 days.")
    assert lines[first + 1].startswith("   Grass: ")
    assert [line for line in lines if line.startswith(" > ")] == [lines[first]]
    assert "Next: Top (8.5 in" in done.all
    assert "If you can't:" in done.all
    assert "CAN WAIT" in done.all
    assert "if nothing grows. Growth is not known here" in done.all
    assert "Left out: Cherry (no height read)." in done.all


def test_today_is_plain_text_of_eighty_signs(farm: SmallFarm) -> None:
    farm.run("shut", "4", "because", "cherry limb down", "until", "cleared")
    for words in (("today",), ("today", "--why")):
        out = farm.run(*words).out
        assert "\x1b" not in out
        assert max(map(len, out.splitlines())) <= 80
    assert "Cherry: cherry limb down - until cleared." in out
    assert "longest stay by the worm rule" in " ".join(out.split())


def test_a_shorter_height_puts_grass_first(farm: SmallFarm) -> None:
    done = farm.run("walk", "6", "5 in")
    assert "Ewes: first now Grass" in done.all
    assert " > Grass:" in farm.run("today").out


def test_today_without_any_height_says_so(tmp_path: Path) -> None:
    done = small_farm(tmp_path / "bare").run("today")
    assert done.code == 0
    assert "No height has been read" in done.all
    assert "Next: not known. Walk the other paddocks" in done.all
    assert "Not known: what the mobs eat, or how high the grass stands" in done.all


def test_json_is_the_record_of_the_page_with_units(farm: SmallFarm) -> None:
    record = json.loads(farm.run("today", "--json").out)
    assert record["schema"] == "browseline/today/1"
    assert record["version"]
    (mob,) = record["mobs"]
    assert [line["limit"] for line in mob["lines"]][:2] == ["worms", "grass"]
    figure = mob["lines"][0]["figures"][0]
    assert (figure["name"], figure["value"], figure["unit"], figure["mark"]) == ("worm_stay", 4.0, "d", "B")
    ahead = record["ahead"]["still"]
    assert ahead["unit"] == "d"
    # 275 lb/ac/in over the height to leave, 70 % eaten, 60 x 4.4 + 96 x 1.0 lb a day
    grass_lb = 275 * 0.7 * (3 * 3 + 2 * 4 + 3 * 4.5)
    assert ahead["value"] == pytest.approx(grass_lb / 360, rel=1e-3)


def test_broken_farm_is_told_in_the_house_form(tmp_path: Path) -> None:
    broken = small_farm(
        tmp_path / "broken", 'schema = 1\nname = "Broken"\nunits = "acres"\nas_of = 2026-05-01\n'
    )
    for verb in (("today",), ("walk", "6", "4 in"), ("why", "grass"), ("season",), ("papers", "relief")):
        done = broken.run(*verb)
        assert done.code == 1, verb
        assert "farm.toml" in done.err
    assert broken.run("check").code == 1


def test_check_of_a_sound_farm(farm: SmallFarm) -> None:
    done = farm.run("check")
    assert (done.code, done.all) == (0, "Small Farm can be used as it is: nothing to mend.")
    assert json.loads(farm.run("check", "--json").out)["findings"] == []


# ---------------------------------------------------------------- why


def test_why_opens_a_limit_to_its_sources(farm: SmallFarm) -> None:
    done = farm.run("why", "worms")
    assert "Ewes, Worms: by Fri 7:00" in done.all
    assert "4 d" in done.all
    assert "Source: " in done.all
    grass = farm.run("why", "grass", "ewes").all
    assert "Formula: " in grass
    assert "7 in" in grass
    assert "measured or typed here" in grass
    assert "0 d old" in grass
    assert "as above" in grass


def test_why_lists_what_can_be_opened(farm: SmallFarm) -> None:
    listed = farm.run("why").all
    for name in ("worms", "grass", "grass_ahead_still", "demand"):
        assert name in listed
    assert farm.run("why", "demand").code == 0
    refused = farm.run("why", "demnad")
    assert refused.code == 1
    assert "Try demand" in refused.all
    unlike = farm.run("why", "luck")
    assert unlike.code == 1
    assert "All of them: browseline why." in unlike.all


def test_every_listed_number_opens(farm: SmallFarm) -> None:
    listed = farm.run("why").out.partition("\n")[2]
    for name in " ".join(listed.split()).split(", "):
        assert farm.run("why", name).code == 0, name
        opened = json.loads(farm.run("why", name, "--json").out)
        assert opened.get("figures") or opened.get("sentences") or opened.get("mobs"), name


# ---------------------------------------------------------------- start


ANSWERS = {
    "name": "First Farm", "head": "60", "kind": "sheep", "class": "ewe lactating twins", "weight": "150 lb",
    "intake": "4.4 lb/d", "area": "3.0 ac", "height": "8 in", "mass-per-height": "275 lb/ac/in",
    "leave-at": "4 in", "share-eaten": "70 %", "since": "today 7:00",
}  # fmt: skip


def begin(folder: Path, answers: dict[str, str], *more: str) -> tuple[SmallFarm, str, int]:
    words = [part for name, text in answers.items() for part in (f"--{name}", text)]
    done = SmallFarm(folder).run(
        "start",
        "--in",
        str(folder),
        "--zone",
        "America/New_York",
        *words,
        *more,
        now="2026-05-06T07:00-04:00",
    )
    return SmallFarm(folder), done.all, done.code


def test_first_answer_within_twelve_entries(tmp_path: Path) -> None:
    """M1: 2,310 lb over 264 lb a day is 8.75 d, so the worm rule of 4 d comes first."""
    assert len(ANSWERS) <= 12
    farm, said, code = begin(tmp_path / "first", ANSWERS)
    assert code == 0, said
    assert "Move by Sun 7:00: Worms comes first." in said
    assert "2,310 lb to eat at 264 lb/d is 8.7 d with no growth" in said or "8.75 d" in said
    assert "Growth is not known here" in said
    assert [type(e.body) for e in farm.events()] == [Moved, Walked]
    record = json.loads(farm.run("today", "--json", now="2026-05-06T07:00-04:00").out)
    assert record["ahead"]["still"]["value"] == pytest.approx(8.75, abs=0.005)
    assert [line["limit"] for line in record["mobs"][0]["lines"]][:2] == ["worms", "grass"]


def test_start_takes_a_file_of_answers(tmp_path: Path) -> None:
    answers = tmp_path / "answers.toml"
    lines = [f'{name} = "{text}"' for name, text in ANSWERS.items() if name != "head"]
    answers.write_text("\n".join([*lines, "head = 60"]), encoding="utf-8")
    _, said, code = begin(tmp_path / "filed", {}, "--answers", str(answers))
    assert (code, "Worms comes first" in said) == (0, True), said
    answers.write_text('colour = "red"', encoding="utf-8")
    _, said, code = begin(tmp_path / "other", {}, "--answers", str(answers))
    assert (code, 'No question is called "colour"' in said) == (1, True)


def test_start_takes_book_values_for_what_is_not_said(tmp_path: Path) -> None:
    short = {name: ANSWERS[name] for name in ("name", "head", "kind", "class", "area", "height")}
    farm, said, code = begin(tmp_path / "short", short)
    assert code == 0, said
    assert "Move by " in said
    assert "comes first." in said
    record = json.loads(farm.run("today", "--json", now="2026-05-06T07:00-04:00").out)
    lines = {line["limit"]: line for line in record["mobs"][0]["lines"]}
    assert lines["grass"]["mark"] in ("B", "G")
    opened = farm.run("why", "mass per height", now="2026-05-06T07:00-04:00").all
    assert "275 lb/ac/in" in opened
    assert "Source: " in opened


def test_start_speaks_the_units_of_the_answers(tmp_path: Path) -> None:
    metric = ANSWERS | {"weight": "68 kg", "intake": "2 kg/d", "area": "1.2 ha", "height": "20 cm"}
    metric |= {"mass-per-height": "121 kg/ha/cm", "leave-at": "10 cm"}
    farm, said, code = begin(tmp_path / "metric", metric)
    assert code == 0, said
    assert "20 cm now, leave 10 cm" in said
    assert 'units = "hectares"' in (farm.folder / "farm.toml").read_text(encoding="utf-8")


def test_start_tells_every_fault_at_once_and_leaves_nothing(tmp_path: Path) -> None:
    wrong = ANSWERS | {"head": "many", "area": "3", "height": "8 lb", "class": "ewe"}
    _, said, code = begin(tmp_path / "wrong", wrong)
    assert code == 1
    for part in ('"many" is no whole number', "does not measure length", "one of: dry ewe, ewe early"):
        assert part in said
    assert not (tmp_path / "wrong").exists()
    _, said, code = begin(tmp_path / "none", {})
    assert (code, said.count("This must be said.")) == (1, 6)


HARDLY = [
    ({"height": "80 in"}, "80 in? Grass of this kind is rarely taller than 2", "8 in, or 20 cm"),
    ({"height": "0 in"}, "0 in? No grass stands at that height.", "8 in, or 20 cm"),
    ({"leave-at": "90 cm"}, "90 cm? Grass of this kind is rarely taller than", "8 in, or 20 cm"),
    (
        {"area": "200 ac"},
        "200 ac? In a paddock of that size 60 head have grass for 583 days.",
        "the one paddock",
    ),
    ({"area": "3 m2"}, "3 m2? In a paddock of that size 60 head have grass for less than an hour.", "3 ac"),
    (
        {"weight": "400 lb"},
        "400 lb? One ewe in milk weighs 121 lb to 198 lb by the book.",
        "150 lb, or 68 kg",
    ),
    ({"intake": "44 lb"}, "44 lb? One ewe in milk eats", "4.4 lb, or 2 kg"),
    ({"intake": "0.2 lb"}, "0.2 lb? One ewe in milk eats", "4.4 lb, or 2 kg"),
    ({"share-eaten": "0.7"}, "0.7 %? That is hardly any of the grass.", "write 70 %"),
]


@pytest.mark.parametrize(("given", "said", "mend"), HARDLY)
def test_start_asks_once_about_what_is_hardly_so(
    tmp_path: Path, given: dict[str, str], said: str, mend: str
) -> None:
    folder = tmp_path / "hardly"
    _, told, code = begin(folder, ANSWERS | given)
    told = " ".join(told.split())
    assert code == 1
    for part in (said, mend, "To keep it as typed, add --yes."):
        assert part in told
    assert not folder.exists()
    farm, told, code = begin(folder, ANSWERS | given, "--yes")
    assert code == 0, told
    assert len(farm.events()) == 2


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"weight": "5000 lb"}, "--weight 5000 lb 5000 lb cannot be true. Possible is above 0 lb"),
        ({"share-eaten": "170"}, "--share-eaten 170 % 170 % cannot be true. Possible is above 0 %"),
        ({"head": "0"}, '"0" is no whole number'),
    ],
)
def test_start_refuses_what_cannot_be_at_its_own_question(
    tmp_path: Path, given: dict[str, str], said: str
) -> None:
    _, told, code = begin(tmp_path / "never", ANSWERS | given, "--yes")
    assert (code, said in " ".join(told.split())) == (1, True), told
    assert not (tmp_path / "never").exists()


@pytest.mark.parametrize(
    "given",
    [
        {"area": "40 ac"}, {"area": "0.25 ac"}, {"height": "20 in"}, {"weight": "110 lb"},
        {"weight": "220 lb"}, {"intake": "6 lb"}, {"head": "600"},
    ],
)  # fmt: skip
def test_start_asks_nothing_about_what_may_well_be(tmp_path: Path, given: dict[str, str]) -> None:
    _, told, code = begin(tmp_path / "well", ANSWERS | given)
    assert code == 0, told


def test_start_never_overwrites_a_farm(tmp_path: Path) -> None:
    begin(tmp_path / "mine", ANSWERS)
    before = (tmp_path / "mine" / "farm.toml").read_bytes()
    _, said, code = begin(tmp_path / "mine", ANSWERS | {"name": "Other"})
    assert (code, "A farm is there already" in said) == (1, True)
    assert (tmp_path / "mine" / "farm.toml").read_bytes() == before


# ---------------------------------------------------------------- season and papers


def test_a_season_that_is_kept_is_the_plan_in_force(farm: SmallFarm) -> None:
    shown = farm.run("season", "--days", "15", "--iterations", "100")
    assert shown.code == 0
    assert "Not kept." in shown.all
    before = len(farm.events())
    kept = farm.run("season", "--days", "15", "--iterations", "100", "--keep")
    plan = [e for e in farm.events()[before:] if e.planned]
    assert plan
    assert f"{len(plan)} planned moves" in kept.all
    assert all(isinstance(e.body, Moved) and e.reason for e in plan)
    farm.run("season", "--days", "15", "--iterations", "100", "--keep")
    assert len(farm.events()) == before + len(plan), "the same plan is not written twice"


def test_a_changed_plan_supersedes_move_by_move(farm: SmallFarm) -> None:
    from datetime import datetime

    from browseline.chain import look
    from browseline.chain.in_force import moves_ahead, plan_in_force

    farm.run("season", "--days", "15", "--iterations", "100", "--keep")
    later = "2026-05-06T08:30-04:00"
    farm.run("shut", "8", "because", "wasps in the gate", now=later)
    farm.run("season", "--days", "15", "--iterations", "100", "--keep", now=later)
    picture = look(farm.folder, datetime.fromisoformat(later))
    ahead = moves_ahead(picture)
    assert "8" not in {e.body.to for e in ahead if isinstance(e.body, Moved)}
    stays = plan_in_force(picture)
    assert stays is not None
    assert stays.of("ewes")[0].stay.place == "6"
    first = {e.id for e in farm.events() if e.planned and not e.supersedes}
    assert {e.supersedes for e in farm.events() if e.supersedes} <= first


@pytest.mark.parametrize(("paper", "endings"), [("relief", {"pdf", "txt"}), ("calendar", {"ics"})])
def test_papers_are_written_and_kept(farm: SmallFarm, tmp_path: Path, paper: str, endings: set[str]) -> None:
    done = farm.run("papers", paper, "--out", str(tmp_path / "out"))
    assert done.code == 0, done.all
    files = {path.suffix[1:]: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert set(files) == endings
    assert all(f"{paper} 2026-05-06" in line for line in done.out.splitlines() if "Written" in line)
    event = farm.last()
    assert isinstance(event.body, Issued)
    assert event.body.paper == paper
    kept = {path.read_bytes() for path in (farm.folder / "files").iterdir()}
    assert set(files.values()) <= kept


def test_a_paper_that_is_none_is_a_finding(farm: SmallFarm) -> None:
    assert farm.run("papers", "poem").code == 1


# ---------------------------------------------------------------- the shared options


def test_the_farm_is_found_from_a_folder_below(farm: SmallFarm, monkeypatch: pytest.MonkeyPatch) -> None:
    below = farm.folder / "files" / "deep"
    below.mkdir(parents=True)
    monkeypatch.chdir(below)
    assert folder_of(None) == farm.folder.resolve()
    assert folder_of(farm.folder / "farm.toml") == farm.folder.resolve()
    with pytest.raises(BadInput):
        folder_of(below)


@pytest.mark.parametrize("text", ["2026-05-06", "soon", "2026-05-06T07:00"])
def test_now_needs_its_offset(text: str) -> None:
    with pytest.raises(BadInput, match="no instant"):
        now_of(text)


def test_now_is_an_argument() -> None:
    assert now_of(NOW).isoformat() == "2026-05-06T07:30:00-04:00"
    assert now_of(None).utcoffset() is not None


def test_two_copies_join_from_the_command_line(farm: SmallFarm, tmp_path: Path) -> None:
    import shutil

    other = SmallFarm(tmp_path / "copy")
    shutil.copytree(farm.folder, other.folder)
    farm.run("move", "ewes", "8", "--at", "7:00")
    other.run("move", "ewes", "7", "--at", "7:10")
    done = farm.run("join", str(other.folder))
    assert done.code == 0
    assert "Joined: 1 new entries." in done.all
    assert "? Ewes was seen in" in done.all or "was seen in" in farm.run("today").all
    other.run("join", str(farm.folder))
    with Record.open(farm.folder) as a, Record.open(other.folder) as b:
        assert {e.id for e in a.events()} == {e.id for e in b.events()}
    assert farm.run("today", "--json").out == other.run("today", "--json").out
    assert "already said the same" in farm.run("join", str(other.folder)).all
    assert farm.run("join", str(tmp_path)).code == 1
