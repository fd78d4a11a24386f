"""The season as a page: the stays of each mob with their reasons, clashes, changes, costs, grass ahead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import chain

import numpy as np

from browseline import limits
from browseline.chain.barred import barred_of, left_out, shut_by
from browseline.chain.in_force import firm_at, judged_plan, moves_ahead, moves_due
from browseline.chain.lent import due_words, herd_ahead, not_entered
from browseline.chain.look import Picture
from browseline.chain.matched import linked_in
from browseline.chain.named import place_name
from browseline.chain.out_now import out_now
from browseline.chain.plan_costs import cost_words
from browseline.chain.purpose import target_of
from browseline.events import Moved
from browseline.farm.names import written
from browseline.farm.records import Paddock, Promise
from browseline.figures import Figure
from browseline.ledger.ahead import GrassAhead, grass_ahead
from browseline.ledger.facts import counted
from browseline.limits import Bite, Scene
from browseline.moves.form import Clash, Firmness, PlannedCut, PlannedStay, Season
from browseline.moves.replan import firmness_of
from browseline.moves.set_aside import set_aside
from browseline.record.state import MobState
from browseline.words import day_words, joined, linked, list_words, say, time_words

OVERDUE = -1
"""Of lent animals a plan names those alone that should be gone: it knows when others go. [d]"""


@dataclass(frozen=True, slots=True)
class StayLine:
    """One stay: where, from when to when on the farm's clock, how firm, what set its end, what lost.

    ``begins`` and ``ends`` are the instants in words; ``firmness`` is that of its beginning, ``firm`` says
    that of its end too where it is another. ``limit`` names the limit that set the end, or is empty; ``lost``
    says why ``runner_up`` lost and ``lost_by`` what it costs more. ``days`` is its length [d], ``figures``
    what the reason rests on.
    """

    place: str
    name: str
    begin: datetime
    end: datetime
    begins: str
    ends: str
    firmness: str
    firm: str
    reason: str
    limit: str
    runner_up: str
    lost: str
    lost_by: Figure | None
    share_kept: Figure | None
    days: Figure
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class NextMove:
    """One move of the firm days: whose, when, from where to where, in one sentence, and why it leaves."""

    mob: str
    at: datetime
    place: str
    says: str
    why: str
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class NextDay:
    """One line of the firm days: a move in one sentence and why, or a hay cut, which is all in ``why``."""

    says: str
    why: str
    figures: tuple[Figure, ...] = ()


@dataclass(frozen=True, slots=True)
class MobSeason:
    """The stays of one mob, in order of days."""

    id: str
    name: str
    stays: tuple[StayLine, ...]


@dataclass(frozen=True, slots=True)
class SeasonPage:
    """The page Season. ``last`` is the last day seen; ``in_force`` tells whether this plan was kept.

    Without a plan (``made`` is None) ``mobs`` have no stays and there are no costs. ``parts`` are what the
    plan costs by term, ``rule_total`` what the usual rules with a look each day would cost, ``lived`` what
    it costs where they follow its first days; a cost is None where a hard limit is broken. ``costs`` are
    the parts as sentences, the dearest first, then the whole; ``prices`` what the plan reckons with.
    ``cuts`` are the hay cuts that the plan proposes. ``moves`` are those of the firm days, in order of
    time; where there is none ``moves_say`` says until when. ``staying`` says of each mob that has none how
    long it stays. ``next_days`` are the moves and hay cuts of the firm days in order of day; ``notes`` what
    is to be said of later hay and of ground that is never grazed.
    """

    schema: str
    farm: str
    made: datetime | None
    in_force: bool
    first: date
    last: date
    mobs: tuple[MobSeason, ...]
    clashes: tuple[Clash, ...]
    changes: tuple[str, ...]
    total: Figure | None
    rule_total: Figure | None
    parts: tuple[Figure, ...]
    ahead: GrassAhead
    sentences: tuple[str, ...]
    costs: tuple[str, ...] = ()
    prices: tuple[Figure, ...] = ()
    cuts: tuple[PlannedCut, ...] = ()
    moves: tuple[NextMove, ...] = ()
    moves_say: str = ""
    notes: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    staying: tuple[str, ...] = ()
    lived: Figure | None = None
    next_days: tuple[NextDay, ...] = ()


def season_page(picture: Picture, made: Season | None = None) -> SeasonPage:
    """Return a plan as a page: the one given, which nobody kept yet, or the one in force.

    Parameters
    ----------
    made : Season, optional
        What ``moves.season.plan`` gave just now.
    """
    plan = made if made is not None else judged_plan(picture)
    mobs = tuple(
        MobSeason(ident, name, tuple(_stay(picture, s) for s in plan.of(ident)) if plan else ())
        for ident, name in _mobs(picture, plan)
    )
    kept = made is None and plan is not None
    can = tuple(_possible(picture, mob) for mob in mobs) if kept else mobs
    whole = tuple(mob for mob, own in zip(mobs, can, strict=True) if len(mob.stays) == len(own.stays))
    ahead = sorted(_moves(picture, can), key=lambda move: move.at) if plan is not None else []
    firm = tuple(move for move in ahead if firm_at(picture, move.at) == "firm")
    page = SeasonPage(
        "browseline/season/4", picture.farm.name, plan.made if plan else None, kept,
        picture.scene.days[0], picture.scene.days[-1], mobs, plan.clashes if plan else (),
        plan.changes if plan else (), plan.total if plan else None, plan.rule_total if plan else None,
        plan.parts if plan else (), grass_ahead(picture.scene), _sentences(picture, plan, made is None),
        *cost_words(picture, plan), plan.cuts if plan else (),
        firm, _moves_say(picture, firm, ahead) if plan and whole == mobs else "",
        (*_many_at_once(picture, firm), *_notes(picture, plan)) if plan else (),
        plan.figures if plan else (), tuple(_staying(picture, whole, firm)) if plan else (),
        plan.lived if plan else None, _next_days(picture, firm, plan) if plan else (),
    )  # fmt: skip
    return linked_in(page)


def _mobs(picture: Picture, plan: Season | None) -> tuple[tuple[str, str], ...]:
    """Return id and name of the mobs that are here, then of those that a plan knows are to come."""
    here = {mob.id: mob.name for mob in picture.scene.mobs}
    planned = dict.fromkeys(stay.stay.mob for stay in plan.stays) if plan else {}
    return (*here.items(), *((ident, written(ident)) for ident in planned if ident not in here))


def _sentences(picture: Picture, plan: Season | None, in_force: bool) -> tuple[str, ...]:
    if plan is None:
        return (say("pages.season.no_plan"),)
    none = (say("pages.season.none"),) if not plan.stays else ()
    planned = (says for _, says in herd_ahead(picture))
    asked = (*due_words(picture, OVERDUE), *not_entered(picture), *planned)
    if not in_force and not plan.changes and moves_ahead(picture):
        asked = (say("pages.season.same"), *asked)
    key = "not_kept" if not in_force else "in_force" if plan.total.value is not None else "broken"
    out = left_out(picture) if in_force else ""
    now = _out_now(picture) if in_force else ()
    return (*now, say(f"pages.season.{key}"), *([out] if out else []), *none, *asked)


def _out_now(picture: Picture) -> Iterator[str]:
    """Yield who must be out of where it stands by now, though the plan in force moves it later."""
    for mob in picture.scene.mobs:
        out, own = out_now(picture, mob), [e for e in moves_due(picture) if e.subject == mob.id]
        if out is not None and not (own and own[0].observed.start <= picture.now):
            place = place_name(picture, mob.place or "")
            name = say(f"limits.{out.limit}.name")
            yield say("pages.season.out_now", mob=mob.name, place=place, limit=name, act=out.do)


def _many_at_once(picture: Picture, firm: tuple[NextMove, ...]) -> Iterator[str]:
    """Yield that a day has more moves than the farm's hands make: a plan allows it on its first alone."""
    rule = picture.farm.rules.moves_a_day
    days = Counter(_day(picture, max(move.at, picture.now)) for move in firm)
    for day, count in days.items():
        if count > rule:
            most, moves = (counted(name, n, "1", formula=str(n)) for name, n in
                           (("plan_moves_a_day", rule), ("plan_moves", count)))  # fmt: skip
            yield say("pages.season.first_day", day=day_words(day), moves=linked(str(count), moves),
                      most=linked(str(rule), most))  # fmt: skip


def _notes(picture: Picture, plan: Season) -> tuple[str, ...]:
    later = (cut.says for cut in plan.cuts if not _near(picture, cut))
    return (*later, *plan.on_cuts, *_skipped(picture, plan))


def _near(picture: Picture, cut: PlannedCut) -> bool:
    """Return whether a hay cut falls in the firm days."""
    return firmness_of((cut.day - picture.today).days) == "firm"


def _next_days(picture: Picture, firm: tuple[NextMove, ...], plan: Season) -> tuple[NextDay, ...]:
    """Return the moves and hay cuts of the firm days in order of day; of one day the moves first."""
    moves = [
        (picture.scene.local(move.at).date(), NextDay(move.says, move.why, move.figures)) for move in firm
    ]
    cuts = [
        (cut.day, NextDay("", cut.says, (cut.made, cut.worth, cut.saved)))
        for cut in plan.cuts
        if _near(picture, cut)
    ]
    return tuple(line for _, line in sorted((*moves, *cuts), key=lambda one: one[0]))


def _possible(picture: Picture, mob: MobSeason) -> MobSeason:
    """Return the stays of a mob in the plan in force but those that begin by a move that is barred."""
    own = (e for e in moves_due(picture) if e.subject == mob.id and barred_of(picture, e) is not None)
    bars = {(e.body.to, _day(picture, e.observed.start)) for e in own if isinstance(e.body, Moved)}
    can = (stay for stay in mob.stays if (stay.place, _day(picture, stay.begin)) not in bars)
    return replace(mob, stays=tuple(can))


def _day(picture: Picture, at: datetime) -> date:
    return picture.scene.local(at).date()


def _moves(picture: Picture, mobs: tuple[MobSeason, ...]) -> Iterator[NextMove]:
    """Yield every move of a plan that lies ahead, and one that is due now."""
    for mob in mobs:
        standing = picture.state.mob(mob.id)
        at = standing.place if standing is not None else None
        out = _out_by_now(picture, mob.id)
        began, why = place_name(picture, at) if at is not None else "", out.because if out is not None else ""
        figures = out.figures if out is not None else ()
        begun = [stay for stay in mob.stays if stay.begin < picture.now]
        for stay in mob.stays[max(len(begun) - 1, 0) :]:
            late = stay.begin < picture.now
            if (late or stay.begin >= picture.now) and stay.place != at and at is not None:
                when = say("pages.season.now") if stay.begin == picture.now else stay.begins
                when = say("pages.season.overdue", when=when) if late else when
                says = say("pages.season.move", when=when, mob=mob.name, was=began, place=stay.name)
                says = joined((says, *_shut_then(picture, standing, stay)), " ")
                other = say("pages.season.next_best", lost=stay.lost) if stay.lost and not why else ""
                yield NextMove(mob.id, stay.begin, stay.place, says, why or other, figures)
            at, began, why, figures = stay.place, stay.name, stay.reason, stay.figures


def _shut_then(picture: Picture, mob: MobState | None, stay: StayLine) -> Iterator[str]:
    """Yield that the place of a stay is shut, if it is so by then as far as is known."""
    if mob is None or mob not in picture.scene.mobs:
        return
    if "shut" in shut_by(picture.scene, mob, stay.place, max(stay.begin, picture.now)):
        yield say("pages.season.to_shut")


def _out_by_now(picture: Picture, mob: str) -> Bite | None:
    """Return what asks for a mob to be out of where it stands by now; None if nothing does.

    What is never broken asks so too if it comes before animals can be moved again.
    """
    standing = picture.state.mob(mob)
    if standing is None or standing.place not in picture.scene.paddocks:
        return None
    found = limits.bites(picture.scene, mob, standing.place)
    until = {"hard": _next_moves(picture.scene), "soft": picture.now}
    due = [bite for bite in found if bite.moment is not None and bite.hardness in until]
    due = [bite for bite in due if bite.moment is not None and bite.moment.likely <= until[bite.hardness]]
    return min(due, key=lambda bite: bite.hardness != "hard", default=None)


def _next_moves(scene: Scene) -> datetime:
    """Return the next instant after now at which a plan can move animals, or the end of the days seen."""
    barred = [face.no_move for face in limits.faces(scene) if face.no_move is not None]
    free = (d for d in range(1, len(scene.days)) if not any(days[d] for days in barred))
    return scene.now + timedelta(days=next(free, len(scene.days)))


def _moves_say(picture: Picture, firm: tuple[NextMove, ...], ahead: list[NextMove]) -> str:
    """Return that no move is due in the firm days, and the first that comes after them."""
    if firm or not any(mob.head for mob in picture.scene.mobs):
        return ""
    if not ahead:
        return say("pages.season.no_moves")
    return say("pages.season.no_move_until", first=ahead[0].says)


def _staying(picture: Picture, mobs: tuple[MobSeason, ...], firm: tuple[NextMove, ...]) -> Iterator[str]:
    """Yield of each mob here that is not moved in the firm days how long it stays, and what comes then."""
    moved = {move.mob for move in firm}
    for mob in mobs:
        standing = picture.state.mob(mob.id)
        if standing is None or not standing.head or standing.place is None or mob.id in moved:
            continue
        here = place_name(picture, standing.place)
        after = next((s for s in mob.stays if s.begin >= picture.now and s.place != standing.place), None)
        key = "staying" if after is not None else "staying_on"
        when, to = (after.begins, after.name) if after is not None else ("", "")
        yield say(f"pages.season.{key}", mob=mob.name, place=here, when=when, to=to)


def _skipped(picture: Picture, plan: Season) -> Iterator[str]:
    """Yield which paddocks the plan never grazes: those that a promise keeps, then those that are open."""
    if not plan.stays:
        return
    scene, used = picture.scene, {stay.stay.place for stay in plan.stays}
    used |= {cut.paddock for cut in plan.cuts}
    ground = (p for p in picture.farm.paddocks if p.id in scene.paddocks and not p.sacrifice)
    fit = [p for p in ground if p.id not in used]
    kept = {p.id: promise for p in fit if (promise := set_aside(scene, p.id)) is not None}
    yield from _kept(fit, kept)
    left = [p.name for p in fit if p.id not in kept and not _shut_throughout(scene, p.id)]
    if left:
        yield say("pages.season.skipped", paddocks=list_words(left))
        if not plan.cuts and not plan.on_cuts:
            yield say("pages.season.if_cut")


def _kept(fit: list[Paddock], kept: dict[str, Promise]) -> Iterator[str]:
    """Yield for each promise the paddocks that it keeps for winter or for hay, the first to begin first."""
    for promise in sorted(set(kept.values()), key=lambda one: (one.from_day, one.id)):
        names = list_words(p.name for p in fit if kept.get(p.id) == promise)
        first, last = day_words(promise.from_day), day_words(promise.last_day)
        yield say(f"pages.season.kept_{promise.kind}", paddocks=names, what=promise.what, first=first,
                  last=last)  # fmt: skip


def _shut_throughout(scene: Scene, paddock: str) -> bool:
    """Return whether some limit shuts a paddock to every mob on each day of the plan, or nobody read it."""
    p = scene.paddocks.index(paddock)
    closed = [face.closed[:, :, p] for face in limits.faces(scene) if face.closed is not None]
    return not scene.herbage.read[scene.herbage.index(paddock)] or bool(
        np.any(closed, axis=0).all() if closed else False
    )


def _stay(picture: Picture, planned: PlannedStay) -> StayLine:
    stay = planned.stay
    begin, end = stay.begin.start, stay.end.end if stay.end else stay.begin.end
    first, last = (picture.scene.local(at).date() for at in (begin, end))
    begins, ends = (time_words(picture.scene.local(at), picture.today) for at in (begin, end))
    if first < picture.today:
        weekday = say(f"dates.weekday.{first.isoweekday()}")
        begins = say("dates.weekday", weekday=weekday, day=day_words(first))
    days = counted("stay_days", (last - first).days, "d", about=stay.place, formula=f"{last} − {first}")
    return StayLine(
        stay.place, place_name(picture, stay.place), begin, end, begins, ends, planned.firmness,
        firm_words(planned.firmness, firm_at(picture, end)), planned.reason, planned.limit,
        planned.runner_up, planned.lost, planned.lost_by, planned.share_kept, days,
        tuple(dict.fromkeys((*planned.figures, *_of_limit(picture, planned)))),
    )  # fmt: skip


def firm_words(firmness: Firmness, end: Firmness) -> str:
    """Return how firm a stay is, in words, and how firm its end where that is less so."""
    key = f"pages.season.{firmness}" if end == firmness else f"pages.season.{firmness}_to_{end}"
    return say(key)


def _of_limit(picture: Picture, planned: PlannedStay) -> tuple[Figure, ...]:
    """Return the figures of the limit that set the end of a stay, as it would bite there."""
    mob = next((m for m in picture.scene.mobs if m.id == planned.stay.mob), None)
    if mob is None or planned.stay.place not in picture.scene.paddocks:
        return ()
    own = (one for one in limits.known() if one.name == planned.limit)
    found = chain.from_iterable(limit.bites(picture.scene, mob, planned.stay.place) for limit in own)
    return (*_targets(picture, planned), *chain.from_iterable(bite.figures for bite in found))


def _targets(picture: Picture, planned: PlannedStay) -> tuple[Figure, ...]:
    """Return what ends the jobs of a mob where it stays."""
    of = (planned.stay.mob, planned.stay.place)
    found = (target_of(job) for job in picture.farm.jobs if (job.mob, job.paddock) == of)
    return tuple(target for target in found if target is not None)
