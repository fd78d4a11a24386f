"""Whether any paddock can carry a mob for a day."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from browseline import tables
from browseline.farm.draft import Draft
from browseline.farm.needs import demand
from browseline.farm.records import Mob, Paddock, Sward
from browseline.units import convert
from browseline.units import shown as in_units

DEFAULT_KIND = "mixed_cool"
DEFAULT_DENSITY = "good"


def check_carrying(draft: Draft) -> None:
    """Ask about mobs that eat in a day more than stands in the largest paddock at its start height."""
    held = [(_standing_kg(draft, paddock), paddock) for paddock in draft.paddocks]
    if not held:
        return
    most, largest = max(held, key=lambda pair: pair[0])
    for mob in draft.mobs:
        eaten = _eaten_kg_d(mob)
        if eaten is not None and eaten > most > 0:
            eats, stands = (in_units(kg, "mass", draft.units, 0) for kg in (eaten, most))
            fields: dict[str, Any] = {
                "mob": mob.name,
                "paddock": largest.name,
                "eats": eats,
                "stands": stands,
            }
            draft.told.finding("farm.too_heavy", draft.at["mobs", mob.id], level="question", **fields)


def _eaten_kg_d(mob: Mob) -> float | None:
    needs = demand(mob.lines)
    return needs.value if needs is not None else None


def _standing_kg(draft: Draft, paddock: Paddock) -> float:
    """Return what stands on a paddock at the height from which it is grazed, down to the ground. [kg DM]"""
    own = draft.swards[0] if len(draft.swards) == 1 and paddock.sward is None else None
    sward = own or next((s for s in draft.swards if s.id == paddock.sward), Sward("", DEFAULT_KIND))
    return paddock.grazed_ha * _start_cm(sward) * _kg_ha_cm(sward)


def _start_cm(sward: Sward) -> float:
    if sward.start_at is not None:
        return sward.start_at.to("cm")
    return _most("enter_height", sward.kind, "cm")


def _kg_ha_cm(sward: Sward) -> float:
    if sward.mass_per_height is not None:
        return sward.mass_per_height.to("kg/ha/cm")
    density = sward.density or DEFAULT_DENSITY
    known = tables.applies("swards", "mass_per_height")
    asked = f"{sward.kind}, {density}"
    return _most(
        "mass_per_height", asked if asked in known else f"{sward.kind}, {DEFAULT_DENSITY}", "kg/ha/cm"
    )


def _most(key: str, applies_to: str, unit: str) -> float:
    row = tables.row("swards", key, applies_to)
    most = row.high if row.high is not None else row.middle()
    return float(convert(Fraction(most), row.unit, unit))
