"""Questions on which sources differ: the readings by name, and the one that the farm uses.

``[rules.settings]`` of ``farm.toml`` names a reading; what the farm typed as a number of its own
goes before any reading. Nothing named: the reading that ``USED`` gives, with its reason on the page.
"""

from __future__ import annotations

from dataclasses import dataclass

from browseline import tables
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.units import Quantity
from browseline.words import say

TABLE = "settings"
USED = {
    "worm_rest": "35 days",
    "height_to_leave": "the higher of both",
    "manure_to_harvest": "edible part touches soil",
    "height_to_start": "the sward's own",
    "rest_by_season": "14 to 60 days",
    "shade_against_yield": "the range set",
    "pig_stay": "woods",
    "pig_rest": "woods",
}
"""The reading where the farm names none; each is the cautious one but for worms (K06) and pigs' rest."""
LESS_IS_CAUTIOUS = ("shade_against_yield", "pig_stay")


@dataclass(frozen=True, slots=True)
class Setting:
    """A question, every reading of it, the one in use, and what the farm typed over all of them."""

    key: str
    readings: tuple[tables.Row, ...]
    used: tables.Row
    named: bool
    typed: Quantity | None = None

    @property
    def cautious(self) -> bool:
        """Return whether no reading asks for more than the one in use; of stays and yields, for less."""
        numbers = [row for row in self.readings if row.value is not None or row.high is not None]
        if self.key in LESS_IS_CAUTIOUS:
            return all(_least(row) >= _least(self.used) for row in numbers)
        return all(_most(row) <= _most(self.used) for row in numbers)


def _most(row: tables.Row) -> float:
    """Return what a reading asks for: its number, or the upper end of a range without one."""
    return next((x for x in (row.value, row.high) if x is not None), 0.0)


def _least(row: tables.Row) -> float:
    return min((x for x in (row.value, row.low, row.high) if x is not None), default=0.0)


def questions() -> tuple[str, ...]:
    """Return the questions on which sources differ and a farm may choose."""
    return tuple(USED)


def names_of(key: str) -> tuple[str, ...]:
    """Return the readings of a question that can be chosen: those with a number."""
    rows = (tables.row(TABLE, key, name) for name in tables.applies(TABLE, key))
    return tuple(row.applies_to for row in rows if row.value is not None or row.high is not None)


def reading(farm: Farm, key: str) -> tables.Row:
    """Return the reading of a question that the farm named, else the one that is used without a name."""
    return tables.row(TABLE, key, dict(farm.rules.chosen).get(key, USED[key]))


def chosen(farm: Farm, key: str) -> tables.Row | None:
    """Return the reading that the farm named; None where it named none."""
    return reading(farm, key) if key in dict(farm.rules.chosen) else None


def words_of(row: tables.Row) -> str:
    """Return a reading that the farm named, with what its source says of it, for where it is used."""
    return say(
        "settings.used", named=say("settings.named", name=row.applies_to, note=row.note), source=_cited(row)
    )


def _cited(row: tables.Row) -> str:
    known = (tables.sources().get(one, {}).get("reference", one) for one in row.source.split(";"))
    return "; ".join(known)


def figure(row: tables.Row, name: str, about: str = "") -> Figure:
    """Return a reading as a figure; of a range the upper end, the cautious one."""
    book = row.figure(name, about)
    value = row.value if row.value is not None else row.high
    return Figure(name, value, row.unit, row.low, row.high, origins=book.origins, about=about)


def settings(farm: Farm) -> tuple[Setting, ...]:
    """Return every question with its readings and what this farm uses."""
    own = {"worm_rest": farm.rules.worm_rest, "manure_to_harvest": farm.rules.harvest_interval}
    return tuple(
        Setting(
            key,
            tuple(tables.row(TABLE, key, name) for name in tables.applies(TABLE, key)),
            reading(farm, key),
            key in dict(farm.rules.chosen),
            own.get(key),
        )
        for key in questions()
    )
