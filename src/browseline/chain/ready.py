"""Ready dates: from when on each paddock is fit again, by grass and by every other limit apart."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from browseline.limits import Ready, Scene, ready
from browseline.record.state import MobState
from browseline.words import day_words, list_words, say


@dataclass(frozen=True, slots=True)
class ReadyRow:
    """One paddock for one mob: each limit's date, and which limit is the later one.

    ``later`` is the limit that is waited for longest; "" where every limit is ready now.
    """

    paddock: str
    name: str
    dates: tuple[tuple[str, datetime | None], ...]
    later: str
    words: str


def ready_dates(scene: Scene, mob: MobState) -> tuple[ReadyRow, ...]:
    """Return every paddock that the mob does not stand in, in the order of the farm."""
    return tuple(_row(scene, mob, p) for p in scene.paddocks if p != mob.place)


def _row(scene: Scene, mob: MobState, paddock: str) -> ReadyRow:
    dates = tuple(ready(scene, mob.id, paddock))
    waits = [r for r in dates if _waits(scene, r)]
    found = scene.paddock(paddock)
    ended = [say("chain.ready.now", limit=_name(r)) for r in reversed(dates) if r not in waits]
    coming = [_not_until(scene, r) for r in reversed(waits)]
    return ReadyRow(
        paddock,
        found.name if found is not None else paddock,
        tuple((r.limit, r.moment.likely if r.moment is not None else None) for r in dates),
        waits[0].limit if waits else "",
        list_words([*ended, *coming]),
    )


def _waits(scene: Scene, one: Ready) -> bool:
    return one.moment is None or one.moment.likely > scene.now


def _name(one: Ready) -> str:
    return say(f"limits.{one.limit}.name")


def _not_until(scene: Scene, one: Ready) -> str:
    if one.moment is None:
        return say("chain.ready.not_known", limit=_name(one))
    return say(
        "chain.ready.not_until", limit=_name(one), day=day_words(scene.local(one.moment.likely).date())
    )
