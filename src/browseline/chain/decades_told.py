"""What the page Decades says of where its numbers end: trees past the tables, no factor, soil by the book."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from browseline.decades.form import Projection
from browseline.farm.names import label
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.units import factor, plain
from browseline.words import linked, list_words, say

KG_T = factor("kg CO2", "t CO2")


def past_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield which crops go on past the ages that the table knows, and which stock has no factor."""
    names = {p.id: p.name for p in farm.plantings}
    old = dict.fromkeys(names.get(one.planting, one.planting) for one in ahead.yields if one.past_data)
    if old:
        yield say("window.past_data", plantings=list_words(list(old)))
    lacking = dict.fromkeys(_stock(name) for name in ahead.carbon.no_factor)
    if lacking:
        yield say("window.no_factor", stock=list_words(list(lacking)))


def _stock(name: str) -> str:
    """Return whose gas has no factor: *enteric: chicken, hens* is hens."""
    kind, _, klass = name.partition(": ")[2].partition(", ")
    return f"{label('kind', kind)} ({klass})" if klass else label("kind", kind)


def soil_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield what the book says of soil whose use changes, apart from every line; nothing unless asked."""
    asked, flow = farm.future.soil, ahead.carbon.soil_book_kg
    if asked is None or flow is None:
        return
    yearly = float(-flow[np.argmax(np.abs(flow))]) * KG_T
    origins = (Origin("ipcc2006_v4_ch02", "Eq 2.25", "published-copy"),)
    figure = Figure("soil_projected", yearly, "t CO2", origins=origins, about=asked.stock)
    yield say("window.soil_book", amount=linked(plain(yearly, 1), figure), year=asked.year, stock=asked.stock)
