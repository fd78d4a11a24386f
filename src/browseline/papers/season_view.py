"""The page Season as people see it: the plan with its reasons, and the drawing of what happened and will."""

from __future__ import annotations

from dataclasses import dataclass

from browseline.chain.in_force import judged_plan
from browseline.chain.look import Picture
from browseline.chain.season_page import SeasonPage, season_page
from browseline.papers.season import SeasonSheet, season_sheet
from browseline.papers.strings import Drawn, drawn, letter
from browseline.words import day_words


@dataclass(frozen=True, slots=True)
class SeasonView:
    """The page Season: ``plan`` as the command line gives it, ``sheet`` as the paper, ``drawn`` the drawing.

    ``letters`` name the promises in the drawing; ``ahead_days`` are the days of grass ahead in words.
    """

    schema: str
    plan: SeasonPage
    sheet: SeasonSheet
    drawn: Drawn
    letters: tuple[str, ...]
    ahead_days: tuple[str, ...]


def season_view(picture: Picture) -> SeasonView:
    """Return the season of a farm: what happened, what is planned, what it must keep to."""
    page = season_page(picture)
    sheet = season_sheet(picture, judged_plan(picture), page)
    return SeasonView(
        "browseline/season-view/1", page, sheet, drawn(sheet),
        tuple(letter(n) for n in range(len(sheet.promises))), tuple(day_words(a.day) for a in sheet.ahead),
    )  # fmt: skip
