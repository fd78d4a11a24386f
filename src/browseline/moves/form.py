"""The records of a plan: what it is measured by, what the judge says of it, and the season it becomes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from browseline.figures import Figure
from browseline.limits import Face
from browseline.moves.kernel import TERMS, Bars, Field
from browseline.record.state import Stay

Array = NDArray[np.float64]
Plan = NDArray[np.int64]
Firmness = Literal["firm", "likely", "outline"]


@dataclass(frozen=True, slots=True)
class Cut:
    """A hay cut of a plan, in days of the plan: shut from one on, cut on one, clear of hay from one on.

    ``paddock`` is its number, ``to_kg_ha`` the herbage that the cut leaves. [kg DM/ha]
    """

    paddock: int
    shut_from: int
    day: int
    clear: int
    to_kg_ha: float


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """A hay cut that the plan proposes, in one sentence, with hay made, its worth and what it saves.

    ``clear`` is the first day on which the hay is off. ``made`` is dry matter after what is lost in the field
    [kg], ``worth`` its price less what the cut costs [USD], ``saved`` the plan without the cut less the plan
    with it, by the judge [USD].
    """

    paddock: str
    day: date
    clear: date
    says: str
    made: Figure
    worth: Figure
    saved: Figure


@dataclass(frozen=True, slots=True)
class KeptCut:
    """A hay cut that was kept with the plan in force: its paddock, its day, and when it was kept."""

    paddock: str
    day: date
    kept: datetime


@dataclass(frozen=True)
class Yardstick:
    """All that a plan is measured by: the faces of the limits made one, costs, and the herbage.

    ``names`` tells for stay, rest, leave and enter which limit each row of ``bars`` comes from.
    ``figures`` are the costs with their sources. ``whole`` holds every member of the scene. Moves of
    later days come ``sooner_d`` before the time of day of now [d]. ``gone`` (mob, day) tells who is not on
    the farm. ``cuts`` are the hay cuts that the plan itself decided.
    """

    mobs: tuple[str, ...]
    paddocks: tuple[str, ...]
    days: tuple[date, ...]
    faces: tuple[Face, ...]
    names: dict[str, tuple[str, ...]]
    bars: Bars
    whole: Field
    figures: tuple[Figure, ...]
    sooner_d: float = 0.0
    gone: NDArray[np.bool_] | None = None
    cuts: tuple[Cut, ...] = ()

    @property
    def yard(self) -> int:
        """Return the number that stands for the yard."""
        return len(self.paddocks)

    @property
    def members(self) -> int:
        """Return how many members there are."""
        return int(self.whole.mass_kg_ha.shape[0])


@dataclass(frozen=True)
class Verdict:
    """What the judge says of one plan.

    Attributes
    ----------
    kept : bool
        Whether every hard limit is kept.
    amount, usd : array, shape (member, term)
        Terms as in ``kernel.TERMS``: kg of hay for unmet demand, yard days, kg left short, kg entered
        early, days over stay, days short of rest, moves, km walked, kg of cover short at the end,
        days off an open job, days that limits price, paddocks that a follower skips.
    mass_kg_ha : array, shape (member, day + 1, paddock)
        [kg DM/ha]
    """

    kept: bool
    amount: Array
    usd: Array
    mass_kg_ha: Array

    @property
    def total_usd(self) -> Array:
        """Return the cost of each member, shape (member,). [USD]"""
        return np.asarray(self.usd.sum(axis=1))

    @property
    def mean_usd(self) -> float:
        """Return the mean cost over members. [USD]"""
        return float(self.total_usd.mean())

    def part(self, term: str) -> tuple[Array, Array]:
        """Return amount and cost of one term over members, each shape (member,)."""
        i = TERMS.index(term)
        return self.amount[:, i], self.usd[:, i]


@dataclass(frozen=True, slots=True)
class Clash:
    """Limits that contradict each other, no place left, or what costs most: with numbers and ways out."""

    code: str
    mob: str
    begin: datetime
    end: datetime
    says: str
    ways: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class PlannedStay:
    """One stay of the plan: what set its end, the runner-up and why it lost, and how firm it is.

    ``limit`` is the name of the limit that set the end, or empty; ``lost_by`` what the runner-up
    costs more; ``share_kept`` the share of members in which the herbage to leave is kept. ``figures`` are
    those that the reason rests on.
    """

    stay: Stay
    firmness: Firmness
    limit: str
    reason: str
    runner_up: str = ""
    lost: str = ""
    lost_by: Figure | None = None
    share_kept: Figure | None = None
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True)
class Season:
    """The plan in force: stays by mob and day, reasons, costs with ranges, clashes, and its making.

    ``cuts`` are the hay cuts it proposes, ``on_cuts`` what is to be said of cuts where there are none
    or one that was kept is dropped. ``kept`` are those that were kept with it. ``figures`` are those that the
    words of the changes rest on. ``parts`` and ``total`` are what it costs kept to its end, whatever grows.
    ``lived`` is what it costs followed for as many first days as its part tells, then by a hand rule and by
    eye, or kept to its end where it has no part; ``rule_total`` what hand rules and eyes cost from now on.
    """

    made: datetime
    stays: tuple[PlannedStay, ...]
    parts: tuple[Figure, ...]
    total: Figure
    rule_total: Figure
    clashes: tuple[Clash, ...]
    firm_until: datetime
    likely_until: datetime
    seed: int
    iterations: int
    changes: tuple[str, ...] = ()
    changed_days: int = 0
    cuts: tuple[PlannedCut, ...] = ()
    on_cuts: tuple[str, ...] = ()
    kept: tuple[KeptCut, ...] = ()
    figures: tuple[Figure, ...] = ()
    lived: Figure | None = None

    @property
    def own_cuts(self) -> tuple[KeptCut, ...]:
        """Return the cuts that were kept with it; of a plan that was made just now, its own."""
        return self.kept or tuple(KeptCut(cut.paddock, cut.day, self.made) for cut in self.cuts)

    def of(self, mob: str) -> tuple[PlannedStay, ...]:
        """Return the stays of one mob in order of days."""
        return tuple(s for s in self.stays if s.stay.mob == mob)
