"""Gases of animals: methane belched by the first or the second tier, methane and nitrous oxide of dung."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from browseline import tables
from browseline.farm import diets, factors
from browseline.farm.accounts import Diet
from browseline.farm.records import Farm
from browseline.figures import NINE_TENTHS, Figure, Origin, typed
from browseline.science import methane, nitrogen, spread
from browseline.tables import Row
from browseline.units import Quantity, factor

Gas = Literal["CO2", "CH4", "N2O"]
YEAR_D = methane.DAYS
PERCENT = factor("%", "1")


@dataclass(frozen=True)
class GasLine:
    """One gas of one line of the book in one year. ``amount`` is None where there is no factor.

    ``line`` is *enteric*, *dung*, *dung_air*, *dung_water*, *fuel* …, ``about`` whose it is.
    """

    key: str
    line: str
    about: str
    gas: Gas
    amount: Figure | None
    fossil: bool = False


@dataclass(frozen=True)
class Present:
    """Animals of one kind and class: mean head over a stretch times its years, with their weight."""

    kind: str
    klass: str
    head_years: Figure
    weight: Quantity | None


def head_years(kind: str, klass: str, value: float, days: float, origin: Origin) -> Figure:
    """Return head times years as a figure: what stood over so many days. [head]"""
    mean = value * YEAR_D / days if days else 0.0
    formula = f"{mean:.5g} head × {days:.5g} d ÷ {YEAR_D:.0f} d"
    return Figure("head_years", value, "head", origins=(origin,), about=f"{kind} {klass}", formula=formula)


# ---------------------------------------------------------------- lines


def animal_lines(farm: Farm, there: Present) -> tuple[GasLine, ...]:
    """Return the gases of some animals: belched, from dung where it lies, by way of air and of water."""
    about = there.head_years.about
    kind, n = there.kind, _nitrogen(farm, there)
    return (
        GasLine(f"enteric {about}", "enteric", about, "CH4", enteric_figure(farm, there)),
        GasLine(f"dung {about}", "dung", about, "CH4", _dung_figure(farm, there)),
        GasLine(f"dung N {about}", "dung_n", about, "N2O", _direct(farm, kind, n, about)),
        GasLine(
            f"dung air {about}", "dung_air", about, "N2O",
            indirect(n, factors.air_lost(farm, "dung"), factors.air_emitted(farm), about),
        ),
        GasLine(
            f"dung water {about}", "dung_water", about, "N2O",
            indirect(n, factors.water_lost(farm), factors.water_emitted(farm), about),
        ),
    )  # fmt: skip


def enteric_figure(farm: Farm, there: Present) -> Figure | None:
    """Return the methane that some animals belch: by a typed diet, else by the head. [kg CH4]"""
    eaten = _eaten(farm, there)
    if eaten is not None:
        lost, half = diets.lost_row(eaten[0]), NINE_TENTHS * diets.spread_row().middle()
        return diets.belched(there.head_years, eaten[1], lost, half)
    row = factors.enteric(farm, there.kind, there.klass)
    if row is None:
        return None
    half = NINE_TENTHS * tables.row("carbon_spread", "relative_sd", "enteric EF Tier 1").middle()
    return _scaled("methane_belched", there.head_years, row, "kg CH4", half)


def _eaten(farm: Farm, there: Present) -> tuple[Diet, Figure] | None:
    """Return the diet that the farm typed for some animals and what they eat; None for the first tier."""
    diet = next((d for d in farm.carbon.diets if (d.kind, d.klass) == (there.kind, there.klass)), None)
    if diet is None or there.kind not in diets.KINDS or there.weight is None:
        return None
    return diet, diets.gross_figure(diet, there.weight, there.head_years.about)


def _scaled(name: str, head: Figure, row: Row, unit: str, half: float) -> Figure:
    """Return head times a factor, with a range of so much of itself on either side."""
    each = row.figure(row.key, row.applies_to)
    value = (head.value or 0.0) * row.middle()
    formula = f"{head.value or 0.0:.5g} × {row.middle():g}"
    return Figure(
        name, value, unit, value * (1 - half), value * (1 + half), formula=formula, parts=(head, each),
        about=head.about,
    )  # fmt: skip


# ---------------------------------------------------------------- dung


def weight_figure(farm: Farm, there: Present) -> Figure | None:
    """Return the weight a head: typed, else the usual one of the region. [kg]"""
    about = there.head_years.about
    if there.weight is not None:
        return typed("weight", there.weight.to("kg"), "kg", there.weight.text, about=about)
    row = factors.by_region(farm, "methane", "animal_mass", there.kind, there.klass)
    return row.figure("animal_mass", about) if row is not None else None


def _yearly(farm: Farm, there: Present, name: str, table: str, key: str) -> Figure | None:
    """Return what some animals give off by a rate for their weight: solids, nitrogen. [kg]"""
    weight = weight_figure(farm, there)
    row = factors.by_region(farm, table, key, there.kind, there.klass)
    if weight is None or row is None:
        return None
    each = float(nitrogen.excreted_by_rate(np.array(row.middle()), np.array(weight.value)))
    head = there.head_years
    formula = f"{head.value or 0.0:.5g} × {row.middle():g} × {weight.value:.4g} ÷ 1000 × 365"
    parts = (head, weight, row.figure(key, row.applies_to))
    return Figure(name, each * (head.value or 0.0), "kg", formula=formula, parts=parts, about=head.about)


def _nitrogen(farm: Farm, there: Present) -> Figure | None:
    return _yearly(farm, there, "dung_nitrogen", "nitrogen", "nitrogen_rate")


def _dung_figure(farm: Farm, there: Present) -> Figure | None:
    eaten = _eaten(farm, there)
    solids = _yearly(farm, there, "dung_solids", "methane", "solids_rate")
    if eaten is not None:
        solids = diets.solids(there.head_years, *eaten)
    share = factors.dung_converted(farm)
    if solids is None or share is None:
        return None
    most = tables.row("methane", "dung_most", factors.DUNG)
    density = tables.row("methane", "methane_density", "any")
    value = float(
        methane.dung_kg_ch4(np.array(solids.value), most.middle(), share.middle(), density.middle())
    )
    formula = f"{solids.value or 0.0:.5g} × {most.middle():g} × {density.middle():g} × {share.middle():g} %"
    parts = (solids, *(row.figure(row.key, row.applies_to) for row in (most, density, share)))
    return Figure("dung_methane", value, "kg CH4", formula=formula, parts=parts, about=solids.about)


def _direct(farm: Farm, kind: str, n: Figure | None, about: str) -> Figure | None:
    row = factors.dung_emitted(farm, kind)
    if n is None or row is None:
        return None
    made = direct(n, row, about)
    case = _fit(kind, row)
    if case is None or made.value is None or row.value is None:
        return made
    mu, sd = (tables.row("carbon_spread", key, case).middle() for key in ("log_mu", "log_sd"))
    low, high = (spread.lognormal_point(mu, sd, np.array(p)) for p in (0.1, 0.9))
    scale = made.value / row.value
    return Figure(
        made.name, made.value, made.unit, float(low) * scale, float(high) * scale, formula=made.formula,
        parts=made.parts, about=about,
    )  # fmt: skip


def _fit(kind: str, row: Row) -> str | None:
    """Return the skewed fit of a factor of dung where the edition has one."""
    year, _, where = row.applies_to.split(", ")
    if year != factors.EDITION:
        return None
    if kind in ("sheep", "goat", "horse"):
        return "EF3PRP sheep"
    return f"EF3PRP cattle {where.partition(' ')[0]}"


def direct(n: Figure, row: Row, about: str) -> Figure:
    """Return nitrous oxide from where nitrogen lies. [kg N2O]"""
    value = float(nitrogen.direct_kg_n2o(np.array(n.value), np.array(row.middle())))
    formula = f"{n.value or 0.0:.5g} × {row.middle():g} × 44 ÷ 28"
    return Figure(
        "n2o_direct", value, "kg N2O", formula=formula, parts=(n, row.figure(row.key, row.applies_to)),
        about=about,
    )  # fmt: skip


def indirect(n: Figure | None, lost: Row | None, emitted: Row | None, about: str) -> Figure | None:
    """Return nitrous oxide from nitrogen that went into air or water. [kg N2O]"""
    if n is None or lost is None or emitted is None:
        return None
    value = float(
        nitrogen.indirect_kg_n2o(*(np.array(x) for x in (n.value, lost.middle(), emitted.middle())))
    )
    formula = f"{n.value or 0.0:.5g} × {lost.middle():g} × {emitted.middle():g} × 44 ÷ 28"
    parts = (n, *(row.figure(row.key, row.applies_to) for row in (lost, emitted)))
    return Figure("n2o_indirect", value, "kg N2O", formula=formula, parts=parts, about=about)
