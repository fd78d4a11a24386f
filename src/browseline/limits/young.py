"""Young: trees too small or without the guard that this kind of animal needs keep a paddock shut."""

from __future__ import annotations

import numpy as np

from browseline import tables
from browseline.farm.herd_words import animals_words
from browseline.figures import weakest
from browseline.limits._reach import Judged, judged, rows_for, tall
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState
from browseline.tables import Row
from browseline.units import shown
from browseline.words import list_words, say


def _fields(scene: Scene, one: Judged) -> dict[str, str]:
    """Return what the sentences of a verdict name."""
    units = scene.farm.units
    found = {f.name: tall(f.value, units) for f in one.figures if f.unit == "cm" and f.value}
    first = tables.row("browsing", "keep_out_first", "any kind")
    trees = one.standing
    return {
        "trees": trees.planting.name,
        "kind": animals_words(one.kind),
        "many": _many(trees.bare or trees.alive),
        "guard": trees.guard,
        "year": str(trees.planting.planted or ""),
        "years": f"{first.low:g}-{first.high:g}",
        "leader": found.get("leader", ""),
        "reach": found.get("browse_reach", ""),
        "clear": found.get("clear_height", ""),
        "stem": _stem(scene, one),
    }


def _stem(scene: Scene, one: Judged) -> str:
    """Return the stem from which trees are held to be clear of a kind, where a verdict names it."""
    book = next((f for f in one.figures if f.name == "clear_stem"), None)
    return shown(book.value or 0.0, "length", scene.farm.units, 0) if book is not None else ""


def _many(trees: int | None) -> str:
    return say("limits.young.many_unknown") if trees is None else say("limits.young.many", count=trees)


def _because(scene: Scene, one: Judged) -> str:
    return say(f"limits.young.{one.why}", **_fields(scene, one))


def _shut(scene: Scene, mob: MobState, paddock: str) -> list[Judged]:
    return [one for one in judged(scene, mob, paddock) if one.verdict == "shut"]


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    begin = scene.begin(mob, paddock)
    shut = _shut(scene, mob, paddock)
    if shut:
        late = tuple(Late(n, risk=say("limits.young.late", count=n)) for n in (1, 2, 3))
        reserve = (weakest(f.mark for one in shut for f in one.figures),)
        return [
            Bite(
                "young",
                mob.id,
                paddock,
                Moment.at(begin),
                "hard",
                " ".join(dict.fromkeys(_because(scene, one) for one in shut)),
                say("limits.young.do"),
                shut[0].figures,
                late,
                begin,
                say("limits.young.short"),
                reserve=reserve,
            )
        ]
    asked = [one for one in judged(scene, mob, paddock) if one.verdict == "ask"]
    if not asked:
        return []
    because = " ".join(dict.fromkeys(_because(scene, one) for one in asked))
    do = say(f"limits.young.{asked[0].why}_do", **_fields(scene, asked[0]))
    short = say("limits.young.ask_short")
    return [Bite("young", mob.id, paddock, None, "question", because, do, asked[0].figures, short=short)]


def _ready(scene: Scene, mob: MobState, paddock: str) -> Ready | None:
    """Return that the paddock waits for guards or height, on no known day; None where nothing is shut."""
    shut = _shut(scene, mob, paddock)
    if not shut:
        return None
    names = list_words(dict.fromkeys(one.standing.planting.name for one in shut))
    return Ready("young", None, say("limits.young.ready", trees=names), shut[0].figures)


def _face(scene: Scene) -> Face:
    closed = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)), bool)
    for m, mob in enumerate(scene.mobs):
        for p, paddock in enumerate(scene.paddocks):
            closed[m, :, p] = bool(_shut(scene, mob, paddock))
    return Face(closed=closed)


def _rows(kind: str) -> tuple[Row, ...]:
    """Return what the limit rests on for a kind; nothing is known of one whose reach is not."""
    own = rows_for(kind)
    return (*own, tables.row("browsing", "keep_out_first", "any kind")) if own else ()


LIMIT = Limit("young", _bites, _face, _ready, _rows)
