"""What the page Decades says beside its numbers: past the tables, no factor, what is planned, soil."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from browseline.decades.form import Projection
from browseline.farm.future import PlannedInput
from browseline.farm.names import label
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.units import factor, plain, shown
from browseline.words import linked, list_words, say

KG_T = factor("kg CO2", "t CO2")
OWN = Origin("farm", basis="farm")


def past_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield which crops go on past the ages that the table knows, and which stock has no factor."""
    names = {p.id: p.name for p in farm.plantings}
    old = dict.fromkeys(names.get(one.planting, one.planting) for one in ahead.yields if one.past_data)
    if old:
        yield say("window.past_data", plantings=list_words(list(old)))
    lacking = dict.fromkeys(_stock(name) for name in ahead.carbon.no_factor)
    if lacking:
        yield say("window.no_factor", stock=list_words(list(lacking)))


def input_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield what is meant to be spread, when, and what each time gives off; or that nothing is planned."""
    from browseline.decades.inputs import lines_of, weight_of

    if not farm.future.inputs:
        yield say("decades.input.none")
    for planned in farm.future.inputs:
        weight = weight_of(planned)
        gases = [
            say(f"decades.input.{line.gas.lower()}", gas=linked(_kilograms(line.amount, farm), line.amount))
            for line in lines_of(farm, planned) if line.amount is not None
        ]  # fmt: skip
        amount, what = linked(planned.amount.text, weight), linked(planned.what, weight)
        year, every = (_typed_year(planned, name) for name in ("year", "every"))
        key = "once" if planned.every is None else "yearly" if planned.every == 1 else "every"
        yield say(f"decades.input.{key}", what=what, amount=amount, year=year, every=every)
        if gases:
            yield say("decades.input.gives", what=what, gases=list_words(gases))
    if ahead.carbon.no_input_factor:
        yield say(
            "decades.input.no_factor",
            names=list_words([linked(name, OWN) for name in ahead.carbon.no_input_factor]),
        )


def _kilograms(figure: Figure, farm: Farm) -> str:
    return shown(figure.value or 0.0, "mass", farm.units, 1)


def _typed_year(planned: PlannedInput, name: str) -> str:
    number, origins = getattr(planned, name), (OWN,)
    if number is None:
        return ""
    return linked(
        f"{number}", Figure(f"input_{name}", float(number), "yr", origins=origins, about=planned.what)
    )


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
