"""Today: the limits of every mob in order of arrival, what is shut, and what can wait."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from browseline.chain.clashes import clashes
from browseline.chain.closures import calendar_shut
from browseline.chain.gates import ShutPart, days_to, shut_parts, shut_rules
from browseline.chain.harvest import HarvestAdvice, harvest_advice
from browseline.chain.last_chance import bites_by_chance, last_chance
from browseline.chain.lent import due_words, not_entered
from browseline.chain.look import Picture
from browseline.chain.looks import animal_flags
from browseline.chain.matched import Level, linked_in
from browseline.chain.named import head_words, heads_words, paddock_name
from browseline.chain.next_place import NextPlace, next_place
from browseline.chain.out_now import out_now
from browseline.chain.plan_next import PlanNext, plan_next
from browseline.chain.plant_dangers import looks_first
from browseline.chain.ready import ReadyRow, ready_dates
from browseline.chain.settings_page import Used, in_use
from browseline.errors import Finding
from browseline.figures import Figure, Mark
from browseline.ledger.advice import FeedAdvice, feed_advice
from browseline.ledger.ahead import GrassAhead, grass_ahead
from browseline.limits import Bite, Clash, Late
from browseline.limits.harvest import WARN_D, shut_dates
from browseline.record.fold import planned
from browseline.record.state import InPen, MobState
from browseline.record.told import tell
from browseline.words import day_words, joined, linked, say, time_words, weekday_words

SOON = timedelta(hours=48)
OLD_HEIGHT_D = 14


@dataclass(frozen=True, slots=True)
class Line:
    """One limit of one mob: when in words, the range, why, what to do, how sure, what contradicts it.

    ``leave_by`` is when the last chance to move the mob ends, where a hard limit bites on days on which
    nobody can move animals; else None.
    """

    limit: str
    name: str
    short: str
    when: str
    between: str
    because: str
    act: str
    hard: str
    mark: Mark
    earliest: datetime | None
    likely: datetime | None
    latest: datetime | None
    no_growth: datetime | None
    figures: tuple[Figure, ...]
    clash: tuple[str, ...] = ()
    leave_by: datetime | None = None

    @property
    def due(self) -> datetime | None:
        """Return until when something can be done: the last chance before it bites, else when it does."""
        return self.leave_by or self.likely


@dataclass(frozen=True, slots=True)
class MobPart:
    """One mob today: how many, where, since when; its limits, first things first; where next.

    ``clashes`` are limits that contradict each other, each with its ways out: none is chosen here. ``plan``
    is where the plan in force sends it next, ``next`` where the limits alone would. ``unlimited`` says why
    there is no line; empty where there is one. ``out`` says what to do where a hard limit bites by now.
    """

    id: str
    name: str
    heads: str
    place: str
    place_id: str
    since: str
    lines: tuple[Line, ...]
    late: tuple[str, ...]
    late_figures: tuple[Figure, ...]
    next: NextPlace | None
    ready: tuple[ReadyRow, ...]
    pens: tuple[str, ...]
    clashes: tuple[Clash, ...] = ()
    plan: PlanNext | None = None
    unlimited: str = ""
    out: str = ""


@dataclass(frozen=True, slots=True)
class Today:
    """The page Today. ``quiet`` is the one sentence for when nothing is due in 48 hours."""

    schema: str
    farm: str
    at: datetime
    day: str
    time_zone: str
    quiet: str
    alarms: tuple[str, ...]
    mobs: tuple[MobPart, ...]
    shut: tuple[ShutPart, ...]
    rules: tuple[str, ...]
    warnings: tuple[str, ...]
    ahead: GrassAhead
    feed: FeedAdvice | None
    harvest: HarvestAdvice | None
    can_wait: tuple[str, ...]
    questions: tuple[str, ...]
    disagreements: tuple[str, ...]
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]
    settings: tuple[Used, ...] = ()


def today(picture: Picture) -> Today:
    """Return what bites first for each mob, where next, what is shut and what can wait."""
    scene, state = picture.scene, picture.state
    mobs = _mobs(picture)
    page = Today(
        "browseline/today/1",
        picture.farm.name,
        picture.now,
        weekday_words(picture.today),
        picture.farm.time_zone,
        _quiet(picture, mobs),
        tuple(_alarm(picture)),
        mobs,
        (*shut_parts(picture), *calendar_shut(picture)),
        tuple(shut_rules(picture)),
        tuple(_warnings(picture)),
        grass_ahead(scene),
        feed_advice(scene, planned(picture.events)),
        harvest_advice(scene),
        tuple(_can_wait(picture, mobs)),
        tuple(tell(q, picture.farm.time_zone) for q in state.questions),
        tuple(tell(d, picture.farm.time_zone) for d in state.disagreements),
        tuple(_cautions(picture)),
        picture.findings,
        in_use(picture),
    )
    book = picture.weather.rows if picture.weather is not None else ()
    return linked_in(page, (Level.make(tuple(row.figure(row.key, row.applies_to) for row in book)),))


def _mobs(picture: Picture) -> tuple[MobPart, ...]:
    """Return every mob's part; no two are sent to the same paddock."""
    out: list[MobPart] = []
    promised: list[str] = []
    soon: list[str] = []
    for mob in picture.scene.mobs:
        part = _mob(picture, mob, promised, soon)
        promised += [part.next.paddock] if part.next else []
        soon += [part.next.paddock] if part.next and _leaves_soon(picture, part) else []
        out.append(part)
    return tuple(out)


def _leaves_soon(picture: Picture, part: MobPart) -> bool:
    """Return whether a mob must leave within 48 hours: then the place it goes to is no way out for others."""
    dated = [line.due for line in part.lines if line.due is not None]
    return part.next is not None and not part.next.stays and bool(dated) and min(dated) <= picture.now + SOON


def _mob(picture: Picture, mob: MobState, promised: list[str], soon: list[str]) -> MobPart:
    scene = picture.scene
    in_paddock = mob.place in scene.paddocks
    against = clashes(scene, mob, soon)
    found = bites_by_chance(scene, mob.id, mob.place) if in_paddock and mob.place is not None else []
    next_by_limits = next_place(scene, mob, promised)
    found = [replace(b, clash=tuple(c for c in against if b.limit in c.limits)) for b in found]
    late, late_figures = _late(found)
    return MobPart(
        mob.id,
        mob.name,
        heads_words(mob),
        paddock_name(picture, mob.place),
        mob.place or "",
        _since(picture, mob),
        tuple(_line(picture, bite) for bite in found),
        late,
        late_figures,
        next_by_limits,
        ready_dates(scene, mob),
        tuple(_pen_words(pen) for pen in mob.pens),
        against,
        plan_next(picture, mob, next_by_limits),
        "" if found else _unlimited(picture, mob),
        urgent.do if (urgent := out_now(picture, mob)) is not None else "",
    )


def _unlimited(picture: Picture, mob: MobState) -> str:
    """Return why no limit is told of a mob: it stands in no paddock, or nothing sets one where it stands."""
    if mob.place not in picture.scene.paddocks:
        return say("chain.today.in_no_paddock")
    return say("chain.today.no_limit_here", place=paddock_name(picture, mob.place))


def _since(picture: Picture, mob: MobState) -> str:
    """Return since when a mob stands where it is: an instant, or between two."""
    if mob.since is None:
        return ""
    first, last = (
        time_words(picture.scene.local(at), picture.today, exact=True)
        for at in (mob.since.start, mob.since.end)
    )
    return first if mob.since.exact else say("chain.today.between", first=first, last=last)


def _pen_words(pen: InPen) -> str:
    heads = joined((head_words(line) for line in pen.lines), " + ")
    key = "chain.today.pen_why" if pen.why else "chain.today.pen"
    return say(key, animal=pen.animal, heads=heads, why=pen.why.rstrip("."))


def _late(found: list[Bite]) -> tuple[tuple[str, ...], tuple[Figure, ...]]:
    """Return what days late cost by the first limit that tells it, in words and as figures."""
    first = next((bite for bite in found if bite.late and bite.moment), None)
    if first is None:
        return (), ()
    figures = tuple(figure for late in first.late for figure in _late_figures(late, first.figures))
    return tuple(late.risk for late in first.late), figures


def _late_figures(late: Late, behind: tuple[Figure, ...]) -> tuple[Figure, ...]:
    """Return what some days late cost, and those days themselves: they count from the limit."""
    days = Figure("days_late", late.days, "d", formula=say("chain.today.late", days=late.days), parts=behind)
    return (days, *(figure for figure in (late.height, late.feed_kg) if figure is not None))


def first_limits(picture: Picture) -> dict[str, tuple[str, Line]]:
    """Return each mob's name and first limit by its id, without the rest of the page."""
    out: dict[str, tuple[str, Line]] = {}
    for mob in picture.scene.mobs:
        if mob.place is not None and mob.place in picture.scene.paddocks:
            found = bites_by_chance(picture.scene, mob.id, mob.place)
            out |= {mob.id: (mob.name, _line(picture, found[0]))} if found else {}
    return out


def _line(picture: Picture, bite: Bite) -> Line:
    scene, moment, chance = picture.scene, bite.moment, last_chance(picture.scene, bite)
    when, between, short = "", "", bite.short
    if moment is not None:
        when = _when(picture, bite, moment.likely)
        if moment.latest - moment.earliest > timedelta(hours=1):
            ends = (time_words(scene.local(x), picture.today) for x in (moment.earliest, moment.latest))
            first, last = ends
            between = say("chain.today.between", first=first, last=last) if first != last else ""
    if chance is not None:
        soon, why = chance.words(picture.today)
        when, short = say("chain.chance.when", when=when, chance=soon), joined((short, why), "; ")
    return Line(
        bite.limit,
        say(f"limits.{bite.limit}.name"),
        short,
        when,
        between,
        bite.because,
        bite.do,
        bite.hardness,
        bite.mark,
        moment.earliest if moment else None,
        moment.likely if moment else None,
        moment.latest if moment else None,
        bite.no_growth,
        bite.figures,
        tuple(clash.says for clash in bite.clash),
        chance.leave_by if chance is not None else None,
    )


def _when(picture: Picture, bite: Bite, likely: datetime) -> str:
    if bite.hardness == "question":
        return say("chain.today.open")
    if likely <= picture.now:
        return say("chain.today.now")
    return say("chain.today.by", time=time_words(picture.scene.local(likely), picture.today))


def _quiet(picture: Picture, mobs: tuple[MobPart, ...]) -> str:
    """Return "nothing until" only if nothing bites, is asked or shouts within 48 hours."""
    dated = [line.due for mob in mobs for line in mob.lines if line.due is not None]
    undated = [line for mob in mobs for line in mob.lines if line.likely is None]
    open_ends = undated or picture.state.questions or picture.state.alarms or picture.state.disagreements
    if not dated or open_ends or min(dated) <= picture.now + SOON:
        return ""
    return say("chain.today.quiet", time=time_words(picture.scene.local(min(dated)), picture.today))


def _alarm(picture: Picture) -> list[str]:
    return [tell(alarm, picture.farm.time_zone) for alarm in picture.state.alarms]


def _warnings(picture: Picture) -> list[str]:
    """Return where to look first, warnings 14, 7, 3 days before a shut date, and who may not be sold yet."""
    first = looks_first(picture)
    out = [*([first] if first else []), *due_words(picture), *not_entered(picture)]
    for shut in shut_dates(picture.scene):
        ahead = days_to(picture, shut)
        if ahead in WARN_D or ahead == 0:
            name = paddock_name(picture, shut.planting.paddock)
            out.append(
                say("chain.today.warning", paddock=name, day=day_words(shut.last_grazing), count=ahead)
            )
    held = [(w.animal, w.until) for w in picture.state.withdrawals]
    out += [
        say("chain.today.withheld", animal=animal, day=day_words(until))
        for animal, until in held
        if until is not None and picture.today < until
    ]
    return out + animal_flags(picture)


def _can_wait(picture: Picture, mobs: tuple[MobPart, ...]) -> list[str]:
    """Return what is not due within 72 hours but is on the list: old heights, far limits."""
    scene = picture.scene
    names = {mob.place_id for mob in mobs}
    out = []
    for paddock in scene.paddocks:
        height = picture.state.last_height(paddock)
        if paddock in names or height is None:
            continue
        age = (picture.today - scene.local(height.at.end).date()).days
        if age >= OLD_HEIGHT_D:
            read = scene.herbage.heights[scene.herbage.index(paddock)]
            days = linked(f"{age}", read) if read is not None else f"{age}"
            out.append(say("chain.today.walk", paddock=paddock_name(picture, paddock), days=days))
    return out


def _cautions(picture: Picture) -> list[str]:
    """Return the cautions that today's tasks call for: moving stock, fence, what stands in the mobs."""
    kinds = {line.kind for mob in picture.scene.mobs for line in mob.lines}
    out = [say("chain.caution.fence")]
    if kinds & {"cattle", "sheep", "goat", "pig"}:
        out.insert(0, say("chain.caution.animals"))
    if picture.state.storms:
        out.append(say("chain.caution.limbs"))
    return out
