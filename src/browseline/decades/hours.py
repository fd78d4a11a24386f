"""Hours of work in the years ahead: the farm's own figure, else hours a livestock unit by the table."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.decades.beast_air import share_of_year
from browseline.decades.form import FeedAhead, Yield
from browseline.farm.future import PlannedWork
from browseline.farm.names import words
from browseline.farm.records import Farm

Array = npt.NDArray[np.float64]


def hours_ahead(
    farm: Farm, feed: FeedAhead, yields: Sequence[Yield], wood: Sequence[Yield], works: Sequence[PlannedWork]
) -> Array:
    """Return the hours of work by year and member, shape (year, member). [h]

    Hours that the farm typed for its plan stand for all work and go first. Else stock alone are counted,
    grown animals by their livestock units: the table knows no hours of picking, thinning or pruning
    (``not_counted`` names what is left out). To those come hours of making own hay by the area cut, where the
    farm typed them.
    """
    shape = feed.head.shape[:2]
    if farm.money is not None and farm.money.own_hours is not None:
        return np.full(shape, farm.money.own_hours.to("h"))
    out = np.zeros(shape)
    for column, (mob, kind, klass) in enumerate(feed.classes):
        if kind in known() and not is_young(kind, klass):
            unit = tables.row("labour", "unit_share", kind).middle() * share_of_year(farm, mob)
            out += feed.head[:, :, column] * unit * tables.row("labour", "hours_a_unit", kind).middle()
    making = farm.rules.hay_hours
    if making is not None and feed.own is not None:
        out += feed.own.cut_ha * making.to("h/ha")
    return out


def known() -> tuple[str, ...]:
    """Return the kinds whose hours the table knows."""
    return tables.applies("labour", "hours_a_unit")


def is_young(kind: str, klass: str) -> bool:
    """Return whether a class is young stock by its name: its hours are those of its mothers."""
    return any(word in klass.casefold() for word in words("young", kind))


def not_counted(
    farm: Farm, feed: FeedAhead, yields: Sequence[Yield], wood: Sequence[Yield], works: Sequence[PlannedWork]
) -> tuple[str, ...]:
    """Return what takes hours that nobody knows: kinds, *harvest*, *wood*, *trees*; nothing if typed."""
    if farm.money is not None and farm.money.own_hours is not None:
        return ()
    kinds = [kind for _, kind, _ in feed.classes if kind not in known()]
    harvest = ["harvest"] if any(y.amount.any() for y in yields) else []
    cut = ["wood"] if any(w.amount.any() for w in wood) else []
    return tuple(dict.fromkeys([*kinds, *harvest, *cut, *(["trees"] if works else [])]))
