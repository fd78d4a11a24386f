"""What each rule of the farm is worth: the plan without it against the plan with it, judged the same way.

The plan with every rule is improved until small changes gain no more. Each other begins from it and is given
small changes again, once more where a difference stands out. What a search leaves to luck is told beside it:
how far the last rounds of single seeds lie apart, what they still gained, or what a plan found without a rule
gains once it keeps the rule again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from browseline.figures import Figure
from browseline.limits import Scene, faces
from browseline.moves.explain import HALF
from browseline.moves.form import Plan, Season, Verdict, Yardstick
from browseline.moves.halved import HALF as HALF_OF
from browseline.moves.herd import with_coming
from browseline.moves.judge import judge, spread
from browseline.moves.propose import ITERATIONS, Keeping, polished, propose
from browseline.moves.replan import keeping, repaired
from browseline.moves.what_if_cases import Case, cases
from browseline.moves.yardstick import yardstick_of
from browseline.units import amount_words
from browseline.words import linked, say

SEEDS = 3
ROUNDS, AGAIN = 6, 2
"""Most rounds of small changes to the plan with every rule, and those of each plan without one. [1]"""
SETTLED = 0.002
"""A round that gains less than this share of a plan's cost gains no more. [1]"""
SHORT = 1500
"""Small changes of the searches that price a way out of a clash. [1]"""


@dataclass(frozen=True, slots=True)
class Worth:
    """One rule left out: its key, what is done, one sentence, what it saves over the days planned, if clear.

    ``usd`` is positive where the plan gets cheaper without the rule; ``clear`` says that it is more than
    luck.
    """

    key: str
    what: str
    says: str
    usd: Figure
    clear: bool


@dataclass(frozen=True, slots=True)
class Worths:
    """What every rule is worth, and how far luck alone moves a plan's cost. [USD]

    Attributes
    ----------
    base, own : Figure
        What the plan with every rule costs, and the plan that it was improved from; no hay cuts. [USD]
    mended : bool
        Whether that one could not be kept as it was: a hard limit bars some of it by now.
    plan : int array, shape (mob, day)
        The plan with every rule.
    """

    days: int
    base: Figure
    noise: Figure
    rules: tuple[Worth, ...]
    own: Figure
    mended: bool
    plan: Plan


@dataclass(frozen=True)
class _Round:
    """One round of small changes: the plan it gave, its verdict, and the cost of each seed. [USD]"""

    plan: Plan
    verdict: Verdict
    usd: tuple[float, ...]


def worths(scene: Scene, old: Season, iterations: int = ITERATIONS) -> Worths:
    """Return what each rule of a farm is worth on the days of a plan.

    Parameters
    ----------
    old : Season
        The plan in force, or any: every search begins from it.
    iterations : int
        Small changes of each search. [1]
    """
    scene = with_coming(scene)
    yardstick, seed = yardstick_of(scene, faces(scene)), scene.farm.seed
    held = keeping(scene, yardstick, old).old
    own = repaired(yardstick, held)
    begin = propose(yardstick, seed, iterations, None, (own,)).plan
    rounds = [_Round(begin, judge(yardstick, begin), ())]
    while len(rounds) <= ROUNDS and not _settled(rounds):
        rounds.append(_round(yardstick, rounds[-1], seed + SEEDS * len(rounds), iterations))
    best, noise = rounds[-1], _noise(rounds, len(yardstick.days))
    found = [
        (case, _without(case, best, noise, seed, iterations)) for case in cases(scene, yardstick, best.plan)
    ]
    found = [(case, one) for case, one in found if one.verdict.kept]
    back = [_back(yardstick, case, one, seed, iterations) for case, one in found if _apart(best, one, noise)]
    base = min((best, *back), key=lambda one: _usd(one.verdict))
    noise = _with_back(noise, best, base)
    worth = tuple(_worth(case, _not_worse(case, one, base), base.verdict, noise) for case, one in found)
    total = spread("plan_total", base.verdict.total_usd, "USD")
    was = spread("plan_total", judge(yardstick, own).total_usd, "USD", about="own")
    mended = bool(np.any((held >= 0) & (held != own) & ~yardstick.bars.off[:, : held.shape[1]]))
    return Worths(len(yardstick.days), total, noise, worth, was, mended, base.plan)


def _round(yardstick: Yardstick, was: _Round, seed: int, iterations: int) -> _Round:
    """Return the cheapest of a few seeds' plans that all begin from the same; none costs more than that."""
    if not was.verdict.kept:
        return was
    none = Keeping.nothing(yardstick)
    plans = [polished(was.plan, yardstick, none, iterations, seed + n) for n in range(SEEDS)]
    verdicts = [judge(yardstick, plan) for plan in plans]
    usd = tuple(_usd(verdict) for verdict in verdicts)
    n = int(np.argmin(usd))
    if usd[n] >= was.verdict.mean_usd:
        return _Round(was.plan, was.verdict, usd)
    return _Round(plans[n], verdicts[n], usd)


def _usd(verdict: Verdict) -> float:
    return verdict.mean_usd if verdict.kept else np.inf


def _settled(rounds: list[_Round]) -> bool:
    """Return whether the last two rounds gained no more than a trifle."""
    if len(rounds) <= AGAIN:
        return False
    gained = _usd(rounds[-1 - AGAIN].verdict) - _usd(rounds[-1].verdict)
    return gained <= SETTLED * abs(_usd(rounds[-1].verdict))


def _noise(rounds: list[_Round], days: int) -> Figure:
    """Return how far luck moves a cost: what the last rounds gained, or how far their seeds lie apart."""
    last = rounds[-AGAIN:]
    gained = _usd(rounds[max(len(rounds) - 1 - AGAIN, 0)].verdict) - _usd(rounds[-1].verdict)
    costs = max((one.usd for one in last if one.usd), key=lambda usd: max(usd) - min(usd), default=(0.0,))
    apart = max(costs) - min(costs)
    formula = f"max − min ({', '.join(f'{cost:.0f}' for cost in costs)})"
    value = max(apart, gained) if np.isfinite(max(apart, gained)) else 0.0
    return Figure("plan_noise", value, "USD", formula=formula if apart >= gained else f"{gained:.2f} USD",
                  about=f"{days} d")  # fmt: skip


def _without(case: Case, best: _Round, noise: Figure, seed: int, iterations: int) -> _Round:
    """Return the cheapest plan found without a rule: one round of changes, another where it stands out."""
    found = _begun(case)
    for n in range(AGAIN):
        found = _round(case.yardstick, found, seed + SEEDS * n, iterations)
        if not _apart(best, found, noise):
            break
    return found


def _begun(case: Case) -> _Round:
    """Return the plan to begin from without a rule, repaired where it cannot be kept so."""
    verdict = judge(case.yardstick, case.begin)
    if verdict.kept:
        return _Round(case.begin, verdict, ())
    plan = repaired(case.yardstick, case.begin)
    return _Round(plan, judge(case.yardstick, plan), ())


def _apart(best: _Round, found: _Round, noise: Figure) -> bool:
    return abs(_usd(best.verdict) - _usd(found.verdict)) > max(noise.value or 0.0, HALF)


def _back(yardstick: Yardstick, case: Case, found: _Round, seed: int, iterations: int) -> _Round:
    """Return the plan found without a rule, made to keep it and changed again: was it luck, not the rule?"""
    plan = found.plan
    if case.yardstick.yard != yardstick.yard:
        whole = case.yardstick.paddocks[-1].removesuffix(f"/{HALF_OF}")
        part = yardstick.paddocks.index(whole)
        plan = np.where(plan == yardstick.yard, part, np.minimum(plan, yardstick.yard))
    plan = repaired(yardstick, np.asarray(plan, np.int64))
    return _round(yardstick, _Round(plan, judge(yardstick, plan), ()), seed, iterations)


def _with_back(noise: Figure, best: _Round, base: _Round) -> Figure:
    """Return the luck of a search, no less than what a plan made without a rule still gained with it."""
    gained = _usd(best.verdict) - _usd(base.verdict)
    if not gained > (noise.value or 0.0):
        return noise
    formula = f"{best.verdict.mean_usd:.2f} − {base.verdict.mean_usd:.2f}"
    return replace(noise, value=gained, formula=formula)


def _not_worse(case: Case, found: _Round, base: _Round) -> Verdict:
    """Return what the plan without a rule costs; the plan with it, where that fits and is cheaper.

    What only frees a plan costs no more than the plan with the rule, which may be kept; a net may stay down.
    """
    known = [found.verdict, *([base.verdict] if case.freed else [])]
    if case.yardstick.yard == base.verdict.mass_kg_ha.shape[2]:
        known.append(judge(case.yardstick, base.plan))
    return min(known, key=_usd)


def _worth(case: Case, found: Verdict, base: Verdict, noise: Figure) -> Worth:
    usd = spread("plan_worth", base.total_usd - found.total_usd, "USD", about=case.key)
    usd = replace(usd, formula=f"{base.mean_usd:.2f} − {found.mean_usd:.2f}")
    value = usd.value or 0.0
    clear = abs(value) > max(noise.value or 0.0, HALF)
    what = say(f"moves.if.{case.key.partition('-')[0]}", **case.fields)
    how = ("saves" if value > 0 else "costs") if clear else "level"
    cost = linked(amount_words(abs(value), usd.unit), usd)
    return Worth(case.key, what, say(f"moves.if.{how}", what=what, cost=cost), usd, clear)


# ---------------------------------------------------------------- a way out of a clash


def _runs(yardstick: Yardstick, seed: int, iterations: int, begin: Plan) -> list[Verdict]:
    """Return what the plans of a few seeds cost that all begin from the same; none costs more than that."""
    none, first = Keeping.nothing(yardstick), judge(yardstick, begin)
    found = []
    for n in range(SEEDS):
        plan = polished(begin, yardstick, none, iterations, seed + n) if first.kept else begin
        found.append(min(judge(yardstick, plan), first, key=_usd))
    return found


def _best(runs: list[Verdict]) -> Verdict:
    return min(runs, key=lambda run: run.mean_usd)


def cheaper(yardstick: Yardstick, case: Yardstick, plan: Plan, begin: Plan, seed: int) -> Figure:
    """Return by how much a plan gets cheaper on another yardstick, by a short search on both. [USD]

    Parameters
    ----------
    plan, begin : int array, shape (mob, day)
        The plan, and what it is on the other yardstick.
    """
    with_it, without = _best(_runs(yardstick, seed, SHORT, plan)), _best(_runs(case, seed, SHORT, begin))
    usd = spread("plan_worth", with_it.total_usd - without.total_usd, "USD")
    return replace(usd, formula=f"{with_it.mean_usd:.2f} − {without.mean_usd:.2f}")
