"""What another stay costs where all that comes after it is planned anew: its price if one really went there.

With all else as planned the later stays, made for the grass that the plan leaves, may come far too early.
The plan itself is held to the same days and planned anew as well: what a search finds anyhow is in both.
"""

from __future__ import annotations

import numpy as np

from browseline.moves.anneal import anneal
from browseline.moves.board.search import key_of
from browseline.moves.form import Plan, Yardstick
from browseline.moves.judge import some_members
from browseline.moves.kernel import Field
from browseline.moves.replan import most_changes, repaired

HELD_USD = 1e6
"""Price of a day that differs where a plan is held: no change is worth it. [USD]"""
TRIES, HOT_USD, COLD_USD, FEW = 300, 30.0, 2.0, 3
"""Small changes of a search, its heat [USD], and members that it looks at. [1]"""
SEARCHES = 40
"""Such searches that a plan must leave time for. [1]"""


def has_time(yardstick: Yardstick) -> bool:
    """Return whether a plan leaves time for such searches: of large farms prices are told as all else is."""
    return most_changes(yardstick) >= SEARCHES * TRIES


def few_of(yardstick: Yardstick) -> Field:
    """Return the members that later stays are planned anew over."""
    return some_members(yardstick.whole, FEW)


def anew(
    yardstick: Yardstick, plan: Plan, other: Plan, stay: tuple[int, int, int], few: Field
) -> Plan | None:
    """Return a plan in which one mob does otherwise on some days, and what comes after is planned anew.

    Parameters
    ----------
    plan, other : int array, shape (mob, day)
        The plan that all keep to before those days; the one that has the mob's days otherwise.
    stay : (int, int, int)
        Mob, first day and end of what it does otherwise. [d]

    Returns
    -------
    int array, shape (mob, day), or None
        None where a hard limit bars it.
    """
    m, a, b = stay
    old, price = np.full_like(plan, -1), np.zeros(plan.shape[1])
    old[:, :a], old[m, a:b], price[:b] = plan[:, :a], other[m, a:b], HELD_USD
    begin = repaired(yardstick, other)
    if not _held(begin, old):
        return None
    found, _ = anneal(begin, yardstick.bars, few, old, price, TRIES, HOT_USD, COLD_USD, key_of(m, b))
    return np.asarray(found) if _held(found, old) else None


def _held(plan: Plan, old: Plan) -> bool:
    return bool(((old < 0) | (plan == old)).all())
