"""The sentences of the feed advice, each from its figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from browseline.figures import Figure
from browseline.ledger.ahead import LeftOut
from browseline.ledger.balance import Balance, Ground
from browseline.ledger.hay import HayStore, Lasting
from browseline.ledger.options import outcome
from browseline.ledger.rotation import Rotation
from browseline.ledger.turnout import Start, Turnout
from browseline.limits import Scene
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say


def name(scene: Scene, paddock: str) -> str:
    """Return what people call a paddock."""
    found = scene.paddock(paddock)
    return found.name if found is not None else paddock


def names(scene: Scene, paddocks: Iterable[str]) -> str:
    """Return paddocks as people say them."""
    return list_words(name(scene, p) for p in paddocks)


def _mass(scene: Scene, kg: float) -> str:
    return shown(kg, "mass", scene.farm.units, 0)


def _height(scene: Scene, cm: float) -> str:
    return shown(cm, "length", scene.farm.units)


def _days(lasts: Lasting) -> str:
    return f"{lasts.days.value:.1f}"


# ---------------------------------------------------------------- grass and store


def of_grass(
    scene: Scene, cases: Sequence[str], grass: Sequence[Lasting | None], rotation: Rotation | None,
    left_out: Sequence[LeftOut],
) -> Iterator[str]:  # fmt: skip
    """Yield how long the open grass lasts in every growth, what the rest asks, what was left out."""
    told = [
        say("feed.grass.days", days=_days(lasts), case=case)
        if lasts is not None
        else say("feed.grass.ever", case=case)
        for case, lasts in zip(cases, grass, strict=True)
    ]
    yield say("feed.grass.ahead", cases=list_words(told))
    if rotation is not None:
        yield say(
            "feed.grass.rest", rest=f"{rotation.rest.value:g}", paddocks=rotation.paddocks,
            stay=f"{rotation.stay.value:.1f}", share=f"{100 * (rotation.covers.value or 0.0):.0f}",
        )  # fmt: skip
    counted = len(scene.paddocks) - len(left_out)
    if left_out:
        items = list_words(say("feed.left_out.one", paddock=x.paddock, why=x.because) for x in left_out)
        yield say("feed.left_out.some", items=items, paddocks=counted)
    else:
        yield say("feed.left_out.none", paddocks=counted)


def of_store(scene: Scene, store: HayStore) -> Iterator[str]:
    """Yield what is in store, the two losses apart, and what nobody typed."""
    if store.bales.value:
        fields = {
            key: _mass(scene, f.value or 0.0)
            for key, f in (("stored", store.stored), ("dry", store.dry), ("in_store", store.lost_in_store),
                           ("in_feeding", store.lost_in_feeding), ("eaten", store.eaten))
        }  # fmt: skip
        yield say("feed.store.holds", bales=f"{store.bales.value:g}", **fields)
    else:
        yield say("feed.store.empty", eaten=_mass(scene, store.bale.eaten.value or 0.0))
    if store.bale.not_typed:
        what = list_words(say(f"feed.share.{share}") for share in store.bale.not_typed)
        yield say("feed.store.not_typed", what=what)
    if store.not_counted:
        yield say("feed.store.as_first", lots=list_words(store.not_counted))
    yield say("feed.caution.mould")


def of_balance(
    scene: Scene, last: date, made: Sequence[Balance], store: HayStore | None
) -> Iterator[str]:  # fmt: skip
    """Yield the need to a day, and what is short or spare in every growth."""
    days = (last - scene.days[0]).days
    yield say("feed.need", day=day_words(last), days=days, need=_mass(scene, made[0].need.value or 0.0))
    for balance in made:
        if balance.short_kg <= 0:
            yield say("feed.enough", case=balance.case.label, spare=_mass(scene, -balance.short_kg))
        elif store is None:
            yield say("feed.short", case=balance.case.label, short=_mass(scene, balance.short_kg))
        else:
            buy = outcome(balance, store.bale).buy
            short = _mass(scene, balance.short_kg)
            bales = linked(f"{buy.value:.0f}", buy)
            yield say("feed.short_bales", case=balance.case.label, short=short, count=bales)


def as_stored(scene: Scene, there: Ground, need: Figure | None, short: Figure | None) -> Iterator[str]:
    """Yield the need and what is short in weight as stored, where everything comes from the store."""
    if need is None or short is None or there.ground.which:
        return
    stored = _mass(scene, need.value or 0.0)
    if (short.value or 0.0) > 0:
        yield say("feed.as_stored.short", stored=stored, short=_mass(scene, short.value or 0.0))
    else:
        yield say("feed.as_stored.enough", stored=stored)


def of_decision(day: date) -> str:
    """Return until when a sale still helps in time."""
    return say("feed.decide", day=day_words(day))


def of_drought(scene: Scene, feed_in: str | None, treed: Sequence[str]) -> Iterator[str]:
    """Yield where to feed, where not to graze short, and what hungry stock try."""
    if feed_in is not None:
        yield say("feed.drought.sacrifice", paddock=name(scene, feed_in))
    if treed:
        yield say("feed.drought.trees", paddocks=names(scene, treed))
    yield say("feed.drought.poison")


# ---------------------------------------------------------------- first grazing


def of_turnout(scene: Scene, start: Turnout, treed: Sequence[str]) -> Iterator[str]:
    """Yield whether and when to go out, what hay lasts, where to begin, what to keep off."""
    at = _height(scene, start.start_at.value or 0.0)
    yield from _too_early(scene, start, at)
    reached = [_reached(one) for one in start.starts]
    height = _height(scene, start.mean_cm)
    if reached:
        yield say("feed.turnout.reached", height=height, start=at, cases=list_words(reached))
    else:
        yield say("feed.turnout.growth_not_known", height=height, start=at)
    yield from _hay_until(start)
    if start.first is not None:
        yield _where(scene, start)
    if treed:
        yield say("feed.turnout.trees", paddocks=names(scene, treed))
    yield say("feed.turnout.lush")


def _too_early(scene: Scene, start: Turnout, at: str) -> Iterator[str]:
    """Yield the days on which somebody planned to go out before the grass is high enough."""
    for early in start.too_early:
        low, high = (_height(scene, cm) for cm in (early.low_cm, early.high_cm))
        yield say("feed.turnout.not_on", day=day_words(early.day), low=low, high=high, start=at)


def _reached(start: Start) -> str:
    """Return on which day the grass is high enough in one growth."""
    if start.day is None:
        return say("feed.turnout.never", case=start.case.label, last=day_words(start.seen_to))
    return say("feed.turnout.day", day=day_words(start.day), case=start.case.label)


def _hay_until(start: Turnout) -> Iterator[str]:
    if start.now is None or start.highest is None:
        return
    yield say(
        "feed.turnout.hay",
        now=_days(start.now),
        highest=_days(start.highest),
        out=day_words(start.highest.out),
    )
    slow = start.slowest
    if slow is None or slow.day is None or slow.spare_d is None:
        return
    yield _spare(slow, start.highest)
    if start.buy and start.buy_d is not None:
        yield say(
            "feed.turnout.buy",
            count=start.buy,
            days=f"{start.buy_d.value:.1f}",
            margin=f"{start.margin.value:g}",
        )


def _spare(slow: Start, hay: Lasting) -> str:
    spare = slow.spare_d or 0
    if spare >= 0:
        return say("feed.turnout.spare", count=spare)
    fields = {"out": day_words(hay.out), "day": day_words(slow.day or hay.out), "case": slow.case.label}
    return say("feed.turnout.gap", count=-spare, **fields)


def _where(scene: Scene, start: Turnout) -> str:
    first = name(scene, start.first or "")
    height = _height(scene, start.first_cm)
    old = start.last_years_first
    if old is None or old == start.first:
        return say("feed.turnout.first", paddock=first, height=height)
    return say("feed.turnout.first_not", paddock=first, height=height, old=name(scene, old))
