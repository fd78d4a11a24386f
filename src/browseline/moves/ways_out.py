"""Ways out of what makes a plan dear: elsewhere, hay in the yard, a look, a net, fewer head; each priced."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from browseline.farm.records import Job
from browseline.figures import Figure
from browseline.limits import Scene
from browseline.limits._jobs import newest_reading, open_job
from browseline.moves.explain import HALF, SOME, SOONEST, Explainer
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.halved import halved, on_halves
from browseline.moves.judge import judge, some_members, spread
from browseline.moves.kernel import TERMS
from browseline.moves.propose import Keeping, polished
from browseline.moves.replan import most_changes, place_words
from browseline.moves.what_if import SEEDS
from browseline.moves.what_if_cases import fewer_head, largest
from browseline.units import amount_words
from browseline.words import linked, say

Array = NDArray[np.float64]
QUARTER = 0.25
"""Share of a mob that fewer head leaves out. [1]"""
TRIES, SEARCHES = 600, 8
"""Small changes of a short search, and how many such searches a plan made again has time for: on larger farms
what-if prices those ways. [1]"""


def told_usd(figure: Figure) -> str:
    """Return a sum without its sign, as a number that opens. [USD]"""
    return linked(amount_words(abs(figure.value or 0.0), figure.unit), figure)


class WaysOut:
    """The ways out of one plan. What moves a stay is judged over all members, all else of the plan as it is.

    A net and fewer head take short searches, made where there is time for them, and are told once; what they
    save is told where it is more than luck moves the plan.
    """

    def __init__(self, asked: Explainer) -> None:
        self._asked = asked
        self._told: set[str] = set()

    def mob(self, m: int) -> str:
        """Return the name of a mob."""
        who = self._asked.scene.state.mob(self._asked.yardstick.mobs[m])
        return who.name if who else self._asked.yardstick.mobs[m]

    def place(self, p: int) -> str:
        """Return the name of a place."""
        return place_words(self._asked.scene, self._asked.yardstick, p)

    # ------------------------------------------------------------ a stay moved

    def go(self, m: int, a: int, b: int) -> Iterator[str]:
        """Yield the best other place from the first of some days on, and what it would cost."""
        found = self._asked.soonest(m, a, b)
        if found is None:
            yield say("moves.way.go.none", first=self._asked.day(a), last=self._asked.day(b))
        elif found[1] != self._asked.yardstick.yard:
            yield self._moved("go", m, found[1], (found[0], b), found[2])

    def opened(self, m: int, a: int, b: int) -> Iterator[str]:
        """Yield that ground may be opened, where a limit shuts some paddock to a mob on some of the days."""
        shut = (face.closed[m, a:b] for face in self._asked.yardstick.faces if face.closed is not None)
        if any(days.any() for days in shut):
            yield say("moves.way.open")

    def feed(self, m: int, a: int, b: int) -> Iterator[str]:
        """Yield what the yard and hay instead would cost from the first of some days on."""
        yard, can_move = self._asked.yardstick.yard, self._asked.yardstick.bars.can_move
        for day in [d for d in range(a, b) if can_move[d]][:SOONEST]:
            other = self._asked.with_stay(m, day, b, yard)
            more = self._asked.more(m, other, {int(self._asked.plan[m, day])})
            more = self._asked.really(other, (m, day, b), more)
            if more is not None:
                yield self._moved("feed", m, yard, (day, b), more)
                return

    def _moved(self, way: str, m: int, place: int, days: tuple[int, int], more: Array) -> str:
        about = f"{self._asked.yardstick.mobs[m]} {days[0]} {way} {self.place(place)}"
        usd = spread("plan_more", more.sum(axis=1), "USD", about=about)
        value = usd.value or 0.0
        how = "level" if abs(value) < HALF else "dearer" if value > 0 else "cheaper"
        why = say(f"moves.lost.{TERMS[int(np.argmax(more.mean(axis=0)))]}")
        first, last = (self._asked.day(d) for d in days)
        return say(f"moves.way.{way}.{how}", mob=self.mob(m), place=self.place(place), cost=told_usd(usd),
                   first=first, last=last, why=why)  # fmt: skip

    def look(self, m: int, a: int, place: int) -> Iterator[str]:
        """Yield that a look would tell when a job is done, where nobody has looked since it began."""
        bars, scene = self._asked.yardstick.bars, self._asked.scene
        if bars.job[m, a] < 0 or bars.job[m, a] != bars.alike[place]:
            return
        job = open_job(scene, self._asked.yardstick.mobs[m], self._asked.yardstick.days[a])
        if job is not None and job.target is not None and newest_reading(scene, job) is None:
            yield say("moves.way.look", job=job.name, command=_command(scene, job))

    # ------------------------------------------------------------ what takes a search

    def fewer(self, mob: int | None = None) -> Iterator[str]:
        """Yield what a quarter fewer head of a mob, or of the one that eats most, would save."""
        m = int(np.argmax(self._asked.yardstick.bars.demand_kg_d.sum(axis=0))) if mob is None else mob
        case = fewer_head(self._asked.yardstick, m, 1 - QUARTER)
        about = f"{self._asked.yardstick.mobs[m]} fewer"
        yield from self._once("fewer", about, case, self._asked.plan, mob=self.mob(m))

    def net(self, place: int | None = None, days: tuple[int, int] = (0, 0)) -> Iterator[str]:
        """Yield what a net through a paddock, or through the largest that is open then, would save."""
        yardstick = self._asked.yardstick
        p = largest(yardstick, yardstick.bars.open_[:, slice(*days)]) if place is None else place
        if p is not None and p != yardstick.yard:
            begin, about = on_halves(self._asked.plan, p, yardstick), f"{yardstick.paddocks[p]} net"
            yield from self._once("split", about, halved(yardstick, p), begin, paddock=self.place(p))

    def _once(self, way: str, about: str, case: Yardstick, begin: Plan, **fields: str) -> Iterator[str]:
        if about in self._told or most_changes(self._asked.yardstick) < SEARCHES * TRIES:
            return
        self._told.add(about)
        yield self._saved(way, about, case, begin, fields)

    def _saved(self, way: str, about: str, case: Yardstick, begin: Plan, fields: dict[str, str]) -> str:
        now, found = self._now[0], self._runs(case, begin)[0]
        usd = spread("plan_worth", now.total_usd - found.total_usd, "USD", about=about)
        usd = replace(usd, formula=f"{now.mean_usd:.2f} − {found.mean_usd:.2f}")
        luck = self._now[-1].mean_usd - now.mean_usd
        how = way if (usd.value or 0.0) > max(luck, HALF) else f"{way}_level"
        return say(f"moves.way.{how}", cost=told_usd(usd), **fields)

    @cached_property
    def _now(self) -> list[Verdict]:
        """Return what short searches from the plan give as it is, the cheapest first."""
        return self._runs(self._asked.yardstick, self._asked.plan)

    def _runs(self, yardstick: Yardstick, begin: Plan) -> list[Verdict]:
        """Return the verdicts over all members on plans of short searches over some, the cheapest first."""
        few = replace(yardstick, whole=some_members(yardstick.whole, SOME))
        none, first = Keeping.nothing(yardstick), judge(yardstick, begin)
        seeds = range(self._asked.scene.farm.seed, self._asked.scene.farm.seed + SEEDS) if first.kept else ()
        found = [judge(yardstick, polished(begin, few, none, TRIES, seed)) for seed in seeds]
        return sorted((min(one, first, key=_usd) for one in found or (first,)), key=_usd)


def _usd(verdict: Verdict) -> float:
    return verdict.mean_usd if verdict.kept else np.inf


def _command(scene: Scene, job: Job) -> str:
    """Return the command that enters a look at a job: leaf left, bare ground or the height of the grass."""
    found = scene.paddock(job.paddock)
    name = found.name if found is not None else job.paddock
    kind = job.kind if job.kind in ("brush", "turn") else "height"
    return say(f"moves.command.{kind}", place=f'"{name}"' if " " in name else name)
