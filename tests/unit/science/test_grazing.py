"""The paddock-day in single cases worked by hand."""

import numpy as np
import pytest

from browseline import units
from browseline.science import forage, grazing

COOL = forage.Group(3.0, 0.6, 5.0, 0.0445, 4.0, 13.0, 20.0, 35.0, 0.033, 0.68, 0.6, 6000.0)
LEAF = grazing.leaf_of([COOL], 250.0, 1000.0)
ACRE, INCH, POUND = (float(units.UNITS[u].factor) for u in ("ac", "in", "lb"))
DENSITY = float(units.UNITS["lb/ac/in"].factor)


def one_field(
    start_kg_ha: float,
    days: int,
    demand_kg_d: float,
    area_ha: float = 1.0,
    floor_kg_ha: float = 0.0,
    potential: float = 0.0,
    share_eaten: float = 1.0,
) -> grazing.Grazed:
    """Return a run of one paddock and one mob that never leaves it."""
    paddocks = grazing.Paddocks(
        np.zeros(1, int), np.ones((1, 1)), np.array([area_ha]), np.array([floor_kg_ha])
    )
    flat = np.full((days, 1), np.nan)
    weather = grazing.Days(
        np.full((1, 1, days, 1), potential), np.zeros((1, 1, days)), flat, np.full((days, 1), np.inf)
    )
    stays = grazing.stays_of(days, [0], [0], [0.0], [float(days)], [share_eaten])
    demand = np.full((1, days, 1), demand_kg_d)
    return grazing.run([[start_kg_ha]], [[0.5]], demand, paddocks, weather, stays, LEAF)


def test_without_growth_the_sum_is_that_of_the_stick() -> None:
    # forage.md section 5: 3.0 ac, 8 in, leave 4 in, 275 lb/ac/in, 70 % eaten, 264 lb/d: 8.75 d
    out = one_field(8 * 275 * DENSITY * INCH, 12, 264 * POUND, 3 * ACRE, share_eaten=0.7)
    assert grazing.crossing_d(out.mass_kg_ha[0, :, 0], 4 * 275 * DENSITY * INCH) == pytest.approx(
        8.75, abs=1e-9
    )


def test_animals_go_on_below_the_leave_at_height_and_then_go_short() -> None:
    out = one_field(1000.0, 5, 300.0, floor_kg_ha=200.0)
    assert out.mass_kg_ha[0, :, 0] == pytest.approx([1000, 700, 400, 200, 200, 200])
    assert out.eaten_kg[0, :, 0] == pytest.approx([300, 300, 200, 0, 0])
    assert out.short_kg[0, :, 0] == pytest.approx([0, 0, 100, 300, 300])


def test_two_mobs_share_what_there_is_by_what_they_need() -> None:
    paddocks = grazing.Paddocks(np.zeros(1, int), np.ones((1, 1)), np.ones(1), np.zeros(1))
    still = np.full((1, 1), np.nan)
    days = grazing.Days(np.zeros((1, 1, 1, 1)), np.zeros((1, 1, 1)), still, np.full((1, 1), np.inf))
    stays = grazing.stays_of(1, [0, 0], [0, 1], [0.0, 0.5], [1.0, 1.0], [0.5, 0.5])
    out = grazing.run([[100.0]], [[0.5]], [[[100.0, 100.0]]], paddocks, days, stays, LEAF)
    # wanted 200 + 100 of 100 standing: a third of each need is met
    assert out.eaten_kg[0, 0] == pytest.approx([100 / 3, 50 / 3])
    assert out.short_kg[0, 0] == pytest.approx([200 / 3, 100 / 3])


def test_a_mob_that_needs_nothing_takes_nothing() -> None:
    out = one_field(800.0, 2, 0.0)
    assert np.all(out.eaten_kg == 0)
    assert out.mass_kg_ha[0, :, 0] == pytest.approx([800, 800, 800])


def test_growth_is_that_of_the_equation_on_what_is_left() -> None:
    out = one_field(2000.0, 1, 500.0, potential=100.0)
    expected = forage.growth_kg_dm_ha_d([COOL], [1.0], 1500.0, 0.5, [100.0], 250.0)
    assert out.growth_kg_ha[0, 0, 0] == pytest.approx(float(expected), abs=1e-12)


def test_bare_ground_grows_again_and_a_full_sward_does_not() -> None:
    assert one_field(0.0, 1, 0.0, potential=100.0).growth_kg_ha[0, 0, 0] > 5
    assert one_field(6500.0, 1, 0.0, potential=100.0).growth_kg_ha[0, 0, 0] == 0


def season_alone(
    start_kg_ha: float, typed: float = np.nan, cut_to: float = np.inf, loss_per_d: float = 0.0
) -> grazing.Season:
    """Return one ungrazed day of one paddock with no modelled growth."""
    wanted, cut, written = (np.array([x]) for x in (0.0, cut_to, typed))
    idle, open_sky = np.array([loss_per_d]), np.zeros((1, 1))
    day: grazing.Season = grazing.one_paddock(
        start_kg_ha, wanted, 0.0, cut, written, 0.5, open_sky, idle, np.ones(1), LEAF
    )
    return day


def test_typed_growth_stands_in_for_growth_and_loss() -> None:
    day = season_alone(3000.0, typed=25.0, loss_per_d=0.003)
    assert (day.growth_kg_ha[0], day.loss_kg_ha[0], day.mass_kg_ha[1]) == (25.0, 0.0, 3025.0)
    assert season_alone(10.0, typed=-25.0).mass_kg_ha[1] == 0.0


def test_hay_is_cut_to_its_mass_and_weighed() -> None:
    day = season_alone(4000.0, cut_to=1500.0)
    assert (day.cut_kg_ha[0], day.mass_kg_ha[1]) == (2500.0, 1500.0)
    assert season_alone(900.0, cut_to=1500.0).cut_kg_ha[0] == 0.0


def test_old_grass_is_lost_on_idle_days_only_above_a_thousand() -> None:
    assert season_alone(3000.0, loss_per_d=0.003).loss_kg_ha[0] == pytest.approx(6.0)
    assert season_alone(900.0, loss_per_d=0.003).loss_kg_ha[0] == 0.0


@pytest.mark.parametrize(
    ("mass", "threshold", "when"),
    [
        ([10, 8, 6], 7, 1.5),
        ([10, 8, 6], 10, 0),
        ([10, 8, 6], 5, np.inf),
        ([10, 12, 4], 12, 0),
        ([10, 12, 4], 8, 1.5),
    ],
)
def test_a_threshold_is_crossed_at_a_part_of_a_day(mass: list[float], threshold: float, when: float) -> None:
    assert grazing.crossing_d(mass, threshold) == when


def test_crossings_of_many_members_at_once() -> None:
    mass = np.array([[10.0, 8, 6], [4, 4, 4], [9, 9, 9]])
    assert grazing.crossing_d(mass, np.full(3, 7.0)).tolist() == [1.5, 0.0, np.inf]
