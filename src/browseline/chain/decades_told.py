"""What the page Decades says beside its numbers: past the tables, no factor, what is planned, soil."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain

import numpy as np

from browseline.decades.form import Projection, Yield
from browseline.farm.beast_gases import GasLine
from browseline.farm.future import LeafCut, PlannedInput
from browseline.farm.herd_words import class_words
from browseline.farm.names import label
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin
from browseline.record.state import State
from browseline.units import factor, plain, shown
from browseline.words import linked, list_words, say

KG_T = factor("kg CO2", "t CO2")
OWN = Origin("farm", basis="farm")
ENDS = (0.1, 0.5, 0.9)
ALL = 1e-6


def past_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield which crops go on past the ages that the table knows, and which stock has no factor."""
    names = {p.id: p.name for p in farm.plantings}
    old = dict.fromkeys(names.get(one.planting, one.planting) for one in ahead.yields if one.past_data)
    if old:
        yield say("window.past_data", plantings=list_words(list(old)))
    lacking = dict.fromkeys(_stock(name) for name in ahead.carbon.no_factor)
    if lacking:
        yield say("window.no_factor", stock=list_words(list(lacking)))


def fodder_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield the leaf that trees give by the farm's own word and the next cut, or that none is typed."""
    from browseline.decades.fodder import cuts_of, each_of

    if farm.plantings and not farm.future.fodder:
        yield say("decades.fodder.none")
    for name, cut in cuts_of(farm):
        each = linked(cut.each.text, each_of(cut))
        age, every = _typed("leaf_age", cut.from_age, name), _typed("leaf_every", cut.every, name)
        key = "yearly" if cut.every == 1 else "every"
        yield say(f"decades.fodder.{key}", planting=name, each=each, age=age, every=every)
        if cut.month is None:
            yield say("decades.fodder.not_fed")
        else:
            yield say("decades.fodder.fed", month=say(f"dates.month.{cut.month}"))
    names = {p.id: p.name for p in farm.plantings}
    for leaf in ahead.fodder:
        yield from _next_cut(leaf, names[leaf.planting], ahead.years, farm)
    yield from chain.from_iterable(_off_the_tree(farm, ahead, name, cut) for name, cut in cuts_of(farm))


def _next_cut(leaf: Yield, name: str, years: Sequence[int], farm: Farm) -> Iterator[str]:
    """Yield what the next cut of a planting gives: bands of every tenth year may miss it."""
    due = np.flatnonzero(leaf.amount.any(axis=1))
    if not len(due):
        return
    low, likely, high = (float(x) for x in np.quantile(leaf.amount[due[0]], ENDS))
    formula = say("decades.formula", members=str(leaf.amount.shape[1]))
    figure = Figure("ahead_leaf", likely, "kg", low, high, leaf.origins, formula, about=name)
    told = [linked(shown(x, "mass", farm.units, 0), figure) for x in (likely, low, high)]
    year = linked(f"{years[due[0]]}", figure)
    yield say("decades.fodder.next", planting=name, year=year, likely=told[0], low=told[1], high=told[2])


def _off_the_tree(farm: Farm, ahead: Projection, name: str, cut: LeafCut) -> Iterator[str]:
    """Yield what share of a tree's leaf the next cut takes, in the light and in the carbon."""
    from browseline.decades.leaf_cut import cut_share, origins

    share = cut_share(farm, ahead.sizes, cut)
    due = np.flatnonzero(share.any(axis=1))
    if not len(due):
        return
    low, likely, high = (float(x) for x in np.quantile(share[due[0]], ENDS))
    planting = next(p for p in farm.plantings if p.id == cut.planting)
    formula, where = say("decades.formula", members=str(share.shape[1])), (OWN, *origins(farm, planting))
    figure = Figure("leaf_share", likely, "1", low, high, where, formula, about=name)
    told = linked(f"{plain(likely * factor('1', '%'), 0)} %", figure)
    yield say("decades.fodder.off_the_tree", share=told)
    off_map = (
        cut.month is None or planting.paddock in ahead.light.stand_in or not ahead.light.error_frac.any()
    )
    yield say("decades.fodder.no_lighter" if off_map else "decades.fodder.lighter")
    if likely >= 1 - ALL:
        yield say("decades.fodder.all_leaf")


def wool_words(farm: Farm, state: State, ahead: Projection) -> Iterator[str]:
    """Yield the wool of a head by class as it is typed, and whose wool nobody typed."""
    from browseline.decades.wool import each_of, not_typed, typed_line

    lines = dict.fromkeys(
        line for own in ahead.feed.classes if (line := typed_line(farm, state, *own)) is not None
    )
    for line in lines:
        if line.wool is not None:
            each = linked(line.wool.text, each_of(line))
            yield say("decades.wool.each", klass=class_words(line.klass, 2), each=each)
    none = [class_words(klass, 2) for klass in not_typed(farm, state, ahead.feed)]
    if none:
        yield say("decades.wool.none", classes=list_words(none))


def input_words(farm: Farm, ahead: Projection) -> Iterator[str]:
    """Yield what is meant to be spread, when, and what each time gives off; or that nothing is planned."""
    from browseline.decades.inputs import lines_of, weight_of

    if not farm.future.inputs:
        yield say("decades.input.none")
    for planned in farm.future.inputs:
        weight = weight_of(planned)
        gases = [
            _gas(line, line.amount, farm)
            for line in lines_of(farm, planned) if line.amount is not None
        ]  # fmt: skip
        amount, what = linked(planned.amount.text, weight), linked(planned.what, weight)
        year = _typed("input_year", planned.year, planned.what)
        every = _typed("input_every", planned.every, planned.what)
        yield say(f"decades.input.{_often(planned)}", what=what, amount=amount, year=year, every=every)
        if gases:
            yield say("decades.input.gives", what=what, gases=list_words(gases))
    if ahead.carbon.no_input_factor:
        yield say(
            "decades.input.no_factor",
            names=list_words([linked(name, OWN) for name in ahead.carbon.no_input_factor]),
        )


def _often(planned: PlannedInput) -> str:
    if planned.every is None:
        return "entered" if planned.entered else "once"
    return "yearly" if planned.every == 1 else "every"


def _gas(line: GasLine, amount: Figure, farm: Farm) -> str:
    told = linked(_kilograms(amount, farm), amount)
    if line.gas == "N2O":
        return say("decades.input.n2o", gas=told, line=say(f"decades.line.{line.line}"))
    return say("decades.input.co2", gas=told)


def _kilograms(figure: Figure, farm: Farm) -> str:
    return shown(figure.value or 0.0, "mass", farm.units, 1)


def _typed(name: str, number: int | None, about: str) -> str:
    """Return years as they were typed, linked; nothing where none were."""
    if number is None:
        return ""
    return linked(f"{number}", Figure(name, float(number), "yr", origins=(OWN,), about=about))


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
