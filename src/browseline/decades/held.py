"""Ground that promises keep from stock every year: for hay that is cut, for grass that is kept for winter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
import numpy.typing as npt

from browseline.canopy.light import MONTH_LENGTH
from browseline.farm.own_hay import not_said
from browseline.farm.records import Farm, Paddock, Promise

Array = npt.NDArray[np.float64]
Kind = Literal["hay", "stockpile"]
YEAR_D, PLAIN_YEAR = 365, 2025


@dataclass(frozen=True, eq=False)
class Held:
    """Ground that one promise keeps from stock, alike in every year.

    ``share`` (paddock, month) is the part of a month's days for which it does; ``ends`` the month of its last
    day, from 0, ``open_frac`` what is left of that month after it; ``begins`` the month of its first day.
    """

    kind: Kind
    what: str
    paddocks: tuple[str, ...]
    share: Array
    begins: int
    ends: int
    open_frac: float

    @property
    def ground(self) -> npt.NDArray[np.bool_]:
        """Return which paddocks it keeps at all, shape (paddock,)."""
        return np.asarray((self.share > 0).any(axis=1))


def held_ground(farm: Farm) -> tuple[Held, ...]:
    """Return the ground that promises keep for hay and for winter; they come round every year.

    Ground for hay counts only where the farm says how it makes hay. Where one paddock is promised in several
    years, those of the last year stand for all.
    """
    kinds: tuple[Kind, ...] = ("stockpile",) if not_said(farm.rules) else ("hay", "stockpile")
    taken = np.zeros((len(farm.paddocks), 12))
    made = []
    for kind in kinds:
        for promise in promised(farm, kind):
            held = _held(farm.paddocks, promise, kind, _last(farm, kind), taken)
            if held is not None:
                made.append(held)
                taken = taken + held.share
    return tuple(made)


def promised(farm: Farm, kind: Kind) -> tuple[Promise, ...]:
    """Return the promises of a kind that name ground, in the order of their days."""
    own = [p for p in farm.promises if p.kind == kind and p.paddocks and p.from_day < p.to_day]
    return tuple(sorted(own, key=lambda p: (p.from_day, p.to_day, p.id)))


def _last(farm: Farm, kind: Kind) -> dict[str, int]:
    """Return the last year in which each paddock is promised."""
    return {
        paddock.id: promise.from_day.year
        for promise in promised(farm, kind) for paddock in farm.paddocks if _names(promise, paddock)
    }  # fmt: skip


def _names(promise: Promise, paddock: Paddock) -> bool:
    return any(place in promise.paddocks for place in (paddock.id, *paddock.parents))


def _held(
    paddocks: Sequence[Paddock], promise: Promise, kind: Kind, last: dict[str, int], taken: Array
) -> Held | None:
    months = _months(promise.from_day, promise.to_day)
    own = [_names(promise, p) and last[p.id] == promise.from_day.year for p in paddocks]
    share = np.minimum(months[None, :], 1 - taken) * np.array(own, dtype=np.float64)[:, None]
    if not share.any():
        return None
    day = promise.to_day - timedelta(days=1)
    length = int(MONTH_LENGTH[day.month - 1])
    names = tuple(p.name for p, kept in zip(paddocks, own, strict=True) if kept)
    return Held(
        kind, promise.what, names, share, promise.from_day.month - 1, day.month - 1,
        1 - min(day.day, length) / length,
    )  # fmt: skip


def _months(first: date, end: date) -> Array:
    """Return the part of each month that lies between two days, whatever the year. [1]"""
    if (end - first).days >= YEAR_D:
        return np.ones(12)
    day = np.arange(YEAR_D)
    a, b = _place(first), _place(end)
    inside = (day >= a) & (day < b) if a < b else (day >= a) | (day < b)
    month = np.repeat(np.arange(12), MONTH_LENGTH)
    return np.bincount(month, weights=inside, minlength=12) / np.asarray(MONTH_LENGTH, dtype=np.float64)


def _place(day: date) -> int:
    plain = day.replace(year=PLAIN_YEAR, day=min(day.day, 28) if day.month == 2 else day.day)
    return (plain - date(PLAIN_YEAR, 1, 1)).days
