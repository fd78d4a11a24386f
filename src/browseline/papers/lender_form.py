"""The lender pack as one frozen record: what it says, in the order in which a lender reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from browseline.chain.why import Opened
from browseline.units import System

Rows = tuple[tuple[str, ...], ...]
SCHEMA = "browseline/lender/1"


@dataclass(frozen=True, slots=True)
class Group:
    """Words over some columns on end."""

    words: str
    columns: int


@dataclass(frozen=True, slots=True)
class Table:
    """A table: the words over its columns, and its rows; every number in a cell opens to its figure.

    ``groups`` are words over several columns on end, with how many; empty where the heads say all.
    """

    head: tuple[str, ...] = ()
    rows: Rows = ()
    groups: tuple[Group, ...] = ()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the chart: a case's name, how it is drawn, and its values by year. None is nothing due."""

    name: str
    drawn: str
    total: tuple[float, ...]
    coverage: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """What the chart shows, all of it in the tables too.

    ``band`` is the running total that one draw in ten is below and one in ten above, by year; empty where
    nothing is drawn. ``wanted`` is the coverage that counts as enough.
    """

    years: tuple[int, ...]
    lines: tuple[Line, ...]
    band: tuple[tuple[float, float], ...]
    wanted: float
    currency: str


@dataclass(frozen=True)
class LenderPack:
    """The pack for a lender.

    Attributes
    ----------
    asked : tuple of str
        The loans, what they buy, what stands as security.
    first : tuple of str
        The worst year and the deepest hole of every case, the worst case first; how many draws fall short.
    cases : Table
        The cases side by side in a few numbers.
    years : Table
        Every year of the base and the downside, then ``bad_years`` of the bad decades.
    switches : Table
        What goes wrong in the downside and the bad decades, and whether it is switched on.
    change : tuple of str
        What would change the answers, what moves the worth, break-even prices and yields.
    drawn : tuple of str
    drawn_years : Table
    assumptions : Table
    notes : tuple of str
        Where a line's count comes from, carbon without a contract, own work, by acre.
    trees : tuple of str
        First harvests, leases that end before them, who owns the trees.
    not_known : tuple of str
        What a lender asks and this farm's file does not hold.
    record : tuple of str
        Money on record, and the year under way.
    disclaimer : str
    """

    schema: str
    farm: str
    units: System
    made: datetime
    printed: str
    title: str
    asked: tuple[str, ...]
    covers: str
    first: tuple[str, ...]
    cases: Table
    years: Table
    bad_years: Table
    switches: Table
    change: tuple[str, ...]
    drawn: tuple[str, ...]
    drawn_years: Table
    assumptions: Table
    notes: tuple[str, ...]
    trees: tuple[str, ...]
    not_known: tuple[str, ...]
    record: tuple[str, ...]
    disclaimer: str
    drawing: Drawing


@dataclass(frozen=True)
class LenderRecord:
    """The pack for a program: with every number that it prints opened to its sources."""

    schema: str
    pack: LenderPack
    opened: tuple[Opened, ...]
