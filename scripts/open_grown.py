"""Hold the growth of trees to measured free-standing trees and print bias, error and coverage.

    python -m scripts.open_grown [REFERENCE] [--write]

REFERENCE is the folder of the reference shelf, ../shared/reference beside the repository unless given; its
``trees/open_grown_raw.csv`` is read in place and nothing of it is copied. Three ways of asking:

- *own city*: the fit of the city where the tree stands. It was made from these trees: a check of the
  reading and of the ranges, no forecast.
- *other city*: the city nearest in climate but the tree's own, as a farm is served; no tree of the city
  that is judged was used in the row that judges.
- *pooled*: the fit of all cities, as a farm without weather is served; the judged trees are in it.

Bias and error (mean absolute) are shares of the mean size of the trees judged. *mean* is the error of
saying the species' mean size of every tree, whatever its age or stem. The range is the 80 % range of one
tree. With --write the figures, and only they, go to docs/science/tree_figures.csv.
"""

from __future__ import annotations

import argparse
import csv
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from browseline.canopy import book, climate, curves
from browseline.canopy.book import CROWN, HEIGHT, LEAF, STEM
from browseline.science.trees_open import median_size

ROOT = Path(__file__).resolve().parent.parent
OUT = ROOT / "docs" / "science" / "tree_figures.csv"
SIZES = {STEM: "dbh_cm", HEIGHT: "height_m", CROWN: "crown_diameter_m", LEAF: "leaf_area_m2"}
WORDS = {STEM: "stem", HEIGHT: "height", CROWN: "crown", LEAF: "leaf area"}
WAYS = ("own city", "other city", "pooled")
Array = NDArray[np.float64]


@dataclass(frozen=True)
class Judged:
    """What was measured and what was said of trees of one species and one quantity."""

    measured: Array
    said: Array
    low: Array
    high: Array

    @property
    def bias(self) -> float:
        """Return mean of said less measured over mean measured. [1]"""
        return float((self.said - self.measured).mean() / self.measured.mean())

    @property
    def error(self) -> float:
        """Return mean absolute error over mean measured. [1]"""
        return float(np.abs(self.said - self.measured).mean() / self.measured.mean())

    @property
    def error_of_mean(self) -> float:
        """Return the error of saying the mean size of these trees of each. [1]"""
        return float(np.abs(self.measured - self.measured.mean()).mean() / self.measured.mean())

    @property
    def held(self) -> float:
        """Return the share of trees inside their range. [1]"""
        return float(((self.low <= self.measured) & (self.measured <= self.high)).mean())


def number(text: str) -> float:
    """Return a number, NaN where nothing stands."""
    return float(text) if text.strip() else np.nan


def trees(reference: Path) -> dict[tuple[str, str], list[dict[str, str]]]:
    """Return the measured trees of our species by species and city; flagged readings are left out."""
    out: dict[tuple[str, str], list[dict[str, str]]] = defaultdict(list)
    with (reference / "trees" / "open_grown_raw.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            if row["species_id"] and not row["flag"]:
                out[row["species_id"], row["region"]].append(row)
    return out


def cities_for(way: str, city: str) -> tuple[str, ...]:
    """Return the cities to ask, nearest first."""
    if way == "pooled":
        return ()
    cold, warm, rain = climate.climate_of(city)
    near = climate.by_climate(cold, warm, float(np.exp(rain)))
    return tuple(c for c in near if (c == city) == (way == "own city"))


def judge(rows: list[dict[str, str]], way: str, city: str, relation: str, by_age: bool) -> Judged | None:
    """Return what one way says of the trees of one species and city, inside the data of its fit."""
    grown = curves.curve_of(rows[0]["species_id"], cities_for(way, city))
    if not isinstance(grown, curves.OpenGrown) or relation not in grown.near:
        return None
    if way == "own city" and grown.near[relation].region != city:
        return None
    if way == "other city" and grown.near[relation].region in (city, book.POOLED):
        return None
    used = [row for row in rows if row["scientific_name"] == grown.near[relation].row["scientific_name"]]
    age, stem, size = (np.array([number(r[c]) for r in used]) for c in ("age_yr", "dbh_cm", SIZES[relation]))
    by_age = by_age or relation == STEM
    x = age if by_age else stem
    first = grown.near[STEM if by_age else relation].relation if STEM in grown.near or not by_age else None
    if first is None:
        return None
    good = np.isfinite(size) & (x >= first.x_min) & (x <= first.x_max) & (size > 0)
    if not good.any():
        return None
    return _judged(size[good], *_said(grown, relation, x[good], by_age, way))


def _said(
    grown: curves.OpenGrown, relation: str, x: Array, by_age: bool, way: str
) -> tuple[Array, Array, Array | float]:
    """Return the median, and the variances of the log of one tree and of sites."""
    if not by_age:
        said = median_size(grown.near[relation].relation, x)
        return said, grown.own_variance(relation, x), 0.0 if way == "own city" else grown.sites[relation]
    stem = grown.stem_cm(x, 0.0)
    tall, wide = grown.height_m(stem, x), grown.crown_m(stem)
    said = {STEM: stem, HEIGHT: tall, CROWN: wide, LEAF: grown.leaf_m2(stem, wide)}[relation]
    variance = grown.tree_variances(stem, x)[relation]
    if way == "own city":
        return said, variance, 0.0
    site: Array | float = grown.sites[relation]
    if relation != STEM:
        site = site + grown.steepness(relation, stem) ** 2 * grown.sites[STEM]
    return said, variance, site


def _judged(size: Array, median: Array, tree: Array, site: Array | float) -> Judged:
    spread = np.exp(curves.SPREAD_80 * np.sqrt(tree + site))
    return Judged(size, median * np.exp(tree / 2), median / spread, median * spread)


def together(parts: Iterable[Judged]) -> Judged:
    """Return several as one."""
    columns = zip(*((p.measured, p.said, p.low, p.high) for p in parts), strict=True)
    return Judged(*(np.concatenate(x) for x in columns))


def table(reference: Path, way: str, by_age: bool) -> Iterator[tuple[str, str, Judged]]:
    """Yield species, quantity and what was judged; the species *all* last."""
    measured = trees(reference)
    species = sorted({name for name, _ in measured})
    for relation in book.RELATIONS:
        if relation == STEM and not by_age:
            continue
        everything = []
        for name in species:
            own = [(city, rows) for (s, city), rows in measured.items() if s == name]
            found = [judge(rows, way, city, relation, by_age) for city, rows in own]
            parts = [p for p in found if p is not None]
            if parts:
                everything.append(together(parts))
                yield name, WORDS[relation], everything[-1]
        if everything:
            yield "all", WORDS[relation], together(everything)


COLUMNS = ("asked", "way", "species", "quantity", "trees", "bias", "error", "error_of_mean", "held", "better")


def figures(reference: Path) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the figures: shares to three places."""
    for by_age in (True, False):
        for way in WAYS:
            for name, quantity, j in table(reference, way, by_age):
                shares = (f"{x:.3f}" for x in (j.bias, j.error, j.error_of_mean, j.held))
                better = "yes" if j.error < j.error_of_mean else "no"
                yield (
                    "age" if by_age else "stem",
                    way,
                    name,
                    quantity,
                    str(j.measured.size),
                    *shares,
                    better,
                )


def main() -> None:
    """Print the figures as tables in Markdown, or write them."""
    parser = argparse.ArgumentParser(description="growth of trees against measured free-standing trees")
    parser.add_argument("reference", nargs="?", type=Path, default=ROOT.parent / "shared" / "reference")
    parser.add_argument("--write", action="store_true", help="write docs/science/tree_figures.csv")
    asked = parser.parse_args()
    reference = asked.reference
    if asked.write:
        with OUT.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows([COLUMNS, *figures(reference)])
        return
    for by_age in (True, False):
        for way in WAYS:
            print(f"\n### {'By age' if by_age else 'By measured stem'}, {way}\n")
            print("| species | quantity | trees | bias | error | mean | in 80 % range |")
            print("|---|---|---|---|---|---|---|")
            for name, quantity, j in table(reference, way, by_age):
                worse = " (no better)" if j.error >= j.error_of_mean else ""
                print(
                    f"| {name} | {quantity} | {j.measured.size} | {j.bias:+.0%} | {j.error:.0%}{worse} |"
                    f" {j.error_of_mean:.0%} | {j.held:.0%} |"
                )


if __name__ == "__main__":
    main()
