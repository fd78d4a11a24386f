"""Animals by kind and class: read from what was typed, taken out, put in, told as lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from browseline.farm import breeding
from browseline.farm.records import Line, Stage
from browseline.record.state import HeadLine
from browseline.units import Quantity


@dataclass(slots=True)
class Group:
    """Animals of one kind and class. ``weighed`` is the day of a weight that an event gave."""

    kind: str
    klass: str
    head: int
    weight: Quantity | None = None
    intake: Quantity | None = None
    stages: tuple[Stage, ...] = ()
    weighed: date | None = None
    water: Quantity | None = None

    @classmethod
    def of(cls, line: Line) -> Group:
        """Return the group of a line of the farm."""
        stages = breeding.stages_of(line)
        return cls(line.kind, line.klass, line.head, line.weight, line.intake, stages, water=line.water)

    def line(self, day: date) -> HeadLine:
        """Return the group as it is on a day: its stage, and the stage's weight and intake."""
        begun = [stage for stage in self.stages if stage.from_day <= day]
        if not begun:
            return HeadLine(self.kind, self.klass, self.head, self.weight, self.intake, water=self.water)
        now = max(begun, key=lambda stage: stage.from_day)
        heavier = self.weighed is not None and self.weighed >= now.from_day
        weight = self.weight if heavier or now.weight is None else now.weight
        intake = now.intake or self.intake
        return HeadLine(self.kind, self.klass, self.head, weight, intake, now.stage, self.water)


@dataclass(frozen=True, slots=True)
class Asked:
    """So many of a kind and class, as somebody wrote it; empty words mean "not said"."""

    kind: str
    klass: str
    head: int


def read_head(text: str) -> Asked | None:
    """Return what ``kind/class=number``, ``class=number`` or a bare number says; None if unreadable."""
    words, _, number = text.rpartition("=")
    kind, _, klass = words.rpartition("/")
    number = number.strip()
    if not (number.isascii() and number.isdigit()):
        return None
    return Asked(kind.strip(), klass.strip(), int(number))


def find(groups: Sequence[Group], kind: str, klass: str) -> Group | None:
    """Return the one group that is meant, or None where none or several are."""
    fits = [g for g in groups if _same(kind, g.kind) and _same(klass, g.klass)]
    return fits[0] if len(fits) == 1 else None


def _same(asked: str, held: str) -> bool:
    return not asked or asked.casefold() == held.casefold()


def take(groups: list[Group], asked: Asked) -> tuple[Group | None, int]:
    """Take animals out of the group that is meant.

    Returns
    -------
    tuple
        The animals taken (None if it is not clear which were meant), and how many were not there.
    """
    group = find(groups, asked.kind, asked.klass)
    if group is None:
        return None, asked.head
    taken = min(asked.head, group.head)
    group.head -= taken
    return replace(group, head=taken), asked.head - taken


def put(groups: list[Group], new: Group) -> None:
    """Put animals in: into their own kind and class, or as a new one."""
    kinds = {g.kind for g in groups if not new.klass or _same(new.klass, g.klass)} or {g.kind for g in groups}
    kind = new.kind or (kinds.pop() if len(kinds) == 1 else "")
    same = next(
        (g for g in groups if g.kind.casefold() == kind.casefold() and _same(new.klass, g.klass)), None
    )
    if same is None:
        groups.append(replace(new, kind=kind))
        return
    same.head += new.head
    same.weight, same.intake = same.weight or new.weight, same.intake or new.intake
    same.stages = same.stages or new.stages


def total(groups: Iterable[Group]) -> int:
    """Return the head of all groups."""
    return sum(group.head for group in groups)


def lines(groups: Iterable[Group], day: date) -> tuple[HeadLine, ...]:
    """Return the groups with animals in them as lines of a day."""
    return tuple(group.line(day) for group in groups if group.head > 0)
