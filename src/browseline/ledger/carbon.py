"""The carbon book: by year, line and gas; stocks of trees beside it. Nothing is netted against anything."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from browseline.events import Event
from browseline.farm import factors
from browseline.farm.beast_gases import GasLine, animal_lines, enteric_figure
from browseline.farm.records import Farm
from browseline.figures import Figure
from browseline.ledger.account import happened
from browseline.ledger.beasts_carbon import present, standing
from browseline.ledger.campaigns import campaigns
from browseline.ledger.carbon_entries import AIR, carbon_entries
from browseline.ledger.facts import RECORD
from browseline.ledger.inputs_carbon import fuel_lines, outside, spread_lines
from browseline.ledger.postings import Entry
from browseline.ledger.soil_carbon import SoilChange, SoilSample, changes, samples
from browseline.ledger.tree_carbon import Change, Stems, TreeStock, stock
from browseline.ledger.tree_carbon import changes as tree_changes
from browseline.limits import Scene
from browseline.units import factor, plain

YOUNG = ("lamb", "kid", "calf", "calves", "piglet", "weaner", "chick", "poult")
"""Words of classes that are under a year old."""
KG_T = factor("kg CO2e", "t CO2e")


@dataclass(frozen=True)
class BookLine:
    """A line of the book: its gas as it is, and by the metric of the page. None where there is no factor."""

    key: str
    gas: GasLine
    co2e: Figure | None


@dataclass(frozen=True)
class BookYear:
    """One year of the book, up to ``until`` where it still runs. Its lines are never added up."""

    key: str
    year: int
    until: date
    lines: tuple[BookLine, ...]


@dataclass(frozen=True)
class Flock:
    """Methane that the animals of a kind that stand here would belch in a year: grown ones, and young ones.

    ``by_metric`` holds the grown ones' by every metric of the page, the one in use first. [t CO2e]
    """

    kind: str
    head: Figure
    methane: Figure | None
    by_metric: tuple[tuple[str, Figure], ...]
    young: Figure | None
    young_head: Figure | None


@dataclass(frozen=True)
class CarbonBook:
    """All of it: stocks of measured trees, what would move them, years, soil, and what is in no line."""

    edition: str
    region: str
    climate: str
    metric: str
    stocks: tuple[TreeStock, ...]
    changes: tuple[tuple[str, tuple[Change, ...]], ...]
    unmeasured: tuple[str, ...]
    flocks: tuple[Flock, ...]
    years: tuple[BookYear, ...]
    samples: tuple[SoilSample, ...]
    soil: tuple[SoilChange, ...]
    outside: tuple[str, ...]
    entries: tuple[Entry, ...]


def carbon_book(scene: Scene, events: Iterable[Event]) -> CarbonBook:
    """Return the carbon book of a farm up to now."""
    farm, done = scene.farm, happened(events, scene.now)
    found = campaigns(scene, done)
    newest = {stems.planting: stems for stems in found}
    measured = [planting for planting in farm.plantings if planting.id in newest]
    soil = samples(scene, done)
    entries = carbon_entries(scene, done, found)
    return CarbonBook(
        factors.edition(farm), factors.region(farm), factors.climate(farm), factors.metric(farm),
        tuple(stock(farm, planting, newest[planting.id]) for planting in measured),
        tuple((p.name, tree_changes(farm, p, newest[p.id])) for p in measured),
        tuple(p.name for p in farm.plantings if p.id not in newest),
        _flocks(scene), _years(scene, done, entries, found), soil, changes(scene, soil), outside(done),
        entries,
    )  # fmt: skip


# ---------------------------------------------------------------- years


def _years(
    scene: Scene, done: tuple[Event, ...], entries: tuple[Entry, ...], found: tuple[Stems, ...]
) -> tuple[BookYear, ...]:
    today = scene.days[0]
    begun = [scene.farm.as_of.year, *(one.year for one in found)]
    begun += [scene.local(event.observed.end).year for event in done]
    made: list[BookYear] = []
    for year in range(min(begun), today.year + 1):
        first, last = date(year, 1, 1), date(year + 1, 1, 1)
        lines = tuple(
            BookLine(line.key, line, co2e(scene.farm, line))
            for line in _lines(scene, done, entries, first, last)
        )
        if lines:
            made.append(BookYear(f"{year}", year, min(last, today), lines))
    return tuple(made)


def _lines(
    scene: Scene, done: tuple[Event, ...], entries: tuple[Entry, ...], first: date, last: date
) -> Iterator[GasLine]:
    mine = tuple(e for e in done if first <= scene.local(e.observed.end).date() < last)
    for there in present(scene, max(first, scene.farm.as_of), last):
        yield from animal_lines(scene.farm, there)
    yield from fuel_lines(scene, mine)
    yield from spread_lines(scene, mine)
    yield from tree_lines(entries, first, last)


def tree_lines(entries: Iterable[Entry], first: date, last: date) -> Iterator[GasLine]:
    """Yield what trees took from the air (below 0) and what came back into it, by account and reason."""
    sums: dict[tuple[str, str], list[float]] = {}
    for entry in entries:
        air = next((p for p in entry.postings if p.account == AIR), None)
        if air is None or not first <= air.day < last:
            continue
        other = next(p for p in entry.postings if p.account != AIR)
        what = {"decay": "decay", "measured": "tree_growth"}.get(air.because, "felled")
        sums.setdefault((what, other.account.partition(": ")[2]), []).append(float(air.amount))
    for (what, planting), amounts in sorted(sums.items()):
        formula = " + ".join(plain(amount) for amount in amounts)
        figure = Figure(
            "tree_flow", sum(amounts), "kg CO2", origins=(RECORD,), formula=formula, about=planting
        )
        yield GasLine(f"{what} {planting}", what, planting, "CO2", figure)


def co2e(farm: Farm, line: GasLine, metric: str = "") -> Figure | None:
    """Return a line by a metric, the page's unless another is named; None without a factor. [kg CO2e]"""
    named, amount = metric or factors.metric(farm), line.amount
    if amount is None or amount.value is None:
        return None
    if line.gas == "CO2":
        return Figure(
            "warming", amount.value, "kg CO2e", amount.low, amount.high, parts=(amount,), about=amount.about,
            formula=plain(amount.value, 2),
        )  # fmt: skip
    row = factors.warming(named, line.gas, line.fossil)
    if row is None:
        return None
    times = row.middle()
    low, high = (end * times if end is not None else None for end in (amount.low, amount.high))
    formula = f"{amount.value:.5g} × {times:g}"
    parts = (amount, row.figure(row.key, named))
    return Figure("warming", amount.value * times, "kg CO2e", low, high, formula=formula, parts=parts,
                  about=f"{amount.about}, {named}")  # fmt: skip


# ---------------------------------------------------------------- the animals as they stand


def is_young(klass: str) -> bool:
    """Return whether a class is under a year old by its words."""
    words = klass.casefold()
    return any(word in words for word in YOUNG)


def _flocks(scene: Scene) -> tuple[Flock, ...]:
    farm, there = scene.farm, standing(scene)
    made = []
    for kind in dict.fromkeys(one.kind for one in there):
        grown = [one for one in there if one.kind == kind and not is_young(one.klass)]
        young = [one for one in there if one.kind == kind and is_young(one.klass)]
        if not grown:
            continue
        head = _together("head_here", [one.head_years for one in grown], "head", kind)
        gas = _all_known("methane_belched", [enteric_figure(farm, one) for one in grown], "kg CH4", kind)
        by_metric = []
        for name in dict.fromkeys((factors.metric(farm), *factors.BESIDE)):
            warm = co2e(farm, GasLine(kind, "enteric", kind, "CH4", gas), name)
            if warm is not None:
                by_metric.append((name, _tonnes(warm)))
        young_gas = _all_known(
            "methane_belched", [enteric_figure(farm, one) for one in young], "kg CH4", kind
        )
        young_warm = (
            co2e(farm, GasLine(kind, "enteric", f"{kind} young", "CH4", young_gas)) if young else None
        )
        many = (
            _together("head_here", [one.head_years for one in young], "head", f"{kind} young")
            if young
            else None
        )
        made.append(
            Flock(kind, head, gas, tuple(by_metric), _tonnes(young_warm) if young_warm else None, many)
        )
    return tuple(made)


def _tonnes(figure: Figure) -> Figure:
    low, high = (end * KG_T if end is not None else None for end in (figure.low, figure.high))
    return Figure(
        "warming", (figure.value or 0.0) * KG_T, "t CO2e", low, high, parts=(figure,), about=figure.about,
        formula=f"{plain(figure.value or 0.0)} ÷ 1000",
    )  # fmt: skip


def _together(name: str, parts: list[Figure], unit: str, about: str) -> Figure:
    formula = " + ".join(plain(part.value or 0.0) for part in parts)
    ends = [
        sum(end for end in found if end is not None)
        if all(end is not None for end in found) and found
        else None
        for found in ([part.low for part in parts], [part.high for part in parts])
    ]
    value = sum(part.value or 0.0 for part in parts)
    return Figure(name, value, unit, ends[0], ends[1], formula=formula, parts=tuple(parts), about=about)


def _all_known(name: str, parts: list[Figure | None], unit: str, about: str) -> Figure | None:
    """Return figures together; None where one of them has no factor. One factor is shared: ranges add up."""
    found = [part for part in parts if part is not None]
    return _together(name, found, unit, about) if found and len(found) == len(parts) else None
