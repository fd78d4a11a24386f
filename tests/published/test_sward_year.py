"""Whole years of cool-season grass against what the sheet's own runs and published yields allow."""

from datetime import date

import numpy as np
import pytest

from browseline import tables, weather
from browseline.farm.records import Normals, Place
from browseline.science import forage, grazing, water
from browseline.science.forage import Array
from browseline.sward.constants import COOL, group, leaf, season
from tests.published.normals import INLAND

TOTAL_MM = 120.0  # forage.md 1.2.2, "Still within bounds"
YEARS = 12
FIRST = date(2001, 1, 1)


def potentials(
    flush: float, normals: Normals = INLAND, light: float = 1.0, saving: bool = False
) -> tuple[Array, Array]:
    """Return twelve years of potential and of standing loss, shape (year, day), leap days left out."""
    made = weather.make(Place(41.0, -75.0, 200.0), normals, None, FIRST, date(2002, 1, 1), YEARS, 7)
    assert made is not None
    et0 = made.shaded_et0_mm(light if saving else 1.0)
    mean_c = (made.tmax_c + made.tmin_c) / 2
    warm10, plant = forage.mean_of_last(mean_c), group(COOL)
    crop = "grazing pasture, rotated"
    kc = forage.crop_coefficient(
        warm10, plant, *(tables.row("soil", k, crop).middle() for k in ("kc_ini", "kc_mid"))
    )
    depletion = tables.row("soil", "p_depletion", crop).middle()
    missing, *_ = water.run_water(
        np.zeros(YEARS), made.rain_mm, et0, kc, TOTAL_MM, depletion, (1.0, 1.0, 1.0), 0.0, 1.0
    )
    wet = forage.water_response(1 - missing / TOTAL_MM, et0)
    warm = forage.temperature_response(warm10, plant)
    step = forage.photothermal_increment_c_d(mean_c, made.day_length_h, season())
    factor = forage.season_factor(np.cumsum(step, axis=1), season(), flush)
    par = tables.row("forage", "par_share", "sunlight").middle() * made.rs_mj_m2_d
    loss, idle = (tables.row("forage", k, "any sward").middle() for k in ("standing_loss", "idle_below"))
    grown = forage.potential_kg_ha_d(plant, light * par, warm, wet, factor)
    return grown, forage.standing_loss_per_d(warm, wet, loss, idle)


def year(potential: Array, loss: Array, ni: float, start: float, cut_every_d: int | None) -> grazing.Season:
    """Return a year of one paddock that nobody grazes, cut to 1500 kg/ha or left alone."""
    days = len(potential)
    cut_to = np.full(days, np.inf)
    if cut_every_d:
        cut_to[cut_every_d - 1 :: cut_every_d] = 1500.0
    quiet, untyped = np.zeros(days), np.full(days, np.nan)
    out: grazing.Season = grazing.one_paddock(
        start,
        quiet,
        0.0,
        cut_to,
        untyped,
        ni,
        np.ascontiguousarray(potential[:, None]),
        loss,
        np.ones(1),
        leaf((COOL,)),
    )
    return out


@pytest.mark.parametrize(
    ("use", "ni", "low_t", "high_t"),
    [
        ("grazed closer", 0.3, 6.2, 9.1), ("grazed closer", 0.5, 10.2, 14.9),
        ("grazed closer", 0.7, 13.8, 20.2),
        ("rested 28 d or more", 0.3, 7.8, 11.1), ("rested 28 d or more", 0.5, 12.2, 17.0),
        ("rested 28 d or more", 0.7, 15.7, 21.8),
    ],
)  # fmt: skip
def test_a_year_yields_what_the_sheet_says(use: str, ni: float, low_t: float, high_t: float) -> None:
    # forage.md 1.2.2, "Still within bounds": five climates 35-52 N, cut every 30 d
    potential, loss = potentials(tables.row("forage", "flush", use).middle())
    yields = [
        np.sum(year(p, lost, ni, 1500.0, 30).growth_kg_ha) for p, lost in zip(potential, loss, strict=True)
    ]
    assert low_t * 1000 <= np.mean(yields) <= high_t * 1000


def test_months_of_a_year_at_41_north() -> None:
    # forage.md 1.2.2: April, May-June, October 13, 36, 12 % of growth grazed, 15, 42, 11 % cut
    edges = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    for use, shares in (("grazed closer", (13, 36, 12)), ("rested 28 d or more", (15, 42, 11))):
        potential, loss = potentials(tables.row("forage", "flush", use).middle())
        grown = np.mean(
            [year(p, lost, 0.5, 1500.0, 30).growth_kg_ha for p, lost in zip(potential, loss, strict=True)], 0
        )
        month = np.add.reduceat(grown, edges[:-1]) / np.sum(grown) * 100
        assert [month[3], month[4] + month[5], month[9]] == pytest.approx(shares, abs=4)


def test_grass_left_alone_stands_below_its_ceiling_and_goes_in_winter() -> None:
    # forage.md 1.2.2, uncut: never above 6000; 41 N 5,380 on 1 Jan, 4,440 on 31 Mar
    potential, loss = potentials(tables.row("forage", "flush", "rested 28 d or more").middle())
    ends, springs = [], []
    for p, lost in zip(potential, loss, strict=True):
        first = year(p, lost, 0.5, 1500.0, None).mass_kg_ha
        again = year(p, lost, 0.5, float(first[-1]), None).mass_kg_ha
        assert max(np.max(first), np.max(again)) <= 6000
        ends.append(first[-1])
        springs.append(again[89])
    assert np.mean(ends) == pytest.approx(5380, rel=0.05)
    assert np.mean(springs) == pytest.approx(4440, rel=0.05)


def test_bare_ground_recovers_in_one_season() -> None:
    # forage.md 1.2.2
    potential, loss = potentials(1.2)
    assert all(
        np.max(year(p, lost, 0.5, 0.0, None).mass_kg_ha) > 3000
        for p, lost in zip(potential, loss, strict=True)
    )


def test_a_dry_summer_stops_growth_and_rain_brings_it_back() -> None:
    # forage.md 1.2.2: no rain June-August: 0-2 kg/ha/d in July-August, growth back in September
    dry = [0.0 if m in (5, 6, 7) else r for m, r in enumerate(INLAND.rain_mm)]
    wet = tuple(0.0 if m in (5, 6, 7) else d for m, d in enumerate(INLAND.wet_days or ()))
    normals = Normals(INLAND.tmax_c, INLAND.tmin_c, tuple(dry), wet, INLAND.wet_day_threshold_mm)
    potential, loss = potentials(1.2, normals)
    grown = np.mean(
        [year(p, lost, 0.5, 1500.0, 30).growth_kg_ha for p, lost in zip(potential, loss, strict=True)], 0
    )
    assert np.mean(grown[181 + 15 : 243]) < 2
    assert np.mean(grown[258:288]) > 10


@pytest.mark.parametrize(
    ("shade", "alone", "saved"),
    [
        (0.3, (0.80, 0.85), (0.90, 1.02)), (0.5, (0.61, 0.68), (0.73, 0.88)),
        (0.7, (0.36, 0.43), (0.46, 0.56)), (0.8, (0.24, 0.29), (0.30, 0.37)),
    ],
)  # fmt: skip
def test_shade_takes_what_the_sheet_says(
    shade: float, alone: tuple[float, float], saved: tuple[float, float]
) -> None:
    # forage.md 1.2.2: without and with the sward's own water saving, five climates
    def grown(light: float, saving: bool) -> float:
        return sum(
            float(np.sum(year(p, lost, 0.5, 1500.0, 30).growth_kg_ha))
            for p, lost in zip(*potentials(1.2, light=light, saving=saving), strict=True)
        )

    bare = grown(1 - shade, saving=False) / grown(1.0, saving=False)
    full = grown(1 - shade, saving=True) / grown(1.0, saving=True)
    assert alone[0] <= bare <= alone[1]
    assert saved[0] <= full <= saved[1]
