"""Decisions of the years ahead: one line each, grouped, the soonest first, the rest after them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from browseline.chain.decades_windows import MOST_SHOWN, window_lines
from browseline.chain.years_ahead import projection_of
from browseline.decades.form import Projection, Window
from browseline.farm.records import Farm, Planting
from browseline.words import links_of
from tests import small_farm

ROWS = tuple(Planting(ident, f"Row {ident.upper()}", "pecan", "2", 2010, 60) for ident in "abcdefghijkl")


@pytest.fixture(scope="module")
def made() -> tuple[Farm, Projection]:
    farm = replace(small_farm.farm(weather=True), plantings=ROWS)
    picture = small_farm.look(farm, small_farm.state(farm), members=5)
    return picture.farm, projection_of(picture, 2, 5)


def window(kind: str, about: str, likely: int, share: float = 1.0, because: str = "Why.") -> Window:
    return Window(kind, about, likely - 1, likely, likely + 2, share, because)  # type: ignore[arg-type]


def told(made: tuple[Farm, Projection], *windows: Window) -> tuple[list[str], list[str]]:
    farm, ahead = made
    near, later = window_lines(farm, replace(ahead, windows=windows))
    return [str(one.words) for one in near], [str(one.words) for one in later]


def test_rows_with_one_reason_and_near_years_are_one_decision(made: tuple[Farm, Projection]) -> None:
    near, later = told(
        made, window("thin", "a", 2036), window("thin", "b", 2034, 0.4), window("thin", "c", 2044),
        window("thin", "d", 2035, because="Another reason."),
    )  # fmt: skip
    assert later == []
    assert near == [
        "2033 to 2038, likely 2034, thin: Row B (40 %) and Row A (100 %). Why.",
        "2034 to 2037, likely 2035, thin: Row D (100 %). Another reason.",
        "2043 to 2046, likely 2044, thin: Row C (100 %). Why.",
    ]


def test_light_is_no_decision_and_what_hardly_comes_stands_last(made: tuple[Farm, Projection]) -> None:
    near, later = told(
        made, window("light", "2", 2027), window("guards", "a", 2028, 0.05), window("thin", "b", 2040)
    )
    assert [one.split(", ")[2] for one in near] == ["thin: Row B (100 %). Why."]
    assert [re.search(r"Row \w", one)[0] for one in later] == ["Row A"]  # type: ignore[index]


def test_only_the_soonest_stand_first(made: tuple[Farm, Projection]) -> None:
    near, later = told(
        made, *(window("thin", row.id, 2030 + 5 * n) for n, row in reversed(list(enumerate(ROWS))))
    )
    assert len(near) == MOST_SHOWN
    assert len(near) + len(later) == len(ROWS)
    found = [int(one[:4]) for one in (*near, *later)]
    assert found == sorted(found)


def test_every_year_and_share_of_a_decision_opens(made: tuple[Farm, Projection]) -> None:
    farm, ahead = made
    windows = (window("thin", "a", 2036), window("thin", "b", 2034, 0.4))
    (line,), _ = window_lines(farm, replace(ahead, windows=windows))
    opened = {line.words[link.start : link.end] for link in links_of(line.words)}
    assert opened == {"2033", "2034", "2038", "40 %", "100 %"}
    assert all(link.to in line.figures for link in links_of(line.words))
