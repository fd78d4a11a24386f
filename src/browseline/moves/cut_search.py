"""Which hay cuts make a plan cheaper: those with room in it, then those for which a stay is given up."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from browseline.moves.cuts import LEAST_USD, Cutter, Made
from browseline.moves.form import Cut, Plan, Verdict
from browseline.moves.judge import some_members
from browseline.moves.kernel import Field
from browseline.moves.propose import FEW

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
DAYS_LOOKED, LOOKED, GIVEN_UP, TRIED, TURNS = 6, 60, 12, 2, 4
"""Days looked at of each stretch nobody grazes, cuts judged over a few members at least, stays that may be
given up (where most stands), cuts searched around, and turns of cuts and changes. [1]"""
LOOKED_D = 200_000
"""Paddocks times days times cuts judged over a few members: more of them where a plan is small. [d]"""
ROUNDS_D = 6_000
"""Paddocks times days for each stay that may be given up for a cut. [d]"""
WEEK_D = 7


def cheapest(how: Cutter, plan: Plan, verdict: Verdict) -> tuple[Made, bool]:
    """Return a plan with the cuts that make it cheaper, and whether any cut was looked at.

    Cuts for which the plan leaves room and small changes to the stays in turn; then cuts for which a stay
    is given up, one by one, each against the plan without it that was changed as often.
    """
    now, looked = filled_up(how, how.bare(plan, verdict))
    for n in range(_rounds(how)):
        found = given_up(how, now)
        looked |= bool(found)
        now, better = _with_one_more(how, now, found[:TRIED], n)
        if not better:
            break
        now, _ = filled_up(how, now)
    return now, looked


def _rounds(how: Cutter) -> int:
    """Return how many stays may be given up: fewer where a plan is large, none where it stays."""
    most = ROUNDS_D // (max(how.yardstick.yard, 1) * len(how.yardstick.days))
    return min(max(most, 2), 8) if how.tries > 0 else 0


def filled_up(how: Cutter, now: Made) -> tuple[Made, bool]:
    """Return a plan with all cuts that pay and have room, turn by turn."""
    looked, late = False, set[Cut]()
    for _ in range(TURNS):
        found = choices(how, now, late)
        looked |= bool(found)
        filled, not_back = _filled(how, now, found)
        late |= not_back
        now = min((m for m in (now, filled) if m is not None), key=how.cost)
        if not found:
            break
    return now, looked


def _filled(how: Cutter, now: Made, found: list[tuple[Plan, Cut]]) -> tuple[Made | None, set[Cut]]:
    """Return a plan with every cut that it leaves room for, after small changes; None if there is none.

    While the stays are as they are each paddock's season stands alone. Cuts after which the grass is not back
    in time over all members, as it was over the few that found them, come second and are not made.
    """
    cuts = list(now.cuts)
    for _, cut in found:
        if how.in_time((*cuts, cut)):
            cuts.append(cut)
    seen = how.judged(now.plan, cuts, near=now)
    late = {cut for cut in cuts if cut not in now.cuts and not how.back(seen, cut)}
    cuts = [cut for cut in cuts if cut not in late]
    return (how.settled(now.plan, cuts, 0, now) if len(cuts) > len(now.cuts) else None), late


def _with_one_more(how: Cutter, now: Made, found: list[tuple[Plan, Cut]], n: int) -> tuple[Made, bool]:
    """Return a plan with the best of some cuts if that is cheaper than the plan changed as often."""
    tried = [m for m in (how.settled(p, (*now.cuts, cut), n) for p, cut in found) if m is not None]
    if not tried:
        return now, False
    same = how.settled(now.plan, now.cuts, n, now)
    now = min((m for m in (now, same) if m is not None), key=how.cost)
    best = min(tried, key=how.cost)
    better = how.cost(best) <= how.cost(now) - LEAST_USD
    return best if better else now, better


def worth_keeping(how: Cutter, made: Made) -> tuple[Made, dict[Cut, Array]]:
    """Return a plan without the cuts that save nothing beside the others, and what each left saves.

    What a cut saves is the cost of the plan without it, changed as often, less that of the plan with it,
    shape (member,). [USD]
    """
    saved: dict[Cut, Array] = {}
    for cut in sorted(made.cuts, key=lambda one: one.day):
        without = how.settled(made.plan, [one for one in made.cuts if one is not cut], 0, made)
        if without is None:
            continue
        if how.cost(without) < how.cost(made) + LEAST_USD:
            return worth_keeping(how, without)
        saved[cut] = np.asarray(without.usd - made.usd)
    return made, saved


def savings(how: Cutter, made: Made) -> dict[Cut, Array]:
    """Return what each cut of a plan saves, its stays as they are, shape (member,). [USD]"""
    found = {}
    for cut in sorted(made.cuts, key=lambda one: one.day):
        without = how.made(made.plan, [one for one in made.cuts if one is not cut], near=made)
        if without is not None:
            found[cut] = np.asarray(without.usd - made.usd)
    return found


def instead(how: Cutter, made: Made, cut: Cut, spare: list[tuple[Plan, Cut]]) -> Made | None:
    """Return the cheapest plan with another cut instead, of another paddock or another week, that pays.

    None if there is none.

    Parameters
    ----------
    spare : list
        The cuts that the plan with all its cuts still leaves room for, of ``choices``.
    """
    others = [one for one in made.cuts if one is not cut]
    few = some_members(how.yardstick.whole, FEW)
    seen = how.made(made.plan, others, few)
    if seen is None:
        return None
    weeks = (c for c in _fitting(how, seen, made.plan, (cut.paddock,)) if abs(c.day - cut.day) >= WEEK_D)
    own = _ranked(how, seen, ((made.plan, c) for c in weeks), few, 0.0)
    full = [how.made(made.plan, (*others, c), near=made) for _, c in (*own[:1], *spare[:TRIED])]
    return min((m for m in full if m is not None), key=how.cost, default=None)


def seconds(how: Cutter, made: Made) -> dict[Cut, Made | None]:
    """Return for each cut of a plan the cheapest plan with another cut instead; None where there is none."""
    spare = choices(how, made) if made.cuts else []
    return {cut: instead(how, made, cut, spare) for cut in made.cuts}


def exchanged(
    how: Cutter, made: Made, saved: dict[Cut, Array]
) -> tuple[Made, dict[Cut, Array], dict[Cut, Made | None]]:
    """Return a plan whose cuts gave way to cheaper ones in their place, what each saves, and its second.

    Parameters
    ----------
    saved : dict
        What each cut of the plan saves, of ``worth_keeping``. [USD]
    """
    others = seconds(how, made)
    for _ in range(TURNS):
        best = min((m for m in others.values() if m is not None), key=how.cost, default=made)
        if how.cost(best) > how.cost(made) - LEAST_USD:
            break
        made, saved = worth_keeping(how, best)
        others = seconds(how, made)
    return made, saved, others


# ------------------------------------------------------------ which cuts are worth a look


def choices(how: Cutter, now: Made, but: Collection[Cut] = ()) -> list[tuple[Plan, Cut]]:
    """Return the best cut of each paddock that pays and has room in a plan, with the plan, best first.

    Parameters
    ----------
    but : collection of Cut
        Cuts that are known not to do.
    """
    few = some_members(how.yardstick.whole, FEW)
    seen = how.made(now.plan, now.cuts, few)
    if seen is None:
        return []
    fit = _fitting(how, seen, now.plan, range(how.yardstick.yard))
    return _ranked(how, seen, ((now.plan, c) for c in fit if c not in but), few, 0.0)


def given_up(how: Cutter, now: Made) -> list[tuple[Plan, Cut]]:
    """Return cuts for which one stay is given up, each with the plan in which it is in the yard.

    These have to be searched around: the judge may find that stay another place.
    """
    few = some_members(how.yardstick.whole, FEW)
    seen = how.made(now.plan, now.cuts, few)
    return _ranked(how, seen, _given_up(how, now, few), few, -np.inf) if seen is not None else []


def _ranked(
    how: Cutter, seen: Made, cuts: Iterator[tuple[Plan, Cut]], few: Field, least_usd: float
) -> list[tuple[Plan, Cut]]:
    """Return the best cut of each paddock by a few members, the cheapest first."""
    best: dict[int, tuple[float, Plan, Cut]] = {}
    for plan, cut in cuts:
        near = seen if plan is seen.plan else None
        made = how.made(plan, (*seen.cuts, cut), few, near)
        if made is None or float((seen.usd - made.usd).mean()) <= least_usd:
            continue
        cost = float(made.usd.mean())
        if cut.paddock not in best or cost < best[cut.paddock][0]:
            best[cut.paddock] = (cost, plan, cut)
    return [(plan, cut) for _, plan, cut in sorted(best.values(), key=lambda one: one[0])]


def _fitting(how: Cutter, seen: Made, plan: Plan, paddocks: Iterable[int]) -> list[Cut]:
    """Return the cuts that pay for themselves in stretches nobody grazes, the dearest hay first."""
    found: list[tuple[float, Cut]] = []
    for p in paddocks:
        for a, b in _free(np.any(plan == p, axis=0) | ~_unshut(seen, p)):
            found += _in_stretch(how, seen, p, a, b)
    found.sort(key=lambda one: (-one[0], one[1].day))
    most = max(LOOKED, LOOKED_D // (max(how.yardstick.yard, 1) * len(how.yardstick.days)))
    return [cut for _, cut in found[:most]]


def _in_stretch(how: Cutter, seen: Made, p: int, a: int, b: int) -> Iterator[tuple[float, Cut]]:
    """Yield some cuts of a paddock within days nobody grazes it, with what each is worth by ithow."""
    days = np.arange(a, b - how.how.days + 1)
    days = days[how.fit[days, p]] if len(days) else days
    above = np.maximum(seen.verdict.mass_kg_ha[:, days, p] - how.to_kg_ha[p], 0.0).mean(axis=0)
    worth = above * how.how.kept * how.yardstick.bars.prices_usd[0] - how.how.usd_ha
    days, worth = days[worth > 0], worth[worth > 0]
    if not len(days):
        return
    spread = np.linspace(0, len(days) - 1, DAYS_LOOKED).round().astype(int)
    for i in sorted({int(np.argmax(worth)), *spread.tolist()}):
        d = int(days[i])
        yield float(worth[i]) * how.ha(p), Cut(p, a, d, d + how.how.days, float(how.to_kg_ha[p]))


def _given_up(how: Cutter, now: Made, few: Field) -> Iterator[tuple[Plan, Cut]]:
    """Yield cuts for which one stay of the plan goes to the yard."""
    area, mass = how.yardstick.whole.land.area_ha, now.verdict.mass_kg_ha.mean(axis=0)
    stays = list(_stays(now.plan, how.yardstick.yard))
    stays.sort(key=lambda s: -float(mass[s[1], now.plan[s[0], s[1]]] * area[now.plan[s[0], s[1]]]))
    for m, a, b in stays[:GIVEN_UP]:
        plan, p = now.plan.copy(), int(now.plan[m, a])
        plan[m, a:b] = how.yardstick.yard
        seen = how.made(plan, now.cuts, few)
        fit = _fitting(how, seen, plan, (p,)) if seen is not None else []
        yield from ((plan, c) for c in fit if c.shut_from <= a < c.clear)


def _stays(plan: Plan, yard: int) -> Iterator[tuple[int, int, int]]:
    """Yield mob, first day and end of every stay on a paddock that begins within the plan."""
    for m, row in enumerate(plan):
        for a, b in pairwise([*(np.flatnonzero(np.diff(row)) + 1).tolist(), len(row)]):
            if row[a] != yard:
                yield m, a, b


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
