"""What a planner's office asks that no other table of the farm holds, in the keeper's own words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

WORDS = (
    "purpose", "programme", "who_decides", "drought", "flood", "fences", "water_lines", "guards",
)  # fmt: skip
"""What is answered by a text, by the names under which it is typed."""


@dataclass(frozen=True, slots=True)
class Review:
    """Answers for a review; what is empty stays a blank on its paper.

    ``programme_rules`` is the day of the programme's rules, ``key_areas`` are paddocks by their ids or places
    by their words, ``thinning`` says of plantings what triggers their thinning.
    """

    purpose: str = ""
    programme: str = ""
    programme_rules: date | None = None
    who_decides: str = ""
    drought: str = ""
    flood: str = ""
    fences: str = ""
    water_lines: str = ""
    guards: str = ""
    key_areas: tuple[str, ...] = ()
    thinning: tuple[tuple[str, str], ...] = ()

    def trigger(self, planting: str) -> str:
        """Return what triggers the thinning of a planting; empty where nobody typed it."""
        return dict(self.thinning).get(planting, "")
