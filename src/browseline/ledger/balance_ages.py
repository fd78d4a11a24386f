"""The balance as the trees grow: supply and spare when they are 0, 5, 10 and 15 years old.

What a paddock yields in the shade follows the table of yields under shade, set against what it yields in
today's light. Ground, stock and weather stay as they are. A paddock without trees keeps its supply.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.farm.records import Paddock
from browseline.figures import Figure, Origin
from browseline.ledger.balance_months import MonthsBalance, Supply
from browseline.limits import Scene
from browseline.sward.numbers import GROUPS
from browseline.sward.shade import cover_factor

Array = npt.NDArray[np.float64]
LEAST_FALL = 0.005
TABLE = (Origin("mercier2020", "forage.md section 2, yields under shade", "placeholder"),)


@dataclass(frozen=True, eq=False)
class AgedLight:
    """Light of the season by age of the trees, shape (age, paddock); ``now`` is today's, (paddock,). [1]"""

    ages: tuple[int, ...]
    paddocks: tuple[str, ...]
    light_frac: Array
    now_frac: Array


@dataclass(frozen=True, slots=True)
class AtAge:
    """The balance with all trees of an age: supply, spare, and the paddocks that yield less than unshaded.

    ``kept`` is each paddock's share of its yield in full light. [kg DM, 1]
    """

    age: int
    supply: Figure
    spare: Figure | None
    kept: dict[str, float]

    @property
    def fallen(self) -> tuple[str, ...]:
        """Return the paddocks that yield less than in full light."""
        return tuple(p for p, share in self.kept.items() if share < 1 - LEAST_FALL)


def kept_share(shares: Sequence[float], light_frac: float) -> float:
    """Return the share of its yield in full light that a sward keeps under trees. [1]

    Parameters
    ----------
    shares : sequence of float
        Of the groups of the sward, by mass. [1]
    light_frac : float
        Of the season. [1]

    References
    ----------
    mercier2020 and forage.md section 2: central values, straight between
    """
    whole = sum(shares)
    parts = (share * cover_factor(group, 1 - light_frac) for group, share in zip(GROUPS, shares, strict=True))
    return sum(parts) / whole if whole > 0 else 1.0


def balance_by_age(scene: Scene, made: MonthsBalance, aged: AgedLight) -> tuple[AtAge, ...]:
    """Return the balance for each age of the trees; empty where the supply of today is not known.

    Parameters
    ----------
    scene : Scene
    made : MonthsBalance
        Of today.
    aged : AgedLight
        Of the paddocks on the map.
    """
    if made.supply is None or not made.supplies:
        return ()
    return tuple(_at_age(scene, made, aged, number) for number in range(len(aged.ages)))


def _at_age(scene: Scene, made: MonthsBalance, aged: AgedLight, number: int) -> AtAge:
    kept: dict[str, float] = {}
    total = today = 0.0
    for one in made.supplies:
        then, now = _shares(scene, one, aged, number)
        kept[one.paddock] = then
        own = one.of.value or 0.0 if one.of is not None else 0.0
        total, today = total + own * then / now, today + own
    # Over members the sum of the paddocks has a middle of its own: ages change that one.
    if made.supply is not None and today > 0:
        total *= (made.supply.value or 0.0) / today
    age = aged.ages[number]
    parts = tuple(one.of for one in made.supplies if one.of is not None)
    supply = Figure("supply", total, "kg", origins=TABLE, parts=parts, about=str(age))
    spare = None
    if made.need is not None:
        left = total - (made.need.value or 0.0)
        formula = f"{total:.6g} kg − {made.need.value:.6g} kg"
        spare = Figure("feed_spare", left, "kg", formula=formula, parts=(supply, made.need), about=str(age))
    return AtAge(age, supply, spare, kept)


def _shares(scene: Scene, one: Supply, aged: AgedLight, number: int) -> tuple[float, float]:
    """Return the share of full yield that a paddock keeps at an age, and that it keeps today; 1 off map."""
    paddock = scene.paddock(one.paddock)
    at = _place(aged, paddock) if paddock is not None else None
    if at is None or one.paddock not in scene.herbage.paddocks:
        return 1.0, 1.0
    shares = scene.herbage.numbers[scene.herbage.paddocks.index(one.paddock)].shares
    then, now = (float(x) for x in (aged.light_frac[number, at], aged.now_frac[at]))
    return kept_share(shares, then), kept_share(shares, now)


def _place(aged: AgedLight, paddock: Paddock) -> int | None:
    own = (paddock.id, *paddock.parents)
    return next((aged.paddocks.index(p) for p in own if p in aged.paddocks), None)
