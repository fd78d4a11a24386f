"""Stays that go past a longest stay, at what cost and why; and what stands in the way of a longer one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from browseline.figures import Figure, money_words
from browseline.limits import Scene
from browseline.moves.form import Plan, Yardstick
from browseline.moves.judge import spread
from browseline.moves.replan import place_words
from browseline.words import linked, say

HALF_USD = 0.5


class Asked(Protocol):
    """A plan that can be asked about single stays: ``moves.explain.Explainer``."""

    @property
    def scene(self) -> Scene:
        """Return the scene that is planned."""
        ...

    @property
    def yardstick(self) -> Yardstick:
        """Return what plans are measured by."""
        ...

    @property
    def plan(self) -> Plan:
        """Return the plan, shape (mob, day)."""
        ...

    def day(self, d: int) -> str:
        """Return the day of the plan in words."""
        ...

    def soonest(self, m: int, a: int, b: int) -> tuple[int, int, NDArray[np.float64]] | None:
        """Return from when a mob can be at the best other place, and what it costs more; None if never."""
        ...

    def with_stay(self, m: int, a: int, b: int, place: int) -> Plan:
        """Return the plan with some days of a mob spent at another place."""
        ...

    def less(self, key: str, other: Plan, a: int, more: Figure, **fields: str) -> str:
        """Return that another plan is cheaper to the letter, and what that is worth."""
        ...


@dataclass(frozen=True, slots=True)
class Past:
    """A longest stay that a stay goes past: the limit's number and name, the stay, the days past it. [d]"""

    row: int
    limit: str
    longest_d: float
    past_d: float


def passed(yardstick: Yardstick, plan: Plan, m: int, a: int, b: int) -> tuple[Past, ...]:
    """Return the longest stays that a stay goes past, the shortest first, in days of the plan."""
    bars, p = yardstick.bars, int(plan[m, a])
    if p >= yardstick.yard or bars.off[m, a]:
        return ()
    been = int(bars.been_d[m]) if a == 0 and p == bars.start[m] else 0
    found = []
    for f, name in enumerate(yardstick.names["stay"]):
        longest = float(bars.longest_d[f, m, p])
        past = min(been + b - a - longest, float(b - a))
        if past > 0:
            found.append(Past(f, name, longest, past))
    return tuple(sorted(found, key=lambda one: one.longest_d))


def past_words(asked: Asked, m: int, a: int, b: int) -> tuple[tuple[str, ...], tuple[Figure, ...]]:
    """Return by how much a stay goes past each longest stay and what that costs, and what leaving would.

    Leaving means going to the best other place for the rest of the stay as soon as the shortest of them is
    up and animals can be moved.
    """
    found = passed(asked.yardstick, asked.plan, m, a, b)
    if not found:
        return (), ()
    words, figures = [], []
    for one in found:
        said, cost = _by(asked.yardstick, f"{asked.yardstick.mobs[m]} {a}", one)
        words.append(said)
        figures.append(cost)
    for said, figure in _leaving(asked, m, a, b, found[0]):
        words.append(said)
        figures.append(figure)
    return tuple(words), tuple(figures)


def _by(yardstick: Yardstick, about: str, one: Past) -> tuple[str, Figure]:
    """Return by how much a stay goes past one longest stay and what that costs, in words and as a figure."""
    usd_d, about = float(yardstick.bars.over_usd_d[one.row]), f"{about} {one.limit}"
    limit = say(f"limits.{one.limit}.name")
    longest = Figure("clash_stay", one.longest_d, "d", about=about, formula=limit)
    stood = one.longest_d + one.past_d
    past = Figure("plan_over", one.past_d, "d", about=about, parts=(longest,),
                  formula=f"{stood:.3g} d − {one.longest_d:.3g} d")  # fmt: skip
    cost = Figure("plan_cost", one.past_d * usd_d, "USD", about=about, parts=(past, *yardstick.figures[1:2]),
                  formula=f"{one.past_d:.3g} d × {usd_d:.6g} USD/d")  # fmt: skip
    said = say("moves.past.by", days=linked(f"{one.past_d:.3g}", past), limit=limit,
               longest=linked(f"{one.longest_d:g}", longest),
               cost=money_words(cost))  # fmt: skip
    return said, cost


def _leaving(asked: Asked, m: int, a: int, b: int, first: Past) -> Iterator[tuple[str, Figure]]:
    """Yield what being elsewhere from the day on which the longest stay is up would cost more."""
    up = max(b - int(np.ceil(first.past_d)), int(asked.yardstick.bars.stuck_d[m]))
    found = asked.soonest(m, up, b)
    if found is None:
        return
    day, q, usd = found
    place = place_words(asked.scene, asked.yardstick, q)
    more = spread("plan_more", usd.sum(axis=1), "USD", about=f"{asked.yardstick.mobs[m]} {a} {place}")
    fields = {"place": place, "day": asked.day(day)}
    if (more.value or 0.0) < -HALF_USD:
        yield asked.less("moves.past", asked.with_stay(m, day, b, q), day, more, **fields), more
    else:
        how = "level" if (more.value or 0.0) < HALF_USD else "leave"
        yield say(f"moves.past.{how}", cost=money_words(more), **fields), more


# ---------------------------------------------------------------- what stands in the way


def in_the_way(asked: Asked, m: int, p: int, b: int, until: int) -> str:
    """Return why a stay cannot go on until a day: who is to come there, or moves that others make then."""
    yardstick, plan = asked.yardstick, asked.plan
    for i, mob in enumerate(yardstick.mobs):
        arrival = _comes(yardstick, plan, m, i, p, b, until)
        if arrival is not None:
            who = asked.scene.state.mob(mob)
            behind = int(yardstick.bars.leader[i]) == m
            key = "moves.end.followed" if behind else "moves.end.taken"
            return say(key, mob=who.name if who else mob, day=asked.day(arrival))
    if until < plan.shape[1] and _arrivals(yardstick, plan, until, m) >= yardstick.bars.arrivals[until]:
        return say("moves.end.hands", day=asked.day(until))
    return say("moves.end.barred", day=asked.day(b))


def _comes(yardstick: Yardstick, plan: Plan, m: int, i: int, p: int, b: int, until: int) -> int | None:
    """Return the day on which another mob comes to a paddock too soon for one that stays until a day."""
    if i == m or yardstick.bars.together[m, i]:
        return None
    gap = yardstick.bars.follow_d[i, 0] if yardstick.bars.leader[i] == m else 0.0
    last = min(until + int(np.ceil(gap)), plan.shape[1])
    days = np.flatnonzero(plan[i, b:last] == p)
    return b + int(days[0]) if len(days) else None


def _arrivals(yardstick: Yardstick, plan: Plan, day: int, without: int) -> int:
    """Return how many other mobs arrive somewhere on a day."""
    return sum(int(plan[i, day] != plan[i, day - 1]) for i in range(len(plan)) if i != without)
