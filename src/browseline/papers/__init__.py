"""Papers: the relief sheet, the season sheet and the calendar, issued and printed again as they were."""

from browseline.papers.calendar import ics
from browseline.papers.issued import KINDS, Kind, Paper, context_of, edition, issue, reprint
from browseline.papers.plain import message, parts
from browseline.papers.relief import ReliefSheet, relief
from browseline.papers.season import SeasonSheet, season_sheet

__all__ = [
    "KINDS",
    "Kind",
    "Paper",
    "ReliefSheet",
    "SeasonSheet",
    "context_of",
    "edition",
    "ics",
    "issue",
    "message",
    "parts",
    "relief",
    "reprint",
    "season_sheet",
]
