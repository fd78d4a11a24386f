"""The judge: the exact simulation of a plan over members; no figure of a plan comes from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from browseline.figures import Figure
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.kernel import TERMS, Field, whole_plan
from browseline.science import grazing

Array = NDArray[np.float64]
FIGURES = {"hay": ("plan_hay", "kg"), "yard": ("plan_yard", "d"), "below": ("plan_below", "kg"),
           "early": ("plan_early", "kg"), "over": ("plan_over", "d"), "rest": ("plan_rest", "d"),
           "moves": ("plan_moves", "1"), "walk": ("plan_walk", "km"),
           "cover": ("plan_cover", "kg"), "job": ("plan_job", "d"), "dear": ("plan_dear", "d"),
           "behind": ("plan_behind", "1")}  # fmt: skip


def judge(yardstick: Yardstick, plan: Plan, members: Field | None = None) -> Verdict:
    """Return what a plan costs, term by term, over members.

    Parameters
    ----------
    plan : int array, shape (mob, day)
        A paddock's number, or ``yardstick.yard``.
    members : Field, optional
        The members to judge over; all of them if left out.

    Returns
    -------
    Verdict
        Where a hard limit is broken ``kept`` is False and the cost infinite.

    References
    ----------
    derived_here, planner.md 1.3 and 1.4 (terms), grazing.paddock_day (the step)
    """
    field = members or yardstick.whole
    count, days = field.mass_kg_ha.shape[0], plan.shape[1]
    mass = np.empty((len(yardstick.paddocks), count, days + 1))
    amount, usd = np.zeros((count, len(TERMS))), np.zeros((count, len(TERMS)))
    kept = bool(whole_plan(np.ascontiguousarray(plan, np.int64), yardstick.bars, field, mass, amount, usd))
    return Verdict(kept and bool(np.all(np.isfinite(usd))), amount, usd, np.moveaxis(mass, 0, 2))


def some_members(whole: Field, count: int) -> Field:
    """Return a few members that stand for all: evenly spaced from the poorest to the richest in grass.

    Parameters
    ----------
    count : int
        How many; all if there are not more.
    """
    return whole if whole.mass_kg_ha.shape[0] <= count else members_at(whole, standing_for(whole, count))


def standing_for(whole: Field, count: int) -> NDArray[np.int64]:
    """Return the numbers of the members of ``some_members``, shape (count,); all if there are not more."""
    members = whole.mass_kg_ha.shape[0]
    if members <= count:
        return np.arange(members)
    rank = np.argsort(_richness_kg(whole), kind="stable")
    return np.asarray(rank[np.floor((np.arange(count) + 0.5) * members / count).astype(int)], np.int64)


def poorest_first(whole: Field) -> Field:
    """Return all members, the poorest in grass first: a search then sees soonest what it cannot take."""
    return members_at(whole, np.argsort(_richness_kg(whole), kind="stable"))


def members_at(whole: Field, chosen: NDArray[np.int64]) -> Field:
    """Return some members by their numbers, shape (some,)."""
    days = whole.days
    some = grazing.Days(np.ascontiguousarray(days.potential_kg_ha_d[:, chosen]),
                        np.ascontiguousarray(days.loss_per_d[:, chosen]), days.typed_kg_ha_d,
                        days.cut_to_kg_ha)  # fmt: skip
    return whole._replace(mass_kg_ha=np.ascontiguousarray(whole.mass_kg_ha[chosen]),
                          fertility=np.ascontiguousarray(whole.fertility[chosen]), days=some)  # fmt: skip


def _richness_kg(whole: Field) -> Array:
    """Return a rank of members by herbage now and potential ahead, shape (member,). [kg DM]"""
    potential = whole.days.potential_kg_ha_d.sum(axis=2)
    grown = np.einsum("pmg,pg->mp", potential[whole.land.curve], whole.land.share) * whole.fertility
    return np.asarray((whole.mass_kg_ha + grown) @ whole.land.area_ha)


def figures_of(verdict: Verdict, yardstick: Yardstick, plan: Plan) -> tuple[Figure, ...]:
    """Return every term of a plan that is not nothing: its amount, with its cost as a part of it.

    Days that limits price stand limit by limit.
    """
    found = []
    for term in TERMS:
        amount, usd = verdict.part(term)
        if np.any(amount > 0) and term != "dear":
            name, unit = FIGURES[term]
            cost = spread("plan_cost", usd, "USD", about=term)
            found.append(spread(name, amount, unit, (cost,)))
    return (*found, *_dear(yardstick, plan))


def _dear(yardstick: Yardstick, plan: Plan) -> Iterator[Figure]:
    """Yield the days that a limit prices, limit by limit, with what they cost."""
    name, unit = FIGURES["dear"]
    for face in yardstick.faces:
        if face.dear_usd_d is None:
            continue
        paid = _where_they_stand(face.dear_usd_d, plan)
        days = paid > 0 if face.dear_share is None else _where_they_stand(face.dear_share, plan)
        if paid.any():
            cost = spread("plan_cost", paid.sum(keepdims=True)[0], "USD", about=face.name)
            yield spread(name, np.array([float(days.sum())]), unit, (cost,), face.name)


def _where_they_stand(of: Array, plan: Plan) -> Array:
    """Return what a number of each mob, day and paddock is where a plan has them, 0 off the grass."""
    with_yard = np.concatenate([of, np.zeros((*of.shape[:2], 1))], axis=2)
    return np.asarray(np.take_along_axis(with_yard[:, : plan.shape[1]], plan[:, :, None], axis=2)[:, :, 0])


def spread(name: str, values: Array, unit: str, parts: tuple[Figure, ...] = (), about: str = "") -> Figure:
    """Return the mean over members with the range that holds 80 % of them."""
    low, high = np.quantile(values, (0.1, 0.9), method="closest_observation")
    mean = float(values.mean())
    return Figure(name, mean, unit, float(min(low, mean)), float(max(high, mean)), parts=parts, about=about,
                  formula=f"mean of {len(values)}")  # fmt: skip
