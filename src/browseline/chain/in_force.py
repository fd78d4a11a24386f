"""The plan in force: planned moves of the record as a season, and a season as planned moves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from browseline.chain.look import Picture
from browseline.events import Cut, Event, Moved, Undone, When, new_id
from browseline.figures import Figure
from browseline.moves.form import Firmness, KeptCut, PlannedCut, PlannedStay, Season
from browseline.moves.replan import FIRM_D, LIKELY_D, firmness_of
from browseline.record.fold import planned
from browseline.record.state import AWAY, MobState, Stay
from browseline.record.store import Record
from browseline.units import MINUS, SIGNS, coined

HAY = "hay"
WORDED = re.compile(rf"({MINUS}?\d[\d,]*(?:\.\d+)?) ({'|'.join(SIGNS)})\b(?!/)")
"""A sum with its currency as a word, as plans wrote it before they wrote its sign: 123 USD."""


def moves_ahead(picture: Picture) -> tuple[Event, ...]:
    """Return the planned moves that stand and lie ahead, one that is due now among them, in order of time."""
    return tuple(
        event
        for event in planned(picture.events)
        if isinstance(event.body, Moved) and event.observed.end >= picture.now
    )


def move_missed(picture: Picture, mob: MobState) -> Event | None:
    """Return the last planned move of a fortnight that a mob let pass, standing elsewhere since before it.

    None where the mob stands where that move would have taken it, or has moved since.
    """
    begun = picture.now - timedelta(days=LIKELY_D)
    past = [
        event
        for event in planned(picture.events)
        if isinstance(event.body, Moved)
        and event.subject == mob.id
        and begun < event.observed.end < picture.now
    ]
    if not past:
        return None
    last = past[-1]
    moved = mob.since is not None and mob.since.end >= last.observed.start
    here = isinstance(last.body, Moved) and last.body.to == mob.place
    return None if moved or here else last


def moves_due(picture: Picture) -> tuple[Event, ...]:
    """Return the planned moves that nobody made yet, in order of time: one let pass, then those ahead."""

    def look() -> tuple[Event, ...]:
        missed = (move_missed(picture, mob) for mob in picture.scene.mobs)
        due = (*(event for event in missed if event is not None), *moves_ahead(picture))
        return tuple(sorted(due, key=lambda event: event.observed.start))

    return picture.scene.once("moves_due", look)


def to_come(picture: Picture) -> tuple[MobState, ...]:
    """Return the mobs that are planned to be lent to the farm: away until then."""
    from browseline.moves.herd import with_coming

    new = with_coming(picture.scene).mobs[len(picture.scene.mobs) :]
    return tuple(replace(mob, place=AWAY) for mob in new)


def cuts_ahead(picture: Picture) -> tuple[Event, ...]:
    """Return the planned hay cuts that stand and lie ahead, one of today among them, in order of time."""
    return tuple(event for event in _planned_cuts(picture) if event.observed.end > picture.now)


def cuts_missed(picture: Picture) -> tuple[Event, ...]:
    """Return the planned hay cuts of the last fortnight whose day is over and that nobody entered."""
    begun = picture.now - timedelta(days=LIKELY_D)
    return tuple(
        event
        for event in _planned_cuts(picture)
        if begun < event.observed.end <= picture.now and not _cut_since(picture, event)
    )


def _planned_cuts(picture: Picture) -> Iterator[Event]:
    for event in planned(picture.events):
        if isinstance(event.body, Cut) and event.body.purpose == HAY:
            yield event


def _cut_since(picture: Picture, kept: Event) -> bool:
    ground = picture.scene.ground(kept.subject)
    cuts = (one for one in picture.state.cuts if one.paddock == kept.subject or one.place in ground)
    return any(one.at.end >= kept.recorded for one in cuts)


def plan_in_force(picture: Picture) -> Season | None:
    """Return the planned moves ahead as a season's stays, or None if no move is planned.

    A mob stays where it is until its first planned move, one that was let pass as if it were made now; the
    last stay ends with the days seen.
    """
    ahead = moves_due(picture)
    if not ahead:
        return None
    mobs = (*picture.scene.mobs, *to_come(picture))
    stays = [stay for mob in mobs for stay in _stays(picture, mob, ahead)]
    nothing = Figure("plan_total", None, "USD")
    made = max(event.recorded for event in ahead)
    return Season(
        made, tuple(stays), (), nothing, nothing, (),
        picture.now + timedelta(days=FIRM_D), picture.now + timedelta(days=LIKELY_D), picture.farm.seed, 0,
        kept=tuple(_kept_cut(picture, event) for event in (*cuts_missed(picture), *cuts_ahead(picture))),
    )  # fmt: skip


def _kept_cut(picture: Picture, event: Event) -> KeptCut:
    day = picture.scene.local(event.observed.start).date()
    return KeptCut(event.subject, day, event.recorded)


def _stays(picture: Picture, mob: MobState, ahead: tuple[Event, ...]) -> Iterator[PlannedStay]:
    """Yield the stays of a mob: where it stands until its first planned move, then those that it begins."""
    own = [event for event in ahead if event.subject == mob.id]
    if own and mob.place is not None and mob.since is not None:
        now = Stay(mob.id, mob.place, mob.since, own[0].observed, planned=True)
        yield PlannedStay(now, "firm", "", "")
    end = When.at(picture.scene.midnight(picture.scene.days[-1] + timedelta(days=1)))
    for event, until in zip(own, [*(after.observed for after in own[1:]), end], strict=False):
        yield _planned(picture, event, until)


def judged_plan(picture: Picture) -> Season | None:
    """Return the plan in force with what it costs from now on, or None if no move is planned."""
    from browseline.moves.season import judged

    old = plan_in_force(picture)
    if old is None:
        return None
    return picture.scene.once("judged_plan", lambda: judged(picture.scene, old))


def _planned(picture: Picture, event: Event, until: When) -> PlannedStay:
    """Return the stay that a planned move begins; why it ends then is what was kept with it."""
    to = event.body.to if isinstance(event.body, Moved) else ""
    stay = Stay(event.subject, to, event.observed, until, True, event.part, event.id)
    return PlannedStay(stay, firm_at(picture, event.observed.start), "", kept_reason(event))


def firm_at(picture: Picture, at: datetime) -> Firmness:
    """Return how firm the plan is at a time, by the farm's calendar."""
    return firmness_of((picture.scene.local(at).date() - picture.today).days)


def kept_reason(event: Event) -> str:
    """Return why a kept move or cut is planned, as the pages write money now, however it was written then."""
    own = event.planned and isinstance(event.body, Moved | Cut)
    return WORDED.sub(lambda sum_: coined(sum_[1], sum_[2]), event.reason) if own else event.reason


def as_events(season: Season, picture: Picture, device: str, who: str) -> tuple[Event, ...]:
    """Return the planned moves and hay cuts of a season, each in the stead of one of the plan in force.

    What is planned already is left as it stands; what has no successor is taken back.
    """
    old, now = list(moves_due(picture)), picture.now
    here, due = {mob.id for mob in picture.scene.mobs}, set(map(_says, old))
    new = [stay for stay in season.stays if stay.stay.begin.start >= now or _wants(stay) in due]
    new = [stay for stay in new if stay.stay.place != AWAY or stay.stay.mob in here]
    ends = _last_days(season, picture)
    stand = {_says(event): _until(event) for event in old}
    kept = {key for key in map(_wants, new) if key in due and stand[key] == ends.get(key)}
    old = [event for event in old if _says(event) not in kept]
    new = [stay for stay in new if _wants(stay) not in kept]
    out = [
        _move(stay, picture, device, who, _take(old, stay.stay.mob), ends.get(_wants(stay))) for stay in new
    ]
    out += _cuts(season, picture, device, who)
    gone = (one for event in old for one in _and_before(event, picture))
    return (*out, *(_taken_back(event, picture, device, who) for event in gone))


def _cuts(season: Season, picture: Picture, device: str, who: str) -> Iterator[Event]:
    """Yield the planned cuts of a season that are not planned yet, and take back those it has no more."""
    old = {(e.subject, picture.scene.local(e.observed.start).date()): e for e in cuts_ahead(picture)}
    new = {(cut.paddock, cut.day): cut for cut in season.cuts}
    yield from (_cut(new[key], picture, device, who) for key in new if key not in old)
    yield from (_taken_back(old[key], picture, device, who) for key in old if key not in new)


def _cut(cut: PlannedCut, picture: Picture, device: str, who: str) -> Event:
    begin, end = (picture.scene.midnight(cut.day + timedelta(days=d)) for d in (0, 1))
    recorded = picture.scene.local(picture.now)
    return Event(
        new_id(picture.now), device, who, When(begin, end), recorded, cut.paddock, Cut(HAY), planned=True,
        reason=str(cut.says),
    )  # fmt: skip


def keep_plan(picture: Picture, made: Season, who: str) -> int:
    """Write a season as the plan in force and return how many moves it holds."""
    with Record.open(picture.folder) as record:
        record.append(as_events(made, picture, record.device, who))
    return sum(stay.stay.begin.start >= picture.now for stay in made.stays)


def _says(event: Event) -> tuple[str, str, datetime]:
    to = event.body.to if isinstance(event.body, Moved) else ""
    return event.subject, to, event.observed.start.astimezone(UTC)


def _wants(stay: PlannedStay) -> tuple[str, str, datetime]:
    return stay.stay.mob, stay.stay.place, stay.stay.begin.start.astimezone(UTC)


def _until(event: Event) -> date | None:
    return event.body.until_day if isinstance(event.body, Moved) else None


def _last_days(season: Season, picture: Picture) -> dict[tuple[str, str, datetime], date]:
    """Return the day on which the last stay of each mob ends: the plan is known up to that day."""
    last = {stay.stay.mob: stay for stay in season.stays if stay.stay.end is not None}
    ends = ((stay, stay.stay.end) for stay in last.values())
    return {_wants(stay): picture.scene.local(end.start).date() for stay, end in ends if end is not None}


def _take(old: list[Event], mob: str) -> str:
    """Take the first old move of a mob that no new one stands for yet, and return its id."""
    found = next((event for event in old if event.subject == mob), None)
    if found is None:
        return ""
    old.remove(found)
    return found.id


def _move(
    stay: PlannedStay, picture: Picture, device: str, who: str, supersedes: str, until: date | None
) -> Event:
    recorded, to = picture.scene.local(picture.now), Moved(stay.stay.place, until_day=until)
    return Event(
        new_id(picture.now), device, who, stay.stay.begin, recorded, stay.stay.mob, to, stay.stay.part, True,
        supersedes, str(stay.reason),
    )  # fmt: skip


def _and_before(event: Event, picture: Picture) -> Iterator[Event]:
    """Yield a planned entry and those of earlier plans in whose stead it stood: none may stand again."""
    known = {one.id: one for one in picture.events}
    found: Event | None = event
    while found is not None:
        yield found
        found = known.get(found.supersedes)


def _taken_back(event: Event, picture: Picture, device: str, who: str) -> Event:
    recorded = picture.scene.local(picture.now)
    return replace(
        event, id=new_id(picture.now), device=device, who=who, recorded=recorded, body=Undone(),
        supersedes=event.id, reason="",
    )  # fmt: skip
