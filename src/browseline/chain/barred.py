"""What bars a planned move: a day on which nobody can move animals, ground that is shut or not left by then.

Today, the page Season and the papers all ask here, so that none of them orders what another calls off.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline.chain.in_force import moves_due, to_come
from browseline.chain.look import Picture
from browseline.chain.named import place_name
from browseline.events import Borrowed, Event, Moved, When
from browseline.limits import Scene, faces
from browseline.limits._places import together
from browseline.limits.shut import kept_out
from browseline.moves.herd import lines_on, with_coming
from browseline.record.state import AWAY, MobState
from browseline.words import day_words, joined, list_words, say, time_words

FIXED = ("promise", "harvest", "young", "poison", "hay")
"""Limits that the calendar knows. A gate, water or wet ground may be put right until the day of a move."""


@dataclass(frozen=True, slots=True)
class Barred:
    """Why a planned move cannot be made: ``nobody`` can move animals that day; limits that shut the place.

    ``shut_from`` is the first day on which they do, where the place is open on the day of the move and shuts
    before the mob is to leave it. ``still`` are the mobs that would still stand there, in words; ``gone``
    whether the mob itself is no longer here by then.
    """

    nobody: bool
    shut: tuple[str, ...]
    shut_from: date | None = None
    still: str = ""
    gone: bool = False

    @property
    def why(self) -> str:
        """Return why in a few words, such as ``nobody can move animals then``."""
        if self.nobody:
            return say("chain.barred.nobody")
        if self.gone:
            return say("chain.barred.gone")
        if self.still:
            return say("chain.barred.still", mobs=self.still)
        why = list_words(say(f"limits.{name}.name") for name in self.shut)
        if self.shut_from is not None:
            return say("chain.barred.shut_from", day=day_words(self.shut_from), why=why)
        return say("chain.barred.shut", why=why)


def barred(
    scene: Scene, mob: MobState, to: str, at: datetime, until: datetime | None = None
) -> Barred | None:
    """Return what bars a move of a mob to a place at a time; None if nothing does.

    Who leaves the farm is fetched by its owner: no day of ours bars that.

    Parameters
    ----------
    until : datetime, optional
        When the mob is to leave that place: what the calendar shuts before bars the move, too.
    """
    found = Barred(to != AWAY and nobody_moves(scene, at), shut_by(scene, mob, to, at))
    if not found.shut and until is not None:
        shut, day = _shut_before(scene, mob, to, at, until)
        found = replace(found, shut=shut, shut_from=day)
    return found if found.nobody or found.shut else None


def _shut_before(
    scene: Scene, mob: MobState, to: str, at: datetime, until: datetime
) -> tuple[tuple[str, ...], date | None]:
    """Return the limits of the calendar that shut a place before a mob is to leave it, and from which day."""
    first = (scene.local(at).date() - scene.days[0]).days + 1
    for day in range(max(first, 0), (scene.local(until).date() - scene.days[0]).days):
        shut = _shut_on(scene, mob, to, day)
        if set(shut) & set(FIXED):
            return shut, scene.days[0] + timedelta(days=day)
    return (), None


def nobody_moves(scene: Scene, at: datetime) -> bool:
    """Return whether a time lies on a day of the plan on which nobody can move animals."""
    day, still = (scene.local(at).date() - scene.days[0]).days, no_hands(scene)
    return 0 <= day < len(still) and bool(still[day])


def no_hands(scene: Scene) -> NDArray[np.bool_]:
    """Return the days of the plan on which nobody can move animals, today first, shape (day,)."""
    out = np.zeros(len(scene.days), bool)
    for face in faces(scene):
        if face.no_move is not None:
            out |= face.no_move[: len(out)]
    return out


def shut_by(scene: Scene, mob: MobState, to: str, at: datetime) -> tuple[str, ...]:
    """Return the limits that shut a place to a mob at a time; none for what is no paddock of the farm."""
    return _shut_on(scene, mob, to, (scene.local(at).date() - scene.days[0]).days)


def _shut_on(scene: Scene, mob: MobState, to: str, day: int) -> tuple[str, ...]:
    """Return the limits that shut a place to a mob on a day of the plan."""
    if to not in scene.paddocks:
        return ()
    m, p = scene.mobs.index(mob), scene.paddocks.index(to)
    shut = (
        face for face in faces(scene) if face.closed is not None and face.closed[m, day : day + 1, p].any()
    )
    return tuple(face.name for face in shut)


def barred_of(picture: Picture, event: Event) -> Barred | None:
    """Return what bars a planned move that lies ahead; None if nothing does, or its mob is not here.

    Only what the calendar knows does, a gate that is shut until a later day, and ground that the farm keeps a
    mob out of for good: any other gate may be opened, and water brought, until then.
    """
    mob = next((mob for mob in picture.scene.mobs if mob.id == event.subject), None)
    if mob is None or not isinstance(event.body, Moved):
        return None
    scene, to = picture.scene, event.body.to
    at, until = max(event.observed.start, picture.now), leaves(picture, event)
    if to != AWAY and gone_by(scene, mob, scene.local(at).date()):
        return Barred(False, (), gone=True)
    found = barred(scene, mob, to, at, until)
    if found is not None and stays_so(scene, mob, to, found):
        return found
    still = still_there(picture, event)
    return Barred(False, (), still=list_words(one.name for one in still)) if still else None


def stays_so(scene: Scene, mob: MobState, to: str, found: Barred) -> bool:
    """Return whether what bars a place to a mob will do so on that day whatever anybody mends until then."""
    if found.nobody or set(found.shut) & set(FIXED) or kept_out(scene, mob, to):
        return True
    shut = (scene.state.shut_now(place) for place in scene.ground(to))
    return "shut" in found.shut and any(
        one is not None and one.until_day is not None and not one.until for one in shut
    )


def gone_by(scene: Scene, mob: MobState, day: date) -> bool:
    """Return whether a mob is sold or sent home by a day, as it is planned or agreed."""
    went_home = mob.due is not None and mob.due <= day
    return mob.head > 0 and (went_home or sum(line.head for line in lines_on(scene, mob, day)) <= 0)


def still_there(picture: Picture, event: Event, asked: frozenset[str] = frozenset()) -> tuple[MobState, ...]:
    """Return the mobs that stand where a planned move leads and have no move out by then that can be made.

    Those that run together may share it. Who stands elsewhere now comes by the plan, which knows of both.

    Parameters
    ----------
    asked : frozenset of str
        Moves that are being looked at already: two mobs may change places.
    """
    scene, to = picture.scene, _leads_to(event)
    mob = next((mob for mob in scene.mobs if mob.id == event.subject), None)
    if to not in scene.paddocks:
        return ()
    others = (
        one for one in scene.mobs
        if one.place == to and one is not mob and (mob is None or not together(scene, mob, one))
        and (not one.part or not event.part or one.part == event.part)
    )  # fmt: skip
    return tuple(one for one in others if not _goes(picture, one, event, asked | {event.id}))


def _leads_to(event: Event) -> str:
    """Return where a planned move leads, or where a mob that comes is to stand; "" where that is not said."""
    return event.body.to if isinstance(event.body, (Moved, Borrowed)) else ""


def comes_at(picture: Picture, event: Event) -> datetime:
    """Return when a mob comes that is planned to be lent: at noon where a whole day is meant."""
    noon = picture.scene.midnight(picture.scene.local(event.observed.start).date()) + timedelta(hours=12)
    return max(event.observed.start if event.observed.exact else noon, picture.now)


def comes_barred(picture: Picture, event: Event, *, lasting: bool = True) -> Barred | None:
    """Return what bars the place that was typed for a mob that is planned to be lent; None if nothing does.

    Parameters
    ----------
    lasting : bool
        Whether what may be put right until then, such as a gate, is let pass, as it is for a planned move.
    """
    if not isinstance(event.body, Borrowed) or not event.body.to:
        return None
    found = picture.scene.once(("comes", event.id), lambda: _bars_coming(picture, event))
    return None if found is None or (lasting and not found[1]) else found[0]


def _bars_coming(picture: Picture, event: Event) -> tuple[Barred, bool] | None:
    """Return what bars a mob that comes, and whether it does so whatever anybody mends until then."""
    to, at = _leads_to(event), comes_at(picture, event)
    coming = (*(one for one in picture.scene.coming if one.id != event.id), event)
    scene = with_coming(replace(picture.scene, coming=coming))
    mob = next(mob for mob in scene.mobs if mob.id == event.subject)
    found = barred(scene, mob, to, at)
    if found is not None and stays_so(scene, mob, to, found):
        return found, True
    still = still_there(picture, replace(event, observed=When.at(at)))
    if still:
        return Barred(False, (), still=list_words(one.name for one in still)), True
    return (found, False) if found is not None else None


def arrivals(picture: Picture) -> tuple[Event, ...]:
    """Return the planned loans that say where the mob is to stand and that no plan in force moves."""
    moved = {event.subject for event in moves_due(picture)}
    new = {mob.id for mob in to_come(picture)} - moved
    return tuple(e for e in picture.scene.coming if e.subject in new and isinstance(e.body, Borrowed))


def _goes(picture: Picture, mob: MobState, before: Event, asked: frozenset[str]) -> bool:
    """Return whether a mob leaves where it stands before another comes, for good or by a move it can make."""
    if gone_by(picture.scene, mob, picture.scene.local(before.observed.start).date()):
        return True
    out = (
        one for one in moves_due(picture)
        if one.subject == mob.id and isinstance(one.body, Moved) and one.body.to != mob.place
        and one.observed.start <= before.observed.start
    )  # fmt: skip
    return any(one.id in asked or _can_be_made(picture, mob, one, asked) for one in out)


def _can_be_made(picture: Picture, mob: MobState, event: Event, asked: frozenset[str]) -> bool:
    if not isinstance(event.body, Moved):
        return False
    found = barred(picture.scene, mob, event.body.to, max(event.observed.start, picture.now))
    if found is not None and stays_so(picture.scene, mob, event.body.to, found):
        return False
    return not still_there(picture, event, asked)


def leaves(picture: Picture, event: Event) -> datetime | None:
    """Return when the mob of a planned move is to go on by the plan in force; None where it is not."""
    later = (
        one.observed.start
        for one in moves_due(picture)
        if one.subject == event.subject and one.observed.start > event.observed.start
    )
    return next(later, None)


def left_out(picture: Picture, until: datetime | None = None) -> str:
    """Return which planned moves of the plan in force cannot be made, why, and to plan again; "" if none.

    Parameters
    ----------
    until : datetime, optional
        Moves from then on are not told.
    """
    ahead = [(event, barred_of(picture, event)) for event in moves_due(picture)]
    ahead += [(event, comes_barred(picture, event)) for event in arrivals(picture)]
    by: dict[str, list[str]] = {}
    for event, bar in ahead:
        if bar is not None and (until is None or event.observed.start < until):
            by.setdefault(bar.why, []).append(_told(picture, event))
    told = (say("chain.barred.why", moves=joined(moves, "; "), why=why) for why, moves in by.items())
    return (
        say("chain.barred.left_out", count=sum(map(len, by.values())), moves=joined(told, "; ")) if by else ""
    )


def _told(picture: Picture, event: Event) -> str:
    scene, comes = picture.scene, isinstance(event.body, Borrowed)
    name = next(mob.name for mob in (*scene.mobs, *to_come(picture)) if mob.id == event.subject)
    when = time_words(scene.local(comes_at(picture, event) if comes else event.observed.start), picture.today)
    return say("chain.barred.move", when=when, mob=name, place=place_name(picture, _leads_to(event)))
