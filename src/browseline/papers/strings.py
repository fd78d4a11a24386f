"""The season as strings that hang down: one string a mob, a bead a stay, days from top to bottom.

It is drawn for a narrow page: a day is as tall as a line of words. Full beads happened, open ones are
planned, the less firm the more broken their edge. Every fact of it stands in the table too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from browseline.papers.season import BeadLine, SeasonSheet, by_firmness
from browseline.words import day_words, say

DAY_PX = 22.0
GUTTER_PX = 92.0
WIDE_PX = 360.0
LINE_PX = 20.0
NAME_LINES = 3
LEAST_PX = 84.0
BEAD_SHARE = 0.86
LETTER_PX = 10.5
LANE_PX = 14.0
CHART_PX = 150.0
CHART_BOTTOM_PX = 28.0
LEAST_TOP_D = 5.0
ROOM = 1.6
LABEL_PX = 84.0


@dataclass(frozen=True, slots=True)
class DrawnBead:
    """One stay: where it hangs [px], its word, and how firm it is."""

    x: float
    y: float
    wide: float
    tall: float
    word: str
    state: str


@dataclass(frozen=True, slots=True)
class DrawnString:
    """One mob: where its string hangs [px], its name in as many lines as it needs, its beads."""

    mob: str
    names: tuple[str, ...]
    x: float
    beads: tuple[DrawnBead, ...]


@dataclass(frozen=True, slots=True)
class DrawnMark:
    """A line across, or a word beside one: a Monday, now, a promise by its letter. [px]"""

    y: float
    tall: float
    word: str


@dataclass(frozen=True, slots=True)
class DrawnAhead:
    """Days of grass ahead over the days: the lines as points of the drawing [px]; words of the axes."""

    wide: float
    tall: float
    band: str
    still: str
    growing: str
    dots: tuple[tuple[float, float], ...]
    now_x: float
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class Drawn:
    """The drawing of a season: its size, where its days begin [px], and all that hangs in it."""

    wide: float
    tall: float
    top: float
    strings: tuple[DrawnString, ...]
    days: tuple[DrawnMark, ...]
    now: DrawnMark
    promises: tuple[DrawnMark, ...]
    ahead: DrawnAhead | None


def drawn(sheet: SeasonSheet) -> Drawn:
    """Return a season sheet as a drawing."""
    count = max(len(sheet.strings), 1)
    lane = LANE_PX if sheet.promises else 0.0
    step = max(LEAST_PX, (WIDE_PX - GUTTER_PX - lane) / count)
    days = (sheet.last - sheet.first).days + 1
    names = [_lines(string.mob, step) for string in sheet.strings]
    top = LINE_PX * (max(map(len, names), default=1) + 0.7)
    strings = tuple(
        DrawnString(
            string.mob, own, GUTTER_PX + step * (n + 0.5), tuple(_beads(sheet, top, string.beads, n, step))
        )
        for n, (string, own) in enumerate(zip(sheet.strings, names, strict=True))
    )
    return Drawn(
        GUTTER_PX + step * count + lane, top + DAY_PX * days, top, strings, tuple(_mondays(sheet, top)),
        DrawnMark(_y(sheet, top, sheet.now), 0.0, say("papers.season.now")), tuple(_promises(sheet, top)),
        _ahead(sheet),
    )  # fmt: skip


def _lines(name: str, step: float) -> tuple[str, ...]:
    """Return a name broken between words to the width of a string; a long word is cut short."""
    most = int(step / LETTER_PX)
    out: list[str] = []
    for word in name.split():
        if out and len(out[-1]) + 1 + len(word) <= most:
            out[-1] += f" {word}"
        else:
            out.append(word if len(word) <= most else f"{word[: most - 1]}…")
    return tuple(out[:NAME_LINES]) or ("",)


def _y(sheet: SeasonSheet, top: float, at: datetime | date) -> float:
    """Return how far down an instant of the farm's clock hangs. [px]"""
    begin = datetime.combine(sheet.first, time())
    local = at.replace(tzinfo=None) if isinstance(at, datetime) else datetime.combine(at, time())
    gone_d = (local - begin) / timedelta(days=1)
    return round(top + DAY_PX * max(gone_d, 0.0), 1)


def _beads(
    sheet: SeasonSheet, above: float, beads: tuple[BeadLine, ...], n: int, step: float
) -> Iterator[DrawnBead]:
    wide = step * BEAD_SHARE
    for bead in by_firmness(beads, sheet.now):
        top, bottom = _y(sheet, above, bead.begin), _y(sheet, above, bead.end)
        tall = max(bottom - top - 2, 3.0)
        fits = [word for word in (bead.place, bead.short) if len(word) * LETTER_PX <= wide]
        word = fits[0] if fits and tall >= DAY_PX * 0.8 else ""
        x = GUTTER_PX + step * n + (step - wide) / 2
        yield DrawnBead(round(x, 1), top + 1, round(wide, 1), round(tall, 1), word, bead.state)


def _mondays(sheet: SeasonSheet, top: float) -> Iterator[DrawnMark]:
    for n in range((sheet.last - sheet.first).days + 1):
        day = sheet.first + timedelta(days=n)
        if day.isoweekday() == 1:
            yield DrawnMark(_y(sheet, top, day), 0.0, day_words(day))


def _promises(sheet: SeasonSheet, top: float) -> Iterator[DrawnMark]:
    """Yield the promises; letters that would lie on one another stand together at the first of them."""
    found = []
    for n, promise in enumerate(sheet.promises):
        first = max(promise.first, sheet.first)
        last = min(promise.last or promise.first + timedelta(days=1), sheet.last + timedelta(days=1))
        begins, ends = _y(sheet, top, first), _y(sheet, top, last)
        found.append(DrawnMark(begins, max(ends - begins, DAY_PX), letter(n)))
    placed: list[DrawnMark] = []
    for mark in sorted(found, key=lambda mark: mark.y):
        near = next((k for k, other in enumerate(placed) if other.word and mark.y - other.y < DAY_PX), None)
        if near is None:
            placed.append(mark)
        else:
            placed[near] = replace(placed[near], word=f"{placed[near].word} {mark.word}")
            placed.append(replace(mark, word=""))
    yield from placed


def letter(n: int) -> str:
    """Return the letter by which a promise is found in the list: a, b, … z, aa."""
    return (letter(n // 26 - 1) if n >= 26 else "") + chr(ord("a") + n % 26)


def _ahead(sheet: SeasonSheet) -> DrawnAhead | None:
    """Return the drawing of grass ahead; None where nothing is known of it."""
    if not sheet.ahead and not sheet.measured:
        return None
    days, left, top = (sheet.last - sheet.first).days + 1, 44.0, _highest_d(sheet)

    def x(day: date) -> float:
        return round(left + (WIDE_PX - left) * (day - sheet.first).days / days, 1)

    def y(value_d: float) -> float:
        return round(8 + (CHART_PX - 8) * (1 - min(value_d, top) / top), 1)

    seen = [a for a in sheet.ahead if a.day <= sheet.last]
    low = [(x(a.day), y(a.still_d)) for a in seen]
    high = [(x(a.day), y(a.still_d if a.growing_d is None else a.growing_d)) for a in seen]
    step = max(1, math.ceil(LABEL_PX / max(x(sheet.first + timedelta(days=7)) - left, 1.0)))
    half = round(top / 2)
    return DrawnAhead(
        WIDE_PX, CHART_PX + CHART_BOTTOM_PX, _points([*low, *reversed(high)]), _points(low), _points(high),
        tuple((x(day), y(d)) for day, d in sheet.measured if day >= sheet.first), x(sheet.now.date()),
        tuple((x(day), day_words(day)) for day in _week_starts(sheet)[::step] if x(day) < WIDE_PX - 60),
        ((y(0), "0"), (y(half), str(half)), (y(top), f"{top:.0f}")),
    )  # fmt: skip


def _highest_d(sheet: SeasonSheet) -> float:
    """Return the days of grass at the top of the drawing; what grows may pass it, by a little. [d]"""
    growing = [a.growing_d for a in sheet.ahead if a.growing_d is not None]
    still = [a.still_d for a in sheet.ahead] + [d for _, d in sheet.measured]
    return max(LEAST_TOP_D, *still, min(max([0.0, *growing]), ROOM * max([0.0, *still])))


def _week_starts(sheet: SeasonSheet) -> list[date]:
    every = (sheet.first + timedelta(days=n) for n in range((sheet.last - sheet.first).days + 1))
    return [day for day in every if day.isoweekday() == 1]


def _points(spots: list[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in spots)
