"""Job: what animals are kept for is done, foreseen to be done, or has its own longest stay and rest.

A job is the farm's own: its target, its days, its stay and its rest are typed. When the target will be
met is worked out from looks; where nobody has looked it is asked for, never guessed.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np

from browseline.farm.records import Job
from browseline.farm.toml_purpose import BY_HEIGHT
from browseline.figures import typed
from browseline.limits._jobs import (
    DAY,
    Foreseen,
    done_in_d,
    foreseen,
    jobs_at,
    met,
    newest_reading,
    open_job,
    reading_of,
)
from browseline.limits._prices import price_usd
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState
from browseline.units import shown
from browseline.words import day_words, say


def target_words(scene: Scene, job: Job) -> str:
    """Return what ends a job, in words: 15 % of the leaf is left."""
    if job.target is None:
        return ""
    high = job.kind in BY_HEIGHT
    amount = shown(job.target.to("cm"), "length", scene.farm.units) if high else job.target.text
    return say(f"limits.job.target.{job.kind}", target=amount)


def foreseen_words(scene: Scene, job: Job, mob: MobState) -> str:
    """Return when the target is likely to be met: a range of days, one day, or why it is not known."""
    found = foreseen(scene, job, mob)
    days = found.days
    if days is None or days.value is None:
        return say(f"limits.job.foreseen.{found.why}")
    if mob.place != job.paddock:
        return say("limits.job.foreseen.work", days=f"{max(days.value, 1.0):.0f}")
    first, likely, last = (_day(scene, d) for d in (days.low, days.value, days.high))
    if found.why == "once" or days.high is None:
        return say("limits.job.foreseen.once", day=likely)
    return say("limits.job.foreseen.range", day=likely, first=first, last=last)


def _day(scene: Scene, days: float | None) -> str:
    return "" if days is None else day_words(scene.local(scene.now + days * DAY).date())


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    own = jobs_at(scene, mob.id, paddock)
    if not own or mob.place != paddock:
        return []
    out = [bite for job in own if (bite := _done(scene, mob, paddock, job)) is not None]
    job = open_job(scene, mob.id, scene.days[0])
    if job in own:
        out += [*_ahead(scene, mob, paddock, job), *_stays(scene, mob, paddock, job)]
    return out


def _done(scene: Scene, mob: MobState, paddock: str, job: Job) -> Bite | None:
    """Return that the target is met by what was seen, while the mob still stands there."""
    seen = newest_reading(scene, job)
    if seen is None or not met(job, seen) or open_job(scene, mob.id, scene.days[0]) is not None:
        return None
    day, begin = day_words(scene.local(seen[0]).date()), max(seen[0], scene.begin(mob, paddock))
    because = say("limits.job.done", job=job.name, reading=seen[3], day=day)
    return Bite(
        "job", mob.id, paddock, Moment.at(begin), "soft", because, say("limits.job.done_do"),
        (reading_of(scene, job, seen),), _late(), begin, say("limits.job.done_short", job=job.name),
    )  # fmt: skip


def _ahead(scene: Scene, mob: MobState, paddock: str, job: Job) -> Iterator[Bite]:
    """Yield when the target is likely to be met, or the question of it where that is not known or past."""
    if job.target is None:
        return
    found = foreseen(scene, job, mob)
    fields = {"job": job.name, "target": target_words(scene, job), "when": foreseen_words(scene, job, mob)}
    moment = _moment(scene, found)
    figures = (found.days,) if found.days is not None else ()
    if moment is None or moment.likely <= scene.now:
        key = "overdue" if moment is not None else "ask"
        yield Bite("job", mob.id, paddock, None, "question", say(f"limits.job.{key}", **fields),
                   say("limits.job.look_do"), figures, reserve=() if figures else ("M",))  # fmt: skip
        return
    yield Bite(
        "job", mob.id, paddock, moment, "soft", say("limits.job.because", **fields), say("limits.job.do"),
        figures, _late(), None, say("limits.job.short", job=job.name),
    )  # fmt: skip


def _moment(scene: Scene, found: Foreseen) -> Moment | None:
    days = found.days
    if days is None or days.value is None:
        return None
    ends = (days.value if days.low is None else days.low, days.value,
            days.value if days.high is None else days.high)  # fmt: skip
    return Moment(*(scene.now + timedelta(days=d) for d in ends))


def _stays(scene: Scene, mob: MobState, paddock: str, job: Job) -> Iterator[Bite]:
    """Yield the job's own longest stay and its last day, as typed."""
    if job.stay is not None:
        stay = typed("job_stay", job.stay.to("d"), "d", job.stay.text, about=job.id)
        at = scene.begin(mob, paddock) + timedelta(days=stay.value or 0.0)
        because = say("limits.job.stay", job=job.name, days=job.stay.text)
        yield Bite("job", mob.id, paddock, Moment.at(at), "soft", because, say("limits.job.stay_do"), (stay,),
                   _late(), at, say("limits.job.stay_short", job=job.name, days=job.stay.text))  # fmt: skip
    if job.to_day is not None:
        at = scene.midnight(job.to_day)
        because = say("limits.job.last", job=job.name, day=day_words(job.to_day))
        yield Bite("job", mob.id, paddock, Moment.at(at), "soft", because, say("limits.job.stay_do"), (),
                   _late(), at, say("limits.job.last_short", job=job.name), reserve=("M",))  # fmt: skip


def _late() -> tuple[Late, ...]:
    return tuple(Late(n, risk=say("limits.job.late", count=n)) for n in (1, 2, 3))


# ---------------------------------------------------------------- rest, and the planner's face


def _rest_ends(scene: Scene, mob: MobState, paddock: str) -> tuple[datetime, Job] | None:
    """Return when a job's own rest is over after the mob's last stay on its ground, and which job's."""
    ends = []
    for job in jobs_at(scene, mob.id, paddock):
        left = [scene.now if s.end is None else s.end.end for s in scene.state.stays
                if s.mob == mob.id and not s.planned and s.place in scene.ground(paddock)]  # fmt: skip
        if job.rest is not None and left:
            ends.append((max(left) + timedelta(days=job.rest.to("d")), job))
    return max(ends, key=lambda e: e[0], default=None)


def _ready(scene: Scene, mob: MobState, paddock: str) -> Ready | None:
    found = _rest_ends(scene, mob, paddock)
    if found is None or found[0] <= scene.now or found[1].rest is None:
        return None
    at, job = found
    rest = typed("job_rest", found[1].rest.to("d"), "d", found[1].rest.text, about=job.id)
    words = say("limits.job.rest", job=job.name, day=day_words(scene.local(at).date()), days=rest.typed)
    return Ready("job", Moment.at(at), words, (rest,))


def _until_done_d(scene: Scene, mob: MobState, paddock: str, job: Job) -> float:
    """Return how many days a stay lasts until a job is done, from its begin by the farm's calendar. [d]"""
    here = mob.place == paddock and mob.since is not None
    been = (scene.days[0] - scene.local(mob.since.start).date()).days if here and mob.since else 0
    return been + done_in_d(scene, job, mob)


def _face(scene: Scene) -> Face:
    """Return the longest stay and the rest that jobs have of their own, for their mobs on their ground.

    A stay is over, too, when the job is done or foreseen to be: leaf and roots are harmed from then on.
    """
    shape = (len(scene.mobs), len(scene.paddocks))
    stay, fit = np.full(shape, np.inf), np.zeros(shape)
    rest = np.zeros(shape)
    for m, mob in enumerate(scene.mobs):
        for p, paddock in enumerate(scene.paddocks):
            for job in jobs_at(scene, mob.id, paddock) if scene.farm.jobs else ():
                own = job.stay.to("d") if job.stay is not None else np.inf
                stay[m, p] = min(stay[m, p], own, _until_done_d(scene, mob, paddock, job))
                rest[m, p] = max(rest[m, p], job.rest.to("d") if job.rest is not None else 0.0)
            ends = _rest_ends(scene, mob, paddock) if rest[m, p] else None
            fit[m, p] = max((ends[0] - scene.now) / DAY, 0.0) if ends is not None else 0.0
    price = price_usd(scene.farm, "yard_day")
    bound, rests = np.isfinite(stay).any(), rest.any()
    return Face(
        longest_stay_d=stay if bound else None,
        over_stay_usd_d=price if bound else 0.0,
        own_rest_d=rest if rests else None,
        fit_from_d=fit if rests else None,
        short_rest_usd_d=price if rests else 0.0,
    )


LIMIT = Limit("job", _bites, _face, _ready)
