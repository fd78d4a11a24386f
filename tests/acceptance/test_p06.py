"""p6, wild cherry down: a gale at 02:00, a limb in 4 where the mob is, on a folder with a map."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from typer.testing import CliRunner

from browseline.chain import Picture, today
from browseline.chain.answers import answer_to
from browseline.chain.plant_dangers import poison_account
from browseline.cli.group import app
from browseline.events import Event, Looked, Moved, Opened, Shut, Stormed
from browseline.limits import bites, faces
from browseline.moves.season import plan
from browseline.papers.relief import relief
from browseline.units import factor
from tests.acceptance.cases import EWE, LAMBS, entry, farm_folder, mob, page, seen, walked
from tests.web_farm import Served

MILK, SUCKING = {"intake": "4.4 lb/d"}, {"intake": "1.2 lb/d", "weight": "45 lb"}
GALE, NOW = "2026-05-06 02:00", "2026-05-06 06:00"
SIDE = 0.0012
PINS = {"4": "cherry", "9": "cherry", "11": "oak", "12": "yew"}


def drawn() -> dict[str, Any]:
    """Return a map of twelve squares, far apart enough that a pin touches one paddock only."""
    features = []
    for n in range(12):
        x, y = -45 + n * 2 * SIDE, 41.0
        ring = [[x, y], [x + SIDE, y], [x + SIDE, y + SIDE], [x, y + SIDE], [x, y]]
        features.append(_feature(str(n + 1), {"kind": "paddock", "name": str(n + 1)}, "Polygon", [ring]))
        if str(n + 1) in PINS:
            said = {"kind": "hazard", "name": f"by the gate of {n + 1}", "plant": PINS[str(n + 1)]}
            features.append(_feature(f"pin-{n + 1}", said, "Point", [x + SIDE / 2, y + SIDE / 2]))
    pond = {"kind": "hazard", "name": "pond"}
    features.append(_feature("pond", pond, "Point", [-45 + SIDE / 2, 41 + SIDE / 2]))
    return {"type": "FeatureCollection", "features": features}


def _feature(ident: str, said: dict[str, str], form: str, where: list[Any]) -> dict[str, Any]:
    return {
        "type": "Feature",
        "id": ident,
        "properties": said,
        "geometry": {"type": form, "coordinates": where},
    }


def after_the_gale(
    folder: Path, *events: Event, now: str = NOW, storm: bool = True, inches: float = 7.0
) -> Picture:
    farm_folder(
        folder, as_of=date(2026, 5, 5),
        mobs=[mob(EWE | MILK, LAMBS | SUCKING, place="4", since="2026-05-05 08:00")],
        contacts={"vet": {"name": "Large-animal practice", "phone": "555 0111"}},
    )  # fmt: skip
    text = tomlkit.parse((folder / "farm.toml").read_text("utf-8"))
    text["place"] = {"latitude": 41.0, "longitude": -45.0}
    (folder / "farm.toml").write_text(tomlkit.dumps(text), "utf-8")
    (folder / "map.geojson").write_text(json.dumps(drawn()), "utf-8")
    gale = [entry(GALE, "farm", Stormed("gale"))] if storm else []
    return seen(folder, now, [*walked("2026-05-05 08:00", [inches] * 12), *gale, *events])


def test_p6_out_now_and_shut_until_cleared_or_dry(tmp_path: Path) -> None:
    picture = after_the_gale(tmp_path)
    sheet = today(picture)
    first = sheet.mobs[0].lines[0]
    assert (first.limit, first.hard) == ("poison", "hard")
    assert first.likely is not None
    assert first.likely <= picture.now
    assert "out now" in first.act
    four = next(s for s in sheet.shut if s.paddock == "4")
    assert "cherry" in four.because
    assert "cleared or dry" in four.until
    closed = next(f for f in faces(picture.scene) if f.name == "poison").closed
    assert closed is not None
    assert closed[0, :, 3].all()
    assert sheet.mobs[0].next is not None
    assert sheet.mobs[0].next.paddock not in ("4", "9", "11", "12")


def test_p6_every_pinned_paddock_is_looked_at_before_any_move(tmp_path: Path) -> None:
    picture = after_the_gale(tmp_path)
    (line,) = [words for words in today(picture).warnings if words.startswith("Look before any move")]
    for paddock, plant in (("4", "cherry"), ("9", "cherry"), ("11", "oak"), ("12", "yew")):
        assert f"{paddock} (" in line
        assert plant in line
    looked = entry("2026-05-06 05:30", "9", Looked("cherry", clear=True))
    again = after_the_gale(tmp_path / "looked", looked)
    (line,) = [words for words in today(again).warnings if words.startswith("Look before any move")]
    assert "9 (" not in line
    assert "4 (" in line


def test_p6_the_relief_sheet_is_printed_anew_with_4_shut(tmp_path: Path) -> None:
    before = relief(after_the_gale(tmp_path / "before", storm=False))
    after = relief(after_the_gale(tmp_path / "after"))
    assert not any("4" in s.paddocks and "cherry" in s.because for s in before.shut)
    assert any("4" in s.paddocks and "cherry" in s.because for s in after.shut)
    event = entry(GALE, "farm", Stormed("gale"))
    told = answer_to(event, after_the_gale(tmp_path / "told"))
    assert any("relief sheet again" in words for words in told)


def test_p6_lethal_range_only_under_why_and_never_on_the_sheet(tmp_path: Path) -> None:
    picture = after_the_gale(tmp_path)
    bite = next(b for b in bites(picture.scene, "ewes", "4") if b.limit == "poison")
    lethal = [f for f in bite.figures if f.name == "lethal_plant"]
    # 0.46 to 1.82 g a pound (cherry_cyanide): 69-273 g at 150 lb (0.15-0.60 lb), 21-82 g at 45 lb
    ends = [round(x or 0) for f in lethal for x in (f.low, f.high)]
    assert ends == [69, 273, 21, 82]
    g_lb = factor("lb", "g")
    assert [round((x or 0) / g_lb, 2) for x in (lethal[0].low, lethal[0].high)] == [0.15, 0.60]
    book = lethal[0].parts[1]
    assert (book.low, book.high, book.unit) == (0.46, 1.82, "g/lb")
    assert book.origins[0].source == "cherry_cyanide"
    assert book.origins[0].basis == "published-read"
    visible = " ".join([bite.because, bite.do, bite.short, *(late.risk for late in bite.late)])
    for sheet in (page(relief(picture)), visible, *today(picture).warnings, page(today(picture).shut)):
        for number in ("0.46", "1.82", "69", "273", "82 g"):
            assert number not in sheet


def test_p6_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    picture = after_the_gale(tmp_path)
    event = entry(GALE, "farm", Stormed("gale"))
    line = next(x for x in today(picture).mobs[0].lines if x.limit == "poison")
    said = " ".join([line.because, line.act, *today(picture).cautions, *answer_to(event, picture)])
    for words in (
        "Wilting leaf on the branch is worst", "falls off as it dries", "within 15 minutes",
        "555 0111", "Nobody goes under a hung limb", "a trained cutter", "with a second person",
    ):  # fmt: skip
        assert words in said


def test_p6_the_route_is_made_again_round_what_is_shut(tmp_path: Path) -> None:
    picture = after_the_gale(tmp_path, inches=10.0)
    season = plan(picture.scene, None, 200)
    later = [s.stay for s in season.stays if s.stay.begin.start >= picture.now and s.stay.place != "yard"]
    assert later
    assert not {s.place for s in later} & set(PINS)
    assert min(s.begin.start for s in later) <= picture.now + timedelta(days=1)


@pytest.mark.parametrize("now", ["2026-05-06 02:01", "2026-05-07 07:00", "2026-07-05 07:00"])
def test_p6_trap_waits_for_the_planned_move(tmp_path: Path, now: str) -> None:
    """A move is planned for tomorrow; the answer is now all the same, and time never opens 4 again."""
    planned = entry("2026-05-07 08:00", "ewes", Moved("5"), planned=True)
    picture = after_the_gale(tmp_path, planned, now=now)
    bite = bites(picture.scene, "ewes", "4")[0]
    assert bite.limit == "poison"
    assert bite.moment is not None
    assert bite.moment.latest <= picture.now


def test_p6_trap_opening_the_gate_is_no_look(tmp_path: Path) -> None:
    shut = entry("2026-05-06 02:30", "4", Shut("cherry limb down", until="cleared or dry"))
    opened = entry("2026-05-06 05:00", "4", Opened())
    picture = after_the_gale(tmp_path, shut, opened)
    assert any(b.limit == "poison" and b.hardness == "hard" for b in bites(picture.scene, "ewes", "4"))


def test_p6_trap_nothing_is_phrased_as_a_safe_amount(tmp_path: Path) -> None:
    picture = after_the_gale(tmp_path)
    event = entry(GALE, "farm", Stormed("gale"))
    every = page(today(picture)) + page(relief(picture)) + " ".join(answer_to(event, picture))
    for words in ("safe amount", "safe to eat", "harmless", "no more than", "less than"):
        assert words not in every.casefold()


def test_p6_why_poison_opens_every_pinned_plant(tmp_path: Path) -> None:
    """Where each stands, what is shut, whom to call; the lethal range only among the figures under it."""
    page_ = poison_account(after_the_gale(tmp_path))
    said = " ".join(page_.sentences)
    assert "call the vet at once: 555 0111" in said
    assert "4 is shut: wild cherry" in said
    assert "yew in or beside 12" in said
    assert "not an amount that may be eaten" in said
    assert [round(f.low or 0) for f in page_.figures if f.name == "lethal_plant"] == [69, 21]
    assert not any(number in said for number in ("69", "273", "0.46", "1.82"))


def test_p6_a_farm_without_a_plant_says_how_to_pin_one(tmp_path: Path) -> None:
    farm_folder(tmp_path, as_of=date(2026, 5, 5), mobs=[mob(EWE | MILK, place="4", since="2026-05-05 08:00")])
    (line, how) = poison_account(seen(tmp_path, NOW)).sentences
    assert "no number typed yet" in line
    assert "Pin what grows" in how


def test_p6_ground_that_a_plant_shuts_leads_to_the_look_that_opens_it(tmp_path: Path) -> None:
    """The page Shut offers the look and no bare opening; who opens it all the same hears which look does."""
    after_the_gale(tmp_path)
    served = Served(tmp_path, now="2026-05-06T06:00-04:00")
    page = served.here().get("/shut", headers={"accept": "text/html"}).text
    assert "/enter/look?at=plants&amp;paddock=4" in page
    assert "/enter/open?paddock=4" not in page
    words = ("open", "4", "--met", "cleared", "--farm", str(tmp_path), "--now", "2026-05-06T06:00-04:00")
    said = " ".join(CliRunner().invoke(app, words).output.split())
    assert "4 stays shut: wild cherry" in said
    assert "A look that finds it clear opens it: browseline look plants 4 --clear yes." in said
