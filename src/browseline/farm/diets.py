"""The second tier: methane and dung of animals from what they eat, where a farm typed their diet."""

from __future__ import annotations

from typing import Any

import numpy as np

from browseline import tables
from browseline.farm.accounts import Diet
from browseline.figures import Figure, typed
from browseline.science import methane
from browseline.science.animal_energy import Animal, energies
from browseline.tables import Row
from browseline.units import Quantity, plain

KINDS = ("sheep", "goat", "cattle")
LITTERS = {1: "single birth", 2: "twins", 3: "triplets or more"}
YEAR_D = methane.DAYS
POOR_PCT = 62.0
"""Digestibility up to which cattle count as fed on forage (ipcc2019_v4_ch10, Table 10.12). [%]"""


def animal_of(diet: Diet, weight_kg: float) -> tuple[Animal, tuple[Row, ...]]:
    """Return what the second tier asks of an animal of a typed diet, with the rows it took.

    Terms that nobody typed (milk, gain, wool) are none; the animal grazes flat or modest pasture.
    """
    kind, words = diet.kind, diet.klass.casefold()
    cfi = tables.row("methane", "maintenance_cfi", _cfi_case(diet, words))
    ca = tables.row("methane", "activity_ca", _PASTURE[kind])
    rows = [cfi, ca]
    more: dict[str, Any] = {}
    if diet.pregnant is not None:
        case = kind if kind == "cattle" else f"{kind}, {LITTERS[diet.litter]}"
        young = tables.row("methane", "pregnancy_share", case)
        rows.append(young)
        more |= {"c_pregnancy": young.middle(), "share_pregnant": np.array(diet.pregnant.to("1"))}
    if kind != "cattle":
        rows += _small(diet, words, weight_kg, more)
    elif diet.gain is not None and diet.mature is not None:
        c = tables.row("methane", "growth_c", f"cattle, {_sex(words)}")
        rows.append(c)
        more |= {"gain_kg_d": np.array(diet.gain.to("kg/d")), "mature_kg": np.array(diet.mature.to("kg")),
                 "c_growth": c.middle()}  # fmt: skip
    if kind == "cattle" and diet.milk is not None and diet.fat is not None:
        more |= {"milk_kg_d": np.array(diet.milk.to("kg/d")), "fat_pct": np.array(diet.fat.to("%"))}
    animal = Animal(
        kind, np.array(weight_kg), np.array(cfi.middle()), np.array(ca.middle()),
        np.array(diet.digestible.to("%")), **more
    )  # fmt: skip
    return animal, tuple(rows)


_PASTURE = {
    "cattle": "cattle, pasture, modest energy to get feed",
    "sheep": "sheep, grazing flat pasture (<1000 m/d)",
    "goat": "goat, lowland",
}


def _cfi_case(diet: Diet, words: str) -> str:
    if diet.kind == "goat":
        return "goat, all"
    if diet.kind == "sheep":
        return "sheep, lamb to 1 year" if "lamb" in words else "sheep, older than 1 year"
    if "bull" in words:
        return "cattle, bulls (intact males)"
    return "cattle, lactating cows" if diet.milk else "cattle, non-lactating cows, steers, heifers, calves"


def _sex(words: str) -> str:
    if "bull" in words:
        return "bulls"
    return "castrates" if "steer" in words else "females"


def _small(diet: Diet, words: str, weight_kg: float, more: dict[str, Any]) -> list[Row]:
    """Add milk, gain and wool of a sheep or goat; return the rows used."""
    rows = []
    if diet.milk is not None or diet.young_gain is not None:
        fat = "sheep, 7 % fat" if diet.kind == "sheep" else "goat, 3.8 % fat"
        milk = tables.row("methane", "milk_energy", fat)
        rows.append(milk)
        more["ev_milk_mj_kg"] = milk.middle()
        if diet.milk is not None:
            more["milk_kg_d"] = np.array(diet.milk.to("kg/d"))
        elif diet.young_gain is not None:
            more["weaning_gain_kg"] = np.array(diet.young_gain.to("kg"))
    if diet.gain is not None and diet.gain.value:
        sex = "all" if diet.kind == "goat" else _small_sex(words)
        a, b = (tables.row("methane", key, f"{diet.kind}, {sex}") for key in ("growth_a", "growth_b"))
        half = diet.gain.to("kg/d") * YEAR_D / 2
        more |= {"growth_a": a.middle(), "growth_b": b.middle(), "start_kg": np.array(weight_kg - half),
                 "end_kg": np.array(weight_kg + half)}  # fmt: skip
        rows += [a, b]
    if diet.wool is not None and diet.wool.value and diet.kind == "sheep":
        wool = tables.row("methane", "wool_energy", "sheep, energy in clean dry wool")
        more |= {"ev_wool_mj_kg": wool.middle(), "wool_kg_yr": np.array(diet.wool.to("kg"))}
        rows.append(wool)
    return rows


def _small_sex(words: str) -> str:
    if "ram" in words:
        return "intact males"
    return "castrates" if "wether" in words else "females"


def lost_row(diet: Diet) -> Row:
    """Return the share of gross energy that is belched. [% of GE]"""
    return tables.row("methane", "enteric_lost", _lost_case(diet))


def spread_row() -> Row:
    """Return the spread of methane by diet. [1]"""
    return tables.row("carbon_spread", "relative_sd", "enteric EF Tier 2")


def _lost_case(diet: Diet) -> str:
    if diet.kind != "cattle":
        return f"{diet.kind}, default"
    poor = diet.digestible.to("%") <= POOR_PCT
    return (
        "cattle, non-dairy, >75 % forage"
        if poor
        else "cattle, non-dairy, high-quality forage or mixed ration"
    )


def gross_figure(diet: Diet, weight: Quantity, about: str) -> Figure:
    """Return the gross energy that an animal of a typed diet eats. [MJ]"""
    animal, rows = animal_of(diet, weight.to("kg"))
    found = energies(animal)
    terms = (found.maintenance, found.activity, found.milk, found.pregnancy, found.gain, found.wool)
    parts = (
        typed("digestible", diet.digestible.to("1"), "1", diet.digestible.text, about=about),
        typed("weight", weight.to("kg"), "kg", weight.text, about=about),
        *(row.figure(row.key, row.applies_to) for row in rows),
    )
    formula = " + ".join(f"{float(term):.2f}" for term in terms if float(term)) + " MJ/d"
    return Figure("gross_energy", float(found.gross), "MJ", formula=formula, parts=parts, about=about)


def belched(head: Figure, gross: Figure, lost: Row, half: float) -> Figure:
    """Return methane belched, head × gross energy × share lost, with its range. [kg CH4]"""
    each = float(methane.enteric_kg_ch4_yr(np.array(gross.value), np.array(lost.middle())))
    value = each * (head.value or 0.0)
    formula = f"{plain(head.value or 0.0)} × {gross.value:.4g} × {lost.middle():g} % × 365 ÷ 55.65"
    return Figure(
        "methane_belched_diet", value, "kg CH4", value * (1 - half), value * (1 + half), formula=formula,
        parts=(head, gross, lost.figure("enteric_lost", lost.applies_to)), about=head.about,
    )  # fmt: skip


def solids(head: Figure, diet: Diet, gross: Figure) -> Figure:
    """Return the volatile solids of a year's dung by what was eaten. [kg]"""
    urine = tables.row("methane", "urine_share", "sheep;goat;cattle, urinary energy fraction of GE")
    ash = tables.row("methane", "dung_ash", "cattle, ash in manure")
    each = methane.solids_kg_d(
        np.array(gross.value), np.array(diet.digestible.to("%")), urine.middle(), ash.middle()
    )
    value = float(each) * YEAR_D * (head.value or 0.0)
    kept = f"(1 − {diet.digestible.text} + {urine.middle():g}) × (1 − {ash.middle():g})"
    formula = f"{plain(head.value or 0.0)} × {gross.value:.4g} × {kept} ÷ 18.45 × 365"
    parts = (head, gross, *(row.figure(row.key, row.applies_to) for row in (urine, ash)))
    return Figure("dung_solids", value, "kg", formula=formula, parts=parts, about=head.about)
