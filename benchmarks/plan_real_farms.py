"""What a season costs on made-up farms of the real sward, by the way in which it is run.

``python -m benchmarks.plan_real_farms``. Twenty farms of 8 to 20 paddocks and the example farm, each in
weather members that the plans have not seen: hand rules that see the herbage of each day, the first plan
kept, and the plan made again each week from what stands. Costs come from the planner's own judge. Rows that
are in the file are not played again, so that the same command goes on where it was stopped; all farms get a
member before any gets the next.
"""

from __future__ import annotations

import argparse
import csv
import time
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from benchmarks.__main__ import machine_line
from benchmarks.plan_weather import onward as board_onward
from benchmarks.plan_weather import prices_onward, tables_onward
from benchmarks.policies import rows_of
from benchmarks.real_farms import farm_scene
from browseline import tables
from browseline.chain import look
from browseline.cli.demo import copy_example, example
from browseline.limits import Scene, faces
from browseline.limits._prices import ROWS
from browseline.moves.again import Guide, Outlook, again, outlook_of
from browseline.moves.form import Plan, Verdict, Yardstick
from browseline.moves.judge import judge
from browseline.moves.kernel import TERMS, Array, Bars, Field, Index
from browseline.moves.onto_board import LEAST_KG_HA
from browseline.moves.propose import Keeping, propose
from browseline.moves.replan import FIRM_D, LIKELY_D
from browseline.moves.rules import rule_plans
from browseline.moves.yardstick import yardstick_of
from browseline.science import grazing

FARMS, FIRST_SEED, DAYS, DEMO_DAYS = 20, 300, 180, 150
SEEN, TRUTHS = 21, 50
"""Members that plans see, and others that come. [1]"""
WEEK_D, TRIES, FIRST_TRIES = 7, 1_000, 12_000
CHURN_USD = tuple(
    (until, tables.row("stays", *ROWS[name]).middle())
    for until, name in ((FIRM_D, "change_near"), (LIKELY_D, "change_later"))
)
LONGEST_TURN_D, ENOUGH = 7, 10
"""Longest stay of a calendar of fixed turns [d]; members from which on nine of ten means anything [1]."""
WEEKLY, WEEKLY_FREE = "replan each week", "replan each week, changes free"
RULES = ("longest rested first", "most feed first", "fixed turns")
TERMS_PLAYED = TERMS[:11]
"""Those of its table, whose farms have no followers."""
FIELDS = ("farm", "paddocks", "mobs", "policy", "member", "kept", "usd", *TERMS_PLAYED, "replan_cpu_s",
          "slowest_cpu_s", "changed_of_7d")  # fmt: skip


def scene_of(farm: str) -> Scene:
    """Return the scene of a made-up farm by its number, or of the example."""
    if farm == "example":
        with TemporaryDirectory() as folder:
            copy = Path(folder) / "farm"
            now = copy_example(example(), copy)
            return look(copy, now, members=SEEN + TRUTHS, horizon_d=DEMO_DAYS).scene
    seed = int(farm)
    return farm_scene(seed, 8 + (seed - FIRST_SEED) * 12 // (FARMS - 1), DAYS, SEEN + TRUTHS)


# ---------------------------------------------------------------- members


def some(field: Field, members: np.ndarray) -> Field:
    """Return some members of a field."""
    days = field.days
    return field._replace(
        mass_kg_ha=np.ascontiguousarray(field.mass_kg_ha[members]),
        fertility=np.ascontiguousarray(field.fertility[members]),
        days=grazing.Days(
            np.ascontiguousarray(days.potential_kg_ha_d[:, members]),
            np.ascontiguousarray(days.loss_per_d[:, members]), days.typed_kg_ha_d, days.cut_to_kg_ha,
        ),
    )  # fmt: skip


def onward(yardstick: Yardstick, x: Plan, day: int, mass_kg_ha: np.ndarray) -> Yardstick:
    """Return the yardstick that is left on a day: who stands where, what is rested, what stands.

    Parameters
    ----------
    x : int array, shape (mob, day)
        What was done up to ``day``.
    mass_kg_ha : array, shape (paddock,)
        Herbage that stands, the same for every member. [kg DM/ha]
    """
    bars, days = yardstick.bars, yardstick.whole.days
    start, been, ago = bars.start.copy(), bars.been_d.copy(), bars.ago_d + day
    for m in range(len(start) if day else 0):
        row = x[m, :day]
        start[m] = row[-1]
        other = np.flatnonzero(row != row[-1])
        stood = day + (bars.been_d[m] if row[-1] == bars.start[m] else 0)
        been[m] = day - other[-1] - 1 if len(other) else stood
        for p in np.unique(row[row < yardstick.yard]):
            ago[m, p] = day - 1 - np.flatnonzero(row == p)[-1]
    worked = ((bars.job[:, :day] >= 0) & (bars.job[:, :day] == x[:, :day])).sum(axis=1)
    can_move = bars.can_move[day:].copy()
    cut = {name: np.ascontiguousarray(getattr(bars, name)[:, day:])
           for name in ("open_", "job", "dear_usd", "off") if hasattr(bars, name)}  # fmt: skip
    left = bars._replace(
        can_move=can_move, arrivals=bars.arrivals[day:].copy(), demand_kg_d=bars.demand_kg_d[day:].copy(),
        fit_from_d=bars.fit_from_d - day, start=start, been_d=been, ago_d=ago,
        stuck_d=np.full(len(start), int(np.argmax(np.append(can_move, True))), np.int64),
        work_d=bars.work_d - worked, **cut,
    )  # fmt: skip
    members = yardstick.members
    whole = yardstick.whole._replace(
        mass_kg_ha=np.repeat(mass_kg_ha[None, :], members, axis=0),
        days=grazing.Days(
            np.ascontiguousarray(days.potential_kg_ha_d[:, :, day:]),
            np.ascontiguousarray(days.loss_per_d[:, :, day:]),
            days.typed_kg_ha_d[day:].copy(), days.cut_to_kg_ha[day:].copy(),
        ),
    )  # fmt: skip
    return replace(yardstick, days=yardstick.days[day:], bars=left, whole=whole)


# ---------------------------------------------------------------- policies


def fixed_turns(yardstick: Yardstick, stay_d: int) -> Plan:
    """Return a calendar made once: paddocks in order of the map, so many days each, whatever grows there."""
    bars, yard = yardstick.bars, yardstick.yard
    x = np.full((len(yardstick.mobs), len(yardstick.days)), yard, np.int64)
    here, stood, left = bars.start.copy(), bars.been_d.copy(), -bars.ago_d.copy()
    for t in range(x.shape[1]):
        room = int(bars.arrivals[t]) if bars.can_move[t] else 0
        for m in range(len(here)):
            must = here[m] == yard or not _stays(bars, m, here[m], t, stood[m], stay_d)
            if not must or room == 0:
                continue
            new = _next_in_turn(bars, m, here, t, left)
            if new == here[m]:
                continue
            if here[m] < yard:
                left[m, here[m]] = t
            here[m], stood[m], room = new, 0, room - 1
        x[:, t] = here
        stood += 1
    return x


def _until(bars: Bars, t: int) -> int:
    """Return the next day on which somebody can be moved."""
    later = np.flatnonzero(bars.can_move[t + 1 :] & (bars.arrivals[t + 1 :] > 0))
    return t + 1 + int(later[0]) if len(later) else len(bars.can_move)


def _stays(bars: Bars, m: int, p: int, t: int, stood: int, stay_d: int) -> bool:
    """Return whether a mob stays: its turn is not over, and the paddock may hold it until the next chance."""
    until = _until(bars, t)
    hard = bars.longest_d[bars.stay_hard, m, p].min(initial=np.inf)
    fits = bool(bars.open_[m, t:until, p].all()) and stood + until - t <= hard
    return bool(fits and stood < min(stay_d, bars.longest_d[:, m, p].min(initial=np.inf)))


def _next_in_turn(bars: Bars, m: int, here: Index, t: int, left: Array) -> int:
    """Return the next paddock of the map that is open, free and rested; the yard if none is."""
    yard, until = bars.open_.shape[2], _until(bars, t)
    begin = int(here[m]) + 1 if here[m] < yard else int(np.argmax(left[m])) + 1
    for k in range(yard):
        p = (begin + k) % yard
        rested = all(
            t - left[i, p] >= bars.rest_d[:, i, m].max(initial=0.0) - 1e-9 for i in range(len(here))
        ) and t >= bars.fit_from_d[:, m, p].max(initial=0.0)
        fits = until - t <= bars.longest_d[bars.stay_hard, m, p].min(initial=np.inf)
        if p not in here and rested and fits and bool(bars.open_[m, t:until, p].all()):
            return int(p)
    return int(yard)


def best_turns(yardstick: Yardstick) -> Plan:
    """Return the calendar of fixed turns that is the cheapest over the members that a plan sees."""
    made = [fixed_turns(yardstick, d) for d in range(1, LONGEST_TURN_D + 1)]
    return min(made, key=lambda x: judge(yardstick, x).mean_usd)


def outlook_onward(outlook: Outlook, x: Plan, day: int, mass_kg_ha: np.ndarray) -> Outlook:
    """Return the outlook of a season from a day on: what stands is new; prices and growth are not."""
    whole, stands = outlook.board, np.maximum(mass_kg_ha, LEAST_KG_HA)
    board = board_onward(whole, x, day, stands, np.zeros(len(stands)))._replace(spread=0.0)
    if outlook.guide is None:
        return Outlook(board, None)
    tables = tables_onward(whole, outlook.guide.tables, day)
    return Outlook(board, Guide(tables, prices_onward(outlook.guide.prices, day)))


def weekly(
    seen: Yardstick, truth: Field, first: Plan, outlook: Outlook, free: bool = False
) -> tuple[Plan, list[float], list[float]]:
    """Return a season planned again each week, with the CPU time and the changed share of each replan."""
    x, cpu, changed = first.copy(), [], []
    for day in range(0, x.shape[1], WEEK_D):
        stands = judge(seen, x, truth).mass_kg_ha[0, day]
        left, old = onward(seen, x, day, stands), np.ascontiguousarray(x[:, day:])
        price = np.zeros(old.shape[1])
        for until, usd in reversed(CHURN_USD if day and not free else ()):
            price[:until] = usd
        begun = time.process_time()
        new = again(left, old, Keeping(old, price), 1, TRIES, outlook_onward(outlook, x, day, stands)).plan
        cpu.append(time.process_time() - begun)
        if day:
            changed.append(float((new[:, :WEEK_D] != old[:, :WEEK_D]).mean()))
        x[:, day:] = new
    return x, cpu, changed


# ---------------------------------------------------------------- the run


class Farm:
    """A farm with its yardstick and first plans, made once."""

    def __init__(self, name: str) -> None:
        scene = scene_of(name)
        whole = yardstick_of(scene, faces(scene))
        self.name, self.members = name, whole.whole
        self.seen = replace(whole, whole=some(whole.whole, np.arange(SEEN)))
        self.first = propose(self.seen, 1, FIRST_TRIES).plan
        self.turns, self.outlook = best_turns(self.seen), outlook_of(self.seen)

    def play(self, member: int, out: Path, done: set[tuple[str, str, int]], free: bool) -> None:
        """Play every policy in one member that comes, and write what each costs."""
        truth = some(self.members, np.array([SEEN + member]))
        hand = rule_plans(self.seen, truth)
        plans = dict(zip(RULES, (*hand, self.turns), strict=True))
        plans["first plan, kept"] = self.first
        for policy, x in plans.items():
            if (self.name, policy, member) not in done:
                self._write(out, policy, member, judge(self.seen, x, truth), ["", "", ""])
        name = WEEKLY_FREE if free else WEEKLY
        if (self.name, name, member) not in done:
            x, cpu, changed = weekly(self.seen, truth, self.first, self.outlook, free)
            tail = [f"{np.mean(cpu):.4f}", f"{max(cpu):.4f}", f"{np.mean(changed):.4f}"]
            self._write(out, name, member, judge(self.seen, x, truth), tail)

    def _write(self, out: Path, policy: str, member: int, said: Verdict, tail: list[str]) -> None:
        new = not out.is_file()
        size = (len(self.seen.paddocks), len(self.seen.mobs))
        row = (self.name, *size, policy, member, int(said.kept), f"{said.mean_usd:.1f}",
               *(f"{v:.1f}" for v in said.amount[0][: len(TERMS_PLAYED)]), *tail)  # fmt: skip
        with out.open("a", newline="", encoding="utf-8") as file:
            csv.writer(file, lineterminator="\n").writerows([FIELDS] * new + [row])


def table(rows: list[dict[str, str]]) -> list[str]:
    """Return the table: cost of replanning by farm beside the best hand rule, mean and nine of ten. [USD]

    Seasons in which a hand rule breaks a hard limit are left out: its price, far above any other, would be
    all that the mean tells.
    """
    names = ("best hand rule", "p90", "first plan kept", "p90", "replan each week", "p90", "saving", "p90")
    lines = [f"| farm | paddocks | mobs | members | {' | '.join(names)} |", "|---" + "|--:" * 11 + "|"]
    for farm in dict.fromkeys(r["farm"] for r in rows):
        own = [r for r in rows if r["farm"] == farm]
        broke = {r["member"] for r in own if r["policy"] in RULES and not int(r["kept"])}
        full = {r["member"] for r in own if r["policy"] == WEEKLY} - broke
        usd = {p: np.array([float(r["usd"]) for r in own if r["policy"] == p and r["member"] in full])
               for p in dict.fromkeys(r["policy"] for r in own)}  # fmt: skip
        if not full:
            continue
        best = min((usd[p] for p in RULES), key=lambda u: u.mean())
        ninth = min(float(np.quantile(usd[p], 0.9)) for p in RULES)
        kept, new = usd["first plan, kept"], usd[WEEKLY]
        cells = [best.mean(), ninth, kept.mean(), np.quantile(kept, 0.9), new.mean(), np.quantile(new, 0.9)]
        saved = (1 - new.mean() / best.mean(), 1 - np.quantile(new, 0.9) / ninth)
        head = (farm, own[0]["paddocks"], own[0]["mobs"], str(len(full)))
        row = [*head, *(f"{c:,.0f}" for c in cells), *(f"{s:.0%}" for s in saved)]
        if len(full) < ENOUGH:
            row[5::2] = ["–"] * len(row[5::2])
        lines.append(f"| {' | '.join(row)} |")
    return lines


def main() -> None:
    """Play what is not played yet, and print the table."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--out", type=Path, default=Path("docs/science/plan_farms.csv"))
    ask.add_argument("--members", type=int, default=TRUTHS)
    every = [*map(str, range(FIRST_SEED, FIRST_SEED + FARMS)), "example"]
    ask.add_argument("--farms", nargs="*", default=every)
    ask.add_argument("--free", action="store_true", help="changes of the next fortnight cost nothing")
    ask.add_argument("--table", action="store_true", help="only print what is in the file")
    said = ask.parse_args()
    farms: dict[str, Farm] = {}
    for member in () if said.table else range(said.members):
        for name in said.farms:
            done = {(r["farm"], r["policy"], int(r["member"])) for r in rows_of(said.out)}
            if (name, WEEKLY_FREE if said.free else WEEKLY, member) not in done:
                farms[name] = farms.get(name) or Farm(name)
                farms[name].play(member, said.out, done, said.free)
    print("\n".join([*table(rows_of(said.out)), "", machine_line()]))


if __name__ == "__main__":
    main()
