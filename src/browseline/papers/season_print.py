"""The season sheet as the template sets it, and as plain text: the same rows in both."""

from __future__ import annotations

from typing import Any

from browseline.papers.ahead import FAR_D, AheadDay
from browseline.papers.charts import season_svg
from browseline.papers.fit import soft
from browseline.papers.season import BeadLine, SeasonSheet
from browseline.units import plain
from browseline.words import day_words, joined, language, say

TEMPLATE = "season-1"
EVERY_D = 7
STATES = ("done", "firm", "likely", "outline")
LISTS = ("moves", "changes", "clashes", "cuts", "costs")
"""Lists of sentences of the sheet, in their order."""


def season_data(sheet: SeasonSheet) -> dict[str, Any]:
    """Return what the template sets: words, numbers and the chart, ready for JSON."""
    return {
        "lang": language.get(),
        "paper": "us-letter" if sheet.units == "acres" else "a4",
        "farm": soft(sheet.farm),
        "span": sheet.span,
        "printed": sheet.printed,
        "chart": season_svg(sheet),
        "head": _heads(sheet),
        "state": {state: say(f"papers.season.state.{state}") for state in STATES},
        "strings": [
            {
                "mob": soft(s.mob),
                "heads": soft(s.heads),
                "rows": [[soft(c) for c in _row(b)] for b in s.beads],
            }
            for s in sheet.strings
        ],
        "promises": [[p.days, soft(p.what)] for p in sheet.promises],
        "ahead": [list(_ahead(a)) for a in sheet.ahead[::EVERY_D]],
        "grows": any(a.growing_d is not None for a in sheet.ahead),
        "dots": [[day_words(day), plain(d, 1)] for day, d in sheet.measured],
    } | {title: [soft(c) for c in getattr(sheet, title)] for title in LISTS}


def season_text(sheet: SeasonSheet) -> str:
    """Return the season sheet as plain text, a line a fact."""
    out = [f"{say('papers.season.title')} {sheet.farm} {sheet.span}, {sheet.printed}"]
    for string in sheet.strings:
        out += ["", f"{string.mob} ({string.heads})"]
        out += [f"  {'  '.join(cell for cell in _row(bead) if cell)}" for bead in string.beads]
    out += ["", say("papers.season.head.promises")]
    out += [f"  {p.days}  {p.what}" for p in sheet.promises] or [f"  {say('papers.season.none')}"]
    still, growing = say("papers.season.legend.still"), say("papers.season.legend.growing")
    out += ["", f"{say('papers.season.head.ahead')}: {still}, {growing}"]
    out += [f"  {'  '.join(_ahead(a))}" for a in sheet.ahead[::EVERY_D]] or [f"  {say('papers.season.none')}"]
    for title in LISTS:
        items = getattr(sheet, title)
        if items:
            out += ["", say(f"papers.season.head.{title}"), *(f"  {item}" for item in items)]
    return "\n".join(out) + "\n"


def _row(bead: BeadLine) -> tuple[str, ...]:
    """Return the cells of a stay: why it ends, and what lost to it where it is not outline yet."""
    lost = say("pages.season.next_best", lost=bead.lost) if bead.lost and bead.state != "outline" else ""
    why = joined((bead.reason, lost), " ")
    return (bead.place, bead.begins, bead.ends, bead.days, bead.state_words, why)


def _ahead(day: AheadDay) -> tuple[str, str, str]:
    unknown = say("papers.season.not_known")
    growing = unknown if day.growing_d is None else _days(day.growing_d)
    return day_words(day.day), _days(day.still_d), growing


def _days(days: float) -> str:
    return say("papers.season.far", days=plain(FAR_D)) if days >= FAR_D else plain(days, 1)


def _heads(sheet: SeasonSheet) -> dict[str, str]:
    keys = ("stays", "mob", "place", "from", "to", "days", "state", "why", "promises", "ahead", "clashes",
            "changes", "cuts", "costs", "moves", "day", "what")  # fmt: skip
    heads = {key: say(f"papers.season.head.{key}") for key in keys}
    legend = {key: say(f"papers.season.legend.{key}") for key in ("still", "growing", "dots")}
    if any(a.growing_d is not None and a.growing_d >= FAR_D for a in sheet.ahead):
        legend["growing"] = say("papers.season.legend.keeps_up")
    others = {key: say(f"papers.season.{key}") for key in ("title", "note", "alt", "none")}
    return heads | legend | others
