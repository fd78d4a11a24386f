"""Gases by kilogram sold, on request: each line over the live weight of its kind that left in a year.

Lines stay apart; what trees took is in none of them. Fuel, lime and fertiliser serve all products and are
laid on none.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain

from browseline.events import Event, Sold
from browseline.figures import Figure, typed
from browseline.ledger.account import happened
from browseline.ledger.carbon import BookLine, CarbonBook
from browseline.ledger.facts import RECORD, counted
from browseline.limits import Scene
from browseline.units import Quantity, plain

Lines = tuple[BookLine, ...]
OF_BEASTS = ("enteric", "dung", "dung_n", "dung_air", "dung_water")


@dataclass(frozen=True)
class ByKilogram:
    """One line of a kind in a year by kilogram of live weight sold; ``a_kg`` None where a weight lacks."""

    key: str
    year: int
    kind: str
    line: str
    gas: str
    a_kg: Figure | None

    @property
    def year_figure(self) -> Figure:
        """Return the year as a figure of the record. [yr]"""
        return Figure("record_year", float(self.year), "yr", origins=(RECORD,), about=self.kind)


def by_kilogram(scene: Scene, events: Iterable[Event], book: CarbonBook) -> tuple[ByKilogram, ...]:
    """Return the lines of animals by kilogram sold, years and kinds in which some were sold."""
    sold = happened(events, scene.now)
    return tuple(one for year in book.years for one in _year(scene, sold, year.year, year.lines))


def _year(scene: Scene, events: tuple[Event, ...], year: int, lines: Lines) -> Iterator[ByKilogram]:
    weights = _weights(scene)
    gone: dict[str, list[tuple[int, str, Quantity | None]]] = {}
    for event in events:
        if isinstance(event.body, Sold) and scene.local(event.observed.end).year == year:
            kind, weight = weights.get(event.body.klass, ("", None))
            gone.setdefault(kind, []).append((event.body.head, event.body.klass, weight))
    for kind, sales in sorted(gone.items()):
        mass = _mass(kind, year, sales)
        for name in OF_BEASTS:
            yield from _line(year, kind, name, [x for x in lines if x.gas.line == name], mass)


def _weights(scene: Scene) -> dict[str, tuple[str, Quantity | None]]:
    """Return kind and weight of each class that ever stood here; the newest weight that is known."""
    found: dict[str, tuple[str, Quantity | None]] = {}
    for _, _, lines in scene.state.heads:
        for line in lines:
            before = found.get(line.klass, (line.kind, None))[1]
            found[line.klass] = (line.kind, line.weight or before)
    return found


def _mass(kind: str, year: int, sales: list[tuple[int, str, Quantity | None]]) -> Figure | None:
    """Return the live weight sold; None where the weight of a class is not known. [kg]"""
    known = [(head, klass, weight) for head, klass, weight in sales if weight is not None]
    if len(known) < len(sales):
        return None
    value = sum(head * weight.to("kg") for head, _, weight in known)
    parts = tuple(chain.from_iterable(_weighed(*one) for one in known))
    formula = " + ".join(f"{head} × {weight.text}" for head, _, weight in known)
    return Figure("live_weight_sold", value, "kg", formula=formula, parts=parts, about=f"{kind} {year}")


def _weighed(head: int, klass: str, weight: Quantity) -> tuple[Figure, Figure]:
    """Return how many were sold of a class, and what one weighs."""
    sold = counted("head_sold", head, "head", about=klass)
    return sold, typed("weight", weight.to("kg"), "kg", weight.text, about=klass)


def _line(
    year: int, kind: str, name: str, lines: list[BookLine], mass: Figure | None
) -> Iterator[ByKilogram]:
    own = [one for one in lines if one.gas.about.startswith(f"{kind} ")]
    if not own:
        return
    warm = [one.co2e for one in own if one.co2e is not None]
    figure = None
    if mass is not None and mass.value and len(warm) == len(own):
        total = sum(one.value or 0.0 for one in warm)
        formula = f"{plain(total)} ÷ {plain(mass.value)}"
        figure = Figure("gas_a_kg", total / mass.value, "kg CO2e/kg", formula=formula, parts=(*warm, mass),
                        about=f"{kind} {name} {year}")  # fmt: skip
    yield ByKilogram(f"{year} {kind} {name}", year, kind, name, own[0].gas.gas, figure)
