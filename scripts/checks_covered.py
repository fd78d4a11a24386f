"""Tell which worked cases of the reference shelf a test collects, and why the others wait.

    python -m scripts.checks_covered ../shared/reference > docs/science/checks.md

A case counts as covered when its id stands in the first column of a table in ``tests/published``.
"""

from __future__ import annotations

import csv
import sys
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LATER = {
    "crown leaf area": "trees and light, not built yet", "height growth": "trees and light, not built yet",
    "stand density": "trees and light, not built yet", "bearing": "a wild tree of unknown age, in no curve",
    "growth": "trees and light, not built yet",
    "crown width": "trees and light, not built yet",
    "heat": "heat limit, not built yet",
    "cold": "cold, not built yet", "labour": "hours, not built yet",
}  # fmt: skip


def covered() -> dict[str, str]:
    """Return for each case id the table of tests that holds it."""
    out = {}
    for path in sorted((ROOT / "tests" / "published").glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                ident = row.get("id", "")
                if ident:
                    out[ident] = path.name
    return out


def main(reference: Path) -> None:
    """Write the page to standard output."""
    held = covered()
    topics: dict[str, list[str]] = defaultdict(list)
    with (reference / "checks.csv").open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            topics[row["topic"]].append(row["id"])
    print("# Worked cases held by tests\n")
    print("Each row of `checks.csv` that a test collects carries its id and source in a table of")
    print("`tests/published/`. Made by `scripts/checks_covered.py`.\n")
    print("| topic | cases | held | where | the others |\n|---|---|---|---|---|")
    total = 0
    for topic, ids in topics.items():
        mine = [i for i in ids if i in held]
        total += len(mine)
        where = ", ".join(sorted({held[i] for i in mine})) or "-"
        missing = [i for i in ids if i not in held]
        why = LATER.get(topic, "?") if missing else "-"
        print(f"| {topic} | {len(ids)} | {len(mine)} | {where} | {why} |")
    print(f"\n{total} of {sum(map(len, topics.values()))} held.")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
