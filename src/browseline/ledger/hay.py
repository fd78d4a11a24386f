"""Hay: what the store is worth as eaten, what the animals need by stage, for how long it lasts.

Weight as stored, dry matter and eaten are three numbers, and loss in the store and loss in feeding
are two: each is taken once. A share that nobody typed is not guessed, it is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from browseline.farm import breeding
from browseline.farm.needs import demand, on_grass
from browseline.farm.records import HayLot, Stage
from browseline.figures import Figure, entered, typed
from browseline.limits import Scene
from browseline.record.state import HayState, HeadLine, MobState
from browseline.science import feed
from browseline.units import Quantity
from browseline.words import say

SHARES = ("dry", "store_loss", "feeding_loss")
UNSET = (1.0, 0.0, 0.0)
OPENING = "opening"
MOVED = {"cut": "bales_cut", "fed": "bales_fed", "spent": "bales_bought"}
"""What bales that came or went are called, by the kind of entry."""


@dataclass(frozen=True, slots=True)
class Bale:
    """One bale of a lot: weight as stored, the shares in between, weight as eaten. [kg, 1, 1, 1, kg DM]

    ``not_typed`` names the shares that nobody gave; they take nothing off.
    """

    lot: str
    weight: Figure
    dry: Figure
    store_loss: Figure
    feeding_loss: Figure
    eaten: Figure
    price: Quantity | None = None
    not_typed: tuple[str, ...] = ()

    @property
    def dry_matter(self) -> Figure:
        """Return the dry matter of a bale as it was stored. [kg DM]"""
        weight, dry = self.weight.value or 0.0, self.dry.value or 0.0
        return Figure(
            "bale_dry", feed.dry_kg(weight, dry), "kg", formula=f"{weight:.4g} kg × {dry:.4g}",
            parts=(self.weight, self.dry), about=self.lot,
        )  # fmt: skip

    @property
    def lost_in_store(self) -> Figure:
        """Return what a bale loses in the store. [kg DM]"""
        dry, loss = self.dry_matter.value or 0.0, self.store_loss.value or 0.0
        return Figure(
            "bale_lost_in_store", dry * loss, "kg", formula=f"{dry:.4g} kg × {loss:.4g}",
            parts=(self.dry_matter, self.store_loss), about=self.lot,
        )  # fmt: skip

    @property
    def kept(self) -> Figure:
        """Return the dry matter of a bale that the store left, before it is fed. [kg DM]"""
        dry, gone = self.dry_matter.value or 0.0, self.lost_in_store.value or 0.0
        return Figure(
            "bale_kept", dry - gone, "kg", formula=f"{dry:.4g} kg − {gone:.4g} kg",
            parts=(self.dry_matter, self.lost_in_store), about=self.lot,
        )  # fmt: skip

    @property
    def lost_in_feeding(self) -> Figure:
        """Return what a bale loses in feeding, of what the store left. [kg DM]"""
        dry, gone = self.dry_matter.value or 0.0, self.lost_in_store.value or 0.0
        loss = self.feeding_loss.value or 0.0
        return Figure(
            "bale_lost_in_feeding", (dry - gone) * loss, "kg", about=self.lot,
            formula=f"({dry:.4g} kg − {gone:.4g} kg) × {loss:.4g}",
            parts=(self.dry_matter, self.lost_in_store, self.feeding_loss),
        )  # fmt: skip

    def better_fed(self, feeding_loss_frac: float) -> Bale:
        """Return the same bale fed with another loss."""
        was = self.feeding_loss.value or 0.0
        formula = f"{was:.4g} × {feeding_loss_frac / was:.3g}" if was else f"{feeding_loss_frac:.4g}"
        loss = Figure(
            "feeding_loss",
            feeding_loss_frac,
            "1",
            formula=formula,
            parts=(self.feeding_loss,),
            about=self.lot,
        )
        return _bale(self.lot, self.weight, self.dry, self.store_loss, loss, self.price, self.not_typed)


@dataclass(frozen=True, slots=True)
class HayStore:
    """Bales in store now. ``bale`` is the one that more would be bought of.

    Attributes
    ----------
    bales : Figure
        [bales]
    stored, dry, lost_in_store, lost_in_feeding, eaten : Figure
        Weight as stored [kg], its dry matter, what goes on the way, what is eaten. [kg DM]
    """

    bales: Figure
    stored: Figure
    dry: Figure
    lost_in_store: Figure
    lost_in_feeding: Figure
    eaten: Figure
    bale: Bale
    not_counted: tuple[str, ...] = ()

    @property
    def eaten_kg(self) -> float:
        """Return what the store is worth as eaten. [kg DM]"""
        return self.eaten.value or 0.0


@dataclass(frozen=True, slots=True)
class Span:
    """Days over which the same animals eat the same: from ``first``, not including ``last``."""

    first: date
    last: date
    demand: Figure

    @property
    def days(self) -> int:
        """Return the length. [d]"""
        return (self.last - self.first).days

    @property
    def kg_d(self) -> float:
        """Return what is eaten a day. [kg DM/d]"""
        return self.demand.value or 0.0


# ---------------------------------------------------------------- the store


def bales_of(farm_hay: Sequence[HayLot]) -> dict[str, Bale]:
    """Return what one bale of every lot is worth."""
    return {lot.id: _bale_of(lot) for lot in farm_hay}


def _share(lot: HayLot, name: str, unset: float) -> Figure:
    said: Quantity | None = getattr(lot, name)
    if said is None:
        return Figure(name, unset, "1", about=lot.id, formula=say("feed.share.unset"))
    return typed(name, said.to("1"), "1", said.text, about=lot.id)


def _bale_of(lot: HayLot) -> Bale:
    weight = typed("bale_weight", lot.bale_weight.to("kg"), "kg", lot.bale_weight.text, about=lot.id)
    dry, in_store, in_feeding = (_share(lot, name, unset) for name, unset in zip(SHARES, UNSET, strict=True))
    missing = tuple(name for name in SHARES if getattr(lot, name) is None)
    return _bale(lot.id, weight, dry, in_store, in_feeding, lot.price, missing)


def _bale(
    lot: str, weight: Figure, dry: Figure, store_loss: Figure, feeding_loss: Figure,
    price: Quantity | None, not_typed: tuple[str, ...],
) -> Bale:  # fmt: skip
    shares = [share.value or 0.0 for share in (dry, store_loss, feeding_loss)]
    eaten = Figure(
        "bale_eaten", feed.eaten_kg(weight.value or 0.0, *shares), "kg", about=lot,
        formula=f"{weight.value:.4g} kg × {shares[0]:.4g} × (1 − {shares[1]:.4g}) × (1 − {shares[2]:.4g})",
        parts=(weight, dry, store_loss, feeding_loss),
    )  # fmt: skip
    return Bale(lot, weight, dry, store_loss, feeding_loss, eaten, price, not_typed)


def hay_store(scene: Scene) -> HayStore | None:
    """Return the bales in store as weight stored, dry and eaten; None if no lot was ever described.

    Bales of a lot that the farm does not describe (a cut of its own) count as those of the first lot.
    """
    known = bales_of(scene.farm.hay)
    if not known:
        return None
    first = known[scene.farm.hay[0].id]
    held = [Held(known.get(h.lot, first), lot_bales(h)) for h in scene.state.hay]
    none = Held(first, Figure("lot_bales", 0.0, "bales", formula="0"))
    there = [one for one in held if one.bales] or [none]
    return HayStore(
        _bales_of(there),
        _worth("hay_stored", there, lambda bale: bale.weight),
        _worth("hay_dry", there, lambda bale: bale.dry_matter),
        _worth("hay_lost_in_store", there, lambda bale: bale.lost_in_store),
        _worth("hay_lost_in_feeding", there, lambda bale: bale.lost_in_feeding),
        _worth("hay_eaten", there, lambda bale: bale.eaten),
        first,
        tuple(h.lot for h in scene.state.hay if h.lot not in known),
    )


def _bales_of(there: Sequence[Held]) -> Figure:
    """Return the bales of all lots together. [bales]"""
    formula = " + ".join(f"{one.bales:g}" for one in there)
    total, parts = sum(one.bales for one in there), tuple(one.lot for one in there)
    return Figure("hay_bales", total, "bales", formula=formula, parts=parts)


@dataclass(frozen=True, slots=True)
class Held:
    """Bales of a lot in store: what one is worth, and how many there are."""

    bale: Bale
    lot: Figure

    @property
    def bales(self) -> float:
        """Return how many there are. [bales]"""
        return self.lot.value or 0.0


def lot_bales(state: HayState) -> Figure:
    """Return the bales of a lot in store, from those that came and went. [bales]"""
    kinds = {moved.kind: "−" if moved.bales < 0 else "+" for moved in state.moved}
    parts = tuple(_moved(state, kind) for kind in kinds)
    steps = [f"{sign} {part.value:g}" for sign, part in zip(kinds.values(), parts, strict=True)]
    formula = " ".join(steps).removeprefix("+ ")
    return Figure("lot_bales", state.bales, "bales", parts=parts, formula=formula, about=state.lot)


def _moved(state: HayState, kind: str) -> Figure:
    """Return the bales of a lot that came or went by one kind of entry. [bales]"""
    own = [(abs(m.bales), f"{abs(m.bales):g}", m.day, m.who) for m in state.moved if m.kind == kind]
    if kind == OPENING:
        return typed("bales_opening", own[0][0], "bales", f"{own[0][1]} bales", about=state.lot)
    return entered(MOVED[kind], "bales", own, about=state.lot)


def _worth(name: str, there: Sequence[Held], each: Callable[[Bale], Figure]) -> Figure:
    """Return what the store holds of something that every bale holds so much of. [kg]"""
    one = [(held, each(held.bale)) for held in there]
    total = sum(held.bales * (figure.value or 0.0) for held, figure in one)
    formula = " + ".join(f"{held.bales:g} × {figure.value:.4g} kg" for held, figure in one)
    parts = tuple(figure for held, each_one in one for figure in (held.lot, each_one))
    return Figure(name, total, "kg", formula=formula, parts=parts)


# ---------------------------------------------------------------- the need


def stages_of(scene: Scene, mob: MobState, line: HeadLine) -> tuple[Stage, ...]:
    """Return the stages that a line of a mob goes through, as the farm's file has them."""
    for ident in (mob.id, *mob.parents):
        found = scene.farm.mob(ident)
        for own in found.lines if found is not None else ():
            if (own.kind, own.klass.casefold()) == (line.kind, line.klass.casefold()):
                return breeding.stages_of(own)
    return ()


def on_day(line: HeadLine, stages: tuple[Stage, ...], day: date, today: date) -> HeadLine:
    """Return a line as it will be on a day: the stage begun by then, its weight and intake."""
    begun = [stage for stage in stages if today < stage.from_day <= day]
    if not begun:
        return line
    now = max(begun, key=lambda stage: stage.from_day)
    return replace(line, stage=now.stage, intake=now.intake or line.intake, weight=now.weight or line.weight)


def spans(scene: Scene, mobs: Sequence[MobState], last: date) -> tuple[Span, ...]:
    """Return what mobs eat from today to ``last`` (not included), cut where a stage begins.

    Empty if what one class eats is not known.
    """
    today = scene.days[0]
    lines = [(line, stages_of(scene, mob, line)) for mob in mobs for line in mob.lines]
    cuts = {stage.from_day for _, stages in lines for stage in stages if today < stage.from_day < last}
    return _whole_spans(pairwise([today, *sorted(cuts), last]), lines, today)


def _whole_spans(
    ends: Iterable[tuple[date, date]], lines: Sequence[tuple[HeadLine, tuple[Stage, ...]]], today: date
) -> tuple[Span, ...]:
    """Return the spans between days, or none where the need of one is not known."""
    found = [(first, end, _needs_on(first, lines, today)) for first, end in ends]
    out = tuple(Span(first, end, needs) for first, end, needs in found if needs is not None)
    return out if len(out) == len(found) else ()


def _needs_on(
    day: date, lines: Sequence[tuple[HeadLine, tuple[Stage, ...]]], today: date
) -> Figure | None:  # fmt: skip
    """Return what all eat on a day; None if nothing, or if what one class eats is not known. [kg DM/d]"""
    then = tuple(on_day(line, stages, day, today) for line, stages in lines)
    needs = demand(on_grass(then), "all")
    return needs if needs is not None and needs.value else None


def requirement(over: Sequence[Span]) -> Figure:
    """Return what is eaten over spans. [kg DM]"""
    total = sum(span.days * span.kg_d for span in over)
    formula = " + ".join(f"{span.days} d × {span.kg_d:.4g} kg/d" for span in over)
    return Figure("feed_need", total, "kg", formula=formula, parts=tuple(span.demand for span in over))


@dataclass(frozen=True, slots=True)
class Lasting:
    """For how long feed lasts: in days, and the day in whose course it runs out."""

    days: Figure
    out: date

    @property
    def last_full(self) -> date:
        """Return the last day with feed for the whole of it."""
        return self.out - timedelta(days=1)


def lasting(
    feed_kg: Figure, over: Sequence[Span], grown_kg_d: float = 0.0, until: date | None = None
) -> Lasting | None:
    """Return for how long feed lasts, the last span going on for ever; None if growth keeps up.

    Parameters
    ----------
    feed_kg : Figure
        In store or standing, as eaten. [kg DM]
    grown_kg_d : float
        What grows a day, as eaten. [kg DM/d]
    until : date, optional
        The day from which nothing grows any more; by default it grows for ever.
    """
    left, gone, steps = feed_kg.value or 0.0, 0.0, []
    for days, rate in _pieces(over, grown_kg_d, until):
        if rate > 0 and left < days * rate:
            steps.append(f"{left / rate:.4g} d × {rate:.4g} kg/d")
            formula = f"{feed_kg.value:.5g} kg = {' + '.join(steps)}"
            parts = (feed_kg, *(span.demand for span in over))
            figure = Figure("feed_days", gone + left / rate, "d", formula=formula, parts=parts)
            return Lasting(figure, over[0].first + timedelta(days=math.floor(gone + left / rate + 1e-9)))
        steps.append(f"{days:.4g} d × {rate:.4g} kg/d")
        gone, left = gone + days, left - days * rate
    return None


def _pieces(over: Sequence[Span], grown_kg_d: float, until: date | None) -> list[tuple[float, float]]:
    """Return days and what goes a day, cut where growth ends; the last piece has no end. [d, kg DM/d]"""
    out: list[tuple[float, float]] = []
    for span in over:
        grows_d = span.days if until is None else min(max((until - span.first).days, 0), span.days)
        out += [(grows_d, span.kg_d - grown_kg_d), (span.days - grows_d, span.kg_d)]
    last = over[-1]
    if until is None:
        out.append((math.inf, last.kg_d - grown_kg_d))
    else:
        out += [(max((until - last.last).days, 0), last.kg_d - grown_kg_d), (math.inf, last.kg_d)]
    return [piece for piece in out if piece[0] > 0]


def at_one_rate(feed_kg: Figure, span: Span, today: date) -> Lasting:
    """Return for how long feed lasts if every day took what the days of one span take."""
    days = (feed_kg.value or 0.0) / span.kg_d
    formula = f"{feed_kg.value:.5g} kg ÷ {span.kg_d:.4g} kg/d"
    figure = Figure("feed_days", days, "d", formula=formula, parts=(feed_kg, span.demand))
    return Lasting(figure, today + timedelta(days=math.floor(days + 1e-9)))


def whole_bales(kg_as_eaten: float, bale: Bale) -> int:
    """Return the bales that hold so much as eaten, rounded up; none for a spare."""
    return max(math.ceil(kg_as_eaten / (bale.eaten.value or math.inf) - 1e-9), 0)


def sold(mobs: Sequence[MobState], kind: str, klass: str, head: int) -> tuple[MobState, ...]:
    """Return mobs without so many animals of a class, the first mob's going first."""
    out, left = [], head
    for mob in mobs:
        lines = []
        for line in mob.lines:
            gone = min(line.head, left) if (line.kind, line.klass) == (kind, klass) else 0
            left -= gone
            lines.append(replace(line, head=line.head - gone))
        out.append(replace(mob, lines=tuple(lines)))
    return tuple(out)
