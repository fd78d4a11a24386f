"""What if: what each rule of the farm is worth in the plan, as sentences with their numbers."""

from __future__ import annotations

from collections.abc import Iterator

from browseline.chain.in_force import plan_in_force
from browseline.chain.look import Picture
from browseline.chain.plan_costs import span_words
from browseline.figures import money_words
from browseline.ledger.account import Account
from browseline.ledger.facts import counted
from browseline.moves.form import Plan, Season
from browseline.moves.what_if import Worths
from browseline.words import joined, linked, say

ITERATIONS = 1_500
SCHEMA, NAME = "browseline/what-if/1", "what-if"
APART = "hay-"
"""A cut is told in sentences of its own, whatever it is worth."""


def what_if_page(picture: Picture, made: Season | None = None, iterations: int = ITERATIONS) -> Account:
    """Return what every rule that can be left out is worth over the days of a plan.

    Parameters
    ----------
    made : Season, optional
        The plan to begin from; else the one in force.
    iterations : int
        Small changes of each search; more leave less to luck. [1]
    """
    from browseline.moves.what_if import SEEDS

    found = _found(picture, made, iterations)
    if found is None:
        return Account(SCHEMA, NAME, (say("account.what_if.no_plan"),))
    head = say("account.what_if.head", days=_count("plan_days", found.days, "d"),
               cost=money_words(found.base), span=span_words(found.base, picture.farm.units))  # fmt: skip
    luck = say("account.what_if.luck", noise=money_words(found.noise), seeds=_count("plan_seeds", SEEDS),
               changes=_count("plan_changes", iterations))  # fmt: skip
    told = (_against(found), *_told(found))
    figures = (found.base, found.own, found.noise, *(rule.usd for rule in found.rules))
    return Account(SCHEMA, NAME, (head, *told, luck, say("account.what_if.how")), figures)


def improved_plans(picture: Picture, made: Season | None = None, iterations: int = ITERATIONS) -> list[Plan]:
    """Return the plan against which rules are held, for the season to choose from; empty if there is none.

    Parameters
    ----------
    made : Season, optional
        The plan to begin from; else the one in force.
    iterations : int
        Small changes of each search. [1]

    Returns
    -------
    list of int array, shape (mob, day)
    """
    found = _found(picture, made, iterations)
    return [found.plan] if found is not None else []


def _found(picture: Picture, made: Season | None, iterations: int) -> Worths | None:
    """Return what every rule is worth, found once for each picture; None without a plan or animals."""
    old = made if made is not None else plan_in_force(picture)
    if old is None or not any(mob.head for mob in picture.scene.mobs):
        return None
    from browseline.moves.what_if import worths

    key = ("what_if", tuple((s.stay.mob, s.stay.place, s.stay.begin) for s in old.stays), iterations)
    return picture.scene.once(key, lambda: worths(picture.scene, old, iterations))


def _against(found: Worths) -> str:
    """Return what the plan is that rules are held against, and how it may be had."""
    if found.mended:
        return say("account.what_if.against_mended", own=money_words(found.own))
    better = (found.own.value or 0.0) - (found.base.value or 0.0) >= 0.5
    return say(f"account.what_if.against_{'better' if better else 'own'}", own=money_words(found.own))


def _told(found: Worths) -> Iterator[str]:
    """Yield what stands out, the dearest rule first, then in one sentence what does not."""
    clear = [rule for rule in found.rules if rule.clear or rule.key.startswith(APART)]
    yield from (rule.says for rule in sorted(clear, key=lambda rule: -abs(rule.usd.value or 0.0)))
    level = [rule.what for rule in found.rules if rule not in clear]
    if level:
        yield say("account.what_if.level", rules=joined(level, "; "))


def _count(name: str, number: int, unit: str = "1") -> str:
    return linked(str(number), counted(name, number, unit, formula=str(number)))
