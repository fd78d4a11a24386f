"""Decisions with the years in which they are open: thin, guards, hay, light, first harvest, leases."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import TreeSizes, planting_cover
from browseline.decades.form import FeedAhead, LightAhead, Window, WindowKind, Yield
from browseline.farm.records import Farm, Planting
from browseline.units import factor, plain, shown
from browseline.words import say

Array = npt.NDArray[np.float64]
LIGHT_LEVELS = (0.9, 0.75)
"""Shares of open light below which a paddock is told: those that people plan with."""
FIRST_YEARS = 5
MOST_MEMBERS = 0.5
"""Share of members in which hay must run short for a window: a lean stretch comes to some by luck alone."""
LOW, HIGH = 0.1, 0.9
PERCENT = factor("1", "%")


def windows_ahead(
    farm: Farm, sizes: TreeSizes, light: LightAhead, feed: FeedAhead, yields: Sequence[Yield]
) -> tuple[Window, ...]:
    """Return every window that opens within the years, in order of its likely year.

    Ends are those of eight members in ten that see it at all; ``share`` says how many do.
    """
    found = [
        *_thinning(farm, sizes), *_guards(farm, sizes, feed), *_hay(sizes, feed),
        *_light(farm, sizes, light), *_harvest(farm, yields), *_leases(farm, yields),
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda window: (window.likely, window.kind, window.about)))


def first_years(true: npt.NDArray[np.bool_], years: Sequence[int]) -> Array:
    """Return the first year in which something holds, by member; NaN where it never does. [yr]

    Parameters
    ----------
    true : bool array, shape (year, member)
    years : sequence of int
    """
    first = np.array(years, dtype=np.float64)[np.argmax(true, axis=0)]
    return np.where(true.any(axis=0), first, np.nan)


def _window(kind: WindowKind, about: str, opens: Array, closes: Array, because: str) -> Iterator[Window]:
    """Yield a window from the years by member in which it opens and closes; nothing where it never comes."""
    comes = np.isfinite(closes)
    if not comes.any():
        return
    begun = np.where(np.isfinite(opens), np.minimum(opens, closes), closes)[comes]
    first, likely, last = (
        round(float(np.quantile(x, q, method="nearest")))
        for x, q in ((begun, LOW), (closes[comes], 0.5), (closes[comes], HIGH))
    )
    yield Window(kind, about, min(first, likely), likely, max(last, likely), float(comes.mean()), because)


def _thinning(farm: Farm, sizes: TreeSizes) -> Iterator[Window]:
    """Yield from crowns that meet in the row up to the share of cover at which thinning is due."""
    due = tables.row("trees", "thin_near", "canopy closure")
    most = due.middle() * factor(due.unit, "1")
    for planting in farm.plantings:
        cover = planting_cover(sizes, planting)
        if cover is None or planting.spacing is None:
            continue
        if cover.union[0].min() >= most:
            continue
        meet = np.nan_to_num(sizes.mean("crown_m", planting.id)) >= planting.spacing.to("m")
        opens, closes = first_years(meet, sizes.years), first_years(cover.union >= most, sizes.years)
        because = say("window.thin", share=plain(due.middle(), 0), spacing=planting.spacing.text)
        yield from _window("thin", planting.id, opens, closes, because)


def _guards(farm: Farm, sizes: TreeSizes, feed: FeedAhead) -> Iterator[Window]:
    """Yield the years in which trees grow clear of the stock carried: till then they need a guard."""
    kinds = tuple(dict.fromkeys(kind for _, kind, _ in feed.classes))
    tall, thick = (_largest(key, kinds) for key in ("clear_height", "clear_stem"))
    for planting in farm.plantings:
        if not kinds or not sizes.of(planting.id) or (tall <= 0 and thick <= 0):
            continue
        clear = _clear(sizes, planting, tall, thick)
        if clear[0].all():
            continue
        closes = first_years(clear, sizes.years)
        because = say("window.guards", **_size(farm, tall, thick))
        yield from _window("guards", planting.id, closes, closes, because)


def _size(farm: Farm, tall_m: float, thick_cm: float) -> dict[str, str]:
    """Return height and stem in the farm's own units."""
    return {"height": shown(tall_m, "distance", farm.units), "stem": shown(thick_cm, "length", farm.units)}


def _clear(sizes: TreeSizes, planting: Planting, tall_m: float, thick_cm: float) -> npt.NDArray[np.bool_]:
    height = np.nan_to_num(sizes.mean("height_m", planting.id))
    stem = np.nan_to_num(sizes.mean("stem_cm", planting.id))
    return np.asarray((height >= tall_m) & (stem >= thick_cm))


def _largest(key: str, kinds: Sequence[str]) -> float:
    """Return the largest figure of the table for some kinds, the cautious one (K12). [m, or cm of a stem]"""
    unit = "cm" if key == "clear_stem" else "m"
    rows = [tables.row("browsing", key, name) for name in tables.applies("browsing", key)]
    return max((r.middle() * factor(r.unit, unit) for r in rows if r.applies_to in kinds), default=0.0)


def _hay(sizes: TreeSizes, feed: FeedAhead) -> Iterator[Window]:
    """Yield the years from which five years' mean hay is more than any of the first five years asked for."""
    hay = feed.hay_kg.sum(axis=2)
    if len(hay) <= FIRST_YEARS or not hay.any() or not feed.grows:
        return
    most = hay[:FIRST_YEARS].max(axis=0)
    steps = np.cumsum(np.concatenate([np.zeros((1, hay.shape[1])), hay]), axis=0)
    mean = (steps[FIRST_YEARS:] - steps[:-FIRST_YEARS]) / FIRST_YEARS
    gap = np.concatenate([np.zeros((FIRST_YEARS - 1, hay.shape[1]), dtype=bool), mean > most[None, :]])
    closes = first_years(gap, sizes.years)
    if np.isfinite(closes).mean() >= MOST_MEMBERS:
        yield from _window("hay_gap", "", closes, closes, say("window.hay_gap", years=FIRST_YEARS))


def _light(farm: Farm, sizes: TreeSizes, light: LightAhead) -> Iterator[Window]:
    treed = {planting.paddock for planting in farm.plantings}
    for column, paddock in enumerate(light.paddocks):
        own = farm.paddock(paddock)
        if own is None or not treed & {paddock, *own.parents}:
            continue
        for level in LIGHT_LEVELS:
            low = light.light_frac[:, :, column] < level
            closes = first_years(low, sizes.years)
            because = say("window.light", share=plain(level * PERCENT, 0))
            if not low[0].all():
                yield from _window("light", paddock, closes, closes, because)


def _harvest(farm: Farm, yields: Sequence[Yield]) -> Iterator[Window]:
    for crop in yields:
        if _harvested(farm, crop.planting):
            because = say("window.harvest", product=say(f"window.product.{crop.product}"))
            yield from _window("harvest", crop.planting, crop.first, crop.first, because)


def _harvested(farm: Farm, planting: str) -> bool:
    return any(p.id == planting and p.harvested for p in farm.plantings)


def _leases(farm: Farm, yields: Sequence[Yield]) -> Iterator[Window]:
    """Yield a lease that ends before the first harvest of trees on its ground, for some members at least."""
    harvested = {planting.id: planting.paddock for planting in farm.plantings if planting.harvested}
    leases = [promise for promise in farm.promises if promise.kind == "lease"]
    for lease, crop in product(leases, (y for y in yields if y.planting in harvested)):
        if not lease.paddocks or harvested[crop.planting] in lease.paddocks:
            yield from _too_short(lease.what, lease.last_day.year, crop)


def _too_short(what: str, ends: int, crop: Yield) -> Iterator[Window]:
    late = ~(crop.first <= ends)
    if not late.any():
        return
    known = crop.first[np.isfinite(crop.first)]
    likely = int(np.quantile(known, 0.5, method="nearest")) if known.size else ends
    because = say("window.lease", what=what, end=ends, product=say(f"window.product.{crop.product}"))
    yield Window("lease", crop.planting, ends, ends, max(likely, ends), float(late.mean()), because)
