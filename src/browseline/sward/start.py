"""A paddock's newest height as the mass of every member, with its reading error."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm.records import Farm, Paddock
from browseline.figures import Figure, typed
from browseline.record.state import HeightRead, State
from browseline.science import draws
from browseline.sward.clock import day_number
from browseline.sward.numbers import SwardNumbers, book_mass_per_height

Array = NDArray[np.float64]
SMALLEST_SHARE_OF_READING = 0.1


@dataclass(frozen=True)
class Start:
    """A paddock's newest height as mass of the members, and the day number it was read on."""

    mass_kg_ha: Array
    at_d: float
    figure: Figure


def newest_height(state: State, paddock: Paddock) -> HeightRead | None:
    """Return the newest height of a paddock; a part without one of its own takes that of the whole."""
    found = [
        read
        for read in state.heights
        if (read.part or read.paddock) == paddock.id or (read.paddock in paddock.parents and not read.part)
    ]
    return max(found, key=lambda h: (h.at.end, h.event)) if found else None


def start_of(
    farm: Farm,
    paddock: Paddock,
    numbers: SwardNumbers,
    read: HeightRead | None,
    members: int,
    first: date,
    zone: ZoneInfo,
) -> Start | None:
    """Return a height as the mass of every member on the day number it was read; None where none was.

    The members' errors come in pairs of opposite sign, so the middle one is the height as read. They hang
    on where and when it was read, not on its entry's id: the same facts entered again err alike.
    """
    if read is None:
        return None
    per_cm = mass_per_height_of(numbers, read)
    height_cm = read.height.to("cm")
    figure = typed(
        "height",
        height_cm,
        "cm",
        read.height.text,
        about=paddock.id,
        who=read.who,
        as_of=read.at.end.astimezone(zone).date(),
    )
    middle = height_cm * (per_cm.value or 0.0)
    quantity = f"height {paddock.id} {read.at.end.astimezone(UTC).isoformat()}"
    error = reading_error_kg_ha(read.readings) * paired_normal(farm.seed, quantity, members)
    mass = np.maximum(middle + error, SMALLEST_SHARE_OF_READING * middle)
    return Start(mass, day_number(read.at.end, first, zone), figure)


def mass_per_height_of(numbers: SwardNumbers, read: HeightRead) -> Figure:
    """Return the mass per height of one reading: typed with it, or of its density class. [kg/ha/cm]"""
    if read.mass_per_height is not None:
        value = read.mass_per_height.to("kg/ha/cm")
        return typed("mass_per_height", value, "kg/ha/cm", read.mass_per_height.text, about=read.paddock)
    farms_own = numbers.mass_per_height.origins[0].basis == "farm"
    if read.density and not farms_own:
        return book_mass_per_height(numbers.kind, read.density)
    return numbers.mass_per_height


def reading_error_kg_ha(readings: int | None) -> float:
    """Return the standard error of a paddock's mean mass from its heights. [kg DM/ha]

    References
    ----------
    forage.md 1.3, 6: 350 to 750 kg/ha for the mean of few readings; here the lower end for many,
    the upper for one, the middle where nobody wrote down how many.
    """
    row = tables.row("forage", "reading_sd", "paddock mean")
    if readings is None or row.low is None or row.high is None:
        return row.middle()
    return float(np.sqrt(row.low**2 + (row.high**2 - row.low**2) / max(readings, 1)))


def paired_normal(seed: int, quantity: str, members: int) -> Array:
    """Return standard normal draws, shape (member,): the first 0, then pairs of opposite sign. [1]

    The middle of the members is then exactly 0, and one more member changes no other draw.
    """
    pairs = members // 2
    chance = np.array([draws.uniform(seed, quantity, pair, 0, 1)[0] for pair in range(pairs)])
    size = draws.normal(chance) if pairs else chance
    out = np.zeros(members)
    out[1::2] = size[: len(out[1::2])]
    out[2::2] = -size[: len(out[2::2])]
    return out
