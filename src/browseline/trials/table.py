"""One table of what several lands give, and one of what each gives less than the first, future by future."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from browseline.trials.outcome import Measure, by_key, difference, figure_of
from browseline.trials.told import told, told_change
from browseline.units import System
from browseline.words import say

GROUPS = ("feed", "harvest", "wood", "money", "carbon", "work", "food")
UNKNOWN = ("money", "work", "food")
"""Groups of which a land without a number is not known; of all others it gives nothing."""
Rows = tuple[tuple[str, ...], ...]
Key = tuple[str, str, str]


@dataclass(frozen=True, eq=False)
class Column:
    """One land of a table: what it is called, and what it gives."""

    name: str
    measures: tuple[Measure, ...]


@dataclass(frozen=True)
class Table:
    """Both tables: ``head`` and ``rows`` have a column a land, ``less_head`` and ``less_rows`` one less."""

    head: tuple[str, ...]
    rows: Rows
    less_head: tuple[str, ...]
    less_rows: Rows
    keys: tuple[Key, ...]


def table_of(columns: Sequence[Column], system: System, less: str = "trials.less") -> Table:
    """Return the tables of lands, the first of which the others are compared with.

    Parameters
    ----------
    less : str
        Key of the words of a difference's column, with the field ``use``.
    """
    names, found = [one.name for one in columns], [by_key(one.measures) for one in columns]
    rows, less_rows = [], []
    keys = tuple(_keys(columns))
    for key in keys:
        title = _name(found, key)
        cells = (_cell(own.get(key), key, name, system) for own, name in zip(found, names, strict=True))
        rows.append((title, *cells))
        pairs = zip(found[1:], names[1:], strict=True)
        less_rows.append(
            (title, *(_less(found[0].get(key), own.get(key), key, name, system) for own, name in pairs))
        )
    what = say("trials.head.what")
    less_head = (what, *(say(less, use=name, first=names[0]) for name in names[1:]))
    return Table((what, *names), tuple(rows), less_head, tuple(less_rows), keys)


def _keys(columns: Sequence[Column]) -> Iterator[Key]:
    """Yield what to tell, group by group; what is nothing in every land is left out."""
    every = [measure for one in columns for measure in one.measures]
    for group in GROUPS:
        mine = [measure for measure in every if measure.group == group and measure.by_year.any()]
        yield from dict.fromkeys(measure.key for measure in mine)


def _name(found: Sequence[dict[Key, Measure]], key: Key) -> str:
    measure = next(own[key] for own in found if key in own)
    name = say(f"figures.{measure.name}")
    whole = say("trials.label", name=name, about=measure.about) if measure.about else name
    if measure.name == "product":
        whole = measure.about
    return say("trials.row", name=whole, over=say(f"trials.over.{measure.over}"))


def _cell(measure: Measure | None, key: Key, name: str, system: System) -> str:
    """Return a use's number; without one it is not known of money, work and food, and nothing of all else."""
    if measure is None:
        return say("trials.unknown" if key[0] in UNKNOWN else "trials.none")
    if measure.unknown:
        return say("trials.unknown")
    return told(figure_of(measure, name), system)


def _less(here: Measure | None, other: Measure | None, key: Key, name: str, system: System) -> str:
    if here is None and other is None:
        return say("trials.none")
    if key[0] in UNKNOWN and (here is None or other is None):
        return say("trials.unknown")
    if any(one is not None and one.unknown for one in (here, other)):
        return say("trials.unknown")
    return told_change(difference(here, other, name), system)
