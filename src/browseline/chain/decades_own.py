"""Own hay, bales in store and grass kept for winter in the years ahead: their bands and sentences."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from browseline.decades.form import OwnFeed, Projection
from browseline.farm.own_hay import NEEDED, SOLD_PRICE, not_said, sale_price
from browseline.farm.records import Farm, Promise
from browseline.figures import Figure, Origin, typed
from browseline.units import amount_words, factor, plain, shown
from browseline.words import linked, list_words, say

Array = NDArray[np.float64]
Members = NDArray[np.int64]
Raw = tuple[str, str, str, Array, tuple[Origin, ...]]
"""A band before its members are drawn together: key, name, unit, values (year, member), origins."""
ENDS = (0.1, 0.5, 0.9)
PERCENT = factor("1", "%")
OWN = Origin("farm", basis="farm")
LOSSES = ("store_loss", "feeding_loss")
BOUGHT = ("hay", "hay bought")
"""What a line of money follows that buys the hay which is still short."""


def own_bands(ahead: Projection) -> Iterator[Raw]:
    """Yield what is eaten of own hay, of bales in store and of kept grass, the area cut, and what is left."""
    feed, own = ahead.feed, ahead.feed.own
    if own is None:
        return
    origins = (*feed.origins, *own.origins)
    found = {
        "hay_made": (own.hay_kg.sum(axis=2), "kg"), "hay_stored": (own.store_kg.sum(axis=2), "kg"),
        "winter": (own.winter_kg.sum(axis=2), "kg"), "hay_cut": (own.cut_ha, "ha"),
        "hay_left": (own.over_kg * (own.makes or own.winter), "kg"), "hay_sold": (own.sold_kg, "kg"),
    }  # fmt: skip
    for key, (values, unit) in found.items():
        if values.any():
            yield (key, say(f"decades.band.{key}"), unit, values, tuple(dict.fromkeys(origins)))


def own_words(farm: Farm, ahead: Projection, members: Members) -> Iterator[str]:
    """Yield how own hay, bales in store and kept grass are counted, or what is missing to count them."""
    own = ahead.feed.own
    if own is not None and own.bales_kg > 0:
        yield _bales(farm, own)
    if own is not None and own.makes:
        yield _made(farm, ahead, own, members)
        yield from _hours(farm, ahead, own, members)
        yield from _not_lost(farm)
        yield _sold(farm, ahead, own, members)
        if farm.money is not None and not any(line.follows in BOUGHT for line in farm.money.lines):
            yield say("decades.own.plan_buys")
    elif ahead.feed.grows:
        yield from _missing(farm)
    if own is not None and own.winter:
        yield _winter(farm, ahead, own, members)


def _over_years(
    ahead: Projection, name: str, of: Array, unit: str, members: Members, parts: tuple[Figure, ...] = ()
) -> Figure:
    """Return a quantity of a year over all years and members: the middle, and eight in ten."""
    low, likely, high = (float(x) for x in np.quantile(of[:, members], ENDS))
    formula = say("decades.formula_years", years=str(len(ahead.years)), members=str(len(members)))
    return Figure(name, likely, unit, low, high, ahead.feed.origins, formula, parts=parts)


def _bales(farm: Farm, own: OwnFeed) -> str:
    kg = Figure("ahead_bales", own.bales_kg, "kg", origins=(OWN,), formula=say("decades.own.bales_formula"))
    month = say(f"dates.month.{own.first + 1}")
    return say("decades.own.bales", mass=linked(shown(own.bales_kg, "mass", farm.units, 0), kg), month=month)


def _made(farm: Farm, ahead: Projection, own: OwnFeed, members: Members) -> str:
    area = _over_years(ahead, "ahead_hay_cut", own.cut_ha, "ha", members)
    made = _over_years(ahead, "ahead_hay_made_all", own.made_kg, "kg", members, _shares(farm))
    cost = _cost(farm, area)
    return say(
        "decades.own.made",
        area=linked(shown(area.value or 0.0, "area", farm.units, 1), area),
        mass=linked(shown(made.value or 0.0, "mass", farm.units, 0), made),
        cost=linked(amount_words(cost.value or 0.0, cost.unit), cost),
    )


def _shares(farm: Farm) -> tuple[Figure, ...]:
    """Return the losses that were typed: in the field, in store, in feeding."""
    rules, lot = farm.rules, farm.hay[0] if farm.hay else None
    said = [("hay_field_loss", rules.hay_field_loss, "")]
    said += [(name, getattr(lot, name), lot.id) for name in LOSSES] if lot is not None else []
    return tuple(typed(n, x.to("1"), "1", x.text, about=about) for n, x, about in said if x is not None)


def _cost(farm: Farm, area: Figure) -> Figure:
    """Return what making hay costs in the middle year: the area cut at what a cut costs."""
    by_area = farm.rules.hay_pass
    usd_ha = by_area.to("USD/ha") if by_area is not None else 0.0
    text = by_area.text if by_area is not None else ""
    each = typed("hay_pass", usd_ha, "USD/ha", text)
    formula = f"{area.value or 0.0:.4g} ha × {usd_ha:.5g} USD/ha"
    return Figure("ahead_hay_cost", (area.value or 0.0) * usd_ha, "USD", formula=formula, parts=(area, each))


def _hours(farm: Farm, ahead: Projection, own: OwnFeed, members: Members) -> Iterator[str]:
    """Yield the hours of making hay in the middle year, or that nobody typed any; nothing if in all work."""
    by_area = farm.rules.hay_hours
    if farm.money is not None and farm.money.own_hours is not None:
        return
    if by_area is None:
        yield say("decades.own.no_hours")
        return
    each = typed("hay_hours", by_area.to("h/ha"), "h/ha", by_area.text)
    hours = _over_years(ahead, "ahead_hay_hours", own.cut_ha * (each.value or 0.0), "h", members, (each,))
    yield say("decades.own.hours", hours=linked(f"{plain(hours.value or 0.0, 0)} h", hours))


def _sold(farm: Farm, ahead: Projection, own: OwnFeed, members: Members) -> str:
    """Return what hay is sold in the middle year, or that nobody typed a price for any."""
    price = sale_price(farm)
    if price is None:
        return say("decades.own.not_sold")
    sold = _over_years(ahead, "ahead_hay_sold_all", own.sold_kg, "kg", members, (price,))
    text = next(x.text for item, x in farm.prices if item == SOLD_PRICE)
    mass = linked(shown(sold.value or 0.0, "mass", farm.units, 0), sold)
    return say("decades.own.sold", mass=mass, price=linked(text, price))


def _not_lost(farm: Farm) -> Iterator[str]:
    """Yield which losses nobody typed: they take nothing off, and that is said."""
    lot = farm.hay[0] if farm.hay else None
    missing = [name for name in LOSSES if lot is None or getattr(lot, name) is None]
    if missing:
        yield say("decades.own.not_lost", losses=list_words(say(f"decades.own.{name}") for name in missing))


def _missing(farm: Farm) -> Iterator[str]:
    """Yield what is missing to count own hay, where the farm began to say it or promised ground for it."""
    missing = not_said(farm.rules)
    begun = len(missing) < len(NEEDED) or _promised(farm, "hay")
    if missing and begun:
        words = list_words(say(f"moves.cut.missing.{name}") for name in missing)
        yield say("decades.own.missing", missing=words)


def _promised(farm: Farm, kind: str) -> tuple[Promise, ...]:
    return tuple(promise for promise in farm.promises if promise.kind == kind and promise.paddocks)


def _winter(farm: Farm, ahead: Projection, own: OwnFeed, members: Members) -> str:
    from browseline.decades.own_ways import standing_loss

    named = dict.fromkeys(place for promise in _promised(farm, "stockpile") for place in promise.paddocks)
    names = [p.name for p in farm.paddocks if any(place in named for place in (p.id, *p.parents))]
    eaten = _over_years(ahead, "ahead_winter", own.winter_kg.sum(axis=2), "kg", members)
    loss = standing_loss().figure("standing_loss")
    return say(
        "decades.own.winter", paddocks=list_words(names),
        mass=linked(shown(eaten.value or 0.0, "mass", farm.units, 0), eaten),
        loss=linked(f"{plain((loss.value or 0.0) * PERCENT, 1)} %", loss),
    )  # fmt: skip
