"""The best plan of a small season, proven: for tests and figures only: beyond ten paddocks it takes minutes.

Every season a paddock can have (which mob, from when, for how long) is listed and costed day by day; an exact
solver (CP-SAT of OR-Tools) picks one for each paddock so that every mob walks one way through the season.
It reads ``move-plan-instance/1`` and shares no line with the planner. (``planner.md`` 1 and 2)
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

SCALE = 1_000
"""Whole numbers that the solver counts a dollar in. [1]"""
MARGIN_KG_HA, LU_KG_D = 200.0, 11.0


class Visit(NamedTuple):
    """A mob on a paddock from a day to before another."""

    mob: int
    place: int
    first: int
    until: int


@dataclass(frozen=True)
class Proven:
    """The best plan by mob and day, its cost, the solver's bound [USD], and how many seasons there were."""

    plan: list[list[int]]
    usd: float
    bound_usd: float
    seasons: int


class Ground(NamedTuple):
    """One paddock part way through a season: herbage [kg DM/ha], the day, tree dose, cost [USD], visits."""

    h: float
    day: int
    dose: float
    usd: float
    visits: tuple[Visit, ...]


def seasons_of(made: dict[str, Any], place: int) -> list[tuple[float, tuple[Visit, ...]]]:
    """Return every season a paddock can have: its cost [USD] and its visits."""
    return list(_from(made, place, Ground(made["paddocks"][place]["H0_kg_ha"], 0, 0.0, 0.0, ())))


def _from(made: dict[str, Any], place: int, now: Ground) -> Iterator[tuple[float, tuple[Visit, ...]]]:
    yield _ended(made, place, now), now.visits
    for first in range(now.day, made["horizon_days"]):
        if first in made["no_move_days"]:
            continue
        for mob in range(len(made["mobs"])):
            if _rested(made, now.visits, mob, first):
                for after in _visits(made, place, now, mob, first):
                    yield from _from(made, place, after)


def _rested(made: dict[str, Any], visits: tuple[Visit, ...], mob: int, first: int) -> bool:
    rest = made["min_rest_days_from_kind_to_kind"]
    return all(first - v.until >= rest[v.mob][mob] for v in visits)


def _grown(made: dict[str, Any], place: int, h: float, day: int) -> float:
    """Return herbage after the growth of a day, by the format's logistic step. [kg DM/ha]"""
    paddock = made["paddocks"][place]
    e = math.exp(4 * paddock["peak_growth_kg_ha_d"][day] / paddock["K_kg_ha"])
    return float(h * e / (1 + h * (e - 1) / paddock["K_kg_ha"]))


def _ended(made: dict[str, Any], place: int, now: Ground) -> float:
    """Return the cost of a season after which nobody comes any more. [USD]"""
    paddock, w, h = made["paddocks"][place], made["weights"], now.h
    for day in range(now.day, made["horizon_days"]):
        h = _grown(made, place, h, day)
    bare = paddock["area_ha"] * max(0.0, made["end_cover_cap_kg_ha"] - h)
    over = max(0.0, now.dose - paddock["dose_limit"])
    return float(now.usd + w["end_cover_short_per_kg"] * bare + w["dose_over_per_unit"] * over)


def _visits(made: dict[str, Any], place: int, now: Ground, mob: int, first: int) -> Iterator[Ground]:
    """Yield the ground after visits of every length that the calendar lets a mob make from a day."""
    paddock, beast, w = made["paddocks"][place], made["mobs"][mob], made["weights"]
    area, floor, wasted = paddock["area_ha"], made["ungrazeable_floor_kg_ha"], made["harvest_loss_factor"]
    closed = [d for a, e in paddock["closed"].get(beast["kind"], []) for d in range(a, e + 1)]
    h, dose = now.h, now.dose
    for day in range(now.day, first):
        h = _grown(made, place, h, day)
    usd = now.usd + w["entry_short_per_kg"] * area * max(0.0, paddock["entry_min_kg_ha"] - h)
    for day in range(first, min(first + beast["max_residence_d"], made["horizon_days"])):
        if day in closed:
            return
        need = beast["demand_kg_d"][day]
        eaten = min(need, max(0.0, (h - floor) * area / wasted))
        left = h - wasted * eaten / area
        line = paddock["residual_kg_ha"] + MARGIN_KG_HA
        z = max(0.0, (line - left) / (line - floor))
        dose += need / LU_KG_D / area * beast["dose_sensitivity_by_paddock"][place] * (1 + 4 * z * z)
        usd += w["hay_per_kg"] * (need - eaten)
        if day in made["heat_days"] and paddock["crown_cover"] < made["heat_needs_crown_cover"]:
            usd += beast["heat_penalty_unshaded_per_day"]
        h = _grown(made, place, left, day)
        if day + 1 == made["horizon_days"] or day + 1 not in made["no_move_days"]:
            short = w["residual_short_per_kg"] * area * max(0.0, paddock["residual_kg_ha"] - left)
            yield Ground(h, day + 1, dose, usd + short, (*now.visits, Visit(mob, place, first, day + 1)))


def best_of(made: dict[str, Any], seconds: float = 120.0) -> Proven:
    """Return the best plan of a season.

    Raises
    ------
    RuntimeError
        If nothing was proven within the seconds.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    chosen: dict[Visit, list[Any]] = defaultdict(list)
    cost: list[tuple[Any, float]] = []
    count = 0
    for place in range(len(made["paddocks"])):
        found = seasons_of(made, place)
        count += len(found)
        picks = [model.new_bool_var("") for _ in found]
        model.add_exactly_one(picks)
        for pick, (usd, visits) in zip(picks, found, strict=True):
            cost.append((pick, usd))
            for visit in visits:
                chosen[visit].append(pick)
    walks = _walks(made, model, chosen, cost)
    model.minimize(sum(round(SCALE * usd) * pick for pick, usd in cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, 8
    solver.parameters.linearization_level = 2
    if solver.solve(model) != cp_model.OPTIMAL:
        raise RuntimeError("not proven in time")
    plan = [[len(made["paddocks"])] * made["horizon_days"] for _ in made["mobs"]]
    for visit, picks in chosen.items():
        if any(solver.value(pick) for pick in picks):
            plan[visit.mob][visit.first : visit.until] = [visit.place] * (visit.until - visit.first)
    usd = sum(usd for pick, usd in cost if solver.value(pick))
    if sum(solver.value(walk) for walk in walks) != _moves(made, plan):
        raise RuntimeError("the solver's walks are not the plan's")
    return Proven(plan, usd, solver.best_objective_bound / SCALE, count)


def _moves(made: dict[str, Any], plan: list[list[int]]) -> int:
    yard = len(made["paddocks"])
    return sum(row[t] != (row[t - 1] if t else yard) for row in plan for t in range(len(row)))


def _walks(made: dict[str, Any], model: Any, chosen: dict[Visit, list[Any]], cost: list[Any]) -> list[Any]:
    """Tie visits to one way of each mob through the season; return every walk that may be made."""
    yard, days, w = len(made["paddocks"]), made["horizon_days"], made["weights"]
    far = made["distance_km_last_index_is_yard"]
    on_day: dict[int, list[Any]] = defaultdict(list)
    for mob, beast in enumerate(made["mobs"]):
        comes: dict[tuple[int, int], list[Any]] = defaultdict(list)
        goes: dict[tuple[int, int], list[Any]] = defaultdict(list)
        for visit, picks in chosen.items():
            if visit.mob == mob:
                comes[visit.place, visit.first] += picks
                goes[visit.place, visit.until] += picks
        stands = [model.new_bool_var("") for _ in range(days)]
        for day, stand in enumerate(stands):
            usd = w["yard_per_mob_day"] + w["hay_per_kg"] * beast["demand_kg_d"][day]
            cost.append((stand, usd))
            arcs: dict[tuple[int, int], Any] = {}
            if day not in made["no_move_days"]:
                out = [p for p in range(yard) if goes[p, day]] + [yard]
                into = [p for p in range(yard) if comes[p, day]] + [yard]
                arcs = {(p, q): model.new_bool_var("") for p in out for q in into if p != q}
            for (p, q), arc in arcs.items():
                cost.append((arc, w["per_move"] + w["per_km"] * far[p][q]))
                on_day[day].append(arc)
            for place in range(yard):
                leaving = [arc for (p, _), arc in arcs.items() if p == place]
                coming = [arc for (_, q), arc in arcs.items() if q == place]
                model.add(sum(goes[place, day]) == sum(leaving))
                model.add(sum(comes[place, day]) == sum(coming))
            before = stands[day - 1] if day else 1
            out_of = sum(arc for (p, _), arc in arcs.items() if p == yard)
            model.add(stand == before - out_of + sum(arc for (_, q), arc in arcs.items() if q == yard))
        for day, stand in enumerate(stands):
            there = [p for v, ps in chosen.items() if v.mob == mob and v.first <= day < v.until for p in ps]
            model.add_exactly_one([stand, *there])
    for day, walks in on_day.items():
        model.add(sum(walks) <= made["move_cap_per_day"][day])
    return [walk for walks in on_day.values() for walk in walks]
