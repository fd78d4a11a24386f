"""The carbon pack as one frozen record: sections in the order in which a buyer reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from browseline.chain.why import Opened
from browseline.units import System

Rows = tuple[tuple[str, ...], ...]
SCHEMA = "browseline/evidence/1"
ORDER = (
    "claimed", "not_claimed", "wrong", "could_be", "method", "stems", "planted", "owner", "undo", "animals",
    "soil", "management", "photos", "place", "missing", "sources",
)  # fmt: skip


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
class Evidence:
    """The carbon pack. ``drawing`` is an SVG of rows without any place on Earth, empty without a map."""

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
class EvidenceRecord:
    """The pack with every number of it opened, for its JSON."""

    schema: str
    pack: Evidence
    opened: tuple[Opened, ...]
