"""The windows of the years ahead in words: what is to be decided, from when to when, and how sure that is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from browseline import tables
from browseline.decades.form import Projection, Window
from browseline.decades.windows import FIRST_YEARS, LIGHT_LEVELS
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, typed
from browseline.units import factor
from browseline.words import linked, say

ENDS = {"first": "window_first", "likely": "window_likely", "last": "window_last"}
BY_YEARS = (Origin("derived_here", "the years ahead, member by member", "derived"),)
CHOSEN = (Origin("common_practice", "", "common-practice"),)
PERCENT = factor("1", "%")


@dataclass(frozen=True)
class WindowLine:
    """One window: its kind, what it is about by id, calendar years, the whole in words, and shortly.

    ``share`` is the share of members in which it comes; ``figures`` are what the words rest on. [yr, 1]
    """

    kind: str
    about: str
    first: int
    likely: int
    last: int
    share: float
    words: str
    figures: tuple[Figure, ...]
    title: str


def window_lines(farm: Farm, ahead: Projection) -> tuple[WindowLine, ...]:
    """Return the windows of a projection in order of their likely year."""
    return tuple(_line(farm, ahead, window) for window in ahead.windows)


def _line(farm: Farm, ahead: Projection, window: Window) -> WindowLine:
    name = _named(farm, window.about)
    formula = say("decades.formula", members=str(len(ahead.members)))
    about = f"{name} {window.because}"
    years = [
        Figure(word, float(getattr(window, end)), "yr", origins=BY_YEARS, formula=formula, about=about)
        for end, word in ENDS.items()
    ]
    share = Figure("window_share", window.share, "1", origins=BY_YEARS, formula=formula, about=about)
    first, likely, last = (linked(f"{year.value:.0f}", year) for year in years)
    often = linked(f"{window.share * PERCENT:.0f} %", share)
    key = "one" if window.first == window.last else "span"
    kind, own = say(f"decades.kind.{window.kind}"), name or farm.name
    words = say(f"decades.window.{key}", kind=kind, name=own,
                first=first, likely=likely, last=last, share=often, because=window.because)  # fmt: skip
    return WindowLine(
        window.kind, window.about, window.first, window.likely, window.last, window.share, words,
        (*years, share, *_rests_on(farm, window)), say("decades.chart.window_title", kind=kind, name=own),
    )  # fmt: skip


def _named(farm: Farm, ident: str) -> str:
    things = {p.id: p.what for p in farm.promises} | {p.id: p.name for p in farm.paddocks}
    things |= {p.id: p.name for p in farm.plantings}
    return things.get(ident, ident)


def _rests_on(farm: Farm, window: Window) -> Iterator[Figure]:
    """Yield the figures that the reason of a window speaks of."""
    planting = next((p for p in farm.plantings if p.id == window.about), None)
    if window.kind == "thin":
        yield tables.row("trees", "thin_near", "canopy closure").figure("thin_near")
        if planting is not None and planting.spacing is not None:
            spacing = planting.spacing
            yield typed("spacing", spacing.to("m"), "m", spacing.text, about=planting.id)
    if window.kind == "guards":
        for key in ("clear_height", "clear_stem"):
            for name in tables.applies("browsing", key):
                yield tables.row("browsing", key, name).figure(key, name)
    if window.kind == "light":
        for level in LIGHT_LEVELS:
            yield Figure("window_level", level, "1", origins=CHOSEN)
    if window.kind == "hay_gap":
        yield Figure("window_years", float(FIRST_YEARS), "yr", origins=CHOSEN)
        yield Figure("window_years", float(FIRST_YEARS), "1", origins=CHOSEN, about="first")
