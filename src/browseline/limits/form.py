"""The one form of every limit, and the scene that every limit looks at.

A limit answers two askers. A person asks ``bites``: for one mob in one paddock, when does it bite
(earliest, likely, latest over the members), why in one sentence, what to do, what one, two, three
days late cost. The planner asks ``face``: what the calendar shuts, the longest stay, the rest by
kind, and a price per unit of breach for what grass and weather decide. Neither asker knows a limit
by name: the files of this folder are found by ``limits.known``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Literal, TypeVar, cast
from zoneinfo import ZoneInfo

import numpy as np

from browseline.farm.records import Farm, Paddock
from browseline.figures import Figure, Mark, weakest
from browseline.record.state import MobState, State
from browseline.tables import Row

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from browseline.canopy.shade import TreeShade
    from browseline.events import Event
    from browseline.sward import Herbage
    from browseline.weather import Weather

T = TypeVar("T")
Hardness = Literal["hard", "soft", "question"]


@dataclass(frozen=True, slots=True)
class Moment:
    """When a limit bites: 80 % of the members lie between ``earliest`` and ``latest``."""

    earliest: datetime
    likely: datetime
    latest: datetime

    @classmethod
    def at(cls, instant: datetime) -> Moment:
        """Return a moment without a range."""
        return cls(instant, instant, instant)

    @classmethod
    def after(cls, begin: datetime, days: NDArray[np.float64]) -> Moment | None:
        """Return the moment so many days after ``begin``; None if fewer than half ever get there.

        Parameters
        ----------
        days : array, shape (member,)
            Days until it bites, infinite where it does not. [d]
        """
        low, middle, high = np.quantile(days, (0.1, 0.5, 0.9), method="closest_observation")
        if not np.isfinite(middle):
            return None
        top = high if np.isfinite(high) else np.max(days[np.isfinite(days)])
        return cls(*(begin + timedelta(days=float(d)) for d in (low, middle, max(top, middle))))


@dataclass(frozen=True, slots=True)
class Late:
    """What some days late cost: feed, trees, gain, money and height, and the risk in words."""

    days: int
    feed_kg: Figure | None = None
    trees_bitten: Figure | None = None
    gain_kg: Figure | None = None
    money: Figure | None = None
    height: Figure | None = None
    risk: str = ""


@dataclass(frozen=True, slots=True)
class Way:
    """One way out of a clash: its name, a sentence with its numbers, and the figures behind them."""

    key: str
    says: str
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class Clash:
    """Limits that ask opposite things of a mob: which they are, their numbers, and the ways out.

    ``limits`` are names of limits; ``key`` tells how they contradict each other.
    """

    key: str
    mob: str
    limits: tuple[str, ...]
    says: str
    ways: tuple[Way, ...] = ()
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class Bite:
    """One limit for one mob in one paddock.

    ``no_growth`` is the date if not a leaf grew: beside every date that counts growth.
    ``clash`` holds what contradicts this limit; it is filled where all limits are seen together.
    """

    limit: str
    mob: str
    paddock: str
    moment: Moment | None
    hardness: Hardness
    because: str
    do: str
    figures: tuple[Figure, ...] = ()
    late: tuple[Late, ...] = ()
    no_growth: datetime | None = None
    short: str = ""
    clash: tuple[Clash, ...] = ()
    reserve: tuple[Mark, ...] = ()

    @property
    def mark(self) -> Mark:
        """Return the weakest mark of the figures that the bite rests on."""
        return weakest([*(f.mark for f in self.figures), *self.reserve])


@dataclass(frozen=True)
class Face:
    """What one limit tells the planner, for mobs × days × paddocks. None is "no word on it".

    Attributes
    ----------
    closed : bool array, shape (mob, day, paddock)
        Known in advance; never broken by choice.
    no_move : bool array, shape (day,)
        Days on which nobody can move animals.
    longest_stay_d : array, shape (mob, paddock)
        Longest stay; a day beyond costs ``over_stay_usd_d``, or is never chosen if hard. [d]
    rest_d : array, shape (mob, mob)
        Days a paddock is empty between the first mob leaving and the second coming. [d]
    leave_kg_ha : array, shape (mob, paddock)
        Herbage to leave; each kg less costs ``below_usd_kg``. [kg DM/ha]
    enter_kg_ha : array, shape (mob, paddock)
        Herbage to wait for; each kg less on entry costs ``early_usd_kg``. [kg DM/ha]
    fit_from_d : array, shape (mob, paddock)
        Days from now until rest after animals of the past is over; coming sooner is short of rest. [d]
    own_rest_d : array, shape (mob, paddock)
        Days a paddock is empty between two stays of the same mob; 0 where there is no such rest. [d]
    wait_d : array, shape (mob, paddock)
        Rest that a paddock left today would need before the mob is wanted back; NaN where not known.
        It bars nothing: it is held against what other limits ask. [d]
    dear_usd_d : array, shape (mob, day, paddock)
        What a day there costs, as far as it is known in advance: heat, water carried, grass rooted. [USD]
    dear_share : array, shape (mob, day, paddock)
        How likely such a day is where that is not certain: the cost holds it already. [1]
    dear_by_head : bool
        Whether half the head would cost half as much.
    housed, gone : bool array, shape (mob, day)
        Days on which a mob is fed in the yard by agreement, and on which it is not on the farm.
    """

    closed: NDArray[np.bool_] | None = None
    no_move: NDArray[np.bool_] | None = None
    longest_stay_d: NDArray[np.float64] | None = None
    over_stay_usd_d: float = 0.0
    stay_is_hard: bool = False
    rest_d: NDArray[np.float64] | None = None
    short_rest_usd_d: float = 0.0
    rest_is_hard: bool = False
    leave_kg_ha: NDArray[np.float64] | None = None
    below_usd_kg: float = 0.0
    enter_kg_ha: NDArray[np.float64] | None = None
    early_usd_kg: float = 0.0
    fit_from_d: NDArray[np.float64] | None = None
    own_rest_d: NDArray[np.float64] | None = None
    wait_d: NDArray[np.float64] | None = None
    dear_usd_d: NDArray[np.float64] | None = None
    dear_share: NDArray[np.float64] | None = None
    dear_by_head: bool = False
    housed: NDArray[np.bool_] | None = None
    gone: NDArray[np.bool_] | None = None
    name: str = ""


@dataclass(frozen=True)
class Scene:
    """What every limit looks at: the farm, its state, its herbage, and the days ahead.

    ``days`` are the local days of the plan, today first; ``mobs`` and ``paddocks`` give the order
    of the axes of a ``Face``. ``coming`` are planned entries that lie ahead. ``weather`` holds
    members × days, None where none is known; ``trees`` what the trees of the map do to each paddock, None
    where none stands there.
    """

    farm: Farm
    state: State
    herbage: Herbage
    now: datetime
    days: tuple[date, ...]
    mobs: tuple[MobState, ...]
    paddocks: tuple[str, ...]
    memo: dict[object, object] = field(default_factory=dict, compare=False, repr=False)
    weather: Weather | None = field(default=None, compare=False, repr=False)
    trees: TreeShade | None = field(default=None, compare=False, repr=False)
    coming: tuple[Event, ...] = ()

    def once(self, key: object, make: Callable[[], T]) -> T:
        """Return what ``make`` gives, made at the first asking of the key only."""
        if key not in self.memo:
            self.memo[key] = make()
        return cast("T", self.memo[key])

    @property
    def zone(self) -> ZoneInfo:
        """Return the farm's time zone."""
        return ZoneInfo(self.farm.time_zone)

    def begin(self, mob: MobState, paddock: str) -> datetime:
        """Return since when the mob stands in the paddock, or now if it would go there."""
        if mob.place == paddock and mob.since is not None:
            return mob.since.start
        return self.now

    def paddock(self, ident: str) -> Paddock | None:
        """Return the paddock of that id, or None."""
        return self.once("paddocks", lambda: {p.id: p for p in self.farm.paddocks}).get(ident)

    def ground(self, paddock: str) -> tuple[str, ...]:
        """Return the paddock and what it is a part of: what closes the whole closes the part."""
        found = self.paddock(paddock)
        return (paddock, *(found.parents if found else ()))

    def local(self, instant: datetime) -> datetime:
        """Return an instant on the farm's clock."""
        return instant.astimezone(self.zone)

    def midnight(self, day: date) -> datetime:
        """Return the instant at which a local day begins."""
        return datetime(day.year, day.month, day.day, tzinfo=self.zone)


@dataclass(frozen=True, slots=True)
class Ready:
    """When a paddock is ready for a mob by one limit: not before ``moment``; None is "not known".

    ``wants`` says that the limit asks for animals from then on: what waits longer is lost.
    """

    limit: str
    moment: Moment | None
    because: str
    figures: tuple[Figure, ...] = ()
    wants: bool = False


RowsFor = Callable[[str], tuple[Row, ...]]
BitesFor = Callable[[Scene, MobState, str], list[Bite]]
FaceFor = Callable[[Scene], Face]
ReadyFor = Callable[[Scene, MobState, str], Ready | None]
EasesFor = Callable[[Scene, MobState], tuple[str, ...]]


def _nothing(_scene: Scene) -> Face:
    return Face()


def _always(_scene: Scene, _mob: MobState, _paddock: str) -> Ready | None:
    return None


def _farms_own(_kind: str) -> tuple[Row, ...]:
    return ()


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit: its name (key of its words), what a person asks, what the planner asks.

    ``ready`` says from when on a paddock is fit for a mob again; most limits have no word on it.
    ``eases`` names the paddocks where a limit of the place itself (shade, water) is felt less; None means
    that leaving is enough.
    ``rows`` gives the rows of the tables that the limit rests on for a kind of animal; a limit with
    none rests on what the farm itself says.
    """

    name: str
    bites: BitesFor
    face: FaceFor = field(default=_nothing)
    ready: ReadyFor = field(default=_always)
    rows: RowsFor = field(default=_farms_own)
    eases: EasesFor | None = None
