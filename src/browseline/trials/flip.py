"""Which assumption, alone and within its range, would make another design the first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from browseline.trials.assumptions import Assumption
from browseline.trials.lands import By, Land, first_of, values_of

HALVINGS = 20
STEPS = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
"""How far beyond the turn a value is looked for that still turns it as it is written. [1]"""


@dataclass(frozen=True)
class Flip:
    """The assumption that turns the order: what it was, what it is then, which design is first then."""

    assumption: str
    was: str
    then: str
    first: str
    far: float


def flips_of(lands: Sequence[Land], by: By, first: int, given: Sequence[Assumption]) -> Iterator[Flip]:
    """Yield every assumption that alone, within its range, makes another design the first."""
    for one in given:
        if one.needs == "money" and by != "worth":
            continue
        if one.at is not None:
            yield from _of_number(lands, by, first, one)
        for words, change in one.ends:
            then = first_of(values_of(lands, by, change, one.needs))
            if then is not None and then != first:
                yield Flip(one.name, one.was, words, lands[then].design.name, 1.0)


def _of_number(lands: Sequence[Land], by: By, first: int, one: Assumption) -> Iterator[Flip]:
    """Yield where a number turns the order on the way to each end of its range, rerun at that very number."""
    if one.at is None:
        return
    at = one.at

    def leader(times: float) -> int | None:
        return first_of(values_of(lands, by, at(times)[1], one.needs))

    for end in one.spans:
        if leader(end) in (None, first):
            continue
        near, far = 1.0, end
        for _ in range(HALVINGS):
            middle = (near + far) / 2
            near, far = (middle, far) if leader(middle) == first else (near, middle)
        times = _beyond(leader, first, far, end)
        then = leader(times)
        if then is not None and then != first:
            yield Flip(one.name, one.was, at(times)[0], lands[then].design.name, abs(times - 1))


def _beyond(leader: Callable[[float], int | None], first: int, far: float, end: float) -> float:
    """Return a value at which the order is turned as it is written, in steps on from where it turns."""
    for part in STEPS:
        times = far + part * (end - far)
        if leader(times) not in (None, first):
            return times
    return end
