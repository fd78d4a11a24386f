"""Carbon in trees that were measured: dry matter from stems, expanded to all, and how wrong it may be.

Two errors are told apart: another choice of stems (sampling, the whole planting counted), and the equation,
which is shared by every tree and does not shrink with their number.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from browseline.farm import tree_mass
from browseline.farm.records import Farm, Planting
from browseline.farm.toml_carbon import COARSE_ROOTS
from browseline.farm.tree_mass import CHOJNACKY, JENKINS, WIDE, Equation, equation_of, equations
from browseline.figures import Figure, Origin
from browseline.ledger.facts import counted
from browseline.science import carbon, wood
from browseline.units import factor

EIGHTY, NINETY = 0.8, 0.9
"""Shares of samples whose range holds the truth: of a figure's own range, and as buyers ask for it."""
KG_T = factor("kg", "t")


@dataclass(frozen=True)
class Stems:
    """Stems of a planting measured in one year. ``dbh_cm`` in order of the entries; ``trees`` alive then."""

    planting: str
    year: int
    day: date
    dbh_cm: tuple[float, ...]
    typed: tuple[str, ...]
    trees: int
    who: str = ""


@dataclass(frozen=True)
class TreeStock:
    """What a planting holds by its stems.

    Attributes
    ----------
    mean, error : Figure
        Dry matter above ground of a tree, and the standard error of its mean. [kg]
    above, whole : Figure
        Carbon dioxide held above ground; with roots. Their 80 % ranges are of the sample alone. [t CO2]
    ends : (Figure, Figure) or None
        Ends of the 90 % range of ``whole``, of the sample alone; None for one stem of more trees. [t CO2]
    by_mean_stem : Figure
        Share by which the mean stem's tree falls short of the mean tree. [1]
    scatter : Figure or None
        Error of one tree on the logarithm, shared by all of the group. [1]
    a_year : Figure or None
        Mean a year since planting, which says nothing of the years ahead. [t CO2]
    """

    planting: str
    name: str
    stems: Stems
    equation: str
    mean: Figure
    error: Figure
    above: Figure
    whole: Figure
    ends: tuple[Figure, Figure] | None
    by_mean_stem: Figure
    scatter: Figure | None
    a_year: Figure | None


@dataclass(frozen=True)
class Change:
    """What another choice (*set*, *group*, *roots* or *carbon*, named) would make of a stock.

    ``mean`` and ``whole`` are the tree and the stock with it, ``share`` how far the stock moves. ``used`` and
    ``taken`` are the shares of carbon in dry wood, in use and in its place, where that is the choice.
    """

    what: str
    case: str
    mean: Figure
    whole: Figure
    share: Figure
    used: Figure | None = None
    taken: Figure | None = None


# ---------------------------------------------------------------- a stock


def stock(farm: Farm, planting: Planting, stems: Stems) -> TreeStock:
    """Return what a planting holds by its stems."""
    line = equation_of(farm, planting)
    mean, error = _mean(line, stems), _error(line, stems)
    root, share = root_figure(farm, planting, line, stems, mean), carbon_figure(farm)
    above = _held("tree_carbon_above", stems, mean, error, None, share)
    whole = _held("tree_carbon", stems, mean, error, root, share)
    return TreeStock(
        planting.id, planting.name, stems, line["group"], mean, error, above, whole, _ends(stems, whole),
        _shortcut(line, stems, mean), _scatter(farm, planting, line), _a_year(planting, stems, whole),
    )  # fmt: skip


def _mean(line: Equation, stems: Stems) -> Figure:
    kilograms = tree_mass.mass_kg(line, np.array(stems.dbh_cm))
    origins = (Origin("farm", basis="farm", who=stems.who), tree_mass.origin(line))
    formula = (
        f"Σ exp({line['b0']} + {line['b1']} ln dbh) ÷ {len(stems.dbh_cm)}; dbh {', '.join(stems.typed[:40])}"
    )
    return Figure(
        "tree_mass", float(kilograms.mean()), "kg", origins=origins, formula=formula, as_of=stems.day,
        about=stems.planting,
    )  # fmt: skip


def _error(line: Equation, stems: Stems) -> Figure:
    kilograms = tree_mass.mass_kg(line, np.array(stems.dbh_cm))
    value = wood.sampling_error(kilograms, stems.trees)
    n = len(kilograms)
    spread = float(kilograms.std(ddof=1)) if n > 1 else float("nan")
    formula = f"{spread:.3g} ÷ √{n} × √(1 − {n} ÷ {stems.trees})"
    known = None if np.isnan(value) else value
    origins = (Origin("farm", basis="farm", who=stems.who),)
    return Figure("tree_mass_error", known, "kg", origins=origins, formula=formula, as_of=stems.day,
                  about=stems.planting)  # fmt: skip


def _held(name: str, stems: Stems, mean: Figure, error: Figure, root: Figure | None, share: Figure) -> Figure:
    """Return trees × mean × (1 + roots) × carbon × 44/12, with the 80 % range of the sample."""
    roots = root.value or 0.0 if root is not None else 0.0
    each = float(carbon.tree_kg_co2(np.array(1.0), np.array(roots), np.array(share.value)))
    per_kg = each * stems.trees * KG_T
    value, low, high = (mean.value or 0.0) * per_kg, None, None
    if error.value is not None and len(stems.dbh_cm) > 1:
        half = wood.student_factor(len(stems.dbh_cm), EIGHTY) * error.value * per_kg
        low, high = value - half, value + half
    with_roots = f" × {1 + roots:g}" if root is not None else ""
    formula = f"{stems.trees} × {mean.value:.4g} kg{with_roots} × {share.value:g} × 44 ÷ 12"
    trees = counted("trees_alive", stems.trees, "trees", about=stems.planting)
    parts = tuple(part for part in (trees, mean, error, root, share) if part is not None)
    return Figure(name, value, "t CO2", low, high, formula=formula, parts=parts, about=stems.planting)


def _ends(stems: Stems, whole: Figure) -> tuple[Figure, Figure] | None:
    """Return the ends of the 90 % range of the sample. [t CO2]"""
    if whole.value is None or whole.high is None:
        return None
    n = len(stems.dbh_cm)
    wide, usual = wood.student_factor(n, NINETY), wood.student_factor(n, EIGHTY)
    half = (whole.high - whole.value) * wide / usual
    low, high = (
        Figure(name, whole.value + sign * half, "t CO2", parts=(whole,), about=whole.about,
               formula=f"{whole.value:.4g} {mark} {half:.3g} ({wide:.4g} standard errors)")
        for name, sign, mark in (("tree_carbon_low", -1, "−"), ("tree_carbon_high", 1, "+"))
    )  # fmt: skip
    return low, high


def carbon_figure(farm: Farm) -> Figure:
    """Return the share of carbon in dry wood. [1]"""
    row = tree_mass.carbon_row(farm)
    return row.figure("carbon_share", row.applies_to)


def root_figure(farm: Farm, planting: Planting, line: Equation, stems: Stems, mean: Figure) -> Figure:
    """Return roots over what stands above ground. [1]"""
    if tree_mass.by_stem(farm):
        return coarse_roots(line, stems)
    ground = tree_mass.ground_ha(planting, stems.trees)
    standing = (mean.value or 0.0) * stems.trees * KG_T / ground if ground else 0.0
    row = tree_mass.root_row(farm, planting, line, standing)
    return row.figure("root_share", row.applies_to)


def coarse_roots(line: Equation, stems: Stems) -> Figure:
    """Return coarse roots over dry matter above ground by the size of each stem. [1]"""
    rows, dbh = tree_mass.part_rows(line, "coarse roots"), np.array(stems.dbh_cm)
    kilograms = tree_mass.mass_kg(line, dbh)
    share = tree_mass.part_share(line, dbh, "coarse roots")
    value = float((kilograms * share).sum() / kilograms.sum())
    formula = f"Σ kg × exp({rows[0].middle():g} + {rows[1].middle():g} ÷ dbh) ÷ Σ kg"
    parts = tuple(row.figure(row.key, row.applies_to) for row in rows)
    return Figure("root_share", value, "1", formula=formula, parts=parts, about=COARSE_ROOTS)


def stem_share(line: Equation, stems: Stems) -> float:
    """Return stem wood and bark over all dry matter above ground: what of a felled tree can be sawn. [1]"""
    dbh = np.array(stems.dbh_cm)
    kilograms = tree_mass.mass_kg(line, dbh)
    return float((kilograms * tree_mass.stem_share(line, dbh)).sum() / kilograms.sum())


def _shortcut(line: Equation, stems: Stems, mean: Figure) -> Figure:
    dbh = np.array(stems.dbh_cm)
    short = float(tree_mass.mass_kg(line, np.array(dbh.mean())))
    value = 1.0 - short / (mean.value or 1.0)
    formula = f"1 − {short:.4g} ÷ {mean.value:.4g}"
    return Figure("mean_stem_short", value, "1", formula=formula, parts=(mean,), about=stems.planting)


def _scatter(farm: Farm, planting: Planting, line: Equation) -> Figure | None:
    """Return the error of one tree on the logarithm: of the group, else of the species' in the other set."""
    found = tree_mass.log_error(farm, planting, line)
    if found is None:
        return None
    return Figure(
        "tree_scatter",
        float(found["log_rmse"]),
        "1",
        origins=(tree_mass.origin(found),),
        about=found["group"],
    )


def _a_year(planting: Planting, stems: Stems, whole: Figure) -> Figure | None:
    if planting.planted is None or stems.year <= planting.planted:
        return None
    years = stems.year - planting.planted
    formula = f"{whole.value:.4g} ÷ {years}"
    return Figure(
        "tree_carbon_a_year", (whole.value or 0.0) / years, "t CO2", formula=formula, parts=(whole,),
        about=planting.id,
    )  # fmt: skip


# ---------------------------------------------------------------- what moves it


def changes(farm: Farm, planting: Planting, stems: Stems) -> tuple[Change, ...]:
    """Return what other choices would make of a stock, another set first, then groups, roots, carbon."""
    line, base = equation_of(farm, planting), stock(farm, planting, stems)
    made = []
    seen = {line["id"]}
    for what, other in _others(farm, planting, line):
        if other["id"] not in seen:
            seen.add(other["id"])
            made.append(_change(farm, planting, stems, base, what, other))
    root = coarse_roots(line, stems)
    whole = _held("tree_carbon", stems, base.mean, base.error, root, carbon_figure(farm))
    made.append(Change("roots", COARSE_ROOTS, base.mean, whole, _share(whole, base.whole)))
    return (*made, *_by_carbon(farm, planting, stems, base))


def _by_carbon(farm: Farm, planting: Planting, stems: Stems, base: TreeStock) -> Iterator[Change]:
    """Yield what each other share of carbon in dry wood would make of the same trees."""
    line, used = equation_of(farm, planting), carbon_figure(farm)
    root = root_figure(farm, planting, line, stems, base.mean)
    for row in tree_mass.other_carbon_rows(farm, line):
        taken = row.figure("carbon_share", row.applies_to)
        whole = _held("tree_carbon", stems, base.mean, base.error, root, taken)
        yield Change("carbon", row.applies_to, base.mean, whole, _share(whole, base.whole), used, taken)


def _others(farm: Farm, planting: Planting, line: Equation) -> Sequence[tuple[str, Equation]]:
    """Return the species' group in the other set, mixed hardwood, and groups of other trees of the farm."""
    other = JENKINS if line["set"] == CHOJNACKY else CHOJNACKY
    found = [("set", equation_of(farm, planting, other))]
    found += [("group", one) for one in equations() if one["group"] == WIDE and one["set"] == JENKINS]
    found += [
        ("group", equation_of(farm, one, line["set"])) for one in farm.plantings if one.id != planting.id
    ]
    return found


def _change(
    farm: Farm, planting: Planting, stems: Stems, base: TreeStock, what: str, line: Equation
) -> Change:
    mean, error = _mean(line, stems), _error(line, stems)
    root = root_figure(farm, planting, line, stems, mean)
    whole = _held("tree_carbon", stems, mean, error, root, carbon_figure(farm))
    return Change(what, f"{line['set']}, {line['group']}", mean, whole, _share(whole, base.whole))


def _share(whole: Figure, base: Figure) -> Figure:
    value = (whole.value or 0.0) / (base.value or 1.0) - 1.0
    formula = f"{whole.value:.4g} ÷ {base.value:.4g} − 1"
    return Figure("carbon_changed", value, "1", formula=formula, parts=(whole, base), about=whole.about)
