"""The farm while it is being folded: what the steps of the fold read and change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from browseline.events import Body, Event, When
from browseline.farm.names import written
from browseline.farm.records import Farm, Mob
from browseline.record.heads import Asked, Group, put, take, total
from browseline.record.places import Places
from browseline.record.state import (
    AWAY,
    PEN,
    YARD,
    AnimalLook,
    Cleared,
    CutDone,
    Disagreement,
    GroundLook,
    GuardState,
    HayState,
    HeightRead,
    LeafLook,
    Question,
    RowCount,
    ShutState,
    TreeLook,
    TreesCut,
    TreeSize,
    TypedGrowth,
    WeightRead,
    Withdrawal,
)  # fmt: skip
from browseline.units import Quantity

Step = Callable[["Working", Event, Any], None]
STEPS: dict[type[Body], Step] = {}
"""What each kind of event does to the farm; a kind without a step changes no state."""


@dataclass(slots=True)
class Pen:
    """Animals out of a mob, by the entry that a person gave them."""

    groups: list[Group]
    since: When
    why: str


@dataclass(slots=True)
class MobNow:
    """A mob while it is being folded."""

    id: str
    name: str
    groups: list[Group]
    pens: dict[str, Pen] = field(default_factory=dict)
    owner: str = ""
    due: date | None = None
    parents: list[str] = field(default_factory=list)
    ended: When | None = None
    until: date | None = None


def step(body: type[Body]) -> Callable[[Step], Step]:
    """Register a function as the step of a kind of event."""

    def register(function: Step) -> Step:
        STEPS[body] = function
        return function

    return register


class Working:
    """Everything that the fold has found so far, from the farm's opening values on."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm
        self.zone = ZoneInfo(farm.time_zone)
        self.places = Places()
        self.mobs: dict[str, MobNow] = {}
        self.questions: dict[tuple[str, str, str], Question] = {}
        self.disagreements: list[Disagreement] = []
        self.shut: list[ShutState] = []
        self.heights: list[HeightRead] = []
        self.looks: list[TreeLook] = []
        self.growth: list[TypedGrowth] = []
        self.rain: dict[date, tuple[Event, Quantity]] = {}
        self.rain_ahead: list[tuple[date, date, Quantity]] = []
        self.cuts: list[CutDone] = []
        self.hay: dict[str, HayState] = {}
        self.fed: list[tuple[When, str, float]] = []
        self.storms: list[When] = []
        self.frosts: list[When] = []
        self.cleared: list[Cleared] = []
        self.plants_found: set[str] = set()
        self.trees_cut: list[TreesCut] = []
        self.leaf: list[LeafLook] = []
        self.row_counts: list[RowCount] = []
        self.losses: list[tuple[str, int, str, When]] = []
        self.ground: list[GroundLook] = []
        self.animals: list[AnimalLook] = []
        self.weights: list[WeightRead] = []
        self.guards: list[GuardState] = []
        self.tree_sizes: list[TreeSize] = []
        self.planted: list[tuple[str, int, When]] = []
        self.withdrawals: list[Withdrawal] = []
        self.parents: dict[str, str] = {}
        self.nets: dict[str, Event] = {}
        self.part_areas: dict[str, Quantity] = {}
        self.unknown: set[tuple[str, int]] = set()
        self.despite: dict[str, str] = {}
        self._known = {p.id for p in farm.paddocks} | {YARD, PEN, AWAY}

    # ------------------------------------------------------------ days and places

    def day(self, instant: datetime) -> date:
        """Return the farm's local day of an instant."""
        return instant.astimezone(self.zone).date()

    def midnight(self, day: date) -> datetime:
        """Return the instant at which a local day begins."""
        return datetime.combine(day, time(), self.zone).astimezone(UTC)

    def instant(self, text: str) -> datetime:
        """Return the instant that a person wrote; without an offset it is the farm's own time."""
        read = datetime.fromisoformat(text)
        return (read if read.tzinfo is not None else read.replace(tzinfo=self.zone)).astimezone(UTC)

    def place(self, event: Event, typed: str, part: str = "") -> tuple[str, str]:
        """Return the paddock and part that a person named; a place the farm lacks is asked about."""
        if typed in self.parents:
            return self.parents[typed], typed
        if part:
            part = part if part.startswith(f"{typed}/") else f"{typed}/{part}"
        if typed not in self._known:
            self.ask("unknown_place", typed, event, place=typed)
        return typed, part

    # ------------------------------------------------------------ questions

    def ask(self, code: str, subject: str, event: Event, key: str = "", **facts: object) -> None:
        """Open a question, in place of an older one about the same thing."""
        told = tuple((name, str(fact)) for name, fact in facts.items())
        self.questions[code, subject, key or event.id] = Question(
            code, subject, event.observed, told, event.id
        )

    def settle(self, code: str, subject: str, key: str | None = None) -> None:
        """Close the question about one thing, or every such question of a subject."""
        for found in [q for q in self.questions if q[:2] == (code, subject) and key in (None, q[2])]:
            del self.questions[found]

    # ------------------------------------------------------------ mobs

    def open_mob(self, mob: Mob, begun: datetime) -> None:
        """Put a mob of the farm where its opening values say it is."""
        groups = [Group.of(line) for line in mob.lines]
        self.mobs[mob.id] = MobNow(
            mob.id, mob.name, groups, owner=mob.owner or "", due=mob.due, parents=list(mob.parents),
            until=mob.to_day,
        )  # fmt: skip
        stay = self.places.now(mob.id)
        since = When.at(self.instant(mob.since) if mob.since else begun)
        if mob.at is not None:
            place = self.parents.get(mob.at, mob.at)
            self.places.enter(mob.id, place, mob.at if mob.at != place else "", since)
        elif stay is not None:
            self.places.leave(mob.id, since)

    def forget(self, known: set[str], start: datetime) -> None:
        """End what was seen, before the farm began, of mobs that it does not have."""
        for mob in {stay.mob for stay in self.places.stays} - known:
            self.places.leave(mob, When.at(start))

    def end_mobs(self, today: date) -> None:
        """End the mobs whose last day the farm gives and that day has come."""
        for mob in self.mobs.values():
            if mob.ended is None and mob.until is not None and mob.until <= today:
                mob.ended = self.places.leave(mob.id, When.at(self.midnight(mob.until)))

    def mob(self, event: Event, ident: str = "") -> MobNow | None:
        """Return the living mob of an event; one that is not there is asked about."""
        name = ident or event.subject
        mob = self.mobs.get(name)
        if mob is None or mob.ended is not None:
            self.ask("unknown_mob", name, event, mob=name, kind=event.kind)
            return None
        return mob

    def new_mob(self, ident: str, name: str, groups: list[Group], **more: Any) -> MobNow:
        """Make a mob; one that nobody named goes by its id."""
        self.mobs[ident] = MobNow(ident, name or written(ident), groups, **more)
        return self.mobs[ident]

    def end_mob(self, mob: MobNow, event: Event) -> None:
        """Let a mob be no more; it keeps its history."""
        mob.ended = self.places.leave(mob.id, event.observed, event.id)

    def take(self, event: Event, groups: list[Group], asked: Asked) -> Group | None:
        """Take animals out of a mob or pen; too few or unclear ones are asked about."""
        before = total(groups)
        found, short = take(groups, asked)
        words = " ".join(w for w in (asked.kind, asked.klass) if w)
        if found is None:
            self.ask("which_animals", event.subject, event, f"{event.id}/{words}", mob=event.subject,
                     animals=words, head=asked.head, kind=event.kind)  # fmt: skip
            return None
        if short:
            self.ask("too_few", event.subject, event, f"{event.id}/{words}", mob=event.subject,
                     animals=found.klass, asked=asked.head, there=found.head, of=before)  # fmt: skip
        return found

    def put_all(self, groups: list[Group], more: list[Group]) -> None:
        """Put animals in, group by group."""
        for group in more:
            put(groups, replace(group))
