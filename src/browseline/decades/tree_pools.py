"""Carbon of the trees ahead: what stands above and below, what lies dead, what became products; what moves.

The equation's error is one draw a member for all trees of a group, the roots' one for all trees: neither
shrinks with their number. Where stems were measured within the years, the trees are those of the stems.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import TreeSizes
from browseline.decades.draws_ahead import chances, luck
from browseline.decades.felling import cut_up, taken_out
from browseline.decades.leaf_cut import cut_kg
from browseline.decades.wood import POST_SPECIES
from browseline.farm import tree_mass
from browseline.farm.records import Farm, Planting
from browseline.figures import Origin
from browseline.record.state import State
from browseline.science import carbon, wood
from browseline.tables import Row
from browseline.units import factor

Array = npt.NDArray[np.float64]
KG_T = factor("kg", "t")
SAWN, DEAD = "sawn wood", "dead wood on site"
POSTS = "fence posts (treated or durable species)"
THIN_CM = 2.5
"""Stems thinner than this take the parts of one as thick: the parts of a tree are not printed for less."""
EDGES_T_HA = (50.0, 70.0, 75.0, 150.0)
"""Dry matter on the ground at which the rows of roots change (ipcc2006_v4_ch04, Table 4.4). [t/ha]"""
WITHIN_T_HA = (25.0, 60.0, 72.0, 100.0, 200.0)


@dataclass(frozen=True)
class Pools:
    """Carbon dioxide of a planting, shape (year, member): stocks at a year's end [t CO2], flows [kg CO2].

    ``grown`` is taken from the air, ``decayed`` comes back from dead wood and products, ``burned`` is wood
    gone in the year of its felling, ``leaf`` comes back of leaf that was cut. Year 0 has no flows: it is
    where the years ahead start from.
    """

    above: Array
    below: Array
    dead: Array
    products: Array
    grown: Array
    decayed: Array
    burned: Array
    leaf: Array


@dataclass(frozen=True)
class Each:
    """Dry matter of the mean tree of each cohort, shape (year, member, cohort). [kg]"""

    above: Array
    below: Array


def tree_pools(farm: Farm, state: State, sizes: TreeSizes, planting: Planting) -> Pools:
    """Return the carbon of a planting through the years.

    A tree that dies lies as dead wood, crown and roots of a felled one with it; of its stem the sawlogs are
    sawn wood, locust posts are posts, the rest is burned in the year. Leaf that is cut does not stand at the
    year's end: it is in the air by then, and grows again.
    """
    at = list(sizes.of(planting.id))
    each = _each(farm, state, sizes, planting, at)
    alive = sizes.alive[:, :, at].astype(np.float64)
    to_t = _carbon_share(farm, sizes) * carbon.CO2_OF_C * KG_T
    above, below = alive * each.above, alive * each.below
    gone = np.maximum(-np.diff(alive, axis=0), 0.0)
    cut = np.minimum(taken_out(sizes, planting.id)[1:], gone)
    was = each.above[:-1]
    grown = np.diff(above + below, axis=0) + gone * (was + each.below[:-1])
    log, post, burned = _stems_of(farm, sizes, planting, at, cut, was)
    lies = gone * (was + each.below[:-1]) - log - post - burned
    flows = [_by_year(flow, to_t) for flow in (grown, lies, log, post, burned)]
    dead = carbon.products_stock(flows[1], _half_life(farm, sizes, DEAD))
    made = carbon.products_stock(flows[2], _half_life(farm, sizes, SAWN))
    made = made + carbon.products_stock(flows[3], _half_life(farm, sizes, POSTS))
    decayed = flows[1] + flows[2] + flows[3] - _steps(dead + made)
    stock = [part.sum(axis=2) * to_t for part in (above, below)]
    eaten = cut_kg(farm, sizes, planting.id) * to_t
    again, eaten_then = np.concatenate([np.zeros((1, eaten.shape[1])), eaten[:-1]]), eaten.copy()
    eaten_then[0] = 0.0
    moved = (flows[0] + again, decayed, flows[4], eaten_then)
    return Pools(stock[0] - eaten, stock[1], dead, made, *(flow / KG_T for flow in moved))


def _by_year(flow: Array, to_t: Array) -> Array:
    """Return a flow between years with year 0 empty, all cohorts together, shape (year, member). [t CO2]"""
    whole = flow.sum(axis=2) * to_t
    return np.concatenate([np.zeros((1, whole.shape[1])), whole])


def _steps(stock: Array) -> Array:
    return np.diff(stock, axis=0, prepend=np.zeros((1, stock.shape[1])))


# ---------------------------------------------------------------- one tree


def _each(farm: Farm, state: State, sizes: TreeSizes, planting: Planting, at: list[int]) -> Each:
    line = tree_mass.equation_of(farm, planting)
    log_error, group = equation_log_error(farm, planting), line["group"]
    error = np.exp(log_error * luck(farm.seed, f"carbon.equation.{group}", sizes.members))
    above = tree_mass.mass_kg(line, sizes.stem_cm[:, :, at]) * _lifted(sizes, line, at)
    above = above * _as_measured(farm, state, sizes, planting, line, at, above)[:, :, None]
    above = np.maximum.accumulate(above, axis=0) * error[None, :, None]
    return Each(above, _roots(farm, sizes, planting, line, at, above))


def _lifted(sizes: TreeSizes, line: tree_mass.Equation, at: list[int]) -> Array:
    """Return the mean mass of trees over the mass of their mean stem, where stems are lognormal. [1]"""
    power = float(line["b1"])
    return np.asarray(np.exp(power * (power - 1) / 2 * sizes.scatter[:, at] ** 2))[:, None, :]


def _stems_of(
    farm: Farm, sizes: TreeSizes, planting: Planting, at: list[int], cut: Array, was: Array
) -> tuple[Array, Array, Array]:
    """Return the dry matter of cut stems that is sawn, made into posts, burned, between the years. [kg]"""
    none = np.zeros(cut.shape)
    if not cut.any():
        return none, none, none
    line = tree_mass.equation_of(farm, planting)
    stem = np.stack([_stem_share(sizes, line, i) for i in at], axis=2)[:-1] * cut * was
    cuts = [cut_up(farm, sizes, planting, i, farm.future) for i in at]
    shares = [
        np.divide(c.log_m3, c.stem_m3, out=np.zeros(c.stem_m3.shape), where=c.stem_m3 > 0) for c in cuts
    ]
    log = np.stack(shares, axis=2)[1:]
    posts = (log == 0) if planting.species == POST_SPECIES else none
    return stem * log, stem * posts, stem * (1 - log) * (1 - posts)


def equation_log_error(farm: Farm, planting: Planting) -> float:
    """Return the error of one tree on the logarithm by a planting's equation; 0 where none is printed. [1]"""
    found = tree_mass.log_error(farm, planting, tree_mass.equation_of(farm, planting))
    return float(found["log_rmse"]) if found is not None else 0.0


def _stem_share(sizes: TreeSizes, line: tree_mass.Equation, cohort: int) -> Array:
    return tree_mass.stem_share(line, np.maximum(sizes.stem_cm[:, :, cohort], THIN_CM))


def _roots(
    farm: Farm, sizes: TreeSizes, planting: Planting, line: tree_mass.Equation, at: list[int], above: Array
) -> Array:
    """Return roots in dry matter; a tree's roots do not shrink where the table's class changes. [kg]"""
    if tree_mass.by_stem(farm):
        part = partial(tree_mass.part_share, line, part="coarse roots")
        share = np.stack([part(np.maximum(sizes.stem_cm[:, :, i], THIN_CM)) for i in at], axis=2)
    else:
        ground = tree_mass.ground_ha(planting, 1.0)
        rows = np.array([tree_mass.root_row(farm, planting, line, t).middle() for t in WITHIN_T_HA])
        share = rows[np.digitize(above * KG_T / ground if ground else np.zeros(above.shape), EDGES_T_HA)]
    spread = tables.row("carbon_spread", "relative_sd", "root:shoot").middle()
    error = np.exp(spread * luck(farm.seed, "carbon.roots", sizes.members))
    return np.maximum.accumulate(above * share * error[None, :, None], axis=0)


def _carbon_share(farm: Farm, sizes: TreeSizes) -> Array:
    """Return the share of carbon within the row's range, one draw for all wood, shape (member,). [1]"""
    row = tree_mass.carbon_row(farm)
    low, high = row.low or row.middle(), row.high or row.middle()
    chance = chances(farm.seed, "carbon.share", sizes.members)
    return np.interp(chance, (0.0, 0.5, 1.0), (low, row.middle(), high))


def _half_life(farm: Farm, sizes: TreeSizes, what: str) -> Array:
    """Return a half-life by member, drawn within the row's range, shape (member,). [yr]"""
    row = tables.row("products", "half_life", what)
    if row.low is None or row.high is None:
        return np.full(len(sizes.members), row.middle())
    chance = chances(farm.seed, f"carbon.half_life.{what}", sizes.members)
    return np.asarray(row.low + (row.high - row.low) * chance)


# ---------------------------------------------------------------- measured stems


@dataclass(frozen=True)
class Sampled:
    """Stems of a planting measured in a year within the years ahead. [cm]"""

    year: int
    stems_cm: Array


def sampled(state: State, planting: str, years: tuple[int, ...]) -> tuple[Sampled, ...]:
    """Return the stems measured by year; the last measure of a named tree stands."""
    found: dict[int, dict[str, float]] = {}
    for number, size in enumerate(state.tree_sizes):
        year = size.at.end.year
        if size.planting == planting and size.dbh is not None and year in years:
            found.setdefault(year, {})[size.tree or f"#{number}"] = size.dbh.to("cm")
    return tuple(Sampled(year, np.array(list(stems.values()))) for year, stems in sorted(found.items()))


def _as_measured(
    farm: Farm, state: State, sizes: TreeSizes, planting: Planting, line: tree_mass.Equation, at: list[int],
    above: Array,
) -> Array:  # fmt: skip
    """Return measured over expected dry matter, each member's sampling error in it, shape (year, member). [1]

    Between two years of measuring on the line of the logarithms, outside as at the nearest.
    """
    shape = (len(sizes.years), len(sizes.members))
    found = sampled(state, planting.id, sizes.years)
    if not found:
        return np.ones(shape)
    rows = [sizes.years.index(one.year) for one in found]
    logs = []
    for row, one in zip(rows, found, strict=True):
        trees = sizes.alive[row][:, at].astype(np.float64)
        expected = (above[row] * trees).sum(axis=1) / np.maximum(trees.sum(axis=1), 1.0)
        kilograms = tree_mass.mass_kg(line, one.stems_cm)
        error = wood.sampling_error(kilograms, max(int(trees.sum(axis=1).max()), len(kilograms)))
        draw = luck(farm.seed, f"carbon.sample.{planting.id}.{one.year}", sizes.members)
        half = np.nan_to_num(error) / kilograms.mean()
        logs.append(np.log(kilograms.mean() / np.maximum(expected, 1e-9)) + half * draw)
    return np.exp([np.interp(np.arange(shape[0]), rows, np.array(logs)[:, m]) for m in range(shape[1])]).T


def origins(farm: Farm, planting: Planting) -> tuple[Origin, ...]:
    """Return where a planting's carbon comes from: equation, roots, share of carbon, half-lives."""
    line = tree_mass.equation_of(farm, planting)
    rows: list[Row] = [tree_mass.carbon_row(farm)]
    if tree_mass.by_stem(farm):
        rows += tree_mass.part_rows(line, "coarse roots")
    else:
        rows.append(tree_mass.root_row(farm, planting, line, 0.0))
    rows += [tables.row("products", "half_life", what) for what in (DEAD, SAWN)]
    return (tree_mass.origin(line), *(Origin(r.source, r.locator, r.basis, note=r.note) for r in rows))
