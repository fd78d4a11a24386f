"""The relief sheet: what must stand on it, what never may, and the page that carries it (M16, M17, P16)."""

from __future__ import annotations

import io
import json
import re
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pdfplumber
import pypdf
import pytest

from browseline.chain import Picture, look, today
from browseline.chain.in_force import keep_plan
from browseline.cli.demo import copy_example, example
from browseline.events import Born, Counted, Event, Moved, Penned, Shut, Spent, Stormed, Treated
from browseline.farm.records import Line, Mob, Paddock, Planting, Promise
from browseline.moves import plan
from browseline.papers import message, parts, relief
from browseline.papers.fit import RELIEF, STEPS, printed
from browseline.papers.names import brief
from browseline.papers.plain import STEPS as SHORTER
from browseline.papers.plain import _text
from browseline.papers.relief import ReliefSheet
from browseline.papers.sheets import pages, pdf, relief_data
from browseline.units import parse
from browseline.words import say
from tests.loose import loose
from tests.unit.papers_farm import NOW, at, entries, entry, farm, seen, shapes

LETTER, A4 = (612, 792), (595, 842)
SMALLEST_PT = 14
LONG = "the limb came down across the gate in the gale of the sixth and its leaves are still green " * 4


def paper(sheet: ReliefSheet) -> bytes:
    return pdf(RELIEF, relief_data(sheet))


def words(content: bytes) -> str:
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages)
    return " ".join(text.replace("\u200b", "").split())


def in_full(picture: Picture) -> str:
    """Return every word that leaves: the page, the data handed to the template, the text message."""
    sheet = relief(picture)
    data = json.dumps(relief_data(sheet), ensure_ascii=False)
    return f"{words(paper(sheet))}\n{data}\n{message(sheet)}"


@pytest.fixture(scope="module")
def weekend() -> ReliefSheet:
    return relief(seen(farm(shapes=shapes())))


@pytest.fixture(scope="module")
def page(weekend: ReliefSheet) -> str:
    return words(paper(weekend))


@pytest.mark.parametrize(
    "said",
    [
        "Fri 8 May to Mon 11 May 2026", "EMERGENCY: 911", "Left at the white gate after the second bridge",
        "Owner 555 0133", "Vet 555 0111", "Neighbour 555 0122", "60 ewes + 96 lambs", "= 156",
        "Sat 9 May 8:00 Ewes 6 → 8", "Mon 11 May 8:00 Ewes 8 → 9", "inside the barn door, left", "6.2 kV",
        "4: cherry limb down, until leaves gone", "9: trailer 150 gal: fill it", "500 ft ↑ N", "look out",
        "Wild cherry in the hedge (by 2)", "Energiser OFF before a hand touches wire", "Not alone with a ram",
        "IF THE COUNT IS SHORT", "IF A FENCE IS DOWN", "IF A TREE OR LIMB IS DOWN",
    ],
)  # fmt: skip
def test_the_page_says(page: str, said: str) -> None:
    assert said in page


def test_without_a_map_there_is_no_sketch() -> None:
    sheet = relief(seen())
    assert sheet.sketch is None
    assert relief_data(sheet)["sketch"] is None
    assert "None pinned on the map." in words(paper(sheet))


def test_what_nobody_typed_is_a_blank() -> None:
    bare = replace(farm(contacts=(), place_words=""), energiser=type(farm().energiser)())
    text = words(paper(relief(seen(bare))))
    for said in (
        "EMERGENCY: emergency services",
        "Vet ____",
        "Owner ____",
        "WE ARE AT: ____",
        "Energiser: ____.",
    ):
        assert said in text


def test_a_penned_ewe_and_her_lambs_are_apart() -> None:
    head = ("sheep/ewe lactating twins=1", "sheep/lamb=2")
    events = [*entries(), entry(Penned("0123", head, "lame, vet gave Orbimax"), "ewes", at(7, 9))]
    text = in_full(seen(events=events))
    assert "59 ewes + 94 lambs" in text
    assert "In the pen: 0123 (1 ewe + 2 lambs)" in text
    assert "Orbimax" not in text


def test_never_money_treatments_or_coordinates() -> None:
    told = farm(
        shapes=shapes(), place_words="White gate, 41.00123, -45.00456",
        prices=(("hay", parse("$4321", "money")),),
    )  # fmt: skip
    events = [
        *entries(),
        entry(Treated("Orbimax", date(2026, 6, 1), "vet"), "ewes", at(6, 7)),
        entry(Spent(parse("$9876", "money"), "vet bill"), "farm", at(6, 7)),
        entry(Shut("drench ORBIMAX spilt, cost $812, at 41.0012 N 45.0045 W", "mended"), "10", at(7, 7)),
    ]
    picture = seen(told, events)
    text = in_full(picture)
    for never in (
        "Orbimax",
        "orbimax",
        "ORBIMAX",
        "4321",
        "9876",
        "812",
        "$",
        "vet bill",
        "41.00",
        "45.00",
        "-45",
    ):
        assert never not in text
    assert "drench ____ spilt, cost ____" in text


def test_no_place_on_earth_in_the_file(weekend: ReliefSheet) -> None:
    content = paper(weekend)
    reader = pypdf.PdfReader(io.BytesIO(content))
    assert set(reader.metadata or {}) == {"/Title", "/Creator"}
    assert b"GeoJSON" not in content
    assert b"Measure" not in content
    sketch = relief_data(weekend)["sketch"]
    spots = [xy for p in sketch["paddocks"] for xy in p["ring"]]
    assert min(x for x, _ in spots) >= 0
    assert max(max(xy) for xy in spots) <= max(sketch["wide"], sketch["deep"])
    assert all(float(v).is_integer() for xy in spots for v in xy)


def test_the_sketch_keeps_the_shape_of_the_farm(weekend: ReliefSheet) -> None:
    """72 x 24 ten-thousandths of a degree at 41 N: compared with geodesics of WGS 84 (pyproj.Geod)."""
    from pyproj import Geod

    geod = Geod(ellps="WGS84")
    wide = geod.inv(-45.0, 41.0, -45.0 + 72e-4, 41.0)[2]
    deep = geod.inv(-45.0, 41.0 - 12e-4, -45.0, 41.0 + 12e-4)[2]
    assert weekend.sketch is not None
    spots = [xy for p in weekend.sketch.paddocks for xy in p.ring]
    assert max(x for x, _ in spots) - min(x for x, _ in spots) == pytest.approx(wide, abs=1.5)
    assert max(y for _, y in spots) - min(y for _, y in spots) == pytest.approx(deep, abs=1.5)
    first = next(p for p in weekend.sketch.paddocks if p.id == "1")
    last = next(p for p in weekend.sketch.paddocks if p.id == "12")
    assert first.spot[0] < last.spot[0]
    assert first.spot[1] < last.spot[1]
    assert [p.id for p in weekend.sketch.paddocks if p.hatch] == ["4"]


# -- the page ----------------------------------------------------------------------------------


def crowded(mobs: int, name: str, said: str, mapped: bool, units: Any) -> Picture:
    """Return many mobs with many moves, long words, many gates shut, something penned and miscounted."""
    lines = (
        Line("sheep", "ewe late gestation twins", 60),
        Line("sheep", "ram", 2),
        Line("cattle", "dairy heifer", 5),
    )
    base = farm(shapes=shapes() if mapped else (), units=units)
    herd = tuple(
        Mob(f"m{n}", f"{name} {n}", lines, str(n + 1), "2026-05-05 07:00", keep_out=("12",))
        for n in range(mobs)
    )
    told = replace(
        base, name=name, place_words=said, energiser=replace(base.energiser, where=said),
        contacts=tuple(replace(c, name=said) for c in base.contacts),
        paddocks=tuple(replace(p, name=f"{name} {p.id}") for p in base.paddocks),
        mobs=herd,
        promises=(Promise("h", "hay", said, date(2026, 5, 9), date(2026, 6, 16), ("11", "12")),),
    )  # fmt: skip
    events = entries()[:12]
    events += [entry(Shut(said, said), str(n), at(6, n)) for n in range(7, 13)]
    events += [
        entry(Moved(str(4 + (n + k) % 4)), f"m{n}", at(8 + k, 8 + k), planned=True)
        for n in range(mobs)
        for k in range(3)
    ]
    events += [
        entry(Stormed("wind"), "farm", at(7, 3)),
        entry(Penned("0123", ("sheep/ewe late gestation twins=1",), said), "m0", at(6, 8)),
        entry(Counted(("50",)), "m0", at(7, 18)),
    ]
    return seen(told, events)


WIDE, WIDER = "W" * 200, "W" * 300
CROWDS = [
    (1, "Long Alley", LONG, True, "acres"),
    (3, "Long Alley", LONG, True, "acres"),
    (3, "Long Alley", LONG, False, "hectares"),
    (3, WIDE, WIDER, True, "acres"),
    (9, WIDE, WIDER, True, "hectares"),
    (9, "Long Alley", WIDER, False, "acres"),
    (1, WIDE, LONG, False, "hectares"),
]


@dataclass(frozen=True)
class Crowd:
    said: str
    size: tuple[int, int]
    content: bytes
    text: str
    drawn: dict[str, list[dict[str, Any]]]


@pytest.fixture(scope="module", params=CROWDS, ids=lambda c: f"{c[0]}-{c[1][:4]}-{c[2][:3]}-{c[3]}-{c[4]}")
def crowd(request: pytest.FixtureRequest) -> Crowd:
    content = paper(relief(crowded(*request.param)))
    with pdfplumber.open(io.BytesIO(content)) as opened:
        drawn = dict(opened.pages[0].objects)
    size = LETTER if request.param[4] == "acres" else A4
    return Crowd(request.param[2], size, content, words(content), drawn)


def test_one_side_whatever_is_said(crowd: Crowd) -> None:
    reader = pypdf.PdfReader(io.BytesIO(crowd.content))
    assert len(reader.pages) == 1
    page = reader.pages[0].mediabox
    assert (round(page.width), round(page.height)) == crowd.size


def test_no_type_below_14_points_and_nothing_off_the_page(crowd: Crowd) -> None:
    letters = [c for c in crowd.drawn["char"] if c["text"].strip() and c["text"] != "\u200b"]
    assert min(c["size"] for c in letters) >= SMALLEST_PT - 0.01
    assert min(c["x0"] for c in letters) >= 20
    assert max(c["x1"] for c in letters) <= crowd.size[0] - 20
    assert max(c["bottom"] for c in letters) <= crowd.size[1] - 15


def test_black_and_white_only(crowd: Crowd) -> None:
    found = {
        tuple(colour) if isinstance(colour, (list, tuple)) else (colour,)
        for kind in ("char", "line", "rect", "curve")
        for mark in crowd.drawn.get(kind, [])
        for colour in (mark["stroking_color"], mark["non_stroking_color"])
        if colour is not None
    }
    assert found <= {(0,), (1,), (0, 0, 0), (1, 1, 1)}
    assert not list(pypdf.PdfReader(io.BytesIO(crowd.content)).pages[0].images)


@pytest.mark.parametrize(
    "said",
    ["911", "555 0111", "555 0122", "555 0133", "Energiser OFF", "DOWN", "Not alone with", "SHUT", "WATER"],
)
def test_what_must_stand_stands_in_a_crowd(crowd: Crowd, said: str) -> None:
    assert said in crowd.text


def test_what_is_cut_says_so(crowd: Crowd) -> None:
    assert "see Today" in crowd.text


def test_three_mobs_keep_every_move() -> None:
    text = words(paper(relief(crowded(3, "Long Alley", LONG, True, "acres"))))
    assert text.count("→") == 9
    assert text.count("= 66") + text.count("= 67") == 3


def test_each_step_says_no_more_than_the_one_before() -> None:
    sheet = relief(crowded(9, "Long Alley", LONG, True, "acres"))
    taken = [pages(RELIEF, printed(sheet, step) | {"lang": "en"}) for step in STEPS]
    assert taken == sorted(taken, reverse=True)
    assert taken[-1] == 1


def test_room_is_used_for_larger_type(weekend: ReliefSheet) -> None:
    assert relief_data(relief(seen()))["points"] > SMALLEST_PT
    assert relief_data(weekend)["sketch"]["share"] == 1.0


@pytest.mark.parametrize(
    "name", ['#image("x.png")', "*bold* _under_", "$x^2$", "<script>alert(1)</script>", "\\u{41} {{7*7}} @a"]
)
def test_words_typed_by_people_are_never_markup(name: str) -> None:
    told = farm()
    told = replace(told, name=name, mobs=(replace(told.mobs[0], name=name),))
    text = words(paper(relief(seen(told))))
    assert text.count(" ".join(name.split())) >= 2


def test_the_same_sheet_makes_the_same_bytes(weekend: ReliefSheet) -> None:
    assert paper(weekend) == paper(weekend)


# -- where the moves come from, dangers --------------------------------------------------------


def test_without_a_plan_the_first_limit_proposes_a_move() -> None:
    events = [e for e in entries() if not e.planned]
    picture = seen(events=events)
    (move,) = relief(picture).moves
    assert move.time.startswith("by ")
    assert move.start == "6"
    assert move.to not in ("4", "6")
    assert move.note == f"proposed; first limit: {today(picture).mobs[0].lines[0].name}"
    assert move.time.endswith(":00")


def test_a_move_into_a_shut_paddock_is_called_off() -> None:
    events = [*entries(), entry(Shut("wet", "dry"), "9", at(7, 9))]
    notes = [m.note for m in relief(seen(events=events)).moves]
    assert notes == ["", "9 is SHUT: do not go in, ring the owner"]


AWAY = Promise("a", "away", "Away", date(2026, 5, 9), date(2026, 5, 11))


def test_a_move_on_a_day_on_which_nobody_can_move_animals_is_left_out_and_told() -> None:
    sheet = relief(seen(farm(promises=(AWAY,))))
    assert [(m.start, m.to) for m in sheet.moves] == [("6", "9")]
    assert sheet.left_out == (
        "Plan the season again: browseline season --keep. This planned move cannot be made and is left out: "
        "Sat 8:00, Ewes to 8 (nobody can move animals then)."
    )
    assert sheet.left_out in message(sheet)
    assert sheet.left_out in words(paper(sheet))
    assert relief(seen()).left_out == ""


def test_where_the_only_moves_are_left_out_nobody_says_that_none_is_due() -> None:
    away = replace(AWAY, to_day=date(2026, 5, 20))
    sheet = relief(seen(farm(promises=(away,))))
    assert sheet.moves == ()
    assert sheet.left_out
    assert "NO MOVE" not in message(sheet)
    assert "No move is due" not in words(paper(sheet))


def test_a_move_into_ground_that_a_promise_shuts_is_left_out_and_told() -> None:
    shut = Promise("s", "shut", "Spray", date(2026, 5, 9), date(2026, 5, 20), ("8",))
    sheet = relief(seen(farm(promises=(shut,))))
    assert [(m.start, m.to) for m in sheet.moves] == [("6", "9")]
    assert "Ewes to 8 (that place is shut then, Promise)." in sheet.left_out


def test_ground_that_shuts_while_animals_stand_there_says_so() -> None:
    shut = Promise("s", "shut", "Spray", date(2026, 5, 10), date(2026, 5, 20), ("6",))
    sheet = relief(seen(farm(promises=(shut, AWAY))))
    (line,) = [line for line in sheet.shut if line.paddocks == "6"]
    assert line.because.startswith("Ewes there now, shut from 10 May: ring the owner. Spray")
    assert "SHUT 6 from 10 May (Ewes in it now)" in message(sheet)
    assert "LEAVE SHUT 4; 6 from 10 May (Ewes in it now)." in _text(sheet, SHORTER[-1])


def test_paddocks_that_the_calendar_shuts_are_told() -> None:
    rows = Planting(
        "w", "Walnut", "walnut_persian", "7", first_drop=date(2026, 9, 7), interval=parse("120 d", "time")
    )
    hay = Promise("h", "hay", "Hay cut", date(2026, 5, 11), date(2026, 6, 16), ("12",))
    sheet = relief(seen(farm(plantings=(rows,), promises=(hay,))))
    told = {line.paddocks: line.because for line in sheet.shut}
    assert set(told) == {"4", "7", "12"}
    assert "10 May" in told["7"]
    assert "7 Sep" in told["7"]
    assert told["12"].startswith("from 11 May: Hay cut")


def test_ground_that_shuts_or_opens_within_the_days_of_the_sheet_says_when() -> None:
    """Stock may be ordered in before: a bare "leave shut" would contradict that order."""
    spans = (("12", 11, 30), ("11", 1, 10), ("10", 9, 11), ("9", 1, 30))
    shut = tuple(Promise(p, "shut", "Spray", date(2026, 5, a), date(2026, 5, b), (p,)) for p, a, b in spans)
    picture = seen(farm(promises=shut))
    sheet = relief(picture)
    told = {line.paddocks: line.because.split("Spray")[0] for line in sheet.shut if "Spray" in line.because}
    days = {"12": "from 11 May: ", "11": "until 10 May: ", "10": "from 9 May until 11 May: ", "9": ""}
    assert told == days
    short = _text(sheet, SHORTER[-1])
    for words in ("12 from 11 May", "11 until 10 May", "10 from 9 May until 11 May"):
        assert words in short
    now = {part.paddock: (part.because, part.until) for part in today(picture).shut}
    assert now["11"] == ("Promise", "until 10 May")
    assert now["9"] == ("Promise", "until 30 May")
    assert not {"10", "12"} & set(now)
    assert not any(text.startswith("shut") for text in loose(picture, today(picture)))


def test_young_being_born_asks_for_care() -> None:
    born = [*entries(), entry(Born(2, "lamb", "sheep"), "ewes", at(7, 5))]
    assert not any("Young being born" in c for c in relief(seen()).cautions)
    assert any("Young being born" in c for c in relief(seen(events=born)).cautions)


def test_a_count_that_is_open_stands_on_top() -> None:
    events: list[Event] = [*entries(), entry(Counted(("150",)), "ewes", at(7, 18))]
    (alarm,) = relief(seen(events=events)).alarms
    assert "150 counted, 156 expected" in alarm


def test_where_water_is_carried_the_sheet_says_how_much() -> None:
    told = farm()
    dry = Paddock("8", "8", 1.2, sward="s", water="none")
    told = replace(told, paddocks=tuple(dry if p.id == "8" else p for p in told.paddocks),
                   mobs=(replace(told.mobs[0], lines=told.mobs[0].lines[:1]),))  # fmt: skip
    water = dict(relief(seen(told)).water)
    assert re.fullmatch(r"NONE: bring water, up to \d+ gal a day", water["8"])
    assert water["6"] == "trough"


def test_the_example_keeps_its_amounts_and_places_on_paper(tmp_path: Path) -> None:
    """Whoever holds the sheet has no Today to see: facts run on before any of them is cut."""
    folder = tmp_path / "farm"
    now = copy_example(example(), folder)
    picture = look(folder, now)
    keep_plan(picture, plan(picture.scene, None, 300), "owner")
    sheet = relief(look(folder, now), 3)
    assert sheet.sketch is not None
    shut = {one.id for one in sheet.sketch.paddocks if one.hatch}
    assert shut == {"5", "10", "12"}, "the map hatches what the list beside it says to leave shut"
    page = words(paper(sheet))
    assert page.count("see Today") <= 1
    assert re.search(r"fill it, up to [\d.]+ gal a day", page)
    assert "Wild cherry in the fence row (by 10 Cherry Edge)" in page


@pytest.mark.parametrize("days", [3, 7, 14])
def test_every_day_has_its_column_on_the_sheet_and_none_lies_over_another_word(days: int) -> None:
    """Fifteen columns in one row had run off the page and squeezed names, places and counts into a pile."""
    sheet = relief(seen(farm(shapes=shapes())), days)
    with pdfplumber.open(io.BytesIO(paper(sheet))) as opened:
        (sheet_page,) = opened.pages
        found = sheet_page.extract_words()
        assert max(word["x1"] for word in found) <= sheet_page.width - 20
        for name in set(sheet.days):
            assert sum(word["text"] == name for word in found) >= sheet.days.count(name)
        boxes = [word for word in found if word["text"] == "="]
        assert len(boxes) == len(sheet.mobs)
        tops = [round(word["top"]) for word in boxes]
        assert len(set(tops)) == len(tops), "a line a mob"


# -- as a text message -------------------------------------------------------------------------


def test_the_weekend_fits_in_four_messages() -> None:
    text = message(relief(seen()))
    assert parts(text) == 4
    for said in (
        "911", "At Left at the white gate", "555 0111", "60 ewes + 96 lambs = 156", "SHUT 4", "SHORT",
        "Sat 9 May 8:00 Ewes 6 > 8", "9 trailer 150 gal", "6.2 kV", "OFF before touching wire",
        "Not alone with a ram", "FENCE DOWN", "TREE DOWN",
    ):  # fmt: skip
        assert said in text


def test_counts_and_moves_stand_in_a_long_message() -> None:
    text = message(relief(crowded(3, "Long Alley", LONG, True, "acres")))
    assert text.count("MOVE ") == 9
    assert text.count("NOW ") == 3


def test_a_long_message_keeps_where_the_farm_is_and_every_shut_place_and_danger() -> None:
    """What was cut for room were the last words of the way there and the third gate that must stay shut."""
    way = "The end of the second lane behind the white gate"
    sheet = relief(crowded(3, "Long Alley", way, True, "acres"))
    shut = {place.partition(" ")[0] for line in sheet.shut for place in line.places}
    assert len(shut) > 3
    for step in SHORTER:
        text = _text(sheet, step)
        assert f"At {way}" in text
        told = " ".join(line for line in text.splitlines() if "SHUT" in line)
        assert shut <= set(re.findall(r"\b\d+\b", told))
        dangers = next(line for line in text.splitlines() if line.startswith("LOOK FOR"))
        assert dangers.count(";") == len(sheet.look_for) - 1
    last = message(sheet)
    assert "LEAVE SHUT" in last
    assert "out of 12. Why: ring owner" in last


@pytest.mark.parametrize(
    ("text", "expected"),
    [("a" * 160, 1), ("a" * 161, 2), ("a" * 306, 2), ("a" * 307, 3), ("€" * 80, 1), ("€" * 81, 2),
     ("ш" * 70, 1), ("ш" * 71, 2), ("ш" * 135, 3)],
)  # fmt: skip
def test_message_parts(text: str, expected: int) -> None:
    """160 and 153 septets, 70 and 67 wide signs: 3GPP TS 23.038 and 23.040."""
    assert parts(text) == expected


def test_now_is_the_farms_own_clock() -> None:
    assert relief(seen()).printed == "printed 8 May 6:00"
    assert NOW.tzinfo is not None


def test_a_mob_that_nobody_put_anywhere_is_not_said_to_stand_in_not() -> None:
    """The first word of a place is its id where it is short: "not in a paddock" was cut to "not"."""
    nowhere = say("papers.place.nowhere")
    assert all(brief(nowhere, most, "...").startswith("unknown") for most in (16, 13, 12))
    assert brief("12 Hazel", 4, "...") == "12"
