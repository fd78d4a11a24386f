"""Findings about which trees stand where: one cultivar alone, walnut's neighbours, ground too wet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product

import numpy as np

from browseline.errors import Level, finding
from browseline.farm.records import Farm, Planting
from browseline.farm.site import (
    PRODUCERS,
    SiteNote,
    beside,
    reach_m,
    same_ground,
    site_notes,
    species_words,
    tree_row,
)
from browseline.figures import Basis, Origin
from browseline.layout.conflicts import stems_of
from browseline.layout.form import LayoutFinding
from browseline.layout.place import Plot, where_of
from browseline.units import shown


def kinds_found(farm: Farm, plots: Sequence[Plot]) -> Iterator[LayoutFinding]:
    """Yield every finding about species, cultivars and soils of the farm's plantings."""
    yield from _soils(farm)
    yield from _juglone(farm, {plot.planting.id: plot for plot in plots})
    for planting in farm.plantings:
        yield from _pollen(farm, planting)


def _soils(farm: Farm) -> Iterator[LayoutFinding]:
    """Yield the cautions of the place about wet ground, as findings."""
    plantings = {p.id: p for p in farm.plantings}
    for note in site_notes(farm):
        if note.kind in ("wet", "wet_unknown"):
            yield _noted(note, plantings[note.about], "question")


def _noted(note: SiteNote, planting: Planting, level: Level) -> LayoutFinding:
    told = finding(f"layout.{note.kind}", where_of(planting), level=level, words=note.words)
    return LayoutFinding(told, planting.id, (Origin(note.source, basis=note.basis),))


# ---------------------------------------------------------------- walnut


def _juglone(farm: Farm, plots: Mapping[str, Plot]) -> Iterator[LayoutFinding]:
    """Yield, for each walnut and each tree that its poison may harm, how many stand in its reach.

    Where one of the two has no places yet, standing in one paddock counts as in reach.
    """
    walnuts = [p for p in farm.plantings if tree_row(p.species).get("juglone") in PRODUCERS]
    for walnut, other in product(walnuts, farm.plantings):
        for note in beside(walnut, other):
            if walnut.id in plots and other.id in plots:
                yield from _in_reach(farm, plots[walnut.id], plots[other.id], note)
            elif same_ground(farm, walnut, other):
                yield _noted(note, other, "question")


def _in_reach(farm: Farm, walnut: Plot, other: Plot, note: SiteNote) -> Iterator[LayoutFinding]:
    from scipy.spatial import cKDTree

    here, there = stems_of(walnut), stems_of(other)
    if not len(here) or not len(there):
        return
    reach = reach_m(walnut.planting)
    near_m = np.asarray(cKDTree(here).query(there)[0])
    within = near_m <= reach
    if within.any():
        told = finding(
            f"layout.{note.kind}_near", where_of(other.planting), level="question",
            trees=f"{int(within.sum()):,}", near=shown(float(near_m.min()), "distance", farm.units),
            reach=shown(reach, "distance", farm.units), words=note.words,
        )  # fmt: skip
        yield LayoutFinding(told, other.planting.id, (Origin(note.source, basis=note.basis),))


# ---------------------------------------------------------------- pollen


def _pollen(farm: Farm, planting: Planting) -> Iterator[LayoutFinding]:
    """Yield that a planting for harvest has one cultivar, or none named, where its kind wants a partner."""
    if not planting.harvested:
        return
    row = tree_row(planting.species)
    wants = row.get("partner", "")
    named = cultivars_near(farm, planting)
    if len(named) > 1 or (not wants and len(named) != 1):
        return
    code = {"needed": "one_cultivar", "better": "one_cultivar_better"}.get(wants, "one_cultivar_unknown")
    code = "no_cultivar" if wants and not named else code
    level: Level = "question" if wants else "note"
    told = finding(
        f"layout.{code}", where_of(planting), level=level, planting=planting.name,
        species=species_words(planting.species), cultivar=next(iter(named), ""),
    )  # fmt: skip
    basis: Basis = row.get("partner_basis") or "placeholder"  # type: ignore[assignment]
    yield LayoutFinding(told, planting.id, (Origin(row.get("partner_source") or "placeholder", basis=basis),))


def cultivars_near(farm: Farm, planting: Planting) -> list[str]:
    """Return the cultivars of a planting, of its named partners, and of its kind in the same paddock."""
    partners = set(planting.layout.partners) if planting.layout is not None else set()
    found: dict[str, None] = {}
    for other in farm.plantings:
        kin = other.species == planting.species and same_ground(farm, planting, other)
        if other.id == planting.id or other.id in partners or kin:
            rows = (row.cultivar for row in other.rows if row.cultivar)
            own = dict.fromkeys((*other.cultivars, *rows))
            found |= own or ({other.name: None} if other.id in partners else {})
    return list(found)
