"""Why each stay ends when it does, and why the next best paddock lost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from browseline.figures import Figure, money_words
from browseline.limits import Bite, Scene, bites
from browseline.moves.anew import anew, few_of, has_time
from browseline.moves.differs import elsewhere_usd, more_usd, runs
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.judge import judge, some_members, spread, standing_for
from browseline.moves.kernel import TERMS, Field
from browseline.moves.lived import choosing, lived
from browseline.moves.passed import in_the_way, passed
from browseline.moves.replan import FIRM_D, LIKELY_D, place_words
from browseline.moves.rules import next_move_day
from browseline.moves.yardstick import touched
from browseline.units import amount_words
from browseline.words import day_words, joined, known, linked, say

Array = NDArray[np.float64]
Days = tuple[int, int, int]
"""Mob, first day and end of some of its days. [d]"""
HALF = 0.5
CANDIDATES, SOONEST = 3, 7
"""Other places for a stay of the firm days that are tried with all later stays planned anew, and days for a
move on which another place is sought. [1]"""
QUICK, SOME = 3, 15
"""Members that choose a runner-up, and that price it for a stay more than a fortnight away. [1]"""


@dataclass(frozen=True, slots=True)
class Ending:
    """What set the end of a stay: the limit's name, or empty, and one sentence with its figures."""

    limit: str
    says: str
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class RunnerUp:
    """The next best place for a stay: its name, why it lost, and what it costs more."""

    place: str
    says: str
    more: Figure


@dataclass(frozen=True)
class Explainer:
    """A plan with its verdict, ready to be asked about single stays."""

    scene: Scene
    yardstick: Yardstick
    plan: Plan
    verdict: Verdict

    def day(self, d: int) -> str:
        """Return the day of the plan in words."""
        return day_words(self.scene.local(self.scene.now + timedelta(days=d)).date())

    # ------------------------------------------------------------ the end

    def ending(self, m: int, a: int, b: int) -> Ending:
        """Return which limit set the end of a stay.

        Parameters
        ----------
        m, a, b : int
            Mob, first day and end of the stay. [d]
        """
        p = int(self.plan[m, a])
        if b == self.plan.shape[1]:
            return Ending("", say("moves.end.horizon", day=self.day(b)))
        if self.yardstick.bars.off[m, a] or self.yardstick.bars.off[m, b]:
            return Ending("", self._off(m, a, b))
        going = self._goes_before(m, b)
        if going is not None:
            return going
        if p == self.yardstick.yard:
            return Ending(
                "", say("moves.end.yard", place=place_words(self.scene, self.yardstick, int(self.plan[m, b])))
            )
        asked = self._bitten(m, p, b) if a == 0 and p == self.yardstick.bars.start[m] else None
        if asked is not None:
            because = joined(filter(None, (asked.because, self._nobody_until(asked, b))), " ")
            words = say("moves.end.bite", limit=say(f"limits.{asked.limit}.name"), because=because)
            return Ending(asked.limit, words, asked.figures)
        return (
            self._closing(m, p, b)
            or self._staying(m, p, a, b)
            or self._grazed(m, p, a, b)
            or self._cheaper(m, p, a, b)
        )

    def _off(self, m: int, a: int, b: int) -> str:
        """Return in words why a stay ends where being housed or away begins or ends."""
        gone, off = self.yardstick.gone, self.yardstick.bars.off
        away = gone is not None and bool(gone[m, b] or gone[m, a])
        if not off[m, a] or off[m, b]:
            return say(f"moves.end.{'goes_home' if away else 'housed'}", day=self.day(b))
        if off[m, b - 1]:
            return say(f"moves.end.{'comes' if away else 'turned_out'}", day=self.day(b))
        first = a + int(np.argmin(off[m, a:b]))
        place = place_words(self.scene, self.yardstick, int(self.plan[m, b]))
        return say("moves.end.turned_out_later", day=self.day(first), place=place)

    def _goes_before(self, m: int, b: int) -> Ending | None:
        """Return the ending of a stay after which a mob goes home or in before it can be moved again."""
        soon = np.flatnonzero(self.yardstick.bars.off[m, b : self._until(b)])
        if not len(soon):
            return None
        gone, d = self.yardstick.gone, b + int(soon[0])
        key = "goes_home_no_move" if gone is not None and gone[m, d] else "housed_no_move"
        return Ending("", say(f"moves.end.{key}", day=self.day(d)))

    def _bitten(self, m: int, p: int, b: int) -> Bite | None:
        """Return the bite of the present stay from its end to the next day for a move: hard before soft."""
        first, last = (self.scene.now + timedelta(days=d) for d in (b - HALF, self._until(b)))
        due = [
            bite
            for bite in bites(self.scene, self.yardstick.mobs[m], self.yardstick.paddocks[p])
            if bite.moment is not None
            and bite.hardness != "question"
            and (first <= bite.moment.likely < last or (b == 0 and bite.moment.likely < last))
        ]
        return min(due, key=lambda bite: bite.hardness != "hard", default=None)

    def _nobody_until(self, bite: Bite, b: int) -> str:
        """Return that nobody can move animals between an end and a bite, where it bites before they can."""
        likely = bite.moment.likely if bite.moment is not None else self.scene.now
        waits = self._waits(b) and likely >= self.scene.now + timedelta(days=b + 1)
        return say("moves.end.nobody_between") if waits else ""

    def _until(self, b: int) -> int:
        """Return until when a mob would have to stay if it did not leave on a day."""
        return int(next_move_day(b, self.yardstick.bars.can_move))

    def _waits(self, b: int) -> str:
        return "_no_move" if self._until(b) > b + 1 else ""

    def _closing(self, m: int, p: int, b: int) -> Ending | None:
        until = self._until(b)
        for face in self.yardstick.faces:
            if face.closed is None:
                continue
            shut = touched(self.scene, face.closed)[m, b:until, p]
            if shut.any():
                first = b + int(np.argmax(shut))
                name = say(f"limits.{face.name}.name")
                day = self.day(first + (0 if face.closed[m, first, p] else 1))
                return Ending(face.name, say(f"moves.end.closed{self._waits(b)}", limit=name, day=day))
        for cut in self.yardstick.cuts:
            if cut.paddock == p and cut.shut_from < until and cut.clear > b:
                return Ending("", say("moves.end.cut", day=self.day(cut.day)))
        return None

    def _staying(self, m: int, p: int, a: int, b: int) -> Ending | None:
        bars = self.yardstick.bars
        been = int(bars.been_d[m]) if a == 0 and p == bars.start[m] else 0
        days = been + self._until(b) - a
        longest = [(float(bars.longest_d[f, m, p]), f) for f in range(len(bars.over_usd_d))]
        passed = min(((most, f) for most, f in longest if been + b - a <= most < days), default=None)
        if passed is None:
            return None
        name = self.yardstick.names["stay"][passed[1]]
        why = say(f"limits.{name}.stay_before") if known(f"limits.{name}.stay_before") else ""
        fields = {"limit": say(f"limits.{name}.name"), "days": f"{passed[0]:g}", "stood": f"{been + b - a}"}
        fields["why"] = f" {why}" if why else ""
        return Ending(name, say(f"moves.end.stay{self._waits(b)}", **fields))

    def _grazed(self, m: int, p: int, a: int, b: int) -> Ending | None:
        """Return the ending by herbage, if one day more, and none before, takes the middle member too low."""
        bars, land = self.yardstick.bars, self.yardstick.whole.land
        been = int(bars.been_d[m]) if a == 0 and p == bars.start[m] else 0
        share = bars.eaten_frac[p, min(been + b + 1 - a, bars.eaten_frac.shape[1] - 1)]
        taken = bars.demand_kg_d[b, m] / share / land.area_ha[p]
        stands = np.median(self.verdict.mass_kg_ha[:, b, p])
        for f, name in enumerate(self.yardstick.names["leave"]):
            if stands - taken < bars.leave_kg_ha[f, m, p] <= stands:
                return Ending(name, say(f"moves.end.grass{self._waits(b)}", limit=say(f"limits.{name}.name")))
        return None

    def below(self, m: int, a: int, b: int) -> bool:
        """Return whether a stay leaves less than is to be left in most members."""
        kept = self.share_kept(m, a, b)
        return kept is not None and (kept.value or 0.0) < HALF

    def _cheaper(self, m: int, p: int, a: int, b: int) -> Ending:
        """Return the ending that no limit sets, and what staying until the next move would cost."""
        until = self._until(b)
        longer = self.with_stay(m, b, until, p)
        more = self.more(m, longer, {p, int(self.plan[m, b])}, b >= LIKELY_D)
        more = more if more is None else self.really(longer, (m, b, until), more)
        reached = bool(passed(self.yardstick, self.plan, m, a, b)) or self.below(m, a, b)
        free = () if reached else (say("moves.end.free"),)
        if more is None:
            return Ending("", joined((*free, in_the_way(self, m, p, b, until)), " "))
        cost = spread("plan_day_more", more.sum(axis=1), "USD")
        if (cost.value or 0.0) < -HALF:
            less = self.less("moves.end", longer, a, cost, day=self.day(until))
            return Ending("", joined((*free, less), " "), (cost,))
        how = "level" if (cost.value or 0.0) < HALF else "cheaper"
        why = say(f"moves.lost.{TERMS[int(np.argmax(more.mean(axis=0)))]}")
        fields = {"cost": money_words(cost), "day": self.day(until), "why": why}
        key = f"moves.end.{how}_no_move" if self._waits(b) else f"moves.end.{how}"
        return Ending("", joined((*free, say(key, **fields)), " "), (cost,))

    # ------------------------------------------------------------ the runner-up

    def more(self, m: int, other: Plan, places: set[int], outline: bool = False) -> Array | None:
        """Return what another plan costs more, shape (member, term); None if it breaks a hard limit. [USD]

        Parameters
        ----------
        outline : bool
            Over some of the members only: enough for a stay that is weeks away.
        """
        field, mass = self._some if outline else self._everyone
        grazed = np.array(sorted(p for p in places if p < self.yardstick.yard), np.int64)
        usd = np.zeros((mass.shape[1], len(TERMS)))
        both = (np.ascontiguousarray(place, np.int64) for place in (self.plan, other))
        return usd if more_usd(*both, m, grazed, self.yardstick.bars, field, mass, usd) else None

    @cached_property
    def _everyone(self) -> tuple[Field, Array]:
        """Return all members with the herbage of every paddock under the plan."""
        return self.yardstick.whole, np.ascontiguousarray(np.moveaxis(self.verdict.mass_kg_ha, 2, 0))

    @cached_property
    def _some(self) -> tuple[Field, Array]:
        whole, mass = self._everyone
        chosen = standing_for(whole, SOME)
        return some_members(whole, SOME), np.ascontiguousarray(mass[:, chosen])

    @cached_property
    def _few(self) -> tuple[Field, Array, Array]:
        """Return a few members with herbage and cost of every paddock under the plan."""
        few = some_members(self.yardstick.whole, QUICK)
        return few, *runs(np.ascontiguousarray(self.plan, np.int64), self.yardstick.bars, few)

    def runner_up(self, m: int, a: int, b: int) -> RunnerUp | None:
        """Return the next best place for a stay, all else of the plan as it is; None if there is no other."""
        here = int(self.plan[m, a])
        if b <= self.yardstick.bars.stuck_d[m] and here == self.yardstick.bars.start[m] and a == 0:
            return None
        found = self.elsewhere(m, a, b)
        return self._lost(self.with_stay(m, a, b, found[0]), (m, a, b), found[1]) if found else None

    def soonest(self, m: int, a: int, b: int) -> tuple[int, int, Array] | None:
        """Return the first day of a stay on which a mob can go elsewhere, with ``elsewhere`` from then on.

        None if on none of the next days for a move any place takes it: all hands may be needed for others.
        """
        days = [d for d in range(a, b) if self.yardstick.bars.can_move[d]][:SOONEST]
        every = ((d, self.elsewhere(m, d, b)) for d in days)
        return next(((d, *found) for d, found in every if found is not None), None)

    def elsewhere(self, m: int, a: int, b: int) -> tuple[int, Array] | None:
        """Return the best other place for some days of a stay, and what it costs more; None if none is open.

        Of a stay that begins within the firm days some places are tried with what comes after planned anew
        as well, where there is time for it; else all else is as planned. Judged over all members once a few
        have chosen what is tried; over some where it is more than a fortnight away. The costs have shape
        (member, term). [USD]
        """
        bars, yard = self.yardstick.bars, self.yardstick.yard
        place = np.ascontiguousarray(self.plan, np.int64)
        more = elsewhere_usd(place, m, a, b, bars, *self._few)
        if a < FIRM_D and has_time(self.yardstick) and more.min() > -HALF:
            others = [int(q) for q in np.argsort(more, kind="stable") if q != self.plan[m, a]]
            tried = [q for q in others if q == yard or bars.open_[m, a:b, q].all()][:CANDIDATES]
        else:
            tried = [int(np.argmin(more))] if np.isfinite(more.min()) else []
        priced = ((q, self._at(m, a, b, q, len(tried) > 1)) for q in tried)
        found = [(q, usd) for q, usd in priced if usd is not None]
        return min(found, key=lambda one: one[1].sum(), default=None)

    def _at(self, m: int, a: int, b: int, q: int, anew_too: bool) -> Array | None:
        """Return what a place costs more on some days of a stay; None if it breaks a hard limit. [USD]"""
        other = self.with_stay(m, a, b, q)
        more = self.more(m, other, {int(self.plan[m, a]), q}, a >= LIKELY_D)
        return self.really(other, (m, a, b), more) if anew_too else more

    def after(self, other: Plan, stay: Days) -> Plan | None:
        """Return a plan in which a mob does otherwise on some days and what comes after is planned anew."""
        return anew(self.yardstick, self.plan, other, stay, few_of(self.yardstick))

    def really(self, other: Plan, stay: Days, more: Array | None) -> Array | None:
        """Return what another stay costs more, with what comes after planned anew where that is cheaper.

        None where neither keeps every hard limit.

        Parameters
        ----------
        other : int array, shape (mob, day)
        stay : (int, int, int)
            Mob, first day and end of what is otherwise. [d]
        more : array, shape (member, term), or None
            What it costs more with all else as planned, where that can be kept. [USD]
        """
        found = self.after(other, stay) if stay[1] < FIRM_D and has_time(self.yardstick) else None
        again = self._dearer_than_anew(found, stay) if found is not None else None
        return min((usd for usd in (more, again) if usd is not None), key=np.sum, default=None)

    def _dearer_than_anew(self, other: Plan, stay: Days) -> Array:
        """Return what a plan costs more than the plan itself, held to the same days and planned anew. [USD]

        Nothing where it is cheaper: so short a search cannot tell luck from gain.
        """
        if stay not in self._bases:
            found = self.after(self.plan, stay)
            both = [self.verdict, *([judge(self.yardstick, found)] if found is not None else [])]
            self._bases[stay] = min(both, key=lambda said: said.mean_usd)
        more = np.asarray(judge(self.yardstick, other).usd - self._bases[stay].usd)
        return more if more.sum() > 0.0 else np.zeros_like(more)

    @cached_property
    def _bases(self) -> dict[Days, Verdict]:
        """Return what is known so far of the plan held to some days and planned anew."""
        return {}

    def with_stay(self, m: int, a: int, b: int, place: int) -> Plan:
        """Return the plan with some days of a mob spent at another place."""
        other = self.plan.copy()
        other[m, a:b] = place
        return other

    def _lost(self, other: Plan, stay: Days, more: Array) -> RunnerUp:
        parts, (m, a, _) = more.mean(axis=0), stay
        name, worst = place_words(self.scene, self.yardstick, int(other[m, a])), int(np.argmax(parts))
        figure = spread("plan_more", more.sum(axis=1), "USD", about=name)
        if (figure.value or 0.0) < -HALF:
            return RunnerUp(name, self.less("moves.lost", other, a, figure, place=name), figure)
        if (figure.value or 0.0) < HALF:
            return RunnerUp(name, say("moves.lost.level", place=name), figure)
        words = say(f"moves.lost.{TERMS[worst]}")
        return RunnerUp(name, say("moves.lost.more", place=name, cost=money_words(figure), why=words), figure)

    def less(self, key: str, other: Plan, a: int, more: Figure, **fields: str) -> str:
        """Return that another plan is cheaper to the letter, and what that is worth.

        Later days are planned again before they come. Of the firm ones a plan that looks at the grass may
        still be the cheaper as it is (``on_paper``); where it is not, it is time to plan again.
        """
        if a >= FIRM_D:
            how = "later"
        else:
            how = "on_paper" if self._lived_usd(self.plan) <= self._lived_usd(other) + HALF else "plan_again"
        cost = linked(amount_words(-(more.value or 0.0), more.unit), more)
        return say(f"{key}.{how}", cost=cost, **fields)

    def _lived_usd(self, plan: Plan) -> float:
        """Return what a plan costs as it is lived; infinite where it breaks a hard limit. [USD]"""
        key = plan.tobytes()
        if key not in self._lives:
            said = judge(self.yardstick, plan)
            some = choosing(self.yardstick)
            self._lives[key] = lived(self.yardstick, plan, said, some).mean_usd if said.kept else np.inf
        return self._lives[key]

    @cached_property
    def _lives(self) -> dict[bytes, float]:
        """Return what is known so far of plans as they are lived. [USD]"""
        return {}

    def share_kept(self, m: int, a: int, b: int) -> Figure | None:
        """Return the share of members in which a stay leaves what is to be left, by every limit. [1]"""
        p, bars = int(self.plan[m, a]), self.yardstick.bars
        if p == self.yardstick.yard or len(bars.below_usd_kg) == 0:
            return None
        been = int(bars.been_d[m]) if a == 0 and p == bars.start[m] else 0
        share = bars.eaten_frac[p, min(been + b - a, bars.eaten_frac.shape[1] - 1)]
        land = self.yardstick.whole.land
        wanted = bars.demand_kg_d[b - 1, m] / share / land.area_ha[p]
        mass = self.verdict.mass_kg_ha[:, b - 1, p]
        left = mass - np.minimum(wanted, np.maximum(mass - land.floor_kg_ha[p], 0.0))
        kept = float(np.mean(left >= bars.leave_kg_ha[:, m, p].max() - 1e-9))
        return Figure("plan_share_kept", kept, "1", formula=f"{kept:.2f} of {len(mass)}")


def housed_words(asked: Explainer, m: int, a: int, b: int) -> tuple[str, ...]:
    """Return from when a mob is housed that stood in the yard before; nothing where it is not.

    Parameters
    ----------
    m, a, b : int
        Mob, first day and end of a stay. [d]
    """
    off, gone = asked.yardstick.bars.off[m, a:b], asked.yardstick.gone
    if asked.plan[m, a] != asked.yardstick.yard or off[0] or not off.any():
        return ()
    day = a + int(np.argmax(off))
    if gone is not None and gone[m, day]:
        return ()
    return (say("moves.end.housed", day=asked.day(day)),)
