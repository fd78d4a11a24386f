"""From store to grass: when the grass is high enough, whether the hay lasts until then, where to begin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.events import Event, Moved
from browseline.figures import Figure, typed
from browseline.ledger.ahead import open_today
from browseline.ledger.balance import on_grass
from browseline.ledger.growth import GrowthCase, first_pass, growth_cases, mass_ahead, start_day
from browseline.ledger.hay import HayStore, Lasting, Span, at_one_rate, hay_store, spans, whole_bales
from browseline.ledger.trees_near import treed
from browseline.limits import Scene
from browseline.words import say

Array = NDArray[np.float64]
FAR_D = 366


@dataclass(frozen=True)
class Start:
    """One growth: the day the grass reaches the height to start at, and the days of hay to spare then.

    ``seen_to`` is the last day for which the growth is known: a height not reached by then has no day.
    ``spare_d`` below 0 is a gap; None where the height is not reached, or no hay is in store. [d]
    """

    case: GrowthCase
    seen_to: date
    day: date | None
    spare_d: int | None


@dataclass(frozen=True)
class TooEarly:
    """A move from house or yard to grass, planned before the height is there; the heights then. [cm]"""

    day: date
    low_cm: float
    high_cm: float


@dataclass(frozen=True)
class Turnout:
    """The first grazing. ``now`` and ``highest`` are the days of hay at today's and the highest need.

    ``buy`` bales give ``buy_d`` days more, so that the slowest growth leaves the margin the farm keeps.
    ``figures`` are the heights, spare days and bales that are told.
    """

    starts: tuple[Start, ...]
    start_at: Figure
    mean_cm: float
    now: Lasting | None
    highest: Lasting | None
    margin: Figure
    buy: int
    buy_d: Figure | None
    too_early: tuple[TooEarly, ...]
    first: str | None
    first_cm: float
    last_years_first: str | None
    figures: tuple[Figure, ...] = ()

    @property
    def slowest(self) -> Start | None:
        """Return the start in the slowest growth, or None if growth is not known."""
        return self.starts[0] if self.starts else None


def turnout(scene: Scene, events: Sequence[Event]) -> Turnout | None:
    """Return the first grazing of mobs that live from the store; None if one is on grass or none was read."""
    which = open_today(scene)[1]
    if on_grass(scene) or not which or not scene.mobs:
        return None
    store, over = hay_store(scene), spans(scene, scene.mobs, scene.days[0] + timedelta(days=FAR_D))
    now, highest = _lasts(scene, store, over)
    cases = growth_cases(scene)[1:]
    starts = tuple(_start(scene, case, which, highest) for case in cases)
    margin, at = _margin(scene), first_pass(scene, scene.herbage.numbers[which[0]])
    buy, buy_d = _to_buy(scene, starts, store, over, margin)
    first, first_cm = _tallest(scene, which)
    early = _too_early(scene, events, which, starts)
    figures = (*_heights(scene, which, first, early), *_spare(starts, highest), *_bought(buy, buy_d))
    return Turnout(
        starts, at, _mean_cm(scene, which), now, highest, margin, buy, buy_d,
        early, first, first_cm, _first_of_last_year(scene), figures,
    )  # fmt: skip


def _heights(
    scene: Scene, which: list[int], first: str | None, early: tuple[TooEarly, ...]
) -> Iterator[Figure]:
    """Yield the mean height, that of the tallest paddock, and those on days that are too early. [cm]"""
    parts = tuple(replace(scene.herbage.height_now(i), about=scene.herbage.paddocks[i]) for i in which)
    formula = " + ".join(f"{part.value:.3g} cm" for part in parts)
    mean = Figure(
        "height_mean", _mean_cm(scene, which), "cm", parts=parts,
        formula=say("feed.turnout.mean_formula", heights=formula),
    )  # fmt: skip
    yield mean
    if first is not None:
        yield from (part for part in parts if part.about == first)
    for one in early:
        yield Figure(
            "height_then", one.low_cm, "cm", one.low_cm, one.high_cm, parts=(mean,), as_of=None,
            formula=say("feed.turnout.then_formula", mean=f"{mean.value:.3g} cm"), about=one.day.isoformat(),
        )  # fmt: skip


def _spare(starts: tuple[Start, ...], hay: Lasting | None) -> Iterator[Figure]:
    """Yield the days of hay to spare in each growth; below 0 a gap. [d]"""
    for start in starts:
        if hay is not None and start.day is not None and start.spare_d is not None:
            formula = f"{hay.out.isoformat()} − {start.day.isoformat()}"
            about = str(start.case.label)
            yield Figure("hay_spare", start.spare_d, "d", formula=formula, parts=(hay.days,), about=about)


def _bought(bales: int, more: Figure | None) -> Iterator[Figure]:
    """Yield the bales to buy for the margin. [bales]"""
    if more is not None:
        yield Figure("bales_to_buy", bales, "bales", formula=more.formula, parts=more.parts)


def _start(scene: Scene, case: GrowthCase, which: list[int], hay: Lasting | None) -> Start:
    day = start_day(scene, case, which, scene.herbage.land.area_ha[which])
    seen_to = scene.days[0] + timedelta(days=len(mass_ahead(scene, case, which)) - 1)
    return Start(case, seen_to, day, (hay.out - day).days if hay is not None and day is not None else None)


def _lasts(
    scene: Scene, store: HayStore | None, over: tuple[Span, ...]
) -> tuple[Lasting | None, Lasting | None]:  # fmt: skip
    if store is None or not over:
        return None, None
    today = scene.days[0]
    return at_one_rate(store.eaten, over[0], today), at_one_rate(store.eaten, _hungriest(over), today)


def _hungriest(over: Sequence[Span]) -> Span:
    return max(over, key=lambda span: span.kg_d)


def _margin(scene: Scene) -> Figure:
    said = scene.farm.rules.hay_margin
    if said is not None:
        return typed("hay_margin", said.to("d"), "d", said.text)
    return tables.row("hay", "hay_margin", "from store to first grazing").figure("hay_margin")


def _to_buy(
    scene: Scene, starts: tuple[Start, ...], store: HayStore | None, over: tuple[Span, ...], margin: Figure
) -> tuple[int, Figure | None]:
    """Return the bales that the margin at the slowest growth asks for, and the days that they last."""
    if not starts or starts[0].day is None or store is None or not over:
        return 0, None
    need = _hungriest(over)
    days = (starts[0].day - scene.days[0]).days + (margin.value or 0.0)
    bales = whole_bales(days * need.kg_d - store.eaten_kg, store.bale)
    each = store.bale.eaten
    formula = f"{bales} × {each.value:.4g} kg ÷ {need.kg_d:.4g} kg/d"
    more = Figure(
        "feed_days",
        bales * (each.value or 0.0) / need.kg_d,
        "d",
        formula=formula,
        parts=(each, need.demand, margin),
    )
    return bales, more


def _heights_cm(scene: Scene, which: list[int], mass_kg_ha: Array) -> list[float]:
    """Return the height of paddocks at their herbage, shape (paddock,). [cm]"""
    return [scene.herbage.numbers[i].height_cm(float(m)) for i, m in zip(which, mass_kg_ha, strict=True)]


def _middle_kg_ha(scene: Scene, which: list[int]) -> Array:
    """Return what stands on paddocks now in the middle member, shape (paddock,). [kg DM/ha]"""
    return np.asarray(np.median(scene.herbage.mass_kg_ha[:, which], axis=0))


def _mean_of_cm(scene: Scene, which: list[int], mass_kg_ha: Array) -> float:
    """Return the mean height of paddocks at their herbage, by area. [cm]"""
    return float(np.average(_heights_cm(scene, which, mass_kg_ha), weights=scene.herbage.land.area_ha[which]))


def _mean_cm(scene: Scene, which: list[int]) -> float:
    """Return the mean height of paddocks now, by area. [cm]"""
    return _mean_of_cm(scene, which, _middle_kg_ha(scene, which))


def _tallest(scene: Scene, which: list[int]) -> tuple[str | None, float]:
    """Return the highest open paddock without trees, and its height; of equals the first of the farm."""
    bare = [i for i in which if not treed(scene.farm, scene.herbage.paddocks[i])]
    if not bare:
        return None, 0.0
    heights = _heights_cm(scene, bare, _middle_kg_ha(scene, bare))
    best = max(range(len(bare)), key=lambda n: (round(heights[n], 6), -n))
    return scene.herbage.paddocks[bare[best]], heights[best]


def _too_early(
    scene: Scene, events: Sequence[Event], which: list[int], starts: tuple[Start, ...]
) -> tuple[TooEarly, ...]:
    """Return the planned moves from house or yard to grass that come before the height in every growth.

    A day that is not foreseen in every growth is not judged.
    """
    known = [s.day for s in starts if s.day is not None]
    early = [day for day in _turned_out(scene, events) if not known or day < min(known)]
    return tuple(
        _on(scene, day, which, starts) for day in early if starts and all(day <= s.seen_to for s in starts)
    )


def _turned_out(scene: Scene, events: Sequence[Event]) -> list[date]:
    """Return the days on which a mob is planned to go from off the grass onto it, in order, each once."""
    place = {mob.id: mob.place for mob in scene.mobs}
    days = set()
    for event in sorted(events, key=lambda e: e.observed.start):
        day = scene.local(event.observed.start).date()
        if not event.planned or not isinstance(event.body, Moved) or day < scene.days[0]:
            continue
        before, place[event.subject] = place.get(event.subject), event.body.to
        if event.body.to in scene.paddocks and before not in scene.paddocks:
            days.add(day)
    return sorted(days)


def _on(scene: Scene, day: date, which: list[int], starts: tuple[Start, ...]) -> TooEarly:
    """Return a day that is too early with the lowest and highest mean height of all growths then."""
    ahead = (day - scene.days[0]).days
    grown = [_mean_of_cm(scene, which, mass_ahead(scene, s.case, which)[ahead]) for s in starts]
    return TooEarly(day, min(grown), max(grown))


def _first_of_last_year(scene: Scene) -> str | None:
    """Return the paddock that was grazed first in the year before, or None if the record has none."""
    year = scene.days[0].year - 1
    stays = [s for s in scene.state.stays if not s.planned and s.place in scene.paddocks]
    then = [s for s in stays if scene.local(s.begin.start).year == year]
    return min(then, key=lambda s: s.begin.start).place if then else None
