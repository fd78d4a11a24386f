"""Gases of the animals that the years ahead carry, by line: the same factors a head as the carbon book's."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.decades.draws_ahead import chances, luck
from browseline.decades.form import FeedAhead
from browseline.farm.beast_gases import YEAR_D, GasLine, Present, animal_lines, head_years
from browseline.farm.factors import EDITION
from browseline.farm.records import Farm, Line, Mob
from browseline.figures import Figure, Origin
from browseline.record.state import HeadLine, State
from browseline.science import spread
from browseline.units import Quantity

Array = npt.NDArray[np.float64]
TIER_1, TIER_2 = "enteric EF Tier 1", "enteric EF Tier 2"
FITS = {"dung_water": ("FracLEACH", "EF5")}
"""Skewed factors of a line whose edition has a fit; that of dung where it lies goes by kind."""
NO_SHEEP = ("cattle", "pig", "chicken")


@dataclass(frozen=True)
class Air:
    """Gases by (line, gas), shape (year, member) [kg]; classes without a factor by line, and where from."""

    flow_kg: Mapping[tuple[str, str], Array]
    no_factor: tuple[str, ...]
    origins: tuple[Origin, ...]


def beast_air(farm: Farm, state: State, feed: FeedAhead, members: Sequence[int]) -> Air:
    """Return the gases of the stock carried, their factors drawn once a member for all animals and years."""
    shape = feed.head.shape[:2]
    flows: dict[tuple[str, str], Array] = {}
    lacking: list[str] = []
    origins: list[Origin] = []
    for column, (mob, kind, klass) in enumerate(feed.classes):
        share = share_of_year(farm, mob)
        for line in animal_lines(farm, _one_head(state, farm, mob, kind, klass)):
            if line.amount is None or line.amount.value is None:
                lacking.append(f"{line.line}: {kind}, {klass}")
                continue
            factor = _factor(farm, line, kind, members)
            kilograms = feed.head[:, :, column] * share * line.amount.value * factor[None, :]
            key = (line.line, line.gas)
            flows[key] = flows.get(key, np.zeros(shape)) + kilograms
            origins += books(line.amount)
    return Air(flows, tuple(dict.fromkeys(lacking)), tuple(dict.fromkeys(origins)))


def share_of_year(farm: Farm, mob: str) -> float:
    """Return the share of a year in which a mob is there, by the days of the farm's file. [1]"""
    own = farm.mob(mob)
    if own is None or (own.from_day is None and own.to_day is None):
        return 1.0
    first = own.from_day.timetuple().tm_yday - 1 if own.from_day is not None else 0
    end = own.to_day.timetuple().tm_yday - 1 if own.to_day is not None else int(YEAR_D)
    return ((end - first) % YEAR_D or YEAR_D) / YEAR_D


def _one_head(state: State, farm: Farm, mob: str, kind: str, klass: str) -> Present:
    """Return one animal of a class over one year, with its weight where it was typed."""
    head = head_years(kind, klass, 1.0, YEAR_D, Origin("farm", "record"))
    return Present(kind, klass, head, _weight(state, farm.mob(mob), mob, klass))


def _weight(state: State, typed: Mob | None, mob: str, klass: str) -> Quantity | None:
    lines: list[HeadLine | Line] = [line for one in state.living() if one.id == mob for line in one.lines]
    lines += typed.lines if typed is not None else ()
    return next((x.weight for x in lines if x.klass == klass and x.weight is not None), None)


def _factor(farm: Farm, line: GasLine, kind: str, members: Sequence[int]) -> Array:
    """Return the error of a line's factors by member, about 1, shape (member,). [1]"""
    if line.line == "enteric":
        by_diet = line.amount is not None and line.amount.name == "methane_belched_diet"
        case = TIER_2 if by_diet else TIER_1
        sd = tables.row("carbon_spread", "relative_sd", case).middle()
        return np.maximum(1.0 + sd * luck(farm.seed, f"carbon.{case}", members), 0.0)
    if (farm.carbon.edition or EDITION) != EDITION:
        return np.ones(len(members))
    cases = [*FITS.get(line.line, ()), *([_lies(farm, kind)] if line.line == "dung_n" else [])]
    parts = [skewed(case, farm.seed, members) for case in cases]
    return np.asarray(np.prod(parts, axis=0)) if parts else np.ones(len(members))


def _lies(farm: Farm, kind: str) -> str:
    """Return the fit of nitrous oxide from dung where it lies."""
    where = (farm.carbon.climate or "aggregated").partition(" ")[0]
    return f"EF3PRP cattle {where}" if kind in NO_SHEEP else "EF3PRP sheep"


def skewed(case: str, seed: int, members: Sequence[int]) -> Array:
    """Return draws of a lognormal factor over its mean, shape (member,). [1]"""
    mu, sd = (tables.row("carbon_spread", key, case).middle() for key in ("log_mu", "log_sd"))
    points = spread.lognormal_point(mu, sd, chances(seed, f"carbon.{case}", members))
    return np.asarray(points / spread.lognormal_mean(mu, sd))


def books(figure: Figure) -> Iterator[Origin]:
    """Yield the sources of a figure and of all its parts, but not what the farm typed."""
    for origin in figure.origins:
        if origin.source != "farm":
            yield origin
    for part in figure.parts:
        yield from books(part)
