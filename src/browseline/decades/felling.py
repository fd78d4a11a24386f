"""Trees taken out on purpose, and how much of a stem is a sawlog, by year, member and cohort."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import TreeSizes
from browseline.decades.draws_ahead import chances
from browseline.farm import tree_mass
from browseline.farm.future import Future, LogRule
from browseline.farm.records import Farm, Planting
from browseline.science import logs
from browseline.units import factor

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
ANY = "any tree"
FULL, SHORT = "full log", "short log"
SECTIONS_FT = 4.0
TAPER_IN = 0.5
"""Inches that a log is thicker every four feet down, as the International rule has it (science/logs)."""
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
WEIGHTS = WEIGHTS / WEIGHTS.sum()
RULES: dict[LogRule, Callable[[Array, float], Array]] = {
    "doyle": logs.doyle_bf, "scribner": logs.scribner_bf, "international": logs.international_bf,
}  # fmt: skip


@dataclass(frozen=True)
class Stem:
    """What the mean stem of a cohort is cut into, shape (year, member) each.

    ``log`` is by the log rule [board feet; m3 by the cubic rule], ``log_m3`` and ``stem_m3`` are solid wood.
    """

    log: Array
    log_m3: Array
    stem_m3: Array


def taken_out(sizes: TreeSizes, planting: str) -> Array:
    """Return the trees taken out on purpose, shape (year, member, cohort of the planting). [trees]

    Of the trees that go in a year as many as were taken in that member; those that die do not count.
    """
    own, at = sizes.fates[planting], sizes.of(planting)
    out = np.zeros((len(sizes.years), len(sizes.members), len(at)))
    edges = [sizes.cohorts[i].first for i in at]
    for row, year in enumerate(sizes.years):
        taken = own.thinned.get(year)
        if taken is None:
            continue
        gone = (own.end == year) & (own.began() < year)[None, :]
        by_cohort = np.add.reduceat(gone.astype(np.float64), edges, axis=1)
        whole = by_cohort.sum(axis=1, keepdims=True)
        out[row] = by_cohort * taken[:, None] / np.maximum(whole, 1.0)
    return out


def softwood(farm: Farm, planting: Planting) -> bool:
    """Return whether a planting's wood counts as softwood: by the class of its tree equation."""
    return tree_mass.equation_of(farm, planting)["class"] in tree_mass.SOFT


def stems_cm(sizes: TreeSizes, cohort: int) -> Array:
    """Return stems of a cohort as thick and thin ones share it, shape (year, member, node). [cm]"""
    spread = sizes.scatter[:, cohort][:, None, None]
    middle = sizes.stem_cm[:, :, cohort][:, :, None] * np.exp(-(spread**2) / 2)
    return np.asarray(middle * np.exp(spread * NODES))


def cut_up(farm: Farm, sizes: TreeSizes, planting: Planting, cohort: int, future: Future) -> Stem:
    """Return what the mean stem of a cohort gives, thick and thin stems each by its own size.

    One log of 16 ft where the crown's base stands as high, else one of 8 ft where 8.5 ft are clear, else
    none; two where the printed table has them. Thinner than the least small end is no log.
    """
    dbh_in = stems_cm(sizes, cohort) * factor("cm", "in")
    base_ft = (sizes.base_m[:, :, cohort] * factor("m", "ft"))[:, :, None]
    form_class = future.form_class.to("%") if future.form_class is not None else _middle("form_class", ANY)
    small = logs.butt_log_in(dbh_in, form_class)
    full_ft, short_ft = _middle("log_length", FULL), _middle("log_length", SHORT)
    least = _middle("log_least", "softwood" if softwood(farm, planting) else "hardwood")
    parts = [np.zeros(dbh_in.shape), np.zeros(dbh_in.shape)]
    for length, clear in (
        (full_ft, base_ft >= full_ft),
        (2 * SECTIONS_FT, _short(base_ft, short_ft, full_ft)),
    ):
        end = small + TAPER_IN * (full_ft - length) / SECTIONS_FT
        good = clear & (end >= least)
        solid = _solid_m3(end, length)
        scaled = solid if future.log_rule == "cubic" else RULES[future.log_rule](end, length)
        parts = [np.where(good, new, old) for new, old in zip((scaled, solid), parts, strict=True)]
    parts = _second_log(parts, dbh_in, base_ft >= 2 * full_ft, future.log_rule, form_class)
    volume = _stem_m3(farm, sizes, cohort)
    return Stem(parts[0] @ WEIGHTS, np.minimum(parts[1] @ WEIGHTS, volume), volume)


def _short(base_ft: Array, short_ft: float, full_ft: float) -> Bools:
    return np.asarray((base_ft >= short_ft) & (base_ft < full_ft))


def _second_log(
    parts: list[Array], dbh_in: Array, clear: Bools, rule: LogRule, form_class: float
) -> list[Array]:
    """Return one log, or two by the printed table: Scribner, form class 78, inside its stems alone."""
    if rule != "scribner" or form_class != _middle("form_class", ANY):
        return parts
    rows = [
        tables.row("timber", "two_logs_scribner", case)
        for case in tables.applies("timber", "two_logs_scribner")
    ]
    thick = np.array([float(row.applies_to.split()[1]) for row in rows])
    two = logs.two_logs_bf(dbh_in, thick, np.array([row.middle() for row in rows]))
    both = clear & np.isfinite(two) & (parts[0] > 0)
    more = np.divide(two, parts[0], out=np.ones(two.shape), where=both)
    return [np.where(both, part * more, part) for part in parts]


def _solid_m3(end_in: Array, length_ft: float) -> Array:
    """Return the solid wood of a log inside bark by the sections of its ends. [m3]"""
    large = end_in + TAPER_IN * length_ft / SECTIONS_FT
    wide, narrow = (logs.section_m2(np.maximum(d, 0.0) * factor("in", "m")) for d in (large, end_in))
    return logs.smalian_m3(wide, narrow, length_ft * factor("ft", "m"))


def _stem_m3(farm: Farm, sizes: TreeSizes, cohort: int) -> Array:
    """Return the volume of the mean stem, its form drawn by member within the table's range. [m3]"""
    row = tables.row("timber", "stem_form", ANY)
    low, high = row.low or 0.0, row.high or 0.0
    form = low + (high - low) * chances(farm.seed, "wood.form", sizes.members)
    squares = (stems_cm(sizes, cohort) ** 2) @ WEIGHTS
    return logs.stem_m3(np.sqrt(squares), sizes.height_m[:, :, cohort], form[None, :])


def _middle(key: str, applies_to: str) -> float:
    return tables.row("timber", key, applies_to).middle()
