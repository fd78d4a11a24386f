"""Jobs that animals are kept for: what was seen of each, and whether that ends it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from browseline.farm.records import Job
from browseline.limits.form import Scene
from browseline.units import Quantity

Seen = tuple[datetime, float, str, str]
"""When, value, unit and text of a reading."""


def newest_reading(scene: Scene, job: Job) -> Seen | None:
    """Return the newest reading that a job is judged by, since it began; None if there is none."""
    begin = scene.midnight(job.from_day) if job.from_day is not None else None
    found = [seen for seen in _readings(scene, job) if begin is None or seen[0] >= begin]
    return max(found, key=lambda seen: seen[0], default=None)


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
