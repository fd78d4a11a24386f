"""The farm's map for reading: outlines in local metres, what each paddock is now, rows with their trees.

North is up. No longitude and no latitude comes in; every fact of the drawing stands in the list too.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from browseline.chain.barred import shut_by
from browseline.chain.gates import shut_parts
from browseline.chain.look import Picture
from browseline.chain.named import heads_words, paddock_name
from browseline.farm.records import Paddock, Shape
from browseline.ledger.losses import Survival, survival, survival_rows
from browseline.papers.sketch import Local, Outline, Sketch, near, sketch
from browseline.units import plain, shown
from browseline.words import begun, list_words, say

DRAWN = ("lane", "building", "yard", "tree_row", "keep_out", "fence", "sacrifice")
SHARES = {"narrow": 1 / 19, "wide": 1 / 37}
"""Height of the letters as a share of the map's width: 18 px on a phone, and on a desk."""
LETTER = 0.62
"""Width of a letter as a share of its height."""


@dataclass(frozen=True, slots=True)
class MapPaddock:
    """A paddock on the map and in the list; ``ring`` is in metres.

    ``labels`` are the lines on the narrow map and on the wide one: names where all have room. ``state`` is
    *shut*, *here* or empty; ``words`` tell it, with the animals or the reason.
    """

    id: str
    name: str
    ring: Local
    spot: tuple[float, float]
    hatch: tuple[Local, ...]
    labels: tuple[tuple[str, ...], ...]
    state: str
    words: tuple[str, ...]
    area: str


@dataclass(frozen=True, slots=True)
class MapRows:
    """A planting, or one row of it: how many trees live, how many were planted; None is not counted."""

    name: str
    place: str
    live: int | None
    planted: int | None
    words: str


@dataclass(frozen=True, slots=True)
class MapThing:
    """Anything else on the map, with the paddocks it lies in or beside."""

    kind: str
    name: str
    where: str


@dataclass(frozen=True, slots=True)
class FarmMap:
    """The page Map, in metres right of and below the upper left corner.

    ``text_m`` is the height of the letters on the narrow map and on the wide one.
    """

    schema: str
    farm: str
    wide_m: float
    deep_m: float
    text_m: tuple[float, ...]
    paddocks: tuple[MapPaddock, ...]
    lines: tuple[tuple[str, Local], ...]
    marks: tuple[tuple[str, tuple[float, float]], ...]
    bar_m: float
    bar: str
    legend: tuple[tuple[str, str], ...]
    rows: tuple[MapRows, ...]
    things: tuple[MapThing, ...]
    sentences: tuple[str, ...]


def farm_map(picture: Picture) -> FarmMap:
    """Return the map of a farm and the list of all that is on it; without outlines, the list alone."""
    states = {paddock.id: _state(picture, paddock) for paddock in picture.farm.paddocks}
    drawn = sketch(picture.farm, (ident for ident, (state, _) in states.items() if state == "shut"), DRAWN)
    text_m = tuple(drawn.wide_m * share for share in SHARES.values()) if drawn else ()
    paddocks = tuple(
        _paddock(picture, paddock, states[paddock.id], drawn, text_m) for paddock in picture.farm.paddocks
    )
    kinds = {kind for kind, _ in (*drawn.lines, *drawn.marks)} if drawn else set()
    told = () if drawn else (say("web.map.no_outline"),)
    return FarmMap(
        "browseline/map-page/1", picture.farm.name, drawn.wide_m if drawn else 0.0,
        drawn.deep_m if drawn else 0.0, text_m, paddocks, drawn.lines if drawn else (),
        drawn.marks if drawn else (), drawn.bar_m if drawn else 0.0,
        say("papers.relief.map.bar", length=plain(drawn.bar), unit=drawn.bar_unit) if drawn else "",
        tuple((kind, say(f"web.map.kind.{kind}")) for kind in (*DRAWN, *_MARKS) if kind in kinds),
        tuple(_rows(picture)), tuple(_things(picture)), told,
    )  # fmt: skip


_MARKS = ("gate", "water", "energiser", "hazard")


def _state(picture: Picture, paddock: Paddock) -> tuple[str, tuple[str, ...]]:
    """Return what a paddock is now, *shut*, *here* or empty, and the words that tell it."""
    scene = picture.scene
    here = [mob for mob in scene.mobs if mob.place == paddock.id]
    shut = [s for s in shut_parts(picture) if s.paddock == paddock_name(picture, paddock.id)]
    by = [(mob.name, set(shut_by(scene, mob, paddock.id, picture.now))) for mob in scene.mobs]
    words = [say("web.map.here", mob=mob.name, heads=heads_words(mob)) for mob in here]
    words += [say("web.map.shut", because=s.because, until=s.until) for s in shut]
    words += [begun(say("pages.ready.state.kept"))] if paddock.sacrifice else []
    to_all = bool(by) and all(limits for _, limits in by)
    if not shut:
        words += _closed(by, to_all)
    return "shut" if shut or to_all else "here" if here else "", tuple(words)


def _closed(by: Sequence[tuple[str, set[str]]], to_all: bool) -> Iterator[str]:
    """Yield to whom limits close a paddock today, and which."""
    limits = list_words(say(f"limits.{name}.name") for name in sorted(set().union(*(own for _, own in by))))
    if to_all:
        yield say("web.map.closed_all", limits=limits)
    elif limits:
        yield say("web.map.closed", mobs=list_words(name for name, own in by if own), limits=limits)


def _paddock(
    picture: Picture, paddock: Paddock, told: tuple[str, tuple[str, ...]], drawn: Sketch | None,
    text_m: tuple[float, ...],
) -> MapPaddock:  # fmt: skip
    outline = next((o for o in drawn.paddocks if o.id == paddock.id), None) if drawn else None
    state, words = told
    labels = tuple(
        tuple(_labels(outline, state, size_m, named=all(fits(o.name, o, size_m) for o in drawn.paddocks)))
        for size_m in text_m
        if drawn is not None and outline is not None
    )
    return MapPaddock(
        paddock.id, paddock.name, outline.ring if outline else (), outline.spot if outline else (0.0, 0.0),
        outline.hatch if outline else (), labels, state, words, _area(picture, paddock),
    )  # fmt: skip


def _labels(outline: Outline, state: str, size_m: float, *, named: bool) -> Iterator[str]:
    """Yield the lines of one outline: its name or its number, then what it is now where that has room."""
    yield outline.name if named else outline.id
    word = say(f"web.map.word.{state}") if state else ""
    if word and fits(word, outline, size_m) and outline.room_m[1] >= 2.4 * size_m:
        yield word


def fits(text: str, outline: Outline, size_m: float) -> bool:
    """Return whether letters of a size have room across an outline, where its name stands."""
    return len(text) * size_m * LETTER <= outline.room_m[0]


def _area(picture: Picture, paddock: Paddock) -> str:
    """Return the area with what it may be off; deeded acres have no such range."""
    area = shown(paddock.area_ha, "area", picture.farm.units, 2)
    if paddock.deeded is not None or not paddock.area_sd_ha:
        return area
    return say("web.map.area", area=area, spread=plain(100 * paddock.area_sd_ha / paddock.area_ha))


def _rows(picture: Picture) -> Iterator[MapRows]:
    """Yield every planting, and each of its rows where entries tell rows apart."""
    for planting, found in zip(picture.farm.plantings, survival(picture.scene), strict=True):
        place = paddock_name(picture, planting.paddock) if planting.paddock else ""
        yield _counted(planting.name, place, found)
        for row, own in survival_rows(picture.scene, planting):
            yield _counted(say("form.choice.row", planting=planting.name, row=row.name), place, own)


def _counted(name: str, place: str, found: Survival) -> MapRows:
    stood = found.stood + found.planted if found.stood is not None else None
    if found.alive is None or stood is None:
        return MapRows(name, place, None, None, say("web.map.not_counted"))
    return MapRows(name, place, found.alive, stood, say("web.map.live", live=found.alive, planted=stood))


def _things(picture: Picture) -> Iterator[MapThing]:
    for shape in picture.farm.shapes:
        if shape.kind in ("hazard", "keep_out", "energiser", "building", "yard", "sacrifice"):
            yield MapThing(say(f"web.map.kind.{shape.kind}"), shape.name, _where(picture, shape))


def _where(picture: Picture, shape: Shape) -> str:
    return list_words(paddock_name(picture, ident) for ident in near(picture.farm, shape))
