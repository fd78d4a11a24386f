"""Hay cuts as part of a plan: which paddock is skipped and cut, when, and what that saves by the judge.

A cut is proposed only where the farm says what making hay costs, what is lost in the field and for how long
the ground is taken. It shuts its paddock from the last stay before it until the hay is off.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from browseline.limits import Scene
from browseline.moves.differs import again_usd
from browseline.moves.form import Cut, Plan, Verdict, Yardstick
from browseline.moves.hay_rules import Making, fit_days, left_kg_ha, making
from browseline.moves.judge import judge
from browseline.moves.kernel import Field
from browseline.moves.propose import Keeping, polished

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
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
        return np.asarray(above * self.ha(cut.paddock) * self.how.kept)

    def ha(self, p: int) -> float:
        """Return the area of a paddock. [ha]"""
        return float(self.yardstick.whole.land.area_ha[p])

    def pass_usd(self, cut: Cut) -> float:
        """Return what making the hay of a cut costs. [USD]"""
        return self.how.usd_ha * self.ha(cut.paddock)

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
        if not self.in_time(cuts):
            return None
        made = self.judged(plan, cuts, members, near)
        return made if made.verdict.kept and all(self.back(made, cut) for cut in cuts) else None

    def judged(
        self, plan: Plan, cuts: Sequence[Cut], members: Field | None = None, near: Made | None = None
    ) -> Made:
        """Return a plan with some cuts as the judge sees it, whether it may be so or not; as ``made``."""
        on = with_cuts(self.yardstick, cuts)
        if near is not None:
            verdict = _judged_near(near, on, members)
        else:
            verdict = judge(on, plan, _cut(members, on) if members else None)
        price = float(self.yardstick.bars.prices_usd[0])
        worth = np.zeros(verdict.usd.shape[0])
        for cut in cuts:
            worth += self.kg(verdict, cut) * price - self.pass_usd(cut)
        return Made(on, plan, verdict, worth)

    def in_time(self, cuts: Sequence[Cut]) -> bool:
        """Return whether no more is cut on any day than the farm can."""
        area = {day: sum(self.ha(c.paddock) for c in cuts if c.day == day) for day in {c.day for c in cuts}}
        return all(hectares <= self.how.most_ha_d + 1e-9 for hectares in area.values())

    def back(self, made: Made, cut: Cut) -> bool:
        """Return whether a paddock that was cut stands at its start height again before the plan ends.

        A plan does not know who needs grass after its end: it must not sell that as hay.
        """
        after = made.verdict.mass_kg_ha[:, cut.clear :, cut.paddock].mean(axis=0)
        return bool(after.max() >= self.yardstick.whole.cover_kg_ha[cut.paddock])

    def barred(self, now: Made, cut: Cut) -> str:
        """Return why a cut cannot be added to a plan: too much for that day, or not back in time."""
        return "back" if self.in_time((*now.cuts, cut)) else "much"

    def bare(self, plan: Plan, verdict: Verdict) -> Made:
        """Return a plan without cuts."""
        return Made(self.yardstick, plan, verdict, np.zeros(verdict.usd.shape[0]))

    def cost(self, made: Made) -> float:
        """Return the mean cost of a plan with its cuts, changes to the plan in force included. [USD]"""
        return float(made.usd.mean()) + self.held.usd(made.plan)

    def settled(self, plan: Plan, cuts: Sequence[Cut], n: int, near: Made | None = None) -> Made | None:
        """Return a plan with some cuts after small changes, where those made it cheaper."""
        before = self.made(plan, cuts, near=near)
        if before is None or self.tries <= 0:
            return before
        changed = polished(plan, before.yardstick, self.held, self.tries, self.seed + n)
        after = self.made(changed, cuts)
        return min((m for m in (before, after) if m is not None), key=self.cost)


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


def cutter(scene: Scene, yardstick: Yardstick, held: Keeping, seed: int, tries: int) -> Cutter | None:
    """Return what cuts are searched with; None where the farm does not say how it makes hay."""
    how = making(scene.farm)
    if how is None:
        return None
    to = left_kg_ha(scene)
    return Cutter(yardstick, held, how, to, fit_days(scene, yardstick, how.days), seed, tries)
