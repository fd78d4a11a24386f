"""Answers for a planner's office, typed in ``[review]``: on the plan; what is not typed stays blank."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline.chain import Picture, look
from browseline.chain.keys import figures_of
from browseline.farm.read import read_or_raise
from browseline.farm.review import WORDS, Review
from browseline.farm.text import text_of
from browseline.papers.planner_form import PlannerPlan
from browseline.papers.planner_print import planner_data, planner_of, planner_text
from browseline.papers.sheets import pdf
from browseline.words import links_of
from tests.acceptance.test_p14_balance import year
from tests.loose import loose

ROWS = [
    {
        "id": "oaks",
        "name": "Oaks",
        "species": "oak_swamp_white",
        "paddock": "1",
        "planted": 2019,
        "trees": 90,
    },
    {"id": "nuts", "name": "Nuts", "species": "walnut_black", "paddock": "2", "planted": 2016, "trees": 40},
]
ANSWERS: dict[str, Any] = {
    "purpose": "shade for ewes, nuts in 20 years", "programme": "the county's tree share",
    "programme_rules": date(2025, 10, 1), "who_decides": "the keeper; a sister stands in",
    "drought": "half the lambs go in July", "flood": "all stock to the top field",
    "fences": "the keeper, each Sunday", "water_lines": "the keeper, each spring",
    "guards": "after each stay", "key_areas": ["1", "the wet corner of 12"],
    "thinning": {"oaks": "crowns cover 40 %"},
}  # fmt: skip
ASKED = {
    "purpose": ("purpose", "what the land and the trees are for"),
    "who_decides": ("contingency", "who decides, and who stands in"),
    "drought": ("contingency", "when stock is sold or moved in a drought, and where to"),
    "flood": ("contingency", "where stock goes in flood, fire or a long power cut"),
    "fences": ("upkeep", "fences: who checks them, how often"),
    "water_lines": ("upkeep", "water lines: who checks them, how often"),
    "guards": ("upkeep", "tree guards: who checks them, how often"),
}  # fmt: skip


def answered(folder: Path, review: dict[str, Any]) -> tuple[Picture, PlannerPlan]:
    """Return a farm with two plantings and its plan after the answers were typed."""
    before = year(folder, plantings=ROWS)
    path = folder / "farm.toml"
    held = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    path.write_text(tomlkit.dumps(held | ({"review": review} if review else {})), encoding="utf-8")
    picture = look(folder, before.now)
    return picture, planner_of(picture, None)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> tuple[Picture, PlannerPlan]:
    return answered(tmp_path_factory.mktemp("full"), ANSWERS)


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> PlannerPlan:
    return answered(tmp_path_factory.mktemp("bare"), {})[1]


@pytest.mark.parametrize("key", sorted(ASKED))
def test_a_word_that_is_typed_stands_where_its_blank_was(
    full: tuple[Picture, PlannerPlan], bare: PlannerPlan, key: str
) -> None:
    section, what = ASKED[key]
    assert what in bare.blanks
    assert what not in full[1].blanks
    (line,) = [line for line in full[1].section(section).lines if line.startswith(f"{what}: ")]
    assert line == f"{what}: {ANSWERS[key]}"
    assert len(links_of(line)) == 1
    assert f"____ (not supplied): {what}" in bare.section(section).lines


def test_the_programme_stands_with_the_day_of_its_rules(
    full: tuple[Picture, PlannerPlan], tmp_path: Path
) -> None:
    told = "which programme asks: the county's tree share; the date of its rules: "
    assert f"{told}1 Oct 2025" in full[1].section("purpose").lines
    _, without = answered(tmp_path, {"programme": "the county's tree share"})
    assert f"{told}____ (not supplied)" in without.section("purpose").lines
    assert "the date of the programme's rules" in without.blanks
    assert "which programme asks, and the date of its rules" not in without.blanks


def test_thinning_is_told_by_planting_and_what_is_not_typed_stays_blank(
    full: tuple[Picture, PlannerPlan], bare: PlannerPlan
) -> None:
    lines = full[1].section("trees").lines
    assert "what triggers thinning of Oaks: crowns cover 40 %" in lines
    assert "____ (not supplied): what triggers thinning of Nuts" in lines
    assert "what triggers thinning of Nuts" in full[1].blanks
    assert bare.section("trees").lines == ("____ (not supplied): what triggers thinning, by planting",)


def test_key_areas_are_paddocks_by_their_names_or_places_in_words(full: tuple[Picture, PlannerPlan]) -> None:
    told = "key areas that are watched each year: 1 and the wet corner of 12"
    assert told in full[1].section("monitoring").lines


def test_every_number_opens_and_the_paper_prints(full: tuple[Picture, PlannerPlan]) -> None:
    picture, plan = full
    assert [line for line in loose(picture, plan) if "review" in line or "40 %" in line] == []
    assert figures_of(plan)
    assert pdf("planner-1", planner_data(plan)).startswith(b"%PDF")
    assert "half the lambs go in July" in planner_text(plan)


def test_the_text_of_the_farm_reads_back_the_same(full: tuple[Picture, PlannerPlan], tmp_path: Path) -> None:
    farm = full[0].farm
    assert farm.review.trigger("oaks") == "crowns cover 40 %"
    assert all(getattr(farm.review, name) == ANSWERS[name] for name in WORDS)
    (tmp_path / "farm.toml").write_text(text_of(farm), encoding="utf-8")
    assert read_or_raise(tmp_path).review == farm.review
    assert read_or_raise(answered(tmp_path / "bare", {})[0].folder).review == Review()
