"""A plan of ``move-plan-instance/1`` judged day by day in plain Python, from the format's own words.

It shares no line with the planner: calendar, herbage and cost are read from the file and worked out one day,
one paddock and one mob at a time (planner.md 1.2 to 1.4).
"""

from __future__ import annotations

import math
from typing import Any

MARGIN = 200.0


def faults(made: dict[str, Any], plan: list[list[int]]) -> list[str]:
    """Return every hard rule that a plan breaks; ``plan`` is a place for each mob and day."""
    found: list[str] = []
    yard, left = len(made["paddocks"]), {}
    stood = [0] * len(plan)
    for t in range(made["horizon_days"]):
        arrived = [m for m, row in enumerate(plan) if row[t] != (row[t - 1] if t else yard)]
        for m in arrived:
            stood[m] = 0
            if t and plan[m][t - 1] != yard:
                left[plan[m][t - 1], m] = t
        for m in arrived:
            found += _unrested(made, plan, left, m, t)
        if arrived and t in made["no_move_days"]:
            found.append(f"moves on day {t}")
        if len(arrived) > made["move_cap_per_day"][t]:
            found.append(f"{len(arrived)} arrivals on day {t}")
        for m, row in enumerate(plan):
            stood[m] += 1
            found += _barred(made, plan, stood[m], m, t) if row[t] != yard else []
    return found


def _unrested(made: dict[str, Any], plan: list[list[int]], left: dict[Any, int], m: int, t: int) -> list[str]:
    rest, here = made["min_rest_days_from_kind_to_kind"], plan[m][t]
    return [
        f"mob {m} comes to {here} on day {t}, {t - left[here, i]} d after mob {i}"
        for i in range(len(plan))
        if here != len(made["paddocks"]) and (here, i) in left and t - left[here, i] < rest[i][m]
    ]


def _barred(made: dict[str, Any], plan: list[list[int]], stood: int, m: int, t: int) -> list[str]:
    mob, here = made["mobs"][m], plan[m][t]
    closed = made["paddocks"][here]["closed"].get(mob["kind"], [])
    found = [f"mob {m} is in {here} on day {t}, closed" for a, e in closed if a <= t <= e]
    if stood > mob["max_residence_d"]:
        found.append(f"mob {m} stays too long in {here} on day {t}")
    if [row[t] for row in plan].count(here) > 1:
        found.append(f"two mobs in {here} on day {t}")
    return found


def cost(made: dict[str, Any], plan: list[list[int]]) -> dict[str, float]:
    """Return each term of a plan's cost in its own unit, and ``total`` in USD."""
    w, yard, days = made["weights"], len(made["paddocks"]), made["horizon_days"]
    floor, wasted = made["ungrazeable_floor_kg_ha"], made["harvest_loss_factor"]
    term = dict.fromkeys(
        ("hay", "yard_hay", "yard_d", "residual", "entry", "dose", "heat", "moves", "km", "end"), 0.0
    )
    herbage = [p["H0_kg_ha"] for p in made["paddocks"]]
    dose = [0.0] * yard
    for t in range(days):
        grazed = {}
        for m, row in enumerate(plan):
            mob, here, before = made["mobs"][m], row[t], row[t - 1] if t else yard
            if here != before:
                term["moves"] += 1
                term["km"] += made["distance_km_last_index_is_yard"][before][here]
            if here == yard:
                term["yard_d"] += 1
                term["yard_hay"] += mob["demand_kg_d"][t]
                continue
            paddock = made["paddocks"][here]
            area, need = paddock["area_ha"], mob["demand_kg_d"][t]
            if here != before:
                term["entry"] += area * max(0.0, paddock["entry_min_kg_ha"] - herbage[here])
            eaten = min(need, max(0.0, (herbage[here] - floor) * area / wasted))
            term["hay"] += need - eaten
            grazed[here] = herbage[here] - wasted * eaten / area
            line = paddock["residual_kg_ha"] + MARGIN
            z = max(0.0, (line - grazed[here]) / (line - floor))
            dose[here] += need / 11 / area * mob["dose_sensitivity_by_paddock"][here] * (1 + 4 * z * z)
            if t in made["heat_days"] and paddock["crown_cover"] < made["heat_needs_crown_cover"]:
                term["heat"] += mob["heat_penalty_unshaded_per_day"]
            if t == days - 1 or row[t + 1] != here:
                term["residual"] += area * max(0.0, paddock["residual_kg_ha"] - grazed[here])
        for p, paddock in enumerate(made["paddocks"]):
            h, full = grazed.get(p, herbage[p]), paddock["K_kg_ha"]
            e = math.exp(4 * paddock["peak_growth_kg_ha_d"][t] / full)
            herbage[p] = h * e / (1 + h * (e - 1) / full)
    for p, paddock in enumerate(made["paddocks"]):
        term["dose"] += max(0.0, dose[p] - paddock["dose_limit"])
        term["end"] += paddock["area_ha"] * max(0.0, made["end_cover_cap_kg_ha"] - herbage[p])
    total = (
        w["hay_per_kg"] * (term["hay"] + term["yard_hay"]) + w["yard_per_mob_day"] * term["yard_d"]
        + w["residual_short_per_kg"] * term["residual"] + w["entry_short_per_kg"] * term["entry"]
        + w["dose_over_per_unit"] * term["dose"] + term["heat"] + w["per_move"] * term["moves"]
        + w["per_km"] * term["km"] + w["end_cover_short_per_kg"] * term["end"]
    )  # fmt: skip
    return {**term, "total": total}
