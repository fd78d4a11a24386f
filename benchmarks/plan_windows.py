"""A general-purpose solver as the planner's peer: CP-SAT on a window of days that rolls through the season.

``nice python -m benchmarks.plan_windows FILE … --out docs/science/plan_windows.csv``. Each window of 16 days
is solved for visits, walks and yard days, eight are kept, and the next window begins from what stands then.
Grass left at the end of a window has a value by the kilogram. The planner is then given the processor seconds
that the peer took, on the same board, in the same run. (``planner.md`` 3)
"""

from __future__ import annotations

import argparse
import csv
import time
from collections import defaultdict
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from benchmarks.hand_rules import play_days
from benchmarks.plan_bars import rows_in, searched
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of, read
from benchmarks.plan_weather import onward
from browseline.moves.board.form import Board, Index
from browseline.moves.board.season import cost_usd, graze, rested, short_of

WINDOW_D, KEPT_D = 16, 8
VALUES_USD_KG = (0.12, 0.25)
"""Of grass that a window leaves: the two of the study. [USD/kg DM]"""
WORK = 2.0
"""Of a window, in the solver's own repeatable count, about seconds; more where it found nothing. [s]"""
SCALE = 100
MADE_UP = (((20, 180, 1), 200), ((20, 180, 1), 201), ((40, 200, 2), 200))


@dataclass(frozen=True)
class Row:
    """One season and value: cost of the peer, its processor seconds, the planner's cost in the same."""

    season: str
    value_usd_kg: float
    peer_usd: float
    peer_s: float
    planner_usd: float
    planner_s: float


class Visit(NamedTuple):
    """A mob on a paddock from a day to before another, with what it costs more than nobody. [USD]"""

    mob: int
    place: int
    first: int
    until: int
    usd: float


def window_of(board: Board, days: int) -> Board:
    """Return the board of its first days."""
    return board._replace(
        clear_d=np.ascontiguousarray(board.clear_d[:, :days]), can_move=board.can_move[:days].copy(),
        cap=board.cap[:days].copy(), heat_usd=np.ascontiguousarray(board.heat_usd[:, :days]),
        demand_kg_d=np.ascontiguousarray(board.demand_kg_d[:, :days]),
        lu=np.ascontiguousarray(board.lu[:, :days]),
        growth=np.ascontiguousarray(board.growth[:, : days + 1]),
        step=np.ascontiguousarray(board.step[:, :days]),
    )  # fmt: skip


def _end_usd(b: Board, p: int, h: float, value: float | None) -> float:
    """Return what herbage left is worth as a cost: by the kilogram, or at the end the cover missing."""
    if value is None:
        return float(b.prices.end * b.area_ha[p] * max(0.0, b.cover[p] - h))
    return float(-value * b.area_ha[p] * h)


def visits_of(b: Board, value: float | None) -> list[Visit]:
    """Return every visit that the calendar lets a mob make in a window."""
    days, found = len(b.can_move), []
    for p in range(len(b.area_ha)):
        alone = rested(b.start_kg_ha[p], np.exp(b.growth[p, days]), b.ceiling[p])
        base = _end_usd(b, p, alone, value) + b.prices.dose * max(0.0, -b.dose_limit[p])
        for m in range(len(b.start)):
            for first in range(days):
                stood = first == 0 and b.start[m] == p
                if not stood and (not b.can_move[first] or first < b.fit_from[m, p]):
                    continue
                most = min(b.longest_d[m, p] - (b.been_d[m] if stood else 0), b.clear_d[m, first, p])
                for until in range(first + 1, min(first + most, days) + 1):
                    if until == days or b.can_move[until]:
                        usd = _visit_usd(b, m, p, first, until, value) - base
                        found.append(Visit(m, p, first, until, usd))
    return found


def _visit_usd(b: Board, m: int, p: int, first: int, until: int, value: float | None) -> float:
    """Return the cost of a paddock's window with one visit. [USD]"""
    w, days = b.prices, len(b.can_move)
    h = rested(b.start_kg_ha[p], np.exp(b.growth[p, first]), b.ceiling[p])
    stood = first == 0 and b.start[m] == p
    usd = 0.0 if stood else w.entry * b.area_ha[p] * short_of(b.entry[m, p], h, b.spread)
    hay, short, dose, heat, left = graze(b, p, m, first, until - first, h)
    after = rested(left, np.exp(b.growth[p, days] - b.growth[p, until]), b.ceiling[p])
    usd += w.hay * hay + w.residual * short + heat + w.dose * max(0.0, dose - b.dose_limit[p])
    return float(usd + _end_usd(b, p, after, value))


def solved(b: Board, value: float | None) -> Index:
    """Return the plan that the solver finds for a window, shape (mob, day)."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    visits = visits_of(b, value)
    picks = [model.new_bool_var("") for _ in visits]
    cost = [(pick, v.usd) for pick, v in zip(picks, visits, strict=True)]
    for p in range(len(b.area_ha)):
        model.add_at_most_one(pick for pick, v in zip(picks, visits, strict=True) if v.place == p)
    arrivals: dict[int, list[Any]] = defaultdict(list)
    for m in range(len(b.start)):
        own = [(pick, v) for pick, v in zip(picks, visits, strict=True) if v.mob == m]
        _walk(b, m, model, own, cost, arrivals)
    for day, arcs in arrivals.items():
        model.add(sum(arcs) <= int(b.cap[day]))
    model.minimize(sum(round(SCALE * usd) * pick for pick, usd in cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_deterministic_time, solver.parameters.num_workers = WORK, 2
    status = solver.solve(model)
    while status == cp_model.UNKNOWN:
        solver.parameters.max_deterministic_time *= 4
        status = solver.solve(model)
    if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        raise RuntimeError("no plan of a window")
    x = np.full(b.demand_kg_d.shape, len(b.area_ha), np.int64)
    for pick, v in zip(picks, visits, strict=True):
        if solver.value(pick):
            x[v.mob, v.first : v.until] = v.place
    return x


def _walk(
    b: Board, m: int, model: Any, own: list[Any], cost: list[Any], arrivals: dict[int, list[Any]]
) -> None:
    """Tie a mob's visits to one way through the window, with its walks and yard days."""
    yard, days, w = len(b.area_ha), len(b.can_move), b.prices
    comes, goes = defaultdict(list), defaultdict(list)
    for pick, v in own:
        stays = v.first == 0 and v.place == b.start[m]
        comes[v.place, -1 if stays else v.first].append(pick)
        goes[v.place, v.until].append(pick)
    if b.start[m] != yard:
        away = model.new_bool_var("")
        goes[int(b.start[m]), 0].append(away)
        model.add_exactly_one([away, *comes[int(b.start[m]), -1]])
    stands = [model.new_bool_var("") for _ in range(days)]
    for day, stand in enumerate(stands):
        cost.append((stand, w.yard_d + w.hay * b.demand_kg_d[m, day]))
        there = [pick for pick, v in own if v.first <= day < v.until]
        model.add_exactly_one([stand, *there])
        out = [p for p in range(yard) if goes[p, day]] + [yard]
        into = [p for p in range(yard) if comes[p, day]] + [yard]
        pairs = [(p, q) for p in out for q in into if p != q] if b.can_move[day] else []
        arcs = {pair: model.new_bool_var("") for pair in pairs}
        cost += [(arc, w.move + w.km * b.far_km[pair]) for pair, arc in arcs.items()]
        arrivals[day] += arcs.values()
        for p in range(yard):
            model.add(sum(goes[p, day]) == sum(arc for (a, _), arc in arcs.items() if a == p))
            model.add(sum(comes[p, day]) == sum(arc for (_, q), arc in arcs.items() if q == p))
        before = stands[day - 1] if day else int(b.start[m] == yard)
        gone = sum(arc for (a, _), arc in arcs.items() if a == yard)
        model.add(stand == before - gone + sum(arc for (_, q), arc in arcs.items() if q == yard))


def rolled(board: Board, value: float) -> Index:
    """Return the plan of a whole season, window by window."""
    days = board.demand_kg_d.shape[1]
    x = np.full(board.demand_kg_d.shape, len(board.area_ha), np.int64)
    herbage, dose = board.start_kg_ha.copy(), np.zeros(len(board.area_ha))
    for day in range(0, days, KEPT_D):
        rest = onward(board, x, day, herbage, dose) if day else board
        last = day + WINDOW_D >= days
        found = solved(window_of(rest, min(WINDOW_D, days - day)), None if last else value)
        kept = days - day if last else KEPT_D
        x[:, day : day + kept] = found[:, :kept]
        if last:
            break
        play_days(board, x, day, day + kept, herbage, dose)
    return x


def row_of(name: str, board: Board, value: float) -> Row:
    """Run the peer, then the planner for the same seconds of the processor."""
    begun = time.process_time()
    x = rolled(board, value)
    took = time.process_time() - begun
    kept, usd, _ = cost_usd(board, x)
    if not kept:
        raise RuntimeError(f"{name}: the peer broke a hard rule")
    begun = time.process_time()
    best = searched(board, took, time.process_time)
    return Row(name, value, usd, took, best.usd, time.process_time() - begun)


def main() -> None:
    """Run what is not in the file yet, and print it."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("files", nargs="*", type=Path)
    ask.add_argument("--out", type=Path, default=Path("docs/science/plan_windows.csv"))
    said = ask.parse_args()
    done = {(r["season"], float(r["value_usd_kg"])) for r in rows_in(said.out)}
    boards: dict[str, Board] = {path.stem: board_of(read(path)) for path in said.files}
    boards |= {"x".join(map(str, s)) + f" s{seed}": board_of(season(seed, *s)) for s, seed in MADE_UP}
    searched(board_of(season(1, 6, 30, 1)), 0.3)
    for name, board in boards.items():
        for value in VALUES_USD_KG:
            if (name, value) in done:
                continue
            row = row_of(name, board, value)
            new = not said.out.is_file()
            with said.out.open("a", newline="", encoding="utf-8") as file:
                writer = csv.writer(file, lineterminator="\n")
                values = [f"{v:.6g}" if isinstance(v, float) else v for v in asdict(row).values()]
                writer.writerows([[f.name for f in fields(Row)]] * new + [values])
    print(said.out.read_text(encoding="utf-8"))


if __name__ == "__main__":
    main()
