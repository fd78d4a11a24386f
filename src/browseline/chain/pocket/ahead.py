"""The same farm some hours on, or with another height read: the scenes behind a phone's table.

Nothing here knows a limit. A later scene is the farm folded at that hour if nobody does anything; a scene
with heights is the farm at that hour after somebody read every paddock so high.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import cast

from browseline import sward
from browseline.chain.look import Picture
from browseline.events import When
from browseline.limits import Scene
from browseline.record.fold import fold_each
from browseline.record.state import HeightRead, MobState, State
from browseline.units import parse

DAYS = 14
COMING_D = (0, 1, 2, 3, 4, 5, 6, 8, 10, 12, DAYS)
"""Days of coming that are worked out: every one of the first week, then every other."""
HEIGHT_AT_D = (0, DAYS)
"""Days from now at which the answers to a height are worked out; between them the phone looks in between."""
SHARES = (0.5, 1.0, 1.25, 1.6, 2.2, 3.2, 5.0)
"""Heights that are worked out, as shares of the height to leave; below it the answer is 'now'."""
_BEYOND_D = 30
Taught = dict[str, tuple[float, float]]
"""Fertility of each paddock as the farm taught it: mean and standard error. [1]"""


@dataclass(frozen=True)
class Ahead:
    """What the later scenes of one picture share: what weather makes of the days, what the farm taught."""

    picture: Picture
    growing: sward.Growing | None
    taught: Taught

    @classmethod
    def of(cls, picture: Picture) -> Ahead:
        """Return what the later scenes of a picture share: the picture has it from its own making."""
        memo = picture.scene.memo
        return cls(picture, cast("sward.Growing | None", memo["growing"]), cast("Taught", memo["taught"]))

    def states(self) -> tuple[State, ...]:
        """Return the farm at this hour on each day of ``COMING_D``, if nobody does anything."""
        instants = [self.picture.now + timedelta(days=d) for d in COMING_D]
        return fold_each(self.picture.farm, self.picture.events, instants)

    def scene(self, state: State) -> Scene:
        """Return the scene of a state, at its own hour."""
        farm, now = self.picture.farm, state.at
        herbage = sward.grow(
            farm, state, now, self.growing, horizon_d=_BEYOND_D,
            members=self.picture.scene.herbage.members, fertility=self.taught,
        )  # fmt: skip
        first = now.astimezone(self.picture.scene.zone).date()
        days = tuple(first + timedelta(days=d) for d in range(_BEYOND_D))
        return replace(
            self.picture.scene, state=state, herbage=herbage, now=now, days=days, mobs=state.living(), memo={}
        )

    def with_heights(self, state: State, knot: int) -> Scene:
        """Return the scene after every paddock was read at one of its ``heights_cm``, just now."""
        read = tuple(
            HeightRead(paddock, When.at(state.at), parse(f"{heights[knot]:.2f} cm", "length"))
            for paddock, heights in heights_cm(self.picture.scene).items()
        )
        return self.scene(replace(state, heights=(*state.heights, *read)))


def heights_cm(scene: Scene) -> dict[str, tuple[float, ...]]:
    """Return the heights that are worked out for each paddock. [cm]"""
    herbage = scene.herbage
    return {
        paddock: tuple(round((numbers.leave_at.value or 10.0) * share, 1) for share in SHARES)
        for paddock, numbers in zip(herbage.paddocks, herbage.numbers, strict=True)
    }


def lifted(scene: Scene, mob: MobState) -> Scene:
    """Return the scene with a mob taken off the ground, to ask what it meets where it would come anew."""
    off = replace(mob, place=None, since=None)
    state = replace(scene.state, mobs=tuple(off if m.id == mob.id else m for m in scene.state.mobs))
    mobs = tuple(off if m.id == mob.id else m for m in scene.mobs)
    return replace(scene, state=state, mobs=mobs, memo={})


def hour_of(instant: datetime, start: datetime) -> int:
    """Return the minutes from a start to an instant, rounded. [min]"""
    return round((instant - start) / timedelta(minutes=1))
