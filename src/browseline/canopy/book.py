"""What the tables know of a species: fitted relations, curves, crown equations, leaf area, seasons."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from browseline import tables
from browseline.science import trees_crown
from browseline.science.trees_open import Relation
from browseline.units import factor

STEM, HEIGHT, CROWN, LEAF = "dbh from age", "height from dbh", "crown diameter from dbh", "leaf area from dbh"
RELATIONS = (STEM, HEIGHT, CROWN, LEAF)
POOLED = "all"
ANY = "any tree"
OPEN = "any open-grown tree"
HARDWOOD = "upland oak-hickory"
NOT_ALONE = ("weak fit", "young trees only")
Line = dict[str, str]


@dataclass(frozen=True, slots=True)
class Fit:
    """A fitted relation with its row: whose trees, of which city, from how many."""

    relation: Relation
    row: Line

    @property
    def region(self) -> str:
        """Return the city code, or *all*."""
        return self.row["region"]


@dataclass(frozen=True, slots=True)
class CrownWidth:
    """Width of a crown by the stem, in m by cm, with the row it comes from."""

    row: Line

    def width_m(self, stem_cm: trees_crown.Array) -> trees_crown.Array:
        """Return the crown's width; thinner stems than the row's rise straight from nothing. [m]"""
        stem = stem_cm * factor("cm", self.row["dbh_unit"])
        least, most = (_number(self.row[c]) for c in ("dbh_min", "dbh_max"))
        inside = np.clip(stem, least, most or np.inf)
        coefficients = (_number(self.row[c]) for c in ("b0", "b1", "b2"))
        width = trees_crown.crown_width(inside, *coefficients) * factor(self.row["cw_unit"], "m")
        return width * (stem / least).clip(0, 1) if least else width


@dataclass(frozen=True, slots=True)
class HeightCurve:
    """A site-index curve of the table: its form, coefficients b1 to b5, and row."""

    form: str
    b: tuple[float, ...]
    row: Line


def _number(text: str) -> float:
    return float(text) if text.strip() else 0.0


def relation_of(line: Mapping[str, str]) -> Relation:
    """Return the fit that a row of the table of open-grown trees holds."""
    numbers = (_number(line[c]) for c in ("a", "b", "c", "log_mse", "rmse", "x_min", "x_max"))
    return Relation(line["form"], *numbers)


@cache
def fits(species: str) -> dict[str, tuple[Fit, ...]]:
    """Return a species' fitted relations by name; of several scientific names that of most trees first.

    Where that one lacks a relation, the other name's trees stand in.
    """
    found = [
        Fit(relation_of(line), dict(line))
        for line in tables.texts("open_grown")
        if line["species_id"] == species
    ]
    trees: dict[str, int] = {}
    for fit in found:
        if fit.row["relation"] == HEIGHT and fit.region != POOLED:
            name = fit.row["scientific_name"]
            trees[name] = trees.get(name, 0) + int(fit.row["n"])
    order = sorted(trees, key=lambda name: -trees[name])
    return {relation: _of_first(found, relation, order) for relation in RELATIONS}


def _of_first(found: list[Fit], relation: str, order: list[str]) -> tuple[Fit, ...]:
    for name in order:
        own = tuple(f for f in found if f.row["relation"] == relation and f.row["scientific_name"] == name)
        if own:
            return own
    return ()


def nearest(options: tuple[Fit, ...], cities: tuple[str, ...]) -> tuple[Fit, Fit]:
    """Return the fit of the first city of a list that has one, and the pooled fit.

    A city's fit that is marked weak or of young trees only is not used alone. Where no city is named the
    pooled fit stands twice, as the only city's does where trees of one city were measured.

    Parameters
    ----------
    options : tuple of Fit
        Of one relation, not empty.
    cities : tuple of str
        City codes, nearest first.
    """
    pooled = next((fit for fit in options if fit.region == POOLED), None)
    strong = [f for f in options if f.region != POOLED and not any(w in f.row["note"] for w in NOT_ALONE)]
    by_city = {fit.region: fit for fit in strong}
    near = next((by_city[city] for city in cities if city in by_city), None)
    near = near or pooled or options[0]
    return near, pooled or near


@cache
def kinds(species: str) -> Line:
    """Return the words of a species: leaf habit, leaf-out group, its curves and a relative's.

    Raises
    ------
    LookupError
        If the species is not of the list.
    """
    for line in tables.texts("tree_kinds"):
        if line["species_id"] == species:
            return dict(line)
    raise LookupError(f"tree_kinds: no species {species!r}")


def species() -> tuple[str, ...]:
    """Return the ids of all species that can be grown."""
    return tuple(line["species_id"] for line in tables.texts("tree_kinds"))


def curve_ids() -> tuple[str, ...]:
    """Return the ids of all site-index curves."""
    return tuple(line["id"] for line in tables.texts("site_index"))


@cache
def curve(ident: str) -> HeightCurve:
    """Return a site-index curve by its id.

    Raises
    ------
    LookupError
        If the table has no such curve.
    """
    for line in tables.texts("site_index"):
        if line["id"] == ident:
            b = tuple(_number(line[f"b{n}"]) for n in range(1, 6))
            return HeightCurve(line["form"], b, dict(line))
    raise LookupError(f"site_index: no curve {ident!r}")


@cache
def curves(species: str) -> tuple[HeightCurve, ...]:
    """Return the curves of a species in the order of preference, a relative's only where it has none."""
    words = kinds(species)
    named = words["site_index_ids"] or words["site_index_proxy"]
    return tuple(curve(ident) for ident in named.split(";") if ident)


@cache
def crown_width(species: str) -> CrownWidth:
    """Return the open-grown crown equation of a species, else that of upland oaks and hickories."""
    for name in (species, HARDWOOD):
        for line in tables.texts("crown_width"):
            if line["id"] == f"{name}, open-grown" and line["form"] == "poly":
                return CrownWidth(dict(line))
    raise LookupError(f"crown_width: no open-grown row for {species!r}")


@cache
def crown_row(key: str, species: str) -> tables.Row | None:
    """Return a measured shape of the crown (leaf area index or ratio), or None where fewer than 15 were.

    Of several scientific names that of the fitted relations comes first.
    """
    names = dict.fromkeys(f.row["scientific_name"] for group in fits(species).values() for f in group)
    known = tables.applies("trees", key)
    return next((tables.row("trees", key, name) for name in names if name in known), None)


@cache
def crown_lai(species: str) -> tables.Row:
    """Return leaf area per crown footprint: measured, else the guess of the species (conflict K26). [1]"""
    return crown_row("crown_lai", species) or tables.row("trees", "guess_lai", species)


@cache
def crown_ratio(species: str) -> tables.Row:
    """Return crown height over tree height: of the species where measured, else of any tree. [1]"""
    return crown_row("crown_ratio", species) or tables.row("trees", "crown_ratio", OPEN)


def line_of(key: str, applies_to: str) -> Line:
    """Return where a row of the table of trees comes from, as the rows of the wide tables say it."""
    row = tables.row("trees", key, applies_to)
    return {"source": row.source, "locator": row.locator, "basis": row.basis, "note": row.note}


def middle(key: str, applies_to: str = ANY) -> float:
    """Return the middle of a row of the table of trees, in its own unit."""
    return tables.row("trees", key, applies_to).middle()


def stand_crown_m(species: str) -> Callable[[trees_crown.Array], trees_crown.Array]:
    """Return the width by stem of a crown in a closed stand, thin stems by the small-tree factors. [m, cm]

    Raises
    ------
    LookupError
        If the table has no stand-grown row of the species.
    """
    ident = f"{species}, stand-grown"
    found = next((dict(x) for x in tables.texts("crown_width") if x["id"] == ident), None)
    if found is None:
        raise LookupError(f"crown_width: no row {ident!r}")
    line = found
    factors = [middle("small_tree_crown", f"{n} in") for n in range(1, 5)]

    def width(stem_cm: trees_crown.Array) -> trees_crown.Array:
        stem_in = stem_cm * factor("cm", "in")
        printed = trees_crown.crown_width(
            stem_in.clip(_number(line["dbh_min"])), *(_number(line[c]) for c in ("b0", "b1", "b2"))
        )
        return printed * trees_crown.small_tree_factor(stem_in, factors) * factor(line["cw_unit"], "m")

    return width


def leaf_projection(species: str) -> float:
    """Return the share of a leaf's area that faces a beam, on the mean over its leaves. [1]"""
    return middle("leaf_projection", species)
