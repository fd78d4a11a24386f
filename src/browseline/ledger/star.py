"""GWP* of the herd's methane beside the other metrics: what twenty years of herd, on record and kept, make.

A stream of methane warms by how it changes. The years behind the record are not known, so this year is told
by two herds that could have stood here, and the first year that can be worked out is twenty years on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from browseline.farm import factors
from browseline.farm.beast_gases import Present, animal_lines
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.ledger.beasts_carbon import present, standing
from browseline.ledger.facts import RECORD
from browseline.limits import Scene
from browseline.science.warming import BACK_YR, PRINTED, star_t_co2we
from browseline.units import factor, plain
from browseline.words import say

KG_T = factor("kg", "t")
YEAR_D = 365.0
BOOK = Origin("smith2021", "as printed: 4.53 and 4.25", "from-memory")


@dataclass(frozen=True)
class Star:
    """Warming-equivalents of a herd's methane, belched and of dung, beside its GWP100.

    Attributes
    ----------
    first : Figure
        First year with twenty years of herd behind it. [yr]
    recorded : Figure
        First year of the record. [yr]
    yearly : Figure
        GWP100 of a year's methane of the herd as it stands. [t CO2e]
    then : Figure
        GWP* of ``first``: the record's year behind it, the herd kept as it stands. [t CO2-we]
    new, steady : Figure
        GWP* of this year, had there been no herd for twenty years; had it been this one. [t CO2-we]
    """

    first: Figure
    recorded: Figure
    yearly: Figure
    then: Figure
    new: Figure
    steady: Figure


def herd_star(scene: Scene) -> Star | None:
    """Return GWP* of the herd's methane; None without animals whose methane is known."""
    yearly = _methane(scene.farm, standing(scene), say("carbon.herd.stands"))
    if yearly is None or not yearly.value:
        return None
    begun, earlier = _first_year(scene)
    first, this = begun + BACK_YR, scene.days[0].year
    guess = (Origin("common_practice", "", "common-practice", note=say("carbon.herd.kept")),)
    none = Figure("warming", 0.0, "t CO2e", origins=guess, formula="0", about=say("carbon.herd.none"))
    kept = Figure(
        "warming", yearly.value, "t CO2e", origins=guess, parts=(yearly,), formula=plain(yearly.value, 2),
        about=say("carbon.herd.of", year=first),
    )  # fmt: skip
    then = _star(kept, earlier or yearly, say("carbon.herd.of", year=first))
    new = _star(yearly, none, say("carbon.herd.new", year=this))
    ends = _years(begun, first)
    return Star(*ends, yearly, then, new, _star(yearly, yearly, say("carbon.herd.same", year=this)))


def _years(begun: int, first: int) -> tuple[Figure, Figure]:
    """Return the first year that twenty years of record reach, and the first of the record. [yr]"""
    recorded = Figure("record_from", float(begun), "yr", origins=(RECORD,))
    formula = f"{begun} + {BACK_YR}"
    return Figure("star_first", float(first), "yr", formula=formula, parts=(recorded,)), recorded


def _star(now: Figure, earlier: Figure, about: str) -> Figure:
    value = float(star_t_co2we(np.array(now.value), np.array(earlier.value), PRINTED))
    formula = (
        f"{PRINTED[0]:g} × {plain(now.value or 0.0, 2)} − {PRINTED[1]:g} × {plain(earlier.value or 0.0, 2)}"
    )
    return Figure("warming_star", value, "t CO2-we", origins=(BOOK,), formula=formula, parts=(now, earlier),
                  about=about)  # fmt: skip


def _first_year(scene: Scene) -> tuple[int, Figure | None]:
    """Return the first year of the record, and its methane as if the herd of its days had stood all year."""
    first = scene.farm.as_of
    last = min(date(first.year + 1, 1, 1), scene.days[0])
    days = max((last - first).days, 0)
    if not days:
        return first.year, None
    there = present(scene, first, last)
    whole = tuple(Present(one.kind, one.klass, _a_year(one.head_years, days), one.weight) for one in there)
    return first.year, _methane(scene.farm, whole, say("carbon.herd.of", year=first.year))


def _a_year(head: Figure, days: int) -> Figure:
    """Return the mean head of some days, as if it stood a year. [head]"""
    mean = (head.value or 0.0) * YEAR_D / days
    formula = f"{head.value or 0.0:.6g} × 365 ÷ {days}"
    return Figure("head_years", mean, "head", parts=(head,), formula=formula, about=head.about)


def _methane(farm: Farm, there: tuple[Present, ...], about: str) -> Figure | None:
    """Return the GWP100 of a year's methane by the metric in use; None where no factor is known. [t CO2e]"""
    amounts = [
        line.amount for one in there for line in animal_lines(farm, one)
        if line.gas == "CH4" and line.amount is not None
    ]  # fmt: skip
    row = factors.warming(factors.METRIC, "CH4")
    if not amounts or row is None:
        return None
    total = sum(amount.value or 0.0 for amount in amounts)
    formula = f"{plain(total)} × {row.middle():g} ÷ 1000"
    parts = (*amounts, row.figure(row.key, row.applies_to))
    return Figure("warming", total * row.middle() * KG_T, "t CO2e", formula=formula, parts=parts, about=about)
