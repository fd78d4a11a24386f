"""Sizes through the years: by the book, by what was measured, by neighbours and the saw."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from browseline import tables
from browseline.canopy import TreeWork, book, crowns_after, curves
from browseline.canopy.climate import by_climate, cities, nearest_cities
from browseline.canopy.growing import QUANTITIES
from browseline.science.trees_height import height_ft
from browseline.units import parse
from tests.small_farm import farm, state
from tests.unit.canopy.trees_farm import MEMBERS, YEARS, cut, grown, measured, two_rows, walnuts, with_trees

SPECIES = [row["species_id"] for row in tables.texts("tree_kinds")]
LINES = Path(__file__).with_name("mature.csv").read_text("utf-8").splitlines()
MATURE = {row["species_id"]: row for row in csv.DictReader(LINES)}


def test_all_35_species_are_there() -> None:
    path = Path(tables.__file__).parent / "data" / "tree_site.csv"
    listed = [row["species_id"] for row in csv.DictReader(path.read_text("utf-8").splitlines())]
    assert listed == SPECIES
    assert len(SPECIES) == 35


@pytest.mark.parametrize("species", SPECIES)
def test_every_species_grows_from_nothing_and_never_shrinks(species: str) -> None:
    sizes = grown(
        with_trees(walnuts(species=species, planted=2026, spacing=None, alley=None)), years=range(2024, 2067)
    )
    for quantity in QUANTITIES:
        size = getattr(sizes, quantity)[:, :, 0]
        assert (size[:2] == 0).all()
        assert (np.diff(size, axis=0) >= -1e-9).all()
        assert (size[-1] > 0).all()
    assert (sizes.base_m < sizes.height_m)[3:].all()
    assert (sizes.height_m[-1] < 80).all()


@pytest.mark.parametrize("species", SPECIES)
def test_grown_trees_lie_near_the_sizes_of_the_list(species: str) -> None:
    """Mature height of species.csv (recalled) against the middle at 60 years; some stop where data stop.

    The trees that stand for plum are cherry plums in cities, which are taller.
    """
    sizes = grown(with_trees(walnuts(species=species, planted=2026, spacing=None, alley=None)), years=(2086,))
    low, high = (float(MATURE[species][c]) for c in ("height_low_m", "height_high_m"))
    middle = sizes.expected("height_m", "nuts")[1, 0]
    assert 0.4 * low < middle < (1.6 if species == "plum" else 1.35) * high


def test_trees_measured_in_a_like_climate_are_used() -> None:
    assert nearest_cities(farm()) == ()
    near = nearest_cities(with_trees())
    assert set(near) == set(cities())
    assert near[0] in ("LoMidW", "NoEast")
    for city in cities():
        cold, warm, rain = (
            tables.row("trees", f"city_{p}", city).middle() for p in ("coldest", "warmest", "rain")
        )
        assert by_climate(cold, warm, rain)[0] == city


def test_a_city_with_weak_or_only_young_data_is_passed_over() -> None:
    options = book.fits("locust_honey")[book.STEM]
    assert {f.region for f in options if "weak" in f.row["note"]} == {"InlVal"}
    near, pooled = book.nearest(options, ("InlVal", "MidWst", "NMtnPr"))
    assert (near.region, pooled.region) == ("NMtnPr", "all")
    assert book.nearest(options, ())[0].region == "all"


@pytest.mark.parametrize("species", ["walnut_black", "locust_honey"])
def test_the_range_of_a_farms_stem_is_that_of_sites(species: str) -> None:
    many = tuple(range(300))
    sizes = grown(with_trees(walnuts(species=species, planted=2005)), members=many, years=(2026,))
    found = float(np.log(sizes.stem_cm[0, :, 0]).std())
    assert found == pytest.approx(book.middle("between_sites", book.STEM), rel=0.2)


def test_measured_stems_pull_the_curve_and_narrow_its_range() -> None:
    plain = grown(with_trees(walnuts()))
    book_cm = plain.expected("stem_cm", "nuts")[:, 0]
    trees = tuple(measured(f"t{n}", "2026-05-04", dbh="7 in") for n in range(6))
    pulled = grown(with_trees(walnuts()), tree_sizes=trees)
    now = pulled.expected("stem_cm", "nuts")[:, 0]
    assert book_cm[1] < now[1] < 1.3 * 7 * 2.54
    assert np.log(now[2] / now[0]) < np.log(book_cm[2] / book_cm[0])
    learnt = pulled.learnt["nuts"]
    assert (learnt.trees, str(learnt.as_of)) == (6, "2026-05-04")
    figure = learnt.figure("nuts")
    assert figure.mark == "M"
    assert plain.learnt["nuts"].figure("nuts").mark == "B"
    assert (pulled.height_m[-1] > plain.height_m[-1]).mean() > 0.8


def test_a_measure_of_what_the_book_says_changes_nothing_but_the_range() -> None:
    plain = grown(with_trees(walnuts(planted=2006)), members=tuple(range(200)))
    curve = plain.learnt["nuts"].curve
    said = curve.stem_cm(np.array([2026 - 2006 + (124 - 182.5) / 365.25]), 4.0)[0]
    trees = tuple(measured(f"t{n}", "2026-05-04", dbh=f"{said:.4f} cm") for n in range(20))
    taught = grown(with_trees(walnuts(planted=2006)), tree_sizes=trees).learnt["nuts"]
    assert taught.mean == pytest.approx(0, abs=1e-4)
    assert taught.variance < 0.2 * plain.learnt["nuts"].variance


def test_only_the_newest_measure_of_a_tree_counts() -> None:
    old, new = measured("a", "2026-05-02", dbh="9 in"), measured("a", "2026-05-05", dbh="1 in")
    both = grown(with_trees(walnuts()), tree_sizes=(new, old)).learnt["nuts"]
    one = grown(with_trees(walnuts()), tree_sizes=(new,)).learnt["nuts"]
    assert both == one
    assert one.mean < 0


def test_a_measured_height_stands_for_the_stem_that_carries_it() -> None:
    taught = grown(with_trees(walnuts()), tree_sizes=(measured("a", "2026-05-04", height="9 m"),)).learnt[
        "nuts"
    ]
    curve = taught.curve
    assert isinstance(curve, curves.OpenGrown)
    assert taught.mean > 0
    too_tall = grown(with_trees(walnuts()), tree_sizes=(measured("a", "2026-05-04", height="90 m"),))
    assert too_tall.learnt["nuts"].trees == 0


def test_measured_heights_choose_the_site_index_where_no_free_standing_trees_were_measured() -> None:
    """Shagbark hickory: the curve of Kentucky (SI-10) through 5 m at eight years, inverted by numbers."""
    hickory = walnuts(species="hickory_shagbark")
    trees = (measured("a", "2026-07-01", height="5 m"),)
    plain, sizes = grown(with_trees(hickory)), grown(with_trees(hickory), tree_sizes=trees)
    curve = sizes.learnt["nuts"].curve
    assert isinstance(curve, curves.ByHeight)
    assert curve.site_index_ft is not None
    printed = book.curve("SI-10")
    assert float(height_ft("carmean", curve.site_index_ft, 8.0, printed.b)) * 0.3048 == pytest.approx(
        5, abs=0.02
    )
    assert isinstance(plain.learnt["nuts"].curve, curves.ByHeight)
    assert plain.learnt["nuts"].curve.site_index_ft is None
    assert sizes.past_data.all()


def test_crowns_that_touch_share_the_ground_between_them() -> None:
    """Spacing and alley each times 1.1 (placeholder): no wider than the circle of that ground."""
    close = walnuts(planted=1980, spacing=parse("10 ft", "length"), alley=parse("20 ft", "length"))
    free = walnuts(planted=1980, spacing=None, alley=None)
    near, alone = grown(with_trees(close)), grown(with_trees(free))
    assert near.crown_m.max() < alone.crown_m.min()
    room = 1.1 * (10 * 20) ** 0.5 * 0.3048
    assert near.crown_m.max() == pytest.approx(room, rel=0.1)
    leaves = near.leaf_m2 / near.crown_m**2
    assert leaves[-1] == pytest.approx(alone.leaf_m2[-1] / alone.crown_m[-1] ** 2, rel=0.15)


def test_thinning_gives_crowns_room() -> None:
    close = walnuts(planted=2006, spacing=parse("10 ft", "length"), alley=parse("20 ft", "length"))
    planned = (TreeWork("nuts", 2028, "thinned", 50, planned=True),)
    full, thinned = grown(with_trees(close)), grown(with_trees(close), planned=planned)
    at = YEARS.index(2027)
    assert (thinned.crown_m[: at + 1] == full.crown_m[: at + 1]).all()
    assert (thinned.crown_m[-1] > full.crown_m[-1]).all()


def test_pruning_lifts_the_crown_and_takes_its_leaves() -> None:
    plain = grown(with_trees(walnuts(planted=2010)))
    lifted = grown(with_trees(walnuts(planted=2010)), trees_cut=(cut("pruned", "2026-05-03", height="8 ft"),))
    assert (lifted.base_m >= 8 * 0.3048 - 1e-9).all()
    depth = (lifted.height_m - lifted.base_m) / (plain.height_m - plain.base_m)
    assert lifted.leaf_m2 / plain.leaf_m2 == pytest.approx(depth)
    some = grown(with_trees(walnuts(planted=2010)), trees_cut=(cut("pruned", "2026-05-03", 50, "8 ft"),))
    assert some.base_m == pytest.approx((plain.base_m + lifted.base_m) / 2)


def test_planned_pruning_takes_no_more_than_half_of_the_height() -> None:
    planned = (TreeWork("nuts", 2030, "pruned", to_height_m=30.0, planned=True),)
    sizes = grown(with_trees(walnuts()), planned=planned)
    at = YEARS.index(2030)
    assert sizes.base_m[at] == pytest.approx(0.5 * sizes.height_m[at])


def test_pruning_of_one_row_leaves_the_other() -> None:
    sizes = grown(with_trees(two_rows()), trees_cut=(cut("pruned", "2026-05-03", height="6 ft", row="A"),))
    plain = grown(with_trees(two_rows()))
    assert (sizes.base_m[:, :, 0] > plain.base_m[:, :, 0]).any()
    assert (sizes.base_m[:, :, 1] == plain.base_m[:, :, 1]).all()


def test_rows_of_another_year_are_younger() -> None:
    sizes = grown(with_trees(two_rows()))
    assert [c.planted for c in sizes.cohorts] == [2018, 2020]
    assert (sizes.stem_cm[:, :, 0] > sizes.stem_cm[:, :, 1]).all()
    mean = sizes.mean("stem_cm", "nuts")
    assert (mean < sizes.stem_cm[:, :, 0]).all()
    assert (mean > sizes.stem_cm[:, :, 1]).all()


def test_where_the_data_end_it_is_said() -> None:
    old = grown(with_trees(walnuts(species="pine_slash", planted=1960)), years=(2026,))
    young = grown(with_trees(walnuts(species="pine_slash", planted=2016)), years=(2026,))
    assert old.past_data.all()
    assert not young.past_data.any()


def test_means_are_nan_where_no_tree_stands() -> None:
    sizes = grown(with_trees(walnuts()), trees_cut=(cut("felled", "2026-05-03", 100),), years=(2026,))
    assert np.isnan(sizes.mean("stem_cm", "nuts")).all()
    assert sizes.mean("stem_cm", "nuts").shape == (1, len(MEMBERS))


def test_a_size_can_answer_why() -> None:
    sizes = grown(with_trees(walnuts()))
    figure = sizes.figure("stem_cm", "nuts", 2030)
    assert figure.low is not None
    assert figure.value is not None
    assert figure.high is not None
    assert figure.low < figure.value < figure.high
    assert {o.source for o in figure.origins} == {"utd2016_raw;derived_here"}
    assert figure.mark == "B"
    guess = grown(with_trees(walnuts(species="chestnut_hybrid"))).figure("height_m", "nuts", 2030)
    assert guess.mark == "G"


def test_the_layout_can_ask_for_crowns() -> None:
    farm_ = with_trees(walnuts(spacing=None, alley=None))
    by_year = crowns_after(farm_)
    widths = [by_year(walnuts(), year) for year in (0, 5, 12, 25)]
    assert widths == sorted(w for w in widths if w is not None)
    many = tuple(range(400))
    sizes = grown(farm_, members=many, years=(2030,))
    assert widths[2] == pytest.approx(sizes.expected("crown_m", "nuts")[1, 0], rel=0.12)
    assert by_year(walnuts(species="no such tree"), 5) is None
    big = tuple(measured(f"t{n}", "2026-05-04", dbh="9 in") for n in range(9))
    pulled = crowns_after(farm_, state(farm_, tree_sizes=big))(walnuts(), 12)
    assert pulled is not None
    assert widths[2] is not None
    assert pulled > widths[2]


def test_the_leader_of_the_farms_file_counts_as_one_tree_until_one_is_measured() -> None:
    tall = with_trees(walnuts(leader=parse("8 m", "length")))
    typed = grown(tall).learnt["nuts"]
    assert typed.trees == 1
    assert typed.mean > 0
    measured_one = grown(tall, tree_sizes=(measured("a", "2026-05-04", dbh="1 in"),)).learnt["nuts"]
    assert measured_one.mean < 0


def test_a_stem_tells_more_than_a_height() -> None:
    plain = with_trees(walnuts(planted=2006))
    stem, tall = (
        grown(plain, tree_sizes=(measured("a", "2026-07-01", **{what: size}),)).learnt["nuts"]
        for what, size in (("dbh", "9 in"), ("height", "10 m"))
    )
    assert stem.variance < tall.variance
    assert tall.variance < grown(plain).learnt["nuts"].variance


def test_a_measure_in_a_named_row_is_held_against_that_rows_age() -> None:
    size = replace(measured("B7", "2026-07-01", dbh="3 in"), row="B")
    late = grown(with_trees(two_rows()), tree_sizes=(size,)).learnt["nuts"]
    early = grown(with_trees(two_rows()), tree_sizes=(replace(size, row="A"),)).learnt["nuts"]
    assert late.mean > early.mean
