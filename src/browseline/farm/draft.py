"""A farm while it is being read: what could be used so far, and where in the file it stands."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from browseline.farm.accounts import CarbonRules, MoneyPlan
from browseline.farm.future import Future
from browseline.farm.records import (
    Contact,
    DailyRecords,
    Energiser,
    HayLot,
    Job,
    Keeper,
    Mob,
    Normals,
    Paddock,
    Place,
    Planting,
    Promise,
    Rules,
    Shape,
    Soil,
    Sward,
)  # fmt: skip
from browseline.farm.review import Review
from browseline.farm.same_land import SameLand
from browseline.farm.told import Told, str_of
from browseline.farm.toml_lines import Path
from browseline.farm.toml_table import Table
from browseline.units import Quantity, System

LISTS = ("paddocks", "mobs", "plantings", "promises", "hay", "jobs")


@dataclass(slots=True)
class Draft:
    """Everything read from a farm folder. ``at`` gives the path of a record by list and id.

    ``known`` holds every id typed, also of records with a fault, so that one fault is told once.
    """

    told: Told
    units: System = "acres"
    head: dict[str, Any] = field(default_factory=dict)
    place: Place | None = None
    position_error: Quantity | None = None
    normals: Normals | None = None
    daily: DailyRecords | None = None
    swards: list[Sward] = field(default_factory=list)
    soils: list[Soil] = field(default_factory=list)
    paddocks: list[Paddock] = field(default_factory=list)
    mobs: list[Mob] = field(default_factory=list)
    plantings: list[Planting] = field(default_factory=list)
    promises: list[Promise] = field(default_factory=list)
    hay: list[HayLot] = field(default_factory=list)
    rules: Rules = field(default_factory=Rules)
    shapes: list[Shape] = field(default_factory=list)
    contacts: list[Contact] = field(default_factory=list)
    energiser: Energiser = field(default_factory=Energiser)
    labour_hours_day: Quantity | None = None
    prices: list[tuple[str, Quantity]] = field(default_factory=list)
    jobs: list[Job] = field(default_factory=list)
    keepers: list[Keeper] = field(default_factory=list)
    money: MoneyPlan | None = None
    carbon: CarbonRules = field(default_factory=CarbonRules)
    same_land: SameLand = field(default_factory=SameLand)
    future: Future = field(default_factory=Future)
    review: Review = field(default_factory=Review)
    at: dict[tuple[str, str], Path] = field(default_factory=dict)
    known: dict[str, set[str]] = field(default_factory=dict)
    areas: dict[str, str] = field(default_factory=dict)


def slug(name: str) -> str:
    """Return an id made of a name: letters and figures of the name, small, with hyphens."""
    plain = unicodedata.normalize("NFKC", name).casefold()
    return re.sub(r"[^\w]+", "-", plain).strip("-_")


def ident(data: Mapping[str, Any]) -> str:
    """Return the id of a table as typed, or made of its name, or of what it is about; else nothing."""
    for key in ("id", "name", "what"):
        value = data.get(key)
        if isinstance(value, (str, int)) and not isinstance(value, bool):
            text = str_of(value).strip()
            if text:
                return text if key == "id" else slug(text)
    return ""


def known_ids(data: Mapping[str, Any]) -> dict[str, set[str]]:
    """Return every id that the file gives, list by list, whether the rest of it can be used or not."""
    found: dict[str, set[str]] = {}
    for name in LISTS:
        found[name] = _ids(data.get(name))
    for name in ("swards", "soils"):
        items = data.get(name)
        found[name] = set(items) if isinstance(items, dict) else set()
    ahead = data.get("decades")
    found["inputs"] = _ids(ahead.get("inputs")) if isinstance(ahead, dict) else set()
    return found


def _ids(items: object) -> set[str]:
    tables = [item for item in items if isinstance(item, dict)] if isinstance(items, list) else []
    return {ident(item) for item in tables} - {""}


def identify(draft: Draft, table: Table, which: str) -> tuple[str, str] | None:
    """Return id and name of a table; say so where it has neither or where its id was taken before."""
    typed, name = table.text("id"), table.text("name")
    found = ident(table.data)
    if not found:
        table.told.finding("farm.no_name", table.path, table=table.title())
        return None
    if (which, found) in draft.at:
        first = table.told.where(draft.at[which, found])
        table.told.finding("farm.double_id", table.path, id=found, first=first)
        return None
    draft.at[which, found] = table.path
    return found, name or typed or found
