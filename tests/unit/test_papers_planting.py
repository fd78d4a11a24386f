"""The drawing of rows and the planting list: shares among crews, tables, and what a PDF says."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from datetime import date

import pytest
from defusedxml import ElementTree
from pypdfium2 import PdfDocument

from browseline.farm.records import Farm, LayoutRule
from browseline.layout import Layout, lay_out
from browseline.papers.plan import drawing, drawing_png
from browseline.papers.planting import (
    TEMPLATE,
    ends_of_shares,
    planting_data,
    planting_list,
    rows_csv,
    trees_csv,
)
from browseline.papers.sheets import pages, pdf
from tests.layout_farms import box, farm, line, outline, planting, point, q

FT = 0.3048
DAY = date(2026, 11, 2)
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def made() -> tuple[Farm, Layout]:
    """Return 6 rows of 21 pears, two cultivars, 20 ft off a field's fence of 240 x 440 ft."""
    rule = LayoutRule(from_fence=q("20 ft"), from_overhead=q("0 m"))
    grove = planting(rule=rule, name="Pears <old>", cultivars=("=A", "B"), guard="mesh cage, two posts")
    field = outline("1", box(240 * FT, 440 * FT))
    power = line("Power", "overhead_line", [(-80, 64), (80, 64)])
    one = farm(field, [grove], power, point("gate", "gate", (-36.0, 0.0)))
    return one, lay_out(one)


@pytest.mark.parametrize(
    ("counts", "crews", "ends"),
    [
        ([21] * 6, 3, [42, 84, 126]),
        ([21] * 6, 4, [32, 63, 94, 126]),  # 31.5 is half a row from any end: inside a row
        ([20, 21, 22], 3, [20, 41, 63]),  # shares of 21 take the ends of rows near them
        ([5], 8, [1, 1, 2, 2, 3, 4, 4, 5]),
        ([], 2, [0, 0]),
    ],
)
def test_shares(counts: list[int], crews: int, ends: list[int]) -> None:
    assert ends_of_shares(counts, crews) == ends


@pytest.mark.parametrize("crews", [1, 2, 3, 4, 7, 40])
def test_every_tree_is_planted_once(made: tuple[Farm, Layout], crews: int) -> None:
    told = planting_list(*made, DAY, crews)
    trees = list(csv.DictReader(io.StringIO(trees_csv(made[1], told))))
    assert [row["tree"] for row in trees] == [made[1].tree_name(n) for n in range(126)]
    assert sum(w.trees for w in told.by_crew) == 126
    shares = [w.trees for w in told.by_crew]
    assert max(shares) - min(shares) <= 21
    assert sum(n for w in told.by_crew for _, n in w.kinds) == 126
    assert sum(n for w in told.by_crew for _, n in w.guards) == 126


def test_a_row_is_found_from_fence_and_row_before(made: tuple[Farm, Layout]) -> None:
    """20 ft from the fence behind; the first row 20 ft from the fence on its left, the others 40 ft apart."""
    told = planting_list(*made, DAY)
    assert [s.behind_m for s in told.spans] == pytest.approx([20 * FT] * 6, abs=0.01)
    assert [s.left_m for s in told.spans] == pytest.approx([20 * FT, *[40 * FT] * 5], abs=0.01)


def test_rows_as_csv_keep_numbers_and_guard_words(made: tuple[Farm, Layout]) -> None:
    text = rows_csv(planting_list(*made, DAY, 2))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(r["crew"], r["row"], r["trees"]) for r in rows] == [
        (str(1 + (n > 3)), f"trees/{n}", "21") for n in range(1, 7)
    ]
    assert rows[0]["cultivars"] == "'=A"  # a spreadsheet must not read it as a formula
    assert float(rows[0]["first_longitude_deg"]) < -45
    assert float(rows[0]["in_row_m"]) == pytest.approx(6.1)


def test_cultivars_in_turn_are_counted(made: tuple[Farm, Layout]) -> None:
    one = replace(made[0], planned=(replace(made[0].planned[0], cultivars=tuple("abcdefg")),))
    told = planting_list(one, lay_out(one), DAY)
    assert [n for _, n in told.by_crew[0].kinds] == [18] * 7


def test_only_what_is_to_be_planted_is_listed(made: tuple[Farm, Layout]) -> None:
    stands = replace(made[0].planned[0], id="old", name="Old", planned=False, paddock=None)
    row = line("old-1", "tree_row", [(0, -20), (0, 20)], "old")
    one = replace(made[0], plantings=(stands,), shapes=(*made[0].shapes, row))
    layout = lay_out(one)
    assert planting_list(one, layout, DAY).plantings == ("Pears <old>",)
    assert planting_list(one, layout, DAY, plantings=["old"]).plantings == ("Old",)


def test_the_pdf_says_rows_crews_and_cautions(made: tuple[Farm, Layout]) -> None:
    told = planting_list(*made, DAY, 2)
    data = planting_data(*made, told)
    done = pdf(TEMPLATE, data)
    assert pdf(TEMPLATE, data) == done
    document = PdfDocument(done)
    text = " ".join(" ".join(p.get_textpage().get_text_bounded() for p in document).split())
    assert len(document) == pages(TEMPLATE, data) == 4
    for part in (
        "Pears <old>",
        "Crew 1: 63 trees",
        "Crew 2: 63 trees",
        "trees/6",
        "2 Nov 2026",
        "=A",
        "Power",
    ):
        assert part in text, part
    assert "Have buried lines marked" in text


def test_the_drawing_has_scale_north_legend_and_no_place(made: tuple[Farm, Layout]) -> None:
    picture = drawing(*made)
    tree = ElementTree.fromstring(picture.svg)
    words = [node.text or "" for node in tree.iter(f"{SVG}text")]
    assert "North" in words
    assert any(word.endswith(" ft") for word in words)
    assert any("Pears <old>: 6 rows, 126 places" in word for word in words)
    assert {"overhead line", "gate", "paddock"} <= set(words)
    assert re.search(r"\d\.\d{4}", picture.svg) is None  # a place on Earth needs more decimals
    assert picture.says == "Drawing of Case: 6 rows with 126 places for trees. North is up."


def test_the_drawing_is_in_greys_only(made: tuple[Farm, Layout]) -> None:
    colours = set(re.findall(r"#[0-9a-fA-F]{6}", drawing(*made).svg))
    assert colours
    assert all(c[1:3] == c[3:5] == c[5:7] for c in colours)


def test_stems_stand_in_the_drawing_as_on_the_ground(made: tuple[Farm, Layout]) -> None:
    """Disc beside disc 20 ft apart on the scale that the bar tells; 126 of them."""
    svg = drawing(*made).svg
    (path,) = [p for p in re.findall(r'<path d="([^"]*)"', svg) if p.count("a") > 100]
    spots = [tuple(map(float, m)) for m in re.findall(r"M([\d.]+) ([\d.]+)a", path)]
    assert len(spots) == 126
    bar = [float(w) for w in re.findall(r'<rect x="[\d.]+" y="[\d.]+" width="([\d.]+)" height="7"', svg)]
    length = float(re.findall(r">([\d.]+) ft</text>", svg)[0])
    per_ft = sum(bar) / length
    assert abs(spots[1][1] - spots[0][1]) == pytest.approx(20 * per_ft, abs=0.1)
    assert abs(spots[21][0] - spots[0][0]) == pytest.approx(40 * per_ft, abs=0.1)


def test_png_is_a_picture_of_its_size(made: tuple[Farm, Layout]) -> None:
    picture = drawing(*made)
    data = drawing_png(picture, 72.0)
    assert data.startswith(b"\x89PNG")
    wide, deep = (int.from_bytes(data[at : at + 4], "big") for at in (16, 20))
    assert wide == 1000
    assert deep == pytest.approx(picture.deep_pt, abs=1)


def test_one_planting_is_drawn_alone(made: tuple[Farm, Layout]) -> None:
    whole, part = drawing(*made), drawing(*made, ["trees"])
    assert "126 places" in part.says
    none = drawing(*made, [])
    assert "0 places" in none.says
    assert whole.says == part.says
