"""What a trial changes in the years ahead: one row a measure, its difference taken future by future."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from browseline.chain import Picture
from browseline.chain.years_ahead import MEMBERS, projection_of
from browseline.trials.cash import cash_of
from browseline.trials.land_uses import food_of, money_of
from browseline.trials.outcome import Measure, by_key, measures_of
from browseline.trials.table import Column, table_of
from browseline.units import System

Cells = tuple[str, str, str, str]


def decade_rows(
    pair: tuple[Picture, Picture], system: System, before: str, after: str
) -> Iterator[tuple[Cells, bool]]:
    """Yield what the years ahead give before and after, and whether that is alike in every future."""
    columns = [Column(name, _measures(picture)) for name, picture in zip((before, after), pair, strict=True)]
    first, second = (by_key(column.measures) for column in columns)
    made = table_of(columns, system)
    for key, row, less in zip(made.keys, made.rows, made.less_rows, strict=True):
        one, other = first.get(key), second.get(key)
        yield (row[0], row[1], row[2], less[1]), one is not None and other is not None and _alike(one, other)


def _alike(one: Measure, other: Measure) -> bool:
    """Return whether two measures are the same in every future, or known in none."""
    return bool(np.array_equal(one.by_member, other.by_member, equal_nan=True))


def _measures(picture: Picture) -> tuple[Measure, ...]:
    """Return what a farm's years ahead give."""
    ahead = projection_of(picture, members=MEMBERS)
    farm = picture.farm
    names = {p.id: p.name for p in farm.plantings}
    cash = cash_of(farm, ahead, ahead.members)
    return (*measures_of(ahead, names), *food_of(farm, ahead), *money_of(farm, cash))
