"""Plan a season from a file and print what was found.

``python -m benchmarks.plan_instance FILE --seconds 5 --seed 1 --json --bound``. The format is
``move-plan-instance/1``.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.plan_file import board_of, plan_of, read, visits_of
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.form import TERMS, Board
from browseline.moves.board.search import search
from browseline.moves.board.season import cost_usd


def main() -> None:
    """Read, plan, print."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("file", type=Path)
    ask.add_argument("--seconds", type=float, default=5.0)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument(
        "--rounds", type=int, default=0, help="instead of seconds: the same rounds, the same plan"
    )
    ask.add_argument("--bound", action="store_true", help="a cost that no plan can be below, as well")
    ask.add_argument("--json", action="store_true")
    said = ask.parse_args()
    made = read(said.file)
    board = board_of(made)
    warm_up(board)
    found = plan(board, said.seed, said.seconds, said.rounds)
    if said.bound:
        found["bound"] = round(bound(board, said.seconds * 2), 1)
    reference = made.get("reference")
    if reference:
        kept, usd, _ = cost_usd(board, plan_of(made, reference["plan_visits_mob_paddock_start_len"]))
        found["reference"] = {"cost": round(usd, 1), "kept": kept, "said": reference["best_known_objective"]}
    if said.json:
        print(json.dumps(found))
    else:
        for name, item in found.items():
            print(f"{name}: {item}")


def plan(board: Board, seed: int, seconds: float, rounds: int = 0) -> dict[str, Any]:
    """Return cost, terms and visits of the best plan found in a time or in some rounds, and its way there."""
    end = time.perf_counter() + seconds
    best = search(board, seed, rounds or 10_000, go_on=lambda: bool(rounds) or time.perf_counter() < end)
    kept, usd, terms = cost_usd(board, best.x)
    way = [[round(at, 2), round(cost, 1)] for at, cost in best.found]
    named = dict(zip(TERMS, np.round(terms, 1).tolist(), strict=True))
    return {
        "cost": round(usd, 1),
        "kept": kept,
        "terms": named,
        "visits": visits_of(best.x),
        "on_the_way": way,
    }


def bound(board: Board, seconds: float) -> float:
    """Return a cost that no plan can be below, searched for a time. [USD]"""
    fine = 0.02 if board.demand_kg_d.size * len(board.area_ha) > 10_000 else 0.01
    return bound_usd(board, fine, 0, seconds=seconds)


def warm_up(board: Board) -> None:
    """Compile, or load what is compiled, before the clock runs."""
    few = board._replace(cap=board.cap)
    search(few, 0, 1, go_on=_few_looks())


def _few_looks() -> Any:
    left = iter(range(3))
    return lambda: next(left, None) is not None


if __name__ == "__main__":
    main()
