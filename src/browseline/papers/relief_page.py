"""The relief sheet as a page and as a PDF; nothing is issued by looking at it."""

from __future__ import annotations

from dataclasses import dataclass

from browseline.chain.in_force import plan_in_force
from browseline.chain.look import Picture
from browseline.papers.fit import RELIEF
from browseline.papers.plain import message, parts
from browseline.papers.relief import ReliefSheet, relief
from browseline.papers.sheets import pdf, relief_data


@dataclass(frozen=True, slots=True)
class ReliefPage:
    """The page of the relief sheet: the sheet, and its text with the number of messages it takes."""

    schema: str
    sheet: ReliefSheet
    text: str
    messages: int


def relief_page(picture: Picture, days: int) -> ReliefPage:
    """Return the relief sheet of today and some days after."""
    sheet = relief(picture, days, plan_in_force(picture))
    text = message(sheet)
    return ReliefPage("browseline/relief-page/1", sheet, text, parts(text))


def relief_pdf(picture: Picture, days: int) -> bytes:
    """Return the same on one side of paper."""
    return pdf(RELIEF, relief_data(relief(picture, days, plan_in_force(picture))))
