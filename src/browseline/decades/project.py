"""The arrow ``decades``: a farm today in, its years ahead out, members as columns."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from browseline.canopy import TreeSizes, grow_trees
from browseline.decades.carbon import carbon_ahead, measured_to
from browseline.decades.entered import with_entries
from browseline.decades.fodder import fed_kg, fodder_ahead
from browseline.decades.form import FeedAhead, LightAhead, Projection
from browseline.decades.grown import GrownAhead, grown_ahead
from browseline.decades.herd import herd_of
from browseline.decades.hours import hours_ahead
from browseline.decades.light import light_ahead
from browseline.decades.light_asked import Asked, ask
from browseline.decades.own_feed import feed_own
from browseline.decades.own_ways import ways_of
from browseline.decades.start import Start, works_of
from browseline.decades.stock import carry
from browseline.decades.windows import windows_ahead
from browseline.decades.wood import wood_ahead
from browseline.decades.wool import wool_ahead
from browseline.decades.yields import yields_ahead
from browseline.figures import Origin

Engine = Callable[[Start, Sequence[int]], Asked | None]
Trees = Callable[[Start, Sequence[int], int], TreeSizes]
Grower = Callable[[Start, LightAhead, Sequence[int], int], GrownAhead]


@dataclass(frozen=True, eq=False)
class Land:
    """The part of a projection that prices and animals do not change: trees, their light, what grows."""

    sizes: TreeSizes
    light: LightAhead
    grown: GrownAhead


def project(
    start: Start, *, years: int, members: int, engine: Engine = ask, grower: Grower = grown_ahead,
    trees: Trees | None = None,
) -> Projection:  # fmt: skip
    """Return a farm's years 0 to ``years``; year 0 is that of today.

    Parameters
    ----------
    start : Start
    years, members : int
        How many years after this one, and how many members.
    engine, grower, trees : callable
        Where light, growth and trees come from: as worked out here, or what was kept of it.
    """
    start = with_entries(start)
    return projected(start, land_ahead(start, years, members, engine, grower, trees))


def land_ahead(
    start: Start, years: int, members: int, engine: Engine = ask, grower: Grower = grown_ahead,
    trees: Trees | None = None,
) -> Land:  # fmt: skip
    """Return trees, light and growth of the years ahead."""
    wanted = tuple(range(start.today.year, start.today.year + years + 1))
    sizes = (trees or grown_trees)(start, wanted, members)
    light = light_ahead(start, sizes, engine(start, wanted))
    return Land(sizes, light, grower(start, light, wanted, members))


def grown_trees(start: Start, years: Sequence[int], members: int) -> TreeSizes:
    """Return the trees of the years ahead with the work that is meant for them."""
    works, replant = works_of(start.farm, start.farm.future), start.farm.future.replant
    return grow_trees(start.farm, start.state, years, range(members), works, replant)


def projected(start: Start, land: Land) -> Projection:
    """Return the whole projection on trees, light and growth that are there already."""
    farm, sizes, future = start.farm, land.sizes, start.farm.future
    years, members = sizes.years, sizes.members
    feed, unfed = feed_ahead(start, land)
    yields = yields_ahead(farm, sizes, years, members, land.grown.weather)
    wood = wood_ahead(farm, sizes, future, years)
    return Projection(
        first_year=years[0], years=years, members=members, sizes=sizes,
        measured_to=measured_to(start.state) or farm.as_of.year,
        light=land.light, feed=feed, yields=yields, wood=wood,
        carbon=carbon_ahead(farm, start.state, sizes, feed, wood, years),
        work_h=hours_ahead(farm, feed, yields, wood, future.works),
        windows=windows_ahead(farm, sizes, land.light, feed, yields),
        unknown=(*sizes.unknown, *land.grown.unknown, *unfed), fodder=fodder_ahead(farm, sizes),
        wool_kg=wool_ahead(farm, start.state, feed), future=future,
    )  # fmt: skip


def feed_ahead(start: Start, land: Land) -> tuple[FeedAhead, tuple[str, ...]]:
    """Return feed and stock of the years, and the classes whose need is not known.

    Leaf that stock have joins what grows in its month, where anything is known to grow.
    """
    herd, farm = herd_of(start), start.farm
    grown_kg = land.grown.month_kg
    if grown_kg.any():
        grown_kg = grown_kg + fed_kg(farm, land.sizes)
    fed = bool(grown_kg.any() and herd.need("need_kg").any())
    ways = ways_of(start, land.grown, land.sizes.years) if fed else None
    held_kg = ways.held_kg if ways is not None else None
    stock = carry(herd, grown_kg, farm.future, farm.seed, land.sizes.members, held_kg)
    hay_kg, spare_kg, own = stock.hay_kg, stock.spare_kg, None
    if ways is not None:
        open_kg = grown_kg if held_kg is None else np.maximum(grown_kg - held_kg, 0.0)
        own, hay_kg, more_kg = feed_own(ways, stock.hay_kg, stock.spare_month_kg, open_kg)
        spare_kg = spare_kg + more_kg
    feed = FeedAhead(
        land.light.paddocks, tuple((c.mob, c.kind, c.klass) for c in herd.classes), grown_kg,
        stock.need_kg, hay_kg, spare_kg, land.grown.paddock_kg, stock.head, stock.sold,
        stock.bought, stock.born, stock.died, _origins(herd.origins), stock.eggs, own,
    )  # fmt: skip
    return feed, herd.unknown


def _origins(needs: tuple[Origin, ...]) -> tuple[Origin, ...]:
    """Return where feed and needs come from, each once."""
    growth = Origin("jouven2006a", "forage.md 1.2", "published-copy")
    return tuple(dict.fromkeys((growth, *needs)))
