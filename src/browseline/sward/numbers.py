"""The numbers of a paddock's sward, each a figure: typed on this farm, or a row of the tables."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from browseline import tables
from browseline.farm import settings
from browseline.farm.records import Farm, Paddock, Sward
from browseline.figures import Figure, typed
from browseline.units import factor

GROUPS = ("cool-season grass", "warm-season grass", "legume")
DEFAULT_KIND = "mixed_cool"
DEFAULT_DENSITY = "good"
SWARDS_OWN = "the sward's own"
GROWERS = "tall and low growers"
WORM_HOSTS = ("sheep", "goat")


@dataclass(frozen=True, slots=True)
class SwardNumbers:
    """What the sward of one paddock is made of; ``shares`` follow ``GROUPS``, by mass."""

    kind: str
    shares: tuple[float, ...]
    mass_per_height: Figure
    leave_at: Figure
    enter_at: Figure
    fertility: Figure
    share_eaten: Figure | None
    long_rest: bool
    height_to_leave: tables.Row | None = None

    def mass_kg_ha(self, height_cm: float) -> float:
        """Return the herbage of a height, straight through the ground. [kg DM/ha]"""
        return height_cm * (self.mass_per_height.value or 0.0)

    def height_cm(self, mass_kg_ha: float) -> float:
        """Return the height of a mass. [cm]"""
        return mass_kg_ha / (self.mass_per_height.value or 1.0)


def sward_numbers(farm: Farm, paddock: Paddock) -> SwardNumbers:
    """Return the numbers of a paddock's sward: the farm's own first, the tables after.

    References
    ----------
    forage.md 1.2.1, 6.1
    """
    own = farm.sward_of(paddock) or Sward("", DEFAULT_KIND)
    shares = tuple(_share(own.kind, group) for group in GROUPS)
    return SwardNumbers(
        own.kind,
        shares,
        _mass_per_height(own, own.density or DEFAULT_DENSITY),
        _height("leave", own),
        _height("enter", own, settings.reading(farm, "height_to_start").applies_to == GROWERS),
        _fertility(own, shares),
        typed("share_eaten", own.share_eaten.to("1"), "1", own.share_eaten.text) if own.share_eaten else None,
        own.cut_or_long_rest,
        settings.reading(farm, "height_to_leave"),
    )


def _share(kind: str, group: str) -> float:
    try:
        return tables.row("swards", "share", f"{kind}, {group}").middle()
    except LookupError:
        return 0.0


def _mass_per_height(own: Sward, density: str) -> Figure:
    if own.mass_per_height is not None:
        value = own.mass_per_height.to("kg/ha/cm")
        return typed("mass_per_height", value, "kg/ha/cm", own.mass_per_height.text, about=own.id)
    return book_mass_per_height(own.kind, density)


def book_mass_per_height(kind: str, density: str) -> Figure:
    """Return the table's mass per height of a sward in a density class. [kg/ha/cm]

    A sward without that class takes its *good* row.
    """
    for name in (density, DEFAULT_DENSITY):
        try:
            row = tables.row("swards", "mass_per_height", f"{kind}, {name}")
        except LookupError:
            continue
        return _converted(row, "mass_per_height", "kg/ha/cm", row.middle(), kind)
    raise LookupError(f"swards: no mass_per_height for {kind}")


def _converted(row: tables.Row, name: str, unit: str, value: float, about: str) -> Figure:
    times = factor(row.unit, unit)
    low, high = (x * times if x is not None else None for x in (row.low, row.high))
    figure = row.figure(name, about)
    return Figure(name, value * times, unit, low, high, origins=figure.origins, about=about)


def _height(which: str, own: Sward, growers: bool = False) -> Figure:
    """Return the leave-at or start-at height; of a range the upper end, the cautious one. [cm]

    ``growers`` takes the row of tall or low growers, where the kind of sward has one.
    """
    said = own.leave_at if which == "leave" else own.start_at
    name = f"{which}_at"
    if said is not None:
        return typed(name, said.to("cm"), "cm", said.text, about=own.id)
    key = "leave_height" if which == "leave" else "enter_height"
    if growers and own.kind in tables.applies("swards", "enter_height_growers"):
        key = "enter_height_growers"
    row = tables.row("swards", key, own.kind)
    return _converted(row, name, "cm", row.high if row.high is not None else row.middle(), own.kind)


def _fertility(own: Sward, shares: tuple[float, ...]) -> Figure:
    """Return the fertility factor before any reading, mixtures by share. [1]"""
    if own.fertility is not None:
        return typed("fertility", own.fertility.to("1"), "1", own.fertility.text, about=own.id)
    parts = [
        (share, tables.row("forage", "NI_prior", group))
        for share, group in zip(shares, GROUPS, strict=True) if share > 0
    ]  # fmt: skip
    value, low, high = (
        sum(share * (getattr(row, end) or 0.0) for share, row in parts) for end in ("value", "low", "high")
    )
    origins = tuple(row.figure("fertility").origins[0] for _, row in parts)
    return Figure("fertility", value, "1", low, high, origins=origins, about=own.kind)


def leave_at(numbers: SwardNumbers, kinds: Iterable[str]) -> Figure:
    """Return the height to leave for the kinds of a mob. [cm]

    What the farm typed rules. Else sheep and goats leave the higher of the sward's and the worm
    rule's height (conflict K07), or what the farm named among the readings; both are shown.
    """
    sward = numbers.leave_at
    if sward.origins[0].basis == "farm" or not any(kind in WORM_HOSTS for kind in kinds):
        return sward
    row = numbers.height_to_leave or tables.row("worms", "worm_leave_height", "sheep;goat")
    if row.applies_to == SWARDS_OWN:
        return sward
    worm = _converted(
        row, "worm_leave_at", "cm", row.low if row.low is not None else row.middle(), "sheep;goat"
    )
    if (worm.value or 0.0) <= (sward.value or 0.0):
        return sward
    return Figure(
        "leave_at",
        worm.value,
        "cm",
        formula=f"max({sward.value:g}, {worm.value:g}) cm",
        parts=(sward, worm),
        about=numbers.kind,
    )


def share_eaten(numbers: SwardNumbers, stay_d: float) -> Figure:
    """Return the share of what disappears that is eaten, by length of stay. [1]

    References
    ----------
    psu_agronomy_guide, Table 1.8-9: 80 % at one day falling to 60 % at a week and after
    """
    if numbers.share_eaten is not None:
        return numbers.share_eaten
    whole = min(max(math.ceil(stay_d - 1e-9), 1), 7) if math.isfinite(stay_d) else 7
    row = tables.row("forage", "share_eaten", f"{whole} d")
    return _converted(row, "share_eaten", "1", row.middle(), f"{whole} d")
