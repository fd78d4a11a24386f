"""Fertility: what pairs of heights without grazing between them say of how well a paddock grows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from browseline.events import When
from browseline.farm.records import Farm, Paddock
from browseline.figures import Figure, Origin
from browseline.record.state import HeightRead, State
from browseline.science import forage, grazing
from browseline.sward import Growing, SwardNumbers, sward_numbers
from browseline.sward.start import mass_per_height_of, reading_error_kg_ha

Array = NDArray[np.float64]
LEAST_DAYS = 3


@dataclass(frozen=True)
class Interval:
    """Two heights of a paddock with neither stock nor a cut between them, as mass. [kg DM/ha]"""

    first: date
    last: date
    start_kg_ha: float
    end_kg_ha: float
    error_kg_ha: float


def taught(farm: Farm, state: State, growing: Growing | None) -> Mapping[str, Figure]:
    """Return the fertility factor that each paddock's own heights teach, with its standard error.

    Paddocks without a usable pair of heights, or a farm without weather, say nothing and keep the
    prior. ``low`` and ``high`` of the figure stand one standard error away.

    References
    ----------
    forage.md 1.3: the ratio estimator shrunk to the prior
    """
    if growing is None:
        return {}
    zone = ZoneInfo(farm.time_zone)
    out = {}
    for paddock in farm.paddocks:
        numbers = sward_numbers(farm, paddock)
        spans = intervals(state, paddock, numbers, zone, growing)
        if spans:
            out[paddock.id] = _fitted(paddock, numbers, spans, growing)
    return out


def intervals(
    state: State, paddock: Paddock, numbers: SwardNumbers, zone: ZoneInfo, growing: Growing
) -> list[Interval]:
    """Return the pairs of following heights between which the paddock only grew."""
    heights = sorted((h for h in state.heights if h.paddock == paddock.id), key=lambda h: h.at.end)
    out = []
    for before, after in pairwise(heights):
        first, last = (h.at.end.astimezone(zone).date() for h in (before, after))
        short = (last - first).days < LEAST_DAYS or first < growing.first
        if short or _used(state, paddock.id, before.at, after.at):
            continue
        start, end = (_mass(numbers, h) for h in (before, after))
        error = float(np.hypot(reading_error_kg_ha(before.readings), reading_error_kg_ha(after.readings)))
        out.append(Interval(first, last, start, end, error))
    return out


def _mass(numbers: SwardNumbers, read: HeightRead) -> float:
    return read.height.to("cm") * (mass_per_height_of(numbers, read).value or 0.0)


def _used(state: State, paddock: str, before: When, after: When) -> bool:
    """Return whether animals or a mower were there between two heights."""
    grazed = any(
        stay.place == paddock
        and not stay.planned
        and stay.begin.start < after.start
        and (stay.end is None or stay.end.end > before.end)
        for stay in state.stays
    )
    cuts = (c for c in state.cuts if paddock in (c.place, c.paddock))
    return grazed or any(before.end < c.at.end < after.start for c in cuts)


def _fitted(paddock: Paddock, numbers: SwardNumbers, spans: list[Interval], growing: Growing) -> Figure:
    prior = numbers.fertility
    sd = ((prior.high or 0.0) - (prior.low or 0.0)) / 2 or 1e-6
    observed = [span.end_kg_ha - span.start_kg_ha for span in spans]
    errors = [span.error_kg_ha for span in spans]
    runs = [_days(growing, paddock.id, span) for span in spans]

    def gains(fertility: float) -> Array:
        return np.array(
            [_gain(span, fertility, numbers, *run, growing) for span, run in zip(spans, runs, strict=True)]
        )

    mean, error = forage.fit_fertility(gains, observed, errors, (prior.value or 0.0, sd))
    origin = Origin("farm", basis="farm", note=f"{len(spans)}")
    return Figure(
        "fertility", mean, "1", mean - error, mean + error, origins=(origin,), parts=(prior,),
        as_of=spans[-1].last, about=paddock.id,
    )  # fmt: skip


def _days(growing: Growing, paddock: str, span: Interval) -> tuple[Array, Array]:
    """Return the mean potential (day, group) and loss (day,) of the days between two heights."""
    days = growing.slice(span.first, (span.last - span.first).days)
    curve = growing.curve_of[paddock]
    return (
        np.ascontiguousarray(days.potential_kg_ha_d[curve].mean(axis=0)),
        np.ascontiguousarray(days.loss_per_d[curve].mean(axis=0)),
    )


def _gain(
    span: Interval, fertility: float, numbers: SwardNumbers, potential: Array, loss: Array, growing: Growing
) -> float:
    """Return what the model adds between two heights at a fertility. [kg DM/ha]"""
    days = len(loss)
    nothing, never, unknown = np.zeros(days), np.full(days, np.inf), np.full(days, np.nan)
    share = np.array(numbers.shares)
    run = grazing.one_paddock(
        span.start_kg_ha, nothing, 0.0, never, unknown, fertility, potential, loss, share, growing.leaf
    )
    return float(run.mass_kg_ha[-1] - span.start_kg_ha)
