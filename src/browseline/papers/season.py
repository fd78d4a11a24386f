"""The season sheet: one string of beads a mob, grass ahead above it, promises below, and a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Literal

from browseline.chain.barred import left_out
from browseline.chain.in_force import firm_at, to_come
from browseline.chain.lent import herd_ahead
from browseline.chain.look import Picture
from browseline.chain.season_page import SeasonPage, StayLine, firm_words
from browseline.limits.harvest import shut_dates
from browseline.moves.form import Season
from browseline.moves.replan import FIRM_D, LIKELY_D
from browseline.papers.ahead import AheadDay, ahead_from, measured
from browseline.papers.names import beasts_words, clock_words, day_of_week, place_words, span_words
from browseline.papers.planned import Bead, beads
from browseline.record.state import MobState
from browseline.units import plain
from browseline.words import day_words, ends_words, joined, list_words, say

SCHEMA = "browseline/season/1"
BACK = timedelta(days=21)
LEAST_AHEAD = timedelta(days=28)
MOST_AHEAD = timedelta(days=120)
StateOf = Literal["done", "firm", "likely", "outline"]


@dataclass(frozen=True, slots=True)
class BeadLine:
    """One stay: the place, on the farm's clock from when to when, how firm, and why it ends then.

    ``lost`` says which place was next best and what it would cost more, where a plan knows it.
    """

    mob: str
    place: str
    short: str
    begin: datetime
    end: datetime
    begins: str
    ends: str
    days: str
    state: StateOf
    state_words: str
    reason: str
    lost: str = ""


@dataclass(frozen=True, slots=True)
class StringOf:
    """The string of one mob."""

    mob: str
    heads: str
    beads: tuple[BeadLine, ...]


@dataclass(frozen=True, slots=True)
class PromiseLine:
    """A promise or a shut date: what, from when, until when (not included; None is one day)."""

    what: str
    first: date
    last: date | None
    days: str


@dataclass(frozen=True, slots=True)
class SeasonSheet:
    """Everything on the season sheet. Times are on the farm's clock."""

    schema: str
    units: str
    made: datetime
    now: datetime
    farm: str
    span: str
    printed: str
    first: date
    last: date
    strings: tuple[StringOf, ...]
    ahead: tuple[AheadDay, ...]
    measured: tuple[tuple[date, float], ...]
    promises: tuple[PromiseLine, ...]
    clashes: tuple[str, ...]
    changes: tuple[str, ...]
    cuts: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()
    costs: tuple[str, ...] = ()


def season_sheet(
    picture: Picture, season: Season | None = None, page: SeasonPage | None = None
) -> SeasonSheet:
    """Return the season as it happened, as it is planned, and what it must keep to.

    Parameters
    ----------
    season : Season, optional
        The plan in force. Planned moves in the record come before it.
    page : SeasonPage, optional
        The page of that plan, with its next moves and costs; a sheet without it leaves them out.
    """
    scene = picture.scene
    found = beads(picture, picture.now - BACK, season)
    last = min(max([*(b.end for b in found), picture.now + LEAST_AHEAD]), picture.now + MOST_AHEAD)
    first_day, last_day = (scene.local(at).date() for at in (picture.now - BACK, last))
    promises = tuple(_promises(picture, first_day, last_day))
    return SeasonSheet(
        SCHEMA,
        picture.farm.units,
        picture.now,
        scene.local(picture.now),
        picture.farm.name,
        span_words(first_day, last_day),
        say(
            "papers.relief.printed", day=day_words(picture.today), time=clock_words(scene.local(picture.now))
        ),
        first_day,
        last_day,
        tuple(
            _string(
                picture, mob, [b for b in found if b.mob == mob.id], last, _by_place(picture, page, mob.id)
            )
            for mob in (*scene.mobs, *(mob for mob in to_come(picture) if mob.id in {b.mob for b in found}))
        ),
        ahead_from(scene),
        measured(picture),
        promises,
        tuple(joined((clash.says, *clash.ways), " ") for clash in season.clashes)
        if season is not None
        else (),
        season.changes if season is not None else (),
        _cuts(picture, season, page),
        (*([out] if (out := left_out(picture)) else ()), *(_next_days(page) if page is not None else ())),
        page.costs[: len(page.parts) + 1] if page is not None else (),
    )


def _cuts(picture: Picture, season: Season | None, page: SeasonPage | None) -> tuple[str, ...]:
    """Return the hay cuts that a plan proposes, or leaves room for where nobody judged it yet.

    Those that stand among the moves of the next days already are left out.
    """
    from browseline.moves.season import cuts_in_force

    if season is None:
        return ()
    told = {line.why for line in page.next_days} if page is not None else set()
    if season.cuts:
        return tuple(cut.says for cut in season.cuts if cut.says not in told)
    return cuts_in_force(picture.scene, season)


def _by_place(picture: Picture, page: SeasonPage | None, mob: str) -> dict[tuple[str, date], StayLine]:
    """Return the stays of a mob on the page of the plan, by place and the day on which each begins."""
    own = next((one.stays for one in page.mobs if one.id == mob), ()) if page is not None else ()
    return {(stay.place, _ahead_on(picture, stay.begin)): stay for stay in own}


def _ahead_on(picture: Picture, begin: datetime) -> date:
    """Return the day on which a stay begins, as a bead ahead has it: today for one that goes on."""
    return picture.scene.local(max(begin, picture.now)).date()


def _string(
    picture: Picture, mob: MobState, own: list[Bead], last: datetime, told: dict[tuple[str, date], StayLine]
) -> StringOf:
    lines = tuple(
        _bead(
            picture,
            mob,
            bead,
            last,
            None if bead.done else told.get((bead.place, _ahead_on(picture, bead.begin))),
        )
        for bead in own
        if bead.begin < last
    )
    return StringOf(mob.name, beasts_words(mob.lines), lines)


def _bead(picture: Picture, mob: MobState, bead: Bead, last: datetime, told: StayLine | None) -> BeadLine:
    """Return a stay as the paper tells it: why it ends and what lost to it as the page of the plan says."""
    scene = picture.scene
    begin, end = (scene.local(at) for at in (bead.begin, last if bead.open_end else min(bead.end, last)))
    state: StateOf = "done" if bead.done else bead.firmness
    found = scene.farm.paddock(bead.place)
    standing = bead.done and bead.end >= picture.now
    ends = (
        say("papers.season.open") if bead.open_end else say("papers.season.still") if standing else _when(end)
    )
    length = (bead.end - bead.begin) / timedelta(days=1)
    return BeadLine(
        mob.name,
        place_words(scene, bead.place),
        found.id if found is not None else place_words(scene, bead.place),
        begin,
        end,
        _when(begin),
        ends,
        say("papers.season.not_known") if bead.open_end else plain(length, 1),
        state,
        _state_words(picture, bead),
        told.reason if told is not None and told.reason else bead.reason,
        told.lost if told is not None else "",
    )


def _state_words(picture: Picture, bead: Bead) -> str:
    """Return how firm a stay is, and how firm its end where that is less so: an open end is an outline."""
    end = "outline" if bead.open_end else firm_at(picture, bead.end)
    if bead.done or end == bead.firmness:
        return say(f"papers.season.state.{'done' if bead.done else end}")
    return firm_words(bead.firmness, end)


def by_firmness(lines: Iterable[BeadLine], now: datetime) -> Iterator[BeadLine]:
    """Yield stays as they are drawn: one that goes on past the firm or the likely days in pieces.

    Each piece is as firm as its days are; the longest carries the name.
    """
    for line in lines:
        if line.state == "done":
            yield line
            continue
        ends: tuple[tuple[StateOf, datetime], ...] = (
            ("firm", _day_begins(now, FIRM_D)), ("likely", _day_begins(now, LIKELY_D)), ("outline", line.end),
        )  # fmt: skip
        pieces, begin = [], line.begin
        for state, last in ends:
            end = min(line.end, last)
            if end > begin:
                pieces.append(replace(line, begin=begin, end=end, state=state))
                begin = end
        named = max(pieces, key=lambda piece: piece.end - piece.begin, default=line)
        yield from (p if p is named else replace(p, place="", short="") for p in pieces)


def _day_begins(now: datetime, days: int) -> datetime:
    """Return when the day begins that is so many days after today, on the clock of now."""
    day = now.date() + timedelta(days=days)
    return datetime(day.year, day.month, day.day, tzinfo=now.tzinfo)


def _when(local: datetime) -> str:
    day = local.date()
    return f"{say('dates.weekday', weekday=day_of_week(day), day=day_words(day))} {clock_words(local)}"


def _next_days(page: SeasonPage) -> tuple[str, ...]:
    """Return the moves and hay cuts of the firm days with why, and who stays where."""
    none = (page.moves_say,) if page.moves_say else ()
    return (*none, *(joined((line.says, line.why), " ") for line in page.next_days), *page.staying)


def _promises(picture: Picture, first: date, last: date) -> Iterator[PromiseLine]:
    scene = picture.scene
    for promise in picture.farm.promises:
        if promise.to_day > first and promise.from_day <= last:
            closed = list_words(place_words(scene, p) for p in promise.paddocks)
            what = (
                say("papers.season.promise", what=promise.what, paddocks=closed) if closed else promise.what
            )
            begins, ends = ends_words(promise.from_day, promise.last_day, picture.today.year)
            days = say("papers.season.days", first=begins, last=ends)
            yield PromiseLine(what, promise.from_day, promise.to_day, days)
    for day, says in herd_ahead(picture):
        if day <= last:
            yield PromiseLine(says, day, None, day_words(day))
    for (day, days, drop), names in _shut(picture, first, last).items():
        what = say("papers.season.shut", paddocks=list_words(names), days=days, drop=day_words(drop))
        yield PromiseLine(what, day, None, day_words(day))


def _shut(picture: Picture, first: date, last: date) -> dict[tuple[date, str, date], list[str]]:
    """Return the names of the paddocks that shut before a harvest, by day, interval and first drop."""
    out: dict[tuple[date, str, date], list[str]] = {}
    for shut in shut_dates(picture.scene):
        if first <= shut.last_grazing <= last:
            key = (shut.last_grazing, f"{shut.interval.value:.0f}", shut.first_drop)
            name = place_words(picture.scene, shut.planting.paddock)
            out[key] = list(dict.fromkeys([*out.get(key, []), name]))
    return out
