"""What a plan costs as it is lived: its first days as planned, then by what stands each day.

A plan judged as if nobody looked at the grass again is dearer than any life with it: in a poor year it walks
stock onto short grass, in a good one past tall. So plans that are made again each week are told apart by the
least of what each costs carried out to the end, and of what its first days cost where from then on a hand
rule is followed that sees the herbage of the member in which it is followed. What is chosen so costs no more
than any rule's own first days and that rule after them, over the same members.

References
----------
from memory: Bertsekas, Tsitsiklis and Wu 1997, Rollout algorithms for combinatorial optimization,
J. Heuristics 3
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.figures import Figure
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.judge import members_at, standing_for
from browseline.moves.kernel import (
    COUNT,
    calendar_usd,
    mark_runs,
    mob_usd,
    run_paddock,
    too_many_arrivals,
)
from browseline.moves.rules import LONGEST_RESTED, MOST_FEED, by_rule, eye_of
from browseline.science.compiled import compiled

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Begun = tuple[int, int, bytes]
"""First days as planned, the rule after them, and where each mob stands on those days."""
FOLLOWED = ("a week", "four weeks")
"""Rows that tell how many first days are lived as planned before a rule is followed."""
RULES = (LONGEST_RESTED, MOST_FEED)
LARGE_D = 6_000
"""Days times paddocks of a season from which on only the shorter of them is looked at. [d]"""
FEWEST, CHOOSING, TELLING = 4, (15, 60_000), (51, 150_000)
"""Members over which plans are told apart, and over which costs are told: the fewest, the most [1], and days
of paddocks and members for which there is time [d]."""


@dataclass(frozen=True)
class Life:
    """What a season costs as it is lived, in each of some members.

    Attributes
    ----------
    members : int array, shape (member,)
        Their numbers in the yardstick.
    usd : array, shape (member,)
        Infinite where a hard limit is broken. [USD]
    kept_d : int
        First days as planned, after which a rule is followed; 0 where the plan is carried out to the end. [d]
    """

    members: Index
    usd: Array
    kept_d: int = 0

    @property
    def mean_usd(self) -> float:
        """Return the mean over members. [USD]"""
        return float(self.usd.mean())


def followed() -> tuple[Figure, ...]:
    """Return for how many first days a plan may be followed before a rule. [d]"""
    rows = (tables.row("stays", "plan_followed", span) for span in FOLLOWED)
    return tuple(row.figure("plan_followed") for row in rows)


def choosing(yardstick: Yardstick) -> Index:
    """Return the numbers of the members over which plans are told apart, shape (some,)."""
    return _some(yardstick, *CHOOSING)


def telling(yardstick: Yardstick) -> Index:
    """Return the numbers of the members over which costs are told, shape (some,)."""
    return _some(yardstick, *TELLING)


def _some(yardstick: Yardstick, most: int, run_d: int) -> Index:
    there_is_time = run_d // max(yardstick.yard * len(yardstick.days), 1)
    return standing_for(yardstick.whole, min(max(there_is_time, FEWEST), most))


@compiled
def _usd(place, s, bars, field, length, starts, ends, herbage, cost):  # type: ignore[no-untyped-def]
    """Return what a plan costs in one member; infinite where it breaks a hard limit. [USD]"""
    nought, first, total = np.zeros(COUNT), np.int64(0), 0.0
    for m in range(place.shape[0]):
        mark_runs(place, m, bars, length, starts, ends)
        total += mob_usd(m, place, starts, bars, nought, nought)
    if too_many_arrivals(starts, bars):
        return np.inf
    for p in range(field.mass_kg_ha.shape[1]):
        total += calendar_usd(p, place, length, starts, ends, bars, nought, nought)
        if total == np.inf:
            return np.inf
        herbage[0], cost[0] = field.mass_kg_ha[s, p], 0.0
        total += run_paddock(p, s, first, place, length, starts, bars, field, herbage, cost, nought, nought)
    return total


@compiled
def _with_rule(plan, kept_d, rule, bars, field, usd):  # type: ignore[no-untyped-def]
    """Fill what a plan's first days and a rule after them cost in each member, shape (member,). [USD]"""
    mobs, days = plan.shape
    length, place = np.zeros((mobs, days), np.int64), plan.copy()
    starts, ends = np.zeros((mobs, days), np.bool_), np.zeros((mobs, days), np.bool_)
    herbage, cost = np.zeros(days + 1), np.zeros(days + 1)
    eye = eye_of(bars)
    for s in range(usd.shape[0]):
        place[:] = plan
        by_rule(rule, bars, eye, field, s, s + 1, kept_d, place)
        usd[s] = _usd(place, s, bars, field, length, starts, ends, herbage, cost)


def with_rule(yardstick: Yardstick, plan: Plan, kept_d: int, rule: int, members: Index) -> Life:
    """Return a season whose first days are as planned and whose others go by a rule.

    Parameters
    ----------
    plan : int array, shape (mob, day)
    kept_d : int
        First days as planned. [d]
    rule : int
        As in ``by_rule`` of ``rules``; it sees the herbage of the member in which it is followed.
    members : int array, shape (member,)
    """
    usd, field = np.zeros(len(members)), members_at(yardstick.whole, members)
    _with_rule(np.ascontiguousarray(plan, np.int64), kept_d, rule, yardstick.bars, field, usd)
    return Life(members, usd, kept_d)


def to_the_end(verdict: Verdict, members: Index) -> Life:
    """Return a season in which a plan is carried out to the end, whatever grows."""
    return Life(members, verdict.total_usd[members])


def lived(
    yardstick: Yardstick,
    plan: Plan,
    verdict: Verdict,
    members: Index,
    told: Index | None = None,
    known: dict[Begun, Life] | None = None,
) -> Life:
    """Return what a plan costs as it is lived: the cheapest of its ways in the mean over members.

    Parameters
    ----------
    plan : int array, shape (mob, day)
        One that keeps every hard limit.
    verdict : Verdict
        What the judge says of it over all members.
    told : int array, shape (some,), optional
        Other members, over which the chosen way is told: to the end, if that is cheaper there or the way
        breaks a hard limit.
    known : dict, optional
        What first days with a rule after them cost over the same members, by other plans that begin alike;
        added to.
    """
    known = {} if known is None else known
    days = plan.shape[1]
    looked_at = followed() if yardstick.yard * days < LARGE_D else followed()[:1]
    spans = [d for d in (round(one.value or 0.0) for one in looked_at) if d < days]
    ways = {}
    for d, rule in product(spans, RULES):
        begun = (d, rule, plan[:, :d].tobytes())
        if begun not in known:
            known[begun] = with_rule(yardstick, plan, d, rule, members)
        ways[d, rule] = known[begun]
    ways[0, 0] = to_the_end(verdict, members)
    (kept_d, rule), best = min(ways.items(), key=lambda way: (way[1].mean_usd, way[0]))
    if told is None:
        return best
    letter = to_the_end(verdict, told)
    again = with_rule(yardstick, plan, kept_d, rule, told) if kept_d else letter
    return again if again.mean_usd < letter.mean_usd else letter


def by_eye(yardstick: Yardstick, members: Index, told: Index) -> Life | None:
    """Return what the cheaper of the hand rules costs from now on, by what stands each day in each member.

    None where each of them breaks a hard limit in some member.

    Parameters
    ----------
    members, told : int array, shape (some,)
        Over which it is chosen, and over which it is told.

    References
    ----------
    common practice: the longest rested first, or the most feed first
    """
    nowhere = np.zeros((len(yardstick.mobs), len(yardstick.days)), np.int64)
    usd = {rule: with_rule(yardstick, nowhere, 0, rule, members).mean_usd for rule in RULES}
    for rule in sorted(RULES, key=lambda rule: usd[rule]):
        life = with_rule(yardstick, nowhere, 0, rule, told)
        if np.isfinite(life.mean_usd):
            return life
    return None
