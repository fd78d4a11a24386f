"""The record of a period: every stay with head, class, heights and feed; what is not there stays a gap."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from browseline.chain.desk.times import past_day
from browseline.chain.look import Picture
from browseline.chain.period_words import moved_words, stay_words
from browseline.errors import BadInput, finding
from browseline.events import Event, Fed, When
from browseline.farm.herd_words import class_words
from browseline.figures import Figure, typed
from browseline.ledger.account import dated, happened
from browseline.ledger.facts import counted
from browseline.record.state import HeightRead, Stay
from browseline.words import joined, linked, list_words, say

NEAR = timedelta(days=3)
"""A height read so long before or after a move stands for it."""
COLUMNS = ("mob", "paddock", "in", "out", "head", "class", "height_in", "height_out", "feed", "gaps")


@dataclass(frozen=True)
class PeriodRow:
    """One stay. What nobody wrote down is None, and named in ``gaps``.

    ``entered`` and ``left`` are for machines, ``came`` and ``went`` the same in words. ``says`` is the whole
    stay in words, its gaps included. ``figures`` are the head of each class that went in, the heights and
    the feed, with who and when.
    """

    mob: str
    paddock: str
    entered: str
    left: str | None
    head: int | None
    classes: str
    height_in: str | None
    height_out: str | None
    feed: str
    gaps: tuple[str, ...]
    came: str
    went: str | None
    says: tuple[str, ...]
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True)
class Period:
    """The record from ``first`` to ``last`` (not included), and how many gaps it has."""

    schema: str
    farm: str
    first: date
    last: date
    rows: tuple[PeriodRow, ...]
    sentences: tuple[str, ...]


def spanned(first: str, last: str, today: date) -> tuple[date | None, date | None]:
    """Return the period that two texts mean, its last day not included; None where one is not said.

    Raises
    ------
    BadInput
        If one is no day, or the period ends before it begins.
    """
    begins = past_day(first, today, f"--from {first}") if first.strip() else None
    ends = past_day(last, today, f"--to {last}") if last.strip() else None
    if begins is not None and (ends or today) < begins:
        raise BadInput([finding("farm.reversed", "--to", first=begins, last=ends or today)])
    return begins, ends + timedelta(days=1) if ends is not None else None


def period(picture: Picture, first: date, last: date) -> Period:
    """Return the record of a period: every stay in a paddock that touches it, in order of entry."""
    scene = picture.scene
    begin, end = scene.midnight(first).astimezone(UTC), scene.midnight(last).astimezone(UTC)
    stays = [
        stay for stay in picture.state.stays
        if not stay.planned and scene.paddock(stay.place) is not None
        and stay.begin.start.astimezone(UTC) < end and _end(picture, stay) > begin
    ]  # fmt: skip
    stays.sort(key=lambda stay: stay.begin.start.astimezone(UTC))
    rows = tuple(_row(picture, stay, first, last) for stay in stays)
    return Period("browseline/record/1", scene.farm.name, first, last, rows, tuple(_told(rows, first, last)))


def out_recorded(stay: Stay) -> bool:
    """Return whether somebody wrote down that the mob left: a stay ended by opening values was not seen."""
    return stay.end is not None and stay.end_event != ""


def still_there(picture: Picture, stay: Stay) -> bool:
    """Return whether the stay goes on now."""
    return stay.end is None and any(m.id == stay.mob and m.ended is None for m in picture.state.mobs)


def _end(picture: Picture, stay: Stay) -> datetime:
    """Return the instant by which a stay is over for sure; of one without an out date, its entry."""
    if stay.end is not None and out_recorded(stay):
        return stay.end.end.astimezone(UTC)
    if still_there(picture, stay):
        return datetime.max.replace(tzinfo=UTC)
    return stay.begin.end.astimezone(UTC) + timedelta(seconds=1)


def _row(picture: Picture, stay: Stay, first: date, last: date) -> PeriodRow:
    scene = picture.scene
    heads = _heads(picture, stay)
    place = scene.paddock(stay.place)
    out = stay.end if stay.end is not None and out_recorded(stay) else None
    here = still_there(picture, stay)
    height_in = _height(picture, stay, stay.begin)
    height_out = _height(picture, stay, out) if out is not None else None
    missing = {"out": out is None and not here, "head": not heads, "height_in": height_in is None,
               "height_out": height_out is None and not here}  # fmt: skip
    gaps = tuple(say(f"account.period.no_{name}") for name, gone in missing.items() if gone)
    feed = _feed(picture, stay)
    figures = (*heads, *(f for f in (height_in, height_out) if f is not None), *feed)
    mob = picture.state.mob(stay.mob)
    came = _said(picture, stay.begin, first, last)
    went = _said(picture, out, first, last) if out is not None else None
    classes, fed = list_words(_class_words(h) for h in heads if h.value), joined(map(_fed_words, feed), "; ")
    heights = (_typed(height_in), _typed(height_out))
    return PeriodRow(
        mob.name if mob is not None else stay.mob,
        place.name if place is not None else stay.place,
        _when(picture, stay.begin),
        say("account.period.here") if here else _when(picture, out) if out is not None else None,
        round(sum(head.value or 0.0 for head in heads)) if heads else None,
        classes, *heights, fed, gaps, came,
        say("account.period.here") if here else went,
        tuple(stay_words(came, went, classes, heights, fed, here=here)), figures,
    )  # fmt: skip


def _typed(figure: Figure | None) -> str | None:
    return linked(figure.typed, figure) if figure is not None else None


def _fed_words(meal: Figure) -> str:
    return joined([linked(meal.typed, meal), *([meal.about] if meal.about else [])], " ")


def _when(picture: Picture, when: When) -> str:
    first, last = (f"{picture.scene.local(x):%Y-%m-%d %H:%M}" for x in (when.start, when.end))
    return first if when.exact else say("account.period.between", first=first, last=last)


def _said(picture: Picture, when: When, first: date, last: date) -> str:
    start, end = (picture.scene.local(x) for x in (when.start, when.end))
    return moved_words(start, end, first, last)


def _class_words(head: Figure) -> str:
    """Return how many of a class, as people call them."""
    count = round(head.value or 0.0)
    return joined((linked(f"{count}", head), class_words(head.about, count)), " ")


def _heads(picture: Picture, stay: Stay) -> tuple[Figure, ...]:
    """Return who went in, as the record had it at the entry; nothing before the farm began. [head]"""
    at = stay.begin.end.astimezone(UTC)
    logged = [(when, lines) for when, mob, lines in picture.state.heads if mob == stay.mob and when <= at]
    if not logged:
        return ()
    when, lines = max(logged, key=lambda entry: entry[0])
    day = picture.scene.local(when).date()
    return tuple(replace(counted("head", x.head, "head", about=x.klass), as_of=day) for x in lines)


def _height(picture: Picture, stay: Stay, when: When) -> Figure | None:
    """Return the height read nearest to a move, if one was read within three days of it. [cm]"""

    def gap(read: HeightRead) -> timedelta:
        return abs(read.at.end - when.end)

    near = [h for h in picture.state.heights if h.paddock == stay.place and gap(h) <= NEAR]
    if not near:
        return None
    read = min(near, key=gap)
    day, who = picture.scene.local(read.at.end).date(), read.who
    return typed("height", read.height.to("cm"), "cm", read.height.text, about=stay.place, as_of=day, who=who)


def _feed(picture: Picture, stay: Stay) -> tuple[Figure, ...]:
    """Return what the mob was fed while it stood there, an entry each."""
    end = _end(picture, stay)
    return tuple(
        _given(picture, event, event.body)
        for event in happened(picture.events, picture.now)
        if isinstance(event.body, Fed) and _fed(event, stay) and event.observed.end.astimezone(UTC) < end
    )


def _given(picture: Picture, event: Event, body: Fed) -> Figure:
    day, amount = picture.scene.local(event.observed.end).date(), body.amount
    text, who = amount.text, event.who
    return typed("fed", float(amount.value), amount.unit, text, about=body.what, as_of=day, who=who)


def _fed(event: Event, stay: Stay) -> bool:
    return event.subject == stay.mob and event.observed.end >= stay.begin.start


# ---------------------------------------------------------------- in words and as a table


def _told(rows: tuple[PeriodRow, ...], first: date, last: date) -> Iterator[str]:
    days = (dated(first), dated(last - timedelta(days=1)))
    stays = linked(f"{len(rows)}", counted("stays", len(rows), "1"))
    yield say("account.period.span", first=days[0], last=days[1], count=stays)
    for row in rows:
        if say("account.period.no_out") in row.gaps:
            yield say("account.period.gap", mob=row.mob, paddock=row.paddock, entered=row.came)


def cells(row: PeriodRow) -> tuple[str, ...]:
    """Return a row as texts in the order of ``COLUMNS``; what is not known stays empty."""
    head = str(row.head) if row.head is not None else ""
    return (
        row.mob, row.paddock, row.entered, row.left or "", head, row.classes, row.height_in or "",
        row.height_out or "", row.feed, "; ".join(row.gaps),
    )  # fmt: skip


def as_csv(made: Period) -> str:
    """Return the record as CSV; a cell that begins like a formula gets an apostrophe before it."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(COLUMNS)
    table.writerows([_harmless(cell) for cell in cells(row)] for row in made.rows)
    return out.getvalue()


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell[:1] in ("=", "+", "-", "@", "\t", "\r") else cell


def as_text(made: Period) -> str:
    """Return the record as plain text, a stay a paragraph."""
    lines = [made.farm, *made.sentences, ""]
    for row in made.rows:
        lines.append(say("account.period.stay", mob=row.mob, paddock=row.paddock))
        lines += (f"  {said}" for said in row.says)
    return "\n".join(lines) + "\n"
