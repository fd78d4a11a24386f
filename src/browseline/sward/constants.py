"""The constants of growth as the equations take them, from the tables."""

from __future__ import annotations

from functools import cache

from browseline import tables
from browseline.science import forage, grazing
from browseline.science.forage import Group, Season

COOL = "cool-season grass"


@cache
def group(name: str) -> Group:
    """Return the constants of one forage group (forage.md 1.2; T1 as fitted in 1.2.2)."""

    def value(key: str) -> float:
        return tables.row("forage", key, name).middle()

    decline = value("b")
    return Group(
        value("RUE"),
        value("k"),
        value("PAR0") if decline else 0.0,
        decline,
        value("T0"),
        value("T1_fit" if name == COOL else "T1"),
        value("T2"),
        value("T3"),
        value("SLA"),
        value("lam"),
        value("gf"),
        value("Mmax"),
    )


@cache
def season() -> Season:
    """Return the knots of the spring flush (forage.md 1.2.2)."""
    keys = ("PT_A", "PT_B", "PT_C", "PT_D", "N_lo", "N_hi")
    return forage.Season(*(tables.row("forage", key, COOL).middle() for key in keys))


@cache
def leaf(names: tuple[str, ...]) -> grazing.Leaf:
    """Return the compiled constants of growth in mass of the groups, in their order."""
    return grazing.leaf_of(
        [group(name) for name in names],
        tables.row("forage", "leaf_from", "any sward").middle(),
        tables.row("forage", "standing_loss_from", "any sward").middle(),
    )
