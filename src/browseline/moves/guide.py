"""What the members of a sward grow on average: what the search is guided by; the judge has the last word."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from browseline.moves.kernel import Field
from browseline.science import grazing
from browseline.science.compiled import bare

Array = NDArray[np.float64]


def mean_growth(field: Field, mass_kg_ha: Array) -> Array:
    """Return the mean growth less loss over members at some masses.

    Parameters
    ----------
    mass_kg_ha : array, shape (mass,)
        Evenly spaced. [kg DM/ha]

    Returns
    -------
    array, shape (paddock, day, mass)
        [kg DM/ha/d]
    """
    count, days = len(field.land.area_ha), field.days.typed_kg_ha_d.shape[0]
    net = np.empty((count, days, len(mass_kg_ha)))
    _net_at(field, mass_kg_ha, net)
    return net


@bare
def _net_at(field, mass, net):  # type: ignore[no-untyped-def]
    """Fill the mean growth less loss of each paddock, day and mass. [kg/ha/d]"""
    paddocks, days, grid = net.shape
    members = field.mass_kg_ha.shape[0]
    for k in range(paddocks * days):
        p, t = k // days, k % days
        c = field.land.curve[p]
        for j in range(grid):
            total = 0.0
            for s in range(members):
                total += grazing.paddock_day(
                    mass[j], 0.0, 0.0, np.inf, field.days.typed_kg_ha_d[t, p], field.fertility[s, p],
                    field.days.potential_kg_ha_d[c, s], field.days.loss_per_d[c, s], t, field.land.share[p],
                    field.leaf,
                )[0] - mass[j]  # fmt: skip
            net[p, t, j] = total / members
