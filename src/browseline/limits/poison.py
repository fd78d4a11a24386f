"""Poison: a plant that harms a mob's kind, in or within reach of a paddock, once something has set it off.

Hard, and never by amount: nobody's leaf is safe. What is lethal stands only under Why, as harm, with
its source. A frost that is only expected warns and shuts nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import cast

import numpy as np

from browseline import tables
from browseline.farm.needs import weight
from browseline.figures import Basis, Figure, Mark, Origin
from browseline.limits import _plants as plants
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState
from browseline.units import factor
from browseline.words import begun, day_words, linked, list_words, say

LOOK_HOLDS = timedelta(days=7)
"""How long a look answers for what no entry can start: hunger, drought, young leaves; the tool's own."""
FREEZING_C = 0.0


@dataclass(frozen=True, slots=True)
class ToLook:
    """A paddock that somebody must look at before any move there: which plants, in words."""

    paddock: str
    plants: str


# ---------------------------------------------------------------- what bites


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    on = plants.dangers(scene, mob, paddock)
    out = [_bite(scene, mob, paddock, found) for found in _by_plant(on)]
    named = {danger.growing.ident for danger in on}
    for growing in plants.growing_in(scene, paddock):
        if growing.ident not in named and plants.harmed(growing.plant, mob):
            out += _to_come(scene, mob, paddock, growing)
    return out


def _by_plant(on: Iterable[plants.Danger]) -> Iterator[tuple[plants.Danger, ...]]:
    ordered = sorted(on, key=lambda d: d.growing.ident)
    for _, found in groupby(ordered, key=lambda d: d.growing.ident):
        yield tuple(sorted(found, key=lambda d: d.since))


def _bite(scene: Scene, mob: MobState, paddock: str, found: tuple[plants.Danger, ...]) -> Bite:
    """Return the bite of one plant that is dangerous now."""
    first, growing = found[0], found[0].growing
    begin = max(first.since, scene.begin(mob, paddock))
    because = say(
        "poison.limit.because", where=_where(growing), why=list_words(_why(scene, d) for d in found),
        animals=_animals(growing.plant, mob), worst=worst_words(growing.plant),
        until=until_words(scene, found),
    )  # fmt: skip
    late = tuple(Late(n, risk=say("poison.limit.late")) for n in (1, 2, 3))
    return Bite(
        "poison", mob.id, paddock, Moment.at(begin), "hard", because, _act(growing.plant, found),
        harm(growing.plant, mob), late, begin, say("poison.limit.short", plant=_name(growing.plant)),
        reserve=_marks(growing.plant, mob, found),
    )  # fmt: skip


def _act(plant: str, found: tuple[plants.Danger, ...]) -> str:
    fallen = any(d.row["starts"] in ("storm", "cut") for d in found)
    parts = [say("poison.limit.do"), say(f"poison.do.{plant}")]
    parts += [say("poison.limit.limb")] if fallen else []
    return " ".join([*parts, say("poison.limit.vet")])


def _to_come(scene: Scene, mob: MobState, paddock: str, growing: plants.Growing) -> Iterator[Bite]:
    """Yield what may set a plant off: a season that comes, a frost that is expected, what nobody enters."""
    for row in plants.triggers(growing.plant, "season"):
        yield from _coming_season(scene, mob, paddock, growing, row)
    if plants.triggers(growing.plant, "frost"):
        yield from _coming_frost(scene, mob, paddock, growing)
    looks = plants.triggers(growing.plant, "look")
    if looks and not _seen_lately(scene, paddock, growing):
        why = list_words(say(f"poison.trigger.{row['trigger']}") for row in looks)
        because = say("poison.limit.ask", where=_where(growing), why=why)
        yield Bite(
            "poison", mob.id, paddock, None, "question", because, say("poison.limit.ask_do"),
            short=say("poison.limit.ask_short", plant=_name(growing.plant)),
            reserve=_marks(growing.plant, mob, ()),
        )  # fmt: skip


def _coming_season(
    scene: Scene, mob: MobState, paddock: str, growing: plants.Growing, row: plants.Row
) -> Iterator[Bite]:
    starts = (plants.season_start(scene, row, day) for day in scene.days[1:])
    coming = next((s for s in starts if s is not None and s > scene.now), None)
    if coming is None:
        return
    because = say(
        "poison.limit.coming", where=_where(growing), why=say(f"poison.trigger.{row['trigger']}"),
        animals=_animals(growing.plant, mob), day=day_words(scene.local(coming).date()),
    )  # fmt: skip
    yield Bite(
        "poison", mob.id, paddock, Moment.at(coming), "hard", because, say("poison.limit.coming_do"),
        no_growth=coming, short=say("poison.limit.short", plant=_name(growing.plant)),
        reserve=(*_marks(growing.plant, mob, ()), _mark(row)),
    )  # fmt: skip


def _coming_frost(scene: Scene, mob: MobState, paddock: str, growing: plants.Growing) -> Iterator[Bite]:
    """Yield a warning of frost that the weather members expect: soft, for nobody has seen it."""
    if scene.weather is None:
        return
    ahead = np.isin(scene.weather.days, np.array(scene.days[1:], "datetime64[D]"))
    cold = scene.weather.tmin_c[:, ahead] <= FREEZING_C
    days = np.where(cold.any(axis=1), cold.argmax(axis=1), np.inf)
    moment = Moment.after(scene.midnight(scene.days[1]), days)
    if moment is None:
        return
    because = say(
        "poison.limit.frost", where=_where(growing), day=day_words(scene.local(moment.likely).date())
    )
    yield Bite(
        "poison", mob.id, paddock, moment, "soft", because, say("poison.limit.frost_do"),
        short=say("poison.limit.frost_short"), reserve=("G",),
    )  # fmt: skip


def _seen_lately(scene: Scene, paddock: str, growing: plants.Growing) -> bool:
    places = scene.ground(paddock)
    return any(
        look.paddock in places and look.what in ("", growing.ident) and scene.now - look.at.end <= LOOK_HOLDS
        for look in scene.state.cleared
    )


# ---------------------------------------------------------------- words


def _name(plant: str) -> str:
    return say(f"poison.plant.{plant}")


def _where(growing: plants.Growing) -> str:
    key = "inside" if growing.inside else "beside"
    return begun(say(f"poison.where.{key}", plant=_name(growing.plant), pin=growing.name))


def worst_words(plant: str) -> str:
    """Return what part of a plant is worst, and when; for some, how soon signs come."""
    within = tables.table("harm").get(("signs_within", plant))
    minutes = "" if within is None else linked(f"{within.middle():g}", within.figure("signs_within", plant))
    return say(f"poison.worst.{plant}", minutes=minutes)


def _why(scene: Scene, danger: plants.Danger) -> str:
    trigger = say(f"poison.trigger.{danger.trigger}")
    if danger.row["starts"] in ("always", "stage"):
        return trigger
    return say("poison.limit.since", why=trigger, day=day_words(scene.local(danger.since).date()))


def _animals(plant: str, mob: MobState) -> str:
    worst = plants.severity(plant, plants.harmed(plant, mob)[0])
    kinds = dict.fromkeys(x.kind for x in plants.harmed(plant, mob))
    return say(f"poison.severity.{worst}", kinds=list_words(say(f"poison.kind.{k}") for k in kinds))


def until_words(scene: Scene, found: Iterable[plants.Danger]) -> str:
    """Return until when ground stays shut: until somebody looks, and not before the wait of a row."""
    waits = [d.no_end_before for d in found if d.row["wait_d"]]
    if waits:
        return say("poison.limit.until_wait", day=day_words(scene.local(max(waits)).date()))
    return say("poison.limit.until")


def _mark(row: plants.Row) -> Mark:
    return Figure("trigger", None, "1", origins=(_origin(row),)).mark


def _marks(plant: str, mob: MobState, found: Iterable[plants.Danger]) -> tuple[Mark, ...]:
    rows = [plants.row_for(plant, x) for x in plants.harmed(plant, mob)[:1]]
    known = [_mark(row) for row in (*rows, *(d.row for d in found)) if row is not None]
    return tuple(known) if all(rows) else ("G",)


# ---------------------------------------------------------------- harm, under Why only


def harm(plant: str, mob: MobState) -> tuple[Figure, ...]:
    """Return what a plant does to each line of a mob, with its source: only for Why, never an amount to eat.

    Where a source gives a lethal range by body weight it is worked out at the line's weight.
    """
    found: list[Figure] = []
    for line in plants.harmed(plant, mob):
        row = plants.row_for(plant, line)
        about = f"{line.kind} {line.klass}".strip()
        if row is not None:
            found.append(Figure("poison", None, "1", origins=(_origin(row),), about=about))
        found += _lethal(plant, line.kind, weight(line), about)
    if ("signs_within", plant) in tables.table("harm"):
        found.append(tables.row("harm", "signs_within", plant).figure("signs_within", plant))
    return tuple(found)


def _lethal(plant: str, kind: str, heavy: Figure | None, about: str) -> Iterator[Figure]:
    key = f"{plant}, {kind}"
    if ("lethal_plant", key) not in tables.table("harm") or heavy is None or heavy.value is None:
        return
    row = tables.row("harm", "lethal_plant", key)
    kg_lb = factor("lb", "kg")
    pounds = heavy.value / kg_lb
    low, high = ((x or 0.0) * pounds for x in (row.low, row.high))
    book = Figure("lethal_plant_share", None, row.unit, row.low, row.high, origins=row.figure("x").origins)
    formula = f"{row.low:g} … {row.high:g} g × {pounds:.4g} lb = {low:.0f} … {high:.0f} g"
    yield Figure("lethal_plant", None, "g", low, high, formula=formula, parts=(heavy, book), about=about)


def _origin(row: plants.Row) -> Origin:
    said = (
        row.get("severity", "").replace("_", " "),
        row.get("toxic_part", ""),
        row.get("dose_note", ""),
        row.get("severity_by", ""),
        row["note"],
    )
    note = "; ".join(part for part in said if part)
    return Origin(row["source"], row["locator"], cast("Basis", row["basis"]), note=note)


# ---------------------------------------------------------------- before any move


def to_look(scene: Scene) -> tuple[ToLook, ...]:
    """Return every paddock with a pinned or planted poison that nobody has cleared since the last storm."""
    last = max((s.end for s in scene.state.storms), default=None)
    if last is None:
        return ()
    out = []
    for paddock in scene.paddocks:
        harmful = [g for g in plants.growing_in(scene, paddock) if plants.harms(g.plant)]
        waiting = [g for g in harmful if not _cleared_since(scene, paddock, g, last)]
        if waiting:
            out.append(ToLook(paddock, list_words(dict.fromkeys(_name(g.plant) for g in waiting))))
    return tuple(out)


def _cleared_since(scene: Scene, paddock: str, growing: plants.Growing, last: datetime) -> bool:
    places = scene.ground(paddock)
    looks = [c for c in scene.state.cleared if c.paddock in places and c.what in ("", growing.ident)]
    return any(look.at.end >= last for look in looks)


def shut_by_plants(scene: Scene) -> tuple[tuple[str, str, str], ...]:
    """Return the paddocks that a plant shuts to a mob now: paddock, why, until when."""
    out: dict[str, tuple[str, str, str]] = {}
    for paddock in scene.paddocks:
        for mob in scene.mobs:
            on = plants.dangers(scene, mob, paddock)
            if on and paddock not in out:
                why = list_words(dict.fromkeys(_why(scene, d) for d in on))
                names = list_words(dict.fromkeys(_name(d.growing.plant) for d in on))
                out[paddock] = (
                    paddock,
                    say("poison.limit.shut", plant=names, why=why),
                    until_words(scene, on),
                )
    return tuple(out.values())


def _ready(scene: Scene, mob: MobState, paddock: str) -> Ready | None:
    on = plants.dangers(scene, mob, paddock)
    if not on:
        return None
    found = next(_by_plant(on))
    return Ready("poison", None, _bite(scene, mob, paddock, found).because)


def _face(scene: Scene) -> Face:
    """Return what is shut: now until somebody looks, and from the first day of a season that comes."""
    shut = [[_shut(scene, mob, paddock) for paddock in scene.paddocks] for mob in scene.mobs]
    shape = (len(scene.mobs), len(scene.paddocks), len(scene.days))
    return Face(closed=np.moveaxis(np.array(shut, bool).reshape(shape), 2, 1).copy())


def _shut(scene: Scene, mob: MobState, paddock: str) -> list[bool]:
    """Return the days on which a paddock is shut to a mob."""
    if plants.dangers(scene, mob, paddock):
        return [True] * len(scene.days)
    found = [b for b in _bites(scene, mob, paddock) if b.hardness == "hard" and b.moment is not None]
    firsts = [scene.local(b.moment.likely).date() for b in found if b.moment is not None]
    return [any(day >= first for first in firsts) for day in scene.days]


LIMIT = Limit("poison", _bites, _face, _ready)
