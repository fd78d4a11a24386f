"""The evidence itself: stems one by one, planting and receipts, management, photos, owner, risks."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from browseline.chain.desk.kept import entry_words
from browseline.chain.desk.lookup import Names
from browseline.chain.look import Picture
from browseline.chain.years_ahead import meant_of
from browseline.events import (
    Event,
    Felled,
    Guarded,
    Looked,
    Lost,
    Photographed,
    Planted,
    Pruned,
    Spent,
    Thinned,
    TreeMeasured,
)
from browseline.farm import tree_mass
from browseline.farm.names import label
from browseline.farm.records import Farm, Planting
from browseline.figures import Figure, Origin, typed
from browseline.ledger.account import dated, happened
from browseline.ledger.carbon import CarbonBook
from browseline.ledger.carbon_page import counts
from browseline.ledger.facts import counted
from browseline.ledger.losses import Survival, survival
from browseline.papers.section_form import Section
from browseline.units import plain
from browseline.words import linked, list_words, say

MANAGED = (Planted, Lost, Guarded, Pruned, Thinned, Felled)
TAKEN_OUT = ("thin", "fell")
MOST_ENTRIES = 60
STEM_HEAD = ("number", "planting", "row", "tree", "typed", "cm", "kg", "day", "who")


@dataclass(frozen=True, slots=True)
class Called:
    """What entries call things by."""

    farm: Farm
    names: Names


def claimed_plantings(picture: Picture, book: CarbonBook) -> tuple[Planting, ...]:
    """Return the plantings of which stems were measured, in the order of the farm's file."""
    known = {stock.planting for stock in book.stocks}
    return tuple(p for p in picture.farm.plantings if p.id in known)


def stem_section(picture: Picture, book: CarbonBook) -> Section:
    """Return every stem that the claim stands on: tree, row, thickness as typed, day, who."""
    stands = {planting.id: planting for planting in claimed_plantings(picture, book)}
    rows = tuple(
        _stem_row(picture, stands[event.subject], number, event, event.body)
        for number, event in enumerate(_stems(picture, book), start=1)
        if isinstance(event.body, TreeMeasured)
    )
    found = [(s.name, *counts(s)) for s in book.stocks]
    lines = [say("evidence.stems.of", planting=name, measured=n, trees=trees) for name, trees, n in found]
    lines.append(say("evidence.stems.picked"))
    if any(not row[3] for row in rows):
        lines.append(say("evidence.stems.unnamed"))
    head = tuple(say(f"evidence.stems.head.{column}") for column in STEM_HEAD)
    return Section("stems", say("evidence.head.stems"), tuple(lines), head, rows)


def _stems(picture: Picture, book: CarbonBook) -> tuple[Event, ...]:
    """Return the measures that count, planting by planting: of the newest year, the last of a named tree."""
    newest = {(stock.planting, stock.stems.year) for stock in book.stocks}
    found: dict[tuple[str, str], Event] = {}
    for event in happened(picture.events, picture.now):
        body, year = event.body, picture.scene.local(event.observed.end).year
        if isinstance(body, TreeMeasured) and body.dbh is not None and (event.subject, year) in newest:
            found[event.subject, body.tree or event.id] = event
    order = {planting.id: place for place, planting in enumerate(picture.farm.plantings)}
    return tuple(sorted(found.values(), key=lambda event: order[event.subject]))


def _stem_row(
    picture: Picture, planting: Planting, number: int, event: Event, body: TreeMeasured
) -> tuple[str, ...]:
    day, text = picture.scene.local(event.observed.end).date(), body.dbh.text if body.dbh else ""
    value = body.dbh.to("cm") if body.dbh else 0.0
    stem = typed("stem", value, "cm", text, about=f"{event.subject} {number}", as_of=day, who=event.who)
    line = tree_mass.equation_of(picture.farm, planting)
    kilograms = float(tree_mass.mass_kg(line, np.array(value)))
    formula = f"exp({line['b0']} + {line['b1']} ln {plain(value, 2)})"
    origins = (tree_mass.origin(line),)
    mass = Figure("tree_mass", kilograms, "kg", None, None, origins, formula, (stem,), about=stem.about)
    return (
        linked(f"{number}", stem), planting.name, body.row, body.tree, linked(text, stem),
        linked(plain(value, 1), stem), linked(plain(kilograms, 1), mass), dated(day), event.who,
    )  # fmt: skip


def planting_section(picture: Picture, plantings: Iterable[Planting]) -> Section:
    """Return when and what was planted, how many live, and the receipts on record."""
    lines: list[str] = []
    alive = {one.planting: one for one in survival(picture.scene)}
    kept = tuple(plantings)
    for planting in kept:
        lines += _planted_words(planting, alive.get(planting.id))
    spent = [
        e for e in happened(picture.events, picture.now) if isinstance(e.body, Spent) and _names(e, kept)
    ]
    called = Called(picture.farm, Names(picture.farm, picture.state))
    lines += [
        say(
            "evidence.planted.receipt",
            day=_day(picture, event),
            entry=_entry(called, event),
        )
        for event in spent
    ]
    if not spent:
        lines.append(say("evidence.planted.no_receipt"))
    return Section("planted", say("evidence.head.planted"), tuple(lines))


def _names(event: Event, plantings: tuple[Planting, ...]) -> bool:
    """Return whether what money went for names a planting or its species."""
    said = event.body.what.casefold() if isinstance(event.body, Spent) else ""
    names = [p.name.casefold() for p in plantings]
    spoken = set(re.findall(r"\w+", said))
    kinds = [set(re.findall(r"\w+", label("species", p.species).casefold())) for p in plantings]
    return any(name in said for name in names) or any(kind and kind <= spoken for kind in kinds)


def _planted_words(planting: Planting, found: Survival | None) -> Iterator[str]:
    species, name = label("species", planting.species), planting.name
    year = say("evidence.unknown")
    if planting.planted is not None:
        year = linked(
            f"{planting.planted}",
            typed("planted_year", planting.planted, "yr", f"{planting.planted}", about=name),
        )
    yield say("evidence.planted.of", planting=name, species=species, year=year)
    kinds = dict.fromkeys([*planting.cultivars, *(r.cultivar for r in planting.rows if r.cultivar)])
    stocks = dict.fromkeys([planting.rootstock, *(r.rootstock for r in planting.rows)])
    known = [stock for stock in stocks if stock]
    if kinds:
        yield say("evidence.planted.cultivars", planting=name, cultivars=list_words(list(kinds)))
    if known:
        yield say("evidence.planted.rootstock", planting=name, rootstock=list_words(known))
    if found is not None and found.stood_figure is not None and found.alive_figure is not None:
        yield say(
            "evidence.planted.alive", planting=name, stood=linked(f"{found.stood}", found.stood_figure),
            alive=linked(f"{found.alive}", found.alive_figure),
        )  # fmt: skip


def management_section(picture: Picture, plantings: Iterable[Planting]) -> Section:
    """Return what was done to the trees and seen of them, in order of time."""
    ids = {p.id for p in plantings}
    called = Called(picture.farm, Names(picture.farm, picture.state))
    found = [e for e in happened(picture.events, picture.now) if _about(e, ids)]
    rows = tuple((_day(picture, event), _entry(called, event), event.who) for event in found[-MOST_ENTRIES:])
    older = len(found) - MOST_ENTRIES
    lines = (say("evidence.management.older", count=older),) if older > 0 else ()
    if not rows:
        lines = (say("evidence.management.none"),)
    head = tuple(say(f"evidence.management.head.{column}") for column in ("day", "what", "who"))
    return Section("management", say("evidence.head.management"), lines, head if rows else (), rows)


def _entry(called: Called, event: Event) -> str:
    """Return an entry in words, linked to the record that holds it."""
    return linked(entry_words(called, event, ident=False), Origin("farm", "record", who=event.who))


def _day(picture: Picture, event: Event) -> str:
    return dated(picture.scene.local(event.observed.end).date())


def _about(event: Event, ids: set[str]) -> bool:
    if isinstance(event.body, Looked):
        return event.body.planting in ids
    return event.subject in ids and isinstance(event.body, MANAGED)


def photo_section(picture: Picture, plantings: Iterable[Planting]) -> Section:
    """Return the photos of the ground of the trees by day, words and the hash that names the file."""
    kept = tuple(plantings)
    places = {p.paddock for p in kept if p.paddock} | {p.id for p in kept}
    nowhere = any(p.paddock is None for p in kept)
    rows = [
        (_day(picture, e), _called(picture, e.subject), e.body.what, e.body.file)
        for e in happened(picture.events, picture.now)
        if isinstance(e.body, Photographed) and (nowhere or e.subject in places)
    ]  # fmt: skip
    head = tuple(say(f"evidence.photos.head.{c}") for c in ("day", "where", "what", "file")) if rows else ()
    lines = (say("evidence.photos.how"),) if rows else (say("evidence.photos.none"),)
    return Section("photos", say("evidence.head.photos"), lines, head, tuple(rows))


def _called(picture: Picture, ident: str) -> str:
    paddock = picture.farm.paddock(ident)
    return paddock.name if paddock is not None else ident


def owner_section(picture: Picture) -> Section:
    """Return who owns the trees, leases, what was already paid for, contracts that are signed."""
    farm, rules = picture.farm, picture.farm.carbon
    lines = [say("carbon.owner", owner=rules.owner) if rules.owner else say("evidence.owner.unknown")]
    lines.append(say("carbon.paid", paid=rules.paid) if rules.paid else say("evidence.paid.unknown"))
    lines += [
        say("evidence.owner.lease", what=p.what, first=dated(p.from_day), last=dated(p.last_day))
        for p in farm.promises if p.kind == "lease"
    ]  # fmt: skip
    lines += [
        say("evidence.owner.signed", name=line.name, day=dated(line.signed))
        for line in (farm.money.lines if farm.money else ()) if line.kind == "carbon" and line.signed
    ]  # fmt: skip
    lines.append(say("evidence.owner.twice"))
    return Section("owner", say("evidence.head.owner"), tuple(lines))


def undo_section(picture: Picture, plantings: Iterable[Planting]) -> Section:
    """Return what could undo the carbon, and what has gone so far by cause."""
    ids = {p.id for p in plantings}
    lines = [say("carbon.could_kill"), say("evidence.undo.book")]
    for one in (s for s in survival(picture.scene) if s.planting in ids):
        if not one.lost:
            lines.append(say("evidence.undo.none", planting=one.name))
        lines += [_lost_words(one, cause, trees) for cause, trees in one.lost]
    lines += meant_words(meant_of(picture), ids)
    return Section("undo", say("evidence.head.undo"), tuple(lines))


def meant_words(farm: Farm, plantings: Collection[str]) -> Iterator[str]:
    """Yield what the farm itself means to take out: a buyer should hear it from the farm."""
    names = {p.id: p.name for p in farm.plantings}
    for work in sorted(farm.future.works, key=lambda w: (w.year, w.planting)):
        if work.planting in plantings and work.kind in TAKEN_OUT:
            origins = (Origin("farm", basis="farm"),)
            year = Figure("work_year", float(work.year), "yr", origins=origins, about=names[work.planting])
            told = linked(f"{work.year}", year)
            yield say(f"evidence.undo.{work.kind}", planting=names[work.planting], year=told)


def _lost_words(one: Survival, cause: str, trees: int) -> str:
    lost: Figure = counted("trees_lost", trees, "trees", about=f"{one.planting} {cause}".strip())
    return say(
        "evidence.undo.lost", planting=one.name, trees=linked(f"{trees}", lost),
        cause=cause or say("evidence.unknown"),
    )  # fmt: skip
