"""The windows of the years ahead in words: one line for each thing to decide, the soonest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from browseline import tables
from browseline.decades.form import Projection, Window
from browseline.decades.windows import FIRST_YEARS
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, typed
from browseline.units import factor
from browseline.words import linked, list_words, say

ENDS = {"first": "window_first", "likely": "window_likely", "last": "window_last"}
BY_YEARS = (Origin("derived_here", "the years ahead, member by member", "derived"),)
CHOSEN = (Origin("common_practice", "", "common-practice"),)
PERCENT = factor("1", "%")
NEAR_YR = 3
"""Plantings whose likely years lie no further apart are one decision where the reason is the same."""
FEW = 0.1
"""What comes in fewer of the futures stands after all else, whenever it would come. [1]"""
MOST_SHOWN = 8
"""So many decisions, the soonest, stand first; the rest after them."""
MOST_NAMED = 2
TOLD_ELSEWHERE = ("light",)
"""Kinds that are no decision: the page says them of each paddock."""


@dataclass(frozen=True)
class WindowLine:
    """One decision: its kind, what it is about by ids, calendar years, the whole in words, and shortly.

    ``share`` is the share of members in which it comes, of its plantings the most; ``figures`` are what the
    words rest on. [yr, 1]
    """

    kind: str
    about: tuple[str, ...]
    first: int
    likely: int
    last: int
    share: float
    words: str
    figures: tuple[Figure, ...]
    title: str


def window_lines(farm: Farm, ahead: Projection) -> tuple[tuple[WindowLine, ...], tuple[WindowLine, ...]]:
    """Return what is to be decided, the soonest first, and what comes later or in few futures."""
    lines = sorted(
        (_line(farm, ahead, group) for group in _grouped(ahead.windows)),
        key=lambda line: (line.share < FEW, line.likely, line.first, line.kind, line.about),
    )
    near = sum(line.share >= FEW for line in lines[:MOST_SHOWN])
    return tuple(lines[:near]), tuple(lines[near:])


def _grouped(windows: Sequence[Window]) -> list[list[Window]]:
    """Return windows of one kind and one reason whose likely years are near, together."""
    groups: list[list[Window]] = []
    for one in sorted(windows, key=lambda w: (w.likely, w.first, w.about)):
        if one.kind in TOLD_ELSEWHERE:
            continue
        same = (
            own for own in groups
            if (own[0].kind, own[0].because) == (one.kind, one.because)
            and (own[0].share < FEW) == (one.share < FEW) and one.likely - own[0].likely <= NEAR_YR
        )  # fmt: skip
        found = next(same, None)
        if found is None:
            groups.append([one])
        else:
            found.append(one)
    return groups


def _line(farm: Farm, ahead: Projection, group: Sequence[Window]) -> WindowLine:
    """Return a decision in words: from its first year to its last, likely that of the soonest planting."""
    formula = say("decades.formula", members=str(len(ahead.members)))
    head = group[0]
    ends = (min(w.first for w in group), head.likely, max(w.last for w in group))
    own = [_named(farm, window.about) or farm.name for window in group]
    about = f"{list_words(own)} {head.because}"
    years = [
        Figure(word, float(year), "yr", origins=BY_YEARS, formula=formula, about=about)
        for word, year in zip(ENDS.values(), ends, strict=True)
    ]
    shares = [
        Figure("window_share", w.share, "1", origins=BY_YEARS, formula=formula, about=f"{name} {w.because}")
        for w, name in zip(group, own, strict=True)
    ]
    kind = say(f"decades.kind.{head.kind}")
    words = say(
        f"decades.window.{'one' if ends[0] == ends[2] else 'span'}", kind=kind, names=_names(own, shares),
        because=head.because,
        **{end: linked(f"{year.value:.0f}", year) for end, year in zip(ENDS, years, strict=True)},
    )  # fmt: skip
    rests = dict.fromkeys(figure for window in group for figure in _rests_on(farm, window))
    return WindowLine(
        head.kind, tuple(w.about for w in group), *ends, max(w.share for w in group), words,
        (*years, *shares, *rests), _title(kind, own),
    )  # fmt: skip


def _names(own: Sequence[str], shares: Sequence[Figure]) -> str:
    """Return the plantings of a decision, each with the share of futures in which it comes."""
    return list_words(
        say("decades.window.name", name=name, share=linked(f"{(f.value or 0.0) * PERCENT:.0f} %", f))
        for name, f in zip(own, shares, strict=True)
    )


def _title(kind: str, names: Sequence[str]) -> str:
    if len(names) > MOST_NAMED:
        return say("decades.chart.window_many", kind=kind)
    return say("decades.chart.window_title", kind=kind, name=list_words(names))


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
    if window.kind == "hay_gap":
        yield Figure("window_years", float(FIRST_YEARS), "yr", origins=CHOSEN)
        yield Figure("window_years", float(FIRST_YEARS), "1", origins=CHOSEN, about="first")
