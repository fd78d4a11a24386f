"""Shaded growth held inside the measured range, for every light that a paddock may come to."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.decades.feed import FIXED, Ground, skies_of
from browseline.decades.form import LightAhead
from browseline.decades.start import Start
from browseline.farm import settings
from browseline.science import forage
from browseline.sward.constants import leaf
from browseline.sward.numbers import GROUPS
from browseline.sward.shade import CUT_EVERY_D, MEASURED, SLATS, STOP_KG_HA, cover_factor, shade_ends
from browseline.weather import Weather

Array = npt.NDArray[np.float64]
SHADES = np.linspace(0.0, 0.9, 10)
COVERS = np.linspace(0.0, 1.0, 101)


def bounds_of(start: Start, ground: Ground, light: LightAhead, made: Weather) -> Array:
    """Return the factor on each group's growth in the shade, shape (paddock, member, year, group). [1]

    Parameters
    ----------
    start : Start
    ground : Ground
    light : LightAhead
    made : Weather
        Of the fixed members (``known_weather``): its first year is the one that is cut.

    References
    ----------
    forage.md section 2, "Use in the planner", as ``sward.shade.light_correction``
    """
    out = _by_cover(light)
    of_year = np.einsum("ymkp,k->pmy", light.month_frac, light.month_weight)
    off_map = np.array([p in light.stand_in or _typed_cover(ground, i) for i, p in enumerate(light.paddocks)])
    shaded = [i for i in range(len(of_year)) if of_year[i].min(initial=1.0) < 1 - 1e-9]
    out[~off_map] = 1.0
    for i, passed, factors in _by_light(start, ground, light, made, shaded):
        for g in range(len(GROUPS)):
            out[i, ..., g] *= np.interp(of_year[i], passed[::-1], factors[g, ::-1])
    return out


def _by_cover(light: LightAhead) -> Array:
    """Return what the table of yields keeps at each cover, shape (paddock, member, year, group). [1]"""
    cover = light.cover_frac.transpose(2, 1, 0)
    kept = [[cover_factor(name, float(share)) for share in COVERS] for name in GROUPS]
    return np.stack([np.interp(cover, COVERS, of_group) for of_group in kept], axis=-1)


def _typed_cover(ground: Ground, at: int) -> bool:
    paddock = ground.paddocks[at]
    return paddock.cover is not None and paddock.light is None


def _by_light(
    start: Start, ground: Ground, light: LightAhead, made: Weather, shaded: list[int]
) -> list[tuple[int, Array, Array]]:
    """Return each shaded paddock with year's lights, falling, and the factor of each group at them."""
    if not shaded:
        return []
    months = np.clip(1 - SHADES[:, None, None] * light.pattern.T[None, shaded], 0.0, 1.0)
    passed = months @ light.month_weight
    ratio = _ratios(start, ground, made, shaded, months)
    slats = settings.reading(start.farm, "shade_against_yield").applies_to == SLATS
    out = []
    for k, i in enumerate(shaded):
        factors = np.ones((len(GROUPS), len(SHADES)))
        for g, name in enumerate(GROUPS):
            shade = 1 - passed[:, k]
            if slats and name == MEASURED:
                kept = np.array([cover_factor(name, float(x)) for x in shade])
                factors[g] = kept / np.maximum(ratio[g, k], 1e-9)
            else:
                low, high = shade_ends(name, shade)
                factors[g] = forage.shade_correction(ratio[g, k], low, high)
            factors[g, 0] = 1.0
        out.append((i, passed[:, k], factors))
    return out


def _ratios(start: Start, ground: Ground, made: Weather, shaded: list[int], months: Array) -> Array:
    """Return a year's growth at each light over that in the open, shape (group, paddock, light). [1]"""
    from browseline.science.growth_years import grown

    south = start.farm.place is not None and start.farm.place.latitude_deg < 0
    first = (int(made.days[0].astype("datetime64[Y]").astype(int)) + 1970,)
    year = slice(0, 365)
    skies = skies_of(made, first, ground.rhythm, south)
    cut = np.zeros(365, dtype=np.int64)
    cut[::CUT_EVERY_D] = 1
    by_day = ("par_mj_m2_d", "et0_mm", "et0_light_mm", "rain_mm", "mean10_c", "warm")
    skies = skies._replace(
        year=np.zeros(365, dtype=np.int64), month=skies.month[year], cut=cut,
        flush=np.ascontiguousarray(skies.flush[:, :, year]),
        **{name: np.ascontiguousarray(getattr(skies, name)[:, year]) for name in by_day},
    )  # fmt: skip
    count = len(shaded) * len(SHADES)
    repeated = np.repeat(shaded, len(SHADES))
    light = np.ascontiguousarray(
        np.broadcast_to(months.transpose(1, 0, 2).reshape(count, 1, 1, 12), (count, FIXED, 1, 12))
    )
    out = np.ones((len(GROUPS), len(shaded), len(SHADES)))
    for g, name in enumerate(GROUPS):
        if not (ground.lands.share[shaded, g] > 0).any():
            continue
        share = np.zeros((count, len(GROUPS)))
        share[:, g] = 1.0
        lands = ground.lands._replace(
            share=share, flush=ground.lands.flush[repeated], water=ground.lands.water[repeated],
            leave_kg_ha=np.full(count, STOP_KG_HA),
        )  # fmt: skip
        prior = tables.row("forage", "NI_prior", name).middle()
        made_kg = grown(
            skies, lands, ground.groups._replace(loss_per_d=0.0), leaf(GROUPS), light,
            np.ones((count, FIXED, 1, len(GROUPS))), np.full((count, FIXED), prior),
        )  # fmt: skip
        total = np.asarray(made_kg).sum(axis=(1, 2, 3)).reshape(len(shaded), len(SHADES))
        out[g] = total / np.maximum(total[:, :1], 1e-9)
    return out
