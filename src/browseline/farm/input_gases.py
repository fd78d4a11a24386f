"""Gases of what is spread: carbon dioxide of lime and urea, nitrous oxide; one code for record and plan."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from browseline import tables
from browseline.farm import factors
from browseline.farm.beast_gases import GasLine, direct, indirect
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.science import carbon
from browseline.units import factor

LIMES = {"dolomite": "dolomite", "limestone": "limestone (calcite)", "lime": "limestone (calcite)"}
UREA = "urea"
GRADE = re.compile(r"\b(\d{1,2}(?:\.\d+)?)-\d{1,2}(?:\.\d+)?-\d{1,2}(?:\.\d+)?\b")
"""The grade on a bag, nitrogen first: 34-0-0."""


def sort_of(name: str) -> str:
    """Return by what something that is spread counts: its lime, urea, the grade on its bag; else its name."""
    said = name.casefold().strip()
    lime = next((row for word, row in LIMES.items() if word in said), None)
    grade = GRADE.search(said)
    return lime or (UREA if UREA in said else grade[0] if grade else said)


def input_lines(farm: Farm, name: str, weight: Figure | None) -> Iterator[GasLine]:
    """Yield the gases of one thing that is spread; a line without an amount where no factor is known.

    Parameters
    ----------
    farm : Farm
        Whose choice of factors counts.
    name : str
        What it is, in small letters: by its words it is lime, dolomite, urea, or has a grade.
    weight : Figure or None
        None where nobody wrote it down. [kg]
    """
    lime = next((row for word, row in LIMES.items() if word in name), None)
    if lime is not None or UREA in name:
        yield GasLine(
            f"spread {name}", "lime" if lime else "urea", name, "CO2", _given_off(weight, lime or UREA)
        )
    if lime is not None:
        return
    grade = GRADE.search(name)
    nitrogen = _nitrogen(weight, name, float(grade[1]) if grade else None)
    synthetic = grade is not None or UREA in name
    sort = UREA if UREA in name else "default" if synthetic else "dung"
    emitted = factors.spread_emitted(farm, synthetic)
    lies = direct(nitrogen, emitted, name) if nitrogen is not None and emitted is not None else None
    yield GasLine(f"nitrogen {name}", "fertiliser", name, "N2O", lies)
    by_air = indirect(nitrogen, factors.air_lost(farm, sort), factors.air_emitted(farm), name)
    yield GasLine(f"nitrogen air {name}", "fertiliser_air", name, "N2O", by_air)
    by_water = indirect(nitrogen, factors.water_lost(farm), factors.water_emitted(farm), name)
    yield GasLine(f"nitrogen water {name}", "fertiliser_water", name, "N2O", by_water)


def _given_off(weight: Figure | None, what: str) -> Figure | None:
    """Return the carbon dioxide that lime or urea gives off. [kg CO2]"""
    if weight is None:
        return None
    row = tables.row("fuel", "carbon_of_input", what)
    value = float(carbon.co2_of_carbon(np.array((weight.value or 0.0) * row.middle())))
    formula = f"{weight.value or 0.0:.5g} × {row.middle():g} × 44 ÷ 12"
    parts = (weight, row.figure("carbon_of_input", what))
    return Figure("spread_co2", value, "kg CO2", formula=formula, parts=parts, about=weight.about)


def _nitrogen(weight: Figure | None, name: str, grade_pct: float | None) -> Figure | None:
    """Return the nitrogen in what is spread: by the grade on its bag, or urea's; else not known. [kg]"""
    if weight is None:
        return None
    if grade_pct is not None:
        share = grade_pct * factor("%", "1")
        parts: tuple[Figure, ...] = (weight,)
    elif UREA in name:
        row = tables.row("fuel", "nitrogen_share", UREA)
        share, parts = row.middle(), (weight, row.figure("nitrogen_share", UREA))
    else:
        return None
    formula = f"{weight.value or 0.0:.5g} × {share:g}"
    value = (weight.value or 0.0) * share
    return Figure("spread_nitrogen", value, "kg", formula=formula, parts=parts, about=name)
