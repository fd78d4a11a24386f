"""Draws and bounds of the generator against scipy.stats, numerical integrals and Philox itself."""

import numpy as np
import numpy.typing as npt
import pytest
from scipy import stats

from browseline.science import climate, draws, generator
from browseline.science.climate import Array

WORD = (1 << 64) - 1
# philox4x64-10 of Salmon et al. (2011), Parallel random numbers: as easy as 1, 2, 3. Counter and key
# of nothing but zeros give these words in the authors' table of known answers.
KNOWN = [0x16554D9ECA36314C, 0xDB20FE9D672D0FDC, 0xD7E772CEE186176B, 0x7E68B68AEC7BA23B]


def philox(counter: list[int], key: list[int]) -> list[int]:
    """Return one block of philox4x64-10, written out by its definition."""
    c, k = list(counter), list(key)
    for _ in range(10):
        first, second = 0xD2E7470EE14C6C93 * c[0], 0xCA5A826395121157 * c[2]
        c = [(second >> 64) ^ c[1] ^ k[0], second & WORD, (first >> 64) ^ c[3] ^ k[1], first & WORD]
        k = [(k[0] + 0x9E3779B97F4A7C15) & WORD, (k[1] + 0xBB67AE8584CAA73B) & WORD]
    return c


def test_philox_gives_the_known_words() -> None:
    assert philox([0, 0, 0, 0], [0, 0]) == KNOWN


def test_uniform_is_philox_keyed_by_seed_quantity_member_and_year() -> None:
    key = [77, draws._quantity_key("weather.rain")]
    words = [w for block in (1, 2) for w in philox([block, 0, 3, 2031], key)]
    wanted = [((w >> 12) + 0.5) / 2**52 for w in words]
    assert draws.uniform(77, "weather.rain", 3, 2031, 8).tolist() == wanted


def test_draws_by_day_and_by_year_are_the_same_draws() -> None:
    years = np.repeat(np.array([2031, 2032]), [2, 1])
    of_year = np.array([364, 365, 1])
    by_day = draws.uniform_by_day(5, "x", [2, 7], years, of_year)
    for row, member in enumerate((2, 7)):
        assert by_day[row, :2].tolist() == draws.uniform(5, "x", member, 2031, 366)[363:365].tolist()
        assert by_day[row, 2] == draws.uniform(5, "x", member, 2032, 1)[0]
    by_year = draws.uniform_by_year(5, "x", [2, 7], np.array([2032]))
    assert by_year[:, 0].tolist() == by_day[:, 2].tolist()


CHANCE = np.array([2.0**-53, 1e-6, 0.05, 0.5, 0.9, 1 - 1e-9, 1 - 2.0**-53])


def test_normal_is_the_inverse_of_the_distribution() -> None:
    assert draws.normal(CHANCE) == pytest.approx(stats.norm.ppf(CHANCE), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("shape", [0.4, 0.62, 1.0, 3.0])
def test_gamma_is_the_inverse_of_the_distribution(shape: float) -> None:
    made = draws.gamma(CHANCE, np.full(7, shape), np.full(7, 16.14))
    assert made == pytest.approx(stats.gamma.ppf(CHANCE, shape, scale=16.14), rel=1e-9)
    assert np.all(np.isfinite(made))


@pytest.mark.parametrize(("mean", "sd"), [(3.0, 1.0), (5.0, 4.0), (-2.0, 3.0), (9.0, 0.5)])
def test_mean_after_clip_is_the_integral(mean: float, sd: float) -> None:
    x = np.linspace(mean - 9 * sd, mean + 9 * sd, 400_001)
    wanted = np.trapezoid(np.clip(x, 1.0, 8.0) * stats.norm.pdf(x, mean, sd), x)
    made = climate.mean_after_clip(np.array([mean]), np.array([sd]), np.array([1.0]), np.array([8.0]))
    assert made == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize("wanted", [0.01, 0.5, 3.0, 7.5, 20.0])
def test_span_before_floor_has_the_wanted_mean_above_it(wanted: float) -> None:
    before = float(climate.span_before_floor(np.array([wanted]), np.array([4.8]))[0])
    x = np.linspace(before - 9 * 4.8, before + 9 * 4.8, 400_001)
    assert np.trapezoid(np.maximum(x, 0.0) * stats.norm.pdf(x, before, 4.8), x) == pytest.approx(
        wanted, abs=1e-6
    )


def test_residuals_settle_to_the_covariance_of_a_long_run() -> None:
    # scipy.linalg.solve_discrete_lyapunov, a second implementation
    from scipy.linalg import solve_discrete_lyapunov

    a = np.array([[0.567, 0.086, -0.002], [0.253, 0.504, -0.05], [-0.006, -0.039, 0.244]])
    b = np.array([[0.781, 0, 0], [0.328, 0.637, 0], [0.238, -0.341, 0.873]])
    made = generator.residual_covariance(a, b)
    assert made == pytest.approx(solve_discrete_lyapunov(a, b @ b.T))
    assert np.diag(made) == pytest.approx(np.ones(3), abs=0.01)  # residuals are standard, by definition


def test_spread_of_temperature_is_widest_in_the_coldest_month() -> None:
    # forage.md section 4.4: SD of Tmax 3 to 6 C, a cosine, highest in the coldest month
    cold_july = np.array([20, 20, 17, 14, 10, 7, 5, 7, 10, 14, 17, 19], dtype=np.float64)
    sd = climate.seasonal_sd(3.0, 6.0, cold_july)
    assert (sd.max(), sd.min()) == pytest.approx((6.0, 3.0), abs=1e-3)
    assert climate.MONTH_OF_DAY[int(np.argmax(sd))] == 6


def test_spread_of_a_record_is_the_spread_it_was_made_with() -> None:
    # 40 years drawn with 4 C and 2 C, Tmax 3 C cooler on the third of days that are wet
    rng = np.random.default_rng(3)
    at = np.tile(np.arange(366), 40)
    wet = (rng.random(at.size) < 1 / 3).astype(np.float64)
    usual = np.array([20 + 8 * np.sin(np.arange(366) / 58), 8 + 8 * np.sin(np.arange(366) / 58)])
    high = usual[0, at] + 1 - 3 * wet + 4 * rng.standard_normal(at.size)
    low = usual[1, at] + 2 * rng.standard_normal(at.size)
    wet[:50] = high[100:150] = low[100:150] = np.nan
    sd, cooler = climate.spread_of_records(at, high, low, wet, usual)
    assert cooler == pytest.approx(3.0, abs=0.15)
    assert sd.mean(axis=1) == pytest.approx([4.0, 2.0], rel=0.02)
    assert climate.spread_of_records(at, high, low, np.zeros(at.size), usual)[1] == 0.0


def test_daily_means_and_amounts_keep_the_months_of_the_sheet() -> None:
    # forage.md section 4.5: monthly means are exact
    rain = np.array([70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70]) / climate.MONTH_DAYS
    assert climate.monthly_mean(climate.daily_means(rain)) == pytest.approx(rain)
    assert climate.monthly_mean(climate.daily_amounts(rain)) == pytest.approx(rain)


def test_rain_of_wet_days_makes_each_month() -> None:
    rain, wet = np.linspace(0.0, 4.0, 12), np.linspace(0.0, 0.4, 12)
    daily = climate.daily_amounts(wet)
    least, above = climate.wet_day_rain_mm(rain, wet, daily, 1.0)
    assert climate.monthly_mean(daily * (least + above)) == pytest.approx(rain)
    assert least[40:].min() == 1.0
    assert climate.wet_day_rain_mm(np.zeros(12), np.zeros(12), np.zeros(366), 1.0)[1].max() == 0.0


def test_slow_factor_raises_the_chains_variation_to_what_was_asked() -> None:
    # forage.md section 4, cautions: a factor of 0.20 on a chain of 0.12 to 0.17 makes 0.23 to 0.30
    for chain, low, high in ((0.12, 0.23, 0.25), (0.17, 0.25, 0.30)):
        both = np.sqrt((1 + chain**2) * (1 + 0.20**2) - 1)
        assert low < both < high
        assert generator.slow_factor_cv(both, chain) == pytest.approx(0.20)
    assert generator.slow_factor_cv(0.10, 0.15) == 0.0


@pytest.fixture(scope="module")
def many() -> Array:
    return np.random.default_rng(1).standard_normal((200_000, 3))


def test_slow_factor_has_mean_one_and_a_year_varies_as_wanted(many: Array) -> None:
    of_year = np.arange(1.0, 367.0)
    weights = generator.mid_year_weights(of_year)
    assert weights.sum(axis=0) == pytest.approx(np.ones(366))
    assert weights[:, 182] == pytest.approx([0.0, 1.0, 0.0], abs=0.002)
    share = np.full(366, 1 / 366)
    sd = generator.slow_factor_sd(0.15, share)
    own: npt.NDArray[np.int64] = np.ones(12, dtype=np.int64)
    some = generator.slow_factor(sd, many, own, weights[:, 15::31])
    assert some.mean(axis=0) == pytest.approx(np.ones(12), abs=0.003)
    assert some.mean(axis=1).std() == pytest.approx(0.15, abs=0.004)


def test_yearly_variation_of_the_chain_is_that_of_a_long_run() -> None:
    # 4,000 years of a steady climate: 110 wet days of 9 mm, exponential above 0.25 mm
    share = np.full(366, 0.3)
    dry, wet = generator.wet_chances(share, share, 0.25)
    draw = np.random.default_rng(2).random((2, 4000, 366))
    run = (
        draw[0], np.zeros((3, 4000, 366)), dry, wet, np.arange(366), np.zeros((2, 3, 366)),
        np.zeros((2, 3, 366)), np.zeros((3, 3)), np.zeros((3, 3)), np.full(366, -1, dtype=np.int8),
        np.full((3, 366), np.nan), np.zeros(366), np.zeros(366), 0.5,
    )  # fmt: skip
    wet_days, values = generator.run_days(*run)
    ones, nine, least = np.ones(366), np.full(366, 8.75), np.full(366, 0.25)
    totals = generator.rain_mm(wet_days, draw[1], least, ones, nine, np.ones((4000, 366))).sum(axis=1)
    assert wet_days.mean() == pytest.approx(0.3, abs=0.003)
    assert np.all(values[0] == values[1] + 0.5)
    wanted = generator.year_rain_cv(share, least, ones, nine, 0.25)
    assert totals.std() / totals.mean() == pytest.approx(wanted, rel=0.04)
    assert generator.year_rain_cv(np.zeros(366), least, ones, nine, 0.25) == 0.0
