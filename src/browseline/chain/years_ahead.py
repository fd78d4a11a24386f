"""A farm's years ahead, kept by content: the light of its trees and what grows are worked out once."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from typing import Any, cast
from zoneinfo import ZoneInfo

import numpy as np

from browseline.canopy import TreeSizes
from browseline.chain.keep import content_key, kept_arrays
from browseline.chain.laid import ground_under, laid_out
from browseline.chain.look import Picture
from browseline.chain.tree_shade import MEAN_CELLS, clear_shares, on_map, terrain_of
from browseline.decades.entered import entries_ahead, with_entries
from browseline.decades.form import MEMBERS, LightAhead, Projection
from browseline.decades.grown import GrownAhead, grown_ahead
from browseline.decades.light_asked import Asked, ask, stretch
from browseline.decades.project import grown_trees, project
from browseline.decades.start import Start
from browseline.decades.weather_years import WeatherYears
from browseline.events import Event
from browseline.farm.records import Farm

__all__ = ["MEMBERS", "ahead_of", "meant_of", "projection_of", "start_of"]
MOST_GROWN = 6
MOST_TREES = 4
"""So many grown stands are held: uses and assumptions that change no tree share them."""
_TREES: dict[str, TreeSizes] = {}
_TREES_LOCK = threading.Lock()
ASKED = ("first", "end", "kind", "place", "leaf_by", "tall_by", "light", "cover", "ground", "leaf", "tall")
GROWN = ("month_kg", "paddock_kg", "full_kg", "held_kg", "held_full_kg")
WEATHER = ("tmin_c", "mean_c", "rain_mm", "recorded")


def projection_of(picture: Picture, years: int | None = None, members: int = MEMBERS) -> Projection:
    """Return a farm's years ahead as the chain sees it now.

    Parameters
    ----------
    years : int, optional
        How many after this one; by default as many as the farm chose.
    members : int
    """
    wanted = years if years is not None else picture.farm.future.years
    memo, key = picture.scene.memo, f"decades {wanted} {members}"
    if key not in memo:
        memo[key] = ahead_of(start_of(picture), _ground(picture), wanted, members)
    return cast("Projection", memo[key])


def ahead_of(start: Start, ground: object, years: int, members: int) -> Projection:
    """Return the years ahead of a start, what is slow from the cache; ``ground`` tells its terrain apart."""
    start = with_entries(start)
    trees = _trees(start, ground)

    def trees_of(own: Start, wanted: Sequence[int], count: int) -> TreeSizes:
        key = content_key("sizes", *trees, tuple(wanted), count)
        with _TREES_LOCK:
            held = _TREES.pop(key, None)
        made = held if held is not None else grown_trees(own, wanted, count)
        with _TREES_LOCK:
            _TREES[key] = made
            while len(_TREES) > MOST_TREES:
                del _TREES[next(iter(_TREES))]
        return made

    def engine(own: Start, wanted: Sequence[int]) -> Asked | None:
        held = kept_arrays("ages_ahead", content_key(*trees, stretch(wanted)), lambda: _asked(own, wanted))
        return Asked(**held) if held is not None else None

    def grower(own: Start, light: LightAhead, wanted: Sequence[int], count: int) -> GrownAhead:
        farm = own.farm
        key = content_key(
            *trees, tuple(wanted), count, own.today, farm.daily, sorted(own.state.rain, key=repr),
            farm.swards, farm.soils, farm.promises, farm.future.fodder, sorted(own.fertility.items()),
        )  # fmt: skip
        held = kept_arrays("grown_ahead", key, lambda: _grown(own, light, wanted, count), MOST_GROWN)
        return (
            _read_grown(held, wanted, count) if held is not None else grown_ahead(own, light, wanted, count)
        )

    return project(start, years=years, members=members, engine=engine, grower=grower, trees=trees_of)


def start_of(picture: Picture) -> Start:
    """Return what a projection starts from, as the chain sees the farm now."""
    farm, scene = picture.farm, picture.scene
    layout = cells = None
    if farm.place is not None and farm.plantings and on_map(farm):
        from browseline.canopy.cells import cells_of

        layout = laid_out(picture.folder, farm, picture.state)
        cells = cells_of(farm, ground_under(picture.folder, farm), most=MEAN_CELLS)
    taught = cast("Mapping[str, tuple[float, float]]", scene.memo.get("taught") or {})
    return Start(
        farm,
        picture.state,
        picture.today,
        layout,
        cells,
        clear_shares(farm, picture.weather),
        dict(taught),
        _coming(picture),
    )


def _coming(picture: Picture) -> tuple[Event, ...]:
    return entries_ahead(picture.events, picture.now, ZoneInfo(picture.farm.time_zone))


def meant_of(picture: Picture) -> Farm:
    """Return a farm that means to do what its file and its record say of the years ahead."""
    start = Start(picture.farm, picture.state, picture.today, coming=_coming(picture))
    return with_entries(start).farm


def _ground(picture: Picture) -> object:
    return terrain_of(picture.folder)


def _trees(start: Start, ground: object) -> tuple[object, ...]:
    """Return what the trees and their light hang on, beside the years."""
    farm, state = start.farm, start.state
    trees = (state.row_counts, state.losses, state.planted, state.trees_cut, state.tree_sizes)
    return (
        farm.place, farm.normals, farm.seed, farm.as_of, farm.plantings, farm.paddocks, farm.shapes, trees,
        state.at.year, farm.rules, farm.future.works, farm.future.replant, start.of_clear, start.today.year,
        ground, start.layout.plantings if start.layout is not None else (),
    )  # fmt: skip


def _asked(start: Start, years: Sequence[int]) -> dict[str, Any] | None:
    made = ask(start, years)
    return {name: getattr(made, name) for name in ASKED} if made is not None else None


def _grown(start: Start, light: LightAhead, years: Sequence[int], members: int) -> dict[str, Any] | None:
    """Return growth and weather as arrays; None where no weather can be made: that costs nothing."""
    made = grown_ahead(start, light, years, members)
    if made.weather is None:
        return None
    south = np.array(made.weather.south)
    return {
        **{name: getattr(made, name) for name in GROWN}, "south": south,
        **{name: getattr(made.weather, name) for name in WEATHER},
    }  # fmt: skip


def _read_grown(held: Mapping[str, Any], years: Sequence[int], members: int) -> GrownAhead:
    weather = WeatherYears(
        years=tuple(years), members=tuple(range(members)), south=bool(held["south"]),
        **{name: held[name] for name in WEATHER},
    )  # fmt: skip
    return GrownAhead(weather=weather, unknown=(), **{name: held[name] for name in GROWN})
