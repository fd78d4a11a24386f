"""Logs, posts and cords of single trees, worked by hand from the printed rules and the rows of the table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from browseline.canopy import TreeSizes, TreeWork
from browseline.decades.felling import cut_up, taken_out
from browseline.decades.wood import posts_of, wood_ahead
from browseline.farm.future import Future, LogRule
from tests.unit.decades.orchard import MEMBERS, YEARS, farm, grown, planting

WALNUTS = planting("w", planted=1986, spacing=None, alley=None)
FT_M, IN_CM = 0.3048, 2.54


def tree(dbh_in: float, base_ft: float) -> TreeSizes:
    """Return trees all of one stem, one height and one crown's base."""
    sizes = grown(farm(WALNUTS), years=(2026, 2027), members=(0, 1))
    shape = sizes.stem_cm.shape
    return replace(
        sizes, stem_cm=np.full(shape, dbh_in * IN_CM), base_m=np.full(shape, base_ft * FT_M),
        height_m=np.full(shape, 20.0), scatter=np.zeros(sizes.scatter.shape),
    )  # fmt: skip


def log(dbh_in: float, base_ft: float, rule: LogRule = "doyle") -> float:
    return float(cut_up(farm(WALNUTS), tree(dbh_in, base_ft), WALNUTS, 0, Future(log_rule=rule)).log[0, 0])


@pytest.mark.parametrize(
    ("dbh_in", "base_ft", "board_ft"),
    [
        # Form class 78: the butt log of 16 ft ends at 0.78 of the stem, one of 8 ft an inch thicker (half an
        # inch in four feet). Doyle: (d - 4)^2 x length / 16.
        (20.0, 20.0, (20 * 0.78 - 4) ** 2),
        (20.0, 10.0, (20 * 0.78 + 1 - 4) ** 2 / 2),
        (20.0, 8.0, 0.0),
        # A small end under 10 in is no log: 9.36 in over 16 ft, but 10.36 in over 8 ft.
        (12.0, 20.0, 0.0),
        (12.0, 10.0, (12 * 0.78 + 1 - 4) ** 2 / 2),
        (11.0, 10.0, 0.0),
    ],
)
def test_a_log_by_doyle_at_form_class_78(dbh_in: float, base_ft: float, board_ft: float) -> None:
    assert log(dbh_in, base_ft) == pytest.approx(board_ft)


def test_a_log_in_solid_metres() -> None:
    """Smalian: the mean of both ends' sections times the length; 16 ft ending at 15.6 in begin at 17.6 in."""
    ends = [np.pi / 4 * (d * IN_CM / 100) ** 2 for d in (15.6, 17.6)]
    assert log(20.0, 20.0, "cubic") == pytest.approx(sum(ends) / 2 * 16 * FT_M, rel=1e-6)


def test_a_log_is_never_more_wood_than_the_stem() -> None:
    """A broken top: 20 in thick and 6 m tall holds 0.53 m3 at most; the log of 16 ft alone would be 0.68."""
    broken = replace(tree(20.0, 20.0), height_m=np.full((2, 2, 1), 6.0))
    stem = cut_up(farm(WALNUTS), broken, WALNUTS, 0, Future())
    np.testing.assert_allclose(stem.log_m3, stem.stem_m3)


def test_a_thick_locust_gives_no_more_posts_than_the_bulletin_says() -> None:
    assert posts_of(np.array(16 * IN_CM), np.array(50 * FT_M)) == pytest.approx(7.0)


def test_a_locust_that_is_a_log_is_no_posts_and_one_that_is_none_is_no_firewood() -> None:
    locust = planting("l", "locust_black", 1950, spacing=None, alley=None)
    made = farm(locust)
    sizes = grown(made, (TreeWork("l", 2040, "felled", 50, planned=True),))
    at = YEARS.index(2040)
    found = {one.product: one.amount[at] for one in wood_ahead(made, sizes, Future(), YEARS)}
    logs = cut_up(made, sizes, locust, 0, Future()).log[at] > 0
    assert logs.any()
    assert not found["posts"][logs].any() if "posts" in found else logs.all()
    assert (found["firewood"][logs] > 0).all()
    young = replace(locust, planted=2030)
    thin = grown(farm(young), (TreeWork("l", 2040, "felled", 50, planned=True),))
    small = {one.product: one.amount[at] for one in wood_ahead(farm(young), thin, Future(), YEARS)}
    slim = ~(cut_up(farm(young), thin, young, 0, Future()).log[at] > 0)
    assert slim.any()
    assert (small["posts"][slim] > 0).all()
    assert "firewood" not in small or not small["firewood"][slim].any()


def test_a_cord_holds_79_to_90_cubic_feet_and_each_future_draws_its_own() -> None:
    made = farm(WALNUTS)
    sizes = grown(made, (TreeWork("w", 2036, "felled", 40, planned=True),))
    at = YEARS.index(2036)
    cords = next(o.amount for o in wood_ahead(made, sizes, Future(), YEARS) if o.product == "firewood")[at]
    stem = cut_up(made, sizes, WALNUTS, 0, Future())
    solid_m3 = (stem.stem_m3 - stem.log_m3)[at] * taken_out(sizes, "w")[at].sum(axis=1)
    feet = solid_m3 / cords / FT_M**3
    assert len(feet) == len(MEMBERS)
    assert feet.min() == pytest.approx(79, abs=1.5)
    assert feet.max() == pytest.approx(90, abs=1.5)
