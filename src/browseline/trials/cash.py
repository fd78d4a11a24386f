"""A money plan over the members of a projection: one column of cash a member, whatever the plan follows."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from browseline.chain.money_ahead import futures
from browseline.decades import Projection
from browseline.farm.records import Farm
from browseline.ledger.drawn import drawn, drawn_cash

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
    plan = farm.money
    if plan is None:
        return None
    given = futures(farm, plan, ahead)
    given = drawn(plan, farm.seed, given.follows, given.unknown, members)
    cash = drawn_cash(plan, (), given).cash
    return np.array(np.broadcast_to(cash.reshape(plan.years, -1), (plan.years, len(members))))
