"""The carbon pack as one frozen record: sections in the order in which a buyer reads."""

from __future__ import annotations

from dataclasses import dataclass

from browseline.papers.section_form import SectionPaper

SCHEMA = "browseline/evidence/1"
ORDER = (
    "claimed", "not_claimed", "wrong", "could_be", "method", "stems", "planted", "owner", "undo", "animals",
    "soil", "management", "photos", "place", "missing", "sources",
)  # fmt: skip


@dataclass(frozen=True)
class Evidence(SectionPaper):
    """The carbon pack. Its drawing is of rows without any place on Earth, empty without a map."""
