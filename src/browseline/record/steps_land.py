"""What happens to land, store and trees: walked, looked, shut, opened, netted, rain, hay, losses."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC

from browseline.events import (
    Cut,
    Event,
    Fed,
    Felled,
    Forecast,
    Guarded,
    Looked,
    Lost,
    Netted,
    Opened,
    Planted,
    Pruned,
    Rained,
    Shut,
    Spent,
    Stormed,
    Thinned,
    TreeMeasured,
    Walked,
)  # fmt: skip
from browseline.record.state import (
    AnimalLook,
    BalesMoved,
    Cleared,
    CutDone,
    Disagreement,
    GroundLook,
    GuardState,
    HayState,
    HeightRead,
    LeafLook,
    RowCount,
    ShutState,
    TreeLook,
    TreesCut,
    TreeSize,
    TypedGrowth,
)  # fmt: skip
from browseline.record.trees_left import ask_beyond
from browseline.record.working import Working, step
from browseline.units import NotAQuantity, parse
from browseline.words import say

BOUGHT = "bought"
"""The lot of bought bales that no lot was named for."""
FROST = "frost"
"""The word that makes a storm entry a frost night."""


@step(Walked)
def walk(work: Working, event: Event, body: Walked) -> None:
    """Keep a height."""
    paddock, part = work.place(event, event.subject, event.part)
    work.heights.append(
        HeightRead(paddock, event.observed, body.height, body.density, body.readings, body.mass_per_height,
                   event.id, part, event.who)
    )  # fmt: skip


@step(Looked)
def look(work: Working, event: Event, body: Looked) -> None:
    """Keep what was seen of trees, where counted, of ground and animals, and of a danger that is gone.

    Ground where somebody looked for poisonous plants and found them is shut until a look finds it clear.
    """
    paddock, _ = work.place(event, event.subject, event.part)
    if body.seen is not None:
        work.looks.append(
            TreeLook(paddock, body.planting, event.observed, body.seen, body.bitten, body.barked, event.id)
        )
    if body.bare is not None or body.ruts or body.roots or body.at == "ground":
        work.ground.append(GroundLook(paddock, event.observed, body.bare, body.ruts, body.roots, event.id))
    if body.leaf is not None:
        work.leaf.append(LeafLook(paddock, event.observed, body.leaf, event.id))
    if body.clear:
        cleared = work.place(event, event.subject, event.part)[1] or paddock
        work.cleared.append(Cleared(cleared, body.planting, event.observed, event.id))
        found = work.plants_found
        work.shut = [s for s in work.shut if not (s.event in found and s.paddock in (cleared, paddock))]
    elif body.clear is False and body.at == "plants":
        _plants_found(work, event)
    if body.animal or body.condition or body.eyelid:
        work.animals.append(
            AnimalLook(paddock, body.animal, event.observed, body.condition, body.eyelid, event.id)
        )


def _plants_found(work: Working, event: Event) -> None:
    paddock, part = work.place(event, event.subject, event.part)
    why, until = say("record.plants.found"), say("record.plants.until")
    work.shut.append(ShutState(part or paddock, why, event.observed, until, None, event.who, event.id))
    work.plants_found.add(event.id)


@step(Guarded)
def guard(work: Working, event: Event, body: Guarded) -> None:
    """Keep the guards that were put on, mended or taken off."""
    work.guards.append(GuardState(event.subject, body.trees, body.guard, event.observed))


@step(TreeMeasured)
def measure(work: Working, event: Event, body: TreeMeasured) -> None:
    """Keep what was measured of a tree."""
    work.tree_sizes.append(
        TreeSize(event.subject, body.tree, event.observed, body.dbh, body.height, body.leader, event.id,
                 body.crown, body.row)
    )  # fmt: skip


@step(Planted)
def plant(work: Working, event: Event, body: Planted) -> None:
    """Keep trees planted into a planting."""
    work.planted.append((event.subject, body.trees, event.observed))
    if body.row:
        work.row_counts.append(RowCount(event.subject, body.row, event.observed, planted=body.trees))


@step(Shut)
def shut(work: Working, event: Event, body: Shut) -> None:
    """Shut a paddock, or a part of it, until a day or a condition."""
    paddock, part = work.place(event, event.subject, event.part)
    work.shut.append(
        ShutState(
            part or paddock, body.because, event.observed, body.until, body.until_day, event.who, event.id
        )
    )


@step(Opened)
def open_(work: Working, event: Event, body: Opened) -> None:
    """Open a paddock. Where the condition that is met is named, only what waited for it ends.

    Else hay that lies there is off as well.
    """
    paddock, part = work.place(event, event.subject, event.part)
    here = [s for s in work.shut if s.paddock == (part or paddock)]
    met = [s for s in here if body.met and s.until.casefold() == body.met.casefold()]
    work.shut = [s for s in work.shut if s not in (met or here)]
    if not met:
        _clear_of_hay(work, event, paddock, part)


def _clear_of_hay(work: Working, event: Event, paddock: str, part: str) -> None:
    """Keep that hay cut on a paddock up to now is off: on a part of it, or on all of it."""
    for n, done in enumerate(work.cuts):
        there = done.paddock == paddock and part in ("", done.part)
        if there and done.at.start <= event.observed.end:
            work.cuts[n] = replace(done, off=True)


@step(Netted)
def net(work: Working, event: Event, body: Netted) -> None:
    """Split a paddock into parts that have clocks of their own from now on."""
    work.nets[event.subject] = event
    for index, name in enumerate(body.parts):
        part = name if name.startswith(f"{event.subject}/") else f"{event.subject}/{name}"
        work.parents[part] = event.subject
        typed = body.areas[index] if index < len(body.areas) else ""
        try:
            work.part_areas[part] = parse(typed, "area")
        except NotAQuantity:
            work.ask(
                "unreadable", event.subject, event, part, kind=event.kind, text=f"{part} {typed}".strip()
            )


@step(Rained)
def rain(work: Working, event: Event, body: Rained) -> None:
    """Keep the day's rain. Two depths for one day are listed; the later recorded stands."""
    day = work.day(event.observed.end)
    other, depth = work.rain.get(day, (event, body.depth))
    standing = max(event, other, key=lambda e: (e.recorded.astimezone(UTC), e.id))
    work.rain[day] = (standing, body.depth if standing is event else depth)
    if (body.depth.value, body.depth.unit) != (depth.value, depth.unit):
        facts = (("day", str(day)), ("first", str(depth)), ("then", str(body.depth)))
        work.disagreements.append(
            Disagreement("rain", event.subject, (other.id, event.id), standing.id, facts)
        )


@step(Forecast)
def expect(work: Working, event: Event, body: Forecast) -> None:
    """Keep typed growth, for a paddock or the farm, and typed rain."""
    paddock = event.subject if work.farm.paddock(event.subject) is not None else ""
    for growth in (body.growth, body.height):
        if growth is not None:
            work.growth.append(TypedGrowth(event.observed, body.until, paddock, growth, event.id, event.who))
    if body.rain is not None:
        work.rain_ahead.append((work.day(event.observed.end), body.until, body.rain))


@step(Stormed)
def storm(work: Working, event: Event, body: Stormed) -> None:
    """Keep when it blew: pinned paddocks are looked at before any move. A frost brings no limbs down."""
    frost = FROST in body.what.casefold()
    (work.frosts if frost else work.storms).append(event.observed)


@step(Pruned)
@step(Thinned)
@step(Felled)
def cut_trees(work: Working, event: Event, body: Pruned | Thinned | Felled) -> None:
    """Keep how many were cut, or to what height, and that brush may lie where stock reach it."""
    if not isinstance(body, Pruned):
        ask_beyond(work, event, body.trees, body.row)
    height = body.to_height if isinstance(body, Pruned) else None
    work.trees_cut.append(TreesCut(event.subject, body.kind, event.observed, body.trees, height, body.row))


@step(Lost)
def lose(work: Working, event: Event, body: Lost) -> None:
    """Keep trees found dead."""
    ask_beyond(work, event, body.trees, body.row)
    work.losses.append((event.subject, body.trees, body.cause, event.observed))
    if body.row:
        work.row_counts.append(
            RowCount(event.subject, body.row, event.observed, body.trees, cause=body.cause)
        )


@step(Cut)
def cut(work: Working, event: Event, body: Cut) -> None:
    """Keep a cut; its bales go to the lot named as its part, to the only lot, or to one of their own."""
    mow(work, event, body)
    if body.bales is not None:
        only = next(iter(work.hay)) if len(work.hay) == 1 else f"cut/{event.subject}"
        named = "" if event.part in work.parents else event.part
        _store(work, event, named or only, body.bales.to("bales"))


def mow(work: Working, event: Event, body: Cut) -> None:
    """Keep that a paddock was cut, without its bales; a part of an event that no net made is a lot of hay."""
    paddock, part = work.place(event, event.subject, event.part if event.part in work.parents else "")
    off = body.bales is not None
    work.cuts.append(CutDone(paddock, event.observed, body.purpose, body.to_height, part, off))


@step(Fed)
def feed(work: Working, event: Event, body: Fed) -> None:
    """Take bales out of the store: of the lot named, else of the first that still has some.

    What was given by weight or volume is no bale of a lot; the ledger counts it (``ledger/goods.py``).
    """
    if body.amount.dimension != "count":
        return
    bales = body.amount.to("bales")
    work.fed.append((event.observed, event.subject, bales))
    left = [lot for lot, there in work.hay.items() if there.bales > 0]
    for lot in [body.lot] if body.lot else left:
        there = work.hay[lot].bales if lot in work.hay else 0.0
        taken = min(there, bales)
        bales -= taken
        if taken:
            _store(work, event, lot, -taken)
    if bales > 0:
        work.ask(
            "hay_short", body.lot or event.subject, event, lot=body.lot, asked=body.amount, short=f"{bales:g}"
        )


@step(Spent)
def buy(work: Working, event: Event, body: Spent) -> None:
    """Put bought bales into the lot named, the only lot, or one of their own."""
    if body.bales is None or work.day(event.observed.end) < work.farm.as_of:
        return
    only = next(iter(work.hay)) if len(work.hay) == 1 else BOUGHT
    _store(work, event, body.lot or only, body.bales.to("bales"))


def _store(work: Working, event: Event, lot: str, bales: float) -> None:
    was = work.hay.get(lot)
    day = work.day(event.observed.end)
    moved = (*(was.moved if was else ()), BalesMoved(day, bales, event.kind, event.who))
    work.hay[lot] = HayState(lot, (was.bales if was else 0.0) + bales, day, moved)
