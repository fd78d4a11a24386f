"""What a page names goes by its name, not by its id, its code or a unit that nobody here speaks."""

from __future__ import annotations

from pathlib import Path

import pytest

from browseline.chain import Picture, look
from browseline.chain.keys import figures_of
from browseline.chain.pages import PAGES
from browseline.chain.purpose import purposes
from browseline.chain.why import Opened, called, why_of
from browseline.cli.demo import copy_example, example


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    folder: Path = tmp_path_factory.mktemp("called") / "farm"
    return look(folder, copy_example(example(), folder))


def every(one: Opened) -> list[Opened]:
    return [one, *(deeper for part in one.parts for deeper in every(part))]


def test_why_names_mobs_paddocks_and_swards(demo: Picture) -> None:
    assert called(demo, "heifers") == "Heifers"
    assert called(demo, "7") == "Stile"
    assert called(demo, "mixed_cool") == "mixed cool-season pasture"
    assert called(demo, "what is no id") == "what is no id"
    page = PAGES["today"].make(demo)
    keys = [key for key in figures_of(page) if key.startswith("today.mobs.heifers.lines.grass")]
    told = {one.about for key in keys for one in every(why_of(demo, page, key).opened)}
    assert {"Heifers", "Stile", "mixed cool-season pasture"} <= told
    assert not told & {"heifers", "7", "mixed_cool"}


def test_stays_tell_animals_as_people_call_them(demo: Picture) -> None:
    rows = PAGES["record"].make(demo).rows
    assert any("46 dairy heifers" in row.classes for row in rows)
    assert all("dairy heifer" not in row.classes.replace("dairy heifers", "") for row in rows)


def test_a_reach_is_told_in_the_units_of_the_farm(demo: Picture) -> None:
    goat = next(row for row in purposes(demo).kinds if row.kind == "goat")
    assert "5.9 ft" in goat.harms
    assert " m" not in goat.harms
