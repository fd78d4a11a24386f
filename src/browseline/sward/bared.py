"""Ground that a look found bare since the newest height: only what is not bare still stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from browseline.farm.records import Paddock
from browseline.figures import Figure, typed
from browseline.record.state import GroundLook, HeightRead, State
from browseline.sward.clock import day_number
from browseline.sward.start import Start

Array = NDArray[np.float64]


def bare_since(state: State, paddock: Paddock, read: HeightRead | None) -> tuple[GroundLook, float] | None:
    """Return the newest look at bare ground since a height, and the share of the herbage that it leaves. [1]

    What was bare before the height is in the height already, so only what became bare since then is taken
    off. None where nobody looked since, where there is no height, or where no more is bare than then.

    References
    ----------
    derived_here: bare ground bears no herbage, the rest stands as it did
    """
    looks = sorted(
        (look for look in state.ground if look.paddock in (paddock.id, *paddock.parents) and look.bare),
        key=lambda look: (look.at.end, look.event),
    )
    if read is None or not looks or looks[-1].at.end <= read.at.end:
        return None
    before = [_covered(look) for look in looks if look.at.end <= read.at.end]
    left = _covered(looks[-1]) / before[-1] if before and before[-1] > 0 else _covered(looks[-1])
    return (looks[-1], left) if left < 1 else None


def bare_figure(state: State, paddock: Paddock, read: HeightRead | None, zone: ZoneInfo) -> Figure | None:
    """Return the bare share that was taken off what a height told; None where nothing was. [%]"""
    found = bare_since(state, paddock, read)
    if found is None or found[0].bare is None:
        return None
    look, bare = found[0], found[0].bare
    seen = look.at.end.astimezone(zone).date()
    return typed("bare", bare.to("%"), "%", bare.text, about=paddock.id, as_of=seen)


def _covered(look: GroundLook) -> float:
    """Return the share of the ground that is not bare. [1]"""
    return 1 - look.bare.to("1") if look.bare is not None else 1.0


def bared(
    state: State,
    paddocks: Sequence[Paddock],
    reads: Sequence[HeightRead | None],
    starts: Sequence[Start | None],
    history_kg_ha: Array,
    first: date,
    zone: ZoneInfo,
) -> list[Start | None]:
    """Return where each paddock starts anew: at its newest look at bare ground, with what that leaves.

    Parameters
    ----------
    history_kg_ha : array, shape (member, day + 1, paddock)
        What stood on each day by the heights alone. [kg DM/ha]
    """
    out = list(starts)
    for i, (paddock, read, start) in enumerate(zip(paddocks, reads, starts, strict=True)):
        found = bare_since(state, paddock, read)
        if found is None or start is None:
            continue
        at_d = day_number(found[0].at.end, first, zone)
        day = min(int(at_d), history_kg_ha.shape[1] - 2)
        stood = history_kg_ha[:, day, i] + (at_d - day) * np.diff(history_kg_ha[:, day : day + 2, i])[:, 0]
        out[i] = replace(start, mass_kg_ha=stood * found[1], at_d=at_d)
    return out


def joined_history(
    before: Array, after: Array, starts: Sequence[Start | None], anew: Sequence[Start | None]
) -> Array:
    """Return the history by the heights up to each look at bare ground, and from then on what that left."""
    out = after.copy()
    for i, (old, new) in enumerate(zip(starts, anew, strict=True)):
        if new is not None and new is not old:
            day = int(new.at_d) + 1
            out[:, :day, i] = before[:, :day, i]
    return out
