"""How near the planner comes to the proven best plan of small seasons.

``nice python -m benchmarks.plan_oracle --out docs/science/plan_oracle.csv``. One row a season, from seed 200
on; a season that is in the file is not run again. The planner has the same rounds on each, so that anybody
finds the same plans; its seconds are those of the processor, all threads together.
"""

from __future__ import annotations

import argparse
import csv
import time
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from benchmarks.plan_bars import rows_in
from benchmarks.plan_exact import best_of
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.search import search

SIZES, SEEDS = ((6, 30, 1), (10, 40, 1), (8, 30, 2)), range(200, 215)
ROUNDS, PROOF_S = 3, 900.0
BOUND = (0.01, 300)
SAME_USD = 0.1


@dataclass(frozen=True)
class Row:
    """One season: how many seasons its paddocks can have, the proven best, the planner's, and the bound."""

    season: str
    patterns: int
    proven_usd: float
    planner_usd: float
    planner_s: float
    bound_usd: float


def row_of(size: tuple[int, int, int], seed: int) -> Row:
    """Run one season."""
    made = season(seed, *size)
    board = board_of(made)
    begun = time.process_time()
    usd = search(board, 1, ROUNDS).usd
    took = time.process_time() - begun
    proven = best_of(made, PROOF_S)
    return Row(name_of(size, seed), proven.seasons, proven.usd, usd, took, bound_usd(board, *BOUND))


def name_of(size: tuple[int, int, int], seed: int) -> str:
    """Return the name of a season."""
    return "x".join(map(str, size)) + f" s{seed}"


def summary(rows: list[dict[str, str]]) -> list[str]:
    """Return a table by size: how many were the best, how far the worst was off, time and bound."""
    lines = [
        "| size | seasons | the proven best | worst above it | longest | bound below it: median, worst |",
        "|---|--:|--:|--:|--:|--:|",
    ]
    for size in SIZES:
        own = [r for r in rows if r["season"].startswith("x".join(map(str, size)) + " ")]
        if not own:
            continue
        off = [float(r["planner_usd"]) - float(r["proven_usd"]) for r in own]
        worst = max(d / float(r["proven_usd"]) for d, r in zip(off, own, strict=True))
        below = sorted(1 - float(r["bound_usd"]) / float(r["proven_usd"]) for r in own)
        longest = max(float(r["planner_s"]) for r in own)
        cells = ["x".join(map(str, size)), str(len(own)), str(sum(d < SAME_USD for d in off)), f"{worst:.2%}"]
        cells += [f"{longest:.2f} s", f"{below[len(below) // 2]:.1%}, {below[-1]:.1%}"]
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def main() -> None:
    """Run what is not in the file yet, and print the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, default=Path("docs/science/plan_oracle.csv"))
    ask.add_argument("--table", action="store_true", help="only print what is in the file")
    said = ask.parse_args()
    done = {r["season"] for r in rows_in(said.out)}
    for seed in () if said.table else SEEDS:
        for size in SIZES:
            if name_of(size, seed) in done:
                continue
            if not done:
                search(board_of(season(1, 6, 30, 1)), 1, 1)
            done.add(name_of(size, seed))
            _write(said.out, row_of(size, seed))
    print("\n".join(summary(rows_in(said.out))))


def _write(out: Path, row: Row) -> None:
    new = not out.is_file()
    with out.open("a", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        values = [f"{v:.6g}" if isinstance(v, float) else v for v in asdict(row).values()]
        writer.writerows([[f.name for f in fields(Row)]] * new + [values])


if __name__ == "__main__":
    main()
