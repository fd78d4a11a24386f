"""What the weather makes of the days: growth potentials and soil water, free of what stands.

Paddocks that share sward, soil, light and use share a curve; only mass and fertility are their own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm import settings
from browseline.farm.records import Farm, Paddock, Soil
from browseline.science import forage, grazing, water
from browseline.sward.constants import COOL, group, leaf, season
from browseline.sward.numbers import GROUPS, SwardNumbers, sward_numbers
from browseline.sward.shade import SLATS, YEAR_D, cover_factor, light_correction

if TYPE_CHECKING:
    from browseline.canopy.shade import TreeShade
    from browseline.weather import Weather

Array = NDArray[np.float64]
DEFAULT_TEXTURE = "loam"
DEFAULT_GROUP = "B"
PASTURE = "pasture, grassland or range; good"
# Which crop row stands for a sward: forage.md 6.1, and 1.2.2 for sown ryegrass.
CROP_ROW = {
    "ryegrass_clover": "ryegrass hay (averaged cutting)",
    "bermudagrass": "bermuda hay (averaged cutting)",
    "bahiagrass": "bermuda hay (averaged cutting)",
    "tall_native_warm": "grazing pasture, extensive",
}
ROTATED = "grazing pasture, rotated"


class Curve(NamedTuple):
    """What paddocks share that grow alike: sward, soil, light passed and cover, use.

    ``months`` is the light by month under trees of the map, January first; empty where light is typed or
    no tree takes any.
    """

    kind: str
    shares: tuple[float, ...]
    texture: str
    hydrologic: str
    available_mm: float
    light: float
    cover: float
    flush: float
    slats: bool = False
    months: tuple[float, ...] = ()


@dataclass(frozen=True)
class Growing:
    """Potentials of every curve over calendar days.

    Attributes
    ----------
    potential_kg_ha_d : array, shape (curve, member, day, group)
        At fertility 1 if all light were caught. [kg DM/ha/d]
    loss_per_d : array, shape (curve, member, day)
        Share of old standing herbage that goes on idle days. [1/d]
    deficit_mm, water_frac : array, shape (curve, member, day)
        Water missing from field capacity at night; plant-available water over capacity. [mm, 1]
    """

    first: date
    curves: tuple[Curve, ...]
    curve_of: dict[str, int]
    potential_kg_ha_d: Array
    loss_per_d: Array
    deficit_mm: Array
    water_frac: Array
    leaf: grazing.Leaf

    def slice(self, first: date, days: int) -> grazing.Days:
        """Return the days from ``first``, nothing typed and nothing cut.

        Raises
        ------
        ValueError
            If the weather does not reach that far.
        """
        begin = (first - self.first).days
        if begin < 0 or begin + days > self.potential_kg_ha_d.shape[2]:
            raise ValueError(f"no weather for {first} + {days} d")
        return grazing.Days(
            np.ascontiguousarray(self.potential_kg_ha_d[:, :, begin : begin + days]),
            np.ascontiguousarray(self.loss_per_d[:, :, begin : begin + days]),
            np.full((days, 1), np.nan),
            np.full((days, 1), np.inf),
        )

    def deficit_on(self, day: date, curve: NDArray[np.int64]) -> Array:
        """Return the water missing from field capacity, shape (member, paddock). [mm]"""
        return np.ascontiguousarray(self.deficit_mm[curve, :, (day - self.first).days].T)


def blank_growing(first: date, last: date, members: int) -> Growing:
    """Return days without weather: one curve on which nothing grows and nothing is lost."""
    days = (last - first).days + 1
    nothing = np.zeros((1, members, days))
    return Growing(
        first, (), {}, np.zeros((1, members, days, len(GROUPS))), nothing, nothing, nothing, leaf(GROUPS)
    )


def growing_days(farm: Farm, weather: Weather, trees: TreeShade | None = None) -> Growing:
    """Return what the weather makes of every day, for every curve that the farm's paddocks need.

    Parameters
    ----------
    farm : Farm
    weather : Weather
    trees : TreeShade, optional
        What trees of the map take of the light. A typed light goes before it, it before a typed cover.
    """
    curves: dict[Curve, int] = {}
    curve_of = {}
    for paddock in farm.paddocks:
        curve = _curve(farm, paddock, sward_numbers(farm, paddock), trees)
        curve_of[paddock.id] = curves.setdefault(curve, len(curves))
    south = farm.place is not None and farm.place.latitude_deg < 0
    shape = (len(curves), *weather.tmax_c.shape)
    potential = np.empty((*shape, len(GROUPS)))
    loss, deficit, share = np.empty(shape), np.empty(shape), np.empty(shape)
    season_of = _Season(weather, south, {})
    for i, curve in enumerate(curves):
        potential[i], loss[i], deficit[i], share[i] = _grown(curve, weather, season_of)
    first: date = weather.days[0].astype(object)
    return Growing(first, tuple(curves), curve_of, potential, loss, deficit, share, leaf(GROUPS))


def _curve(farm: Farm, paddock: Paddock, numbers: SwardNumbers, trees: TreeShade | None) -> Curve:
    soil = farm.soil_of(paddock) or Soil("")
    texture = soil.texture or DEFAULT_TEXTURE
    available = (
        soil.available_water.to("mm") if soil.available_water is not None else book_available_mm(texture)
    )
    flush = tables.row(
        "forage", "flush", "rested 28 d or more" if numbers.long_rest else "grazed closer"
    ).middle()
    light = paddock.light.to("1") if paddock.light is not None else 1.0
    months = None
    if trees is not None and paddock.light is None:
        months = trees.light_of(paddock)
    if months is not None:
        light = float(np.mean(months))
    typed_cover = paddock.cover is not None and paddock.light is None and months is None
    cover = paddock.cover.to("1") if paddock.cover is not None and typed_cover else 0.0
    hydrologic = soil.group or DEFAULT_GROUP
    slats = light < 1 and settings.reading(farm, "shade_against_yield").applies_to == SLATS
    return Curve(
        numbers.kind, numbers.shares, texture, hydrologic, available, light, cover, flush, slats, months or ()
    )


def _light_by_day(curve: Curve, weather: Weather) -> Array:
    """Return the share of the open light that trees leave, shape (day,). [1]"""
    if not curve.months:
        return np.full(len(weather.days), curve.light)
    month = weather.days.astype("datetime64[M]").astype(int) % len(curve.months)
    return np.asarray(np.array(curve.months)[month], dtype=np.float64)


def book_available_mm(texture: str) -> float:
    """Return the water that a soil of that texture holds for grass, to the root depth fitted. [mm]"""
    share = tables.row("soil", "available_water", texture).middle()
    return float(
        water.total_available_mm(np.array(share), np.array(tables.row("forage", "Zr", COOL).middle()))
    )


@dataclass(frozen=True)
class _Season:
    """The season's factor, the same for all curves of one flush: worked out once. [1]"""

    weather: Weather
    south: bool
    known: dict[float, Array]

    def factor(self, curve: Curve, mean_c: Array) -> Array:
        """Return the factor of a curve, shape (member, day). [1]"""
        if curve.flush not in self.known:
            self.known[curve.flush] = _flush(curve, mean_c, self.weather, self.south)
        return self.known[curve.flush]


def _grown(curve: Curve, weather: Weather, season_of: _Season) -> tuple[Array, Array, Array, Array]:
    """Return potential (member, day, group), loss, deficit and water share (member, day) of a curve."""
    mean_c = (weather.tmax_c + weather.tmin_c) / 2
    mean10 = forage.mean_of_last(mean_c)
    passed = _light_by_day(curve, weather)
    et0 = weather.shaded_et0_mm(passed)
    deficit = _soil_water(curve, weather.rain_mm, et0, mean10)
    share = 1 - deficit / curve.available_mm
    wet = forage.water_response(share, et0)
    par = tables.row("forage", "par_share", "sunlight").middle() * weather.rs_mj_m2_d
    flush = season_of.factor(curve, mean_c)
    potential = np.zeros((*mean_c.shape, len(GROUPS)))
    vigour = np.zeros_like(mean_c)
    for g, (name, part) in enumerate(zip(GROUPS, curve.shares, strict=True)):
        if part == 0:
            continue
        warm = forage.temperature_response(mean10, group(name))
        lit = forage.potential_kg_ha_d(group(name), par * passed, warm, wet, flush if name == COOL else 1.0)
        open_sky = forage.potential_kg_ha_d(group(name), par, warm, wet, flush if name == COOL else 1.0)
        bound = light_correction(name, _year_light(passed, par), open_sky, lit, curve.slats)
        bound *= cover_factor(name, curve.cover)
        potential[..., g] = lit * bound
        vigour += part * warm * wet
    loss = forage.standing_loss_per_d(
        vigour,
        1.0,
        tables.row("forage", "standing_loss", "any sward").middle(),
        tables.row("forage", "idle_below", "any sward").middle(),
    )
    return potential, loss, deficit, share


def _year_light(passed: Array, par: Array) -> float:
    """Return the light of a year that trees leave over that of the open year. [1]"""
    year = slice(0, YEAR_D)
    of_day = par[:, year].mean(axis=0)
    return float((of_day * passed[year]).sum() / of_day.sum())


def _flush(curve: Curve, mean_c: Array, weather: Weather, south: bool) -> Array:
    knots = season()
    warmth = forage.photothermal_increment_c_d(mean_c, weather.day_length_h, knots)
    months = weather.days.astype("datetime64[M]")
    new_year = (months.astype(int) % 12 == (6 if south else 0)) & (
        weather.days == months.astype("datetime64[D]")
    )
    return forage.season_factor(forage.sum_since(warmth, new_year), knots, curve.flush)


def _soil_water(curve: Curve, rain_mm: Array, et0_mm: Array, mean10_c: Array) -> Array:
    """Return the water missing from field capacity at night, shape (member, day). [mm]"""
    crop = CROP_ROW.get(curve.kind, ROTATED)
    leading = GROUPS[int(np.argmax(curve.shares))]
    kc = forage.crop_coefficient(
        mean10_c,
        group(leading),
        tables.row("soil", "kc_ini", crop).middle(),
        tables.row("soil", "kc_mid", crop).middle(),
    )
    missing, *_ = water.run_water(
        np.zeros(len(rain_mm)),
        np.ascontiguousarray(rain_mm),
        np.ascontiguousarray(et0_mm),
        kc,
        curve.available_mm,
        tables.row("soil", "p_depletion", crop).middle(),
        curve_numbers(curve.hydrologic),
        tables.row("soil", "moisture_dry_below", "soil store").middle(),
        tables.row("soil", "moisture_wet_above", "soil store").middle(),
    )
    return np.asarray(missing)


def curve_numbers(hydrologic: str) -> tuple[float, float, float]:
    """Return the curve numbers of pasture in good order on dry, middling and wet ground. [1]"""
    number = tables.row("soil", "curve_number", f"{PASTURE}; {hydrologic}").middle()
    known = sorted(float(name) for name in tables.applies("soil", "curve_number_dry"))
    dry, wet = (
        np.array([tables.row("soil", key, f"{n:g}").middle() for n in known])
        for key in ("curve_number_dry", "curve_number_wet")
    )
    return water.curve_numbers_by_moisture(number, np.array(known), dry, wet)
