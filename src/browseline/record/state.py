"""The farm on one instant: what the fold of its events says.

Everything here is frozen and is thrown away and folded again at will. What was seen beats what was
planned; what does not reconcile is a question, what two people say differently a disagreement, and
neither is settled silently.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from browseline.events import When
from browseline.units import Quantity

YARD = "yard"
PEN = "pen"
AWAY = "away"


@dataclass(frozen=True, slots=True)
class HeadLine:
    """Animals of one kind and class in a mob now, with what each eats if somebody typed it."""

    kind: str
    klass: str
    head: int
    weight: Quantity | None = None
    intake: Quantity | None = None
    stage: str = ""
    water: Quantity | None = None


@dataclass(frozen=True, slots=True)
class InPen:
    """Animals out of the mob: whose pen entry it is, since when, why, with what at foot."""

    animal: str
    lines: tuple[HeadLine, ...]
    since: When
    why: str = ""


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A treated animal: the product and the vet's day before which it is not sold."""

    animal: str
    mob: str
    product: str
    until: date | None
    on: When


@dataclass(frozen=True, slots=True)
class Stay:
    """One mob in one place. ``end`` is None while it is still there.

    The entry and the leaving may each be an interval: a mob found on the wrong side of a fence
    came there some time between two looks.
    """

    mob: str
    place: str
    begin: When
    end: When | None = None
    planned: bool = False
    part: str = ""
    begin_event: str = ""
    end_event: str = ""


@dataclass(frozen=True, slots=True)
class MobState:
    """A mob now."""

    id: str
    name: str
    lines: tuple[HeadLine, ...]
    place: str | None
    since: When | None
    part: str = ""
    pens: tuple[InPen, ...] = ()
    owner: str = ""
    due: date | None = None
    parents: tuple[str, ...] = ()
    ended: When | None = None

    @property
    def head(self) -> int:
        """Return the animals that should stand in the paddock."""
        return sum(line.head for line in self.lines)


@dataclass(frozen=True, slots=True)
class ShutState:
    """A shut paddock: why, since when, until a condition or a day, and who shut it."""

    paddock: str
    because: str
    since: When
    until: str = ""
    until_day: date | None = None
    who: str = ""
    event: str = ""


@dataclass(frozen=True, slots=True)
class HeightRead:
    """A height that somebody read."""

    paddock: str
    at: When
    height: Quantity
    density: str = ""
    readings: int | None = None
    mass_per_height: Quantity | None = None
    event: str = ""
    part: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class TreeLook:
    """Trees looked at: so many seen, bitten, barked."""

    paddock: str
    planting: str
    at: When
    seen: int
    bitten: int | None
    barked: int | None
    event: str = ""


@dataclass(frozen=True, slots=True)
class GroundLook:
    """Ground looked at: the share that is bare, ruts and roots in the words of whoever saw them."""

    paddock: str
    at: When
    bare: Quantity | None = None
    ruts: str = ""
    roots: str = ""
    event: str = ""


@dataclass(frozen=True, slots=True)
class LeafLook:
    """The share of leaf that is left on brush, as somebody saw it."""

    paddock: str
    at: When
    left: Quantity
    event: str = ""


@dataclass(frozen=True, slots=True)
class AnimalLook:
    """Animals looked at: whose look it is, condition and eyelid score as typed."""

    paddock: str
    animal: str
    at: When
    condition: str = ""
    eyelid: str = ""
    event: str = ""


@dataclass(frozen=True, slots=True)
class WeightRead:
    """The mean weight that was read of a class of a mob."""

    mob: str
    klass: str
    at: When
    weight: Quantity
    event: str = ""


@dataclass(frozen=True, slots=True)
class RowCount:
    """Trees lost from a row of a planting, or planted into it (no ``cause``); counted in the planting too."""

    planting: str
    row: str
    at: When
    lost: int = 0
    planted: int = 0
    cause: str = ""


@dataclass(frozen=True, slots=True)
class GuardState:
    """Guards of a planting that were put on or mended, or taken off where ``guard`` is a word for none."""

    planting: str
    trees: int
    guard: str
    at: When


@dataclass(frozen=True, slots=True)
class TreeSize:
    """A tree that was measured: stem, height, leader, crown as typed."""

    planting: str
    tree: str
    at: When
    dbh: Quantity | None = None
    height: Quantity | None = None
    leader: Quantity | None = None
    event: str = ""
    crown: Quantity | None = None
    row: str = ""


@dataclass(frozen=True, slots=True)
class Cleared:
    """Somebody looked for a danger and found it gone: in a paddock, or of one planting or pinned plant."""

    paddock: str
    what: str
    at: When
    event: str = ""


@dataclass(frozen=True, slots=True)
class TreesCut:
    """Trees pruned, thinned or felled; what lies may be eaten. ``trees`` None is all of them."""

    planting: str
    kind: str
    at: When
    trees: int | None = None
    to_height: Quantity | None = None
    row: str = ""


@dataclass(frozen=True, slots=True)
class TypedGrowth:
    """Growth that somebody typed, from an instant to the day ``until`` (not included)."""

    since: When
    until: date
    paddock: str
    growth: Quantity
    event: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class CutDone:
    """A hay or mowing cut, of a part of a paddock where one is named.

    ``off`` says that its hay is off: bales were counted, or the paddock was opened since.
    """

    paddock: str
    at: When
    purpose: str
    to_height: Quantity | None = None
    part: str = ""
    off: bool = False

    @property
    def place(self) -> str:
        """Return what was cut: a part behind a net, else the paddock."""
        return self.part or self.paddock


@dataclass(frozen=True, slots=True)
class BalesMoved:
    """Bales that came into a lot (or went, below 0): on which day, by what kind of entry, who entered it.

    The opening of the farm's file is of the kind *opening* and has no ``who``.
    """

    day: date
    bales: float
    kind: str
    who: str = ""


@dataclass(frozen=True, slots=True)
class HayState:
    """Bales of one lot left in store, and what came and went."""

    lot: str
    bales: float
    as_of: date
    moved: tuple[BalesMoved, ...] = ()


@dataclass(frozen=True, slots=True)
class Question:
    """Something that does not reconcile and waits for an answer; it edits nothing.

    ``code`` is a key ``record.question.<code>``, ``facts`` its fields.
    """

    code: str
    subject: str
    at: When
    facts: tuple[tuple[str, str], ...]
    event: str = ""


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Two entries that cannot both be so. Both are kept; ``standing`` is what the state uses."""

    code: str
    subject: str
    events: tuple[str, ...]
    standing: str
    facts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Alarm:
    """Something that needs a person now: a mob in a shut paddock."""

    code: str
    subject: str
    at: When
    facts: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """The farm at ``at``: a fold of every event up to then.

    ``stays`` holds all stays so far in order of entry, ``heights`` and ``looks`` all readings,
    ``parents`` maps a paddock made by a split to the one it was part of. ``unknown`` lists the
    kinds that were kept unread. ``heads`` holds who was in a mob from each instant at which that
    changed (the opening included), so that past days eat what past animals ate.
    """

    at: datetime
    mobs: tuple[MobState, ...] = ()
    stays: tuple[Stay, ...] = ()
    shut: tuple[ShutState, ...] = ()
    heights: tuple[HeightRead, ...] = ()
    looks: tuple[TreeLook, ...] = ()
    growth: tuple[TypedGrowth, ...] = ()
    rain: tuple[tuple[date, Quantity], ...] = ()
    rain_ahead: tuple[tuple[date, date, Quantity], ...] = ()
    cuts: tuple[CutDone, ...] = ()
    hay: tuple[HayState, ...] = ()
    fed: tuple[tuple[When, str, float], ...] = ()
    storms: tuple[When, ...] = ()
    losses: tuple[tuple[str, int, str, When], ...] = ()
    row_counts: tuple[RowCount, ...] = ()
    withdrawals: tuple[Withdrawal, ...] = ()
    questions: tuple[Question, ...] = ()
    disagreements: tuple[Disagreement, ...] = ()
    alarms: tuple[Alarm, ...] = ()
    parents: tuple[tuple[str, str], ...] = ()
    part_areas: tuple[tuple[str, Quantity], ...] = ()
    unknown: tuple[tuple[str, int], ...] = field(default=())
    heads: tuple[tuple[datetime, str, tuple[HeadLine, ...]], ...] = ()
    ground: tuple[GroundLook, ...] = ()
    animals: tuple[AnimalLook, ...] = ()
    weights: tuple[WeightRead, ...] = ()
    guards: tuple[GuardState, ...] = ()
    tree_sizes: tuple[TreeSize, ...] = ()
    planted: tuple[tuple[str, int, When], ...] = ()
    frosts: tuple[When, ...] = ()
    cleared: tuple[Cleared, ...] = ()
    trees_cut: tuple[TreesCut, ...] = ()
    leaf: tuple[LeafLook, ...] = ()

    def mob(self, ident: str) -> MobState | None:
        """Return the mob of that id, or None."""
        return next((m for m in self.mobs if m.id == ident), None)

    def living(self) -> tuple[MobState, ...]:
        """Return the mobs that are still mobs, with animals in them."""
        return tuple(m for m in self.mobs if m.ended is None and m.head > 0)

    def shut_now(self, paddock: str) -> ShutState | None:
        """Return why a paddock is shut, or None."""
        return next((s for s in self.shut if s.paddock == paddock), None)

    def last_height(self, paddock: str) -> HeightRead | None:
        """Return the newest height of a paddock, or None."""
        found = [h for h in self.heights if h.paddock == paddock]
        return max(found, key=lambda h: (h.at.end, h.event)) if found else None
