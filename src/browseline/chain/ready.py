"""Ready dates: from when on each paddock is fit again, by grass and by every other limit apart."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from browseline.figures import Figure
from browseline.ledger.facts import RECORD
from browseline.limits import Ready, Scene, ready
from browseline.limits.form import Moment
from browseline.record.state import MobState
from browseline.words import day_words, linked, list_words, say


@dataclass(frozen=True, slots=True)
class ReadyRow:
    """One paddock for one mob: each limit's date, and which limit is the later one.

    ``later`` is the limit that is waited for longest; "" where every limit is ready now. ``figures`` are the
    days to wait, a limit each. [d]
    """

    paddock: str
    name: str
    dates: tuple[tuple[str, datetime | None], ...]
    later: str
    words: str
    figures: tuple[Figure, ...] = ()


def ready_dates(scene: Scene, mob: MobState) -> tuple[ReadyRow, ...]:
    """Return every paddock that the mob does not stand in, in the order of the farm."""
    return tuple(_row(scene, mob, p) for p in scene.paddocks if p != mob.place)


def _row(scene: Scene, mob: MobState, paddock: str) -> ReadyRow:
    dates = tuple(ready(scene, mob.id, paddock))
    waits = [r for r in dates if _waits(scene, r)]
    found = scene.paddock(paddock)
    days = {r.limit: _wait(scene, r) for r in waits if r.moment is not None}
    ended = [say("chain.ready.now", limit=_name(r)) for r in reversed(dates) if r not in waits]
    coming = [_not_until(scene, r, days.get(r.limit)) for r in reversed(waits)]
    return ReadyRow(
        paddock,
        found.name if found is not None else paddock,
        tuple((r.limit, r.moment.likely if r.moment is not None else None) for r in dates),
        waits[0].limit if waits else "",
        list_words([*ended, *coming]),
        tuple(days.values()),
    )


def _wait(scene: Scene, one: Ready) -> Figure:
    """Return the days to wait by one limit, with the limit's own figures behind them. [d]"""
    moment = one.moment or Moment.at(scene.now)
    low, likely, high = (
        max((at - scene.now) / timedelta(days=1), 0.0)
        for at in (moment.earliest, moment.likely, moment.latest)
    )
    origins = () if one.figures else (RECORD,)
    return Figure("ready_in", likely, "d", low, high, origins, one.because, one.figures, about=one.limit)


def _waits(scene: Scene, one: Ready) -> bool:
    return one.moment is None or one.moment.likely > scene.now


def _name(one: Ready) -> str:
    return say(f"limits.{one.limit}.name")


def _not_until(scene: Scene, one: Ready, wait: Figure | None) -> str:
    if one.moment is None or wait is None:
        return say("chain.ready.not_known", limit=_name(one))
    day = linked(day_words(scene.local(one.moment.likely).date()), wait)
    return say("chain.ready.not_until", limit=_name(one), day=day)
