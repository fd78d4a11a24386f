"""Events in full view for tests of the record: a table with `;`, values as JSON, defaults for the rest."""

from __future__ import annotations

import csv
import json
from datetime import date, datetime
from typing import Any

from browseline.events import Event, When, from_json
from browseline.farm.records import Farm, HayLot, Line, Mob, Paddock
from browseline.units import parse


def events(table: str) -> list[Event]:
    """Return the events of a table; device A and an entry made at once unless the table says otherwise."""
    lines = [line.strip() for line in table.strip().splitlines()]
    found = []
    for row in csv.DictReader(lines, delimiter=";", quoting=csv.QUOTE_NONE):
        raw: dict[str, Any] = {"device": "A", "who": "owner", "version": 1, "subject": "", **row}
        raw["value"] = json.loads(row["value"] or "{}")
        raw["planned"] = row.get("planned") == "yes"
        raw["recorded"] = row.get("recorded") or When.read(row["observed"]).end.isoformat()
        found.append(from_json(raw))
    return found


def at(text: str) -> datetime:
    """Return an aware instant."""
    return datetime.fromisoformat(text)


def quern_bank(**more: Any) -> Farm:
    """Return the invented farm: twelve paddocks, 60 ewes with 96 lambs in 6, a lot of hay."""
    acres = enumerate([3, 3, 3, 3, 2, 2, 2, 3, 3, 2.5, 3.5, 4], start=1)
    paddocks = tuple(Paddock(str(i), f"Paddock {i}", parse(f"{a} ac", "area").to("ha")) for i, a in acres)
    ewes = Line("sheep", "ewe", 60, parse("150 lb", "mass"), parse("4.4 lb/d", "intake"))
    lambs = Line("sheep", "lamb", 96, intake=parse("1.0 lb/d", "intake"))
    wanted: dict[str, Any] = {
        "name": "Quern Bank", "time_zone": "America/New_York", "units": "acres", "as_of": date(2026, 4, 20),
        "paddocks": paddocks, "mobs": (Mob("ewes", "Ewes", (ewes, lambs), at="6", since="2026-04-30T08:00"),),
        "hay": (HayLot("barn", parse("14 bales", "count"), parse("800 lb", "mass")),),
    }  # fmt: skip
    return Farm(**(wanted | more))
