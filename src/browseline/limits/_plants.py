"""Poisonous plants of a farm: where they stand, whom they harm, and what makes them dangerous now.

A plant is pinned on the map as a hazard, or planted. What starts a danger is an event (a storm, a
frost, brush cut), a season, or late pregnancy; it ends only when somebody looks and says that it is
clear, and not before the wait that the row names.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any

from browseline import tables
from browseline.farm.records import Paddock, Planting, Shape
from browseline.limits.form import Scene
from browseline.record.state import HeadLine, MobState

REACH_M = 15.0
"""How far from a pinned plant a crown, a thrown limb or a neck over the fence reaches; the tool's own."""
HARMFUL = ("unknown", "moderate", "serious", "fatal")
"""Severities that shut ground, the mildest first; what nobody knows counts as harm."""
BEFORE_BIRTH = ("late gest", "late pregnan", "third trimester")
Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Growing:
    """One poisonous plant in or beside a paddock: a pin of the map or a planting."""

    plant: str
    ident: str
    name: str
    inside: bool


@dataclass(frozen=True, slots=True)
class Danger:
    """Why a plant is dangerous: the trigger, since when it counts, and before when no look can end it."""

    growing: Growing
    trigger: str
    since: datetime
    no_end_before: datetime
    row: Row


# ---------------------------------------------------------------- where they stand


def growing_in(scene: Scene, paddock: str) -> tuple[Growing, ...]:
    """Return the poisonous plants in or within reach of a paddock, pins of the map first."""
    found: tuple[Growing, ...] = scene.once(("plants", paddock), lambda: tuple(_growing(scene, paddock)))
    return found


def _growing(scene: Scene, paddock: str) -> Iterator[Growing]:
    pins = [s for s in scene.farm.shapes if s.kind == "hazard" and s.plant]
    for pin, inside in _near(scene, paddock, pins):
        yield Growing(pin.plant, pin.id, pin.name, inside)
    for planting in scene.farm.plantings:
        plant = plant_of(planting)
        if plant and planting.paddock in scene.ground(paddock):
            yield Growing(plant, planting.id, planting.name, True)


def plant_of(planting: Planting) -> str:
    """Return which plant of the poison table a planting is, or nothing."""
    return _by_species().get(planting.species, "")


@cache
def _by_species() -> Mapping[str, str]:
    return {
        species: row["key"]
        for row in tables.texts("poison")
        for species in row["species_ids"].split(";")
        if species
    }


def _near(scene: Scene, paddock: str, pins: list[Shape]) -> Iterator[tuple[Shape, bool]]:
    """Yield the pins in or within reach of a paddock's outline, and whether they stand inside it."""
    drawn = outlines(scene) if pins else {}
    ground = next((drawn[place] for place in scene.ground(paddock) if place in drawn), None)
    if ground is None:
        return
    error = scene.farm.position_error
    reach = REACH_M + (error.to("m") if error is not None else 0.0)
    for pin in pins:
        spot = drawn[f"pin {pin.id}"]
        if ground.distance(spot) <= reach:
            yield pin, bool(ground.contains(spot))


def outlines(scene: Scene) -> dict[str, Any]:
    """Return paddocks and pinned plants as geometries on a plane about the farm, drawn once a scene. [m]"""
    return scene.once("outlines", lambda: _outlines(scene))


def _outlines(scene: Scene) -> dict[str, Any]:
    import shapely

    from browseline.farm.map_area import on_plane, plane, polygon

    shapes = [s for s in scene.farm.shapes if s.kind in ("paddock", "hazard")]
    flat = plane(shapes)
    out: dict[str, Any] = {}
    for shape in shapes:
        if "Polygon" in shape.geometry:
            made = polygon(shape, flat)
        elif "LineString" in shape.geometry:
            lines = shape.rings or (shape.points,)
            made = shapely.MultiLineString([on_plane(line, flat) for line in lines])
        else:
            made = shapely.MultiPoint(on_plane(shape.points, flat))
        if shape.kind == "hazard":
            out[f"pin {shape.id}"] = made
        else:
            out[shape.id] = made
            out |= {p.id: made for p in scene.farm.paddocks if _drawn_as(p, shape)}
    return out


def _drawn_as(paddock: Paddock, shape: Shape) -> bool:
    return shape.id in (paddock.shape, paddock.id) or shape.name == paddock.name


# ---------------------------------------------------------------- whom they harm


def row_for(plant: str, line: HeadLine) -> Row | None:
    """Return the row of a plant for a line's kind: donkeys first by their own; None if none is there."""
    return _row_for(plant, line.kind, "donkey" if "donkey" in line.klass.casefold() else "")


@cache
def _row_for(plant: str, kind: str, own: str) -> Row | None:
    rows = [r for r in tables.texts("poison") if r["key"] == plant and r["kind"] == kind]
    return next((r for r in rows if r["class"] == own), next(iter(rows), None))


def severity(plant: str, line: HeadLine) -> str:
    """Return how bad a plant is for a line; unknown where no source names the kind."""
    row = row_for(plant, line)
    if row is not None:
        return row["severity"]
    return "unknown" if harms(plant) else "none_reported"


@cache
def harms(plant: str) -> bool:
    """Return whether a plant harms any kind."""
    return any(r["key"] == plant and r["severity"] in HARMFUL for r in tables.texts("poison"))


def harmed(plant: str, mob: MobState) -> tuple[HeadLine, ...]:
    """Return the lines of a mob that a plant may harm, the worst first."""
    lines = [x for x in mob.lines if x.head > 0 and severity(plant, x) in HARMFUL]
    return tuple(sorted(lines, key=lambda x: -HARMFUL.index(severity(plant, x))))


# ---------------------------------------------------------------- what makes them dangerous


@cache
def triggers(plant: str, *starts: str) -> tuple[Row, ...]:
    """Return the triggers of a plant that start in one of some ways, in the order of the table."""
    return tuple(
        r
        for r in tables.texts("poison_triggers")
        if r["key"] == plant and r["starts"] in (starts or r["starts"])
    )


def dangers(scene: Scene, mob: MobState, paddock: str) -> tuple[Danger, ...]:
    """Return what is dangerous to a mob in or beside a paddock now, the longest standing first."""
    found = []
    for growing in growing_in(scene, paddock):
        if not harmed(growing.plant, mob):
            continue
        for row in triggers(growing.plant):
            since = _since(scene, mob, paddock, growing, row)
            if since is None:
                continue
            danger = Danger(growing, row["trigger"], since, since + _wait(row), row)
            if row["starts"] == "stage" or not _cleared(scene, paddock, danger):
                found.append(danger)
    return tuple(sorted(found, key=lambda d: d.since))


def _wait(row: Row) -> timedelta:
    return timedelta(days=float(row["wait_d"] or 0))


def _since(scene: Scene, mob: MobState, paddock: str, growing: Growing, row: Row) -> datetime | None:
    """Return since when a trigger counts here, or None: the last event, the season's first day."""
    match row["starts"]:
        case "storm":
            return max((s.start for s in scene.state.storms), default=None)
        case "frost":
            return _last_frost(scene)
        case "cut":
            cut = [c.at.start for c in scene.state.trees_cut if c.planting == growing.ident]
            return max(cut, default=None)
        case "season":
            return season_start(scene, row)
        case "always":
            return scene.midnight(scene.farm.as_of)
        case "stage":
            late = any(_late(x) for x in harmed(growing.plant, mob))
            return scene.begin(mob, paddock) if late else None
    return None


def _late(line: HeadLine) -> bool:
    said = f"{line.klass} {line.stage}".casefold()
    return any(words in said for words in BEFORE_BIRTH)


def _last_frost(scene: Scene) -> datetime | None:
    """Return the last frost that was recorded or typed: lowest temperature of a day at or under 0 C."""
    daily, zero_c = scene.farm.daily, 0.0
    days = zip(daily.days, daily.tmin_c, strict=True) if daily is not None else ()
    cold = [day for day, low in days if low <= zero_c and scene.farm.as_of <= day <= scene.days[0]]
    typed = [frost.start for frost in scene.state.frosts]
    return max([scene.midnight(day) for day in cold] + typed, default=None)


def season_start(scene: Scene, row: Row, day: date | None = None) -> datetime | None:
    """Return the first day of the season that runs, or ran last since the farm's own first day."""
    day = day or scene.days[0]
    first, last = (_month(scene, row[key]) for key in ("first_month", "last_month"))
    year = day.year if day.month >= first else day.year - 1
    begin = date(year, first, 1)
    after = date(year + (last < first), last, 1) + timedelta(days=31)
    ended = after.replace(day=1)
    return scene.midnight(begin) if ended > scene.farm.as_of else None


def _month(scene: Scene, northern: str) -> int:
    """Return a month of the table on the farm's own half of the Earth."""
    south = scene.farm.place is not None and scene.farm.place.latitude_deg < 0
    return (int(northern) - 1 + (6 if south else 0)) % 12 + 1


def _cleared(scene: Scene, paddock: str, danger: Danger) -> bool:
    """Return whether somebody looked after it began, and after the wait, and found it clear."""
    places = scene.ground(paddock)
    return any(
        look.paddock in places
        and look.what in ("", danger.growing.ident)
        and look.at.end >= max(danger.since, danger.no_end_before)
        for look in scene.state.cleared
    )
