"""A paper of sections as one frozen record: what each tells, in words and where one helps in a table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from browseline.chain.why import Opened
from browseline.units import System

Rows = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One section: its key, its heading, its sentences, and a table where one tells more.

    Every number in a sentence or a cell opens to its figure.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    head: tuple[str, ...] = ()
    rows: Rows = ()


@dataclass(frozen=True)
class SectionPaper:
    """A paper in the order in which its reader reads. ``drawing`` is an SVG, empty where nothing is drawn."""

    schema: str
    farm: str
    units: System
    made: datetime
    printed: str
    title: str
    disclaimer: str
    sections: tuple[Section, ...]
    drawing: str = ""
    drawing_says: str = ""

    def section(self, key: str) -> Section:
        """Return a section by its key."""
        return next(one for one in self.sections if one.key == key)


@dataclass(frozen=True)
class SectionRecord:
    """A paper with every number of it opened, for its JSON."""

    schema: str
    pack: SectionPaper
    opened: tuple[Opened, ...]
