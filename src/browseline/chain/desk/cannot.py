"""What cannot be, so that an entry that says it is a slip: more bitten than seen, a mob that joins itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType

from browseline.chain.desk.desk import Desk
from browseline.errors import Finding, finding
from browseline.events import Event, Looked, Merged, Netted
from browseline.units import NotAQuantity, parse, shown

PACED = 1.1
"""Parts of a net may add up to so much of their paddock: both are paced, and nobody measures twice."""
FEWEST = 2


def cannot(at: Desk, event: Event) -> tuple[Finding, ...]:
    """Return why an entry cannot be true, or is asked about as hardly so; nothing for a planned one."""
    make = _BY_BODY.get(type(event.body))
    return tuple(make(at, event)) if make is not None and not event.planned else ()


def _looked(at: Desk, event: Event) -> Iterator[Finding]:
    body = event.body
    if not isinstance(body, Looked) or body.seen is None:
        return
    for what in ("bitten", "barked", "sick"):
        count = getattr(body, what)
        if count is not None and count > body.seen:
            place = at.names.called(event.subject)
            yield finding(f"cli.more_than_seen.{what}", place, hurt=count, seen=body.seen)


def _merged(at: Desk, event: Event) -> Iterator[Finding]:
    if isinstance(event.body, Merged) and event.body.into == event.subject:
        mob = at.names.called(event.subject)
        yield finding("cli.joins_itself", mob, mob=mob)


def _netted(at: Desk, event: Event) -> Iterator[Finding]:
    body, paddock = event.body, at.farm.paddock(event.subject)
    if not isinstance(body, Netted) or paddock is None:
        return
    if len(body.parts) < FEWEST:
        yield finding("cli.no_parts", paddock.name, paddock=paddock.name)
        return
    try:
        parts_ha = sum(parse(area, "area").to("ha") for area in body.areas)
    except NotAQuantity:
        return
    if parts_ha > PACED * paddock.area_ha:
        parts, whole = (shown(ha, "area", at.farm.units, 1) for ha in (parts_ha, paddock.area_ha))
        yield finding("cli.parts_too_large", paddock.name, level="question", parts=parts, whole=whole)


_BY_BODY: Mapping[type, Callable[[Desk, Event], Iterator[Finding]]] = MappingProxyType(
    {Looked: _looked, Merged: _merged, Netted: _netted}
)
