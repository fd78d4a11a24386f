"""Count what the house style measures, print it beside its bar, and fail on the hard ones.

    python -m scripts.measures [--coverage coverage.json]

Hard: blocks nested four deep, a function of complexity above 12, a file above 500 lines, a
breach of the import rules. The rest are tripwires: they are printed for a person to judge.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scripts.counting import (
    Code,
    Function,
    conversions,
    documented,
    import_breaches,
    import_cycles,
    read_code,
    rows_traced,
    with_published_case,
)

ROOT = Path(__file__).resolve().parent.parent
FULLY_COVERED = ("science", "farm", "record", "limits", "ledger")


@dataclass(frozen=True)
class Measure:
    """One line of the table. ``ok`` is None where there is nothing to count yet."""

    name: str
    ours: str
    bar: str
    ok: bool | None
    hard: bool = False
    worst: tuple[str, ...] = ()


def share(part: int, whole: int) -> float:
    """Return a percentage; of nothing, all is well."""
    return 100.0 * part / whole if whole else 100.0


def percentile(values: Sequence[int], percent: float) -> int:
    """Return the smallest value that at least so many percent do not exceed."""
    ordered = sorted(values)
    rank = max(0, -(-len(ordered) * percent // 100) - 1)
    return ordered[int(rank)]


def worst(functions: Iterable[Function], above: int, what: str) -> tuple[str, ...]:
    """Return the places of the functions above a bar, the worst first."""
    found = [(getattr(f, what), f.place) for f in functions if getattr(f, what) > above]
    return tuple(f"{value:4d}  {place}" for value, place in sorted(found, reverse=True))


def of_files(code: Code) -> list[Measure]:
    """Return the measure of file lengths."""
    lengths = sorted(code.lines.values())
    middle, longest = statistics.median(lengths), lengths[-1]
    long_ones = tuple(f"{n:4d}  {name}" for name, n in sorted(code.lines.items()) if n > 500)
    text = f"{middle:.0f}; {longest}"
    return [
        Measure("file lines: median", text, "<= 200", middle <= 200),
        Measure("file lines: longest", text, "<= 500", longest <= 500, hard=True, worst=long_ones),
    ]


def of_functions(code: Code) -> list[Measure]:
    """Return the measures of length, complexity and nesting."""
    functions = code.functions
    lines = [f.code_lines for f in functions]
    twenty, forty = (share(sum(n <= bar for n in lines), len(lines)) for bar in (20, 40))
    paths = [f.complexity for f in functions]
    p95 = percentile(paths, 95)
    nested = worst(functions, 3, "depth")
    return [
        Measure("functions of <= 20 code lines", f"{twenty:.1f} %", ">= 90 %", twenty >= 90),
        Measure(
            "functions of <= 40 code lines", f"{forty:.1f} %", ">= 99 %", forty >= 99,
            worst=worst(functions, 40, "code_lines"),
        ),
        Measure("longest function, code lines", str(max(lines)), "<= 60", max(lines) <= 60),
        Measure("complexity p95", str(p95), "<= 6", p95 <= 6),
        Measure(
            "complexity max", str(max(paths)), "<= 12", max(paths) <= 12, hard=True,
            worst=worst(functions, 12, "complexity"),
        ),
        Measure("blocks nested >= 4", str(len(nested)), "0", not nested, hard=True, worst=nested),
    ]  # fmt: skip


def of_imports() -> list[Measure]:
    """Return the breaches of the import contract and the circles."""
    breaches, cycles = import_breaches(ROOT), import_cycles()
    return [
        Measure("import contracts broken", str(breaches), "0", breaches == 0, hard=True),
        Measure("import cycles", str(len(cycles)), "0", not cycles, hard=True, worst=tuple(cycles)),
    ]


def of_words(code: Code) -> list[Measure]:
    """Return how much of what is public is described, and how much is traced to a source."""
    said, public, silent = documented(code)
    traced, rows, loose = rows_traced(ROOT / "src/browseline/data")
    proved, reasoned, equations, unproved = with_published_case(code, ROOT / "tests/published")
    literals = conversions(code)
    return [
        Measure(
            "public docstrings (science: shape, unit, source)", f"{share(said, public):.1f} % of {public}",
            "100 %", said == public, worst=silent,
        ),
        Measure(
            "coefficients traced", f"{share(traced, rows):.1f} % of {rows}",
            "100 %", traced == rows, worst=loose,
        ),
        Measure(
            "equations with a published case; that say why",
            f"{share(proved, equations):.1f}; {share(reasoned, equations):.1f} % of {equations}",
            "100 %, or why", not unproved, worst=unproved,
        ),
        Measure(
            "conversion literals outside units.py", str(len(literals)), "0", not literals, worst=literals
        ),
    ]  # fmt: skip


def of_coverage(report: Path | None) -> list[Measure]:
    """Return the branch coverage of the folders that should have all of it."""
    if report is None:
        return [Measure(f"branch coverage: {', '.join(FULLY_COVERED)}", "make cover", "100 %", None)]
    files = json.loads(report.read_text(encoding="utf-8"))["files"]
    return [_coverage(name, files) for name in FULLY_COVERED if _summaries(name, files)]


def _summaries(name: str, files: dict[str, dict[str, dict[str, int]]]) -> list[dict[str, int]]:
    starts = (f"src/browseline/{name}/", f"src/browseline/{name}.py")
    return [file["summary"] for path, file in files.items() if path.startswith(starts)]


def _coverage(name: str, files: dict[str, dict[str, dict[str, int]]]) -> Measure:
    found = _summaries(name, files)
    branches = sum(s["num_branches"] for s in found)
    covered = share(sum(s["covered_branches"] for s in found), branches)
    return Measure(f"branch coverage: {name}", f"{covered:.1f} % of {branches}", "100 %", covered == 100)


def show(measures: Sequence[Measure], at_most: int = 8) -> None:
    """Print the table, then the places to look at."""
    print(f"{'measure':50} {'ours':>16}  {'bar':14}")
    for m in measures:
        verdict = "" if m.ok is None else "ok" if m.ok else "BROKEN" if m.hard else "over"
        print(f"{m.name:50} {m.ours:>16}  {m.bar:14} {verdict}")
    for m in measures:
        if m.worst and not m.ok:
            print(f"\n{m.name}:")
            print("\n".join(f"  {place}" for place in m.worst[:at_most]))
            if len(m.worst) > at_most:
                print(f"  and {len(m.worst) - at_most} more")


def main() -> int:
    """Print the measures; return 1 if a hard one is broken."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--coverage", type=Path, help="the JSON report of a coverage run")
    given = options.parse_args()
    code = read_code(ROOT / "src")
    measures = [
        *of_files(code), *of_functions(code), *of_imports(), *of_words(code), *of_coverage(given.coverage)
    ]  # fmt: skip
    show(measures)
    return int(any(m.hard and m.ok is False for m in measures))


if __name__ == "__main__":
    sys.exit(main())
