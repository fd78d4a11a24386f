"""A small farm folder as a farmer makes one: farm.toml, a map with lane and gates, weather, typed entries."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import tomlkit

from tests.layout_farms import Spot, world
from tests.small_farm import NORMALS
from tests.unit.cli_farm import Done, SmallFarm

SIDE_M = 140.0
PLACE = {"latitude": 41.0, "longitude": -45.0, "elevation": "200 m"}
EWES = {
    "kind": "sheep", "class": "ewe lactating twins", "head": 40, "weight": "150 lb", "intake": "4.4 lb/d",
}  # fmt: skip
MEADOW = {"kind": "orchardgrass_legume", "leave_at": "4 in", "start_at": "8 in"}


class LandFarm(SmallFarm):
    """A farm folder with a map and weather, on which commands are run at an instant of its own."""

    def season(self, *words: str, now: str, days: int = 21, iterations: int = 1_500) -> dict[str, Any]:
        """Return the season that the command plans, as the record that the pages use."""
        done = self.run("season", "--days", str(days), "--iterations", str(iterations), "--json", *words,
                        now=now)  # fmt: skip
        assert done.code == 0, done.err
        made: dict[str, Any] = json.loads(done.out)
        return made

    def typed(self, *words: str, now: str) -> Done:
        """Run a command that has to succeed."""
        done = self.run(*words, now=now)
        assert done.code == 0, done.all
        return done

    def walk(self, inches: Mapping[str, float], *, now: str) -> None:
        """Enter a height of each paddock."""
        for paddock, height in inches.items():
            self.typed("walk", paddock, f"{height} in", now=now)


def land(
    folder: Path, paddocks: Sequence[Mapping[str, Any]], mobs: Sequence[Mapping[str, Any]], as_of: date,
    shapes: Sequence[Mapping[str, Any]] = (), **tables: Any,
) -> LandFarm:  # fmt: skip
    """Write a farm of square paddocks of 4.8 ac side by side along the north of a lane, each with its gate.

    Parameters
    ----------
    shapes : sequence of mapping
        More features of the map; one with the id of another takes its place.
    **tables
        ``promises``, ``prices``, ``rules`` … as ``farm.toml`` has them.
    """
    made: dict[str, Any] = {
        "schema": 1, "name": "Land Case", "time_zone": "America/New_York", "units": "acres", "as_of": as_of,
        "seed": 7, "place": PLACE, "normals": _normals(), "swards": {"meadow": MEADOW},
        "paddocks": [{"name": f"Field {p['id']}", "sward": "meadow", "water": "trough"} | dict(p)
                     for p in paddocks],
        "mobs": [dict(mob) for mob in mobs],
    }  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(tomlkit.dumps(made | tables), encoding="utf-8")
    ids = [str(p["id"]) for p in paddocks]
    drawn = {f["id"]: f for f in (*_map(ids), *shapes)}
    collection = {"type": "FeatureCollection", "features": list(drawn.values())}
    (folder / "map.geojson").write_text(json.dumps(collection), encoding="utf-8")
    (folder / "weather.csv").write_text(_weather(as_of), encoding="utf-8")
    return LandFarm(folder)


def mob(place: str, since: str, *lines: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """Return a mob of ewes, or of the lines given."""
    own = [dict(line) for line in lines or (EWES,)]
    return {"id": "ewes", "name": "Ewes", "at": place, "since": since, "lines": own} | more


def _normals() -> dict[str, Any]:
    return {
        "unit": "C", "rain_unit": "mm", "tmax": list(NORMALS.tmax_c), "tmin": list(NORMALS.tmin_c),
        "rain": list(NORMALS.rain_mm), "wet_days": list(NORMALS.wet_days or ()),
        "wet_day_threshold": "0.25 mm",
    }  # fmt: skip


def _weather(as_of: date) -> str:
    """Return sixty days up to the day on which heads and places are right, near the normals of the months."""
    rows = ["date,tmax (C),tmin (C),rain (mm)"]
    for n in range(60):
        day = as_of - timedelta(days=59 - n)
        high, low = NORMALS.tmax_c[day.month - 1], NORMALS.tmin_c[day.month - 1]
        rows.append(f"{day},{high + n % 5 - 2:.1f},{low + n % 3 - 1:.1f},{9.0 if n % 3 == 0 else 0.0}")
    return "\n".join(rows) + "\n"


# ---------------------------------------------------------------- the map


def _map(ids: Sequence[str]) -> list[dict[str, Any]]:
    wide = SIDE_M * len(ids)
    found = [line("lane", "lane", [(0.0, -5.0), (wide, -5.0)], width="8 m")]
    for n, ident in enumerate(ids):
        west = n * SIDE_M
        found.append(box(ident, "paddock", (west, 0.0), (SIDE_M, SIDE_M)))
        found.append(point(f"gate-{ident}", "gate", (west + SIDE_M / 2, 0.0)))
    found.append(box("barn", "building", (-40.0, -20.0), (20.0, 15.0)))
    return found


def box(ident: str, kind: str, corner: Spot, size: Spot, **more: Any) -> dict[str, Any]:
    """Return a rectangle of the map from its south-west corner. [m]"""
    (x, y), (w, d) = corner, size
    ring = world([(x, y), (x + w, y), (x + w, y + d), (x, y + d), (x, y)])
    return _feature(ident, kind, "Polygon", [[list(at) for at in ring]], more)


def line(ident: str, kind: str, points: Sequence[Spot], **more: Any) -> dict[str, Any]:
    """Return a line of the map. [m]"""
    return _feature(ident, kind, "LineString", [list(at) for at in world(points)], more)


def point(ident: str, kind: str, spot: Spot, **more: Any) -> dict[str, Any]:
    """Return a point of the map. [m]"""
    return _feature(ident, kind, "Point", list(world([spot])[0]), more)


def _feature(ident: str, kind: str, form: str, at: Any, more: Mapping[str, Any]) -> dict[str, Any]:
    return {"type": "Feature", "id": ident, "properties": {"kind": kind, "name": ident} | dict(more),
            "geometry": {"type": form, "coordinates": at}}  # fmt: skip


# ---------------------------------------------------------------- what a plan says


def stays(made: Mapping[str, Any], ident: str = "ewes") -> list[tuple[str, date, date]]:
    """Return the stays of a mob: place, first day, and the day on which it leaves."""
    own = next(one for one in made["mobs"] if one["id"] == ident)
    return [(s["place"], _day(s["begin"]), _day(s["end"])) for s in own["stays"]]


def days_in(made: Mapping[str, Any], place: str, ident: str = "ewes") -> set[date]:
    """Return the days on which a mob is in a place at night."""
    return {
        first + timedelta(days=d)
        for name, first, last in stays(made, ident)
        if name == place
        for d in range((last - first).days)
    }


def moves(made: Mapping[str, Any], ident: str = "ewes") -> list[date]:
    """Return the days of moves of a mob."""
    return [first for _, first, _ in stays(made, ident)[1:]]


def part(made: Mapping[str, Any], name: str) -> float:
    """Return a part of the plan's cost as a number; 0 if it is not one of them."""
    return float(next((p["value"] for p in made["parts"] if p["name"] == name), 0.0))


def plain(made: Mapping[str, Any]) -> str:
    """Return every sentence of a season page."""
    texts = [*made["sentences"], *made["notes"], made["moves_say"], *made["costs"], *made["changes"]]
    texts += [s["reason"] + " " + s["lost"] for one in made["mobs"] for s in one["stays"]]
    texts += [" ".join((c["says"], *c["ways"])) for c in made["clashes"]]
    return "\n".join(re.sub(r"\s+", " ", text) for text in texts)


def _day(text: str) -> date:
    return date.fromisoformat(text[:10])
