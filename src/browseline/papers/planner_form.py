"""The plan for a planner's office as one frozen record, and the draft that notes its blanks."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from browseline.chain.look import Picture
from browseline.figures import Figure, Origin
from browseline.layout.form import Layout
from browseline.ledger.balance_months import MonthsBalance
from browseline.ledger.facts import counted
from browseline.moves.form import Season
from browseline.papers.section_form import Rows, Section, SectionPaper
from browseline.units import shown
from browseline.words import linked, say

SCHEMA = "browseline/planner/1"
OWN = Origin("farm", basis="farm")
ORDER = (
    "blanks", "purpose", "land", "animals", "balance", "water", "trees", "schedule", "contingency",
    "monitoring", "upkeep", "records", "signatures",
)  # fmt: skip


@dataclass(frozen=True)
class PlannerPlan(SectionPaper):
    """The plan in the order of a review; its drawing is the map with north, scale and acres.

    ``blanks`` names what nobody supplied: each stands as a blank in its own section, and on the first page.
    """

    blanks: tuple[str, ...] = ()


@dataclass
class Draft:
    """A plan in the making: what it is made from, and the blanks that were met."""

    picture: Picture
    season: Season | None
    first: date
    last: date
    balance: MonthsBalance
    blanks: list[str] = field(default_factory=list)

    @cached_property
    def layout(self) -> Layout | None:
        """Return the rows on their ground; None where no shape is on the map."""
        if not self.picture.farm.shapes:
            return None
        from browseline.chain.laid import laid_out

        return laid_out(self.picture.folder, self.picture.farm, self.picture.state)

    def blank(self, what: str, **fields: str) -> str:
        """Return a blank, noted for the first page."""
        named = say(f"planner.blank.{what}", **fields)
        if named not in self.blanks:
            self.blanks.append(named)
        return say("planner.blank")

    def line(self, what: str, **fields: str) -> str:
        """Return a line that is a blank, led by what is missing."""
        blank = self.blank(what, **fields)
        return say("planner.blank.line", what=say(f"planner.blank.{what}", **fields), blank=blank)

    def said(self, what: str, words: str) -> str:
        """Return a line with what the farm typed in its own words; a blank where it typed nothing."""
        if not words:
            return self.line(what)
        return say("planner.said", what=say(f"planner.blank.{what}"), words=linked(words, OWN))

    def size(self, figure: Figure, use: str, digits: int | None = None) -> str:
        """Return a figure in the farm's own units, linked."""
        return linked(shown(figure.value or 0.0, use, self.picture.farm.units, digits), figure)


def section_of(key: str, lines: tuple[str, ...], columns: tuple[str, ...] = (), rows: Rows = ()) -> Section:
    """Return a section with its heading; ``columns`` are the keys of its columns."""
    head = tuple(say(f"planner.head.{column}") for column in columns)
    return Section(key, say(f"planner.{key}"), lines, head if rows else (), rows)


def count_words(name: str, number: int) -> str:
    """Return how many there are, linked."""
    return linked(f"{number:,}", counted(name, number, "1", formula=f"{number}"))
