"""The table of limits that a phone carries: mobs × paddocks × the coming 14 days.

For each mob, paddock and day of coming it holds when each limit would bite, and for heights that may be read
what they would change. All of it comes from the limits' own answers; the phone only looks up and puts in
order. No limit is known here by name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import count

from browseline.chain.look import Picture
from browseline.chain.pocket.ahead import COMING_D, DAYS, HEIGHT_AT_D, SHARES, Ahead, heights_cm, lifted
from browseline.chain.pocket.series import NOTHING, Answer, alike, answer_of, knots
from browseline.limits import Bite, Scene, bites
from browseline.record.state import MobState
from browseline.words import say

Key = tuple[str, str, str, int]
"""A limit of a mob in a paddock: its name, few words, hardness, and which of several bites alike."""


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit of one mob in one paddock.

    Parameters
    ----------
    limit, short, because, because_here, act : int
        Places in ``texts``: its name, what it is in few words, why, why for the mob that stands there now,
        and what to do. A reason is -1 where the sentence would be another on another day.
    hard, mark : str
    come : tuple of tuple of int
        Knots ``(day, likely, earliest, latest)`` by the day of coming, in minutes after the table was made;
        ``(day, 0)`` is "without a date" and ``(day,)`` is "no word from then on". [min]
    here : tuple of int
        The same answer for the mob that stands there already; empty where it does not. [min]
    heights : tuple
        For each day of ``height_at_d`` and each height of the paddock: likely, earliest, latest in minutes
        after that height was read. Only the first day where the others are alike; empty where a height
        changes nothing. [min]
    """

    limit: int
    short: int
    because: int
    because_here: int
    act: int
    hard: str
    mark: str
    come: tuple[tuple[int, ...], ...]
    here: tuple[int, ...]
    heights: tuple[tuple[tuple[int, ...], ...], ...]


@dataclass(frozen=True, slots=True)
class LimitTable:
    """The whole table. ``rows[mob][paddock]`` are the limits, in the order of mobs and paddocks.

    ``heights_cm`` are the heights that were worked out for each paddock. [cm]
    """

    days: int
    height_at_d: tuple[int, ...]
    heights_cm: tuple[tuple[float, ...], ...]
    texts: tuple[str, ...]
    rows: tuple[tuple[tuple[LimitRow, ...], ...], ...]


@dataclass
class _Texts:
    """Every text once, by its place."""

    places: dict[str, int] = field(default_factory=dict)
    counter: Iterator[int] = field(default_factory=count)

    def at(self, text: str) -> int:
        """Return the place of a text."""
        if text not in self.places:
            self.places[str(text)] = next(self.counter)
        return self.places[text]


Asked = dict[Key, Bite]


def limit_table(picture: Picture) -> LimitTable:
    """Return the table of a picture. It takes seconds: the farm is folded and grown for every day."""
    ahead = Ahead.of(picture)
    states = ahead.states()
    scenes = [ahead.scene(state) for state in states]
    read = [
        [ahead.with_heights(states[COMING_D.index(day)], knot) for knot in range(len(SHARES))]
        for day in HEIGHT_AT_D
    ]
    texts, made = _Texts(), []
    for mob in picture.scene.mobs:
        off = [lifted(scene, mob) for scene in scenes]
        made.append(
            tuple(
                tuple(_rows(mob, paddock, off if mob.place == paddock else scenes, scenes[0], read, texts))
                for paddock in picture.scene.paddocks
            )
        )
    heights = tuple(heights_cm(picture.scene).values())
    return LimitTable(DAYS, HEIGHT_AT_D, heights, tuple(texts.places), tuple(made))


def _asked(scene: Scene, mob: str, paddock: str) -> Asked:
    """Return what bites a mob in a paddock, by limit."""
    found: Asked = {}
    if any(one.id == mob for one in scene.mobs):
        for bite in bites(scene, mob, paddock):
            like = (bite.limit, bite.short, bite.hardness)
            found[*like, sum(key[:3] == like for key in found)] = bite
    return found


def _rows(
    mob: MobState, paddock: str, scenes: list[Scene], now: Scene, read: list[list[Scene]], texts: _Texts
) -> Iterator[LimitRow]:
    coming = [_asked(scene, mob.id, paddock) for scene in scenes]
    here = _asked(now, mob.id, paddock) if mob.place == paddock else {}
    heights = [[_asked(scene, mob.id, paddock) for scene in of_day] for of_day in read]
    everywhere: list[Asked] = [here, *coming, *(one for of_day in heights for one in of_day)]
    for key in sorted({key for found in everywhere for key in found}):
        come = [_answer(found, key, now) for found in coming]
        bitten = [found[key] for found in everywhere if key in found]
        told = bitten[0]
        yield LimitRow(
            texts.at(say(f"limits.{told.limit}.name")), texts.at(told.short), _because(bitten, texts),
            texts.at(here[key].because) if key in here else -1, texts.at(told.do),
            told.hardness, told.mark, knots(come, COMING_D), _answer(here, key, now),
            _told(_grid(heights, read, key)),
        )  # fmt: skip


def _grid(heights: list[list[Asked]], read: list[list[Scene]], key: Key) -> tuple[tuple[Answer, ...], ...]:
    """Return one limit's answers by day and height."""
    return tuple(
        tuple(_answer(found, key, scene) for found, scene in zip(of_day, of_scenes, strict=True))
        for of_day, of_scenes in zip(heights, read, strict=True)
    )


def _answer(found: Asked, key: Key, scene: Scene) -> Answer:
    return answer_of(found[key].moment, scene.now) if key in found else NOTHING


def _because(found: Iterable[Bite], texts: _Texts) -> int:
    """Return the place of the reason, where it is the same whenever and however high."""
    said = {bite.because for bite in found}
    return texts.at(said.pop()) if len(said) == 1 else -1


def _told(grid: tuple[tuple[Answer, ...], ...]) -> tuple[tuple[Answer, ...], ...]:
    """Return the answers to heights; one day of them where the later ones are alike, none where all are."""
    first = grid[0]
    if all(alike(answer, first[0]) for of_day in grid for answer in of_day):
        return ()
    same = all(alike(*pair) for of_day in grid for pair in zip(first, of_day, strict=True))
    return grid[:1] if same else grid
