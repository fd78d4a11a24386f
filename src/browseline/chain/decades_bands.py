"""The years ahead as bands: low, likely and high of each quantity in every year, each a figure that opens."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from browseline.chain.decades_own import Raw, own_bands
from browseline.decades.form import Projection, Yield
from browseline.farm.needs import GRAZERS
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.units import BASE, CHOSEN, UNITS, System, amount_words, factor, shown
from browseline.words import known, linked, say

Array = NDArray[np.float64]
ENDS = (0.1, 0.5, 0.9)
PERCENT = factor("1", "%")
DECADE = 10
TREES = (Origin("derived_here", "trees.md section 3, 4, 5 and 10 for crowns grown by the tables", "derived"),)
EVERY_YEAR = ("light", "grown", "need", "hay", "hay_made", "head", "work", "money")
FIGURES = {
    "light": "ahead_light", "grown": "ahead_grown", "need": "ahead_need", "hay": "ahead_hay",
    "hay_made": "ahead_hay_made", "hay_stored": "ahead_hay_stored", "winter": "ahead_winter",
    "hay_cut": "ahead_hay_cut", "hay_left": "ahead_hay_left", "hay_sold": "ahead_hay_sold",
    "head": "ahead_head", "work": "ahead_work", "money": "ahead_money", "crop": "ahead_crop",
    "wood": "ahead_wood", "wool": "ahead_wool", "carbon": "ahead_carbon", "gas": "ahead_gas",
}  # fmt: skip
POOLS = ("above", "below", "dead", "products")
OF_USE = {"kg": "mass", "m3": "volume", "t": "mass", "ha": "area"}


@dataclass(frozen=True)
class Band:
    """One quantity through the years.

    ``key`` is light, grown, need, hay, head, crop.…, wood.…, wool, carbon.…, gas.…, work, money; ``unit`` is
    that of the figures, one for each of ``years``: those that are told. ``low``, ``likely`` and ``high`` are
    of ``drawn``, for drawing: eight members in ten, and their middle.
    """

    key: str
    name: str
    unit: str
    years: tuple[int, ...]
    figures: tuple[Figure, ...]
    drawn: tuple[int, ...] = field(default=(), repr=False)
    low: tuple[float, ...] = field(default=(), repr=False)
    likely: tuple[float, ...] = field(default=(), repr=False)
    high: tuple[float, ...] = field(default=(), repr=False)

    def words(self, year: int, system: System) -> str:
        """Return the numbers of a year in the units that the farm chose, each linked; a dash if not told."""
        if year not in self.years:
            return say("decades.no_year")
        figure = self.figures[self.years.index(year)]
        likely, low, high = (
            linked(_said(x, self.unit, system), figure) for x in (figure.value, figure.low, figure.high)
        )
        same = likely == low == high
        return likely if same else say("decades.ranged", likely=likely, low=low, high=high)

    def likely_words(self, year: int, system: System) -> str:
        """Return the likely number of a year alone, linked to its figure; a dash if it is not told."""
        if year not in self.years:
            return say("decades.no_year")
        figure = self.figures[self.years.index(year)]
        return linked(_said(figure.value, self.unit, system), figure)


def _said(value: float | None, unit: str, system: System) -> str:
    """Return a number with its unit: shares as percent, masses and volumes in the farm's own units."""
    from browseline.units import plain

    number = value or 0.0
    if UNITS[unit].dimension == "money":
        return amount_words(number, unit)
    if unit == "1":
        return f"{plain(number * PERCENT, 0)} %"
    use = OF_USE.get(unit)
    if use is not None and use in CHOSEN[system] and unit == BASE[use]:
        return shown(number, use, system, 0)
    return f"{plain(number, 0)} {unit}"


def money_band(farm: Farm, ahead: Projection, members: NDArray[np.int64]) -> Band | None:
    """Return what is left of each year of the money plan within the years ahead; None without a plan."""
    from browseline.chain.money_ahead import cash_of

    cash, plan = cash_of(farm, ahead), farm.money
    if cash is None or plan is None:
        return None
    planned = range(plan.first_year, plan.first_year + plan.years)
    both = [year for year in ahead.years if year in planned]
    if not both:
        return None
    values = cash[[year - plan.first_year for year in both]]
    raw = ("money", say("decades.band.money"), plan.currency, values, (Origin("farm", basis="farm"),))
    return band_of(ahead, raw, members, both)


def lean_members(ahead: Projection) -> NDArray[np.int64]:
    """Return the tenth of the members whose leanest ten years in a row grow the least, in order.

    Runs shorter than ten years go by all their years.
    """
    grown = ahead.feed.grown_kg.sum(axis=2)
    length = min(DECADE, len(grown))
    steps = np.cumsum(np.concatenate([np.zeros((1, grown.shape[1])), grown]), axis=0)
    leanest = (steps[length:] - steps[:-length]).min(axis=0)
    count = max(1, grown.shape[1] // DECADE)
    return np.sort(np.argsort(leanest, kind="stable")[:count])


def bands_of(farm: Farm, ahead: Projection, members: NDArray[np.int64]) -> tuple[Band, ...]:
    """Return the bands of a projection over some of its members.

    Parameters
    ----------
    farm : Farm
    ahead : Projection
    members : array of int
        Places of the members.
    """
    trees = (*_made((*ahead.yields, *ahead.fodder), "crop"), *_made(ahead.wood, "wood"))
    made = [*_land(farm, ahead), *own_bands(ahead), *trees, *_wool(ahead), *_air(ahead)]
    if ahead.work_h.any():
        made.append(("work", say("decades.band.work"), "h", ahead.work_h, _work_origins(farm)))
    return tuple(band_of(ahead, one, members) for one in made)


def band_of(
    ahead: Projection, raw: Raw, members: NDArray[np.int64], years: Sequence[int] | None = None
) -> Band:
    """Return the band of one quantity: its key, name, unit, values (year, member) and origins.

    ``years`` are those of the values, by default all that are ahead.
    """
    key, name, unit, values, origins = raw
    of = tuple(ahead.years if years is None else years)
    low, likely, high = (
        tuple(float(x) for x in end) for end in np.quantile(values[:, members], ENDS, axis=1)
    )
    told = range(len(of)) if key in EVERY_YEAR else told_years(len(of) - 1)
    formula = say("decades.formula", members=str(len(members)))
    word = FIGURES[key.partition(".")[0]]
    figures = tuple(
        Figure(word, likely[n], unit, low[n], high[n], origins, formula, about=f"{name}, {of[n]}")
        for n in told
    )
    return Band(key, name, unit, tuple(of[n] for n in told), figures, of, low, likely, high)


def told_years(last: int) -> range:
    """Return the places of the years that are told of a quantity with less room: each tenth, fifth or all."""
    step = DECADE if last >= 2 * DECADE else DECADE // 2 if last >= DECADE else 1
    return range(0, last + 1, step)


def _land(farm: Farm, ahead: Projection) -> Iterator[Raw]:
    """Yield light on the grass of the paddocks with trees, feed, need, hay and head."""
    from browseline.canopy.shade import UNSHADED

    area = np.array([p.area_ha for p in farm.paddocks])
    shaded = (ahead.light.light_frac < UNSHADED).any(axis=(0, 1))
    treed = shaded | (ahead.light.cover_frac > 0).any(axis=(0, 1))
    if treed.any():
        light = ahead.light.light_frac[:, :, treed] @ (area[treed] / area[treed].sum())
        yield ("light", say("decades.band.light"), "1", light, TREES)
    feed = ahead.feed
    grazing = [i for i, (_, kind, _) in enumerate(feed.classes) if kind in GRAZERS]
    found = {
        "grown": feed.grown_kg.sum(axis=2), "need": feed.need_kg.sum(axis=2),
        "hay": feed.hay_kg.sum(axis=2) * feed.grows,
    }  # fmt: skip
    for key, values in found.items():
        if values.any():
            yield (key, say(f"decades.band.{key}"), "kg", values, feed.origins)
    if grazing:
        head = feed.head[:, :, grazing].sum(axis=2)
        yield ("head", say("decades.band.head"), "head", head, (Origin("farm", basis="farm"),))


def _wool(ahead: Projection) -> Iterator[Raw]:
    """Yield the wool of all classes by year, where any was typed."""
    if ahead.wool_kg.any():
        origins = (Origin("farm", basis="farm"),)
        yield ("wool", say("decades.band.wool"), "kg", ahead.wool_kg.sum(axis=2), origins)


def _made(found: Sequence[Yield], kind: str) -> Iterator[Raw]:
    """Yield what trees give, by species and product, plantings together."""
    keys = dict.fromkeys((one.species, one.product, one.unit) for one in found if one.amount.any())
    for species, product, unit in keys:
        own = [one for one in found if (one.species, one.product, one.unit) == (species, product, unit)]
        total = np.sum([one.amount for one in own], axis=0)
        origins = tuple(dict.fromkeys(o for one in own for o in one.origins))
        name = say("decades.band.made", product=product_words(product), species=species_words(species))
        yield (f"{kind}.{species}.{product}", name, unit, total, origins)


def product_words(product: str) -> str:
    """Return how people say a product of trees."""
    key = f"window.product.{product}"
    return say(key) if known(key) else product


def species_words(species: str) -> str:
    """Return how people say a species."""
    from browseline.farm.names import label

    return label("species", species)


def _air(ahead: Projection) -> Iterator[Raw]:
    """Yield what trees and wood hold, pool by pool, and each line of gas by itself: nothing is netted."""
    book = ahead.carbon
    for pool in POOLS:
        own = [stock for (_, name), stock in book.stock_t.items() if name == pool]
        if own and np.any(own):
            yield (f"carbon.{pool}", say(f"decades.band.{pool}"), "t", np.sum(own, axis=0), book.origins)
    for (line, gas), flow in book.flow_kg.items():
        if flow.any():
            name = say("decades.band.gas", line=_line_words(line), gas=gas)
            yield (f"gas.{line}.{gas}", name, "kg", flow, book.origins_of((line, gas)))


def _line_words(line: str) -> str:
    key = f"decades.line.{line}"
    return say(key) if known(key) else line.replace("_", " ")


def _work_origins(farm: Farm) -> tuple[Origin, ...]:
    if farm.money is not None and farm.money.own_hours is not None:
        return (Origin("farm", basis="farm"),)
    from browseline import tables

    rows = [tables.row("labour", key, name) for key, name in tables.table("labour")]
    own = [Origin("farm", basis="farm")] if farm.rules.hay_hours is not None else []
    return tuple(dict.fromkeys((*(Origin(r.source, r.locator, r.basis) for r in rows), *own)))
