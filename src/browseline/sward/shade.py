"""What trees take from the sward: growth in their light, kept inside the measured envelope."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.science import forage, grazing
from browseline.sward.constants import leaf

Array = NDArray[np.float64]
CUT_EVERY_D = 30
YEAR_D = 365
MEMBERS = 8
STOP_KG_HA = 1500.0
SHADES = ("30 %", "50 %", "70 %", "80 %")
PERCENT = 100.0
MEASURED_POINTS = 3
MEASURED = "cool-season grass"
SLATS = "measured slats"


def _rows(group: str) -> list[tables.Row]:
    return [tables.row("forage", "shade_yield", f"{group}, {shade}") for shade in SHADES]


def _knots() -> list[float]:
    return [float(shade.split()[0]) / PERCENT for shade in SHADES]


def cover_factor(group: str, cover_frac: float) -> float:
    """Return yield under a crown cover over yield in the open, by the table. [1]

    Crown cover is not shade; until crowns are computed it stands for it, and the page says so.

    References
    ----------
    mercier2020 and forage.md section 2: central values, straight between
    """
    if cover_frac <= 0:
        return 1.0
    values = [row.middle() for row in _rows(group)]
    return float(forage.shade_accept(cover_frac, _knots(), values))


def measured_grass(cover_frac: float) -> tuple[float, bool]:
    """Return what cool-season grass kept under so much shade where it was measured, and if that is past it.

    1 up to the lowest measured shade, straight between the measured points, and on by the last slope past
    them, where the second value is True. [1]

    References
    ----------
    mercier2020: 30, 50 and 70 % under slats, without roots or grazers
    """
    knots, values = _knots()[:MEASURED_POINTS], [row.middle() for row in _rows(MEASURED)[:MEASURED_POINTS]]
    if cover_frac <= knots[-1]:
        return float(np.interp(cover_frac, knots, values)), False
    slope = (values[-1] - values[-2]) / (knots[-1] - knots[-2])
    return max(values[-1] + slope * (cover_frac - knots[-1]), 0.0), True


def light_correction(
    group: str, light_frac: float, open_sky: Array, lit: Array, slats: bool = False
) -> float:
    """Return the factor that keeps a year's growth in the shade inside the measured range. [1]

    Parameters
    ----------
    open_sky, lit : array, shape (member, day)
        Potentials of the group in the open and under the trees. [kg DM/ha/d]
    slats : bool
        Hold cool-season grass to what was measured under slats, not only inside the range set
        (conflict K23); for other grass nothing was measured there.

    References
    ----------
    forage.md section 2, "Use in the planner": a year cut every 30 d to the stop mass; mercier2020
    """
    if light_frac >= 1 or open_sky.shape[1] < YEAR_D:
        return 1.0
    ratio = _year_kg_ha(group, lit) / max(_year_kg_ha(group, open_sky), 1e-9)
    shade = 1 - light_frac
    if slats and group == MEASURED:
        return cover_factor(group, shade) / max(ratio, 1e-9)
    low, high = shade_ends(group, shade)
    return float(forage.shade_correction(ratio, low, high))


def shade_ends(group: str, shade_frac: Array | float) -> tuple[Array, Array]:
    """Return both ends of the accepted yield under a shade, over that of the open. [1]"""
    low, high = (
        forage.shade_accept(
            shade_frac,
            _knots(),
            [row.middle() if getattr(row, end) is None else getattr(row, end) for row in _rows(group)],
        )
        for end in ("low", "high")
    )
    return low, high


def _year_kg_ha(group: str, potential: Array) -> float:
    """Return the mean yearly yield of a group cut every 30 days at fertility of its prior. [kg DM/ha]"""
    fertility = tables.row("forage", "NI_prior", group).middle()
    constants = leaf((group,))
    days = YEAR_D
    cuts = np.full(days, np.inf)
    cuts[::CUT_EVERY_D] = STOP_KG_HA
    quiet, typed = np.zeros(days), np.full(days, np.nan)
    one = np.ones(1)
    total = 0.0
    members = min(MEMBERS, len(potential))
    for member in range(members):
        own = np.ascontiguousarray(potential[member, :days, None])
        run = grazing.one_paddock(STOP_KG_HA, quiet, 0.0, cuts, typed, fertility, own, quiet, one, constants)
        total += float(run.growth_kg_ha.sum())
    return total / members
