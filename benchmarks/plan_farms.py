"""Made-up seasons of any size, as ``move-plan-instance/1``: the same seed gives the same season.

Every number is a choice of the study whose distributions these are (``planner.md`` 7), of the order common in
practice; none is data.
"""

from __future__ import annotations

from typing import Any

import numpy as np

FIRST_DOY = 91
CLASSES = ("open", "mature", "nut", "young", "pole")
SHARES = (0.20, 0.35, 0.20, 0.15, 0.10)
COVER = {
    "open": (0.0, 0.05),
    "mature": (0.35, 0.60),
    "nut": (0.25, 0.50),
    "young": (0.02, 0.10),
    "pole": (0.30, 0.50),
}
KINDS = ("cattle", "sheep", "goats")
DEMAND = {1: (1.0,), 2: (0.6, 0.4), 3: (0.5, 0.3, 0.2)}
SIGMA = {
    "cattle": (0.0, 0.05, 0.30, 2.0, 0.40), "sheep": (0.0, 0.04, 0.25, 1.2, 0.50),
    "goats": (0.0, 0.30, 1.0, 2.5, 1.2),
}  # fmt: skip
STAY = {"cattle": 4, "sheep": 4, "goats": 3}
WEIGHTS = {
    "hay_per_kg": 0.3, "yard_per_mob_day": 30.0, "residual_short_per_kg": 0.15, "entry_short_per_kg": 1.0,
    "dose_over_per_unit": 3.0, "per_move": 8.0, "per_km": 6.0, "end_cover_short_per_kg": 0.06,
}  # fmt: skip
FLOOR, WASTED, COVER_END = 900.0, 1.15, 2800.0


def season(seed: int, paddocks: int, days: int, mobs: int) -> dict[str, Any]:
    """Return a season: ``paddocks`` × ``days`` with ``mobs`` mobs."""
    luck = np.random.default_rng(seed)
    t = np.arange(days)
    doy = FIRST_DOY + t
    area = np.clip(np.exp(luck.normal(np.log(2), 0.30, paddocks)), 0.8, 4.0)
    kind = luck.choice(5, paddocks, p=SHARES)
    cover = np.array([luck.uniform(*COVER[CLASSES[c]]) for c in kind])
    soil = np.exp(luck.normal(0, 0.15, paddocks))
    ceiling = 4200 * (1 - 0.35 * cover) * luck.uniform(0.9, 1.1, paddocks)
    residual = luck.uniform(1400, 1600, paddocks)
    entry = residual + luck.uniform(600, 900, paddocks)
    start = luck.uniform(residual, entry + 400)
    growth = _growth(doy, soil, cover)
    rho = luck.uniform(0.85, 1.0)
    demand = _demand(t, mobs, rho * 0.75 * float((area[:, None] * growth).sum()) / (WASTED * days))
    closed = [_closed(luck, CLASSES[c], days, mobs) for c in kind]
    barred = _barred(luck, days)
    rest = _rest(luck, mobs)
    heat = _heat(luck, doy)
    limit = luck.uniform(80, 160, paddocks)
    cap = np.where(np.isin(t, barred), 0, np.where((t % 7 == 5) | (mobs == 1), 1, 2))
    cap[0] = mobs
    return {
        "schema": "move-plan-instance/1",
        "id": f"season_{paddocks}x{days}x{mobs}_s{seed}",
        "horizon_days": days, "weights": WEIGHTS, "harvest_loss_factor": WASTED,
        "end_cover_cap_kg_ha": COVER_END, "ungrazeable_floor_kg_ha": FLOOR, "heat_days": heat,
        "heat_needs_crown_cover": 0.20,
        "paddocks": [
            {"id": p, "area_ha": area[p], "crown_cover": cover[p], "tree_class": CLASSES[kind[p]],
             "K_kg_ha": ceiling[p], "residual_kg_ha": residual[p], "entry_min_kg_ha": entry[p],
             "H0_kg_ha": start[p], "dose_limit": limit[p], "peak_growth_kg_ha_d": growth[p].tolist(),
             "closed": closed[p]}
            for p in range(paddocks)
        ],
        "mobs": [
            {"id": m, "kind": KINDS[m], "demand_kg_d": demand[m].tolist(),
             "max_residence_d": STAY[KINDS[m]],
             "dose_sensitivity_by_paddock": [SIGMA[KINDS[m]][c] for c in kind],
             "heat_penalty_unshaded_per_day": 0.35 * float(demand[m].mean()) / 11}
            for m in range(mobs)
        ],
        "no_move_days": barred, "move_cap_per_day": cap.tolist(), "min_rest_days_from_kind_to_kind": rest,
        "distance_km_last_index_is_yard": _far(area).tolist(),
    }  # fmt: skip


def _growth(doy: np.ndarray, soil: np.ndarray, cover: np.ndarray) -> np.ndarray:
    """Return peak growth, shape (paddock, day). [kg DM/ha/d]"""
    base = 70 * np.exp(-(((doy - 140) / 30) ** 2)) + 38 * np.exp(-(((doy - 255) / 28) ** 2)) + 14
    leaf = np.clip((doy - 105) / 25, 0, 1) * np.clip((305 - doy) / 20, 0, 1)
    hot = np.exp(-(((doy - 205) / 28) ** 2))
    light = 1 - 0.7 * cover[:, None] * leaf + 0.25 * cover[:, None] * hot
    return np.asarray(soil[:, None] * base * light)


def _demand(t: np.ndarray, mobs: int, total: float) -> np.ndarray:
    """Return demand, shape (mob, day). [kg DM/d]"""
    shape = (
        1 + 0.2 * (t / len(t) - 0.5), 1 + 0.25 * np.exp(-(((t - 30) / 25) ** 2)) - 0.1 * (t > 90),
        1 + 0.15 * np.sin(2 * np.pi * t / 180),
    )  # fmt: skip
    return np.array([share * total * shape[m] / shape[m].mean() for m, share in enumerate(DEMAND[mobs])])


def _closed(luck: np.random.Generator, tree: str, days: int, mobs: int) -> dict[str, list[list[int]]]:
    """Return the closed days of a paddock by kind, first and last day of each time."""
    found: dict[str, list[list[int]]] = {kind: [] for kind in KINDS[:mobs]}

    def close(kinds: tuple[str, ...], first: int, last: int) -> None:
        first, last = max(first, 0), min(last, days - 1)
        for kind in kinds:
            if first <= last and kind in found:
                found[kind].append([first, last])

    if tree == "nut":
        begin = 244 + int(luck.integers(-7, 15)) - FIRST_DOY
        close(KINDS, begin - int(luck.choice([60, 90, 120])), begin + int(luck.integers(40, 61)))
    if tree == "young" and luck.random() < 0.3:
        close(KINDS, 0, days - 1)
    if tree == "mature" and luck.random() < 0.25:
        close(("cattle",), 265 - FIRST_DOY, 304 - FIRST_DOY)
    if luck.random() < 0.20:
        close(KINDS, 0, int(luck.integers(15, 36)) - 1)
    if tree in ("nut", "young"):
        close(("goats",), 0, days - 1)
    return found


def _barred(luck: np.random.Generator, days: int) -> list[int]:
    """Return the days on which nobody can move stock; never more than two together."""
    barred = {t for t in range(days) if t % 7 == 6}
    weeks = [t for t in range(days) if t % 7 == 5]
    some = [int(t) for t in luck.choice(np.arange(2, days), 5, replace=False)]
    for t in [*some, *(int(t) for t in luck.choice(weeks, min(3, len(weeks)), replace=False))]:
        near = {t - 2, t - 1} <= barred or {t - 1, t + 1} <= barred or {t + 1, t + 2} <= barred
        if not near:
            barred.add(t)
    return sorted(barred - {0})


def _rest(luck: np.random.Generator, mobs: int) -> list[list[int]]:
    own, cross = int(luck.integers(35, 46)), int(luck.integers(15, 22))
    rest = np.full((mobs, mobs), cross)
    rest[0, 0] = 21
    rest[1:, 1:] = own
    return [[int(d) for d in row] for row in rest]


def _heat(luck: np.random.Generator, doy: np.ndarray) -> list[int]:
    hot, found = False, []
    for t, day in enumerate(doy):
        if 172 <= day <= 243:
            hot = bool(luck.random() < (0.67 if hot else 0.08))
            if hot:
                found.append(t)
    return found


def _far(area: np.ndarray) -> np.ndarray:
    """Return distances between paddocks along lanes, the yard last, shape (place, place). [km]"""
    paddocks = len(area)
    lanes = -(-paddocks // 20)
    lane = np.arange(paddocks) * lanes // paddocks
    middle = np.zeros(paddocks)
    for one in range(lanes):
        sides = [50.0, 50.0]
        for p in np.flatnonzero(lane == one):
            side = int(sides[1] < sides[0])
            front = 100 * np.sqrt(area[p])
            middle[p] = sides[side] + front / 2
            sides[side] += front
    same = lane[:, None] == lane[None, :]
    between = np.where(same, np.abs(middle[:, None] - middle) + 40, middle[:, None] + middle + 80)
    np.fill_diagonal(between, 0.0)
    out = np.zeros((paddocks + 1, paddocks + 1))
    out[:-1, :-1] = between
    out[-1, :-1] = out[:-1, -1] = middle + 40
    return out / 1000
