"""Which tree of a planting stands in which year, by member: counted losses, deaths to come, replants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy import book
from browseline.canopy.history import GONE, Cohort, TreeWork, first_cohorts, guarded, to_do
from browseline.farm.records import Planting
from browseline.science import draws
from browseline.units import factor

Ints = npt.NDArray[np.int64]
Array = npt.NDArray[np.float64]
NEVER = 9999
PERCENT = factor("%", "1")


@dataclass
class Fates:
    """The trees of one planting.

    Attributes
    ----------
    cohorts : list of Cohort
    end : array of int, shape (member, tree)
        First year in which the tree is gone; ``NEVER`` where it stands. [yr]
    place : array of int, shape (member, tree)
        Which of the places of the planting it stands in; -1 for a replant that no gap was known for.
    drawn : array of bool, shape (member, tree)
        True where a tree is gone that was counted but not placed, or is expected to die.
    opened : array of bool, shape (member, place)
        Places that stand free on purpose now: a tree was taken out and none was set there again.
    thinned : dict of int to array of int, shape (member,)
        Trees taken out on purpose, by year.
    freed : dict of int to array of int, shape (member,)
        By year of a work, how many places stand free on purpose after it.
    """

    planting: Planting
    members: tuple[int, ...]
    seed: int
    cohorts: list[Cohort]
    end: Ints
    place: Ints
    drawn: npt.NDArray[np.bool_]
    rank: Array
    opened: npt.NDArray[np.bool_]
    thinned: dict[int, Ints] = field(default_factory=dict)
    freed: dict[int, Ints] = field(default_factory=dict)
    pruned: list[TreeWork] = field(default_factory=list)

    @property
    def unplaced(self) -> bool:
        """Return whether any tree that is gone was drawn."""
        return bool(self.drawn.any())

    def began(self) -> Ints:
        """Return the year in which each tree was planted, shape (tree,). [yr]"""
        return np.concatenate([np.full(c.count, c.planted, dtype=np.int64) for c in self.cohorts])

    def row_of(self) -> list[str]:
        """Return the row of each tree; empty where it is not known."""
        return [cohort.row for cohort in self.cohorts for _ in range(cohort.count)]

    def alive(self, year: int) -> npt.NDArray[np.bool_]:
        """Return which trees stand in a year, shape (member, tree)."""
        return (self.began()[None, :] <= year) & (self.end > year)

    def free_places(self, years: Sequence[int]) -> Ints:
        """Return how many places stand free on purpose in each year, shape (year, member)."""
        out = np.zeros((len(years), len(self.members)), dtype=np.int64)
        for since in sorted(self.freed):
            out[np.array(years) >= since] = self.freed[since]
        return out

    def of(self, at: Sequence[int]) -> Fates:
        """Return the trees of some members, given by their places among them."""
        cut = list(at)
        return replace(
            self, members=tuple(self.members[i] for i in cut), end=self.end[cut], place=self.place[cut],
            drawn=self.drawn[cut], rank=self.rank[cut], opened=self.opened[cut],
            thinned={year: n[cut] for year, n in self.thinned.items()},
            freed={year: n[cut] for year, n in self.freed.items()},
        )  # fmt: skip


def fates(
    planting: Planting, seed: int, members: Sequence[int], done: Sequence[TreeWork], last_known: int,
    last: int, planned: Sequence[TreeWork] = (),
) -> Fates | None:  # fmt: skip
    """Return what becomes of the trees of a planting, or None where their number or year is not known.

    Losses that were counted but not placed are drawn by member. After the year ``last_known`` trees die at
    the rate that each member drew from the range of the table.

    Parameters
    ----------
    planting : Planting
        With the number of trees at the farm's ``as_of``.
    seed : int
        Of the farm.
    members : sequence of int
        Which members.
    done, planned : sequence of TreeWork
        What the record says, in order of time; what is meant to be done.
    last_known, last : int
        Last year of the record, last year asked for. [yr]
    """
    cohorts = first_cohorts(planting)
    if not cohorts:
        return None
    count = sum(c.count for c in cohorts)
    shape = (len(members), count)
    rank = _draws(seed, f"trees.rank.{planting.id}", members, 0, count)
    place = np.broadcast_to(np.arange(count), shape).astype(np.int64)
    own = Fates(planting, tuple(members), seed, list(cohorts), np.full(shape, NEVER, dtype=np.int64), place,
                np.zeros(shape, dtype=np.bool_), rank, np.zeros(shape, dtype=np.bool_))  # fmt: skip
    for work in done:
        _carry_out(own, work)
    coming = to_do(planned, planting.id, last_known)
    for year in range(last_known + 1, last + 1):
        _die(own, year)
        for work in (w for w in coming if w.year == year):
            _carry_out(own, work)
    return own


def _draws(seed: int, quantity: str, members: Sequence[int], year: int, n: int) -> Array:
    return draws.uniform_of(seed, quantity, members, year, n)


def _carry_out(own: Fates, work: TreeWork) -> None:
    if work.kind == "pruned":
        own.pruned.append(work)
    elif work.kind == "planted":
        _replant(own, work)
    elif work.kind in GONE:
        _take_out(own, work)


def _take_out(own: Fates, work: TreeWork) -> None:
    """Take as many standing trees as were counted, of the row where one was named, by each member's draw.

    Without a number all go. What was taken on purpose is counted member by member: where fewer stood, fewer
    go and less room is left. Of every other place those whose tree had died stand free on purpose too.
    """
    standing = own.alive(work.year)
    here = np.array([not work.row or row == work.row for row in own.row_of()])
    free = standing & (here if here.any() else True)
    if work.every_other:
        free &= own.place % 2 == 1
    there = free.sum(axis=1)
    trees = there if work.trees is None or work.every_other else np.minimum(work.trees, there)
    order = np.argsort(np.where(free, own.rank, np.inf), axis=1, kind="stable")
    for row, ranked in enumerate(order):
        gone = ranked[: trees[row]]
        own.end[row, gone] = work.year
        own.drawn[row, gone] = not work.every_other
        if work.kind != "lost":
            own.opened[row, [at for at in own.place[row, gone] if at >= 0]] = True
    if work.kind == "lost":
        return
    if work.every_other:
        own.opened[:, 1::2] = True
    own.thinned[work.year] = own.thinned.get(work.year, 0) + trees
    own.freed[work.year] = own.opened.sum(axis=1)


def _replant(own: Fates, work: TreeWork) -> None:
    """Set trees into the gaps of the row, or of the planting, the oldest gap first.

    Without a number every gap is filled, in the members in which enough of the planting is lost.
    """
    wanted = np.full(len(own.members), fill_value=True)
    if work.trees is None:
        least = book.middle("replant_from", "a row") * PERCENT * places(own)
        wanted = _empty(own, work.year) >= least  # before the gaps of any member are looked for
    gaps = [_gaps(own, m, work) if wanted[m] else np.empty(0, np.int64) for m in range(len(own.members))]
    if work.trees is None:
        gaps = [gap if len(gap) >= least else gap[:0] for gap in gaps]
    trees = work.trees if work.trees is not None else max((len(g) for g in gaps), default=0)
    if not trees:
        return
    first = own.end.shape[1]
    row = work.row
    cohort = Cohort(own.planting.id, own.planting.species, row, work.year, first, trees, replant=True)
    own.cohorts.append(cohort)
    shape = (len(own.members), trees)
    place = np.full(shape, -1, dtype=np.int64)
    end = np.full(shape, NEVER, dtype=np.int64)
    for member, gap in enumerate(gaps):
        into = gap[:trees]
        place[member, : len(into)] = into
        own.opened[member, into] = False
        if work.trees is None:
            end[member, len(into) :] = work.year
    own.place = np.concatenate([own.place, place], axis=1)
    own.end = np.concatenate([own.end, end], axis=1)
    own.drawn = np.concatenate([own.drawn, np.zeros(shape, dtype=np.bool_)], axis=1)
    more = _draws(own.seed, f"trees.rank.{own.planting.id}.{_set(cohort)}", own.members, 0, trees)
    own.rank = np.concatenate([own.rank, more], axis=1)
    own.freed[work.year] = own.opened.sum(axis=1)


def _set(cohort: Cohort) -> str:
    """Return what tells the draws of replanted trees from all others, whatever other members lost."""
    return f"{cohort.planted}.{cohort.row}"


def _empty(own: Fates, year: int) -> Ints:
    """Return how many places have no standing tree, thinned ones too, shape (member,)."""
    standing = ((own.end > year) & (own.place >= 0)).sum(axis=1)
    return np.asarray(own.place.max(initial=-1) + 1 - standing)


def _gaps(own: Fates, member: int, work: TreeWork) -> Ints:
    """Return the empty places of a member, the oldest gap first; of the named row where it has some.

    Without a number those that stand free on purpose stay so.
    """
    end, place = own.end[member], own.place[member]
    taken = set(place[end > work.year].tolist())
    empty = [int(i) for i in np.argsort(end, kind="stable") if end[i] <= work.year and place[i] >= 0]
    rows = own.row_of()
    named = [i for i in empty if not work.row or rows[i] == work.row] or empty
    open_ = list(dict.fromkeys(int(place[i]) for i in named if int(place[i]) not in taken))
    if work.trees is None:
        open_ = [at for at in open_ if not own.opened[member, at]]
    return np.array(open_, dtype=np.int64)


def dying(planting: Planting, age_yr: Array, chance: Array) -> Array:
    """Return the share of trees of an age that die in a year, by each member's draw within the range.

    Parameters
    ----------
    planting : Planting
        A named guard takes the lower range of the first year.
    age_yr : array, shape (tree,)
        Years since planting. [yr]
    chance : array, shape (member,)
        Evenly spread, 0 to 1. [1]

    Returns
    -------
    array, shape (member, tree)
        [1]
    """
    first = "year 1, guarded" if guarded(planting) else "year 1, unguarded"
    bands = [tables.row("trees", "trees_dying", name) for name in (first, "years 2 to 5", "later years")]
    low, high = (np.array([getattr(b, end) or 0.0 for b in bands]) * PERCENT for end in ("low", "high"))
    band = np.where(age_yr <= 1, 0, np.where(age_yr <= 5, 1, 2))
    return np.asarray(low[band] + (high - low)[band] * chance[:, None])


def _die(own: Fates, year: int) -> None:
    """Let standing trees die in a year, each by its own draw."""
    name = own.planting.id
    luck = _draws(own.seed, f"trees.dying.{name}", own.members, 0, 1)[:, 0]
    rate = dying(own.planting, (year - own.began()).astype(np.float64), luck)
    falls = own.alive(year) & (_deaths(own, year) < rate)
    falls &= (own.began() < year)[None, :]
    own.end[falls] = year
    own.drawn |= falls


def _deaths(own: Fates, year: int) -> Array:
    """Return each tree's own draw of a year, shape (member, tree); replanted ones by their year and row."""
    name = f"trees.death.{own.planting.id}"
    old = sum(cohort.count for cohort in own.cohorts if not cohort.replant)
    parts = [_draws(own.seed, name, own.members, year, old)]
    parts += [
        _draws(own.seed, f"{name}.{_set(cohort)}", own.members, year, cohort.count)
        for cohort in own.cohorts if cohort.replant
    ]  # fmt: skip
    return np.concatenate(parts, axis=1)


def places(own: Fates) -> int:
    """Return how many trees stood at the beginning."""
    return sum(c.count for c in own.cohorts if not c.replant)


def counted(own: Fates, years: Sequence[int]) -> Ints:
    """Return the trees that stand, shape (year, member, cohort)."""
    edges = [c.first for c in own.cohorts]
    return np.array(
        [np.add.reduceat(own.alive(year).astype(np.int64), edges, axis=1) for year in years], dtype=np.int64
    )
