"""The study of free-standing trees: what it makes of drawn trees, and that its page says its figures."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from browseline.canopy import book
from browseline.science.trees_open import median_size
from scripts import open_grown

COLUMNS = ("species_id", "scientific_name", "region", "age_yr", "dbh_cm", "height_m", "crown_diameter_m",
           "leaf_area_m2", "flag")  # fmt: skip
FIGURES = list(csv.DictReader(open_grown.OUT.read_text("utf-8").splitlines()))
SUMS = [row for row in FIGURES if row["species"] == "all"]


def drawn(folder: Path, trees: int = 3000, wrong: float = 1.0) -> Path:
    """Write maples drawn from the fits of one city, stems too thick by some factor; return the shelf."""
    fits = {r: book.nearest(f, ("TpIntW",))[0].relation for r, f in book.fits("maple_silver").items()}
    rng = np.random.default_rng(7)
    age = rng.uniform(10, 85, trees)

    def around(relation: str, x: np.ndarray) -> np.ndarray:
        middle = median_size(fits[relation], x)
        return np.asarray(middle * np.exp(rng.normal(0, fits[relation].log_mse ** 0.5, trees)))

    stem = around(book.STEM, age) * wrong
    rest = [around(r, stem) for r in (book.HEIGHT, book.CROWN, book.LEAF)]
    (folder / "trees").mkdir()
    with (folder / "trees" / "open_grown_raw.csv").open("w", encoding="utf-8", newline="") as file:
        lines = csv.writer(file)
        lines.writerow(COLUMNS)
        for numbers in zip(age, stem, *rest, strict=True):
            lines.writerow(["maple_silver", "Acer saccharinum", "TpIntW", *numbers, ""])
        lines.writerow(["maple_silver", "Acer saccharinum", "TpIntW", 20, 900, 900, 900, 900, "wrong"])
        lines.writerow(["", "Acer rubrum", "TpIntW", 20, 900, 900, 900, 900, ""])
    return folder


def of(reference: Path, way: str, by_age: bool) -> dict[str, open_grown.Judged]:
    return {q: j for name, q, j in open_grown.table(reference, way, by_age) if name == "all"}


def test_trees_drawn_from_the_fits_lie_in_the_range_they_were_drawn_from(tmp_path: Path) -> None:
    for found in (of(drawn(tmp_path), "own city", by_age) for by_age in (True,)):
        assert set(found) == {"stem", "height", "crown", "leaf area"}
        for quantity, judged in found.items():
            assert judged.held == pytest.approx(0.80, abs=0.03), quantity
            assert abs(judged.bias) < 0.05
            assert judged.error < judged.error_of_mean
        assert found["stem"].measured.size == 3000


def test_trees_that_grow_otherwise_are_seen_as_bias_and_fall_out_of_the_range(tmp_path: Path) -> None:
    stem = of(drawn(tmp_path, wrong=2.0), "own city", True)["stem"]
    assert stem.bias == pytest.approx(-0.5, abs=0.03)
    assert stem.held < 0.1


def test_another_city_never_judges_by_its_own_row(tmp_path: Path) -> None:
    rows = open_grown.trees(drawn(tmp_path, 300))["maple_silver", "TpIntW"]
    own = open_grown.judge(rows, "own city", "TpIntW", book.STEM, True)
    other = open_grown.judge(rows, "other city", "TpIntW", book.STEM, True)
    assert own is not None
    assert other is not None
    assert not np.allclose(own.said[: other.said.size], other.said)
    assert "TpIntW" not in open_grown.cities_for("other city", "TpIntW")
    assert open_grown.cities_for("own city", "TpIntW") == ("TpIntW",)


def test_every_sum_holds_three_quarters_to_85_percent_but_the_one_that_the_page_names() -> None:
    out = [(r["asked"], r["way"], r["quantity"]) for r in SUMS if not 0.75 <= float(r["held"]) <= 0.85]
    assert out == [("stem", "pooled", "crown")]
    assert len(SUMS) == 21


@pytest.mark.parametrize("row", SUMS, ids=lambda r: f"{r['asked']}, {r['way']}, {r['quantity']}")
def test_the_page_says_what_was_computed(row: dict[str, str]) -> None:
    page = open_grown.OUT.with_name("trees.md").read_text("utf-8")
    shares = " | ".join(f"{float(row[c]):.1%}" for c in ("error", "error_of_mean", "held"))
    first = " | ".join(row[c] for c in ("asked", "way", "quantity", "trees"))
    assert f"| {first} | {float(row['bias']):+.1%} | {shares} |" in page


def test_the_page_names_every_case_that_is_no_better_than_the_mean() -> None:
    worse = {(r["asked"], r["quantity"], r["species"]) for r in FIGURES if r["better"] == "no"}
    assert {r["way"] for r in FIGURES if r["better"] == "no"} == {"other city"}
    assert worse == {
        ("age", "height", "mulberry"), ("age", "height", "tulip_poplar"), ("age", "crown", "mulberry"),
        ("age", "crown", "plum"), ("age", "leaf area", "apple_standard"), ("age", "leaf area", "mulberry"),
        ("age", "leaf area", "pine_loblolly"), ("age", "leaf area", "tulip_poplar"),
        ("stem", "height", "mulberry"), ("stem", "leaf area", "apple_standard"),
        ("stem", "leaf area", "locust_black"), ("stem", "leaf area", "mulberry"),
        ("stem", "leaf area", "pine_loblolly"), ("stem", "leaf area", "pine_white"),
    }  # fmt: skip
