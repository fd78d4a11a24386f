"""What a season costs under weather that nobody foresaw, by the way in which it is run.

``python -m benchmarks.policies``. Each policy is played through 50 weather years on a made-up season: plans
that are kept whatever comes, three hand rules that see the herbage of each day, and plans made anew each week
from what stands, on a forecast that is the mean of other years, 0.88 of it, or leans on what grew so far.
A replan begins from the plan in force. Rows that are in the file are not played again: the same command
goes on where it was stopped.
"""

from __future__ import annotations

import argparse
import csv
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from benchmarks.__main__ import machine_line
from benchmarks.hand_rules import RULES, by_rule, play_days
from benchmarks.plan_ensemble import for_all_years
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of
from benchmarks.plan_leaning import Leaning
from benchmarks.plan_weather import (
    TEST,
    TRAIN,
    mean_year,
    onward,
    prices_onward,
    tables_onward,
    under,
    years,
)
from browseline.moves.again import Guide
from browseline.moves.board.anneal import anneal
from browseline.moves.board.beam import beam
from browseline.moves.board.form import TERMS, Array, Board, Index
from browseline.moves.board.prices import Dual, Prices, tables_of
from browseline.moves.board.search import Keeping, key_of, search
from browseline.moves.board.season import cost_usd
from browseline.moves.forecast import PESSIMISTIC

INSTANCES = ("20x180x1 s0", "40x200x2 s0", "20x180x1 s1", "40x200x2 s1", "20x180x1 s200", "20x180x1 s201",
             "20x180x1 s202", "40x200x2 s200")  # fmt: skip
YEARS, TRAINING, FORESIGHT_YEARS = 50, 16, 10
WEEK_D, FINE, PRICE_STEPS, WIDTH, TRIES = 7, 0.04, 180, 12, 20_000
ROUNDS, ENSEMBLE_TRIES = (3, 2), 1_500_000
"""Rounds of search for a season's plan, with one mob and with more; changes tried for many years. [1]"""
THREADS = 2
"""Years that are played at a time: they share nothing but the forecast."""
CHURN_USD = ((7, 40.0), (14, 10.0))
FIELDS = ("instance", "policy", "year", "usd", *TERMS, "replan_cpu_s", "slowest_cpu_s", "changed_of_7d")


@dataclass(frozen=True)
class Effort:
    """How a replan searches: how wide its beams are, the changes it tries, and whether days have a price."""

    width: int = WIDTH
    tries: int = TRIES
    churn: bool = False


MORE = (Effort(150, 160_000), Effort(60, 80_000))
"""What fits into a tenth of a second of the processor, with one mob and with more."""


@dataclass(frozen=True)
class Played:
    """A season as it was run: where everybody stood, and what replanning took and changed."""

    x: Index
    cpu_s: tuple[float, ...] = ()
    changed: tuple[float, ...] = ()


class Forecast:
    """A season on a forecast: its plan, and the prices that every later replan of it looks at."""

    def __init__(self, board: Board, weather: Array, rounds: int = 0) -> None:
        self.mean, self.board = board, under(board, weather)
        self.rounds = rounds or ROUNDS[len(board.start) > 1]

    @cached_property
    def plan(self) -> Index:
        """Return the plan of the whole season."""
        return search(self.board, 1, self.rounds).x

    @cached_property
    def dual(self) -> Dual:
        """Return the search for prices, done."""
        first = 30.0 / len(self.board.start)
        dual = Dual(self.board, tables_of(self.board, FINE, False))
        for k in range(PRICE_STEPS):
            dual.climb(1, first * 0.02 ** (k / PRICE_STEPS), 0.0)
        return dual

    @cached_property
    def prices(self) -> Prices:
        """Return the prices."""
        return self.dual.prices()


def replanned(
    seen: Forecast, truth: Board, first: Index, every_d: int, effort: Effort = Effort(),
    leaning: Leaning | None = None,
) -> Played:  # fmt: skip
    """Return a season that is planned anew every few days from what stands by then.

    Parameters
    ----------
    truth : Board
        The same season in the weather that comes.
    first : int array, shape (mob, day)
        The plan to begin with.
    effort : Effort
    leaning : Leaning, optional
        What tells the days to come from what grew so far; else the forecast stays what it was.
    """
    days, grew = first.shape[1], np.diff(truth.growth[0]) / np.diff(seen.mean.growth[0])
    x, cpu, changed = first.copy(), [], []
    herbage, dose = truth.start_kg_ha.copy(), np.zeros(len(truth.area_ha))
    for day in range(0, days, every_d):
        if day:
            begun = time.thread_time()
            left, tables = onward(seen.board, x, day, herbage, dose), seen.dual.t
            if leaning is None:
                tables = tables_onward(seen.board, tables, day)
            else:
                left = under(onward(seen.mean, x, day, herbage, dose), leaning.forecast(grew[:day]))
                tables = tables_onward(seen.board, tables, day, left)
            new = _replan(left, Guide(tables, prices_onward(seen.prices, day)), x[:, day:], day, effort)
            cpu.append(time.thread_time() - begun)
            changed.append(float((new[:, :WEEK_D] != x[:, day : day + WEEK_D]).mean()))
            x[:, day:] = new
        play_days(truth, x, day, min(day + every_d, days), herbage, dose)
    return Played(x, tuple(cpu), tuple(changed))


def _replan(board: Board, guide: Guide, x: Index, day: int, effort: Effort) -> Index:
    """Return the rest of a season planned anew: beams along the stored prices, then small changes."""
    old = np.ascontiguousarray(x)
    price = np.zeros(old.shape[1])
    for until, usd in reversed(CHURN_USD if effort.churn else ()):
        price[:until] = usd
    held = Keeping(old, price)
    built = beam(board, guide.tables, guide.prices, old, price, effort.width)
    judged = [(cost_usd(board, y), i, y) for i, y in enumerate([old, *built])]
    best = min((usd + held.usd(y), i) for (kept, usd, _), i, y in judged if kept)[1]
    return np.asarray(anneal(board, judged[best][2], old, price, effort.tries, 6.0, 1.0, key_of(1, day))[0])


def policies(board: Board) -> dict[str, tuple[int, Callable[[Board], Played]]]:
    """Return each policy of a season by name: in how many years it is played, and how."""
    days = board.demand_kg_d.shape[1]
    mean = Forecast(board, mean_year(days))
    less, leaning = Forecast(board, PESSIMISTIC * mean_year(days)), Leaning(days)
    kept: dict[str, Index] = {}

    def ensemble() -> Index:
        if "ensemble" not in kept:
            training = years(TRAIN, TRAINING, days)
            kept["ensemble"] = for_all_years(board, training, less.plan, ENSEMBLE_TRIES, key_of(1, 0))
        return kept["ensemble"]

    found: dict[str, tuple[int, Callable[[Board], Played]]] = {
        "replan 7 d on 0.88": (YEARS, lambda b: replanned(less, b, less.plan, 7)),
        "plan on 0.88, kept": (YEARS, lambda b: Played(less.plan)),
        **{
            f"hand rule: {name}": (YEARS, lambda b, i=i: Played(by_rule(b, i)))  # type: ignore[misc]
            for i, name in enumerate(RULES)
        },
        "plan on 16 years, kept": (YEARS, lambda b: Played(ensemble())),
        "replan 7 d on 0.88, changes priced": (
            YEARS, lambda b: replanned(less, b, less.plan, 7, Effort(churn=True))
        ),
        "replan 7 d on the mean": (YEARS, lambda b: replanned(mean, b, mean.plan, 7)),
        "plan on the mean, kept": (YEARS, lambda b: Played(mean.plan)),
        "replan 14 d on 0.88": (YEARS, lambda b: replanned(less, b, less.plan, 14)),
        "plan on 16 years, replan 7 d on 0.88": (YEARS, lambda b: replanned(less, b, ensemble(), 7)),
        "replan 7 d, leaning on what grew": (
            YEARS, lambda b: replanned(less, b, less.plan, 7, MORE[len(b.start) > 1], leaning)
        ),
        "the year foreseen": (FORESIGHT_YEARS, lambda b: Played(search(b, 1, 2).x)),
    }  # fmt: skip
    return found


def run(instance: str, out: Path, most: int = YEARS, only: Sequence[str] = ()) -> None:
    """Play every policy of an instance that is not in the file yet, or only some."""
    size, seed = instance.split(" s")
    paddocks, days, mobs = (int(n) for n in size.split("x"))
    board = board_of(season(int(seed), paddocks, days, mobs))
    weather = years(TEST, YEARS, days)
    done = {(r["policy"], int(r["year"])) for r in rows_of(out) if r["instance"] == instance}
    for policy, (count, play) in policies(board).items():
        left = [year for year in range(min(count, most)) if (policy, year) not in done]
        truths = [under(board, weather[year]) for year in left if policy in (only or [policy])]
        first = [play(truth) for truth in truths[:1]]  # what all years share is made once
        with ThreadPoolExecutor(THREADS) as pool:
            for year, truth, played in zip(left, truths, (*first, *pool.map(play, truths[1:])), strict=False):
                _write(out, instance, policy, year, truth, played)


def _write(out: Path, instance: str, policy: str, year: int, truth: Board, played: Played) -> None:
    kept, usd, terms = cost_usd(truth, played.x)
    if not kept:
        raise ValueError(f"{instance}, {policy}, year {year}: a hard rule is broken")
    cpu, changed = played.cpu_s, played.changed
    last = [f"{np.mean(cpu):.4f}", f"{max(cpu):.4f}", f"{np.mean(changed):.4f}"] if cpu else ["", "", ""]
    new = not out.is_file()
    with out.open("a", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerows(
            [FIELDS] * new + [(instance, policy, year, f"{usd:.1f}", *(f"{v:.1f}" for v in terms), *last)]
        )


def rows_of(out: Path) -> list[dict[str, str]]:
    """Return the rows of a file, none if it is not there."""
    if not out.is_file():
        return []
    with out.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def table(rows: Iterable[dict[str, str]]) -> list[str]:
    """Return the table of the rows: cost by instance and policy, and what replanning took and changed."""
    found: dict[tuple[str, str], list[dict[str, str]]] = {}
    for row in rows:
        found.setdefault((row["instance"], row["policy"]), []).append(row)
    lines = [
        "| season | policy | years | mean | median | p90 | worst | one replan, CPU s | changed of 7 d |",
        "|---|---|--:|--:|--:|--:|--:|--:|--:|",
    ]
    for (instance, policy), own in found.items():
        usd = np.array([float(r["usd"]) for r in own])
        cells = [f"{v:,.0f}" for v in (usd.mean(), np.median(usd), np.quantile(usd, 0.9), usd.max())]
        replans = [r for r in own if r["replan_cpu_s"]]
        took = f"{np.mean([float(r['replan_cpu_s']) for r in replans]):.3f}" if replans else "–"
        share = f"{np.mean([float(r['changed_of_7d']) for r in replans]):.0%}" if replans else "–"
        lines.append(f"| {instance} | {policy} | {len(own)} | {' | '.join(cells)} | {took} | {share} |")
    return lines


def main() -> None:
    """Play what is not played yet, and print the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, default=Path("docs/science/plan_policies.csv"))
    ask.add_argument("--instances", nargs="*", default=INSTANCES)
    ask.add_argument("--years", type=int, default=YEARS, help="no more than so many of each policy")
    ask.add_argument("--policies", nargs="*", default=(), help="only these, by name")
    ask.add_argument("--table", action="store_true", help="only print what is in the file")
    said = ask.parse_args()
    for instance in () if said.table else said.instances:
        run(instance, said.out, said.years, said.policies)
    print("\n".join([*table(rows_of(said.out)), "", machine_line()]))


if __name__ == "__main__":
    main()
