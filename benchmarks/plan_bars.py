"""How good the planner's search is, on made-up seasons from seed 200 on and the files given.

``nice python -m benchmarks.plan_bars FILE … --out docs/science/plan_bars.csv``. One row a season; a season
that is in the file is not run again, so that the same command goes on where it was stopped. Seconds are those
that would pass on two free cores (``board/side.py``): each thread's own processor time, and the longer of the
two where both work, so that a busy machine tells about the same as an idle one.

``--again FILE`` runs the search, its looks and the replans of the rows of an earlier file anew, and keeps the
rest of each row: hand rules, bound, rates, and the best cost known, unless a cheaper plan is found. With
``--replans`` the replans alone are made anew, on the plan of a search of ``--seconds``; with ``--bounds`` the
bounds alone.
"""

from __future__ import annotations

import argparse
import csv
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import numpy as np

from benchmarks.hand_rules import RULES, by_rule, play_days
from benchmarks.plan_farms import season
from benchmarks.plan_file import board_of, plan_of, read
from benchmarks.plan_weather import TEST, onward, under, years
from browseline.moves.board.anneal import anneal
from browseline.moves.board.bound import bound_usd
from browseline.moves.board.fast import stepped
from browseline.moves.board.form import Board, Index
from browseline.moves.board.search import Best, Keeping, all_yard, key_of, search
from browseline.moves.board.season import cost_usd, whole
from browseline.moves.board.side import seconds
from browseline.moves.board.stored import later_tables

SIZES, SEEDS = ((20, 180, 1), (40, 200, 2), (60, 240, 3)), range(200, 205)
LOOKS_S, LONG_S = (0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0), 60.0
BOUND_FINE, BOUND_S = {1: 0.005, 2: 0.005, 3: 0.01}, {1: 30.0, 2: 60.0, 3: 110.0}
"""Last grid of the bound [1], and how long it is sought [s], by mobs."""
REPLAN_DAY, CLOSED_D, REPLAN_S, AGAIN_S = 90, 14, 2.0, 15.0
REPLANNED = ("dry", "wet", "dry_usd", "wet_usd", "held_times")
"""How the names of the columns of replans end."""
CHURN_USD, CHURN_TIMES, MOST = ((14, 10.0), (7, 40.0)), ((14, 0.3), (7, 2.0)), 0.5
"""Price of a mob-day that differs, until a day: at least [USD], and in what a mob's day costs by now [1];
share of the next week beyond which the search raises them. [1]"""
TRIES, TIMES = 1_000_000, 4_000

Clock = Callable[[], float]


@dataclass
class Row:
    """One season's figures: costs and bound [USD], seconds on two free cores [s], rates of one [1/s].

    searched_s is how long the search went; looks beyond it are not known. bound_s of rows before it was
    counted so are seconds of the processor, both threads together: twice as strict. held_times is the price
    of a change in the next week, in what a mob's day costs by now.
    """

    season: str
    best_hand_usd: float
    best_known_usd: float
    feasible_s: float
    below_hand_s: float
    usd_05s: float
    usd_1s: float
    usd_2s: float
    usd_5s: float
    usd_10s: float
    usd_30s: float
    usd_60s: float
    searched_s: float
    searched_usd: float
    bound_usd: float
    bound_s: float
    held_times: float
    replan_dry_usd: float
    again_dry_usd: float
    changed_dry: float
    forced_dry: float
    replan_wet_usd: float
    again_wet_usd: float
    changed_wet: float
    forced_wet: float
    changes_per_s: float
    plans_per_s: float


def seasons(files: list[Path], seeds: Iterable[int] = SEEDS) -> Iterator[tuple[str, Board, float]]:
    """Yield the seasons: name, board, and the best cost known before; infinite if none. [USD]"""
    for path in files:
        made = read(path)
        board = board_of(made)
        known = plan_of(made, made["reference"]["plan_visits_mob_paddock_start_len"])
        yield path.stem, board, cost_usd(board, known)[1]
    for seed in seeds:
        for size in SIZES:
            yield "x".join(map(str, size)) + f" s{seed}", board_of(season(seed, *size)), np.inf


def searched(board: Board, long_s: float, clock: Clock = seconds, **more: object) -> Best:
    """Return a search that ends after some seconds of a clock; ``found`` is told in them."""
    begun = clock()
    return search(board, 1, 10_000, go_on=lambda: clock() - begun < long_s, clock=clock, **more)  # type: ignore[arg-type]


def usd_after(best: Best, seconds: float) -> float:
    """Return the cost of the cheapest plan found within some seconds. [USD]"""
    return min((usd for t, usd in best.found if t <= seconds), default=float("inf"))


def closed(board: Board, old: Index, count: int) -> tuple[Board, Index]:
    """Shut paddocks that a plan uses in its first fortnight; return the board, and the plan then."""
    yard, clear = len(board.area_ha), board.clear_d.copy()
    soon = [int(p) for row in old for p in row[1:CLOSED_D] if p != yard and p not in board.start]
    shut = list(dict.fromkeys(soon))[:count]
    clear[:, :CLOSED_D, shut] = 0
    plan = old.copy()
    for row in plan:
        for p in shut:
            t = 0
            while t < CLOSED_D:
                stays = t
                while stays < len(row) and row[stays] == p:
                    stays += 1
                row[t:stays] = yard
                t = max(stays, t + 1)
    return board._replace(clear_d=clear), plan


def replanned(
    board: Board, best: Best, weather: np.ndarray, soon_s: float = REPLAN_S, long_s: float = AGAIN_S
) -> tuple[float, float, float, float]:
    """Return what a plan made anew in 2 s and one made in 15 s cost, and the shares of days changed.

    The first keeps the plan in force where a change is not worth its price; its cost is told without these
    prices, beside the cost of the second, which has none. Shares are of the next seven days: how much the
    first changed, and how much the closures alone force.
    """
    herbage, dose = board.start_kg_ha.copy(), np.zeros(len(board.area_ha))
    play_days(under(board, weather), best.x, 0, REPLAN_DAY, herbage, dose)
    old = np.ascontiguousarray(best.x[:, REPLAN_DAY:])
    rest, repaired = closed(onward(board, best.x, REPLAN_DAY, herbage, dose), old, 2 * len(board.start))
    rest = rest._replace(growth=np.ascontiguousarray(board.growth[:, REPLAN_DAY:]))
    keeping = Keeping(old, _until(CHURN_USD, old.shape[1]), _until(CHURN_TIMES, old.shape[1]), MOST)
    guide = None
    if best.guide is not None:
        price, arrival, mu, leave = best.guide
        guide = (price[:, REPLAN_DAY:], arrival[REPLAN_DAY:], mu, leave[:, REPLAN_DAY:])
    begun = seconds()
    tables = later_tables(board, best.tables, rest) if best.tables is not None else None
    left_s = soon_s - (seconds() - begun)
    new = searched(rest, left_s, keeping=keeping, begin=[repaired], guide=guide, tables=tables)
    again = searched(rest, long_s, begin=[repaired], guide=guide, tables=tables)
    changed, forced = (float((x[:, :7] != old[:, :7]).mean()) for x in (new.x, repaired))
    return cost_usd(rest, new.x)[1], again.usd, changed, forced


def _until(steps: tuple[tuple[int, float], ...], days: int) -> np.ndarray:
    """Return a value for each day from its steps, the farthest first, shape (day,)."""
    found = np.zeros(days)
    for until, value in steps:
        found[:until] = value
    return found


@stepped
def _many(b, x, terms, times):  # type: ignore[no-untyped-def]
    """Return whether a plan keeps every hard rule, asked many times."""
    kept = True
    for _ in range(times):
        kept = bool(whole(b, x, terms)) and kept
    return kept


def rates(board: Board, x: Index) -> tuple[float, float]:
    """Return how many small changes, and how many whole plans, one core prices in a second."""
    none, terms = np.full(x.shape, -1, np.int64), np.zeros(10)
    anneal(board, x, none, np.zeros(0), 10, 6.0, 1.0, key_of(1, 0))
    _many(board, x, terms, 1)
    begun = time.process_time()
    anneal(board, x, none, np.zeros(0), TRIES, 6.0, 1.0, key_of(1, 0))
    between = time.process_time()
    _many(board, x, terms, TIMES)
    return TRIES / (between - begun), TIMES / (time.process_time() - between)


def row_of(name: str, board: Board, known: float) -> Row:
    """Run one season."""
    hand = min(cost_usd(board, by_rule(board, k))[1] for k in range(len(RULES)))
    best = searched(board, LONG_S)
    looks = looked(board, best, hand)
    bound, took = bounded(board)
    x, _ = anneal(
        board,
        all_yard(board),
        np.full(best.x.shape, -1, np.int64),
        np.zeros(0),
        300_000,
        80.0,
        2.0,
        key_of(1, 9),
    )
    changes, plans = rates(board, x)
    return Row(
        season=name, best_hand_usd=hand, best_known_usd=min(known, best.usd), searched_s=LONG_S,
        searched_usd=best.usd,
        bound_usd=bound, bound_s=took, changes_per_s=changes, plans_per_s=plans, **looks,
    )  # fmt: skip


def bounded(board: Board) -> tuple[float, float]:
    """Return a bound [USD] and the seconds that it took."""
    begun = seconds()
    mobs = len(board.start)
    usd = bound_usd(board, BOUND_FINE[mobs], 0, None, BOUND_S[mobs], seconds)
    return usd, seconds() - begun


def looked(board: Board, best: Best, hand_usd: float) -> dict[str, float]:
    """Return what a search had found by when, and what replans on its plan come to."""
    weather = years(TEST, 50, board.demand_kg_d.shape[1])
    wetness = weather[:, :REPLAN_DAY].mean(axis=1)
    found = {_name(s): usd_after(best, s) for s in LOOKS_S}
    found["feasible_s"] = best.found[0][0]
    found["held_times"] = CHURN_TIMES[-1][1]
    found["below_hand_s"] = min((t for t, usd in best.found if usd < hand_usd), default=float("inf"))
    for kind, year in (("dry", wetness.argmin()), ("wet", wetness.argmax())):
        names = ("replan", "again", "changed", "forced")
        units = ("_usd", "_usd", "", "")
        for name, unit, value in zip(names, units, replanned(board, best, weather[year]), strict=True):
            found[f"{name}_{kind}{unit}"] = value
    return found


def _name(look_s: float) -> str:
    """Return the column of a look."""
    return f"usd_{look_s:g}s".replace(".", "")


def row_again(board: Board, row: dict[str, str], long_s: float, replans: bool) -> Row:
    """Run the search and the replans of a row anew, or the replans alone, and keep the rest of it."""
    best = searched(board, long_s)
    kept = _kept(row)
    looks = looked(board, best, kept["best_hand_usd"])
    if replans:
        looks = {name: value for name, value in looks.items() if name.endswith(REPLANNED)}
    else:
        looks |= {_name(s): np.nan for s in LOOKS_S if s > long_s}
        looks |= {"searched_s": long_s, "searched_usd": best.usd}
    figures = {f.name: {**kept, **looks}[f.name] for f in fields(Row) if f.name != "season"}
    return Row(row["season"], **{**figures, "best_known_usd": min(kept["best_known_usd"], best.usd)})


def row_bounded(board: Board, row: dict[str, str]) -> Row:
    """Run the bound of a row anew, and keep the rest of it."""
    usd, took = bounded(board)
    return Row(row["season"], **{**_kept(row), "bound_usd": usd, "bound_s": took})


def _kept(row: dict[str, str]) -> dict[str, float]:
    """Return the figures of a row of a file."""
    return {name: float(value) for name, value in row.items() if name != "season"}


def rows_in(out: Path) -> list[dict[str, str]]:
    """Return the rows of a file, none if it is not there."""
    if not out.is_file():
        return []
    with out.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def write(out: Path, row: Row) -> None:
    """Append a row."""
    new = not out.is_file()
    with out.open("a", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        values = [v if isinstance(v, str) else f"{v:.6g}" for v in asdict(row).values()]
        writer.writerows([[f.name for f in fields(Row)]] * new + [values])


def table(rows: list[dict[str, str]]) -> list[str]:
    """Return the table of the rows by size: the median and the worst of each bar."""
    lines = ["| bar | " + " | ".join("x".join(map(str, s)) for s in SIZES) + " |", "|---|---|---|---|"]
    for title, of, high, form in _bars():
        cells = []
        for size in SIZES:
            own = [r for r in rows if "x".join(map(str, size)) in r["season"]]
            found = [of({k: float(v) for k, v in r.items() if k != "season"}) for r in own]
            found = [f for f in found if not np.isnan(f)]
            worst = (max if high else min)(found, default=np.nan)
            cells.append(f"{form(float(np.median(found)))}, {form(worst)}" if found else "–")
        lines.append(f"| {title} | " + " | ".join(cells) + " |")
    return lines


def _bars() -> list[tuple[str, Callable[[dict[str, float]], float], bool, Callable[[float], str]]]:
    """Return each bar: its title, its figure of a row, whether high is worse, and how it is written."""
    percent, seconds, ratio, count = "{:.1%}".format, "{:.3f} s".format, "{:.3f}".format, "{:,.0f}".format
    return [
        ("first feasible plan", lambda r: r["feasible_s"], True, seconds),
        ("first plan below the best hand rule", lambda r: r["below_hand_s"], True, seconds),
        *(
            (f"ratio after {s:g} s", lambda r, s=s: r[_name(s)] / r["best_known_usd"], True, ratio)
            for s in LOOKS_S
        ),
        (
            "saved against the best hand rule, 1 s",
            lambda r: 1 - r["usd_1s"] / r["best_hand_usd"],
            False,
            percent,
        ),
        ("certified gap", lambda r: 1 - r["bound_usd"] / r["best_known_usd"], True, percent),
        ("time of the bound", lambda r: r["bound_s"], True, seconds),
        (
            "replan in 2 s over 15 s, dry",
            lambda r: r["replan_dry_usd"] / r["again_dry_usd"] - 1,
            True,
            percent,
        ),
        (
            "replan in 2 s over 15 s, wet",
            lambda r: r["replan_wet_usd"] / r["again_wet_usd"] - 1,
            True,
            percent,
        ),
        ("changed of the next 7 d, dry", lambda r: r["changed_dry"], True, percent),
        ("of that forced by the closures", lambda r: r["forced_dry"], True, percent),
        ("changed of the next 7 d, wet", lambda r: r["changed_wet"], True, percent),
        ("of that forced by the closures", lambda r: r["forced_wet"], True, percent),
        ("small changes a second", lambda r: r["changes_per_s"], False, count),
        ("whole plans a second", lambda r: r["plans_per_s"], False, count),
    ]


def main() -> None:
    """Run what is not in the file yet, and print the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("files", nargs="*", type=Path)
    ask.add_argument("--out", type=Path, default=Path("docs/science/plan_bars.csv"))
    ask.add_argument("--again", type=Path, help="an earlier file: search and replans anew, the rest kept")
    ask.add_argument("--seeds", nargs="*", type=int, default=SEEDS, help="of made-up seasons")
    ask.add_argument("--seconds", type=float, default=LOOKS_S[-1], help="of each search made again")
    ask.add_argument("--replans", action="store_true", help="with --again: the replans anew, nothing else")
    ask.add_argument("--bounds", action="store_true", help="with --again: the bounds anew, nothing else")
    ask.add_argument("--only", nargs="*", help="begins of the names of seasons to run")
    ask.add_argument("--table", action="store_true", help="only print what is in the file")
    said = ask.parse_args()
    if not said.table:
        done = {r["season"] for r in rows_in(said.out)}
        warm = board_of(season(1, 8, 120, 2))
        rates(warm, all_yard(warm))
        replanned(warm, searched(warm, 0.5), np.ones(120), 0.5, 0.5)
        bound_usd(warm, 0.16, 2)
        by_rule(warm, 0)
        earlier = {r["season"]: r for r in rows_in(said.again)} if said.again else {}
        for name, board, known in seasons(said.files, said.seeds):
            if said.only and not name.startswith(tuple(said.only)):
                continue
            if name not in done and said.again is None:
                write(said.out, row_of(name, board, known))
            elif name not in done and name in earlier and said.bounds:
                write(said.out, row_bounded(board, earlier[name]))
            elif name not in done and name in earlier:
                write(said.out, row_again(board, earlier[name], said.seconds, said.replans))
    print("\n".join(table(rows_in(said.out))))


if __name__ == "__main__":
    main()
