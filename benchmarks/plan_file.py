"""A season's moves as a file: format ``move-plan-instance/1`` read onto the board of the planner."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from browseline.moves.board.form import Board, Prices

LU_KG_D = 11.0
"""Intake of a livestock unit, as the format defines it. [kg DM/d]"""


def read(path: Path) -> dict[str, Any]:
    """Return the file as JSON."""
    found: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    if found.get("schema") != "move-plan-instance/1":
        raise ValueError(f"{path}: not move-plan-instance/1")
    return found


def board_of(made: dict[str, Any]) -> Board:
    """Return the board of an instance."""
    paddocks, mobs, days = made["paddocks"], made["mobs"], int(made["horizon_days"])
    weights = made["weights"]
    open_ = np.ones((len(mobs), days, len(paddocks)), bool)
    heat = np.zeros((len(mobs), days, len(paddocks)))
    for p, paddock in enumerate(paddocks):
        for m, mob in enumerate(mobs):
            for first, last in paddock["closed"].get(mob["kind"], []):
                open_[m, first : last + 1, p] = False
            if paddock["crown_cover"] < made["heat_needs_crown_cover"]:
                heat[m, made["heat_days"], p] = mob["heat_penalty_unshaded_per_day"]
    ceiling = column(paddocks, "K_kg_ha")
    growth = np.zeros((len(paddocks), days + 1))
    growth[:, 1:] = np.cumsum(
        4 * np.array([p["peak_growth_kg_ha_d"] for p in paddocks]) / ceiling[:, None], axis=1
    )
    demand = np.array([mob["demand_kg_d"] for mob in mobs], float)
    can_move = np.ones(days, bool)
    can_move[made["no_move_days"]] = False
    kinds = made["min_rest_days_from_kind_to_kind"]
    return Board(
        clear_days(open_), can_move, np.array(made["move_cap_per_day"], np.int64),
        np.array([[mob["max_residence_d"]] * len(paddocks) for mob in mobs], np.int64),
        np.array(kinds, np.int64), np.zeros((len(mobs), len(paddocks)), np.int64),
        np.array(made["distance_km_last_index_is_yard"], float), heat, demand, demand / LU_KG_D,
        np.full(len(mobs), len(paddocks), np.int64), np.zeros(len(mobs), np.int64),
        column(paddocks, "area_ha"), ceiling, column(paddocks, "residual_kg_ha"),
        column(paddocks, "H0_kg_ha"),
        column(paddocks, "dose_limit"), np.full(len(paddocks), float(made["end_cover_cap_kg_ha"])),
        np.array([column(paddocks, "entry_min_kg_ha")] * len(mobs)),
        np.array([mob["dose_sensitivity_by_paddock"] for mob in mobs], float),
        growth, np.exp(np.diff(growth, axis=1)),
        float(made["ungrazeable_floor_kg_ha"]), float(made["harvest_loss_factor"]), False, 0.0,
        Prices(weights["hay_per_kg"], weights["yard_per_mob_day"], weights["residual_short_per_kg"],
               weights["entry_short_per_kg"], weights["dose_over_per_unit"], weights["per_move"],
               weights["per_km"], weights["end_cover_short_per_kg"]),
    )  # fmt: skip


def column(rows: list[dict[str, Any]], name: str) -> np.ndarray:
    """Return one number of each row, shape (row,)."""
    return np.array([row[name] for row in rows], float)


def clear_days(open_: np.ndarray) -> np.ndarray:
    """Return for how many days from each day on a paddock stays open, shape as given (mob, day, paddock)."""
    clear = np.zeros(open_.shape, np.int64)
    for t in range(open_.shape[1] - 1, -1, -1):
        after = clear[:, t + 1] if t + 1 < open_.shape[1] else 0
        clear[:, t] = np.where(open_[:, t], 1 + after, 0)
    return clear


def plan_of(made: dict[str, Any], visits: list[list[int]]) -> np.ndarray:
    """Return a plan from its visits (mob, place, first day, days), shape (mob, day)."""
    x = np.full((len(made["mobs"]), int(made["horizon_days"])), len(made["paddocks"]), np.int64)
    for m, place, first, length in visits:
        x[m, first : first + length] = place
    return x


def visits_of(x: np.ndarray) -> list[list[int]]:
    """Return the visits of a plan: mob, place, first day, days."""
    found = []
    for m, row in enumerate(x):
        cuts = [0, *(np.flatnonzero(np.diff(row)) + 1).tolist(), len(row)]
        found += [[m, int(row[a]), a, b - a] for a, b in pairwise(cuts)]
    return found
