"""Designs under the assumptions of the first, each with its years ahead, and what they are ordered by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

import numpy as np
import numpy.typing as npt

from browseline.chain import Picture, look, picture
from browseline.chain.look import MEMBERS as LOOK_MEMBERS
from browseline.chain.tree_shade import terrain_of
from browseline.chain.years_ahead import ahead_of
from browseline.decades import Projection
from browseline.decades.start import Start
from browseline.errors import BadInput, finding
from browseline.farm.records import Farm
from browseline.record.fold import fold
from browseline.trials.as_planted import planted_start
from browseline.trials.cash import cash_of
from browseline.trials.designs import Design, locked
from browseline.trials.land_uses import food_of, money_of
from browseline.trials.outcome import Measure, measures_of

Array = npt.NDArray[np.float64]
Change = Callable[[Farm], Farm]
By = Literal["worth", "feed", "carbon", "hours"]
BY: dict[By, tuple[str, str, bool]] = {
    "worth": ("money", "worth_today", True), "feed": ("feed", "feed_grown", True),
    "carbon": ("carbon", "carbon_stock", True), "hours": ("work", "work_hours", False),
}  # fmt: skip
"""What designs may be put in order by: group, measure, and whether more is better."""


@dataclass(frozen=True, eq=False)
class Land:
    """One design as it is compared: its start under the common assumptions, and its years ahead.

    ``planted`` are the plantings that its file only plans and that stand here from their year on.
    """

    design: Design
    start: Start
    ground: object
    ahead: Projection
    planted: frozenset[str] = frozenset()

    def measures(self, farm: Farm | None = None, ahead: Projection | None = None) -> tuple[Measure, ...]:
        """Return what the design gives, as it is compared or with another farm and years ahead."""
        own, made = farm or self.start.farm, ahead or self.ahead
        names = {p.id: p.name for p in own.plantings}
        return (
            *measures_of(made, names),
            *food_of(own, made),
            *money_of(own, cash_of(own, made, made.members)),
        )


def lands_of(designs: Sequence[Design], now: datetime, years: int | None, members: int) -> tuple[Land, ...]:
    """Return every design under the assumptions of the first."""
    looks = [look(design.folder, now) for design in designs]
    first = looks[0].farm
    span = years if years is not None else first.future.years
    made = []
    for design, seen in zip(designs, looks, strict=True):
        start = planted_start(seen if seen is looks[0] else _under(seen, first))
        ground = terrain_of(design.folder)
        planted = frozenset(p.id for p in start.farm.plantings) & {p.id for p in seen.farm.planned}
        made.append(Land(design, start, ground, ahead_of(start, ground, span, members), planted))
    return tuple(made)


def _under(seen: Picture, first: Farm) -> Picture:
    """Return a design seen under the first one's assumptions."""
    farm = locked(seen.farm, first)
    if farm == seen.farm:
        return seen
    state = fold(farm, seen.events, seen.now)
    return picture(seen.folder, farm, seen.events, state, seen.now, LOOK_MEMBERS, len(seen.scene.days))


# ---------------------------------------------------------------- the order


def value_of(measures: Sequence[Measure], by: By) -> Array | None:
    """Return what designs are ordered by, more is better, shape (member,); None where it is not known."""
    group, name, more = BY[by]
    mine = [m.by_member for m in measures if (m.group, m.name) == (group, name) and not m.unknown]
    if not mine:
        return None
    return np.asarray(np.sum(mine, axis=0) * (1 if more else -1))


def chosen(lands: Sequence[Land], by: By | None) -> By:
    """Return what designs are ordered by: as said, else what they are worth today, else their feed.

    Where they are worth the same in every future, they are told apart by their feed.
    """
    if by is not None:
        return by
    worth = [value_of(land.measures(), "worth") for land in lands]
    return "worth" if all(one is not None for one in worth) and not alike(worth) else "feed"


def alike(values: Sequence[Array | None]) -> bool:
    """Return whether what designs are ordered by is known and the same in all, future by future."""
    known = [v for v in values if v is not None]
    return len(known) == len(values) and all(np.allclose(v, known[0], rtol=1e-12, atol=0.0) for v in known)


def first_of(values: Sequence[Array | None]) -> int | None:
    """Return the design with the best mean; None where one is not known.

    By the mean, what all designs have alike cancels; by the middle of each it might not.
    """
    known = [float(np.mean(v)) for v in values if v is not None]
    return int(np.argmax(known)) if len(known) == len(values) else None


def values_of(
    lands: Sequence[Land], by: By, change: Change | None = None, needs: str = ""
) -> list[Array | None]:
    """Return what each design is ordered by, with a change in all; what it needs is worked out anew."""
    found = []
    for land in lands:
        farm = change(land.start.farm) if change is not None else land.start.farm
        ahead = land.ahead
        if needs == "decades":
            years, members = len(ahead.years) - 1, len(ahead.members)
            ahead = ahead_of(replace(land.start, farm=farm), land.ground, years, members)
        found.append(value_of(land.measures(farm, ahead), by))
    return found


def by_of(text: str) -> By | None:
    """Return what to order by; None where nothing is said.

    Raises
    ------
    BadInput
        If it is none of what designs may be ordered by.
    """
    if not text:
        return None
    found = next((own for own in BY if own == text), None)
    if found is None:
        raise BadInput([finding("trials.by", text, known=", ".join(BY))])
    return found
