"""What the record itself plans for the years ahead, in sentences: trades, cuts, work on trees."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from browseline.decades.entered import day_of, hay_cuts, no_weight, with_entries
from browseline.decades.form import Projection
from browseline.decades.herd import is_young
from browseline.decades.start import Start
from browseline.events import Bought, Cut, Event, Sold
from browseline.farm.future import PlannedWork
from browseline.farm.herd_words import class_words
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, entered
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say

OWN = Origin("farm", "record", basis="farm")


def entered_words(start: Start, ahead: Projection) -> Iterator[str]:
    """Yield what planned entries change in the years ahead, and which of them change nothing."""
    for event in start.coming:
        if isinstance(event.body, (Sold, Bought)):
            yield _trade(start, ahead, event, event.body)
    yield from _cuts(start, ahead)
    yield from _works(start)
    unknown = no_weight(start)
    if unknown:
        yield say("decades.entered.no_weight", names=list_words(linked(name, OWN) for name in unknown))


def meant_farm(farm: Farm, ahead: Projection) -> Farm:
    """Return a farm that means to do what its file and its record say of the years ahead."""
    return replace(farm, future=ahead.future)


def _trade(start: Start, ahead: Projection, event: Event, body: Sold | Bought) -> str:
    day = day_of(start, event)
    head = entered(
        "head_traded", "head", [(float(body.head), f"{body.head}", day, event.who)], about=body.klass
    )
    told = {
        "head": linked(f"{body.head}", head), "klass": class_words(body.klass, body.head),
        "day": linked(f"{day_words(day)} {day.year}", head),
    }  # fmt: skip
    grown = any(
        mob == event.subject and klass.casefold() == body.klass.casefold() and not is_young(kind, klass)
        for mob, kind, klass in ahead.feed.classes
    )
    deed = "sold" if isinstance(body, Sold) else "bought"
    return say(f"decades.entered.{deed}" if grown else f"decades.entered.{deed}_no_head", **told)


def _cuts(start: Start, ahead: Projection) -> Iterator[str]:
    """Yield the cuts for hay that entries plan, with their area; or that no hay is counted here."""
    own = ahead.feed.own
    makes = own is not None and own.makes
    days = [
        (e, day_of(start, e)) for e in start.coming if isinstance(e.body, Cut) and e.body.purpose == "hay"
    ]
    for event, day in days:
        area = sum(hay_cuts(replace(start, coming=(event,))).values())
        paddock = start.farm.paddock(event.subject)
        if paddock is None:
            continue
        figure = entered("area_to_cut", "ha", [(area, event.body.value().get("area", ""), day, event.who)],
                         about=paddock.name)  # fmt: skip
        key = "cut" if makes else "cut_not"
        yield say(
            f"decades.entered.{key}", area=linked(shown(area, "area", start.farm.units, 1), figure),
            paddock=paddock.name, day=linked(f"{day_words(day)} {day.year}", figure),
        )  # fmt: skip


def _works(start: Start) -> Iterator[str]:
    """Yield the work on trees that only entries plan."""
    known = {work.id for work in start.farm.future.works}
    for work in with_entries(start).farm.future.works:
        if work.id not in known:
            yield _work(start.farm, work)


def _work(farm: Farm, work: PlannedWork) -> str:
    name = next(p.name for p in farm.plantings if p.id == work.planting)
    year = Figure("work_year", float(work.year), "yr", origins=(OWN,), about=name)
    told = {"planting": name, "year": linked(f"{work.year}", year)}
    if work.trees is None:
        return say(f"decades.entered.{work.kind}_all", **told)
    trees = Figure("trees_meant", float(work.trees), "trees", origins=(OWN,), about=f"{name} {work.year}")
    return say(f"decades.entered.{work.kind}", trees=linked(f"{work.trees}", trees), **told)
