"""Hay cuts as part of a plan: which paddock is skipped and cut, when, and what that saves by the judge.

A cut is proposed only where the farm says what making hay costs, what is lost in the field and for how long
the ground is taken. It shuts its paddock from the last stay before it until the hay is off.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from browseline.limits import Scene
from browseline.moves.differs import again_usd
from browseline.moves.form import Cut, Plan, Verdict, Yardstick
from browseline.moves.hay_rules import Making, fit_days, left_kg_ha, making
from browseline.moves.judge import judge, some_members
from browseline.moves.kernel import Field
from browseline.moves.propose import FEW, Keeping, polished

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
DAYS_LOOKED, LOOKED, GIVEN_UP, TRIED, TURNS = 6, 60, 12, 2, 4
"""Days looked at of each stretch nobody grazes, cuts judged over a few members, stays that may be given up
(where most stands), cuts searched around, and turns of cuts and changes. [1]"""
ROUNDS_D = 6_000
"""Paddocks times days for each stay that may be given up for a cut. [d]"""
WEEK_D = 7
LEAST_USD = 0.5
"""What a cut must save by the judge to be kept. [USD]"""


def with_cuts(yardstick: Yardstick, cuts: Sequence[Cut]) -> Yardstick:
    """Return a yardstick on which paddocks are shut for their cuts, and cut on their days."""
    to, open_ = yardstick.whole.days.cut_to_kg_ha.copy(), yardstick.bars.open_.copy()
    for cut in cuts:
        to[cut.day, cut.paddock] = cut.to_kg_ha
        open_[:, cut.shut_from : cut.clear, cut.paddock] = False
    whole = yardstick.whole._replace(days=yardstick.whole.days._replace(cut_to_kg_ha=to))
    bars = yardstick.bars._replace(open_=open_)
    return replace(yardstick, bars=bars, whole=whole, cuts=(*yardstick.cuts, *cuts))


@dataclass(frozen=True)
class Made:
    """A plan with its cuts: the yardstick with them, what the judge says, and what the hay is worth.

    ``worth_usd`` is the hay at its price less what the cuts cost, shape (member,). [USD]
    """

    yardstick: Yardstick
    plan: Plan
    verdict: Verdict
    worth_usd: Array

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """Return the cuts in order of days."""
        return self.yardstick.cuts

    @property
    def usd(self) -> Array:
        """Return what the plan costs less what its hay is worth, shape (member,). [USD]"""
        return np.asarray(self.verdict.total_usd - self.worth_usd)


@dataclass(frozen=True)
class Cutter:
    """A season in which hay may be made: what all searches for cuts look at.

    Attributes
    ----------
    to_kg_ha : array, shape (paddock,)
        Herbage that a cut leaves. [kg DM/ha]
    fit : bool array, shape (day, paddock)
        Whether a paddock may be cut on a day.
    tries : int
        Small changes around each cut; with none the plan stays as it is. [1]
    """

    yardstick: Yardstick
    held: Keeping
    how: Making
    to_kg_ha: Array
    fit: Bools
    seed: int
    tries: int

    def kg(self, verdict: Verdict, cut: Cut) -> Array:
        """Return the hay of a cut as dry matter after what is lost in the field, shape (member,). [kg]"""
        above = np.maximum(verdict.mass_kg_ha[:, cut.day, cut.paddock] - cut.to_kg_ha, 0.0)
        return np.asarray(above * self._ha(cut.paddock) * self.how.kept)

    def _ha(self, p: int) -> float:
        return float(self.yardstick.whole.land.area_ha[p])

    def pass_usd(self, cut: Cut) -> float:
        """Return what making the hay of a cut costs. [USD]"""
        return self.how.usd_ha * self._ha(cut.paddock)

    def made(
        self, plan: Plan, cuts: Sequence[Cut], members: Field | None = None, near: Made | None = None
    ) -> Made | None:
        """Return a plan with some cuts as the judge sees it; None where a hard limit is broken.

        Nor where more is cut on a day than the farm can.

        Parameters
        ----------
        members : Field, optional
            The members to judge over; all of them if left out.
        near : Made, optional
            The same plan with other cuts over the same members: then only paddocks whose cuts differ are run.
        """
        if not self._in_time(cuts):
            return None
        on = with_cuts(self.yardstick, cuts)
        if near is not None:
            verdict = _judged_near(near, on, members)
        else:
            verdict = judge(on, plan, _cut(members, on) if members else None)
        price = float(self.yardstick.bars.prices_usd[0])
        worth = np.zeros(verdict.usd.shape[0])
        for cut in cuts:
            worth += self.kg(verdict, cut) * price - self.pass_usd(cut)
        made = Made(on, plan, verdict, worth)
        return made if verdict.kept and all(self._back(made, cut) for cut in cuts) else None

    def _in_time(self, cuts: Sequence[Cut]) -> bool:
        """Return whether no more is cut on any day than the farm can."""
        area = {day: sum(self._ha(c.paddock) for c in cuts if c.day == day) for day in {c.day for c in cuts}}
        return all(hectares <= self.how.most_ha_d + 1e-9 for hectares in area.values())

    def _back(self, made: Made, cut: Cut) -> bool:
        """Return whether a paddock that was cut stands at its start height again before the plan ends.

        A plan does not know who needs grass after its end: it must not sell that as hay.
        """
        after = made.verdict.mass_kg_ha[:, cut.clear :, cut.paddock].mean(axis=0)
        return bool(after.max() >= self.yardstick.whole.cover_kg_ha[cut.paddock])

    def barred(self, now: Made, cut: Cut) -> str:
        """Return why a cut cannot be added to a plan: too much for that day, or not back in time."""
        return "back" if self._in_time((*now.cuts, cut)) else "much"

    def bare(self, plan: Plan, verdict: Verdict) -> Made:
        """Return a plan without cuts."""
        return Made(self.yardstick, plan, verdict, np.zeros(verdict.usd.shape[0]))

    def best(self, plan: Plan, verdict: Verdict) -> tuple[Made, bool]:
        """Return a plan with the cuts that make it cheaper, and whether any cut was looked at.

        Cuts for which the plan leaves room and small changes to the stays in turn; then cuts for which a stay
        is given up, one by one, each against the plan without it that was changed as often.
        """
        now, looked = self.filled_up(self.bare(plan, verdict))
        for n in range(self._rounds()):
            found = self.given_up(now)
            looked |= bool(found)
            now, better = self._with_one_more(now, found[:TRIED], n)
            if not better:
                break
            now, _ = self.filled_up(now)
        return now, looked

    def _rounds(self) -> int:
        """Return how many stays may be given up: fewer where a plan is large, none where it stays."""
        most = ROUNDS_D // (max(self.yardstick.yard, 1) * len(self.yardstick.days))
        return min(max(most, 2), 8) if self.tries > 0 else 0

    def filled_up(self, now: Made) -> tuple[Made, bool]:
        """Return a plan with all cuts that pay and have room, turn by turn."""
        looked = False
        for _ in range(TURNS):
            found = self.choices(now)
            looked |= bool(found)
            now = min((m for m in (now, self._filled(now, found)) if m is not None), key=self.cost)
            if not found:
                break
        return now, looked

    def _filled(self, now: Made, found: list[tuple[Plan, Cut]]) -> Made | None:
        """Return a plan with every cut that it leaves room for, after small changes; None if there is none.

        While the stays are as they are each paddock's season stands alone.
        """
        cuts = list(now.cuts)
        for _, cut in found:
            if self._in_time((*cuts, cut)):
                cuts.append(cut)
        return self._settled(now.plan, cuts, 0, now) if len(cuts) > len(now.cuts) else None

    def _with_one_more(self, now: Made, found: list[tuple[Plan, Cut]], n: int) -> tuple[Made, bool]:
        """Return a plan with the best of some cuts if that is cheaper than the plan changed as often."""
        tried = [m for m in (self._settled(p, (*now.cuts, cut), n) for p, cut in found) if m is not None]
        if not tried:
            return now, False
        same = self._settled(now.plan, now.cuts, n, now)
        now = min((m for m in (now, same) if m is not None), key=self.cost)
        best = min(tried, key=self.cost)
        better = self.cost(best) <= self.cost(now) - LEAST_USD
        return best if better else now, better

    def cost(self, made: Made) -> float:
        """Return the mean cost of a plan with its cuts, changes to the plan in force included. [USD]"""
        return float(made.usd.mean()) + self.held.usd(made.plan)

    def _settled(self, plan: Plan, cuts: Sequence[Cut], n: int, near: Made | None = None) -> Made | None:
        """Return a plan with some cuts after small changes, where those made it cheaper."""
        before = self.made(plan, cuts, near=near)
        if before is None or self.tries <= 0:
            return before
        changed = polished(plan, before.yardstick, self.held, self.tries, self.seed + n)
        after = self.made(changed, cuts)
        return min((m for m in (before, after) if m is not None), key=self.cost)

    def kept(self, made: Made) -> tuple[Made, dict[Cut, Array]]:
        """Return a plan without the cuts that save nothing beside the others, and what each left saves.

        What a cut saves is the cost of the plan without it, changed as often, less that of the plan with it,
        shape (member,). [USD]
        """
        saved: dict[Cut, Array] = {}
        for cut in sorted(made.cuts, key=lambda one: one.day):
            without = self._settled(made.plan, [one for one in made.cuts if one is not cut], 0, made)
            if without is None:
                continue
            if self.cost(without) < self.cost(made) + LEAST_USD:
                return self.kept(without)
            saved[cut] = np.asarray(without.usd - made.usd)
        return made, saved

    def saved(self, made: Made) -> dict[Cut, Array]:
        """Return what each cut of a plan saves, its stays as they are, shape (member,). [USD]"""
        found = {}
        for cut in sorted(made.cuts, key=lambda one: one.day):
            without = self.made(made.plan, [one for one in made.cuts if one is not cut], near=made)
            if without is not None:
                found[cut] = np.asarray(without.usd - made.usd)
        return found

    def other(self, made: Made, cut: Cut, spare: list[tuple[Plan, Cut]]) -> Made | None:
        """Return the cheapest plan with another cut instead, of another paddock or another week, that pays.

        None if there is none.

        Parameters
        ----------
        spare : list
            The cuts that the plan with all its cuts still leaves room for, of ``choices``.
        """
        others = [one for one in made.cuts if one is not cut]
        few = some_members(self.yardstick.whole, FEW)
        seen = self.made(made.plan, others, few)
        if seen is None:
            return None
        weeks = (c for c in self._fitting(seen, made.plan, (cut.paddock,)) if abs(c.day - cut.day) >= WEEK_D)
        own = self._ranked(seen, ((made.plan, c) for c in weeks), few, 0.0)
        full = [self.made(made.plan, (*others, c), near=made) for _, c in (*own[:1], *spare[:TRIED])]
        return min((m for m in full if m is not None), key=self.cost, default=None)

    # ------------------------------------------------------------ which cuts are worth a look

    def choices(self, now: Made) -> list[tuple[Plan, Cut]]:
        """Return the best cut of each paddock that pays and has room in a plan, with the plan, best first."""
        few = some_members(self.yardstick.whole, FEW)
        seen = self.made(now.plan, now.cuts, few)
        if seen is None:
            return []
        fit = self._fitting(seen, now.plan, range(self.yardstick.yard))
        return self._ranked(seen, ((now.plan, c) for c in fit), few, 0.0)

    def given_up(self, now: Made) -> list[tuple[Plan, Cut]]:
        """Return cuts for which one stay is given up, each with the plan in which it is in the yard.

        These have to be searched around: the judge may find that stay another place.
        """
        few = some_members(self.yardstick.whole, FEW)
        seen = self.made(now.plan, now.cuts, few)
        return self._ranked(seen, self._given_up(now, few), few, -np.inf) if seen is not None else []

    def _ranked(
        self, seen: Made, cuts: Iterator[tuple[Plan, Cut]], few: Field, least_usd: float
    ) -> list[tuple[Plan, Cut]]:
        """Return the best cut of each paddock by a few members, the cheapest first."""
        best: dict[int, tuple[float, Plan, Cut]] = {}
        for plan, cut in cuts:
            near = seen if plan is seen.plan else None
            made = self.made(plan, (*seen.cuts, cut), few, near)
            if made is None or float((seen.usd - made.usd).mean()) <= least_usd:
                continue
            cost = float(made.usd.mean())
            if cut.paddock not in best or cost < best[cut.paddock][0]:
                best[cut.paddock] = (cost, plan, cut)
        return [(plan, cut) for _, plan, cut in sorted(best.values(), key=lambda one: one[0])]

    def _fitting(self, seen: Made, plan: Plan, paddocks: Iterable[int]) -> list[Cut]:
        """Return the cuts that pay for themselves in stretches nobody grazes, the dearest hay first."""
        found: list[tuple[float, Cut]] = []
        for p in paddocks:
            for a, b in _free(np.any(plan == p, axis=0) | ~_unshut(seen, p)):
                found += self._in_stretch(seen, p, a, b)
        found.sort(key=lambda one: (-one[0], one[1].day))
        return [cut for _, cut in found[:LOOKED]]

    def _in_stretch(self, seen: Made, p: int, a: int, b: int) -> Iterator[tuple[float, Cut]]:
        """Yield some cuts of a paddock within days nobody grazes it, with what each is worth by itself."""
        days = np.arange(a, b - self.how.days + 1)
        days = days[self.fit[days, p]] if len(days) else days
        above = np.maximum(seen.verdict.mass_kg_ha[:, days, p] - self.to_kg_ha[p], 0.0).mean(axis=0)
        worth = above * self.how.kept * self.yardstick.bars.prices_usd[0] - self.how.usd_ha
        days, worth = days[worth > 0], worth[worth > 0]
        if not len(days):
            return
        spread = np.linspace(0, len(days) - 1, DAYS_LOOKED).round().astype(int)
        for i in sorted({int(np.argmax(worth)), *spread.tolist()}):
            d = int(days[i])
            yield float(worth[i]) * self._ha(p), Cut(p, a, d, d + self.how.days, float(self.to_kg_ha[p]))

    def _given_up(self, now: Made, few: Field) -> Iterator[tuple[Plan, Cut]]:
        """Yield cuts for which one stay of the plan goes to the yard."""
        area, mass = self.yardstick.whole.land.area_ha, now.verdict.mass_kg_ha.mean(axis=0)
        stays = list(_stays(now.plan, self.yardstick.yard))
        stays.sort(key=lambda s: -float(mass[s[1], now.plan[s[0], s[1]]] * area[now.plan[s[0], s[1]]]))
        for m, a, b in stays[:GIVEN_UP]:
            plan, p = now.plan.copy(), int(now.plan[m, a])
            plan[m, a:b] = self.yardstick.yard
            seen = self.made(plan, now.cuts, few)
            fit = self._fitting(seen, plan, (p,)) if seen is not None else []
            yield from ((plan, c) for c in fit if c.shut_from <= a < c.clear)


def _cut(members: Field, on: Yardstick) -> Field:
    """Return some members with the hay cuts of a yardstick."""
    return members._replace(days=members.days._replace(cut_to_kg_ha=on.whole.days.cut_to_kg_ha))


def _judged_near(near: Made, on: Yardstick, members: Field | None) -> Verdict:
    """Return what the judge says of a plan with other cuts, from what it said with those it had."""
    paddocks = sorted({cut.paddock for cut in set(near.cuts) ^ set(on.cuts)})
    was, now = (_cut(members, one) if members else one.whole for one in (near.yardstick, on))
    mass = np.moveaxis(near.verdict.mass_kg_ha, 2, 0).copy()
    amount, usd = near.verdict.amount.copy(), near.verdict.usd.copy()
    place = np.ascontiguousarray(near.plan, np.int64)
    kept = again_usd(place, np.array(paddocks, np.int64), was, on.bars, now, mass, amount, usd)
    return Verdict(bool(kept and np.all(np.isfinite(usd))), amount, usd, np.moveaxis(mass, 0, 2))


def _stays(plan: Plan, yard: int) -> Iterator[tuple[int, int, int]]:
    """Yield mob, first day and end of every stay on a paddock that begins within the plan."""
    for m, row in enumerate(plan):
        for a, b in pairwise([*(np.flatnonzero(np.diff(row)) + 1).tolist(), len(row)]):
            if row[a] != yard:
                yield m, a, b


def cutter(scene: Scene, yardstick: Yardstick, held: Keeping, seed: int, tries: int) -> Cutter | None:
    """Return what cuts are searched with; None where the farm does not say how it makes hay."""
    how = making(scene.farm)
    if how is None:
        return None
    to = left_kg_ha(scene)
    return Cutter(yardstick, held, how, to, fit_days(scene, yardstick, how.days), seed, tries)


def _unshut(made: Made, p: int) -> Bools:
    """Return on which days a paddock is not taken by a cut of the plan, shape (day,)."""
    out = np.ones(len(made.yardstick.days), bool)
    for cut in made.cuts:
        if cut.paddock == p:
            out[cut.shut_from : cut.clear] = False
    return out


def _free(busy: Bools) -> Iterator[tuple[int, int]]:
    """Yield first day and end of the stretches of days on which a paddock is free."""
    edges = np.diff(np.concatenate([[1], busy.astype(np.int8), [1]]))
    yield from zip(np.flatnonzero(edges == -1).tolist(), np.flatnonzero(edges == 1).tolist(), strict=True)
