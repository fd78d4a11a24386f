"""Feed in words: what grass and store hold, what is short, the ways out, what to look out for.

Every sentence follows from the state by a rule; nothing is said of feed where grass is not short, no
stretch was promised and nobody lives from the store.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from browseline.events import Event
from browseline.figures import Figure
from browseline.ledger import advice_words as words
from browseline.ledger.ahead import LeftOut, open_today
from browseline.ledger.balance import Balance, Ground, balances, ground, last_day
from browseline.ledger.facts import counted, days_between
from browseline.ledger.hay import HayStore, Lasting
from browseline.ledger.options import Option, options
from browseline.ledger.rotation import Rotation, rotation_of
from browseline.ledger.trees_near import feeding_ground, treed_paddocks
from browseline.ledger.turnout import Turnout, turnout
from browseline.limits import Scene
from browseline.science import feed


@dataclass(frozen=True)
class FeedAdvice:
    """What is to be said of feed today.

    Attributes
    ----------
    grass : tuple of Lasting or None
        Days of open grass in each growth, no growth first; None where growth keeps up.
    balances : tuple of Balance
        Up to ``last``, no growth first; empty where no stretch was promised.
    need_stored, short_stored : Figure or None
        The need and what is missing in weight as stored, with no growth. [kg]
    decide_by : date or None
        The last day on which selling still helps in time.
    figures : tuple of Figure
        The days up to ``last``, and how many paddocks are counted.
    """

    schema: str
    last: date | None
    store: HayStore | None
    cases: tuple[str, ...]
    grass: tuple[Lasting | None, ...]
    balances: tuple[Balance, ...]
    need_stored: Figure | None
    short_stored: Figure | None
    options: tuple[Option, ...]
    rotation: Rotation | None
    decide_by: date | None
    turnout: Turnout | None
    feed_in: str | None
    keep_off: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    sentences: tuple[str, ...]
    figures: tuple[Figure, ...] = ()

    @property
    def short(self) -> bool:
        """Return whether something is missing up to ``last`` with no growth."""
        return bool(self.balances) and self.balances[0].short_kg > 0


def feed_advice(scene: Scene, events: Sequence[Event] = ()) -> FeedAdvice | None:
    """Return what is to be said of feed, or None where nothing is.

    Parameters
    ----------
    events : sequence of Event
        The record: moves that were planned to grass that is not there yet.
    """
    if not scene.mobs:
        return None
    there, last, start = ground(scene), last_day(scene), turnout(scene, events)
    made = balances(there, last) if last is not None else ()
    grass = _grass(there)
    rotation = rotation_of(scene, there, grass)
    thin = rotation is not None and (rotation.covers.value or 0.0) < 1
    if not made and start is None and not thin:
        return None
    short = bool(made) and made[0].short_kg > 0
    needs_words = short or thin or start is not None
    left_out = open_today(scene)[0] if there.ground.which else ()
    advice = FeedAdvice(
        "browseline/feed/1", last, there.store, tuple(c.label for c in there.cases), grass, made,
        _stored(made, there.store, short=False), _stored(made, there.store, short=True),
        options(there, last) if last is not None else (), rotation,
        _decide_by(scene, grass if short or thin else ()), start,
        feeding_ground(scene, there.ground.which) if there.ground.which and (short or thin) else None,
        treed_paddocks(scene) if needs_words else (), left_out, (), _counts(scene, there, last),
    )  # fmt: skip
    return _with_words(scene, there, advice)


def _counts(scene: Scene, there: Ground, last: date | None) -> tuple[Figure, ...]:
    counts = (counted("paddocks_counted", len(there.ground.which), "paddocks"),) if there.ground.which else ()
    return counts if last is None else (*counts, days_between(scene.days[0], last))


def _with_words(scene: Scene, there: Ground, advice: FeedAdvice) -> FeedAdvice:
    from dataclasses import replace

    return replace(advice, sentences=tuple(_told(scene, there, advice)))


def _told(scene: Scene, there: Ground, advice: FeedAdvice) -> Iterable[str]:
    yield from _told_there(scene, there, advice)
    if advice.balances and advice.last is not None:
        yield from words.of_balance(scene, advice.last, advice.balances, advice.store)
        yield from words.as_stored(scene, there, advice.need_stored, advice.short_stored)
    yield from (option.words for option in advice.options)
    if advice.decide_by is not None:
        yield words.of_decision(advice.decide_by)
    if advice.feed_in is not None or (there.ground.which and advice.keep_off):
        yield from words.of_drought(scene, advice.feed_in, advice.keep_off)


def _told_there(scene: Scene, there: Ground, advice: FeedAdvice) -> Iterable[str]:
    """Yield when to go out, how long the grass lasts, what is in store."""
    if advice.turnout is not None:
        yield from words.of_turnout(scene, advice.turnout, advice.keep_off)
    if there.ground.which and (advice.short or advice.rotation is not None):
        yield from words.of_grass(scene, advice.cases, advice.grass, advice.rotation, advice.left_out)
    if advice.store is not None:
        yield from words.of_store(scene, advice.store)


def _grass(there: Ground) -> tuple[Lasting | None, ...]:
    """Return for how long the open grass feeds all mobs at what they need today, in each growth."""
    from browseline.ledger.balance import grass_days

    if not there.ground.which:
        return ()
    return tuple(grass_days(there.scene, there, case, there.mobs) for case in there.cases)


def _stored(made: Sequence[Balance], store: HayStore | None, *, short: bool) -> Figure | None:
    """Return the need from the store, or what the store lacks of it, in weight as stored. [kg]"""
    if not made or store is None:
        return None
    bale, worst = store.bale, made[0]
    eaten = worst.short_kg + (0.0 if short else worst.store.value or 0.0)
    shares = [f.value or 0.0 for f in (bale.dry, bale.store_loss, bale.feeding_loss)]
    formula = f"{eaten:.5g} kg ÷ {shares[0]:.4g} ÷ (1 − {shares[1]:.4g}) ÷ (1 − {shares[2]:.4g})"
    name = "hay_short_stored" if short else "hay_need_stored"
    return Figure(
        name, feed.stored_kg(eaten, *shares), "kg", formula=formula, parts=(worst.short, bale.eaten)
    )


def _decide_by(scene: Scene, grass: Sequence[Lasting | None]) -> date | None:
    """Return the day on which a sale must be begun to be over when the grass ends with no growth."""
    notice = scene.farm.rules.sale_notice
    if notice is None or not grass or grass[0] is None:
        return None
    left = (grass[0].days.value or 0.0) - notice.to("d")
    return scene.days[0] + timedelta(days=max(int(left), 0))
