"""Cautions that a place gives before anything is planted or signed: wet soil, walnut poison, a short lease.

Each rests on typed lines of the farm (soil drainage, species, promises of kind *lease*) and on a row of
``data/tree_site.csv``, whose columns differ in how sure they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from browseline import tables
from browseline.farm.names import label, words
from browseline.farm.records import Farm, Paddock, Planting, Promise
from browseline.figures import BASES, Basis, Figure, Mark, Origin
from browseline.words import day_words, linked, say

LEASE = "lease"
WET = ("somewhat poorly drained", "poorly drained", "very poorly drained")
PRODUCERS = ("producer", "producer-weak")
FENCE_M = 5.0
"""Beyond the crown's edge roots reach so far. [m]"""
SENSITIVE = ("sensitive", "sensitive-moderate")
BASIS_WORDS = {"common-practice": "practice", "from-memory": "memory", "placeholder": "guess"}


@dataclass(frozen=True, slots=True)
class SiteNote:
    """One caution: its kind, what it is about, the sentence, and how sure it is.

    ``kind`` is *wet*, *wet_unknown*, *juglone*, *juglone_unknown*, *lease* or *lease_unknown*.
    """

    kind: str
    about: str
    words: str
    mark: Mark
    basis: Basis
    source: str


def site_notes(farm: Farm) -> tuple[SiteNote, ...]:
    """Return every caution of the place, wet soil first."""
    return (*_wet(farm), *_juglone(farm), *_leases(farm))


def tree_row(species: str) -> Mapping[str, str]:
    """Return the row of a species; an empty mapping where the table lacks it."""
    return next((row for row in tables.texts("tree_site") if row["species_id"] == species), {})


def _note(kind: str, about: str, row: Mapping[str, str], column: str, **fields: object) -> SiteNote:
    basis: Basis = row.get(f"{column}_basis") or row.get("basis") or "placeholder"  # type: ignore[assignment]
    source = row.get(f"{column}_source") or row.get("source", "")
    sure = say(f"site.basis.{BASIS_WORDS[basis]}", mark=BASES[basis])
    return SiteNote(kind, about, say(f"site.{kind}", sure=sure, **fields), BASES[basis], basis, source)


def _origins(row: Mapping[str, str], column: str) -> tuple[Origin, ...]:
    basis: Basis = row.get(f"{column}_basis") or row.get("basis") or "placeholder"  # type: ignore[assignment]
    source = row.get(f"{column}_source") or row.get("source", "")
    return (Origin(source, column, basis),)


def species_words(species: str) -> str:
    """Return what a species is called."""
    return label("species", species)


# ---------------------------------------------------------------- wet soil


def _wet(farm: Farm) -> Iterator[SiteNote]:
    """Yield a caution for each planting on soil that is wetter than the tree's row bears."""
    wetness = words("drainage")
    for planting in farm.plantings:
        place = farm.paddock(planting.paddock) if planting.paddock else None
        soil = farm.soil_of(place) if place is not None else None
        if place is None or soil is None or soil.drainage is None:
            continue
        row = tree_row(planting.species)
        bears = row.get("wettest_drainage", "")
        told = {"planting": planting.name, "place": place.name, "soil": soil.drainage,
                "species": species_words(planting.species)}  # fmt: skip
        if not bears and soil.drainage in WET:
            yield _note("wet_unknown", planting.id, row, "drainage", **told)
        elif bears and wetness.index(soil.drainage) > wetness.index(bears):
            yield _note("wet", planting.id, row, "drainage", wants=row.get("note") or bears, **told)


# ---------------------------------------------------------------- walnut and its neighbours


def _juglone(farm: Farm) -> Iterator[SiteNote]:
    """Yield a caution for each tree that walnut poison harms and that stands in one paddock with a walnut.

    Trees whose rows lie nearer than a crown's radius and 5 m across a fence are not found: rows have
    no place here, only a paddock.
    """
    for walnut in farm.plantings:
        if tree_row(walnut.species).get("juglone") not in PRODUCERS:
            continue
        for other in farm.plantings:
            if other.id != walnut.id and same_ground(farm, walnut, other):
                yield from beside(walnut, other)


def reach_m(walnut: Planting) -> float:
    """Return how far from a walnut's stem its poison is feared: half a grown crown and 5 m, our guess. [m]"""
    return float(tree_row(walnut.species).get("crown_width_high_m") or 0.0) / 2 + FENCE_M


def beside(walnut: Planting, other: Planting) -> Iterator[SiteNote]:
    """Yield the caution for a tree in reach of a walnut, if lists call it sensitive or say nothing."""
    row = tree_row(other.species)
    known = row.get("juglone", "")
    if known in PRODUCERS or walnut.species == other.species:
        return
    reach = reach_m(walnut)
    formula = f"{2 * (reach - FENCE_M):g} m ÷ 2 + {FENCE_M:g} m"
    near = Figure("juglone_reach", reach, "m", formula=formula, origins=_origins(row, "juglone"))
    told = {"planting": other.name, "walnut": walnut.name, "reach": linked(f"{reach:g}", near)}
    if known in SENSITIVE:
        yield _note("juglone", other.id, row, "juglone", **told)
    elif known in ("", "unknown"):
        yield _note("juglone_unknown", other.id, row, "juglone", **told)


def same_ground(farm: Farm, one: Planting, other: Planting) -> bool:
    """Return whether two plantings stand in one paddock, or in parts of one."""
    return one.paddock is not None and _whole(farm, one.paddock) & _whole(farm, other.paddock) != set()


def _whole(farm: Farm, paddock: str | None) -> set[str]:
    found: Paddock | None = farm.paddock(paddock) if paddock else None
    return {found.id, *found.parents} if found is not None else set()


# ---------------------------------------------------------------- lease and first harvest


def leases_of(farm: Farm, paddock: str) -> list[Promise]:
    """Return the leases of a paddock; a lease that names no paddock is of the whole farm."""
    return [p for p in farm.promises if p.kind == LEASE and (not p.paddocks or paddock in p.paddocks)]


def _leases(farm: Farm) -> Iterator[SiteNote]:
    """Yield a caution for each planting on rented ground that may not bear before the lease ends."""
    for planting in farm.plantings:
        for lease in leases_of(farm, planting.paddock or ""):
            yield from _lease(planting, lease)


def _lease(planting: Planting, lease: Promise) -> Iterator[SiteNote]:
    row = tree_row(planting.species)
    low, high = row.get("first_bearing_low_yr", ""), row.get("first_bearing_high_yr", "")
    told = {
        "planting": planting.name,
        "lease": lease.what,
        "end": f"{day_words(lease.last_day)} {lease.last_day.year}",
    }
    if planting.planted is None or not low or not high:
        yield _note("lease_unknown", planting.id, row, "bearing", **told)
        return
    first, last = planting.planted + int(low), planting.planted + int(high)
    if lease.last_day.year <= last:
        sort = "lease" if lease.last_day.year <= first else "lease_maybe"
        bears = Figure(
            "first_bearing", None, "yr", float(low), float(high), _origins(row, "bearing"),
            f"{planting.planted} + {low} to {planting.planted} + {high}", about=planting.id,
        )  # fmt: skip
        years = {"first": linked(f"{first}", bears), "last": linked(f"{last}", bears)}
        yield _note(sort, planting.id, row, "bearing", **years, **told)
