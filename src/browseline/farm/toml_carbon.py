"""The farm's choice of factors for its carbon book: ``[carbon]`` of ``farm.toml``."""

from __future__ import annotations

from browseline import tables
from browseline.farm import bounds
from browseline.farm.accounts import CarbonRules, Diet
from browseline.farm.draft import Draft
from browseline.farm.names import words
from browseline.farm.toml_table import Table

EDITIONS = ("2019", "2006")
CLIMATES = ("aggregated", "wet climate", "dry climate")
SETS = ("chojnacky2014", "jenkins2003")
MOST_LITTER = 3
TREES = "tree_carbon"
COARSE_ROOTS = "coarse roots of the tree"
"""Roots by the size of each stem instead of a share of the stand."""


def regions() -> tuple[str, ...]:
    """Return the regions that factors of animals are known for."""
    found = (applies.split(", ") for applies in tables.applies("methane", "enteric_head"))
    return tuple(dict.fromkeys(parts[-1] for parts in found if parts[1] == "cattle"))


def metrics() -> tuple[str, ...]:
    """Return the metrics that methane of animals has a factor by: AR6, 100 yr …"""
    return tables.applies("warming", "methane_biogenic")


def read_carbon(draft: Draft, table: Table | None) -> CarbonRules:
    """Return the rules of the carbon book; what is not typed stays None."""
    if table is None:
        return CarbonRules()
    made = CarbonRules(
        edition=table.one_of("edition", EDITIONS),
        region=table.one_of("region", regions()),
        climate=table.one_of("climate", CLIMATES),
        metric=table.one_of("metric", metrics()),
        trees=table.one_of("tree_set", SETS),
        groups=_groups(draft, table.table("groups")),
        root_share=table.one_of("root_share", (*tables.applies(TREES, "root_share"), COARSE_ROOTS)),
        carbon_share=table.one_of("carbon_share", tables.applies(TREES, "carbon_share")),
        diets=tuple(diet for each in table.tables("diets") if (diet := _diet(each)) is not None),
        owner=table.text("tree_owner") or "",
        paid=table.text("already_paid") or "",
    )
    table.close()
    return made


def _groups(draft: Draft, table: Table | None) -> tuple[tuple[str, str], ...]:
    """Return the group of tree equations that the farm named for a planting."""
    if table is None:
        return ()
    known = tuple(line["group"] for line in tables.texts("tree_mass"))
    found = [
        (planting.id, table.one_of(planting.id, known))
        for planting in draft.plantings
        if table.has(planting.id)
    ]
    table.close()
    return tuple((planting, group) for planting, group in found if group is not None)


def _diet(table: Table) -> Diet | None:
    kind = table.word("kind", "kind", needed=True)
    klass = table.text("class", needed=True)
    digestible = table.quantity("digestible", "share", bounds.SHARE_EATEN, needed=True)
    milk, gain = table.quantity("milk", "intake"), table.quantity("gain", "intake")
    fat, pregnant = (
        table.quantity("fat", "share", bounds.SHARE),
        table.quantity("pregnant", "share", bounds.SHARE),
    )
    young, wool = table.quantity("young_gain", "mass"), table.quantity("wool", "mass")
    mature = table.quantity("mature_weight", "mass", bounds.WEIGHT)
    litter = table.whole("litter", 1, MOST_LITTER) or 1
    table.close()
    if kind is None or klass is None or digestible is None or kind not in words("kind"):
        return None
    return Diet(kind, klass, digestible, milk, fat, young, pregnant, litter, gain, mature, wool)
