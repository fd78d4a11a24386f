"""Carbon as postings: what trees took from the air, what left them as they died, what decays.

The accounts of a planting are *living*, *dead wood* and *products*; the other side is *air*, or *opening* for
what stood when it was first measured. A death or a felling books its own reversal. kg CO2 to the gram.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

import numpy as np

from browseline import tables
from browseline.events import Event, Felled
from browseline.farm.records import Planting
from browseline.farm.tree_mass import equation_of
from browseline.ledger.campaigns import GONE
from browseline.ledger.postings import GRAM, Entry, exact, moved
from browseline.ledger.tree_carbon import Stems, stem_share, stock
from browseline.limits import Scene
from browseline.science import carbon
from browseline.units import factor

AIR, OPENING, UNIT = "air", "opening", "kg CO2"
FIREWOOD, DEAD = "firewood, pellets", "dead wood on site"
PRODUCTS = {
    "firewood": FIREWOOD, "pellet": FIREWOOD, "sawn": "sawn wood", "lumber": "sawn wood",
    "panel": "wood panels", "paper": "paper", "post": "fence posts (treated or durable species)",
}  # fmt: skip
T_KG = factor("t CO2", "kg CO2")


@dataclass
class _Pools:
    """What lies in each account of a planting as its entries are booked. [kg CO2]"""

    living: Decimal = Decimal(0)
    each: Decimal = Decimal(0)
    sawn: float = 0.0
    dead: Decimal = Decimal(0)
    products: dict[str, Decimal] = field(default_factory=dict)


def carbon_entries(scene: Scene, events: tuple[Event, ...], found: tuple[Stems, ...]) -> tuple[Entry, ...]:
    """Return the carbon of every measured planting as entries, in order of days.

    Parameters
    ----------
    events : tuple of Event
        Those that happened.
    found : tuple of Stems
        Of ``campaigns``.
    """
    made: list[Entry] = []
    for planting in scene.farm.plantings:
        stems = [one for one in found if one.planting == planting.id]
        if stems:
            made += _planting(scene, events, planting, stems)
    return tuple(sorted(made, key=lambda entry: entry.postings[0].day))


def _planting(
    scene: Scene, events: tuple[Event, ...], planting: Planting, stems: list[Stems]
) -> Iterator[Entry]:
    pools = _Pools()
    steps: list[tuple[date, int, object]] = [(one.day, 1, one) for one in stems]
    steps += [
        (scene.local(event.observed.end).date(), 0, event)
        for event in events
        if event.subject == planting.id and isinstance(event.body, GONE)
    ]
    first, last = min(step[0] for step in steps).year, scene.days[0].year
    steps += [(date(year, 12, 31), 2, None) for year in range(first, last)]
    for day, _, step in sorted(steps, key=lambda one: (one[0], one[1])):
        if isinstance(step, Stems):
            yield from _measured(scene, planting, step, pools)
        elif isinstance(step, Event):
            yield from _gone(planting, day, step, pools)
        else:
            yield from _decayed(planting, day, pools)


def _account(what: str, planting: Planting) -> str:
    return f"{what}: {planting.id}"


def _measured(scene: Scene, planting: Planting, stems: Stems, pools: _Pools) -> Iterator[Entry]:
    """Book a measured stock: what stood at the first, afterwards what was gained since the last."""
    found = stock(scene.farm, planting, stems)
    whole = exact((found.whole.value or 0.0) * T_KG, GRAM)
    first = pools.each == 0
    gained = whole - pools.living
    living = _account("living", planting)
    if gained > 0:
        yield moved(stems.day, OPENING if first else AIR, living, gained, UNIT, "measured")
    elif gained < 0:
        yield moved(stems.day, living, AIR, -gained, UNIT, "measured")
    pools.living, pools.each = whole, whole / max(stems.trees, 1)
    pools.sawn = stem_share(equation_of(scene.farm, planting), stems) * (
        (found.above.value or 0.0) / (found.whole.value or 1.0)
    )


def _gone(planting: Planting, day: date, event: Event, pools: _Pools) -> Iterator[Entry]:
    """Book trees that died or were felled out of the living; nothing where none was measured before."""
    body = event.body
    trees = getattr(body, "trees", 0)
    amount = min((pools.each * trees).quantize(GRAM), pools.living)
    if amount <= 0:
        return
    pools.living -= amount
    living, because = _account("living", planting), f"{event.kind} {trees}"
    taken = Decimal(0)
    if isinstance(body, Felled):
        taken = (amount * Decimal(str(round(pools.sawn, 6)))).quantize(GRAM)
        sort = product_of(body.why)
        target = AIR if sort == FIREWOOD else _account(f"products, {sort}", planting)
        if taken > 0:
            yield moved(day, living, target, taken, UNIT, because, event=event.id)
        if sort != FIREWOOD:
            pools.products[sort] = pools.products.get(sort, Decimal(0)) + taken
    pools.dead += amount - taken
    yield moved(day, living, _account("dead wood", planting), amount - taken, UNIT, because, event=event.id)


def product_of(why: str) -> str:
    """Return what felled stems became by the words of the entry; unsaid is firewood, the cautious one."""
    words = why.casefold()
    return next((sort for word, sort in PRODUCTS.items() if word in words), FIREWOOD)


def _decayed(planting: Planting, day: date, pools: _Pools) -> Iterator[Entry]:
    """Book a year's decay of dead wood and of products into the air."""
    lying = [("dead wood", DEAD, pools.dead)]
    lying += [(f"products, {sort}", sort, held) for sort, held in pools.products.items()]
    for name, sort, held in lying:
        half_life = tables.row("products", "half_life", sort).middle()
        left = float(carbon.left_after(np.array(1.0), np.array(half_life)))
        gone = (held * Decimal(str(1.0 - left))).quantize(GRAM)
        if gone > 0:
            yield moved(day, _account(name, planting), AIR, gone, UNIT, "decay")
            if name == "dead wood":
                pools.dead -= gone
            else:
                pools.products[sort] -= gone
