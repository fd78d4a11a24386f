"""Read a farm folder: every fault of every file at once, and the farm if there is none.

A folder needs ``farm.toml``; ``map.geojson``, ``weather.csv`` and ``terrain.tif`` may follow.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, cast
from zoneinfo import ZoneInfo

from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.farm import bounds, names, weather_csv, zone
from browseline.farm.check import check
from browseline.farm.draft import Draft, known_ids
from browseline.farm.map_geojson import Maps, read_map
from browseline.farm.own_hay import SOLD_PRICE, with_making, with_selling
from browseline.farm.records import Farm
from browseline.farm.told import Told, shown
from browseline.farm.toml_carbon import read_carbon
from browseline.farm.toml_decades import read_decades
from browseline.farm.toml_land import read_normals, read_paddocks, read_place, read_soils, read_swards
from browseline.farm.toml_lines import lines_of
from browseline.farm.toml_money import read_money
from browseline.farm.toml_purpose import read_jobs, read_keepers
from browseline.farm.toml_rest import read_hay, read_people, read_plantings, read_promises, read_rules
from browseline.farm.toml_review import read_review
from browseline.farm.toml_same_land import read_same_land
from browseline.farm.toml_stock import read_mobs
from browseline.farm.toml_table import Table
from browseline.units import System

FARM, MAP, WEATHER, TERRAIN = "farm.toml", "map.geojson", "weather.csv", "terrain.tif"
MOST_BYTES = 5_000_000
SCHEMA = 1
TIME_BARE = re.compile(r"[^#\"']*=\s*\d{4}-\d\d-\d\d[T ]\d\d?:\d\d(?!:\d)")


@dataclass(frozen=True, slots=True)
class Reading:
    """What came of reading a folder: the farm unless something stops it, and every finding."""

    farm: Farm | None
    findings: tuple[Finding, ...]

    @property
    def errors(self) -> list[Finding]:
        """Return the findings that stop the work."""
        return errors_in(self.findings)


def read(path: Path | str, today: date | None = None, *, text: str | None = None) -> Reading:
    """Read a farm folder.

    Parameters
    ----------
    path : Path or str
        The folder, or its ``farm.toml``.
    today : date, optional
        Against which ``as_of`` is checked; by default this machine's day in the farm's time zone.
    text : str, optional
        What ``farm.toml`` would hold, in place of what it holds: a look before an edit is kept.

    Returns
    -------
    Reading
        ``farm`` is None if and only if a finding is an error.
    """
    folder = Path(path)
    folder = folder.parent if folder.name == FARM else folder
    told = Told(FARM)
    data = _data(folder, told) if text is None else data_of(text, told)
    if data is None:
        return Reading(None, tuple(told.found))
    draft, found = _drafted(folder, data, told, today)
    findings = tuple(dict.fromkeys([*told.found, *found]))
    farm = None if errors_in(findings) else _farm(draft)
    return Reading(farm, findings)


def read_or_raise(path: Path | str, today: date | None = None) -> Farm:
    """Return the farm of a folder.

    Raises
    ------
    BadInput
        With every finding, if the folder cannot be used as it is.
    """
    reading = read(path, today)
    if reading.farm is None:
        raise BadInput(reading.findings)
    return reading.farm


# ---------------------------------------------------------------- the text


def _data(folder: Path, told: Told) -> dict[str, Any] | None:
    """Return what ``farm.toml`` holds, or None and a finding."""
    path = folder / FARM
    if not path.is_file():
        told.finding("farm.no_file", (), folder=folder.name or ".")
        return None
    raw = path.read_bytes()
    if len(raw) > MOST_BYTES:
        told.finding("farm.too_big", (), most=MOST_BYTES // 1_000_000)
        return None
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        where = f"{FARM}:{raw.count(10, 0, wrong.start) + 1}"
        told.found.append(finding("farm.no_text", where))
        return None
    return data_of(text, told)


def data_of(text: str, told: Told) -> dict[str, Any] | None:
    """Return what a TOML text holds, with its lines in ``told``; None and a finding if it is no TOML."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        line = _line_of(wrong, text)
        code = "farm.time_short" if TIME_BARE.match(_nth(text, line)) else "farm.syntax"
        told.found.append(finding(code, f"{FARM}:{line}", why=_reason(wrong)))
        return None
    except (ValueError, RecursionError):
        told.finding("farm.too_deep", ())
        return None
    told.lines = lines_of(text)
    return data


def _nth(text: str, line: int) -> str:
    """Return a line by its number, from 1."""
    lines = text.split("\n")
    return lines[line - 1] if line <= len(lines) else ""


def _line_of(wrong: tomllib.TOMLDecodeError, text: str) -> int:
    """Return the line that the parser names; the last one where it names the end of the file."""
    said = str(wrong).rpartition("(at line ")[2].partition(",")[0]
    return int(said) if said.isdecimal() else text.rstrip().count("\n") + 1


def _reason(wrong: tomllib.TOMLDecodeError) -> str:
    return shown(str(wrong).rpartition(" (at ")[0] or str(wrong))


# ---------------------------------------------------------------- the parts in order


def _drafted(
    folder: Path, data: Mapping[str, Any], told: Told, today: date | None
) -> tuple[Draft, list[Finding]]:
    """Return the draft of a farm and the findings of the files beside ``farm.toml``."""
    units = cast("System", data["units"]) if data.get("units") in ("acres", "hectares") else "acres"
    table = Table(told, (), data, units)
    draft = Draft(told, units, known=known_ids(data))
    _head(draft, table, today)
    read_place(draft, table.table("place"))
    read_normals(draft, table.table("normals"))
    maps = _map(folder, draft)
    read_swards(draft, table)
    read_soils(draft, table)
    read_paddocks(draft, table)
    read_mobs(draft, table)
    read_plantings(draft, table)
    read_promises(draft, table)
    read_hay(draft, table)
    read_rules(draft, table.table("rules"))
    read_people(draft, table)
    read_jobs(draft, table)
    read_keepers(draft, table)
    plan = with_making(read_money(draft, table.table("money")), draft.rules)
    draft.money = with_selling(plan, draft.rules, dict(draft.prices).get(SOLD_PRICE), draft.hay)
    draft.carbon = read_carbon(draft, table.table("carbon"))
    draft.same_land = read_same_land(draft, table.table("same_land"))
    draft.future = read_decades(draft, table.table("decades"))
    draft.review = read_review(draft, table.table("review"))
    table.close()
    check(draft, maps)
    return draft, [*maps.found, *_weather(folder, draft), *_terrain(folder)]


def _head(draft: Draft, table: Table, today: date | None) -> None:
    schema = table.whole("schema", 1, 10_000, needed=True)
    if schema is not None and schema > SCHEMA:
        table.told.finding("farm.newer", table.at("schema"), schema=schema, known=SCHEMA)
    head = draft.head
    head["name"] = table.text("name", needed=True)
    head["units"] = table.word("units", "units", needed=True)
    head["as_of"] = table.day("as_of", needed=True)
    head["seed"] = table.whole("seed", 0, 2**63 - 1)
    head["language"] = table.word("language", "language") or "en"
    head["place_words"] = table.text("place_words") or ""
    draft.position_error = table.quantity("position_error", "length", bounds.POSITION_ERROR)
    _time_zone(draft, table)
    now = today or datetime.now(ZoneInfo(head["time_zone"])).date()
    if head["as_of"] is not None and head["as_of"] > now:
        table.told.finding(
            "farm.as_of_ahead", table.at("as_of"), level="question", day=head["as_of"], today=now
        )


def _time_zone(draft: Draft, table: Table) -> None:
    typed = table.text("time_zone")
    draft.head["time_zone_typed"] = typed is not None
    draft.head["time_zone"] = typed if typed is not None and zone.exists(typed) else zone.of_machine()
    if typed is None and not table.bad & {"time_zone"}:
        table.told.finding("farm.machine_zone", (), level="note", zone=draft.head["time_zone"])
    elif typed is not None and not zone.exists(typed):
        near = names.nearest(typed, zone.known())
        if near is None:
            table.told.finding("farm.time_zone", table.at("time_zone"), zone=shown(typed))
        else:
            table.told.finding("farm.time_zone_near", table.at("time_zone"), zone=shown(typed), near=near)


def _map(folder: Path, draft: Draft) -> Maps:
    """Return the map with its shapes checked and measured; an empty one where there is no file."""
    path = folder / MAP
    if not path.is_file():
        return Maps(MAP)
    from browseline.farm.map_area import measured, plane
    from browseline.farm.map_check import check_map

    maps = read_map(path)
    check_map(maps, draft.place)
    flat = plane(maps.shapes)
    error_m = draft.position_error.to("m") if draft.position_error is not None else None
    maps.shapes = [measured(shape, flat, error_m) for shape in maps.shapes]
    draft.shapes = maps.shapes
    if error_m is None and any(shape.area_ha for shape in maps.shapes):
        maps.finding("map.no_error", MAP, level="note")
    return maps


def _weather(folder: Path, draft: Draft) -> tuple[Finding, ...]:
    path = folder / WEATHER
    if not path.is_file():
        return ()
    draft.daily, found = weather_csv.read(path)
    return found


def _terrain(folder: Path) -> tuple[Finding, ...]:
    path = folder / TERRAIN
    if not path.is_file():
        return ()
    from browseline.farm.terrain import check_terrain

    return check_terrain(path)


def _farm(draft: Draft) -> Farm:
    head = draft.head
    return Farm(
        name=head["name"],
        time_zone=head["time_zone"],
        units=draft.units,
        as_of=head["as_of"],
        paddocks=tuple(draft.paddocks),
        mobs=tuple(draft.mobs),
        place=draft.place,
        place_words=head["place_words"],
        seed=head["seed"] if head["seed"] is not None else 1,
        normals=draft.normals,
        daily=draft.daily,
        swards=tuple(draft.swards),
        soils=tuple(draft.soils),
        plantings=tuple(p for p in draft.plantings if not p.planned),
        promises=tuple(draft.promises),
        hay=tuple(draft.hay),
        rules=draft.rules,
        shapes=tuple(draft.shapes),
        contacts=tuple(draft.contacts),
        energiser=draft.energiser,
        labour_hours_day=draft.labour_hours_day,
        prices=tuple(draft.prices),
        language=head["language"],
        time_zone_typed=head["time_zone_typed"],
        position_error=draft.position_error,
        jobs=tuple(draft.jobs),
        keepers=tuple(draft.keepers),
        planned=tuple(p for p in draft.plantings if p.planned),
        money=draft.money,
        carbon=draft.carbon,
        same_land=draft.same_land,
        future=draft.future,
        review=draft.review,
    )
