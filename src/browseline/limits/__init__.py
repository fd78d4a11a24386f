"""Every limit: one small file each, all of one form; a new file here is found by itself."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import replace
from functools import cache
from importlib.metadata import entry_points

from browseline.limits.form import Bite, Clash, Face, Late, Limit, Moment, Ready, Scene, Way

__all__ = [
    "Bite",
    "Clash",
    "Face",
    "Late",
    "Limit",
    "Moment",
    "Ready",
    "Scene",
    "Way",
    "arrivals",
    "bites",
    "faces",
    "known",
    "ready",
]


@cache
def known() -> tuple[Limit, ...]:
    """Return every limit: the files of this folder, then those of other packages, by name."""
    own = [
        importlib.import_module(f"{__name__}.{found.name}").LIMIT
        for found in pkgutil.iter_modules(__path__)
        if found.name != "form" and not found.name.startswith("_")
    ]
    others = [point.load() for point in entry_points(group="browseline.limits")]
    return tuple(sorted(own + others, key=lambda limit: limit.name))


def bites(scene: Scene, mob: str, paddock: str) -> list[Bite]:
    """Return what bites one mob in one paddock, first things first."""

    def ask() -> list[Bite]:
        standing = next(m for m in scene.mobs if m.id == mob)
        return arrivals([bite for limit in known() for bite in limit.bites(scene, standing, paddock)])

    return list(scene.once(("bites", mob, paddock), ask))


def arrivals(found: list[Bite]) -> list[Bite]:
    """Return bites in order of arrival: by likely, hard before soft, undated last."""
    rank = {"hard": 0, "soft": 1, "question": 2}

    def key(bite: Bite) -> tuple[float, int, str]:
        when = bite.moment.likely.timestamp() if bite.moment else float("inf")
        return (when, rank[bite.hardness], bite.limit)

    return sorted(found, key=key)


def faces(scene: Scene) -> tuple[Face, ...]:
    """Return what every limit tells the planner."""
    return scene.once(
        "faces", lambda: tuple(replace(limit.face(scene), name=limit.name) for limit in known())
    )


def ready(scene: Scene, mob: str, paddock: str) -> list[Ready]:
    """Return from when on a paddock is fit for a mob, limit by limit, the latest first."""

    def ask() -> list[Ready]:
        standing = next(m for m in scene.mobs if m.id == mob)
        asked = (limit.ready(scene, standing, paddock) for limit in known())
        found = [answer for answer in asked if answer is not None]
        return sorted(
            found, key=lambda r: r.moment.likely.timestamp() if r.moment else float("inf"), reverse=True
        )

    return list(scene.once(("ready", mob, paddock), ask))
