"""Gases of what is meant to be spread in the years ahead: the carbon book's equations on planned weights."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from browseline.decades.beast_air import FITS, books, skewed
from browseline.farm.beast_gases import GasLine
from browseline.farm.factors import EDITION
from browseline.farm.future import PlannedInput
from browseline.farm.input_gases import input_lines
from browseline.farm.records import Farm
from browseline.figures import Figure, Origin, typed

Array = npt.NDArray[np.float64]
Line = tuple[str, str]
RECORD = Origin("farm", "record", basis="farm")
SAME_FACTORS = {"fertiliser_water": "dung_water"}
"""Lines whose factors are those of another line: their errors are one draw."""


@dataclass(frozen=True)
class InputAir:
    """Gases by (line, gas), shape (year, member) [kg], where each is from, and what has no factor."""

    flow_kg: Mapping[Line, Array]
    origins: Mapping[Line, tuple[Origin, ...]]
    no_factor: tuple[str, ...]


def input_air(farm: Farm, years: Sequence[int], members: Sequence[int]) -> InputAir:
    """Return the gases of what is meant to be spread; nothing planned gives no line.

    Parameters
    ----------
    farm : Farm
        With ``future.inputs``.
    years, members : sequence of int
        Calendar years. [yr]
    """
    flows: dict[Line, Array] = {}
    origins: dict[Line, tuple[Origin, ...]] = {}
    lacking: list[str] = []
    for planned in farm.future.inputs:
        falls = np.array([float(planned.falls(year)) for year in years])
        for line in lines_of(farm, planned):
            if line.amount is None or line.amount.value is None:
                lacking.append(planned.what)
                continue
            key = (line.line, line.gas)
            each = line.amount.value * _error(farm, line, members)
            flows[key] = flows.get(key, np.zeros((len(years), len(members)))) + falls[:, None] * each
            origins[key] = tuple(dict.fromkeys((*origins.get(key, ()), *books(line.amount))))
    return InputAir(flows, origins, tuple(dict.fromkeys(lacking)))


def lines_of(farm: Farm, planned: PlannedInput) -> tuple[GasLine, ...]:
    """Return the gases of one time that something is spread, each opening to its factors."""
    return tuple(input_lines(farm, planned.what.casefold(), weight_of(planned)))


def weight_of(planned: PlannedInput) -> Figure:
    """Return the weight of one time as it is typed. [kg]"""
    amount = planned.amount
    made = typed("spread_weight", amount.to("kg"), "kg", amount.text, about=planned.what.casefold())
    return replace(made, origins=(RECORD,), typed="") if planned.entered else made


def _error(farm: Farm, line: GasLine, members: Sequence[int]) -> Array:
    """Return the error of a line's factors by member, about 1, shape (member,). [1]

    The draws of a factor are those that the gases of dung take: one factor, one error.
    """
    cases = FITS.get(SAME_FACTORS.get(line.line, ""), ())
    if not cases or (farm.carbon.edition or EDITION) != EDITION:
        return np.ones(len(members))
    return np.asarray(np.prod([skewed(case, farm.seed, members) for case in cases], axis=0))
