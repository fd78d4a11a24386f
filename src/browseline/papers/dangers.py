"""What can hurt on a relief worker's days: pinned plants, cautions by the table, three "if" lines.

The sheet names a danger and who decides. It never says what ails an animal, and holds no amount.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from browseline import tables
from browseline.chain.look import Picture
from browseline.events.bodies import Born
from browseline.papers.names import BLANK, guarded, place_words
from browseline.papers.sketch import near
from browseline.words import list_words, say

NEWBORN = timedelta(days=30)
STORM_FRESH = timedelta(days=7)
EVENTS = ("count", "fence", "tree")
NOT_ALONE = {"sheep": "ram", "cattle": "bull", "goat": "buck", "pig": "boar", "horse": "stallion"}
"""The animal not to be alone with, by kind: said even where none is listed, since one may be about."""


def not_alone(picture: Picture) -> list[str]:
    """Return the animals that nobody handles alone, of the kinds on the farm."""
    kinds = dict.fromkeys(line.kind for mob in picture.scene.mobs for line in mob.lines if line.head)
    return [say(f"papers.relief.not_alone.{NOT_ALONE[kind]}") for kind in kinds if kind in NOT_ALONE]


def look_for(picture: Picture) -> Iterator[str]:
    """Yield the hazards pinned on the map, by name and by the paddocks that they touch."""
    hazards = [s for s in picture.farm.shapes if s.kind == "hazard"]
    for shape in hazards:
        beside = [place_words(picture.scene, p) for p in near(picture.farm, shape)]
        name = guarded(shape.name) or BLANK
        yield say("papers.relief.hazard", name=name, paddocks=list_words(beside)) if beside else name


def cautions(picture: Picture) -> Iterator[str]:
    """Yield the cautions that a relief worker's tasks call for, of those that the table holds."""
    known = {line["id"] for line in tables.texts("cautions")}
    males = not_alone(picture)
    if "C1" in known and males:
        yield say("papers.caution.C1", animals=", ".join(males))
    if "C7" in known and _young(picture):
        yield say("papers.caution.C7")
    if "C4" in known and any(picture.now - s.end < STORM_FRESH for s in picture.state.storms):
        yield say("papers.caution.C4")
    yield say("papers.caution.sick")


def _young(picture: Picture) -> bool:
    """Return whether young are being born, or are about to be: births on record, or a class late in young."""
    born = any(
        isinstance(e.body, Born) and not e.planned and timedelta(0) <= picture.now - e.observed.end < NEWBORN
        for e in picture.events
    )
    stages = (f"{line.klass} {line.stage}".casefold() for mob in picture.scene.mobs for line in mob.lines)
    return born or any("late gestation" in s or "late pregnan" in s or "lambing" in s for s in stages)


def ifs(emergency: str) -> tuple[tuple[str, str], ...]:
    """Return what to do if the count is short, a fence is down, a tree or limb is down."""
    return tuple(
        (say(f"papers.relief.if.{what}"), say(f"papers.relief.then.{what}", emergency=emergency))
        for what in EVENTS
    )


def ifs_short(emergency: str) -> tuple[tuple[str, str], ...]:
    """Return the same in as few words as a text message has room for."""
    return tuple(
        (say(f"papers.text.if.{what}"), say(f"papers.text.then.{what}", emergency=emergency))
        for what in EVENTS
    )
