"""How long the years ahead take: 40 years x 40 paddocks x 200 members, light included, nothing kept.

    python -m benchmarks.decades

prints the machine, CPU-seconds of a new process with compiled code on disk, the memory, parts, and the
exponents in members, years and paddocks. Bar: under 30 s and 2 GB on two cores.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np

from benchmarks.__main__ import machine_line
from benchmarks.decades_farm import start_of
from browseline.decades.light_asked import ask
from browseline.decades.project import land_ahead, project

PADDOCKS, MEMBERS, YEARS = 40, 200, 40
STEPS = {
    "members": [(8, n, 20) for n in (50, 100, 200)],
    "years": [(8, 60, n) for n in (10, 20, 40)],
    "paddocks": [(n, 60, 20) for n in (10, 20, 40)],
}


def cpu_s(work: Callable[[], object]) -> float:
    """Return the CPU time of all threads. [s]"""
    start = time.process_time()
    work()
    return time.process_time() - start


class Projection:
    """Bar: 40 years, 40 paddocks, 200 members under 30 s and 2 GB on two cores, nothing kept."""

    timeout = 600.0
    timer = time.process_time

    def setup(self) -> None:
        self.start = start_of(PADDOCKS)
        project(start_of(2), years=1, members=1)

    def time_40_years(self) -> None:
        project(self.start, years=YEARS, members=MEMBERS)

    def peakmem_40_years(self) -> None:
        project(self.start, years=YEARS, members=MEMBERS)

    def time_light_alone(self) -> None:
        ask(self.start, range(2026, 2027 + YEARS))


def exponent(sizes: list[int], taken: list[float]) -> float:
    """Return the power of size by which the time grows, by least squares on logs."""
    return float(np.polyfit(np.log(sizes), np.log(taken), 1)[0])


def one(paddocks: int, members: int, years: int) -> None:
    """Print what one run takes in this process, as a new one: CPU, wall, memory."""
    start = start_of(paddocks)
    begun, cpu = time.perf_counter(), time.process_time()
    project(start, years=years, members=members)
    wall, used = time.perf_counter() - begun, time.process_time() - cpu
    peak_gb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e9
    print(f"{used:.2f} s of CPU, {wall:.2f} s on the clock, {peak_gb:.2f} GB")


def apart(*sizes: int) -> str:
    """Return what a new process prints for a run of a size."""
    words = [sys.executable, "-m", "benchmarks.decades", *(str(n) for n in sizes)]
    return subprocess.run(words, capture_output=True, text=True, check=True).stdout.strip()


def main() -> None:
    """Print the whole comparison."""
    print(machine_line())
    print(f"{PADDOCKS} paddocks, {MEMBERS} members, {YEARS} years: {apart(PADDOCKS, MEMBERS, YEARS)}")
    project(start_of(2), years=1, members=1)
    for name, steps in STEPS.items():
        taken = []
        for paddocks, members, years in steps:
            start = start_of(paddocks)
            # Light is asked for once whatever members and years are: it is told apart.
            asked = ask(start, range(2026, 2027 + years)) if name != "paddocks" else None
            taken.append(
                cpu_s(lambda s=start, m=members, y=years, a=asked: land_ahead(  # type: ignore[misc]
                    s, y, m, (lambda own, wanted: a) if a is not None else ask))
            )  # fmt: skip
        sizes = [step[("paddocks", "members", "years").index(name)] for step in steps]
        print(
            f"{name} {sizes}: {', '.join(f'{t:.2f}' for t in taken)} s, exponent {exponent(sizes, taken):.2f}"
        )


if __name__ == "__main__":
    if len(sys.argv) > 1:
        one(*(int(n) for n in sys.argv[1:]))
    else:
        main()
