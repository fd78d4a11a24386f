"""Stems measured, year by year and planting by planting, with the trees alive on that day."""

from __future__ import annotations

from datetime import date

from browseline.events import Event, Felled, Lost, Planted, Thinned, TreeMeasured
from browseline.ledger.tree_carbon import Stems
from browseline.limits import Scene

GONE = (Lost, Felled, Thinned)


def campaigns(scene: Scene, events: tuple[Event, ...]) -> tuple[Stems, ...]:
    """Return the stems of each planting by the year in which they were measured, in that order.

    ``events`` are those that happened. The last measure of a named tree in a year stands; a tree without a
    name counts each time. Plantings of which no number is known are left out.
    """
    known = {p.id: p.trees for p in scene.farm.plantings}
    found: dict[tuple[str, int], dict[str, tuple[float, str]]] = {}
    days: dict[tuple[str, int], tuple[date, str]] = {}
    for event in events:
        body = event.body
        if not isinstance(body, TreeMeasured) or body.dbh is None or known.get(event.subject) is None:
            continue
        day = scene.local(event.observed.end).date()
        key = (event.subject, day.year)
        found.setdefault(key, {})[body.tree or event.id] = (body.dbh.to("cm"), body.dbh.text)
        days[key] = (day, event.who)
    made = []
    for (planting, year), stems in sorted(found.items()):
        day, who = days[planting, year]
        trees = alive(scene, events, planting, day)
        values, texts = zip(*stems.values(), strict=True)
        made.append(Stems(planting, year, day, values, texts, max(trees, len(values)), who))
    return tuple(made)


def alive(scene: Scene, events: tuple[Event, ...], planting: str, day: date) -> int:
    """Return the trees of a planting alive at the end of a day: stood, planted since, gone since."""
    trees = next((p.trees or 0 for p in scene.farm.plantings if p.id == planting), 0)
    for event in events:
        on = scene.local(event.observed.end).date()
        if event.subject != planting or not scene.farm.as_of <= on <= day:
            continue
        if isinstance(event.body, Planted):
            trees += event.body.trees
        elif isinstance(event.body, GONE):
            trees -= event.body.trees
    return max(trees, 0)
