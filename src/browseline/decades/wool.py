"""Wool of the stock carried, by what the farm typed for a head of a class: no table knows it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from browseline.decades.form import FeedAhead
from browseline.farm.records import Farm, Line
from browseline.figures import Figure, typed
from browseline.record.state import State

Array = npt.NDArray[np.float64]
SHORN, KG = "sheep", "kg"


def wool_ahead(farm: Farm, state: State, feed: FeedAhead) -> Array:
    """Return the greasy wool of a year by class: head carried times what was typed; 0 where nothing was.

    Returns
    -------
    array, shape (year, member, class)
        [kg]
    """
    lines = [typed_line(farm, state, *own) for own in feed.classes]
    each = [line.wool.to(KG) if line is not None and line.wool is not None else 0.0 for line in lines]
    return np.asarray(feed.head * np.array(each))


def typed_line(farm: Farm, state: State, mob: str, kind: str, klass: str) -> Line | None:
    """Return the line of the farm's file that types a class's wool: of its mob, else of any."""
    living = next((one for one in state.living() if one.id == mob), None)
    own = (mob, *(living.parents if living is not None else ()))
    found = [
        (m.id not in own, line) for m in farm.mobs for line in m.lines
        if (line.kind, line.klass.casefold()) == (kind, klass.casefold()) and line.wool is not None
    ]  # fmt: skip
    return min(found, key=lambda pair: pair[0])[1] if found else None


def each_of(line: Line) -> Figure | None:
    """Return the wool of a head in a year as it is typed; None where nothing is. [kg]"""
    if line.wool is None:
        return None
    return typed("wool_each", line.wool.to(KG), KG, line.wool.text, about=f"{line.kind} {line.klass}")


def not_typed(farm: Farm, state: State, feed: FeedAhead) -> Iterator[str]:
    """Yield the classes of sheep whose wool nobody typed, each once."""
    classes = dict.fromkeys(own for own in feed.classes if own[1] == SHORN)
    yield from dict.fromkeys(own[2] for own in classes if typed_line(farm, state, *own) is None)
