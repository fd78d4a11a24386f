"""What is in store beside hay: nuts and pods picked less sold, mineral bought less given, water hauled.

Counted from the entries of the record, since its beginning: what lay there before nobody wrote down.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial

from browseline import tables
from browseline.events import Earned, Event, Fed, Picked, Spent
from browseline.farm.records import Farm
from browseline.figures import BASES, Basis, Figure, entered
from browseline.ledger.account import happened
from browseline.ledger.hay import HayStore
from browseline.limits import Scene
from browseline.record.state import MobState
from browseline.units import Quantity, plain, shown
from browseline.words import linked, list_words, say

WATER = "water"
MINERAL = ("mineral", "salt", "lick")
COPPER = "copper, sheep"


@dataclass(frozen=True)
class Crop:
    """A crop by weight: picked, sold, and what is left of it; ``left`` below 0 is a question. [kg]"""

    name: str
    picked: Figure
    sold: Figure
    left: Figure


@dataclass(frozen=True)
class Given:
    """Feed or mineral by weight: bought, given, left; None where none was bought by weight. [kg]"""

    name: str
    bought: Figure | None
    given: Figure
    left: Figure | None
    mobs: tuple[str, ...]


@dataclass(frozen=True)
class Hauled:
    """Water hauled to a mob in a place. [L]"""

    mob: str
    place: str
    water: Figure


@dataclass(frozen=True)
class Goods:
    """All that the record says of the store beside hay."""

    crops: tuple[Crop, ...]
    given: tuple[Given, ...]
    hauled: tuple[Hauled, ...]


@dataclass
class _Sums:
    """Weights and volumes as they add up: value, text, day and who, an entry each."""

    of: dict[tuple[str, ...], list[tuple[float, str, date, str]]] = field(default_factory=dict)

    def add(self, key: tuple[str, ...], said: Quantity, unit: str, by: tuple[date, str]) -> None:
        entry = (said.to(unit), said.text, *by)
        self.of.setdefault(key, []).append(entry)

    def figure(self, key: tuple[str, ...], name: str, unit: str) -> Figure:
        return entered(name, unit, self.of.get(key, []), about=key[-1])


@dataclass
class _Books:
    """The sums of the store: what came, what went, what was given and hauled."""

    picked: _Sums = field(default_factory=_Sums)
    sold: _Sums = field(default_factory=_Sums)
    bought: _Sums = field(default_factory=_Sums)
    given: _Sums = field(default_factory=_Sums)
    hauled: _Sums = field(default_factory=_Sums)

    def enter(self, scene: Scene, event: Event) -> None:
        """Add an event to the sum that it belongs to; most belong to none."""
        body, by = event.body, (scene.local(event.observed.end).date(), event.who)
        match body:
            case Picked():
                self.picked.add((crop_of(scene.farm, event.subject),), body.amount, "kg", by)
            case Earned(weight=Quantity() as weight):
                self.sold.add((sold_crop(scene.farm, body.what),), weight, "kg", by)
            case Spent(weight=Quantity() as weight):
                self.bought.add((body.what,), weight, "kg", by)
            case Fed():
                self.feed(scene, event, body, by)

    def feed(self, scene: Scene, event: Event, body: Fed, by: tuple[date, str]) -> None:
        """Add what was given by weight, or hauled by volume."""
        if body.amount.dimension == "mass":
            self.given.add((event.subject, body.what), body.amount, "kg", by)
        elif body.amount.dimension == "volume":
            where = body.where or _place(scene, event)
            self.hauled.add((event.subject, where), body.amount, "L", by)


def goods(scene: Scene, events: Sequence[Event]) -> Goods:
    """Return what was picked, sold, bought, given and hauled, by crop, sort and place."""
    books = _Books()
    for event in happened(events, scene.now):
        books.enter(scene, event)
    hauled = books.hauled
    return Goods(
        tuple(_crop(name, books.picked, books.sold) for name in _keys(books.picked, books.sold)),
        tuple(_given(name, books.bought, books.given) for name in _keys(books.bought, books.given)),
        tuple(
            Hauled(mob, place, hauled.figure((mob, place), "water_hauled", "L")) for mob, place in hauled.of
        ),
    )


def _keys(*sums: _Sums) -> list[str]:
    return sorted({key[-1] for one in sums for key in one.of})


def crop_of(farm: Farm, planting: str) -> str:
    """Return the crop of a planting: the first word of its species, such as walnut; else its id."""
    found = next((p for p in farm.plantings if p.id == planting), None)
    return found.species.partition("_")[0] if found is not None else planting


def sold_crop(farm: Farm, what: str) -> str:
    """Return the crop that a sale names: one of the farm's whose word is in it; else as it was said."""
    said = what.casefold()
    crops = dict.fromkeys(crop_of(farm, p.id) for p in farm.plantings)
    return next((crop for crop in crops if crop in said), what)


def _crop(name: str, picked: _Sums, sold: _Sums) -> Crop:
    came, went = picked.figure((name,), "picked", "kg"), sold.figure((name,), "crop_sold", "kg")
    left = (came.value or 0.0) - (went.value or 0.0)
    formula = f"{came.value:.4g} kg − {went.value:.4g} kg"
    return Crop(
        name, came, went, Figure("crop_left", left, "kg", formula=formula, parts=(came, went), about=name)
    )


def _given(name: str, bought: _Sums, given: _Sums) -> Given:
    mobs = tuple(mob for mob, what in given.of if what == name)
    went = _went(name, [given.figure((mob, name), "feed_given", "kg") for mob in mobs])
    if (name,) not in bought.of:
        return Given(name, None, went, None, mobs)
    came = bought.figure((name,), "feed_bought", "kg")
    rest = (came.value or 0.0) - (went.value or 0.0)
    text = f"{came.value:.4g} kg − {went.value:.4g} kg"
    left = Figure("feed_left", rest, "kg", formula=text, parts=(came, went), about=name)
    return Given(name, came, went, left, mobs)


def _went(name: str, parts: Sequence[Figure]) -> Figure:
    """Return what was given to all mobs together. [kg]"""
    if not parts:
        return entered("feed_given", "kg", [], about=name)
    formula = " + ".join(f"{part.value:.4g} kg" for part in parts)
    total = sum(part.value or 0.0 for part in parts)
    return Figure("feed_given", total, "kg", formula=formula, parts=tuple(parts), about=name)


def _place(scene: Scene, event: Event) -> str:
    """Return where a mob stood when it was given something; empty where the record does not say."""
    at = event.observed.end
    for stay in scene.state.stays:
        ends = stay.end.start if stay.end is not None else scene.now
        if stay.mob == event.subject and not stay.planned and stay.begin.start <= at <= ends:
            return stay.place
    return ""


# ---------------------------------------------------------------- in words


def goods_words(scene: Scene, found: Goods, hay: HayStore | None) -> Iterator[str]:
    """Yield the sentences of the store: hay first, then crops, feed and mineral, water."""
    yield from _hay_words(scene, hay)
    if not (found.crops or found.given or found.hauled):
        yield say("account.store.no_goods")
    yield from map(partial(_crop_words, scene), found.crops)
    yield from map(partial(_given_words, scene), found.given)
    yield from map(partial(_hauled_words, scene), found.hauled)
    if any(is_mineral(one.name) for one in found.given):
        yield from copper_words(scene.mobs)


def _crop_words(scene: Scene, crop: Crop) -> str:
    picked, sold, left = (_mass(scene, figure) for figure in (crop.picked, crop.sold, crop.left))
    key = "crop" if (crop.left.value or 0.0) >= 0 else "crop_ask"
    return say(f"account.store.{key}", crop=crop.name, picked=picked, sold=sold, left=left)


def _given_words(scene: Scene, one: Given) -> str:
    name, given = one.name or say("account.store.feed"), _mass(scene, one.given)
    if one.left is None or one.bought is None:
        mobs = list_words(_mob(scene, mob) for mob in one.mobs)
        return say("account.store.given", what=name, given=given, mobs=mobs)
    bought, left = _mass(scene, one.bought), _mass(scene, one.left)
    return say("account.store.feed_left", what=name, bought=bought, given=given, left=left)


def _hauled_words(scene: Scene, haul: Hauled) -> str:
    amount = linked(shown(haul.water.value or 0.0, "volume", scene.farm.units), haul.water)
    return say("account.store.hauled", amount=amount, mob=_mob(scene, haul.mob), place=_where(scene, haul))


def _hay_words(scene: Scene, hay: HayStore | None) -> Iterator[str]:
    if hay is None:
        yield say("account.store.no_hay")
        return
    bales = linked(plain(hay.bales.value or 0.0), hay.bales)
    stored, eaten = _mass(scene, hay.stored), _mass(scene, hay.eaten)
    yield say("account.store.hay", bales=bales, stored=stored, eaten=eaten)
    if hay.not_counted:
        yield say("account.store.hay_unknown", lots=list_words(hay.not_counted))


def is_mineral(name: str) -> bool:
    """Return whether what was given is mineral, salt or a lick, by its name."""
    return any(word in name.casefold() for word in MINERAL)


def copper_words(mobs: Iterable[MobState]) -> Iterator[str]:
    """Yield the caution on copper, with its mark, where one of the mobs holds sheep."""
    if not any(line.kind == "sheep" for mob in mobs for line in mob.lines):
        return
    row = next(r for r in tables.texts("poison") if r["id"] == COPPER)
    basis: Basis = row["basis"]  # type: ignore[assignment]
    yield say("account.store.copper", mark=BASES[basis])


def _mass(scene: Scene, figure: Figure) -> str:
    return linked(shown(figure.value or 0.0, "mass", scene.farm.units), figure)


def _mob(scene: Scene, ident: str) -> str:
    found = scene.state.mob(ident)
    return found.name if found is not None else ident


def _where(scene: Scene, haul: Hauled) -> str:
    found = scene.paddock(haul.place)
    return found.name if found is not None else haul.place or say("account.store.nowhere")
