"""Jobs that animals are kept for: what was seen of each, whether that ends it, and when it is foreseen to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

import numpy as np

from browseline.farm.needs import demand, on_grass
from browseline.farm.records import Job
from browseline.farm.toml_purpose import BY_HEIGHT
from browseline.figures import Figure, typed
from browseline.limits.form import Scene
from browseline.record.state import MobState, Stay
from browseline.sward import days_of_grass
from browseline.units import Quantity

DAY = timedelta(days=1)
UNTOUCHED = {"brush": 1.0, "turn": 0.0}
"""What a job begins from where nobody looked before it: all of the leaf, no bare ground. [1]"""

DAYS_IN = ("worms", "regrowth")
"""Limits that count days in and see no harm."""

Seen = tuple[datetime, float, str, str]
"""When, value, unit and text of a reading."""


@dataclass(frozen=True, slots=True)
class Foreseen:
    """The days of work that a job still needs from now on; ``days`` is None where that is not known.

    ``why`` is *pace* (looks tell how fast it goes), *once* (one look alone: no range), *grass* (the grass
    is eaten down so fast), or why it is not known: *no_look*, *no_pace*, *keeps_up*, *no_target*.
    """

    why: str
    days: Figure | None = None


def newest_reading(scene: Scene, job: Job) -> Seen | None:
    """Return the newest reading that a job is judged by, since it began; None if there is none."""
    return max(_since(scene, job), key=lambda seen: seen[0], default=None)


def _since(scene: Scene, job: Job) -> list[Seen]:
    begin = scene.midnight(job.from_day) if job.from_day is not None else None
    return [seen for seen in _readings(scene, job) if begin is None or seen[0] >= begin]


def _readings(scene: Scene, job: Job) -> Iterator[Seen]:
    state, places = scene.state, scene.ground(job.paddock)
    found: list[tuple[datetime, Quantity | None, str]]
    match job.kind:
        case "brush":
            found = [(x.at.end, x.left, "1") for x in state.leaf if x.paddock in places]
        case "turn":
            found = [(x.at.end, x.bare, "1") for x in state.ground if x.paddock in places]
        case _:
            found = [(x.at.end, x.height, "cm") for x in state.heights if x.paddock in places]
    return ((at, read.to(unit), unit, read.text) for at, read, unit in found if read is not None)


def met(job: Job, seen: Seen | None) -> bool:
    """Return whether a reading meets a job's target: bare ground rises to it, leaf and height fall to it."""
    if job.target is None or seen is None:
        return False
    target = job.target.to(seen[2])
    return seen[1] >= target if job.kind == "turn" else seen[1] <= target


def jobs_at(scene: Scene, mob: str, paddock: str) -> tuple[Job, ...]:
    """Return the jobs that a mob has in a paddock, in the farm's order."""
    return tuple(job for job in scene.farm.jobs if job.mob == mob and job.paddock in scene.ground(paddock))


def open_job(scene: Scene, mob: str, day: date) -> Job | None:
    """Return the first job of a mob that is open on a day, in the farm's order; None if there is none.

    A job is open from its first day until its target is met by what was seen, or its last day is over.
    One that has neither target nor last day asks for nothing that a plan could end.
    """
    return next((job for job in _of(scene, mob) if _runs(job, day)), None)


def _of(scene: Scene, mob: str) -> tuple[Job, ...]:
    """Return the jobs of a mob that can end and whose targets are not met."""

    def unmet() -> tuple[Job, ...]:
        own = (job for job in scene.farm.jobs if job.mob == mob)
        return tuple(
            job
            for job in own
            if (job.target is not None or job.to_day is not None) and not met(job, newest_reading(scene, job))
        )

    return scene.once(("open jobs", mob), unmet)


def _runs(job: Job, day: date) -> bool:
    begun = job.from_day is None or job.from_day <= day
    return begun and (job.to_day is None or day < job.to_day)


def harmed(scene: Scene, mob: MobState, job: Job) -> bool:
    """Return whether a mob does harm where it works, by any limit that bites now."""
    return ended_by(scene, mob, job) is not None


def ended_by(scene: Scene, mob: MobState, job: Job) -> str | None:
    """Return the limit that ends a job sooner than its target, where its mob works now; None if none does.

    Days in that are up for worms or regrowth alone end no job, unless the farm made them hard: they stand
    against it as a clash, and at their price.
    """
    from browseline.limits import bites

    if mob.place is None or job.paddock not in scene.ground(mob.place):
        return None
    found = bites(scene, mob.id, mob.place)
    ends = (b for b in found if b.hardness == "hard" or (b.hardness == "soft" and b.limit not in DAYS_IN))
    return next((b.limit for b in ends if b.moment is not None and b.moment.likely <= scene.now), None)


# ---------------------------------------------------------------- foreseen to its end


def done_in_d(scene: Scene, job: Job, mob: MobState) -> float:
    """Return the days of work from now until leaf or turned ground meets a job's target; infinite if unknown.

    To the later end of what is foreseen, in whole days. What is grazed down to a height has the height to
    leave for it, and is not foreseen here. [d]
    """
    if job.target is None or job.kind in BY_HEIGHT:
        return np.inf
    if met(job, newest_reading(scene, job)):
        return 0.0
    days = foreseen(scene, job, mob).days
    if days is None or days.value is None:
        return np.inf
    return float(np.ceil((days.value if days.high is None else days.high) - 1e-6))


def foreseen(scene: Scene, job: Job, mob: MobState) -> Foreseen:
    """Return for how long a mob must still work until a job's target is met.

    Leaf and bare ground go by the pace that looks have told, a head a day; height by what the mob eats and
    what grows. Where nobody has looked it is not known.
    """
    if job.target is None:
        return Foreseen("no_target")
    return scene.once(
        ("foreseen", job.id, mob.id),
        lambda: _by_grass(scene, job, mob) if job.kind in BY_HEIGHT else _by_pace(scene, job, mob),
    )


def _by_grass(scene: Scene, job: Job, mob: MobState) -> Foreseen:
    i, needs = scene.herbage.index(job.paddock), demand(on_grass(mob.lines), mob.id)
    if not scene.herbage.read[i] or needs is None or not needs.value or job.target is None:
        return Foreseen("no_look")
    height = typed("job_target", job.target.to("cm"), "cm", job.target.text, about=job.id)
    floor = np.array([n.mass_kg_ha(height.value or 0.0) for n in scene.herbage.numbers])
    been = max((scene.now - scene.begin(mob, job.paddock)) / DAY, 0.0)
    days = days_of_grass(scene.herbage, needs.value, floor, np.full(len(floor), been)).days[:, i]
    low, middle, high = np.quantile(days, (0.1, 0.5, 0.9), method="closest_observation")
    if not np.isfinite(middle):
        return Foreseen("keeps_up")
    top = high if np.isfinite(high) else np.max(days[np.isfinite(days)])
    parts = (height, needs, scene.herbage.height_now(i))
    return Foreseen("grass", Figure("job_days", float(middle), "d", float(low), float(max(top, middle)),
                                    parts=parts, about=job.id))  # fmt: skip


def _by_pace(scene: Scene, job: Job, mob: MobState) -> Foreseen:
    """Return the days by what each head has done a day between looks, and what is left to do."""
    seen = sorted(_since(scene, job))
    if not seen or job.target is None or mob.head <= 0:
        return Foreseen("no_look")
    marks = [(at, value) for at, value, _, _ in seen]
    came = _came(scene, job)
    if came is not None and came < marks[0][0]:
        marks.insert(0, (came, UNTOUCHED[job.kind]))
    paces = [p for a, b in pairwise(marks) if (p := _pace(scene, job, a, b)) is not None]
    whole = _pace(scene, job, marks[0], marks[-1])
    if whole is None or whole <= 0:
        return Foreseen("no_pace")
    goal = typed("job_target", job.target.to("1"), "1", job.target.text, about=job.id)
    left = abs(seen[-1][1] - (goal.value or 0.0))
    done = _head_days(scene, job, seen[-1][0], scene.now)

    def days(pace: float) -> float | None:
        return max(left / pace - done, 0.0) / mob.head if pace > 0 else None

    once = len(paces) < 2
    pace = Figure(
        "job_pace", whole, "1/d", None if once else min(paces), None if once else max(paces),
        formula=_pace_words(scene, job, marks[0], marks[-1]), about=job.id,
    )  # fmt: skip
    low, high = (None, None) if once else (days(max(paces)), days(min(paces)))
    formula = f"({left:.3g} ÷ {whole:.3g} − {done:.4g}) ÷ {mob.head}"
    parts = (reading_of(scene, job, seen[-1]), goal, pace)
    figure = Figure("job_days", days(whole), "d", low, high, formula=formula, parts=parts, about=job.id)
    return Foreseen("once" if once else "pace", figure)


def _pace_words(scene: Scene, job: Job, a: tuple[datetime, float], b: tuple[datetime, float]) -> str:
    return f"{abs(b[1] - a[1]):.3g} ÷ {_head_days(scene, job, a[0], b[0]):.4g} head × d"


def reading_of(scene: Scene, job: Job, seen: Seen) -> Figure:
    """Return a reading that a job is judged by as a figure."""
    at, value, unit, text = seen
    return typed("job_reading", value, unit, text, about=job.id, as_of=scene.local(at).date())


def _came(scene: Scene, job: Job) -> datetime | None:
    """Return when the mob of a job first came to its ground since the job began; None if it never did."""
    begin = scene.midnight(job.from_day) if job.from_day is not None else None
    ends = [s.begin.end for s in _stays(scene, job)
            if begin is None or s.end is None or s.end.end > begin]  # fmt: skip
    first = min(ends, default=None)
    return max(first, begin) if first is not None and begin is not None else first


def _stays(scene: Scene, job: Job) -> Iterator[Stay]:
    """Yield what a job's mob has stood on its ground."""
    ground = scene.ground(job.paddock)
    return (s for s in scene.state.stays if s.mob == job.mob and not s.planned and s.place in ground)


def _pace(scene: Scene, job: Job, a: tuple[datetime, float], b: tuple[datetime, float]) -> float | None:
    """Return what a head did a day towards the target between two looks; None if nobody worked. [1/d]"""
    worked = _head_days(scene, job, a[0], b[0])
    did = b[1] - a[1] if job.kind == "turn" else a[1] - b[1]
    return did / worked if worked > 0 else None


def _head_days(scene: Scene, job: Job, first: datetime, last: datetime) -> float:
    """Return the head-days that a job's mob worked on its ground between two instants. [d]"""
    total = 0.0
    for stay in _stays(scene, job):
        begin = max(stay.begin.end, first)
        end = min(stay.end.start if stay.end is not None else scene.now, last)
        if end > begin:
            total += (end - begin) / DAY * _head_at(scene, stay.mob, begin)
    return total


def _head_at(scene: Scene, mob: str, at: datetime) -> int:
    logged = [(when, lines) for when, who, lines in scene.state.heads if who == mob and when <= at]
    now = scene.state.mob(mob)
    lines = max(logged, key=lambda entry: entry[0])[1] if logged else now.lines if now is not None else ()
    return sum(line.head for line in lines)
