"""What a land gives, as columns of years and members, so that two designs meet member by member."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from browseline.decades import Projection, Yield
from browseline.figures import Figure, Origin
from browseline.units import plain
from browseline.words import known, say

Array = npt.NDArray[np.float64]
Over = Literal["year", "whole", "end"]
LOW, HIGH = 10.0, 90.0
"""An 80 % range."""
KG_T = 1e-3
OF_GROWTH = ("feed_grown", "hay_short")
"""What nobody knows where nobody knows what grows."""


@dataclass(frozen=True, eq=False)
class Measure:
    """One thing that a land gives.

    Attributes
    ----------
    name, about : str
        What it is called (``figures.<name>``), and of what: a planting, a line of carbon and its gas.
    by_year : array, shape (year, member)
        [``unit``]; NaN throughout where nobody knows it.
    over : str
        How years come to one number: the mean of a *year*, the sum of the *whole*, what stands at the *end*.
    """

    name: str
    about: str
    unit: str
    by_year: Array
    over: Over
    origins: tuple[Origin, ...] = ()
    group: str = ""

    @property
    def unknown(self) -> bool:
        """Return whether nobody knows it: neither nothing nor any other number."""
        return bool(np.isnan(self.by_year).all())

    @property
    def by_member(self) -> Array:
        """Return one number a member, shape (member,). [``unit``]"""
        if self.over == "end":
            return np.asarray(self.by_year[-1])
        made = self.by_year.sum(axis=0)
        return np.asarray(made / len(self.by_year) if self.over == "year" else made)

    @property
    def key(self) -> tuple[str, str, str]:
        """Return what the same measure of another design is found by."""
        return self.group, self.name, self.about


def range_of(values: Array) -> tuple[float, float, float]:
    """Return the middle of some members and the ends of their 80 % range."""
    low, middle, high = np.percentile(values, (LOW, 50.0, HIGH))
    return float(middle), float(low), float(high)


def figure_of(measure: Measure, label: str = "") -> Figure:
    """Return a measure as one number with its range over members."""
    middle, low, high = range_of(measure.by_member)
    years, members = measure.by_year.shape
    about = ", ".join(filter(None, (measure.about, label)))
    formula = f"{_OVER[measure.over]} ({years} × {members})"
    origins = measure.origins or (Origin("farm", basis="placeholder"),)
    return Figure(measure.name, middle, measure.unit, low, high, origins, formula, about=about)


_OVER: Mapping[str, str] = {"year": "Σ ÷ n", "whole": "Σ", "end": "n"}


def difference(one: Measure | None, other: Measure | None, label: str = "") -> Figure | None:
    """Return the second less the first, taken member by member; None where neither is.

    A measure that a design does not have is nothing in every year: no nuts without trees.
    """
    known = one if one is not None else other
    if known is None:
        return None
    nothing = np.zeros_like(known.by_member)
    first = one.by_member if one is not None else nothing
    second = other.by_member if other is not None else nothing
    middle, low, high = range_of(second - first)
    parts = tuple(figure_of(m, label) for m in (one, other) if m is not None)
    about = ", ".join(filter(None, (known.about, label)))
    formula = f"{plain(float(np.median(second)))} − {plain(float(np.median(first)))}"
    return Figure(
        "difference", middle, known.unit, low, high, (), formula, parts, about=f"{known.name} {about}"
    )


def measures_of(projection: Projection, names: Mapping[str, str]) -> tuple[Measure, ...]:
    """Return what a projection says the land gives: feed, harvest, wood, carbon by line, hours of work.

    Parameters
    ----------
    names : mapping
        What plantings are called, by id.
    """
    return (
        *_feed(projection),
        *(_product(one, names, "harvest") for one in (*projection.yields, *projection.fodder)),
        *(_product(one, names, "wood") for one in projection.wood),
        *_carbon(projection),
        Measure("work_hours", "", "h", projection.work_h, "year", group="work"),
    )


def _feed(projection: Projection) -> Iterator[Measure]:
    feed = projection.feed
    for name, by_month in (
        ("feed_grown", feed.grown_kg),
        ("feed_need", feed.need_kg),
        ("hay_short", feed.hay_kg),
    ):
        by_year = by_month.sum(axis=2)
        if name in OF_GROWTH and not feed.grows:
            by_year = np.full_like(by_year, np.nan)
        yield Measure(name, "", "kg", by_year, "year", feed.origins, "feed")
    for name, by_class in (("head_carried", feed.head), ("head_sold", feed.sold)):
        yield Measure(name, "", "head", by_class.sum(axis=2), "year", feed.origins, "feed")
    if projection.wool_kg.any():
        wool = projection.wool_kg.sum(axis=2)
        yield Measure("wool_shorn", "", "kg", wool, "year", (Origin("farm", basis="farm"),), "feed")


def _product(one: Yield, names: Mapping[str, str], group: str) -> Measure:
    about = ", ".join(filter(None, (names.get(one.planting, one.planting), one.product)))
    return Measure("product", about, one.unit, one.amount, "whole", one.origins, group)


def _carbon(projection: Projection) -> Iterator[Measure]:
    """Yield what stands at the end by pool, all plantings together, and the gases of a year by line."""
    book = projection.carbon
    for pool in dict.fromkeys(pool for _, pool in book.stock_t):
        stock = np.sum([t for (_, own), t in book.stock_t.items() if own == pool], axis=0)
        yield Measure(
            "carbon_stock", say(f"trials.pool.{pool}"), "t CO2", stock, "end", book.origins, "carbon"
        )
    for (line, gas), flow in book.flow_kg.items():
        yield gas_measure(line, gas, flow, book.origins_of((line, gas)))


def gas_measure(line: str, gas: str, flow_kg: Array, origins: tuple[Origin, ...]) -> Measure:
    """Return a line of the carbon book as a measure of its yearly gas."""
    own = f"trials.line.{line}"
    about = say(own) if known(own) else say(f"carbon.line.{line}")
    return Measure("gas_flow", f"{about}, {gas}", f"kg {gas}", flow_kg, "year", origins, "carbon")


def by_key(measures: tuple[Measure, ...]) -> dict[tuple[str, str, str], Measure]:
    """Return measures by what they are found by."""
    return {measure.key: measure for measure in measures}
