"""What the chart of the years ahead draws: five bands in the farm's own units, and windows in lanes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from browseline.chain.decades_bands import OF_USE, PERCENT, Band
from browseline.chain.decades_page import DecadesPage
from browseline.units import BASE, CHOSEN, System, factor
from browseline.words import say

BANDS = (
    ("light", ("light",)), ("feed", ("grown", "need", "hay")), ("made", ("crop.", "wood.")),
    ("money", ("money",)), ("carbon", ("carbon.",)),
)  # fmt: skip
"""The five bands from above to below, each with the keys, or the beginnings of keys, that it draws."""
GAP_PT = 14.0
HALF_YR = 0.35
"""So much of a year a bar reaches beyond its first and last: a window of one year is seen."""


@dataclass(frozen=True, slots=True)
class Strand:
    """One line with its range by year, in the unit of its panel; ``before`` are years and lines kept earlier.

    ``before`` holds the year in which each was made, its years and its likely values.
    """

    name: str
    years: tuple[int, ...]
    low: tuple[float, ...]
    likely: tuple[float, ...]
    high: tuple[float, ...]
    before: tuple[tuple[int, tuple[int, ...], tuple[float, ...]], ...] = ()


@dataclass(frozen=True, slots=True)
class Panel:
    """One of the five bands, or the part of it that has one unit."""

    band: str
    title: str
    strands: tuple[Strand, ...]


@dataclass(frozen=True, slots=True)
class Lane:
    """A window as it is drawn: its number in the list, years, its words, their side, its row from above."""

    number: int
    first: int
    likely: int
    last: int
    label: str
    after: bool
    row: int


def panels_of(page: DecadesPage) -> tuple[Panel, ...]:
    """Return the panels of a page from above to below; a band of which nothing is known has none."""
    return tuple(panel for name, keys in BANDS for panel in _panels(page, name, keys))


def lacking(page: DecadesPage) -> tuple[str, ...]:
    """Return the names of the bands of which nothing is known."""
    there = {panel.band for panel in panels_of(page)}
    return tuple(say(f"decades.chart.{name}") for name, _ in BANDS if name not in there)


def _panels(page: DecadesPage, name: str, keys: tuple[str, ...]) -> Iterator[Panel]:
    own = [b for b in page.bands if b.drawn and any(b.key == k or (k[-1] == "." and b.key.startswith(k))
                                                    for k in keys)]  # fmt: skip
    for unit in dict.fromkeys(band.unit for band in own):
        strands = tuple(_strand(page, band) for band in own if band.unit == unit)
        of = _shown(unit, page.units)[0]
        title = say(f"decades.chart.{name}.title", unit=of)
        yield Panel(name, title, strands)


def _strand(page: DecadesPage, band: Band) -> Strand:
    by = _shown(band.unit, page.units)[1]
    before = tuple(
        (kept.made.year, old.years, tuple(value * by for value in old.likely))
        for kept in page.earlier for old in kept.bands
        if old.key == band.key and old.unit == band.unit
    )  # fmt: skip
    low, likely, high = (tuple(value * by for value in one) for one in (band.low, band.likely, band.high))
    return Strand(band.name, band.drawn, low, likely, high, before)


def _shown(unit: str, system: System) -> tuple[str, float]:
    """Return the unit in which a band is drawn, and how many of it one of its own unit holds."""
    if unit == "1":
        return "%", PERCENT
    use = OF_USE.get(unit)
    if use is not None and unit == BASE[use]:
        return CHOSEN[system][use], factor(unit, CHOSEN[system][use])
    return unit, 1.0


def span_of(page: DecadesPage) -> tuple[int, int]:
    """Return the first and the last year of the axis: what is measured and what was foretold is on it."""
    first = min([page.first_year, page.measured_to, *(kept.first_year for kept in page.earlier)])
    return first, page.first_year + page.years


def lanes_of(page: DecadesPage, year_pt: float, sign_pt: float, named: bool) -> tuple[Lane, ...]:
    """Return the windows, each in the first row from above in which it covers no other.

    Parameters
    ----------
    year_pt, sign_pt : float
        How wide a year and a letter are drawn.
    named : bool
        Whether words stand beside the numbers.
    """
    begin, end = span_of(page)
    made: list[Lane] = []
    rows: list[list[tuple[float, float]]] = []
    for number, one in enumerate(page.windows, start=1):
        label = say("decades.chart.window", number=str(number), title=one.title) if named else f"{number}"
        room = (len(label) * sign_pt + GAP_PT) / year_pt
        if end < one.last + room and one.first - room < begin:  # the list has its words
            label = f"{number}"
            room = (len(label) * sign_pt + GAP_PT) / year_pt
        after = one.last + room <= end or one.first - room < begin
        left, right = one.first - HALF_YR, one.last + HALF_YR
        taken = (left, right + room) if after else (left - room, right)
        row = next((n for n, held in enumerate(rows) if _free(held, taken)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(taken)
        made.append(Lane(number, one.first, one.likely, one.last, label, after, row))
    return tuple(made)


def _free(held: Sequence[tuple[float, float]], wanted: tuple[float, float]) -> bool:
    return all(wanted[1] <= left or right <= wanted[0] for left, right in held)
