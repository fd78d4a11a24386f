"""Where next: of the open paddocks the one that is ready by every limit and carries the mob longest.

A mob that works stays on its job until the target is met or harm is near, and goes to a job that waits for
it; one that follows another goes only where that one has just been, or where it stands once it goes.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date, datetime

from browseline.events import Cut, Moved
from browseline.farm.needs import demand
from browseline.farm.records import Job
from browseline.figures import Figure
from browseline.ledger.trees_near import treed
from browseline.limits import Scene, ready
from browseline.limits._follow import leader_of, left_behind
from browseline.limits._jobs import harmed, open_job
from browseline.limits._places import Place, leaves, places
from browseline.limits.job import foreseen_words, target_words
from browseline.record.state import MobState
from browseline.units import shown
from browseline.words import day_words, list_words, say, time_words

HAY = "hay"


@dataclass(frozen=True, slots=True)
class NextPlace:
    """A paddock to go to: how high it stands, why it, and from when by each limit.

    ``stays`` says that the mob is not to go yet: it works where it stands.
    """

    paddock: str
    name: str
    height: str
    because: str
    ready: bool
    ready_from: datetime | None
    stands: Figure | None = None
    stays: bool = False


def next_place(
    scene: Scene, mob: MobState, promised: Collection[str] = (), *, works: bool = True
) -> NextPlace | None:
    """Return the next paddock for a mob, or None if every paddock is closed or taken.

    Ready ones come before those that are not; of the ready ones its job, then the one with most feed; of the
    others the one that is ready first, and never trees over short grass where open ground waits no longer.
    ``promised`` paddocks go to another mob. The season plan, where there is one, may rightly say otherwise.

    Parameters
    ----------
    works : bool
        Whether a mob that works stays where it is; without it the place after its work is asked for.
    """
    job = open_job(scene, mob.id, scene.days[0])
    if works and job is not None and mob.place == job.paddock and not harmed(scene, mob, job):
        return _at_work(scene, mob, job)
    leader = leader_of(scene, mob)
    found = [
        _candidate(scene, mob, place, job, leader)
        for place in places(scene, mob, scene.now, promised)
        if place.state in ("fit", "waits")
    ]
    return min(found, key=lambda pair: pair[0])[1] if found else None


def _at_work(scene: Scene, mob: MobState, job: Job) -> NextPlace:
    """Return that a mob stays where it works, until what is met when."""
    i = scene.herbage.index(job.paddock)
    stands = scene.herbage.height_now(i) if scene.herbage.read[i] else None
    height = shown(stands.value or 0.0, "length", scene.farm.units) if stands is not None else ""
    if job.target is None:
        last = day_words(job.to_day) if job.to_day is not None else ""
        because = say("chain.next.works_until", job=job.name, day=last)
    else:
        because = say("chain.next.works", job=job.name, target=target_words(scene, job),
                      when=foreseen_words(scene, job, mob))  # fmt: skip
    return NextPlace(job.paddock, _name(scene, job.paddock), height, because, True, None, stands, stays=True)


def _candidate(
    scene: Scene, mob: MobState, place: Place, job: Job | None, leader: MobState | None
) -> tuple[tuple[bool, float, bool, bool, float, float, int], NextPlace]:
    paddock = place.paddock
    i = scene.herbage.index(paddock)
    waits = place.state == "waits"
    wait_d = (
        0.0 if not waits else ((place.fit_at - scene.now).total_seconds() if place.fit_at else float("inf"))
    )
    numbers = scene.herbage.numbers[i]
    mass = sorted(scene.herbage.mass_kg_ha[:, i])[scene.herbage.members // 2]
    above = float(mass - numbers.mass_kg_ha(numbers.leave_at.value or 0.0))
    feed = max(above, 0.0) * float(scene.herbage.land.area_ha[i])
    short = "grass" in place.limits and treed(scene.farm, paddock)
    off_job = job is None or job.paddock != paddock
    kept = kept_for_hay(scene, mob, paddock)
    stands = replace(scene.herbage.height_now(i), about=_name(scene, paddock))
    found = NextPlace(
        paddock,
        _name(scene, paddock),
        shown(stands.value or 0.0, "length", scene.farm.units),
        say("chain.next.hay", day=day_words(kept))
        if kept is not None
        else _because(scene, mob, place, job, leader),
        not waits,
        place.fit_at,
        stands,
    )
    return (kept is not None, wait_d, off_job, short, -feed, -above, scene.paddocks.index(paddock)), found


def kept_for_hay(scene: Scene, mob: MobState, paddock: str) -> date | None:
    """Return the day on which a paddock is to be cut for hay; None if it is not, or a mob goes in before."""
    here = [e for e in scene.coming if e.subject == paddock]
    cuts = [e for e in here if isinstance(e.body, Cut) and e.body.purpose == HAY]
    first = min(cuts, key=lambda e: e.observed.start, default=None)
    if first is None:
        return None
    goes = (e for e in scene.coming if e.subject == mob.id and e.observed.start < first.observed.start)
    if any(isinstance(e.body, Moved) and e.body.to == paddock for e in goes):
        return None
    return scene.local(first.observed.start).date()


def _name(scene: Scene, paddock: str) -> str:
    found = scene.paddock(paddock)
    return found.name if found else paddock


def _because(scene: Scene, mob: MobState, place: Place, job: Job | None, leader: MobState | None) -> str:
    if leader is not None:
        return _behind(scene, mob, place, leader)
    if place.state == "waits":
        asked = ready(scene, mob.id, place.paddock)
        return " ".join(r.because for r in asked if r.moment is None or r.moment.likely > scene.now)
    if job is not None and job.paddock == place.paddock:
        return say("chain.next.job", job=job.name)
    paddock = place.paddock
    beside = [other.name for other in scene.mobs if other.place == paddock and other.id != mob.id]
    if beside:
        return say("chain.next.beside", mobs=list_words(beside))
    stays = [s for s in scene.state.stays if s.place == paddock and not s.planned and s.end is not None]
    needs = demand(mob.lines)
    if not stays:
        return say("chain.next.not_grazed") if needs is not None else ""
    left = max(s.end.end for s in stays if s.end is not None)
    return say("chain.next.left", day=day_words(scene.local(left).date()))


def _behind(scene: Scene, mob: MobState, place: Place, leader: MobState) -> str:
    """Return whom a mob comes behind there, and since when that one is gone, or when it goes."""
    if place.paddock != leader.place:
        left = left_behind(scene, mob, leader, scene.now)[place.paddock]
        return say("chain.next.behind", mob=leader.name, day=day_words(scene.local(left).date()))
    goes = leaves(scene, leader)
    if goes is None:
        return say("chain.next.behind_not_known", mob=leader.name)
    at = time_words(scene.local(goes[0]), scene.local(scene.now).date())
    limit = say(f"limits.{goes[1]}.name")
    return say("chain.next.behind_soon", mob=leader.name, time=at, limit=limit)
