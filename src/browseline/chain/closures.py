"""What limits shut to every mob, and from when until when: the sheet and Today both tell it by this."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from browseline.chain.gates import ShutPart
from browseline.chain.look import Picture
from browseline.chain.named import paddock_name
from browseline.ledger.facts import counted
from browseline.limits import faces
from browseline.limits.hay import NAME as LYING
from browseline.words import day_words, linked, list_words, say

PLANTS = "poison"


@dataclass(frozen=True, slots=True)
class Closure:
    """A paddock that a limit shuts to every mob: its first day, and that on which it opens, if it is seen."""

    paddock: str
    limit: str
    first: date
    opens: date | None


def closures(picture: Picture, last: date) -> Iterator[Closure]:
    """Yield what limits shut to every mob on some day up to the last, limit by limit.

    What somebody shut, what is kept from every mob for good and where hay lies is told elsewhere.
    """
    scene = picture.scene
    if not scene.mobs:
        return
    told = {one.paddock for one in picture.state.shut} | _kept_out(picture)
    for face in faces(scene):
        if face.closed is None or face.name == LYING:
            continue
        shuts = np.asarray(face.closed[:, : len(scene.days), :].all(axis=0))
        for p, paddock in enumerate(scene.paddocks):
            if paddock not in told:
                found = (Closure(paddock, face.name, *span) for span in _spans(scene.days, shuts[:, p]))
                yield from (one for one in found if one.first <= last)


def _kept_out(picture: Picture) -> set[str]:
    """Return the paddocks that the farm keeps each of its mobs out of."""
    told = [picture.farm.mob(mob.id) for mob in picture.scene.mobs]
    return set.intersection(*(set(mob.keep_out) if mob is not None else set() for mob in told))


def _spans(days: Sequence[date], shut: NDArray[np.bool_]) -> Iterator[tuple[date, date | None]]:
    """Yield from when until when days in a row are shut; None where they outlast the days that are seen."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], shut.astype(np.int8), [0]))))
    for a, b in edges.reshape(-1, 2):
        yield days[a], days[b] if b < len(shut) else None


def calendar_shut(picture: Picture) -> tuple[ShutPart, ...]:
    """Return what limits shut to every mob today, paddocks of the same limit and day together.

    What a poisonous plant shuts is told with the look that opens it.
    """
    together: dict[tuple[str, date | None], list[str]] = {}
    for one in closures(picture, picture.today):
        if one.limit != PLANTS:
            together.setdefault((one.limit, one.opens), []).append(paddock_name(picture, one.paddock))
    return tuple(_part(picture, list_words(names), *key) for key, names in together.items())


def _part(picture: Picture, names: str, limit: str, opens: date | None) -> ShutPart:
    because, today = say(f"limits.{limit}.name"), picture.today
    if opens is None:
        return ShutPart(names, because, say("chain.closed.on"))
    left = counted("shut_days", (opens - today).days, "d", about=names, formula=f"{opens} − {today}")
    return ShutPart(names, because, say("limits.shut.until_day", day=linked(day_words(opens), left)))


def closed_words(picture: Picture, closure: Closure, last: date) -> str:
    """Return from when and until when a paddock is shut, in words; "" where it is so on every day told.

    Parameters
    ----------
    last : date
        The last day that is told: of what opens later nothing is said.
    """
    begins = closure.first > picture.today
    ends = closure.opens is not None and closure.opens <= last
    first, opens = (day_words(day) if day is not None else "" for day in (closure.first, closure.opens))
    if begins:
        return say("chain.closed.from_until" if ends else "chain.closed.from", day=first, opens=opens)
    return say("chain.closed.until", opens=opens) if ends else ""
