"""A design as it would stand: rows that are only planned are set in the year for which they are planned."""

from __future__ import annotations

from dataclasses import replace

from browseline.chain import Picture
from browseline.chain.laid import laid_out
from browseline.chain.tree_shade import on_map
from browseline.chain.years_ahead import start_of
from browseline.decades.start import Start
from browseline.farm.records import Farm, Planting
from browseline.layout.form import Layout
from browseline.units import factor


def planted_start(seen: Picture) -> Start:
    """Return what a design's years ahead start from, with its planned rows planted in their years.

    A planned row without a year, or whose number of trees neither is typed nor follows from the map or from
    spacing and alley, stays what it is: a rule.
    """
    farm = seen.farm
    if not farm.planned:
        return start_of(seen)
    mapped = farm.place is not None and on_map(replace(farm, plantings=(*farm.plantings, *farm.planned)))
    layout = laid_out(seen.folder, farm, seen.state) if mapped else None
    counts = {one.id: _trees(farm, one, layout) for one in farm.planned if one.planted is not None}
    set_out = tuple(
        replace(one, planned=False, trees=counts[one.id]) for one in farm.planned if counts.get(one.id)
    )
    if not set_out:
        return start_of(seen)
    left = tuple(one for one in farm.planned if not counts.get(one.id))
    planted = replace(seen, farm=replace(farm, plantings=(*farm.plantings, *set_out), planned=left))
    start = start_of(planted)
    return replace(start, layout=layout) if layout is not None and start.layout is not None else start


def _trees(farm: Farm, one: Planting, layout: Layout | None) -> int:
    """Return how many trees a planned row will have: typed, drawn on the map, or by its distances."""
    if one.trees:
        return one.trees
    drawn = next((own.places for own in layout.plantings if own.id == one.id), 0) if layout is not None else 0
    if drawn:
        return drawn
    paddock = farm.paddock(one.paddock) if one.paddock is not None else None
    if paddock is None or one.spacing is None or one.alley is None:
        return 0
    each_ha = one.spacing.to("m") * one.alley.to("m") * factor("m2", "ha")
    return round(paddock.area_ha / each_ha)
