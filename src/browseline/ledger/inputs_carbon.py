"""Gases of what is bought and burned: fuel, lime, urea, nitrogen in fertiliser; what stays outside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby

import numpy as np

from browseline import tables
from browseline.events import Event, Fuelled, Spent, Spread
from browseline.farm.beast_gases import GasLine
from browseline.farm.input_gases import input_lines
from browseline.farm.records import Farm, Paddock
from browseline.figures import NINE_TENTHS, Figure, entered
from browseline.ledger.facts import area_of_all
from browseline.limits import Scene
from browseline.science import carbon
from browseline.units import Quantity, factor

FUELS = {"diesel": "diesel", "petrol": "petrol", "gasoline": "petrol", "gas": "petrol"}
Said = tuple[float, str, date, str]


def fuel_lines(scene: Scene, events: Iterable[Event]) -> tuple[GasLine, ...]:
    """Return the carbon dioxide of fuel on record; a fuel without a factor is a line without an amount."""
    burned: dict[str, list[Said]] = {}
    for event in events:
        if isinstance(event.body, Fuelled):
            burned.setdefault(event.body.fuel.casefold(), []).append(
                _said(scene, event, event.body.amount, "L")
            )
    return tuple(_fuel(name, said) for name, said in sorted(burned.items()))


def _said(scene: Scene, event: Event, amount: Quantity, unit: str) -> Said:
    return amount.to(unit), amount.text, scene.local(event.observed.end).date(), event.who


def _fuel(name: str, said: list[Said]) -> GasLine:
    volume = entered("fuel_used", "L", said, about=name)
    known = FUELS.get(name)
    if known is None:
        return GasLine(f"fuel {name}", "fuel", name, "CO2", None, fossil=True)
    row = tables.row("fuel", "co2_of_fuel", known)
    value = float(carbon.fuel_kg_co2(np.array(volume.value) * factor("L", "gal"), row.middle()))
    formula = f"{volume.value or 0.0:.5g} L ÷ {factor('gal', 'L'):.4g} × {row.middle():g}"
    parts = (volume, row.figure("co2_of_fuel", known))
    made = Figure("fuel_co2", value, "kg CO2", formula=formula, parts=parts, about=name)
    return GasLine(f"fuel {name}", "fuel", name, "CO2", made, fossil=True)


def spread_lines(scene: Scene, events: Iterable[Event]) -> tuple[GasLine, ...]:
    """Return the gases of what was spread: carbon dioxide of lime and urea, nitrous oxide of nitrogen."""
    spread: dict[str, list[Said]] = {}
    for event in events:
        if isinstance(event.body, Spread):
            amount = event.body.amount
            said = _said(scene, event, amount, "kg") if amount is not None else (0.0, "", scene.days[0], "")
            spread.setdefault(event.body.what.casefold(), []).append(said)
    return tuple(line for name, said in sorted(spread.items()) for line in _spread(scene.farm, name, said))


def _spread(farm: Farm, name: str, said: list[Said]) -> Iterator[GasLine]:
    weight = entered("spread_weight", "kg", said, about=name) if all(text for _, text, _, _ in said) else None
    return input_lines(farm, name, weight)


def outside(events: Iterable[Event]) -> tuple[str, ...]:
    """Return what came onto the farm by weight or in bales, whose making is in no line."""
    bought = (e.body for e in events if isinstance(e.body, Spent) and (e.body.bales or e.body.weight))
    return tuple(what for what, _ in groupby(sorted(body.what for body in bought)))


def saved_passes(machine: str, passes: int, paddocks: Iterable[Paddock], fuel: str = "diesel") -> Figure:
    """Return the carbon dioxide of machine passes that grazing stood for: a named baseline, no removal.

    Parameters
    ----------
    machine : str
        As in the table of fuel: *mower (sickle/disk)*.
    """
    area = area_of_all(tuple(paddocks), grazed=False)
    each, burned = tables.row("fuel", "field_fuel", machine), tables.row("fuel", "co2_of_fuel", fuel)
    acres = (area.value or 0.0) * factor("ha", "ac")
    value = float(carbon.fuel_kg_co2(np.array(passes * acres * each.middle()), burned.middle()))
    spread = tables.row("carbon_spread", "relative_sd", "field fuel per pass (table value)")
    half = NINE_TENTHS * spread.middle()
    formula = f"{passes} × {acres:.5g} ac × {each.middle():g} gal × {burned.middle():g}"
    parts = (area, each.figure("field_fuel", machine), burned.figure("co2_of_fuel", fuel))
    return Figure("saved_co2", value, "kg CO2", value * (1 - half), value * (1 + half),
                  formula=formula, parts=parts, about=machine)  # fmt: skip
