"""How long the product takes to plan a large season again after an entry, and what of next week it changes.

``python -m benchmarks.plan_replans``. Made-up farms of 60 paddocks, 3 mobs and 240 days ahead on the real
sward, 51 members. The season is planned and kept; then each paddock is read again, other than foreseen, and
six paddocks that the plan uses within a fortnight are shut. Seconds are on the clock and of the processor:
of the plan made again alone, and of the whole answer, with hay, reasons, changes in words and ways out.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

import numpy as np

from benchmarks.__main__ import machine_line
from benchmarks.real_farms import NOW, farm_scene
from browseline.chain import picture
from browseline.limits import Scene, faces
from browseline.moves import plan
from browseline.moves.form import Season
from browseline.moves.judge import judge
from browseline.moves.replan import keeping, repaired, replan
from browseline.moves.yardstick import yardstick_of
from browseline.record.state import ShutState

PADDOCKS, DAYS, MEMBERS, MOBS = 60, 240, 51, 3
SHUT, SHUT_D, WEEK_D = 6, 14, 7
OTHER = 0.12
"""How far heights lie from what was foreseen, as a share: its standard deviation. [1]"""
T = TypeVar("T")


def later(scene: Scene, kept: Season, seed: int) -> Scene:
    """Return the scene after every paddock was read anew and some that are planned soon were shut."""
    luck, state, farm = np.random.default_rng(seed), scene.state, scene.farm
    here, paddocks = {m.place for m in state.mobs}, {p.id for p in farm.paddocks}
    soon = [s.stay.place for s in kept.stays if s.stay.begin.start < NOW + timedelta(days=SHUT_D)]
    shut = [p for p in dict.fromkeys(soon) if p in paddocks and p not in here][:SHUT]
    gates = tuple(
        ShutState(p, "wet", state.heights[0].at, until_day=(NOW + timedelta(days=SHUT_D)).date())
        for p in shut
    )
    times = [Fraction(f"{x:.3f}") for x in np.exp(luck.normal(0.0, OTHER, len(state.heights)))]
    read = tuple(
        replace(h, height=replace(h.height, value=h.height.value * x))
        for h, x in zip(state.heights, times, strict=True)
    )
    then = replace(state, heights=read, shut=gates)
    return picture(Path("made-up"), farm, (), then, scene.now, MEMBERS, DAYS).scene


def timed(work: Callable[[], T]) -> tuple[T, float, float]:
    """Return what work makes, its seconds on the clock, and of the processor. [s]"""
    clock, cpu = time.perf_counter(), time.process_time()
    made = work()
    return made, time.perf_counter() - clock, time.process_time() - cpu


def line(seed: int) -> str:
    """Plan a farm, let it be otherwise, plan it again, and tell the row of the table."""
    scene = farm_scene(seed, PADDOCKS, DAYS, MEMBERS, mobs=MOBS)
    kept = plan(scene)
    other = later(scene, kept, seed)
    yardstick = yardstick_of(other, faces(other))
    old = keeping(other, yardstick, kept).old
    by_hand = repaired(yardstick, old)
    found, clock, cpu = timed(lambda: replan(other, yardstick, kept))
    _, whole_clock, whole_cpu = timed(lambda: plan(other, kept))
    changed, forced = (float((x[:, :WEEK_D] != old[:, :WEEK_D]).mean()) for x in (found.plan, by_hand))
    costs = (judge(yardstick, by_hand).mean_usd, found.verdict.mean_usd)
    cells = [
        f"{seed}", f"{clock:.2f}", f"{cpu:.2f}", f"{whole_clock:.2f}", f"{whole_cpu:.2f}",
        f"{costs[0]:,.0f}", f"{costs[1]:,.0f}", f"{changed:.0%}", f"{forced:.0%}",
    ]  # fmt: skip
    return f"| {' | '.join(cells)} |"


def main() -> None:
    """Print a row a farm."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--seeds", nargs="*", type=int, default=range(1, 6), help="of made-up farms")
    said = ask.parse_args()
    small = farm_scene(9, 8, 60, 11, mobs=2)
    plan(small, plan(small))
    heads = ("farm", "plan again, s", "s of CPU", "whole answer, s", "s of CPU", "repaired, USD",
             "planned again, USD", "changed of 7 d", "of that forced")  # fmt: skip
    print(f"| {' | '.join(heads)} |", "|---" + "|--:" * (len(heads) - 1) + "|", sep="\n", flush=True)
    for seed in said.seeds:
        print(line(seed), flush=True)
    print(machine_line())


if __name__ == "__main__":
    main()
