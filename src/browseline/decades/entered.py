"""What the record itself says of the years ahead: entries planned for a day to come, each once in its year.

What the farm's file says of the same thing in the same year covers the entry: only what the entries say
beyond it is added, so nothing counts twice and asking again adds nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from zoneinfo import ZoneInfo

from browseline.decades.start import Start
from browseline.events import Cut, Event, Felled, Planted, Pruned, Spread, Thinned
from browseline.farm.future import PlannedInput, PlannedWork, WorkKind
from browseline.farm.input_gases import sort_of
from browseline.record.corrections import resolve
from browseline.units import Quantity, parse

TINY_KG, KG = 1e-6, "kg"
WORKS: Mapping[type, WorkKind] = {Thinned: "thin", Felled: "fell", Pruned: "prune", Planted: "plant"}


def entries_ahead(events: Iterable[Event], now: datetime, zone: ZoneInfo) -> tuple[Event, ...]:
    """Return what the record says of the years ahead: what is planned for later, what was spread this year.

    Year 0 is a whole year: what was spread in it is in it, planned before or not.
    """
    year = now.astimezone(zone).year
    return tuple(event for event in resolve(events).standing if _counts(event, now, year, zone))


def _counts(event: Event, now: datetime, year: int, zone: ZoneInfo) -> bool:
    if event.planned:
        return event.observed.start > now
    spread = isinstance(event.body, Spread) and event.order[0] <= now
    return spread and event.observed.end.astimezone(zone).year == year


def day_of(start: Start, event: Event) -> date:
    """Return the farm's day of an entry."""
    return event.observed.end.astimezone(ZoneInfo(start.farm.time_zone)).date()


def with_entries(start: Start) -> Start:
    """Return a start whose farm means to do what its record plans too."""
    if not start.coming:
        return start
    inputs, works = tuple(_inputs(start)), tuple(_works(start))
    if not inputs and not works:
        return start
    future = start.farm.future
    more = replace(future, inputs=(*future.inputs, *inputs), works=(*future.works, *works))
    return replace(start, farm=replace(start.farm, future=more))


# ---------------------------------------------------------------- spread


def _inputs(start: Start) -> Iterator[PlannedInput]:
    """Yield what entries say is spread beyond what the farm's file says of that sort in that year."""
    for (sort, year), entries in _spread(start).items():
        same = [one for one in start.farm.future.inputs if sort_of(one.what) == sort]
        due = _weights(one.amount for one in same if one.falls(year))
        amounts = [amount for _, amount in entries]
        beyond_kg = sum(_weights(amounts)) - sum(due)
        if beyond_kg > TINY_KG:
            what = entries[0][0]
            amount = amounts[0] if len(amounts) == 1 and not due else _kilograms(beyond_kg)
            yield PlannedInput(same[0].id if same else what.casefold(), what, amount, year, entered=True)


def _weights(amounts: Iterable[Quantity]) -> list[float]:
    return [amount.to(KG) for amount in amounts]


def _kilograms(kg: float) -> Quantity:
    return parse(f"{kg:.3f}".rstrip("0").rstrip(".") + f" {KG}", "mass")


def _spread(start: Start) -> dict[tuple[str, int], list[tuple[str, Quantity]]]:
    """Return what entries spread by sort and year: its name and weight; none without a weight."""
    found: dict[tuple[str, int], list[tuple[str, Quantity]]] = {}
    for event in start.coming:
        body = event.body
        if isinstance(body, Spread) and body.amount is not None:
            key = sort_of(body.what), day_of(start, event).year
            found.setdefault(key, []).append((body.what, body.amount))
    return found


def no_weight(start: Start) -> tuple[str, ...]:
    """Return what is to be spread by an entry without a weight: it is in no sum."""
    bodies = [event.body for event in start.coming]
    return tuple(dict.fromkeys(b.what for b in bodies if isinstance(b, Spread) and b.amount is None))


# ---------------------------------------------------------------- trees


def _works(start: Start) -> Iterator[PlannedWork]:
    """Yield work on trees that entries plan beyond what the farm's file means to do that year of its kind."""
    for (planting, kind, year), bodies in _tree_work(start).items():
        same = [w for w in start.farm.future.works if (w.planting, w.kind, w.year) == (planting, kind, year)]
        left = _beyond([body.trees for body in bodies], [work.trees for work in same])
        if left != 0:
            yield PlannedWork(f"{planting} {kind} {year}", planting, kind, year, left, _height(bodies))


def _height(bodies: Sequence[object]) -> Quantity | None:
    return next((body.to_height for body in bodies if isinstance(body, Pruned)), None)


def _beyond(entered: Sequence[int | None], typed: Sequence[int | None]) -> int | None:
    """Return how many trees entries work on beyond those typed, None for every tree; 0 is nothing more."""
    if None in typed or (typed and None in entered):
        return 0
    if None in entered:
        return None
    return max(sum(n or 0 for n in entered) - sum(n or 0 for n in typed), 0)


def _tree_work(start: Start) -> dict[tuple[str, WorkKind, int], list[Thinned | Felled | Pruned | Planted]]:
    found: dict[tuple[str, WorkKind, int], list[Thinned | Felled | Pruned | Planted]] = {}
    known = {p.id for p in start.farm.plantings}
    for event in start.coming:
        body = event.body
        if isinstance(body, (Thinned, Felled, Pruned, Planted)) and event.subject in known:
            key = event.subject, WORKS[type(body)], day_of(start, event).year
            found.setdefault(key, []).append(body)
    return found


# ---------------------------------------------------------------- cuts for hay


def hay_cuts(start: Start, promised: Sequence[str] = ()) -> dict[tuple[int, int], float]:
    """Return the area that entries plan to cut for hay by (year from today's, month from 0). [ha]

    Parameters
    ----------
    promised : sequence of str
        Paddocks promised for hay, which are cut each year as it is: an entry for one of them adds nothing.
    """
    found: dict[tuple[int, int], float] = {}
    for event in start.coming:
        body, paddock = event.body, start.farm.paddock(event.subject)
        if not isinstance(body, Cut) or body.purpose != "hay" or paddock is None or paddock.id in promised:
            continue
        area = paddock.grazed_ha if body.area is None else min(body.area.to("ha"), paddock.grazed_ha)
        day = day_of(start, event)
        key = day.year - start.today.year, day.month - 1
        found[key] = found.get(key, 0.0) + area
    return found
