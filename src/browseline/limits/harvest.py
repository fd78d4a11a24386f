"""Harvest: days before the first drop, by the rule that the farm chose."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from browseline import tables
from browseline.farm import settings
from browseline.farm.records import Planting
from browseline.figures import Figure, typed
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState
from browseline.words import day_words, say

WARN_D = (14, 7, 3)
MANURE = "manure_to_harvest"
SOIL_ROW = "edible part touches soil"


@dataclass(frozen=True, slots=True)
class ShutDate:
    """The last grazing of a planting's paddock before its harvest, and the harvest."""

    planting: Planting
    last_grazing: date
    first_drop: date
    interval: Figure
    rule: str


def shut_dates(scene: Scene) -> tuple[ShutDate, ...]:
    """Return the shut date of every planting with a harvest this year or next, in order of date.

    The interval is the planting's, else the farm's, else the cautious row of the table: the organic
    raw-manure rule where the edible part touches the soil, used as guidance for grazing.
    """
    found = []
    for planting in scene.farm.plantings:
        if planting.first_drop is None or not planting.harvested or planting.paddock is None:
            continue
        interval = _interval(scene, planting)
        last = planting.first_drop - timedelta(days=round(interval.value or 0))
        rule = scene.farm.rules.harvest_rule or _rule(scene)
        found.append(ShutDate(planting, last, planting.first_drop, interval, rule))
    return tuple(sorted(found, key=lambda s: (s.last_grazing, s.planting.id)))


def _rule(scene: Scene) -> str:
    """Return the rule in words: the reading that the farm named, else the cautious one."""
    named = settings.chosen(scene.farm, MANURE)
    if named is None:
        return say("limits.harvest.rule")
    return say("settings.named", name=named.applies_to, note=named.note)


def _interval(scene: Scene, planting: Planting) -> Figure:
    said = planting.interval or scene.farm.rules.harvest_interval
    if said is not None:
        return typed("harvest_interval", said.to("d"), "d", said.text, about=planting.id)
    named = settings.chosen(scene.farm, MANURE)
    if named is not None:
        return settings.figure(named, "harvest_interval", planting.id)
    return tables.row("stays", "harvest_interval", SOIL_ROW).figure("harvest_interval", planting.id)


def reopens(scene: Scene, shut: ShutDate) -> date | None:
    """Return when grazing may begin again: the end of the harvest promise, else not known."""
    ends = [
        p.to_day
        for p in scene.farm.promises
        if p.kind == "harvest" and shut.planting.paddock in p.paddocks and p.to_day >= shut.first_drop
    ]
    return min(ends) if ends else None


def _closed_on(scene: Scene, shut: ShutDate, day: date) -> bool:
    again = reopens(scene, shut)
    return shut.last_grazing <= day and (again is None or day < again)


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    today = scene.days[0]
    out = []
    for shut in shut_dates(scene):
        again = reopens(scene, shut)
        if shut.planting.paddock not in scene.ground(paddock) or (again is not None and today >= again):
            continue
        moment = Moment.at(scene.midnight(shut.last_grazing))
        because = say(
            "limits.harvest.because",
            last=day_words(shut.last_grazing),
            drop=day_words(shut.first_drop),
            days=f"{shut.interval.value:.0f}",
            rule=shut.rule,
        )
        late = tuple(Late(n, risk=say("limits.harvest.late", count=n)) for n in (1, 2, 3))
        short = say(
            "limits.harvest.short", day=day_words(shut.last_grazing), days=f"{shut.interval.value:.0f}"
        )
        out.append(
            Bite(
                "harvest",
                mob.id,
                paddock,
                moment,
                "hard",
                because,
                say("limits.harvest.do"),
                (shut.interval,),
                late,
                moment.likely,
                short,
            )
        )
    return out


def _ready(scene: Scene, _mob: MobState, paddock: str) -> Ready | None:
    for shut in shut_dates(scene):
        if shut.planting.paddock in scene.ground(paddock) and _closed_on(scene, shut, scene.days[0]):
            again = reopens(scene, shut)
            moment = Moment.at(scene.midnight(again)) if again is not None else None
            words = say(
                "limits.harvest.closed", last=day_words(shut.last_grazing), drop=day_words(shut.first_drop)
            )
            return Ready("harvest", moment, words, (shut.interval,))
    return None


def _face(scene: Scene) -> Face:
    closed = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)), bool)
    for shut in shut_dates(scene):
        shut_days = np.array([_closed_on(scene, shut, day) for day in scene.days])
        for p, paddock in enumerate(scene.paddocks):
            if shut.planting.paddock in scene.ground(paddock):
                closed[:, :, p] |= shut_days
    return Face(closed=closed)


LIMIT = Limit("harvest", _bites, _face, _ready)
