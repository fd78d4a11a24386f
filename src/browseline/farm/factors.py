"""Which factors the carbon book uses: one edition, region, climate and metric a run, named on the page.

What the tables do not hold is None, shown as "no factor": never nothing, never a neighbour's number.
"""

from __future__ import annotations

from collections.abc import Iterable

from browseline import tables
from browseline.farm.records import Farm
from browseline.tables import Row

EDITION, REGION, CLIMATE, METRIC, TREES = (
    "2019",
    "North America",
    "aggregated",
    "AR6, 100 yr",
    "chojnacky2014",
)
"""What is used where the farm names nothing."""
BESIDE = ("AR5, 100 yr", "AR6, 20 yr")
"""Metrics shown beside the one in use."""
DEVELOPED = ("North America", "Western Europe", "Eastern Europe", "Oceania")
PRP = "any, pasture/range/paddock"
DUNG = "any, dung deposited on pasture (PRP)"


def edition(farm: Farm) -> str:
    """Return the edition of the guidelines."""
    return farm.carbon.edition or EDITION


def region(farm: Farm) -> str:
    """Return the region of the factors of animals."""
    return farm.carbon.region or REGION


def climate(farm: Farm) -> str:
    """Return the climate of the factors of nitrous oxide."""
    return farm.carbon.climate or CLIMATE


def metric(farm: Farm) -> str:
    """Return the metric that gases are shown by."""
    return farm.carbon.metric or METRIC


def tree_set(farm: Farm) -> str:
    """Return the set of tree equations."""
    return farm.carbon.trees or TREES


def find(name: str, key: str, candidates: Iterable[str]) -> Row | None:
    """Return the first row there is, or None; a row without any number is none."""
    rows = tables.table(name)
    for candidate in candidates:
        row = rows.get((key, candidate))
        if row is not None and (row.value is not None or row.low is not None):
            return row
    return None


YOUNG_CATTLE = ("heifer", "calf", "calves", "bull", "steer")
"""Words of cattle that are no dairy cows whatever their breed: those are in milk (ipcc2019_v4_ch10)."""


def sort_of(kind: str, klass: str) -> str:
    """Return the sort of animals that the factors tell apart: dairy and other cattle, layers, sows …"""
    words = klass.casefold()
    if kind == "cattle":
        grown = not any(young in words for young in YOUNG_CATTLE)
        return "cattle, dairy" if "dairy" in words and grown else "cattle, other"
    if kind == "pig":
        return "pig, breeding" if "sow" in words or "boar" in words else "pig, finishing"
    if kind == "chicken":
        return "chicken, layer" if "layer" in words or "hen" in words else "chicken, broiler"
    if kind == "horse":
        return "horse, mule or ass" if "donkey" in words or "mule" in words else "horse, horse"
    return kind


def enteric(farm: Farm, kind: str, klass: str) -> Row | None:
    """Return the methane a head belches in a year by the first tier. [kg CH4/head/yr]"""
    productive = "high productivity" if region(farm) in DEVELOPED else "low productivity"
    named, year = sort_of(kind, klass), edition(farm)
    whose = (named, kind)
    places = (region(farm), productive, "all")
    return find("methane", "enteric_head", (f"{year}, {who}, {place}" for who in whose for place in places))


def by_region(farm: Farm, name: str, key: str, kind: str, klass: str) -> Row | None:
    """Return a row by kind and region: solids, nitrogen, usual weight."""
    named = sort_of(kind, klass)
    rich = region(farm) in DEVELOPED
    wide = ("NA/Europe/Oceania", "developed") if rich else ("other regions",)
    whose = tuple(dict.fromkeys((named, kind)))
    return find(name, key, (f"{who}, {place}" for who in whose for place in (region(farm), *wide, "all")))


def dung_emitted(farm: Farm, kind: str) -> Row | None:
    """Return the share of dung's nitrogen that leaves as nitrous oxide where it lies. [kg N2O-N/kg N]"""
    year = edition(farm)
    return find("nitrogen", "dung_emitted", (f"{year}, {kind}, {c}" for c in (climate(farm), CLIMATE)))


def spread_emitted(farm: Farm, synthetic: bool) -> Row | None:
    """Return the share of spread nitrogen that leaves as nitrous oxide where it lies. [kg N2O-N/kg N]"""
    sort = "synthetic nitrogen" if synthetic else "other nitrogen"
    year, where = edition(farm), climate(farm)
    return find("nitrogen", "spread_emitted", (f"{year}, {sort}, {where}", f"{year}, all nitrogen, {where}"))


def air_lost(farm: Farm, what: str) -> Row | None:
    """Return the share of nitrogen that goes into the air as ammonia: *dung*, *urea* or *default*. [1]"""
    named = "dung, all" if what == "dung" else f"fertiliser, {what}"
    return find("nitrogen", "air_lost", (f"{edition(farm)}, {named}",))


def air_emitted(farm: Farm) -> Row | None:
    """Return the share of nitrogen from the air that becomes nitrous oxide. [kg N2O-N/kg N]"""
    return find("nitrogen", "air_emitted", (f"{edition(farm)}, {climate(farm)}",))


def water_lost(farm: Farm) -> Row | None:
    """Return the share of nitrogen that water carries off. [1]"""
    dry = climate(farm) == "dry climate"
    return find(
        "nitrogen",
        "water_lost",
        (f"{edition(farm)}, {'dry climate' if dry else 'wet climate or irrigated'}",),
    )


def water_emitted(farm: Farm) -> Row | None:
    """Return the share of nitrogen from water that becomes nitrous oxide. [kg N2O-N/kg N]"""
    return find("nitrogen", "water_emitted", (f"{edition(farm)}, all",))


def dung_converted(farm: Farm) -> Row | None:
    """Return the share of dung's methane that comes about on pasture; None for an edition not carried. [%]"""
    return find("methane", "dung_converted", (PRP,)) if edition(farm) == EDITION else None


def warming(name: str, gas: str, fossil: bool = False) -> Row | None:
    """Return what a kg of a gas counts for by a metric. [kg CO2e/kg]"""
    key = {"CH4": "methane_fossil" if fossil else "methane_biogenic", "N2O": "nitrous_oxide"}[gas]
    return find("warming", key, (name,))
