"""Animals that entries plan to sell or buy: head of a grown class more or fewer from their month on."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from browseline.decades.entered import day_of
from browseline.decades.start import Start
from browseline.events import Bought, Event, Sold
from browseline.record.state import HeadLine


class Group(Protocol):
    """A class of a mob, as the herd knows it."""

    @property
    def mob(self) -> str:
        """Return the mob's id."""

    @property
    def kind(self) -> str:
        """Return its kind."""

    @property
    def klass(self) -> str:
        """Return its class."""

    @property
    def head(self) -> int:
        """Return the animals of today."""

    @property
    def young(self) -> bool:
        """Return whether it is young stock."""


@dataclass(frozen=True)
class Trade:
    """So many head more, below 0 fewer: ``year`` from today's, ``month`` from 0, ``at`` the class's place."""

    year: int
    month: int
    at: int
    head: int


def newcomers(
    start: Start, known: Sequence[Group], is_young: Callable[[str, str], bool]
) -> Iterator[tuple[str, HeadLine]]:
    """Yield mob and line of each grown class that entries plan to buy and that is not there today."""
    seen: set[tuple[str, str, str]] = set()
    for event in start.coming:
        body = event.body
        if not isinstance(body, Bought) or _place(known, event) is not None:
            continue
        kinds = {one.kind for one in known if one.mob == event.subject}
        kind = body.beast or (kinds.pop() if len(kinds) == 1 else "")
        key = event.subject, kind.casefold(), body.klass.casefold()
        if kind and key not in seen and not is_young(kind, body.klass):
            seen.add(key)
            yield event.subject, HeadLine(kind, body.klass, 0, body.weight)


def trades_of(start: Start, classes: Sequence[Group]) -> tuple[Trade, ...]:
    """Return what entries plan to sell and buy of grown classes; no more is sold than is there.

    Young stock come and go within the round of a year, which comes round as it is: what entries plan to sell
    or buy of them is a part of it and changes no head.
    """
    head = [one.head for one in classes]
    made = []
    for event in start.coming:
        body, at = event.body, _place(classes, event)
        if not isinstance(body, (Sold, Bought)) or at is None or classes[at].young:
            continue
        change = body.head if isinstance(body, Bought) else -min(body.head, head[at])
        head[at] += change
        day = day_of(start, event)
        made.append(Trade(day.year - start.today.year, day.month - 1, at, change))
    return tuple(made)


def _place(classes: Sequence[Group], event: Event) -> int | None:
    """Return the place of the one class that an entry means; None where none or several fit."""
    body = event.body
    if not isinstance(body, (Sold, Bought)):
        return None
    fits = [
        n for n, one in enumerate(classes)
        if one.mob == event.subject and _same(body.beast, one.kind) and _same(body.klass, one.klass)
    ]  # fmt: skip
    return fits[0] if len(fits) == 1 else None


def _same(asked: str, held: str) -> bool:
    return not asked or asked.casefold() == held.casefold()
