"""Walk: the paddocks one after the other on the shortest way found, and the form of each height."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from browseline.chain.desk.forms import Form, form_of
from browseline.chain.field_pages import WalkLine, walk_page
from browseline.chain.look import Picture
from browseline.errors import BadInput, Finding, finding
from browseline.farm.records import Farm
from browseline.moves.paths import HOME, far_km
from browseline.units import shown
from browseline.words import say


@dataclass(frozen=True, slots=True)
class WalkRow:
    """One paddock of the walk: its heights in words, and how long ago; empty where nobody read one."""

    line: WalkLine
    read: str
    ago: str
    now: str
    who: str


@dataclass(frozen=True, slots=True)
class WalkRound:
    """The page Walk: every paddock in the order in which it is walked."""

    schema: str
    farm: str
    rows: tuple[WalkRow, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WalkStep:
    """One paddock of the walk: its number of how many, its neighbours on the way, the form of its height."""

    schema: str
    farm: str
    row: WalkRow
    number: int
    count: int
    before: str
    after: str
    after_name: str
    form: Form


def walking_order(farm: Farm) -> tuple[str, ...]:
    """Return the paddocks in the order of a walk: from the yard, always on to the nearest that is left.

    Where the map does not say where a paddock lies, the order of the farm's file is kept.
    """
    paddocks = tuple(p.id for p in farm.paddocks)
    km = far_km(farm, paddocks, HOME)
    if not km.any():
        return paddocks
    out: list[int] = []
    here = len(paddocks)
    while len(out) < len(paddocks):
        left = [i for i in range(len(paddocks)) if i not in out]
        here = min(left, key=lambda i: (km[here, i], i))
        out.append(here)
    return tuple(paddocks[i] for i in out)


def walk_round(picture: Picture) -> WalkRound:
    """Return every paddock in the order of a walk, with the height last read and how high it stands now."""
    lines = {line.paddock: line for line in walk_page(picture).paddocks}
    rows = tuple(_row(picture, lines[ident]) for ident in walking_order(picture.farm))
    told = () if rows else (say("pages.walk.none"),)
    return WalkRound("browseline/walk-round/1", picture.farm.name, rows, told)


def walk_step(
    picture: Picture, paddock: str, given: Mapping[str, str] | None = None, found: Iterable[Finding] = ()
) -> WalkStep:
    """Return one paddock of the walk.

    Parameters
    ----------
    given : mapping from field to text, optional
        What was typed already.
    found : iterable of Finding
        What speaks against it.

    Raises
    ------
    BadInput
        If the farm has no such paddock.
    """
    order = walking_order(picture.farm)
    if paddock not in order:
        raise BadInput([finding("cli.unknown.paddock", paddock, name=paddock, mend=say("cli.there_is_none"))])
    at = order.index(paddock)
    line = next(one for one in walk_page(picture).paddocks if one.paddock == paddock)
    after = order[at + 1] if at + 1 < len(order) else ""
    place = picture.farm.paddock(after)
    form = form_of(picture, "walk", {**(given or {}), "paddock": paddock}, found)
    return WalkStep(
        "browseline/walk-step/1", picture.farm.name, _row(picture, line), at + 1, len(order),
        order[at - 1] if at else "", after, place.name if place is not None else "", form,
    )  # fmt: skip


def _row(picture: Picture, line: WalkLine) -> WalkRow:
    units = picture.farm.units
    read, now = (
        shown(f.value or 0.0, "length", units) if f is not None else "" for f in (line.read, line.now)
    )
    return WalkRow(line, read, ago_words(line.age_d) if read else "", now, ", ".join(line.mobs))


def ago_words(days: int | None) -> str:
    """Return how long ago a height was read: today, yesterday, 3 d ago; empty where that is not known."""
    if days is None:
        return ""
    named = {0: "today", 1: "yesterday"}
    return say(f"web.walk.{named[days]}") if days in named else say("web.walk.ago", days=days)
