"""Harvest ahead: last grazing row by row, how much ground leaves the rotation, and the usual cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from browseline import tables
from browseline.chain.gates import left_to
from browseline.farm.records import Planting
from browseline.figures import Figure
from browseline.ledger.facts import area_of_all, quoted
from browseline.ledger.harvest_log import last_grazed
from browseline.limits import Scene
from browseline.limits.harvest import ShutDate, reopens, shut_dates
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say

AHEAD_D = 45
RULE = "produce"
OAK = "oak"


@dataclass(frozen=True, slots=True)
class HarvestRow:
    """A line of the harvest log: a planting and its rows, its last day of grazing by rule and in fact.

    ``left`` are the days left to the last grazing [d]. ``last_grazed`` is None where the record has no stay;
    ``covered`` is None where the rule was not read.
    """

    planting: str
    name: str
    species: str
    paddock: str
    first_drop: date
    last_grazing: date
    left: Figure
    interval: Figure
    rule: str
    last_grazed: date | None
    grazed_now: bool
    covered: Figure | None
    rows: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Closing:
    """Ground that leaves the rotation on one day: its paddocks, its area and its share of all. [ha, 1]"""

    day: date
    paddocks: tuple[str, ...]
    area: Figure
    share: Figure


@dataclass(frozen=True, slots=True)
class HarvestAdvice:
    """The harvests ahead: the log, what closes when, and the sentences."""

    schema: str
    rows: tuple[HarvestRow, ...]
    closings: tuple[Closing, ...]
    sentences: tuple[str, ...]


def harvest_advice(scene: Scene) -> HarvestAdvice | None:
    """Return the harvests whose last grazing is near or past and whose ground is not open again."""
    dates = [s for s in shut_dates(scene) if _matters(scene, s)]
    return _advice(scene, dates) if dates else None


def every_harvest(scene: Scene) -> HarvestAdvice:
    """Return the harvests of all plantings that are picked, far and past ones too."""
    return _advice(scene, shut_dates(scene))


def _advice(scene: Scene, dates: Sequence[ShutDate]) -> HarvestAdvice:
    rows = tuple(_row(scene, shut) for shut in dates)
    closings = tuple(_closings(scene, dates))
    told = tuple(_told(scene, rows, closings)) or (say("harvest.none"),)
    return HarvestAdvice("browseline/harvest/1", rows, closings, told)


def _matters(scene: Scene, shut: ShutDate) -> bool:
    again, today = reopens(scene, shut), scene.days[0]
    return (shut.last_grazing - today).days <= AHEAD_D and (again is None or today < again)


def covered(species: str) -> Figure | None:
    """Return whether the produce rule covers a crop (1) or exempts it (0); None where it was not read."""
    crop = species.partition("_")[0]
    if crop not in tables.applies(RULE, "covered_produce"):
        return None
    return tables.row(RULE, "covered_produce", crop).figure("covered_produce", species)


def _row(scene: Scene, shut: ShutDate) -> HarvestRow:
    planting, paddock = shut.planting, shut.planting.paddock or ""
    stays = [s for s in scene.state.stays if paddock in scene.ground(s.place) and not s.planned]
    return HarvestRow(
        planting.id, planting.name, planting.species, paddock, shut.first_drop, shut.last_grazing,
        left_to(scene, shut), shut.interval, shut.rule, last_grazed(scene, paddock, scene.now),
        any(s.end is None for s in stays), covered(planting.species),
        tuple(row.name for row in planting.rows),
    )  # fmt: skip


def _closings(scene: Scene, dates: Sequence[ShutDate]) -> Iterator[Closing]:
    whole = area_of_all(scene.farm.paddocks, scene.farm.name, grazed=False)
    for day in sorted({s.last_grazing for s in dates}):
        shut = tuple(dict.fromkeys(s.planting.paddock or "" for s in dates if s.last_grazing == day))
        found = [p for p in (scene.paddock(name) for name in shut) if p is not None]
        about = " ".join(shut)
        area = area_of_all(found, about, grazed=False)
        share = (area.value or 0.0) / whole.value if whole.value else None
        formula = f"{area.value:.4g} ha ÷ {whole.value:.4g} ha"
        parts = (area, whole)
        closed = Figure("closed_share", share, "1", formula=formula, parts=parts, about=about)
        yield Closing(day, shut, area, closed)


def _told(scene: Scene, rows: Sequence[HarvestRow], closings: Sequence[Closing]) -> Iterator[str]:
    for closing in closings:
        yield _closing_words(scene, rows, closing)
    for row in rows:
        yield _log_words(scene, row)
    if _near(scene, rows):
        yield from _cautions(scene, rows)


def _near(scene: Scene, rows: Sequence[HarvestRow]) -> bool:
    """Return whether a last grazing or a harvest is to come soon: then its rules and cautions are told."""
    days = [(day - scene.days[0]).days for row in rows for day in (row.last_grazing, row.first_drop)]
    return any(0 <= ahead <= AHEAD_D for ahead in days) or any(
        row.first_drop <= scene.days[0] for row in rows
    )


def _cautions(scene: Scene, rows: Sequence[HarvestRow]) -> Iterator[str]:
    yield say("harvest.guidance", rule=list_words(dict.fromkeys(row.rule for row in rows)))
    yield from _rule_words(rows)
    yield say("harvest.dropped")
    yield say("harvest.gather")
    yield say("harvest.behind")
    yield from (say("harvest.acorns", planting=p.name) for p in _oaks(scene.farm.plantings))


def _closing_words(scene: Scene, rows: Sequence[HarvestRow], closing: Closing) -> str:
    one = next(row for row in rows if row.last_grazing == closing.day)
    whole = closing.share.parts[-1]
    names = (found.name for p in closing.paddocks if (found := scene.paddock(p)) is not None)
    key = "harvest.closing" if closing.day > scene.days[0] else "harvest.closed"
    return say(
        key, paddocks=list_words(names), day=linked(day_words(closing.day), one.left),
        days=linked(f"{one.interval.value:.0f}", one.interval), drop=day_words(one.first_drop),
        area=_area(scene, closing.area), whole=_area(scene, whole),
        share=linked(f"{100 * (closing.share.value or 0.0):.1f}", closing.share),
    )  # fmt: skip


def _area(scene: Scene, area: Figure) -> str:
    return linked(shown(area.value or 0.0, "area", scene.farm.units), area)


def _log_words(scene: Scene, row: HarvestRow) -> str:
    key = "never" if row.last_grazed is None else "now" if row.grazed_now else "on"
    day = day_words(row.last_grazed) if row.last_grazed is not None else ""
    name = say("harvest.log.rows", planting=row.name, rows=list_words(row.rows)) if row.rows else row.name
    if key == "on":
        return say("harvest.log.on", planting=name, day=day)
    return say(f"harvest.log.{key}", planting=name)


def _rule_words(rows: Sequence[HarvestRow]) -> Iterator[str]:
    """Yield what the rule says of every nut that it was read for, so that no nut is taken for another."""
    crops = tables.applies(RULE, "covered_produce")
    by_kind: dict[bool, list[str]] = {True: [], False: []}
    for crop in crops:
        by_kind[bool(tables.row(RULE, "covered_produce", crop).value)].append(say(f"harvest.crop.{crop}"))
    row = tables.row(RULE, "covered_produce", crops[0])
    where = quoted(row, say("harvest.code", where=row.locator))
    yield say(
        "harvest.rule", covered=list_words(by_kind[True]), exempt=list_words(by_kind[False]), where=where
    )
    yield from (say("harvest.rule_not_read", planting=row.name) for row in rows if row.covered is None)
    yield say("harvest.decides")


def _oaks(plantings: Iterable[Planting]) -> list[Planting]:
    return [p for p in plantings if p.species.partition("_")[0] == OAK]
