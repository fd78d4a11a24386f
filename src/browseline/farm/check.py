"""What cannot be true, or is hardly likely, of a farm whose parts could each be read."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from typing import Any

from browseline.farm.check_grass import check_carrying
from browseline.farm.check_prices import check_prices
from browseline.farm.check_stock import check_mobs
from browseline.farm.draft import Draft
from browseline.farm.map_geojson import Maps
from browseline.farm.names import nearest
from browseline.farm.records import Paddock
from browseline.farm.told import shown
from browseline.units import shown as in_units
from browseline.words import say

CHECKED = ("paddocks", "mobs", "plantings")
SHORTEST_ALIKE = 3
OFF_PASTURE = ("yard", "pen", "away")
DIFFERS = 0.10
DIFFERS_SD = 3.0


def check(draft: Draft, maps: Maps) -> None:
    """Add every finding about a draft to it, and about its map to ``maps``."""
    _something_there(draft)
    _references(draft)
    _names(draft)
    _periods(draft)
    for paddock in draft.paddocks:
        _paddock(draft, paddock)
    _swards(draft)
    _plantings(draft)
    check_mobs(draft)
    check_carrying(draft)
    check_prices(draft)
    if draft.normals is not None and draft.place is None and not draft.told.has(("place",)):
        draft.told.finding("farm.no_place", ("normals",), level="question")
    if maps.shapes:
        _overlaps(draft, maps)
        _whose_trees(draft, maps)


def _overlaps(draft: Draft, maps: Maps) -> None:
    from browseline.farm.map_check import check_overlaps

    check_overlaps(maps, together(draft.paddocks))


def _whose_trees(draft: Draft, maps: Maps) -> None:
    """Ask of rows and trees of the map that name a planting that is not there."""
    known = draft.known["plantings"]
    for shape in maps.shapes:
        if shape.planting and shape.planting not in known:
            where = f'{maps.name} {shape.kind} "{shape.name}"'
            near, named = nearest(shape.planting, known), shown(shape.planting)
            if near is not None:
                maps.finding("map.planting_near", where, level="question", planting=named, near=near)
            else:
                listed = ", ".join(sorted(known)) or "-"
                maps.finding("map.planting", where, level="question", planting=named, known=shown(listed))


def together(paddocks: Iterable[Paddock]) -> Callable[[str, str], bool]:
    """Return a function that says whether two outlines, by id, are ever in use on the same day."""
    owner = {paddock.shape or paddock.id: paddock for paddock in paddocks}
    return lambda a, b: a not in owner or b not in owner or _meet(owner[a], owner[b])


def _meet(one: Any, other: Any) -> bool:
    """Return whether two records with ``from_day`` and ``to_day`` are ever there on the same day."""
    begin = max(one.from_day or date.min, other.from_day or date.min)
    return begin < min(one.to_day or date.max, other.to_day or date.max)


def _something_there(draft: Draft) -> None:
    if not draft.paddocks and not draft.known["paddocks"]:
        draft.told.finding("farm.no_paddocks", ())
    if not draft.mobs and not draft.known["mobs"]:
        draft.told.finding("farm.no_mobs", (), level="question")


# ---------------------------------------------------------------- names and what they point to


def _references(draft: Draft) -> None:
    known = draft.known
    known["places"] = known["paddocks"] | set(OFF_PASTURE)
    known["places"] |= {s.id for s in draft.shapes if s.kind in ("yard", "paddock")}
    paths = draft.at

    def each(which: str, records: Iterable[Any], **fields: str) -> None:
        for record in records:
            for key, among in fields.items():
                _points(draft, (*paths.get((which, record.id), ()),), record, key, known[among], among)

    each("paddocks", draft.paddocks, sward="swards", soil="soils")
    each("mobs", draft.mobs, at="places", follows="mobs", runs_with="mobs", keep_out="paddocks")
    each("plantings", draft.plantings, paddock="paddocks")
    each("promises", draft.promises, paddocks="paddocks", mobs="mobs")
    each("jobs", draft.jobs, paddock="paddocks", beside="plantings")
    for n, work in enumerate(draft.future.works):
        _points(draft, ("decades", "works", n), work, "planting", known["plantings"], "plantings")
    for n, cut in enumerate(draft.future.fodder):
        _points(draft, ("decades", "fodder", n), cut, "planting", known["plantings"], "plantings")
    for planting in draft.plantings:
        path = (*paths.get(("plantings", planting.id), ()), "layout")
        if planting.layout is not None:
            _points(draft, path, planting.layout, "partners", known["plantings"], "plantings")


def _points(
    draft: Draft, path: tuple[str | int, ...], record: Any, key: str, known: set[str], among: str
) -> None:
    value = getattr(record, key)
    for typed in (value,) if isinstance(value, str) else value or ():
        if typed in known:
            continue
        fields: dict[str, Any] = {"key": key, "value": shown(typed), "what": say(f"findings.which.{among}")}
        near = nearest(typed, known) if len(typed) >= SHORTEST_ALIKE else None
        if near is not None:
            draft.told.finding("farm.unknown_id_near", (*path, key), near=near, **fields)
        else:
            listed = ", ".join(sorted(known)) or "–"
            draft.told.finding("farm.unknown_id", (*path, key), known=shown(listed), **fields)


def _names(draft: Draft) -> None:
    """Say which names stand twice, where both are ever there on the same day."""
    for which in CHECKED:
        records: list[Any] = getattr(draft, which)
        seen: dict[str, list[Any]] = {}
        for record in records:
            earlier = seen.setdefault(record.name.casefold(), [])
            if any(which == "plantings" or _meet(record, other) for other in earlier):
                path = draft.at.get((which, record.id), ())
                draft.told.finding("farm.double_name", path, name=record.name, first=earlier[0].id)
            earlier.append(record)


def _periods(draft: Draft) -> None:
    for which in ("paddocks", "mobs"):
        for record in getattr(draft, which):
            first, last = record.from_day, record.to_day
            if first is not None and last is not None and last <= first:
                path = (*draft.at.get((which, record.id), ()), "to")
                draft.told.finding("farm.reversed", path, first=first, last=last)


# ---------------------------------------------------------------- paddocks, swards, plantings


def _paddock(draft: Draft, paddock: Paddock) -> None:
    path = draft.at.get(("paddocks", paddock.id), ())
    if paddock.water == "unknown" and not draft.told.has((*path, "water")):
        draft.told.finding("farm.no_water", path, level="question", paddock=paddock.name)
    if paddock.row_area_ha >= paddock.area_ha > 0:
        rows, area = (in_units(x, "area", draft.units) for x in (paddock.row_area_ha, paddock.area_ha))
        draft.told.finding("farm.all_rows", (*path, "row_area"), paddock=paddock.name, rows=rows, area=area)
    if paddock.light is not None and paddock.cover is not None:
        draft.told.finding("farm.light_and_cover", (*path, "light"), level="question", paddock=paddock.name)
    _drawn_and_typed(draft, paddock, path)


def _drawn_and_typed(draft: Draft, paddock: Paddock, path: tuple[str | int, ...]) -> None:
    """Ask where the typed area and the map differ by more than the map's own error."""
    shape = next((s for s in draft.shapes if s.id == paddock.shape), None)
    if shape is None or not shape.area_ha or paddock.area_ha == shape.area_ha:
        return
    spread = DIFFERS_SD * (shape.area_sd_ha or 0.0)
    if abs(shape.area_ha - paddock.area_ha) > max(DIFFERS * paddock.area_ha, spread):
        fields: dict[str, Any] = {
            "paddock": paddock.name,
            "typed": in_units(paddock.area_ha, "area", draft.units, 2),
            "drawn": in_units(shape.area_ha, "area", draft.units, 2),
        }
        draft.told.finding("farm.area_differs", path, level="question", **fields)


def _swards(draft: Draft) -> None:
    for sward in draft.swards:
        leave, start = sward.leave_at, sward.start_at
        if leave is not None and start is not None and start.to("cm") <= leave.to("cm"):
            path = ("swards", sward.id, "start_at")
            draft.told.finding("farm.start_below_leave", path, start=start.text, leave=leave.text)


def _plantings(draft: Draft) -> None:
    for planting in draft.plantings:
        drop, planted = planting.first_drop, planting.planted
        if drop is not None and planted is not None and drop.year < planted:
            path = (*draft.at["plantings", planting.id], "first_drop")
            draft.told.finding("farm.drop_before_planting", path, drop=drop, planted=planted)
        if planting.trees == 0:
            path = (*draft.at["plantings", planting.id], "trees")
            draft.told.finding("farm.no_trees", path, level="question", planting=planting.name)
