"""What stands on every paddock now and what would grow: the answer of the sward arrow."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from browseline.figures import Figure
from browseline.science import grazing
from browseline.sward.numbers import SwardNumbers, share_eaten

Array = NDArray[np.float64]
SOON_D = 45
"""Days within which most mobs eat a paddock down. [d]"""
Known = Literal["weather", "typed", ""]


@dataclass(frozen=True)
class Herbage:
    """Herbage of members × paddocks at ``now``, and the days ahead in steps of 24 h from ``now``.

    Attributes
    ----------
    mass_kg_ha : array, shape (member, paddock)
        Now; NaN-free, but worth nothing where ``read`` is False. [kg DM/ha]
    read : bool array, shape (paddock,)
        Whether a height was ever read.
    ahead : grazing.Days
        What the coming days bring, the first from ``now``.
    growth_kg_ha_d : array, shape (member, paddock)
        Growth of the first day ahead on what stands now. [kg DM/ha/d]
    history_kg_ha : array, shape (member, day + 1, paddock)
        From local midnight of ``first_day``; before a paddock's newest height it repeats that height.
    water_frac : array, shape (member, day, paddock) or None
        Plant-available water over capacity on past and coming calendar days.
    deficit_mm : array, shape (member, paddock) or None
        Soil water below field capacity today. [mm]
    bare : tuple of Figure or None, shape (paddock,)
        The bare share that was taken off since the height, where a look found one. [%]
    """

    now: datetime
    paddocks: tuple[str, ...]
    numbers: tuple[SwardNumbers, ...]
    heights: tuple[Figure | None, ...]
    growth_from: tuple[Known, ...]
    read: NDArray[np.bool_]
    mass_kg_ha: Array
    fertility: Array
    land: grazing.Paddocks
    leaf: grazing.Leaf
    ahead: grazing.Days
    growth_kg_ha_d: Array
    first_day: date
    history_kg_ha: Array
    deficit_mm: Array | None = None
    bare: tuple[Figure | None, ...] = ()

    @property
    def horizon_d(self) -> int:
        """Return how many days ahead are known. [d]"""
        return int(self.ahead.typed_kg_ha_d.shape[0])

    @property
    def members(self) -> int:
        """Return how many members there are."""
        return int(self.mass_kg_ha.shape[0])

    def index(self, paddock: str) -> int:
        """Return the place of a paddock on the axis.

        Raises
        ------
        ValueError
            If no paddock has that id.
        """
        return self.paddocks.index(paddock)

    def height_now(self, i: int) -> Figure:
        """Return how high a paddock stands now: its mass by the members, over its mass per height. [cm]"""
        numbers, per_cm = self.numbers[i], self.numbers[i].mass_per_height
        mass = np.quantile(self.mass_kg_ha[:, i], (0.1, 0.5, 0.9), method="closest_observation")
        low, likely, high = (numbers.height_cm(float(m)) for m in mass)
        formula = f"{mass[1]:.4g} kg/ha ÷ {per_cm.value or 0:.4g} kg/ha/cm"
        bare = self.bare[i] if self.bare else None
        parts = tuple(f for f in (self.heights[i], bare, per_cm) if f is not None)
        return Figure("height_now", likely, "cm", low, high, formula=formula, parts=parts, about=numbers.kind)


def still(herbage: Herbage) -> Herbage:
    """Return the same herbage on days on which not a leaf grows."""
    days = herbage.ahead
    quiet = days._replace(typed_kg_ha_d=np.zeros_like(days.typed_kg_ha_d))
    return _with_ahead(herbage, quiet)


def _with_ahead(herbage: Herbage, days: grazing.Days) -> Herbage:
    from dataclasses import replace

    return replace(herbage, ahead=days)


def left_alone(herbage: Herbage) -> Array:
    """Return every paddock left alone, shape (member, day + 1, paddock), now first. [kg DM/ha]"""
    nobody = grazing.stays_of(herbage.horizon_d, [], [], [], [], [])
    none = np.zeros((1, herbage.horizon_d, 0))
    run = grazing.run(
        herbage.mass_kg_ha, herbage.fertility, none, herbage.land, herbage.ahead, nobody, herbage.leaf
    )
    return np.asarray(run.mass_kg_ha)


def grazed_everywhere(herbage: Herbage, demand_kg_d: float, eaten_frac: Array) -> Array:
    """Return the herbage of each paddock if a mob went there now and stayed.

    Parameters
    ----------
    demand_kg_d : float
        What the mob eats a day. [kg/d]
    eaten_frac : array, shape (paddock,)
        Share eaten of what disappears. [1]

    Returns
    -------
    array, shape (member, day + 1, paddock)
        Each paddock as if it alone were grazed. [kg DM/ha]
    """
    count, days = len(herbage.paddocks), herbage.horizon_d
    each = np.arange(count)
    stays = grazing.stays_of(days, each, each, np.zeros(count), np.full(count, float(days)), eaten_frac)
    demand = np.full((1, days, count), demand_kg_d)
    run = grazing.run(
        herbage.mass_kg_ha, herbage.fertility, demand, herbage.land, herbage.ahead, stays, herbage.leaf
    )
    return run.mass_kg_ha


@dataclass(frozen=True)
class Ending:
    """When a mob would have eaten each paddock down to a height.

    Attributes
    ----------
    days : array, shape (member, paddock)
        From ``now``; infinite where growth keeps up. [d]
    eaten_frac : array, shape (paddock,)
        The share eaten that goes with a stay of that length. [1]
    """

    days: Array
    eaten_frac: Array


def _first_shares(herbage: Herbage, demand_kg_d: float, leave_kg_ha: Array, been_d: Array) -> Array:
    """Return the shares to begin with, shape (paddock,): those of the shortest stay there can be. [1]

    That is the stay on which not a leaf grows and the least is eaten; the true one is no shorter, so its
    share is no higher and none is passed over.
    """
    above = np.maximum(np.median(herbage.mass_kg_ha, axis=0) - leave_kg_ha, 0.0) * herbage.land.area_ha
    shares = []
    for numbers, feed_kg, been in zip(herbage.numbers, above, been_d, strict=True):
        least_eaten = share_eaten(numbers, np.inf).value or 1.0
        stay_d = float(feed_kg) * least_eaten / demand_kg_d + float(been)
        shares.append(share_eaten(numbers, stay_d).value or 1.0)
    return np.array(shares)


def _eaten_down(herbage: Herbage, demand_kg_d: float, eaten_frac: Array, leave_kg_ha: Array) -> Array:
    """Return when a mob has each paddock down to a height, shape (member, paddock). [d]

    All the days ahead are looked at only where a few weeks do not eat every paddock down.
    """
    days = np.full((herbage.members, len(herbage.paddocks)), np.inf)
    for seen in sorted({min(SOON_D, herbage.horizon_d), herbage.horizon_d}):
        mass = grazed_everywhere(_until(herbage, seen), demand_kg_d, eaten_frac)
        days = grazing.crossing_d(np.moveaxis(mass, 1, 2), np.broadcast_to(leave_kg_ha, days.shape))
        if np.all(np.isfinite(days)):
            break
    return days


def _until(herbage: Herbage, days: int) -> Herbage:
    """Return the same herbage of which only the first days ahead are known."""
    if days >= herbage.horizon_d:
        return herbage
    ahead = herbage.ahead
    first = (
        ahead.potential_kg_ha_d[:, :, :days], ahead.loss_per_d[:, :, :days], ahead.typed_kg_ha_d[:days],
        ahead.cut_to_kg_ha[:days],
    )  # fmt: skip
    return _with_ahead(herbage, grazing.Days(*(np.ascontiguousarray(x) for x in first)))


def days_of_grass(herbage: Herbage, demand_kg_d: float, leave_kg_ha: Array, been_d: Array) -> Ending:
    """Return the days until a mob has each paddock down to what is to be left.

    The share eaten depends on the length of the stay and the stay on the share: both are found
    together, the longer stay with the lower share where two would do.

    Parameters
    ----------
    demand_kg_d : float
        [kg/d]
    leave_kg_ha : array, shape (paddock,)
        [kg DM/ha]
    been_d : array, shape (paddock,)
        Days the mob has stood there already. [d]
    """
    count = len(herbage.paddocks)
    eaten = _first_shares(herbage, demand_kg_d, leave_kg_ha, been_d)
    days = np.full((herbage.members, count), np.inf)
    for _ in range(7):
        days = _eaten_down(herbage, demand_kg_d, eaten, leave_kg_ha)
        stay = np.quantile(days, 0.5, axis=0, method="closest_observation") + been_d
        new = np.array(
            [share_eaten(n, float(s)).value or 1.0 for n, s in zip(herbage.numbers, stay, strict=True)]
        )
        if np.all(new >= eaten):
            break
        eaten = np.minimum(new, eaten)
    return Ending(days, eaten)
