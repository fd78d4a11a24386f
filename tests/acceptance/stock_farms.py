"""Small farm folders as a farmer makes them: farm.toml, map, weather, and entries by the command line."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import tomlkit
from typer.testing import CliRunner

from browseline.cli.group import app

TMAX = (2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4)
TMIN = (-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5)
NORMALS = {
    "unit": "C", "tmax": list(TMAX), "tmin": list(TMIN), "rain_unit": "mm",
    "rain": [70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70],
    "wet_days": [11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11], "wet_day_threshold": "0.25 mm",
}  # fmt: skip
LATITUDE, LONGITUDE, SIDE_M = 41.0, -45.0, 140.0
LOAM = {"texture": "loam", "group": "B", "drainage": "well drained"}
CLAY = {"texture": "clay", "group": "D", "drainage": "poorly drained"}
NOW = "2026-05-20T07:00-04:00"
SINCE = "2026-05-18 08:00"


def ewes(head: int = 40) -> dict[str, Any]:
    return {"kind": "sheep", "class": "ewe maintenance", "head": head, "weight": "150 lb"}


def heifers(head: int = 15) -> dict[str, Any]:
    return {"kind": "cattle", "class": "dairy heifer", "head": head, "weight": "770 lb"}


def goats(head: int = 20) -> dict[str, Any]:
    return {"kind": "goat", "class": "doe maintenance", "head": head, "weight": "110 lb"}


def pigs(head: int = 12) -> dict[str, Any]:
    return {"kind": "pig", "class": "grower 20-60 kg", "head": head, "weight": "110 lb"}


def hens(head: int = 200) -> dict[str, Any]:
    return {"kind": "chicken", "class": "layer", "head": head, "intake": "0.25 lb/d"}


def mob(ident: str, place: str, line: Mapping[str, Any], since: str = "2026-05-18 08:00", **more: Any) -> Any:
    return {
        "id": ident,
        "name": ident.capitalize(),
        "at": place,
        "since": since,
        "lines": [dict(line)],
    } | more


@dataclass(frozen=True)
class Stay:
    """A stay of the page: mob, place, first day and end on the farm's clock, what is said of it."""

    mob: str
    place: str
    begin: date
    end: date
    limit: str
    says: str

    def days(self) -> list[date]:
        """Return the days from the first up to the end."""
        return [self.begin + timedelta(days=n) for n in range((self.end - self.begin).days)]


@dataclass(frozen=True)
class FarmFolder:
    """A folder and the time of its clock; every entry and question goes by the command line."""

    path: Path
    now: str = NOW
    seen: dict[str, Any] = field(default_factory=dict)

    def run(self, *words: str, now: str = "") -> str:
        """Return what a command printed."""
        asked = [*words, "--farm", str(self.path), "--now", now or self.now]
        done = CliRunner().invoke(app, asked)
        assert done.exit_code == 0, f"{words}: {done.output}"
        return " ".join(done.output.split())

    def season(self, *words: str, days: int = 24, tries: int = 1500, now: str = "") -> list[Stay]:
        """Return the stays of ``browseline season``; the whole page is kept in ``seen``."""
        asked = ("season", "--days", str(days), "--iterations", str(tries), "--json", *words)
        page = json.loads(CliRunner().invoke(
            app, [*asked, "--farm", str(self.path), "--now", now or self.now]
        ).stdout)  # fmt: skip
        self.seen.clear()
        self.seen.update(page)
        return [self._stay(one["id"], stay) for one in page["mobs"] for stay in one["stays"]]

    def _stay(self, who: str, stay: Mapping[str, Any]) -> Stay:
        first, last = (
            datetime.fromisoformat(stay[k]).astimezone(self._zone()).date() for k in ("begin", "end")
        )
        return Stay(who, stay["place"], first, last, stay["limit"], f"{stay['reason']} {stay['lost']}")

    def _zone(self) -> Any:
        return datetime.fromisoformat(self.now).tzinfo

    def edit(self, **tables: Any) -> None:
        """Change tables of farm.toml, as an owner does with an editor."""
        path = self.path / "farm.toml"
        made = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
        for name, value in tables.items():
            made[name] = made.get(name, {}) | value if isinstance(value, dict) else value
        path.write_text(tomlkit.dumps(made), encoding="utf-8")


def farm(
    folder: Path, mobs: Sequence[Mapping[str, Any]], *, count: int = 8, now: str = NOW,
    heights_in: Mapping[str, float] | None = None, rain_mm: float = 2.5,
    own: Mapping[str, Mapping[str, Any]] | None = None, **tables: Any,
) -> FarmFolder:  # fmt: skip
    """Write a farm of square paddocks and walk it.

    Parameters
    ----------
    heights_in : mapping, optional
        Heights of some paddocks; 10 in and a bit more from one to the next where left out. [in]
    rain_mm : float
        Rain of every second day since 1 May. [mm]
    own : mapping from paddock to table, optional
        What a paddock says of itself beside the rest.
    """
    names = [str(n) for n in range(1, count + 1)]
    made: dict[str, Any] = {
        "schema": 1, "name": "Small Farm", "time_zone": "America/New_York", "units": "acres",
        "as_of": date(2026, 5, 1), "seed": 7, "normals": NORMALS,
        "place": {"latitude": LATITUDE, "longitude": LONGITUDE, "elevation": "200 m"},
        "rules": {"worm_stay": "4 d", "worm_rest": "35 d"} | tables.pop("rules", {}),
        "swards": {"meadow": {"kind": "orchardgrass_legume"}}, "soils": {"loam": LOAM, "clay": CLAY},
        "paddocks": [
            {"id": n, "name": f"P{n}", "sward": "meadow", "soil": "loam", "water": "trough"}
            | dict((own or {}).get(n, {}))
            for n in names
        ],
        "mobs": [dict(one) for one in mobs],
    }  # fmt: skip
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(tomlkit.dumps(made | tables), encoding="utf-8")
    shapes = {"type": "FeatureCollection", "features": [_square(n, name) for n, name in enumerate(names)]}
    (folder / "map.geojson").write_text(json.dumps(shapes), encoding="utf-8")
    (folder / "weather.csv").write_text(_weather(date.fromisoformat(now[:10]), rain_mm), encoding="utf-8")
    found = FarmFolder(folder, now)
    for n, name in enumerate(names, start=1):
        found.run("walk", name, f"{(heights_in or {}).get(name, 10 + 0.2 * n):g} in")
    return found


def _square(n: int, name: str) -> dict[str, Any]:
    high = SIDE_M / 111195.0
    wide = high / math.cos(math.radians(LATITUDE))
    row, column = divmod(n, 4)
    x, y = LONGITUDE + 1.03 * column * wide, LATITUDE - 1.03 * row * high
    ring = [[x, y], [x + wide, y], [x + wide, y - high], [x, y - high], [x, y]]
    return {"type": "Feature", "id": name, "properties": {"kind": "paddock", "name": f"P{name}"},
            "geometry": {"type": "Polygon", "coordinates": [ring]}}  # fmt: skip


def _weather(until: date, rain_mm: float) -> str:
    days = [date(2026, 5, 1) + timedelta(days=n) for n in range((until - date(2026, 5, 1)).days)]
    rows = [f"{d},{TMAX[d.month - 1]},{TMIN[d.month - 1]},{rain_mm * (n % 2):g}" for n, d in enumerate(days)]
    return "\n".join(["date,tmax (C),tmin (C),rain (mm)", *rows]) + "\n"


def of(stays: Sequence[Stay], who: str) -> list[Stay]:
    return [s for s in stays if s.mob == who]


def on(stays: Sequence[Stay], who: str, place: str) -> list[date]:
    """Return the days that a mob spends in a place."""
    return [day for s in of(stays, who) if s.place == place for day in s.days()]
