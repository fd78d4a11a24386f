"""p13, the carbon buyer wants evidence: what the oaks hold, how wrong it may be, what is not claimed."""

from __future__ import annotations

import io
import json
import math
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, NoReturn

import pytest
from pypdf import PdfReader

from browseline import tables
from browseline import words as words_of
from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.chain.keys import figures_of
from browseline.chain.why import open_figure
from browseline.errors import BadInput
from browseline.events import Event, Looked, Lost, Photographed, Pruned, Sampled, Spent, TreeMeasured
from browseline.exchange.plain import document
from browseline.farm.accounts import CarbonRules
from browseline.farm.future import Future, PlannedInput
from browseline.farm.records import Shape
from browseline.figures import Figure
from browseline.ledger.carbon import CarbonBook, carbon_book
from browseline.ledger.tree_carbon import Change, TreeStock
from browseline.papers import evidence as evidence_pack
from browseline.papers.evidence import evidence
from browseline.papers.evidence_form import ORDER, Evidence
from browseline.papers.evidence_print import evidence_text
from browseline.papers.issued import edition, issue, reprint
from browseline.words import links_of
from tests.acceptance.cases import EWE, LAMBS, entry, farm_folder, mob, quantity, seen
from tests.loose import loose

STEMS_IN = (
    4.8,
    5.1,
    5.5,
    5.9,
    6.2,
    4.4,
    5.0,
    5.7,
    6.0,
    6.6,
    3.9,
    5.3,
    5.6,
    6.1,
    4.6,
    5.2,
    5.8,
    6.4,
    4.1,
    5.4,
)
RAMS = {"kind": "sheep", "class": "rams", "head": 2}
CARBON = {
    "edition": "2019", "region": "North America", "metric": "AR6, 100 yr", "tree_set": "chojnacky2014",
    "root_share": "ipcc2006_v4_ch04, other broadleaf, AGB <75", "carbon_share": "temperate broadleaf",
}  # fmt: skip


def measured(inches: float, day: str = "2026-09-01") -> Event:
    return entry(f"{day} 09:00", "oaks", TreeMeasured(dbh=quantity(f"{inches} in", "length")))


def cores(day: str, text: str) -> Event:
    return entry(f"{day} 10:00", "11", Sampled(text, quantity("12 in", "length")))


def oaks(folder: Path, *more: Event, **typed: Any) -> Picture:
    lines = [EWE | {"intake": "2.6 lb/d"}, RAMS | {"intake": "3.0 lb/d"}, LAMBS | {"intake": "2.4 lb/d"}]
    farm_folder(folder, as_of=date(2026, 1, 1), mobs=[mob(*lines)], carbon=CARBON | typed)
    events = [measured(inches) for inches in STEMS_IN] + [cores("2026-09-02", "8 cores: 51.2 t C/ha"), *more]
    return seen(folder, "2026-10-01 06:00", events)


def book(picture: Picture) -> CarbonBook:
    return carbon_book(picture.scene, picture.events)


def stock(picture: Picture) -> TreeStock:
    (only,) = book(picture).stocks
    return only


def near(value: float | None, expected: float) -> bool:
    return value == pytest.approx(expected, rel=0.005)


def test_p13_the_oaks(tmp_path: Path) -> None:
    found = stock(oaks(tmp_path))
    assert (found.stems.trees, len(found.stems.dbh_cm)) == (294, 20)
    assert near(found.mean.value, 77.0)
    assert found.error.value == pytest.approx(5.4, abs=0.05)
    assert near(found.whole.value, 58.2)
    assert found.ends is not None
    assert near(found.ends[0].value, 51.2)
    assert near(found.ends[1].value, 65.2)
    assert near(found.above.value, 39.9)
    assert 100 * (found.by_mean_stem.value or 0) == pytest.approx(3.1, abs=0.05)
    assert found.a_year is not None
    assert near(found.a_year.value, 4.85)
    assert found.scatter is not None
    assert found.scatter.value == pytest.approx(0.24, abs=0.005)


def moved(picture: Picture) -> dict[str, Change]:
    ((_, found),) = book(picture).changes
    return {change.case: change for change in found}


@pytest.mark.parametrize(
    ("case", "kilograms", "tonnes", "percent"),
    [
        ("jenkins2003, hard maple/oak/hickory/beech", 80.1, 60.6, 4),
        ("jenkins2003, mixed hardwood", 57.2, 43.2, -26),
        ("chojnacky2014, Fabaceae/Juglandaceae, other", 65.2, 49.2, -15),
        ("coarse roots of the tree", 77.0, 47.6, -18),
        ("all wood, default", 77.0, 58.2 * 0.47 / 0.48, -2),
    ],
)
def test_p13_what_moves_it(tmp_path: Path, case: str, kilograms: float, tonnes: float, percent: int) -> None:
    found = moved(oaks(tmp_path))[case]
    assert near(found.mean.value, kilograms)
    assert near(found.whole.value, tonnes)
    assert round(100 * (found.share.value or 0)) == percent


def test_p13_the_flock(tmp_path: Path) -> None:
    (sheep,) = book(oaks(tmp_path)).flocks
    assert sheep.head.value == 62
    by_metric = dict(sheep.by_metric)
    assert near(by_metric["AR6, 100 yr"].value, 15.1)
    assert near(by_metric["AR6, 20 yr"].value, 62 * 9 * 79.7 / 1000)
    assert near(by_metric["AR5, 100 yr"].value, 62 * 9 * 28 / 1000)
    assert sheep.young_head is not None
    assert sheep.young_head.value == 96


def test_p13_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    page = "\n".join(PAGES["carbon"](oaks(tmp_path)).sentences)
    for words in (
        "58.2 t CO2", "90 %, t, sampling only: 51.2 to 65.2", "agree inside the sampling range",
        "outweigh the sampling", "shared by all trees and is not in the range", "scatters by 0.24",
        "not a forward rate", "Soil: no claim", "unreliable even where it is sampled densely", "are extra",
        "map and photos", "planting receipts with their dates", "the equation", "record of management",
        "Who owns the trees", "cost was shared", "could undo it", "not crediting advice and not legal advice",
        "nothing is taken off anything", "AR6, 100 yr",
    ):  # fmt: skip
        assert words in page, words
    for word in ("net negative", "neutral", "offset"):
        assert word not in page.casefold()


def test_p13_the_equations_are_told_in_words(tmp_path: Path) -> None:
    """The sets and groups go by the names of trees and of who published them, not by the tables' codes."""
    page = "\n".join(PAGES["carbon"](oaks(tmp_path)).sentences)
    for words in (
        "Equation of beech and oak family [Fagaceae] deciduous.",
        "(hard maple, oak, hickory and beech; by Jenkins and others, 2003)",
        "(pea family and walnut family [Fabaceae, Juglandaceae], other; by Chojnacky and others, 2014)",
    ):
        assert words in page, words
    for code in ("jenkins2003", "chojnacky2014", "spg"):
        assert code not in page


def test_p13_names_owner_and_what_was_paid(tmp_path: Path) -> None:
    picture = oaks(tmp_path, tree_owner="the farm", already_paid="half of the planting, 2014")
    page = "\n".join(PAGES["carbon"](picture).sentences)
    assert "The trees belong to the farm." in page
    assert "Already paid for: half of the planting, 2014." in page


def test_p13_trap_netting(tmp_path: Path) -> None:
    """No figure of the page is the trees less the flock, in any year."""
    found = book(oaks(tmp_path))
    trees, flock = found.stocks[0].whole.value, dict(found.flocks[0].by_metric)["AR6, 100 yr"].value
    assert trees is not None
    assert flock is not None
    page = PAGES["carbon"](oaks(tmp_path / "again"))
    said = "\n".join([*page.sentences, *(" ".join(row) for row in page.rows)])
    assert f"{trees - flock:.1f}" not in said
    assert {line.gas.gas for year in found.years for line in year.lines} == {"CH4", "N2O"}


def test_p13_trap_other_trees_taken_for_the_oaks(tmp_path: Path) -> None:
    found = stock(oaks(tmp_path))
    assert found.equation == "Fagaceae deciduous"
    assert found.stems.trees == 294
    page = "\n".join(PAGES["carbon"](oaks(tmp_path / "again")).sentences)
    assert "No stems are measured in Walnuts in 5" in page


def test_p13_trap_no_price_is_made(tmp_path: Path) -> None:
    page = PAGES["carbon"](oaks(tmp_path))
    assert "$" not in "\n".join([*page.sentences, *(" ".join(row) for row in page.rows)])


def test_no_claim_from_one_sampling_and_a_change_from_two_like_ones(tmp_path: Path) -> None:
    assert book(oaks(tmp_path / "a")).soil == ()
    (change,) = book(oaks(tmp_path / "b", cores("2026-09-20", "52.2 t C/ha"))).soil
    assert near(change.change.value, 1.0 * 3.5 * 0.40468564224 * 44 / 12)
    unlike = entry("2026-09-20 10:00", "11", Sampled("52.2 t C/ha", quantity("6 in", "length")))
    assert book(oaks(tmp_path / "c", unlike)).soil == ()
    unread = cores("2026-09-20", "3.1 % organic matter")
    assert book(oaks(tmp_path / "d", unread)).soil == ()


# ---------------------------------------------------------------- the pack


def pack(picture: Picture, **asked: bool) -> Evidence:
    return evidence(picture, edition(), **asked)


def words(made: Evidence) -> str:
    return evidence_text(made)


RECORD = (
    entry("2026-03-01 10:00", "farm", Spent(quantity("$ 412", "money"), "swamp white oak seedlings")),
    entry("2026-03-20 10:00", "oaks", Pruned(40, quantity("6 ft", "length"))),
    entry("2026-06-01 09:00", "11", Looked("trees", planting="oaks", seen=30, bitten=2)),
    entry("2026-07-02 09:00", "11", Photographed("ab" * 32 + ".jpg", "the oak strip from the gate")),
    entry("2026-07-20 09:00", "oaks", Lost(3, "drought")),
)  # fmt: skip


def test_p13_the_pack_tells_the_numbers(tmp_path: Path) -> None:
    made = pack(oaks(tmp_path))
    claimed = "\n".join(made.section("claimed").lines)
    for number in (
        "294 live trees",
        "20 of them",
        "58.2 t CO2",
        "51.2 to 65.2",
        "39.9 t",
        "4.85 t CO2 a year",
    ):
        assert number in claimed, number
    errors = {row[1]: tuple(map(float, row[2:])) for row in made.section("wrong").rows}
    sample, equation = errors.values()
    assert sample == pytest.approx((51.2, 58.2, 65.2), rel=0.005)
    spread = 1.6449 * 0.236
    assert equation == pytest.approx((58.2 * math.exp(-spread), 58.2, 58.2 * math.exp(spread)), rel=0.005)
    assert "3.1 %" in "\n".join(made.section("method").lines)
    assert "15.1 t CO2e" in "\n".join(made.section("animals").lines)
    could = "\n".join(made.section("could_be").lines)
    for tonnes, percent in (("60.6", "+4"), ("43.2", "−26"), ("49.2", "−15"), ("47.6", "−18")):
        assert f"{tonnes} t CO2 ({percent} %)" in could


def test_p13_the_pack_says_which_share_of_carbon_is_taken_and_what_the_other_gives(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """294 × 76.97 kg × 1.46 × 44/12 is 121.2 t: 58.2 by 0.48, 57.0 by 0.47 (ipcc2006_v4_ch04 Table 4.3)."""
    named = oaks(tmp_path / "named")
    said = pack(named).section("could_be").lines
    assert said[1].startswith(
        "Carbon is taken as 0.48 of dry wood (temperate broadleaf): the farm names this"
    )
    (other,) = [line for line in said if "0.47 of carbon" in line]
    assert "0.47 of carbon in dry wood (all wood, default), the same trees hold 57.0 t CO2 (−2 %)." in other
    (figure,) = [link.to for link in links_of(other) if other[link.start : link.end] == "57.0"]
    assert isinstance(figure, Figure)
    assert "× 0.47 × 44 ÷ 12" in figure.formula
    assert figure in figures_of(pack(named)).values()
    assert not any("0.51" in line for line in said)

    monkeypatch.delitem(CARBON, "carbon_share")
    bare = oaks(tmp_path / "bare")
    said = pack(bare).section("could_be").lines
    assert said[1].startswith("Carbon is taken as 0.47 of dry wood (all wood, default): the farm names no")
    (other,) = [line for line in said if "0.48 of carbon" in line]
    assert "(temperate broadleaf), the same trees hold 58.2 t CO2 (+2 %)." in other


def test_p13_the_pack_lists_every_stem_so_that_the_claim_can_be_worked_out_again(tmp_path: Path) -> None:
    rows = pack(oaks(tmp_path)).section("stems").rows
    assert [row[4] for row in rows] == [f"{inches} in" for inches in STEMS_IN]
    kilograms = [math.exp(-2.0705 + 2.4410 * math.log(2.54 * inches)) for inches in STEMS_IN]
    assert [float(row[6]) for row in rows] == pytest.approx(kilograms, abs=0.05)
    mean = sum(float(row[6]) for row in rows) / 20
    assert near(294 * mean * 1.46 * 0.48 * 44 / 12 / 1000, 58.2)
    assert {row[7] for row in rows} == {"1 Sep 2026"}


def test_p13_the_pack_says_what_must_be_said(tmp_path: Path) -> None:
    text = words(pack(oaks(tmp_path)))
    for said in (
        "agree inside the sampling range", "outweigh the sampling",
        "may be shared by all trees and is not in the range",
        "No balance of the farm", "nothing is taken off anything", "Soil: no claim",
        "unreliable even where it is sampled densely", "not a forward rate", "Nothing here is a projection",
        "no crediting advice and no legal advice", "could undo it", "Who owns the trees is not on record",
        "Whether somebody already paid", "exp(−2.0705 + 2.441 ln dbh)", "guidelines of 2019",
        "No stems are measured in Walnuts in 5", "recalled, not read", "tables of edition",
    ):  # fmt: skip
        assert said in text, said
    for word in ("net negative", "neutral", "offset", "$"):
        assert word not in text.casefold()
    assert [one.key for one in pack(oaks(tmp_path / "again")).sections] == list(ORDER)


def test_p13_the_pack_hands_over_the_record(tmp_path: Path) -> None:
    made = pack(oaks(tmp_path, *RECORD, tree_owner="the farm", already_paid="half of the planting, 2014"))
    assert "swamp white oak seedlings" in "\n".join(made.section("planted").lines)
    assert "1 Mar 2026" in "\n".join(made.section("planted").lines)
    assert [row[0] for row in made.section("management").rows] == ["20 Mar 2026", "1 Jun 2026", "20 Jul 2026"]
    (photo,) = made.section("photos").rows
    assert photo[3] == "ab" * 32 + ".jpg"
    owner = "\n".join(made.section("owner").lines)
    assert "The trees belong to the farm." in owner
    assert "half of the planting, 2014" in owner
    assert "3 lost so far (drought)" in "\n".join(made.section("undo").lines)
    assert "291 live now" in "\n".join(made.section("planted").lines)


def test_p13_the_pack_never_nets(tmp_path: Path) -> None:
    picture = oaks(tmp_path)
    found = book(picture)
    flock = dict(found.flocks[0].by_metric)["AR6, 100 yr"].value or 0.0
    trees = found.stocks[0].whole.value or 0.0
    text = words(pack(picture))
    assert f"{trees - flock:.1f}" not in text
    years = [line.co2e.value or 0.0 for line in found.years[-1].lines if line.co2e is not None]
    assert f"{sum(years) / 1000:.1f} t" not in text


def test_p13_the_pack_without_measured_stems_is_refused(tmp_path: Path) -> None:
    farm_folder(tmp_path, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})])
    with pytest.raises(BadInput) as refused:
        evidence(seen(tmp_path, "2026-10-01 06:00"), edition())
    assert "stem" in refused.value.findings[0].what


def test_p13_soil_is_in_the_pack_by_two_like_samplings_alone(tmp_path: Path) -> None:
    made = pack(oaks(tmp_path, cores("2026-09-20", "52.2 t C/ha")))
    assert "no claim" not in "\n".join(made.section("not_claimed").lines)
    assert "in 11" in "\n".join(made.section("soil").lines) or "11" in "\n".join(made.section("soil").lines)
    assert "58.2 t CO2" in "\n".join(made.section("claimed").lines)


def test_p13_what_is_planned_to_be_spread_is_no_line_and_is_said(tmp_path: Path) -> None:
    picture = oaks(tmp_path)
    assert "means to spread" not in words(pack(picture))
    lime = PlannedInput("lime", "lime", quantity("2 t", "mass"), 2027, 4)
    farm = replace(picture.farm, future=Future(inputs=(lime,)))
    made = pack(replace(picture, farm=farm))
    assert "The farm means to spread lime." in "\n".join(made.section("not_claimed").lines)
    assert "880" not in words(made)


def test_p13_every_number_of_the_pack_opens(tmp_path: Path) -> None:
    """m12: each is linked to a figure with an origin or to a source; 11 is the name of a paddock."""
    picture = oaks(tmp_path, *RECORD, cores("2026-09-20", "52.2 t C/ha"))
    made = pack(picture)
    assert [text for text in loose(picture, made) if "'11' in " not in text] == []
    for key, figure in figures_of(made).items():
        opened = open_figure(picture, key, figure)
        assert opened.formula or opened.cited or opened.typed, key
        assert opened.mark in "MBG"


def read_pdf(content: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)


def no_more(*_: object, **__: object) -> NoReturn:
    raise AssertionError


def test_p13_issued_packs_reprint_the_same_and_say_what_the_record_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """M25: prices, factors and the program change; what was printed does not."""
    picture = oaks(tmp_path / "farm", *RECORD[:-1])
    paper = issue(picture, "carbon", tmp_path / "papers", as_record=document)
    first = {path.suffix[1:]: path.read_bytes() for path in paper.paths}
    assert set(first) == {"pdf", "txt", "json"}
    flat = " ".join(read_pdf(first["pdf"]).split())
    for said in ("58.2", "51.2 to 65.2", "What is not claimed", "Who owns the trees"):
        assert said in flat
    changed = replace(picture, farm=replace(picture.farm, carbon=CarbonRules(trees="jenkins2003"), prices=()))
    assert "60.6" in words(pack(changed))
    for of, name in ((tables, "row"), (tables, "texts"), (words_of, "say"), (evidence_pack, "evidence")):
        monkeypatch.setattr(of, name, no_more)
    assert reprint(paper.event) == first
    record = json.loads(first["json"])
    assert record["schema"].startswith("browseline/evidence/")
    held = {opened["value"] for opened in record["opened"]}
    assert any(value is not None and near(value, 58.2) for value in held)


def test_p13_no_place_on_earth_unless_it_is_asked_for(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    picture = oaks(folder)
    ring = (
        (-80.123456, 38.654321),
        (-80.121456, 38.654321),
        (-80.121456, 38.656321),
        (-80.123456, 38.656321),
    )
    shape = Shape("11", "paddock", "11", "Polygon", (ring,))
    plantings = tuple(replace(p, paddock="11") if p.id == "oaks" else p for p in picture.farm.plantings)
    homes = tuple(replace(p, shape="11") if p.id == "11" else p for p in picture.farm.paddocks)
    farm = replace(picture.farm, shapes=(shape,), plantings=plantings, paddocks=homes)
    mapped = replace(picture, farm=farm, scene=replace(picture.scene, farm=farm))
    for asked in (False, True):
        paper = issue(mapped, "carbon", tmp_path / f"{asked}", as_record=document, coordinates=asked)
        for path in paper.paths:
            text = read_pdf(path.read_bytes()) if path.suffix == ".pdf" else path.read_text("utf-8")
            assert ("38.6543" in text) is asked, path.name
            assert ("80.1234" in text) is asked, path.name
