"""Light of the years ahead where numbers are small enough to follow: crowns, curves, weights, what is off."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from numpy.typing import NDArray

from benchmarks.decades_farm import start_of
from browseline.canopy import TreeSizes, grow_trees
from browseline.canopy.light import MONTH_LENGTH, clear_mj_m2_d
from browseline.decades.crowns import crowns_of, place_of
from browseline.decades.light import Answers, Curve, _curve, _off, _typed, light_ahead, month_light
from browseline.decades.light_asked import (
    AGE,
    CHECK,
    STRETCH,
    WIDER,
    Asked,
    _Ask,
    _at,
    _other,
    _seen,
    _wide,
    ages_wanted,
    eras,
    member_trees,
)
from browseline.decades.start import Start
from browseline.farm.records import Farm, Paddock, Promise
from browseline.record.state import State
from browseline.units import parse
from tests.unit.decades.orchard import NOW, farm, grown, planting

Array = NDArray[np.float64]
YEARS = (2026, 2027)


def sized(of: Farm, crown_m: tuple[float, ...], height_m: tuple[float, ...], leaf_m2: tuple[float, ...],
          alive: tuple[int, ...]) -> TreeSizes:  # fmt: skip
    """Return trees of so many cohorts, alike in both years and the only member."""
    made = grown(of, years=YEARS, members=(0,))
    assert len(made.cohorts) == len(crown_m)

    def all_years(values: tuple[float, ...]) -> Array:
        return np.broadcast_to(np.array(values, dtype=np.float64), (2, 1, len(values))).copy()

    return replace(
        made, crown_m=all_years(crown_m), height_m=all_years(height_m), leaf_m2=all_years(leaf_m2),
        alive=all_years(alive).astype(made.alive.dtype),
    )  # fmt: skip


# ---------------------------------------------------------------- crowns of a paddock


def two(**more: Any) -> Farm:
    paddocks = (Paddock("1", "1", 4.0), Paddock("2", "2", 1.0))
    return farm(planting("a"), planting("b"), paddocks=paddocks, **more)


def test_crowns_over_the_ground_of_a_paddock_by_hand() -> None:
    """10 crowns of 4 m and 5 of 8 m: 10 x 12.566 + 5 x 50.265 = 376.99 m2, of 4 ha and 1 ha without trees.

    Leaf over the crowns: (10 x 30 + 5 x 200) ÷ 376.99. Height by the crowns' ground, not by trees:
    (125.66 x 5 + 251.33 x 11) ÷ 376.99 = 9 m.
    """
    of = two()
    made = crowns_of(of, sized(of, (4.0, 8.0), (5.0, 11.0), (30.0, 200.0), (10, 5)))
    assert made.ground[0, 0, 0] == pytest.approx(376.991 / 50_000, rel=1e-5)
    treed = crowns_of(
        replace(of, paddocks=of.paddocks[:1]), sized(of, (4.0, 8.0), (5.0, 11.0), (30.0, 200.0), (10, 5))
    )
    assert treed.ground[0, 0, 0] == pytest.approx(376.991 / 40_000, rel=1e-5)
    assert made.leaf[0, 0, 0] == pytest.approx(1300 / 376.991, rel=1e-5)
    assert made.tall[0, 0, 0] == pytest.approx(9.0)


def test_a_paddock_without_trees_has_those_of_the_farm_beyond_its_fence() -> None:
    """The crowns over all 5 ha, as leafy and as tall as they are."""
    of = two()
    made = crowns_of(of, sized(of, (4.0, 8.0), (5.0, 11.0), (30.0, 200.0), (10, 5)))
    assert made.ground[0, 0, 1] == pytest.approx(376.991 / 50_000, rel=1e-5)
    assert made.tall[0, 0, 1] == pytest.approx(9.0)
    assert made.leaf[0, 0, 1] == made.leaf[0, 0, 0]


def test_parts_of_a_paddock_share_the_crowns_of_the_whole() -> None:
    parts = (Paddock("1a", "1a", 3.0, parents=("1",)), Paddock("1b", "1b", 1.0, parents=("1",)))
    of = farm(planting("a"), planting("b"), paddocks=parts)
    made = crowns_of(of, sized(of, (4.0, 8.0), (5.0, 11.0), (30.0, 200.0), (10, 5)))
    np.testing.assert_allclose(made.ground[0, 0], 376.991 / 40_000, rtol=1e-5)
    cells = cast("Any", SimpleNamespace(paddocks=("2", "1")))
    assert [place_of(cells, p) for p in (*parts, Paddock("2", "2", 1.0))] == [1, 1, 0]
    assert place_of(cells, Paddock("9", "9", 1.0)) is None


# ---------------------------------------------------------------- reading a curve


EXTINCTION = np.full(12, 0.5)


def answers() -> Answers:
    """Return answers by which shade goes with what leaf fills up, 0.6 of it if low, 1.3 times if tall."""
    filled = np.tile(np.array([0.0, 0.5, 1.0, 1.5])[:, None], (1, 12))
    shade = np.stack([filled * by for by in (0.6, 1.0, 1.3)])
    return Answers(EXTINCTION, filled, np.log(np.array([0.5, 1.0, 2.0])), shade)


def curve() -> Curve:
    light = np.stack([np.full(12, x) for x in (1.0, 0.8, 0.6)])
    return Curve(np.array([0.0, 0.1, 0.2]), light, np.array([0.0, 0.1, 0.18]), np.array([2.0, 2.0, 4.0]),
                 np.array([5.0, 5.0, 10.0]), answers())  # fmt: skip


def read(ground: float, leaf: float, tall: float, kept: Array | None = None) -> tuple[float, float]:
    light, cover = curve().read(np.array([ground]), np.array([leaf]), np.array([tall]), kept)
    return float(light[0, 6]), float(cover[0])


def test_usual_trees_read_what_was_asked_for_straight_between() -> None:
    assert read(0.1, 2.0, 5.0) == pytest.approx((0.8, 0.1))
    assert read(0.15, 3.0, 7.5) == pytest.approx((0.7, 0.14))
    assert read(0.0, 0.0, 0.0)[0] == 1.0


def test_less_leaf_shades_less_by_the_law_of_a_crown() -> None:
    """Half the leaf of 4 fills 1 - exp(-1) of what 1 - exp(-2) does: 0.7311; shade 0.4 is 0.2924."""
    assert read(0.2, 2.0, 10.0)[0] == pytest.approx(1 - 0.4 * (1 - np.exp(-1)) / (1 - np.exp(-2)))
    kept = np.full((1, 12), 0.5)
    assert read(0.2, 4.0, 10.0, kept)[0] == pytest.approx(read(0.2, 2.0, 10.0)[0])


@pytest.mark.parametrize(("tall", "by"), [(20.0, 1.3), (5.0, 0.6), (14.142136, 1.15), (7.0710678, 0.8)])
def test_taller_and_lower_crowns_go_with_the_logarithm_of_height(tall: float, by: float) -> None:
    assert read(0.2, 4.0, tall)[0] == pytest.approx(1 - 0.4 * by, rel=1e-6)


def asked(**more: Any) -> Asked:
    """Return one stretch: two ages in the wrong order, and two checks that are off either way."""
    count = 4
    made: dict[str, Any] = {
        "first": np.zeros(count, int), "end": np.full(count, 9), "kind": np.array([AGE, AGE, CHECK, CHECK]),
        "place": np.array([8, 2, 4, 6]), "leaf_by": np.ones(count), "tall_by": np.ones(count),
        "light": np.array([0.6, 0.8, 0.78, 0.61])[:, None, None] * np.ones((1, 12, 1)),
        "cover": np.array([[0.2], [0.1], [0.0], [0.0]]), "ground": np.array([[0.2], [0.1], [0.15], [0.15]]),
        "leaf": np.full((count, 1), 2.0), "tall": np.full((count, 1), 5.0),
    }  # fmt: skip
    return Asked(**(made | more))


def test_a_curve_rises_from_bare_ground_whatever_the_order_of_the_asks() -> None:
    made = _curve(asked(), 0, 0, 0, None)
    assert made.ground.tolist() == [0.0, 0.1, 0.2]
    assert made.light[:, 0].tolist() == [1.0, 0.8, 0.6]
    assert made.cover.tolist() == [0.0, 0.1, 0.2]


def test_what_a_check_is_off_by_counts_either_way() -> None:
    """At 0.15 the curve reads 0.7: one member had 0.78, the other 0.61."""
    made = _curve(asked(), 0, 0, 0, None)
    assert _off(asked(), 2, 0, 0, made) == pytest.approx(0.08)
    assert _off(asked(), 3, 0, 0, made) == pytest.approx(0.09)


# ---------------------------------------------------------------- months, what is typed


def begun(of: Farm, **more: Any) -> Start:
    return replace(Start(of, State(NOW), NOW.date()), **more)


def test_months_weigh_by_their_light_and_their_clouds() -> None:
    of = farm()
    assert of.place is not None
    clear = month_light(begun(of))
    july = clear_mj_m2_d(of.place, 7) * MONTH_LENGTH[6]
    assert clear[6] == pytest.approx(july)
    cloudy = month_light(begun(of, of_clear=(*(1.0,) * 6, 0.4, *(1.0,) * 5)))
    np.testing.assert_allclose(cloudy / clear, (*(1.0,) * 6, 0.4, *(1.0,) * 5))


def test_light_of_the_season_weighs_its_months_by_their_light() -> None:
    """May and July are dark in a typed map, June is open: by the light of May to July, not by thirds."""
    season = Promise("s", "grazing", "season", date(2026, 5, 1), date(2026, 8, 1))
    of = farm(promises=(season,))
    sizes = grown(of, years=YEARS, members=(0,))
    cells = cast("Any", SimpleNamespace(paddocks=("1",)))
    month = np.ones((12, 1))
    month[[4, 6], 0] = 0.2
    found = asked(
        light=np.stack([month] * 4), ground=np.array([[1e-4], [5e-5], [7e-5], [7e-5]]),
        place=np.array([1, 0, 0, 1]), end=np.full(4, 2),
    )  # fmt: skip
    made = light_ahead(begun(of, cells=cells), sizes, found)
    weight = month_light(begun(of))[[4, 5, 6]]
    told = made.month_frac[0, 0, [4, 5, 6], 0]
    assert told == pytest.approx([0.2, 1.0, 0.2])
    assert made.light_frac[0, 0, 0] == pytest.approx(float((weight * told).sum() / weight.sum()))
    assert made.light_frac[0, 0, 0] != pytest.approx(told.mean(), abs=1e-3)


def test_the_error_told_is_that_of_the_worst_check() -> None:
    of = farm()
    cells = cast("Any", SimpleNamespace(paddocks=("1",)))
    made = light_ahead(begun(of, cells=cells), grown(of, years=YEARS, members=(0,)), asked())
    assert made.error_frac[0, 0] == pytest.approx(0.09)


def test_typed_cover_holds_where_no_tree_of_the_map_shades() -> None:
    paddock = Paddock("1", "1", 1.0, cover=parse("30 %", "share"))
    open_sky, cover = np.ones((2, 1, 12)), np.zeros((2, 1))
    _typed(paddock, open_sky, cover)
    assert (cover == 0.3).all()
    shaded, own = np.full((2, 1, 12), 0.7), np.zeros((2, 1))
    _typed(paddock, shaded, own)
    assert not own.any()
    by_rows = np.full((2, 1), 0.1)
    _typed(paddock, np.ones((2, 1, 12)), by_rows)
    assert (by_rows == 0.1).all()


def test_typed_light_goes_before_typed_cover_and_never_passes_open_sky() -> None:
    """Today's 0.8 is typed as 0.5: 0.4 in ten years is 0.25; where trees are gone it is all light at most."""
    paddock = Paddock("1", "1", 1.0, light=parse("50 %", "share"), cover=parse("30 %", "share"))
    light = np.array([0.8, 0.4, 1.0])[:, None, None] * np.ones((1, 2, 12))
    cover = np.zeros((3, 2))
    _typed(paddock, light, cover)
    np.testing.assert_allclose(light[:, 0, 0], [0.5, 0.25, 0.625])
    assert not cover.any()


# ---------------------------------------------------------------- which trees are asked about


def test_wide_crowns_are_as_dense_and_other_leaf_and_height_move_nothing_else() -> None:
    of = farm()
    sizes = grown(of, years=YEARS, members=(0,))
    wide = _wide(sizes, replace(sizes, crown_m=sizes.crown_m * 2))
    np.testing.assert_allclose(wide.crown_m, sizes.crown_m * 2 * WIDER)
    np.testing.assert_allclose(wide.leaf_m2 / wide.crown_m**2, sizes.leaf_m2 / sizes.crown_m**2)
    other = _other(sizes, 4.0, 0.45)
    np.testing.assert_allclose(other.leaf_m2, sizes.leaf_m2 * 4)
    np.testing.assert_allclose(other.height_m, sizes.height_m * 0.45)
    np.testing.assert_allclose(other.base_m, sizes.base_m * 0.45)
    np.testing.assert_array_equal(other.crown_m, sizes.crown_m)


def test_ages_are_even_in_the_root_of_the_crowns() -> None:
    """Crowns of 0, 0.01 … 1 as squares of tenths: the root goes by tenths, so every second one of eleven."""
    crowns = (np.arange(11) / 10) ** 2
    knots, left = ages_wanted(crowns)
    assert knots == [0, 2, 4, 6, 8, 10]
    assert left == [1, 3, 5, 7]


def test_the_end_of_a_stretch_is_forty_years_on() -> None:
    assert [(one.start, one.stop) for one in eras(range(2026, 2026 + 2 * STRETCH + 1), ())] == [
        (0, STRETCH + 1), (STRETCH + 1, 2 * STRETCH + 1),
    ]  # fmt: skip


def test_a_member_s_own_trees_are_its_own_and_come_round() -> None:
    of = farm()
    sizes = grown(of, years=YEARS, members=(0, 1, 2))
    for asked_for, mine in ((1, 1), (5, 2)):
        one = member_trees(sizes, asked_for)
        np.testing.assert_array_equal(one.height_m[:, 0], sizes.height_m[:, mine])
        assert one.members == (mine,)
    ask = cast("Any", SimpleNamespace(place=1))
    found = crowns_of(of, sizes)
    np.testing.assert_array_equal(_at([found], [ask], "tall")[0], found.tall[1, 0])


def test_a_paddock_of_the_map_without_a_cell_lies_in_the_open() -> None:
    own = start_of(2)
    assert own.cells is not None
    assert own.layout is not None
    cells = replace(own.cells, paddocks=(*own.cells.paddocks, "too narrow"))
    sizes = grow_trees(own.farm, own.state, YEARS, (0,))
    light, _ = _seen(own, cells, own.layout, _Ask(slice(0, 2), 0, CHECK, 1.0, 1.0, sizes))
    assert (light[:, -1] == 1).all()
    assert (light[:, :-1] < 1).any()
