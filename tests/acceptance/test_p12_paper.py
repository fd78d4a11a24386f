"""p12 on the lender's paper itself: every number to the dollar, what it must say, how each number opens."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import look
from browseline.chain.keys import figures_of, found_by
from browseline.chain.money_ahead import money_given
from browseline.chain.why import why_of
from browseline.cli.demo import copy_example, example
from browseline.errors import BadInput
from browseline.exchange.plain import document
from browseline.farm.write import edit
from browseline.papers.issued import issue, reprint
from browseline.papers.lender import lender_pack
from browseline.papers.lender_form import LenderPack
from browseline.papers.lender_print import lender_text
from tests.acceptance.cases import EWE, farm_folder, mob, seen
from tests.acceptance.test_every_number import faults
from tests.acceptance.test_p12 import KNOCKS, LINES, MONEY, farm
from tests.loose import loose

DRY = [
    {"id": "dry-head", "name": "a quarter fewer lambs", "line": "lambs", "on": "count", "factor": 0.75,
     "from": 5, "to": 6, "decade": "Dry summers"},
    {"id": "dry-hay", "name": "hay to buy", "line": "hay", "on": "amount", "add": "$4,000", "from": 5,
     "to": 8, "decade": "Dry summers"},
]  # fmt: skip
LEASE = {
    "id": "lease",
    "kind": "lease",
    "what": "Lease of the far fields",
    "from": "2024-01-01",
    "to": "2030-01-01",
}


def pack_of(folder: Path, off: tuple[str, ...] = (), **money: Any) -> LenderPack:
    picture = farm(folder, **money)
    return lender_pack(picture, money_given(picture), off)


def money_in(text: str) -> list[float]:
    """Return the amounts of money in a text."""
    return [
        float(m.replace("−$", "-").replace("$", "").replace(",", ""))
        for m in re.findall(r"−?\$[\d,]+(?:\.\d+)?", text)
    ]


def by_hand() -> dict[str, list[dict[str, float]]]:
    """Return the case worked out by hand: each year's cash, coverage and running total, base and downside."""
    payment = 48_000 * 0.065 / (1 - 1.065**-15)
    pounds = [0] * 5 + [1, 3, 6, 10, 14, 18, 22, 26, 30, 34]
    out: dict[str, list[dict[str, float]]] = {}
    for case in ("base", "down"):
        bad, total, rows = case == "down", 0.0, []
        for year in range(1, 16):
            trees = 327 if year <= 3 else 294.3
            lambs = 84 * 215 * (0.9 if bad else 1) * (0.8 if bad and year == 4 else 1)
            frost = 0.22 if bad and year == 11 else 1
            nuts = trees * pounds[year - 1] * (0.7 * frost if bad else 1) * (3 * (0.7 if bad else 1) - 0.8)
            available = lambs - 60 * 105 - 3600 - trees * (3 if year <= 5 else 2) + nuts
            available -= 3000 if bad and year == 4 else 0
            beside = -327 * 32 if year == 1 else (327 * 16 if year == (3 if bad else 2) else 0)
            cash = available - payment + beside
            total += cash
            rows.append({"available": available, "coverage": available / payment, "beside": beside,
                         "cash": cash, "total": total})  # fmt: skip
        out[case] = rows
    return out


def test_p12_every_cell_of_the_table_is_the_case_by_hand(tmp_path: Path) -> None:
    pack, wanted = pack_of(tmp_path), by_hand()
    assert [(group.words, group.columns) for group in pack.years.groups[1:]] == [
        ("As planned", 5), ("If it goes wrong", 5)
    ]  # fmt: skip
    assert len(pack.years.rows) == 15
    for n, row in enumerate(pack.years.rows):
        assert row[0] == f"{n + 1} ({2026 + n})"
        assert money_in(row[1]) == [pytest.approx(5104.93, abs=0.5)]
        for case, cells in (("base", row[2:7]), ("down", row[7:12])):
            hand = wanted[case][n]
            assert float(cells[1].replace("−", "-")) == pytest.approx(hand["coverage"], abs=0.00501)
            for name, cell in zip(
                ("available", "beside", "cash", "total"), (cells[0], *cells[2:]), strict=True
            ):
                assert money_in(cell) == [pytest.approx(hand[name], abs=0.501)]


def test_p12_the_facts_to_the_dollar(tmp_path: Path) -> None:
    rows = {row[0]: row[1:] for row in pack_of(tmp_path).cases.rows}
    assert rows["Least coverage"] == ("1.41 in year 1", "−0.15 in year 4")
    assert rows["Years with coverage below 1.25"] == ("none", "1 to 6")
    assert rows["Deepest hole at a year's end"] == ("−$8,390 in year 1", "−$10,312 in year 4")
    assert rows["In hand above nothing from year"] == ("3", "10")
    assert rows["Worth today at 5 %"] == ("$77,143", "$16,643")
    assert rows["In hand at the end"] == ("$136,183", "$36,820")


def test_p12_the_paper_says_what_it_must(tmp_path: Path) -> None:
    pack = pack_of(tmp_path)
    assert pack.first[0] == "If it goes wrong: the deepest hole is −$10,312, at the end of year 4 (2029)."
    assert "year 4 is the worst for the loans" in pack.first[1]
    assert "coverage −0.15" in pack.first[1]
    text = lender_text(pack)
    for words in (
        "over principal and interest", "A bank adds income from off the farm",
        "takes off the family's living",
        "Yields and prices of years to come are invented", "This is not financial advice", "$5,104.93",
        "Income from off the farm, which a bank adds", "The family's living, which a bank takes off",
        "neither the loan nor what it buys is in the cash", "Nothing here is an appraisal",
        "What stands as security is not typed", "No money is on record yet",
    ):  # fmt: skip
        assert words in text
    assert text.index("−$10,312") < text.index("−$8,390") < text.index("$136,183")


def test_p12_trap_year_4_stands_on_the_paper_with_its_cause(tmp_path: Path) -> None:
    pack = pack_of(tmp_path)
    assert "−0.15" in pack.years.rows[3]
    assert ("If it goes wrong", "a bad lambing in year 4", "yes") in pack.switches.rows
    assert [row[1] for row in pack.switches.rows] == [knock["name"] for knock in KNOCKS]


def test_p12_trap_no_nut_carries_the_loan_in_year_3(tmp_path: Path) -> None:
    pack = pack_of(tmp_path)
    walnuts = next(row for row in pack.assumptions.rows if row[0] == "Walnuts")
    assert walnuts[5] == "6 to 15"
    cells = pack.years.rows[2]
    assert money_in(cells[2]) == [84 * 215 - 60 * 105 - 3600 - 327 * 3]
    without = pack_of(tmp_path / "b", lines=[line for line in LINES if line["id"] != "nuts"], knocks=[])
    assert [row[3] for row in without.years.rows[:5]] == [row[3] for row in pack.years.rows[:5]]


def test_a_switched_off_knock_is_on_the_paper_as_such(tmp_path: Path) -> None:
    pack = pack_of(tmp_path, off=("year-4", "dry"))
    assert ("If it goes wrong", "a bad lambing in year 4", "switched off") in pack.switches.rows
    assert "−0.15" not in lender_text(pack)


def test_a_bad_decade_has_a_table_of_its_own(tmp_path: Path) -> None:
    pack = pack_of(tmp_path, knocks=[*KNOCKS, *DRY])
    assert pack.bad_years.groups[1].words == "Dry summers"
    lambs, costs = 84 * 215 * 0.75, 60 * 105 + 3600 + 294.3 * 3 + 4000
    assert money_in(pack.bad_years.rows[4][2]) == [pytest.approx(lambs - costs, abs=0.5)]
    assert pack.cases.head == ("", "As planned", "If it goes wrong", "Dry summers")
    assert pack.cases.rows[0][2] == "−0.15 in year 4"


# ---------------------------------------------------------------- every number opens


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, LenderPack]:
    """Return the farm and its pack with draws, a bad decade, a lease and own hours."""
    folder = tmp_path_factory.mktemp("pack")
    typed = MONEY | {
        "knocks": [*KNOCKS, *DRY],
        "price_range": "15 %",
        "yield_range": "25 %",
        "own_hours": "900 h",
    }
    farm_folder(
        folder, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=typed,
        promises=[LEASE], carbon={"tree_owner": "the landowner"},
    )  # fmt: skip
    picture = seen(folder, "2026-01-02 06:00")
    return picture, lender_pack(picture, money_given(picture))


def test_no_number_of_the_paper_lacks_its_why(whole: tuple[Any, LenderPack]) -> None:
    picture, pack = whole
    assert loose(picture, pack) == []


def test_every_key_of_the_paper_opens_to_its_sources(whole: tuple[Any, LenderPack]) -> None:
    picture, pack = whole
    held = figures_of(pack)
    assert len(held) > 300
    for key, figure in held.items():
        assert found_by(held, key) == (key, figure)
        told = why_of(picture, pack, key)
        assert (told.page, told.opened.value) == ("lender", figure.value)
        assert list(faults(told.opened)) == [], key


def test_a_lease_that_ends_before_the_first_crop_is_on_the_paper(whole: tuple[Any, LenderPack]) -> None:
    _, pack = whole
    cautions = [words for words in pack.trees if "Lease of the far fields" in words]
    assert cautions
    assert any("31 Dec 2029" in words for words in cautions)
    assert "The trees belong to the landowner" in "\n".join(pack.trees)


def test_the_draws_are_on_the_paper_with_their_ends(whole: tuple[Any, LenderPack]) -> None:
    _, pack = whole
    assert re.search(r"In \d+ of 100 draws the loans are not covered in some year", "\n".join(pack.first))
    for row in pack.drawn_years.rows:
        low, middle, high = (money_in(cell)[0] for cell in row[7:10])
        assert low <= middle <= high
    assert len(pack.drawing.band) == 15


# ---------------------------------------------------------------- issued once, printed again


def test_an_issued_pack_prints_the_same_after_prices_have_changed(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    picture = farm(folder)
    paper = issue(picture, "lender", folder / "papers", as_record=document)
    first = {path.suffix.removeprefix("."): path.read_bytes() for path in paper.paths}
    assert set(first) == {"pdf", "txt", "json"}
    edit(folder, ("money", "lines", "lambs", "price"), "$120")
    later = look(folder, picture.now)
    assert reprint(paper.event) == {ending: first[ending] for ending in ("pdf", "txt")}
    assert {path.suffix: path.read_bytes() for path in paper.kept} == {f".{e}": b for e, b in first.items()}
    anew = issue(later, "lender", folder / "papers-2")
    assert reprint(anew.event)["txt"] != first["txt"]
    assert b"$215" in first["txt"]


def test_the_record_of_the_paper_carries_the_key_of_every_number(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    paper = issue(farm(folder), "lender", folder / "papers", as_record=document)
    made = json.loads(next(path for path in paper.paths if path.suffix == ".json").read_bytes())
    assert made["schema"] == "browseline/lender/1"
    assert len(made["numbers"]) > 300
    keys = {one["key"] for one in made["numbers"]}
    opened = {one["key"] for one in made["opened"]}
    assert keys <= opened


def test_a_farm_without_a_plan_has_no_pack(tmp_path: Path) -> None:
    picture = farm(tmp_path)
    bare = replace(picture, farm=replace(picture.farm, money=None))
    with pytest.raises(BadInput):
        lender_pack(bare, money_given(bare))


# ---------------------------------------------------------------- the example farm


def test_every_number_of_the_example_farms_pack_opens(tmp_path: Path) -> None:
    picture = look(tmp_path / "farm", copy_example(example(), tmp_path / "farm"))
    pack = lender_pack(picture, money_given(picture))
    assert loose(picture, pack) == []
    for key in figures_of(pack):
        assert list(faults(why_of(picture, pack, key).opened)) == [], key
    assert "The dry thirties" in pack.cases.head
    assert any("Lease of the far field ends 31 Dec 2030" in words for words in pack.trees)
    assert "Carbon is in no sum: no signed contract is entered." in pack.notes
    assert re.search(r"In [1-9]\d* of 101 draws the loans are not covered", "\n".join(pack.first))
