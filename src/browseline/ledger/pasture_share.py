"""The share of dry matter that came from pasture, class by class: need less what was fed, over need.

A rule's figures stand beside what was found; whether a rule is met is for the certifier to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, timedelta
from itertools import chain

from browseline import tables
from browseline.events import Event, Fed
from browseline.farm.herd_words import class_words
from browseline.figures import Figure, entered
from browseline.ledger.account import Account, dated, happened, season_notes, season_of
from browseline.ledger.eaters import Eaten, eaten
from browseline.ledger.facts import counted, quoted
from browseline.ledger.hay import bales_of
from browseline.limits import Scene
from browseline.units import shown
from browseline.words import linked, say

RULE = "organic ruminants"
WATER = "water"
MINERAL = ("mineral", "salt")


@dataclass(frozen=True)
class PastureShare:
    """One class of a mob so far this season.

    ``share`` is None where need or feed is not known. [1]; ``need`` and ``fed`` [kg DM];
    ``days`` on pasture and ``off_days`` with too little feed entered for them [d].
    """

    mob: str
    klass: str
    need: Figure | None
    fed: Figure | None
    share: Figure | None
    days: Figure
    off_days: Figure | None = None


def shares(scene: Scene, events: Sequence[Event]) -> tuple[PastureShare, ...]:
    """Return the share of every class from the season's first day to yesterday."""
    first, last = season_of(scene.farm, scene.days[0])
    until = min(last, scene.days[0])
    found = eaten(scene, first, until, by_mob=True)
    out = []
    for mob in dict.fromkeys(one.mob for one in found):
        classes = [one for one in found if one.mob == mob]
        fed = fed_dry(scene, events, mob, first, until)
        out += [_share(scene, one, classes, fed, first, until) for one in classes]
    return tuple(out)


def fed_dry(scene: Scene, events: Sequence[Event], mob: str, first: date, until: date) -> Figure | None:
    """Return the dry matter fed to a mob, losses in feeding left in; None if some is not known. [kg DM]"""
    bales = bales_of(scene.farm.hay)
    only = next(iter(bales)) if len(bales) == 1 else ""
    given: dict[str, list[tuple[float, str, date, str]]] = {}
    for event, body, day in _meals(scene, events, mob, first, until):
        lot = body.lot or only
        if lot not in bales or body.amount.dimension != "count":
            return None
        given.setdefault(lot, []).append((body.amount.to("bales"), body.amount.text, day, event.who))
    return _dry_of([(entered("bales_fed", "bales", own, about=lot), bales[lot].kept)
                    for lot, own in given.items()], mob)  # fmt: skip


def _dry_of(parts: Sequence[tuple[Figure, Figure]], mob: str) -> Figure:
    """Return bales times the dry matter of each, lot by lot. [kg DM]"""
    total = sum((count.value or 0.0) * (each.value or 0.0) for count, each in parts)
    if not parts:
        return counted("fed_dry", 0.0, "kg", about=mob)
    formula = " + ".join(f"{count.value:g} × {each.value:.5g} kg" for count, each in parts)
    return Figure("fed_dry", total, "kg", formula=formula, parts=tuple(chain(*parts)), about=mob)


def _meals(
    scene: Scene, events: Sequence[Event], mob: str, first: date, until: date
) -> Iterator[tuple[Event, Fed, date]]:
    """Yield what a mob was fed in a stretch of days, water and mineral left out, with the day."""
    for event in happened(events, scene.now):
        if isinstance(event.body, Fed) and event.subject == mob and not _no_feed(event.body):
            day = scene.local(event.observed.end).date()
            if first <= day < until:
                yield event, event.body, day


def _no_feed(body: Fed) -> bool:
    what = body.what.casefold()
    return body.amount.dimension == "volume" or what == WATER or any(word in what for word in MINERAL)


def _share(
    scene: Scene, one: Eaten, classes: Sequence[Eaten], fed: Figure | None, first: date, until: date
) -> PastureShare:
    days = days_on_pasture(scene, one.mob, first, until)
    needs = [c.need.value for c in classes if c.need is not None and c.need.value]
    if one.need is None or not one.need.value or fed is None or len(needs) < len(classes):
        return PastureShare(one.mob, one.klass, one.need, None, None, days)
    off = _off(one, days)
    if (fed.value or 0.0) < sum(needs) * (off.value or 0.0) / one.days:
        return PastureShare(one.mob, one.klass, one.need, fed, None, days, off)
    part = one.need.value / sum(needs)
    mine = Figure(
        "fed_dry", (fed.value or 0.0) * part, "kg", parts=(fed,), about=one.klass,
        formula=f"{fed.value:.5g} kg × {part:.3g}",
    )  # fmt: skip
    value = 1 - (mine.value or 0.0) / one.need.value
    formula = f"({one.need.value:.5g} kg − {mine.value:.5g} kg) ÷ {one.need.value:.5g} kg"
    share = Figure("pasture_share", value, "1", formula=formula, parts=(one.need, mine), about=one.klass)
    return PastureShare(one.mob, one.klass, one.need, mine, share, days)


def _off(one: Eaten, days: Figure) -> Figure:
    """Return the days on which a class was here but on no paddock. [d]"""
    on = days.value or 0.0
    off = max(one.days - on, 0.0)
    return Figure("days_off", off, "d", formula=f"{one.days} d − {on:.0f} d", parts=(days,), about=one.klass)


def days_on_pasture(scene: Scene, mob: str, first: date, until: date) -> Figure:
    """Return the days on which a mob stood in a paddock for some of the day. [d]"""
    stays = [s for s in scene.state.stays if s.mob == mob and not s.planned and s.place in scene.paddocks]
    spans = [
        (s.begin.start.astimezone(UTC), (s.end.end if s.end else scene.now).astimezone(UTC)) for s in stays
    ]
    count, day = 0, max(first, scene.farm.as_of)
    while day < until:
        begin, end = (scene.midnight(at).astimezone(UTC) for at in (day, day + timedelta(days=1)))
        count += any(entered < end and left > begin for entered, left in spans)
        day += timedelta(days=1)
    return counted("days_on_pasture", count, "d", about=mob)


# ---------------------------------------------------------------- the page


def share_account(scene: Scene, events: Sequence[Event]) -> Account:
    """Return the page: what was found for each class, and the rule's figures beside it."""
    found = shares(scene, events)
    least, days = (tables.row("balance", key, RULE) for key in ("pasture_share_least", "pasture_days_least"))
    figures = tuple(one.share for one in found if one.share is not None)
    rule = (least.figure("pasture_share_least"), days.figure("pasture_days_least"))
    return Account("browseline/share/1", "share", tuple(_told(scene, found, least, days)), (*figures, *rule))


def _told(scene: Scene, found: Sequence[PastureShare], least: tables.Row, days: tables.Row) -> Iterator[str]:
    first, last = season_of(scene.farm, scene.days[0])
    until = dated(min(last, scene.days[0]))
    yield say("account.share.season", first=dated(max(first, scene.farm.as_of)), last=until)
    yield from season_notes(scene.farm)
    for one in found:
        yield _found_words(scene, one)
    yield say(
        "account.share.rule", share=linked(f"{least.middle():g}", least.figure("pasture_share_least")),
        days=linked(f"{days.middle():g}", days.figure("pasture_days_least")), note=quoted(least),
    )  # fmt: skip


def _found_words(scene: Scene, one: PastureShare) -> str:
    mob = scene.state.mob(one.mob) or scene.farm.mob(one.mob)
    name = mob.name if mob is not None else one.mob
    called, days = class_words(one.klass, 2), linked(f"{one.days.value:,.0f}", one.days)
    if one.share is not None and one.need is not None and one.fed is not None:
        need, fed = (
            linked(shown(f.value or 0.0, "mass", scene.farm.units, 1), f) for f in (one.need, one.fed)
        )
        share = linked(f"{100 * (one.share.value or 0.0):.1f}", one.share)
        return say("account.share.found", mob=name, klass=called, share=share, need=need, fed=fed,
                   days=days)  # fmt: skip
    if one.off_days is None or not one.off_days.value:
        return say("account.share.unknown", mob=name, klass=called, days=days)
    off = linked(f"{one.off_days.value:,.0f}", one.off_days)
    return say("account.share.off", mob=name, klass=called, days=days, off=off)
