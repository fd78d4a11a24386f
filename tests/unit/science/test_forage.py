"""Growth equations in single cases worked by hand."""

import numpy as np
import pytest

from browseline.science import forage
from browseline.science.forage import Array

COOL = forage.Group(3.0, 0.6, 5.0, 0.0445, 4.0, 13.0, 20.0, 35.0, 0.033, 0.68, 0.6, 6000.0)
SEASON = forage.Season(210, 320, 420, 740, 9, 15)


def test_temperature_response_is_a_trapeze() -> None:
    assert forage.temperature_response([3, 4, 8.5, 13, 20, 27.5, 36], COOL) == pytest.approx(
        [0, 0, 0.5, 1, 1, 0.5, 0]
    )


def test_the_sum_starts_again_at_new_year() -> None:
    restarts = [False, False, True, False, True]
    assert forage.sum_since([[1, 2, 3, 4, 5]], restarts).tolist() == [[1, 3, 3, 7, 5]]


def test_frost_and_short_days_add_nothing_to_the_sum() -> None:
    added = forage.photothermal_increment_c_d([-3, 12, 12, 12], [13, 8, 13, 16], SEASON)
    assert added == pytest.approx([0, 0, 8, 12])


def test_the_flush_is_1_before_and_after() -> None:
    assert forage.season_factor([0, 265, 400, 580, 900], SEASON, 3.0) == pytest.approx([1, 2, 3, 2, 1])


def test_the_mean_of_the_last_ten_days_is_shorter_at_first() -> None:
    assert forage.mean_of_last(np.arange(12.0))[[0, 3, 11]].tolist() == [0, 1.5, 6.5]


def test_a_mixture_is_the_sum_of_its_groups() -> None:
    grown = forage.growth_kg_dm_ha_d(
        [COOL, COOL._replace(ceiling_kg_ha=1e9)], [0.7, 0.3], 2000.0, 0.5, [80.0, 60.0]
    )
    first = forage.growth_kg_dm_ha_d([COOL], [1.0], 2000.0, 0.5, [80.0])
    caught = forage.light_interception(forage.leaf_area_index(2000.0, COOL), 0.6)
    assert float(grown) == pytest.approx(0.7 * float(first) + 0.5 * 0.3 * 60 * float(caught), rel=1e-6)


def test_the_crop_coefficient_follows_warmth_not_mass() -> None:
    assert forage.crop_coefficient([3.9, 4.0], COOL, 0.4, 0.95).tolist() == [0.4, 0.95]


def test_old_grass_goes_only_on_idle_days() -> None:
    assert forage.standing_loss_per_d([0.1, 1, 1], [1, 0.1, 1], 0.003, 0.2).tolist() == [0.003, 0.003, 0]


def test_shade_bounds_end_at_the_open_and_at_no_light() -> None:
    assert forage.shade_accept([0, 0.25, 0.5, 0.75, 1], [0.5], [0.6]) == pytest.approx([1, 0.8, 0.6, 0.3, 0])
    assert forage.shade_correction([0.5, 1.0, 0.0], 0.6, 0.9) == pytest.approx([1.2, 0.9, 1])


def gains(ni: float) -> Array:
    """Return what a sward that saturates would gain in five intervals."""
    return np.array([200.0, 400, 600, 300, 100]) * ni * (1 - 0.2 * ni)


def test_fertility_is_found_again_from_many_sharp_readings() -> None:
    mean, sd = forage.fit_fertility(gains, gains(0.8), np.full(5, 5.0), (0.5, 0.15))
    assert mean == pytest.approx(0.8, abs=0.01)
    assert sd < 0.02


def test_fertility_stays_at_the_prior_without_readings_and_inside_its_limits() -> None:
    assert forage.fit_fertility(gains, np.full(5, 900.0), np.full(5, 1e9), (0.5, 0.15))[0] == pytest.approx(
        0.5
    )
    assert forage.fit_fertility(gains, np.full(5, 9e5), np.full(5, 1.0), (0.5, 0.15))[0] == 1.2
    assert forage.fit_fertility(gains, np.zeros(5), np.full(5, 1.0), (0.5, 0.15))[0] == 0.2


@pytest.mark.parametrize("ratio", [0.1, 0.7, 2.0])
def test_more_readings_never_widen_the_range(ratio: float) -> None:
    few = forage.fit_fertility(gains, ratio * gains(0.5), np.array([500.0, 500, 1e9, 1e9, 1e9]), (0.5, 0.15))
    many = forage.fit_fertility(gains, ratio * gains(0.5), np.full(5, 500.0), (0.5, 0.15))
    assert many[1] < few[1]
