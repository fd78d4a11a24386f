"""The moves and stays that papers tell: as the record plans them, as the season does, else as limits say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from browseline.chain.barred import barred_of, comes_at, comes_barred
from browseline.chain.in_force import firm_at, kept_reason, moves_due, to_come
from browseline.chain.last_chance import bites_by_chance, leave_by
from browseline.chain.look import Picture
from browseline.chain.next_place import next_place
from browseline.chain.out_now import out_now
from browseline.events import Borrowed, Event, When
from browseline.events.bodies import Moved
from browseline.limits import bites
from browseline.moves.form import Firmness, Season
from browseline.record.state import AWAY, MobState, Stay
from browseline.words import say, time_words

NEAR = timedelta(hours=12)
"""A limit that bites from half a day before a mob leaves to a day after it is why it leaves."""
Origin = Literal["typed", "season", "limit"]


@dataclass(frozen=True, slots=True)
class Move:
    """One move ahead. A move from a limit is "by" its time and only proposed; ``to`` may be unknown."""

    mob: str
    at: datetime
    start: str | None
    to: str | None
    origin: Origin
    event: str = ""
    limit: str = ""


@dataclass(frozen=True, slots=True)
class Bead:
    """One stay on the string of a mob: done or ahead, and how firm."""

    mob: str
    place: str
    begin: datetime
    end: datetime
    done: bool
    firmness: Firmness
    reason: str = ""
    open_end: bool = False


def planned_moves(picture: Picture) -> tuple[Event, ...]:
    """Return the planned moves of mobs that live or are to come that nobody made yet, in order of time."""
    living = {mob.id for mob in (*picture.scene.mobs, *to_come(picture))}
    return tuple(event for event in moves_due(picture) if event.subject in living)


def _can_be(picture: Picture, mob: MobState, own: list[Event]) -> list[Event]:
    """Return the planned moves of a mob that can be made.

    After one that is left out, a move to where the mob then still stands is none.
    """
    out, start, missed = list[Event](), mob.place, False
    for event in own:
        if barred_of(picture, event) is not None:
            missed = True
        elif isinstance(event.body, Moved) and not (missed and event.body.to == start):
            out.append(event)
            start, missed = event.body.to, False
    return out


def moves(picture: Picture, until: datetime, season: Season | None = None) -> tuple[Move, ...]:
    """Return the moves ahead up to an instant, in order of time.

    What stands in the record as a planned move is an instruction and comes first, where it can be made
    (``chain.barred.left_out`` tells what cannot); for a mob without one the season's stays; without a
    season the first limit that bites, with the next place. A mob that must be out by now waits for no plan.
    """
    typed = planned_moves(picture)
    out: list[Move] = []
    for mob in picture.scene.mobs:
        own = [event for event in typed if event.subject == mob.id]
        if own:
            out += _out_first(picture, mob, _typed(mob, _can_be(picture, mob, own)))
        elif season is not None and season.of(mob.id):
            out += _out_first(picture, mob, _of_season(picture, mob, season))
        else:
            out += _by_limit(picture, mob)
    for mob in to_come(picture):
        own = [event for event in typed if event.subject == mob.id]
        out += _typed(mob, own) if own else _coming(picture, mob)
    return tuple(sorted((m for m in out if m.at < until), key=lambda m: (m.at, m.mob)))


def _out_first(picture: Picture, mob: MobState, ahead: Iterable[Move]) -> Iterator[Move]:
    """Yield the moves of a mob, before them the one out of where a hard limit bites it by now."""
    planned, out = list(ahead), out_now(picture, mob)
    if out is None or (planned and planned[0].at <= picture.now):
        yield from planned
        return
    to = _fit_by(picture, mob, picture.now)
    yield Move(mob.id, picture.now, mob.place, to, "limit", limit=out.limit)
    later = planned[1:] if planned and planned[0].to == to else planned
    yield from (replace(move, start=to or move.start) if n == 0 else move for n, move in enumerate(later))


def _typed(mob: MobState, events: list[Event]) -> Iterator[Move]:
    start = mob.place
    for event in events:
        if isinstance(event.body, Moved) and event.body.to != start:
            yield Move(mob.id, event.observed.start, start, event.body.to, "typed", event.id)
            start = event.body.to


def _coming(picture: Picture, mob: MobState) -> Iterator[Move]:
    """Yield that a mob comes that is to be lent, where no plan in force moves it and its place is free."""
    for event in picture.scene.coming:
        body = event.body
        if event.subject == mob.id and isinstance(body, Borrowed) and comes_barred(picture, event) is None:
            yield Move(mob.id, comes_at(picture, event), mob.place, body.to or None, "typed", event.id)


def _of_season(picture: Picture, mob: MobState, season: Season) -> Iterator[Move]:
    start = mob.place
    for stay in season.of(mob.id):
        begin = stay.stay.begin.start
        if begin >= picture.now and stay.stay.place != start:
            yield Move(mob.id, begin, start, stay.stay.place, "season", limit=stay.limit)
            start = stay.stay.place


def _by_limit(picture: Picture, mob: MobState) -> Iterator[Move]:
    scene = picture.scene
    if mob.place not in scene.paddocks or mob.place is None:
        return
    dated = [b for b in bites_by_chance(scene, mob.id, mob.place) if b.hardness != "question"]
    by = leave_by(scene, dated[0]) if dated else None
    if by is not None:
        at = max(by, picture.now).replace(minute=0, second=0, microsecond=0)
        yield Move(mob.id, at, mob.place, _fit_by(picture, mob, at), "limit", limit=dated[0].limit)


def _fit_by(picture: Picture, mob: MobState, at: datetime) -> str | None:
    """Return the paddock to propose: one that is ready by then, else none; the sheet leaves it blank."""
    found = next_place(picture.scene, mob, works=False)
    if found is None:
        return None
    ready = found.ready or (found.ready_from is not None and found.ready_from <= at)
    return found.paddock if ready else None


# ---------------------------------------------------------------- stays


def beads(picture: Picture, first: datetime, season: Season | None = None) -> tuple[Bead, ...]:
    """Return the stays of every mob from ``first`` on: those that happened, then those planned.

    A mob that is planned to be lent to the farm has those from its coming to its going home.
    """
    out: list[Bead] = []
    for mob in picture.scene.mobs:
        ahead = _ahead(picture, mob, season)
        standing = ahead[0].begin if ahead and ahead[0].place != mob.place else None
        out += _done(picture, mob, first, standing)
        out += ahead
    for mob in to_come(picture):
        out += _until_due(picture, mob, _ahead(picture, mob, season))
    return tuple(out)


def _until_due(picture: Picture, mob: MobState, ahead: Iterable[Bead]) -> Iterator[Bead]:
    """Yield the stays of a mob that is to be lent: none before it comes, the last until it goes home."""
    for bead in ahead:
        if bead.place == AWAY:
            continue
        end = picture.scene.midnight(mob.due) if bead.open_end and mob.due is not None else None
        yield replace(bead, end=end, open_end=False) if end is not None and end > bead.begin else bead


def _done(picture: Picture, mob: MobState, first: datetime, leaves: datetime | None) -> Iterator[Bead]:
    for stay in picture.state.stays:
        if stay.mob != mob.id or stay.planned:
            continue
        end = stay.end.start if stay.end is not None else picture.now
        if end > first:
            yield Bead(mob.id, stay.place, max(stay.begin.start, first), end, True, "firm")
        if stay.end is None and leaves is not None and leaves > picture.now:
            firm, why = firm_at(picture, picture.now), _why_ends(picture, mob, leaves)
            yield Bead(mob.id, stay.place, picture.now, leaves, False, firm, why)


def _ahead(picture: Picture, mob: MobState, season: Season | None) -> list[Bead]:
    typed = [event for event in planned_moves(picture) if event.subject == mob.id]
    can = _can_be(picture, mob, typed)
    if typed and not can:
        return _left_there(picture, mob)
    if can:
        ends = [*(When.at(e.observed.start) for e in can[1:]), None]
        told = [
            (Stay(mob.id, e.body.to, When.at(e.observed.start), end, planned=True), kept_reason(e))
            for e, end in zip(can, ends, strict=True)
            if isinstance(e.body, Moved)
        ]
        return [_bead(picture, stay, firm_at(picture, stay.begin.start), reason) for stay, reason in told]
    if season is not None and season.of(mob.id):
        return [
            _bead(picture, s.stay, s.firmness, s.reason)
            for s in season.of(mob.id)
            if s.stay.end is None or s.stay.end.end > picture.now
        ]
    return _left_there(picture, mob)


def _left_there(picture: Picture, mob: MobState) -> list[Bead]:
    """Return the stay of a mob that a plan in force does not move: open at its end, with what bites first."""
    if mob.place is None or not planned_moves(picture):
        return []
    end, firm = picture.now + timedelta(days=1), firm_at(picture, picture.now)
    why = _why_ends(picture, mob, None)
    return [Bead(mob.id, mob.place, picture.now, end, False, firm, why, open_end=True)]


def _why_ends(picture: Picture, mob: MobState, leaves: datetime | None) -> str:
    """Return which limit ends the stay in force about when the mob leaves; else which would bite first."""
    if mob.place is None or mob.place not in picture.scene.paddocks:
        return ""
    found = [b for b in bites(picture.scene, mob.id, mob.place) if b.moment and b.hardness != "question"]
    for bite in found:
        likely = bite.moment.likely if bite.moment is not None else picture.now
        if leaves is not None and leaves - NEAR <= likely < leaves + 2 * NEAR:
            return say("moves.end.bite", limit=say(f"limits.{bite.limit}.name"), because=bite.because)
    if not found or found[0].moment is None:
        return say("papers.season.no_limit")
    at = time_words(picture.scene.local(max(found[0].moment.likely, picture.now)), picture.today)
    name = say(f"limits.{found[0].limit}.name")
    return say("papers.season.bites_first", limit=name, time=at, because=found[0].because)


def _bead(picture: Picture, stay: Stay, firmness: Firmness, reason: str) -> Bead:
    begin = max(stay.begin.start, picture.now)
    last = stay.end.start if stay.end is not None else begin + timedelta(days=1)
    return Bead(stay.mob, stay.place, begin, last, False, firmness, reason, stay.end is None)
