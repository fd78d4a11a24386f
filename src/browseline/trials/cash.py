"""A money plan over the members of a projection: one column of cash a member, whatever the plan follows."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from browseline.chain.money_ahead import futures
from browseline.decades import Projection
from browseline.farm.records import Farm
from browseline.ledger.cash import Cash
from browseline.ledger.drawn import drawn, drawn_cash
from browseline.science import finance

Array = npt.NDArray[np.float64]


def cash_of(farm: Farm, ahead: Projection | None, members: tuple[int, ...]) -> Array | None:
    """Return what is left of each year of the plan, shape (year, member); None without a plan. [money]

    Parameters
    ----------
    ahead : Projection or None
        What lines follow; without it their typed counts stand.
    members : tuple of int
        Those of the projection, so that two designs meet the same luck member by member.
    """
    found = drawn_of(farm, ahead, members)
    plan = farm.money
    if found is None or plan is None:
        return None
    return _wide(found.cash, plan.years, len(members))


def drawn_of(farm: Farm, ahead: Projection | None, members: tuple[int, ...]) -> Cash | None:
    """Return a plan's money over members, line by line; None without a plan."""
    plan = farm.money
    if plan is None:
        return None
    given = futures(farm, plan, ahead)
    given = drawn(plan, farm.seed, given.follows, given.unknown, members)
    return drawn_cash(plan, (), given)


def line_worth(farm: Farm, ahead: Projection | None, members: tuple[int, ...], line: str) -> Array:
    """Return what a line of the plan is worth today, shape (member,). [money]"""
    found, plan = drawn_of(farm, ahead, members), farm.money
    if found is None or plan is None or line not in found.lines:
        return np.zeros(len(members))
    cash = _wide(found.lines[line], plan.years, len(members))
    return finance.present_value(cash, plan.discount.to("1"))


def _wide(cash: Array, years: int, members: int) -> Array:
    return np.array(np.broadcast_to(cash.reshape(years, -1), (years, members)))
