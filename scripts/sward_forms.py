"""Forms of the yearly curve, run on measured series by the package's own growth equations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.optimize import least_squares, minimize_scalar

from browseline import tables
from browseline.science import forage, grazing, sun
from browseline.sward.constants import COOL, group, leaf, season
from scripts.sward_series import Array, Series, Water, water_response

STUBBLE_KG_HA = 1500.0
GRAZED_KG_HA = 2000.0
NI_BOUNDS = (0.15, 1.4)
ONE_GROUP = np.ones(1)


class Curve(NamedTuple):
    """Numbers of a yearly curve: those of the tables, and two more that were tried.

    late is the share of growth lost for each 0.05 h a day by which days shorten; winter the share for
    each degree below 0 of the coldest ten days of January to March.
    """

    t1_c: float
    begins_c_d: float
    full_c_d: float
    ends_c_d: float
    flush: float
    late: float = 0.0
    winter: float = 0.0


@dataclass(frozen=True)
class Driven:
    """A series with all that no curve changes: warmth, water factor, thermal sum, shortening of days."""

    series: Series
    temp_c: Array
    wet: Array
    sum_c_d: Array
    slope_h_d: Array
    plain_sum_c_d: Array
    coldest_c: float


def stores() -> dict[str, Water]:
    """Return the water store as first written (0.6 m, rotated pasture) and as recommended (1 m, ryegrass)."""
    loam = tables.row("soil", "available_water", "loam").middle() * 1000
    deep = loam * tables.row("forage", "Zr", COOL).middle()

    def store(total_mm: float, crop: str) -> Water:
        kc = (tables.row("soil", key, crop).middle() for key in ("kc_ini", "kc_mid", "p_depletion"))
        return Water(total_mm, *kc)

    return {
        "as written": store(loam * 0.6, "grazing pasture, rotated"),
        "recommended": store(deep, "ryegrass hay (averaged cutting)"),
    }


def drive(series: Sequence[Series], store: Water) -> list[Driven]:
    """Return each series with its drivers."""
    return [_drive(one, store) for one in series]


def _drive(one: Series, store: Water) -> Driven:
    sky = one.sky
    temp, of_year = forage.mean_of_last(sky.temp_c), sky.day_of_year()
    day = sun.day_length_h(sky.latitude_deg, of_year)
    step = forage.photothermal_increment_c_d(sky.temp_c, day, season())
    wet = water_response(sky, temp, group(COOL), store, one.irrigated)
    plain = forage.sum_since(np.maximum(sky.temp_c, 0), of_year == 1)
    sums = forage.sum_since(step, of_year == 1)
    return Driven(one, temp, wet, sums, np.gradient(day), plain, float(temp[9:100].min()))


def book_curve(use: str) -> Curve:
    """Return the curve of the tables for a use: rested 28 d or more, or grazed closer."""
    knots = season()
    flush = tables.row("forage", "flush", use).middle()
    return Curve(group(COOL).t1_c, knots.begins_c_d, knots.full_c_d, knots.ends_c_d, flush)


def year_factor(driven: Driven, curve: Curve) -> Array:
    """Return the season factor of each day. [1]"""
    knots = season()._replace(
        begins_c_d=curve.begins_c_d, full_c_d=curve.full_c_d, falls_c_d=curve.full_c_d + 100,
        ends_c_d=max(curve.ends_c_d, curve.full_c_d + 101),
    )  # fmt: skip
    factor = forage.season_factor(driven.sum_c_d, knots, curve.flush)
    shortening = np.minimum(driven.slope_h_d, 0) / 0.05
    return factor * (1 + curve.late * shortening) * (1 - curve.winter * max(0.0, -driven.coldest_c))


def first_factor(driven: Driven) -> Array:
    """Return the season factor as first written, on the plain thermal sum (jouven2006a, restated). [1]"""
    return np.interp(driven.plain_sum_c_d, (200, 575, 675, 1450), (0.8, 1.2, 1.2, 0.8))


def potential(driven: Driven, factor: Array, t1_c: float) -> tuple[Array, Array]:
    """Return the potential, shape (day, 1), and the standing loss, shape (day,)."""
    plant = group(COOL)._replace(t1_c=t1_c)
    warm = forage.temperature_response(driven.temp_c, plant)
    par = tables.row("forage", "par_share", "sunlight").middle() * driven.series.sky.solar_mj_m2_d
    grown = forage.potential_kg_ha_d(plant, par, warm, driven.wet, factor)
    rate, idle = (tables.row("forage", k, "any sward").middle() for k in ("standing_loss", "idle_below"))
    return np.ascontiguousarray(grown[:, None]), forage.standing_loss_per_d(warm, driven.wet, rate, idle)


@njit(cache=True)
def cut_weeks(day, ni, potential, loss, stubble, share, constants):  # type: ignore[no-untyped-def]
    """Weekly figures of four plots a week apart, each cut every 28 days.

    References
    ----------
    Corrall and Fenlon weights as recalled in forage.md 1.2.2: (7 y1 + 5 y2 + 3 y3 + y4) / 448
    """
    days, first = potential.shape[0], day[0]
    yields = np.zeros((day[-1] - first) // 7 + 4)
    nothing, untyped = np.zeros(days), np.full(days, np.nan)
    for plot in range(4):
        cut_to = np.full(days, np.inf)
        cut_to[(first + 7 * plot) % 28 :: 28] = stubble
        run = grazing.one_paddock(
            stubble, nothing, 0.0, cut_to, untyped, ni, potential, loss, share, constants
        )
        for week in range(plot, yields.shape[0], 4):
            if first + 7 * week < days:
                yields[week] = run.cut_kg_ha[first + 7 * week]
    figures = np.empty(day.shape[0])
    for i in range(day.shape[0]):
        w = (day[i] - first) // 7
        figures[i] = (7 * yields[w] + 5 * yields[w + 1] + 3 * yields[w + 2] + yields[w + 3]) / 448
    return figures


def cut_figures(driven: Driven, ni: float, grown: tuple[Array, Array]) -> Array:
    """Return modelled weekly figures of a trial. [kg/ha/d]"""
    out: Array = cut_weeks(driven.series.day, ni, *grown, STUBBLE_KG_HA, ONE_GROUP, leaf((COOL,)))
    return out


def grazed_figures(driven: Driven, ni: float, grown: tuple[Array, Array]) -> Array:
    """Return modelled growth in the week before each day, on a sward grazed about one mass. [kg/ha/d]"""
    total = np.concatenate(([0.0], np.cumsum(grown[0][:, 0])))
    day = driven.series.day
    return ni * float(forage.shape(GRAZED_KG_HA, group(COOL))) * (total[day] - total[day - 7]) / 7


class Fit(NamedTuple):
    """NI of a site and the modelled figures of its series with it."""

    ni: float
    figures: list[Array]


def fit_site(driven: Sequence[Driven], grown: Sequence[tuple[Array, Array]], grazed: bool = False) -> Fit:
    """Return the one NI that brings all series of a site nearest."""
    model = grazed_figures if grazed else cut_figures
    pairs = list(zip(driven, grown, strict=True))

    def misfit(ni: float) -> float:
        return sum(float(np.sum((model(d, ni, g) - d.series.growth) ** 2)) for d, g in pairs)

    ni = float(minimize_scalar(misfit, bounds=NI_BOUNDS, method="bounded", options={"xatol": 1e-4}).x)
    return Fit(ni, [model(d, ni, g) for d, g in pairs])


def fit_curve(driven: Sequence[Driven], free: Sequence[str], start: Curve, grazed: bool = False) -> Curve:
    """Return the curve, and with it one NI a site, that brings all series nearest."""
    model = grazed_figures if grazed else cut_figures
    sites = sorted({d.series.site for d in driven})
    bounds = {
        "t1_c": (8.0, 19.0), "begins_c_d": (60.0, 400.0), "full_c_d": (100.0, 600.0),
        "ends_c_d": (250.0, 1200.0), "flush": (0.5, 6.0), "late": (-0.5, 0.8), "winter": (0.0, 0.05),
    }  # fmt: skip
    first = [max(getattr(start, name), 0.01) for name in free]
    guess = np.array([*first, *np.full(len(sites), np.log(0.55))])
    low, high = zip(*(bounds[name] for name in free), *[tuple(np.log(NI_BOUNDS))] * len(sites), strict=True)

    def misfit(z: NDArray[np.float64]) -> Array:
        curve = start._replace(**dict(zip(free, z, strict=False)))
        ni = dict(zip(sites, np.exp(z[len(free) :]), strict=True))
        parts = [
            model(d, ni[d.series.site], potential(d, year_factor(d, curve), curve.t1_c)) - d.series.growth
            for d in driven
        ]
        return np.concatenate(parts)

    scale = np.maximum(np.abs(guess), 0.05)
    found = least_squares(
        misfit, guess, bounds=(low, high), x_scale=scale, diff_step=np.full(len(guess), 2e-3), max_nfev=25
    ).x
    return start._replace(**{name: float(v) for name, v in zip(free, found, strict=False)})
