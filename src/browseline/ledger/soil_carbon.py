"""Soil carbon: measured change between two like samplings, and a projection that stands apart."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

import numpy as np

from browseline.events import Event, Sampled
from browseline.figures import Figure, typed
from browseline.ledger.facts import whole_area
from browseline.limits import Scene
from browseline.science import carbon

STOCK = re.compile(r"(\d+(?:\.\d+)?)\s*t\s*C\s*/\s*ha", re.IGNORECASE)
"""A stock in the laboratory's words: 62.4 t C/ha."""


@dataclass(frozen=True)
class SoilSample:
    """One sampling of a paddock: when, how deep, and its carbon where the words give it. [t C/ha]"""

    paddock: str
    day: date
    depth: str
    depth_cm: float | None
    stock_t_ha: float | None
    words: str
    who: str


@dataclass(frozen=True)
class SoilChange:
    """Change between two like samplings of a paddock. Above 0 the soil gained. [t CO2]"""

    paddock: str
    first: SoilSample
    last: SoilSample
    change: Figure


def samples(scene: Scene, events: tuple[Event, ...]) -> tuple[SoilSample, ...]:
    """Return every sampling, in order of time."""
    found = []
    for event in events:
        body = event.body
        if isinstance(body, Sampled):
            read = STOCK.search(body.result)
            depth = body.depth
            found.append(
                SoilSample(
                    event.subject, scene.local(event.observed.end).date(), depth.text if depth else "",
                    depth.to("cm") if depth else None, float(read[1]) if read else None, body.result,
                    event.who,
                )
            )  # fmt: skip
    return tuple(found)


def changes(scene: Scene, found: tuple[SoilSample, ...]) -> tuple[SoilChange, ...]:
    """Return the change of each paddock between its first and its last sampling of the same depth."""
    like: dict[tuple[str, float], list[SoilSample]] = {}
    for sample in found:
        if sample.depth_cm is not None and sample.stock_t_ha is not None:
            like.setdefault((sample.paddock, round(sample.depth_cm, 3)), []).append(sample)
    made = []
    for (paddock, _), same in sorted(like.items()):
        if len(same) > 1 and same[0].day < same[-1].day:
            change = _change(scene, same[0], same[-1])
            if change is not None:
                made.append(SoilChange(paddock, same[0], same[-1], change))
    return tuple(made)


def _change(scene: Scene, first: SoilSample, last: SoilSample) -> Figure | None:
    paddock = scene.paddock(first.paddock)
    if paddock is None or first.stock_t_ha is None or last.stock_t_ha is None:
        return None
    area = whole_area(paddock)
    gained = carbon.co2_of_carbon(np.array((last.stock_t_ha - first.stock_t_ha) * (area.value or 0.0)))
    parts = (area, *(typed("soil_stock", s.stock_t_ha or 0.0, "t C/ha", s.words, about=s.paddock, as_of=s.day,
                           who=s.who) for s in (first, last)))  # fmt: skip
    formula = f"({last.stock_t_ha:g} − {first.stock_t_ha:g}) × {area.value:.4g} ha × 44 ÷ 12"
    return Figure("soil_change", float(gained), "t CO2", formula=formula, parts=parts, about=first.paddock)
