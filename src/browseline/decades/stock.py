"""How many head the feed carries year by year, by the farm's stocking rule: eaten, short, born, sold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from browseline.decades.herd import HENS, Class_, Herd, rate
from browseline.farm.future import Future

Array = npt.NDArray[np.float64]
HALF = 0.5
TINY = 1e-9


@dataclass(frozen=True, eq=False)
class Carried:
    """Stock and feed by year: need, hay short (year, member, month), spare (year, member) [kg DM].

    ``head``, ``sold``, ``bought``, ``born``, ``died`` have shape (year, member, class) [head]; ``eggs`` is
    (year, member), NaN-free: 0 without hens. ``spare_month_kg`` (year, member, month) is the spare by the
    month at whose end it is: it grew in the month before.
    """

    need_kg: Array
    hay_kg: Array
    spare_kg: Array
    head: Array
    sold: Array
    bought: Array
    born: Array
    died: Array
    eggs: Array
    spare_month_kg: Array


def carry(
    herd: Herd, grown_kg: Array, future: Future, seed: int, members: Sequence[int],
    held_kg: Array | None = None,
) -> Carried:  # fmt: skip
    """Return the stock that a rule carries on the feed that grows.

    What a month grows may be eaten in it and in the next: grass is cut back each month, so what is left
    after that is spare. Outside the grazing season all that is eaten is hay. Head are not kept on hay: a rule
    that moves them goes by grass that is there to graze, not by bales, hay or ground kept for either.

    Parameters
    ----------
    herd : Herd
    grown_kg : array, shape (year, member, month)
        What stock may have of the growth. [kg DM]
    future : Future
        The rule: *fixed*, *follow* or *sell_down*, and how fast head builds up again.
    seed : int
        Of the farm.
    members : sequence of int
    held_kg : array, shape (year, member, month), optional
        What of the growth is kept from stock for hay or for winter. [kg]
    """
    years, count, _ = grown_kg.shape
    open_kg = grown_kg if held_kg is None else np.maximum(grown_kg - held_kg, 0.0)
    classes = len(herd.classes)
    need_each, grazed_each = herd.need("need_kg"), herd.need("grazed_kg")
    moves = np.array([c.follows for c in herd.classes], dtype=bool)
    build = build_up(herd, future, seed, members)
    moved = herd.moved(years)
    today = herd.head + np.concatenate([np.zeros((1, classes)), np.cumsum(moved, axis=0)])
    more_need, more_grazed = herd.moved_kg("need_kg", years), herd.moved_kg("grazed_kg", years)
    factor, standing = np.ones(count), np.zeros(count)
    head = np.zeros((years + 1, count, classes))
    need, hay = np.zeros_like(grown_kg), np.zeros_like(grown_kg)
    spare, by_month = np.zeros((years, count)), np.zeros_like(grown_kg)
    for year in range(years):
        head[year] = _head(today[year], factor, moves)
        need[year] = np.maximum(head[year] @ need_each + more_need[year], 0.0)
        grazed = np.maximum(head[year] @ grazed_each + more_grazed[year], 0.0)
        eaten, standing, spare[year], by_month[year] = _eat(open_kg[year], grazed, standing)
        hay[year] = need[year] - eaten
        wanted = today[year + 1] @ grazed_each.sum(axis=1)
        bears = open_kg[year].sum(axis=1) / wanted if wanted > 0 else np.ones(count)
        factor = _next(factor, bears, build, future)
    head[years] = _head(today[years], factor, moves)
    flows = [
        _flows(c, head[:, :, i], herd, seed, members, moved[:, i, None]) for i, c in enumerate(herd.classes)
    ]
    born, died, sold, bought = (
        np.stack([flow[n] for flow in flows], axis=2) if flows else np.zeros((years, count, 0))
        for n in range(4)
    )
    return Carried(need, hay, spare, head[:-1], sold, bought, born, died,
                   _eggs(herd, head[:-1], seed, members), by_month)  # fmt: skip


def _head(today: Array, factor: Array, moves: npt.NDArray[np.bool_]) -> Array:
    """Return whole head of each class, shape (member, class): today's, and what was traded since."""
    share = np.where(moves[None, :], factor[:, None], 1.0)
    return np.asarray(np.floor(today[None, :] * share + HALF))


def _eat(grown_kg: Array, grazed_kg: Array, standing_kg: Array) -> tuple[Array, Array, Array, Array]:
    """Return what is eaten by month, what stands over the year's end, what nobody ate, and that by month."""
    eaten, spare, old = np.zeros_like(grown_kg), np.zeros(len(grown_kg)), standing_kg
    by_month = np.zeros_like(grown_kg)
    for month in range(grown_kg.shape[1]):
        fresh, want = grown_kg[:, month], grazed_kg[:, month]
        of_old = np.minimum(old, want)
        of_fresh = np.minimum(fresh, want - of_old)
        eaten[:, month] = of_old + of_fresh
        by_month[:, month] = old - of_old
        spare += by_month[:, month]
        old = fresh - of_fresh
    return eaten, old, spare, by_month


def _next(factor: Array, bears: Array, build: Array, future: Future) -> Array:
    """Return the share of today's head that the next year carries, by member. [1]"""
    if future.stock == "follow":
        return np.minimum(bears, factor + build)
    if future.stock == "sell_down":
        return np.where(bears < factor, bears, np.minimum(np.minimum(factor + build, bears), 1.0))
    return factor


def build_up(herd: Herd, future: Future, seed: int, members: Sequence[int]) -> Array:
    """Return by how much of today's head a year's own young can raise the head, by member. [1]

    What the farm typed goes first. Else it is half of the young that live, the females, less what dies and
    leaves; classes that are bought in can be had back at once.
    """
    if future.build_up is not None:
        return np.full(len(members), future.build_up.to("1"))
    breeders = [c for c in herd.classes if c.breeds and c.follows]
    if not breeders:
        return np.ones(len(members))
    total = sum(c.head for c in breeders)
    parts = [c.head * np.maximum(_raised(c, seed, members), 0.0) for c in breeders]
    return np.asarray(np.sum(parts, axis=0) / max(total, 1))


def _raised(of: Class_, seed: int, members: Sequence[int]) -> Array:
    """Return the females a head that a year raises beyond those that replace. [1/yr]"""
    weaned, _, _ = _young(of, seed, members)
    leave, die = _rate(of, "leaving_old", seed, members), _rate(of, "dying_grown", seed, members)
    return np.asarray(HALF * weaned - leave - die)


def _rate(of: Class_, key: str, seed: int, members: Sequence[int]) -> Array:
    found = rate(seed, key, of.kind, members, of.klass)
    return np.zeros(len(members)) if found is None else found


def _young(of: Class_, seed: int, members: Sequence[int]) -> tuple[Array, Array, Array]:
    """Return young weaned, born and lost a head and year, by member; 0 where no table knows. [1/yr]"""
    lost = _rate(of, "dying_young", seed, members)
    weaned = rate(seed, "weaned_per_head", of.kind, members, of.klass)
    if weaned is not None:
        born = weaned / np.maximum(1 - lost, TINY)
        return weaned, born, born - weaned
    born = _rate(of, "born_per_head", seed, members)
    return born * (1 - lost), born, born * lost


def _flows(
    of: Class_, head: Array, herd: Herd, seed: int, members: Sequence[int], moved: Array
) -> tuple[Array, Array, Array, Array]:
    """Return born, died, sold and bought of a class, shape (year, member) each. [head/yr]

    Parameters
    ----------
    head : array, shape (year + 1, member)
        With that of the year after the last.
    moved : array, shape (year, 1)
        Bought less sold by plan: traded whatever else comes and goes. [head]
    """
    if of.young:
        return _of_young(of, head[:-1], herd, seed, members)
    born, died, sold, bought = _of_grown(of, head[:-1], head[1:] - moved, herd, seed, members)
    return born, died, sold + np.maximum(-moved, 0.0), bought + np.maximum(moved, 0.0)


def _of_grown(
    of: Class_, now: Array, then: Array, herd: Herd, seed: int, members: Sequence[int]
) -> tuple[Array, Array, Array, Array]:
    """Return the flows of grown animals that bring them from a year's head to the next year's."""
    die = now * _rate(of, "dying_grown", seed, members)
    if not of.breeds:
        change = then - now + die
        return np.zeros_like(now), die, np.maximum(-change, 0.0), np.maximum(change, 0.0)
    leave = now * _rate(of, "leaving_old", seed, members)
    weaned, born, lost = (now * each for each in _young(of, seed, members))
    own_young = any(c.young and c.kind == of.kind and c.mob == of.mob for c in herd.classes)
    wanted = then - (now - die - leave)
    kept = np.clip(wanted, 0.0, HALF * weaned)
    bought, fewer = np.maximum(wanted - kept, 0.0), np.maximum(-wanted, 0.0)
    if own_young:
        # The young stand in a line of their own: only those that are kept come over from it.
        return np.zeros_like(now), die, leave + fewer, bought
    return born, die + lost, leave + fewer + weaned - kept, bought


def _of_young(
    of: Class_, now: Array, herd: Herd, seed: int, members: Sequence[int]
) -> tuple[Array, Array, Array, Array]:
    """Return the flows of a line of young: born on the farm where their mothers are there, else bought."""
    lost = now * _rate(of, "dying_young", seed, members)
    mothers = [c for c in herd.classes if c.breeds and c.kind == of.kind and c.mob == of.mob]
    if not mothers:
        return np.zeros_like(now), lost, now - lost, now
    stay = sum(c.head for c in mothers) * (
        _rate(mothers[0], "leaving_old", seed, members) + _rate(mothers[0], "dying_grown", seed, members)
    )
    share = now / max(of.head, 1)
    return now, lost, np.maximum(now - lost - stay * share, 0.0), np.zeros_like(now)


def _eggs(herd: Herd, head: Array, seed: int, members: Sequence[int]) -> Array:
    """Return the eggs of the hens, shape (year, member); 0 without hens. [1/yr]"""
    hens = [i for i, c in enumerate(herd.classes) if (c.kind, c.klass) == HENS]
    each = rate(seed, "eggs_per_hen", HENS[0], members)
    return np.asarray(head[:, :, hens].sum(axis=2) * (0.0 if each is None else each))
