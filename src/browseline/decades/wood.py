"""Wood of the trees that will be thinned or felled: sawlogs by a log rule, posts, cords of firewood."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import TreeSizes
from browseline.decades.draws_ahead import chances
from browseline.decades.felling import ANY, Stem, cut_up, taken_out
from browseline.decades.form import Yield
from browseline.decades.yields import first_year
from browseline.farm.future import Future
from browseline.farm.records import Farm, Planting
from browseline.figures import Origin
from browseline.units import factor

Array = npt.NDArray[np.float64]
SAWLOGS, POSTS, FIREWOOD = "sawlogs", "posts", "firewood"
POST_TREE = "locust_black, dbh 8 in, 50 ft"
POST_SPECIES, POST_DBH_IN, POST_TALL_FT = "locust_black", 8.0, 50.0


def wood_ahead(farm: Farm, sizes: TreeSizes, future: Future, years: Sequence[int]) -> tuple[Yield, ...]:
    """Return the wood of every planting that has any: what is cut, and what a standing tree would give.

    Trees that die are no wood here: they lie as dead wood in the carbon book.
    """
    out: list[Yield] = []
    for planting in farm.plantings:
        if sizes.of(planting.id):
            out += _of_planting(farm, sizes, planting, future, years)
    return tuple(out)


def _of_planting(
    farm: Farm, sizes: TreeSizes, planting: Planting, future: Future, years: Sequence[int]
) -> Iterator[Yield]:
    at = list(sizes.of(planting.id))
    stems = [cut_up(farm, sizes, planting, i, future) for i in at]
    standing, cut = sizes.alive[:, :, at].astype(np.float64), taken_out(sizes, planting.id)
    past = bool(sizes.past_data[:, at].any())
    for product, unit, each in _products(farm, sizes, planting, at, stems, future):
        amount = (each * cut).sum(axis=2)
        trees = standing.sum(axis=2)
        mean = np.divide((each * standing).sum(axis=2), trees, out=np.zeros(trees.shape), where=trees > 0)
        if not amount.any() and not (product == SAWLOGS and mean.any()):
            continue
        yield Yield(
            planting.id, planting.species, product, unit, amount, mean, np.zeros(amount.shape, dtype=bool),
            first_year(amount, years), _origins(product), past_data=past,
            form=future.log_rule if product == SAWLOGS else "",
        )  # fmt: skip


def _products(
    farm: Farm, sizes: TreeSizes, planting: Planting, at: list[int], stems: list[Stem], future: Future
) -> Iterator[tuple[str, str, Array]]:
    """Yield each product with what one tree gives, shape (year, member, cohort)."""
    log = np.stack([stem.log for stem in stems], axis=2)
    yield SAWLOGS, "m3" if future.log_rule == "cubic" else "board feet", log
    rest = np.stack([stem.stem_m3 - stem.log_m3 for stem in stems], axis=2)
    if planting.species == POST_SPECIES:
        posts = posts_of(sizes.stem_cm[:, :, at], sizes.height_m[:, :, at])
        yield POSTS, "posts", np.where(log > 0, 0.0, posts)
        rest = np.where(log > 0, rest, 0.0)
    yield FIREWOOD, "cords", np.maximum(rest, 0.0) / _cord_m3(farm, sizes)[None, :, None]


def posts_of(stem_cm: Array, height_m: Array) -> Array:
    """Return the posts of 7 ft that a locust gives: in proportion to the tree that the bulletin cut up."""
    seven = tables.row("timber", "posts_of", POST_TREE).middle()
    thick = np.minimum(stem_cm * factor("cm", "in") / POST_DBH_IN, 1.0)
    return np.asarray(seven * thick * height_m * factor("m", "ft") / POST_TALL_FT)


def _cord_m3(farm: Farm, sizes: TreeSizes) -> Array:
    """Return the solid wood in a stacked cord, drawn by member within the table's range. [m3]"""
    row = tables.row("timber", "cord_solid", "stacked cord")
    low, high = row.low or 0.0, row.high or 0.0
    share = chances(farm.seed, "wood.cord", sizes.members)
    return np.asarray((low + (high - low) * share) * factor("ft3", "m3"))


def _origins(product: str) -> tuple[Origin, ...]:
    keys = {
        SAWLOGS: ("form_class", ANY),
        POSTS: ("posts_of", POST_TREE),
        FIREWOOD: ("cord_solid", "stacked cord"),
    }
    rows = [tables.row("timber", *keys[product])]
    if product != POSTS:
        rows.append(tables.row("timber", "stem_form", ANY))
    return tuple(Origin(row.source, row.locator, row.basis, note=row.note) for row in rows)
