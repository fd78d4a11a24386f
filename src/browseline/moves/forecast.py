"""What a plan counts on: a few members that stand for all, each with mildly less growth than it has.

A plan that is made anew each week loses little in a common year by counting on less, and is not caught out in
a poor one. Several members, not their mean: how far herbage may lie about the mean is what keeps a plan off a
paddock that is only just tall enough. The members themselves stay as they are for the judge: the share
only steers the search.

References
----------
derived_here, planner.md 5: 0.88 of the mean growth, fixed beforehand, with weekly replanning
"""

from __future__ import annotations

from browseline.moves.judge import some_members
from browseline.moves.kernel import Field

PESSIMISTIC = 0.88
"""Share of the growth that a plan counts on. [1]"""
MEMBERS = 5


def forecast_of(whole: Field, share: float = PESSIMISTIC, members: int = MEMBERS) -> Field:
    """Return what a plan counts on.

    Parameters
    ----------
    whole : Field
        All members.
    share : float
        Of each one's potential growth. [1]
    members : int
        How many, evenly spaced from the poorest to the richest in grass.
    """
    few = some_members(whole, members)
    less = few.days._replace(potential_kg_ha_d=few.days.potential_kg_ha_d * share)
    return few._replace(days=less)
