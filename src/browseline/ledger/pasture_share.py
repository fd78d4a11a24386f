"""The share of dry matter that came from pasture, class by class: need less what was fed, over need.

A rule's figures stand beside what was found; whether a rule is met is for the certifier to say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, timedelta

from browseline import tables
from browseline.events import Event, Fed
from browseline.figures import Figure
from browseline.ledger.account import Account, dated, happened, season_notes, season_of
from browseline.ledger.eaters import Eaten, eaten
from browseline.ledger.hay import bales_of
from browseline.limits import Scene
from browseline.units import shown
from browseline.words import say

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
    days: int
    off_days: int = 0


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
    total, steps, parts = 0.0, [], list[Figure]()
    for event in happened(events, scene.now):
        body = event.body
        if not isinstance(body, Fed) or event.subject != mob or _no_feed(body):
            continue
        if not first <= scene.local(event.observed.end).date() < until:
            continue
        bale = bales.get(body.lot or only)
        if bale is None or body.amount.dimension != "count":
            return None
        each = (bale.weight.value or 0.0) * (bale.dry.value or 0.0) * (1 - (bale.store_loss.value or 0.0))
        total += body.amount.to("bales") * each
        steps.append(f"{body.amount.to('bales'):g} × {each:.5g} kg")
        parts += [bale.weight, bale.dry]
    unique = tuple(dict.fromkeys(parts))
    return Figure("fed_dry", total, "kg", formula=" + ".join(steps) or "0", parts=unique, about=mob)


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
    off = max(one.days - days, 0)
    if (fed.value or 0.0) < sum(needs) * off / one.days:
        return PastureShare(one.mob, one.klass, one.need, fed, None, days, off)
    part = one.need.value / sum(needs)
    mine = Figure(
        "fed_dry", (fed.value or 0.0) * part, "kg", parts=(fed,), about=one.klass,
        formula=f"{fed.value:.5g} kg × {part:.3g}",
    )  # fmt: skip
    value = 1 - (mine.value or 0.0) / one.need.value
    formula = f"({one.need.value:.5g} − {mine.value:.5g}) ÷ {one.need.value:.5g}"
    share = Figure("pasture_share", value, "1", formula=formula, parts=(one.need, mine), about=one.klass)
    return PastureShare(one.mob, one.klass, one.need, mine, share, days)


def days_on_pasture(scene: Scene, mob: str, first: date, until: date) -> int:
    """Return the days on which a mob stood in a paddock for some of the day. [d]"""
    count, day = 0, max(first, scene.farm.as_of)
    stays = [s for s in scene.state.stays if s.mob == mob and not s.planned and s.place in scene.paddocks]
    while day < until:
        begin, end = (
            scene.midnight(day).astimezone(UTC),
            scene.midnight(day + timedelta(days=1)).astimezone(UTC),
        )
        ends = (
            (s.begin.start.astimezone(UTC), (s.end.end if s.end else scene.now).astimezone(UTC))
            for s in stays
        )
        count += any(entered < end and left > begin for entered, left in ends)
        day += timedelta(days=1)
    return count


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
        mob = scene.farm.mob(one.mob)
        name = mob.name if mob is not None else one.mob
        if one.share is None or one.need is None or one.fed is None:
            key = "off" if one.off_days else "unknown"
            yield say(f"account.share.{key}", mob=name, klass=one.klass, days=one.days, off=one.off_days)
            continue
        need, fed = (shown(f.value or 0.0, "mass", scene.farm.units, 1) for f in (one.need, one.fed))
        share = f"{100 * (one.share.value or 0.0):.1f}"
        yield say("account.share.found", mob=name, klass=one.klass, share=share, need=need, fed=fed,
                  days=one.days)  # fmt: skip
    yield say("account.share.rule", share=f"{least.middle():g}", days=f"{days.middle():g}", note=least.note)
