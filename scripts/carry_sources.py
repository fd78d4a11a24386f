"""Write src/browseline/data/sources.csv: the sources that our tables and equations name, no others.

    python -m scripts.carry_sources [REFERENCE]

REFERENCE is the folder of the reference shelf, ../shared/reference beside the repository unless
given. Run it after a table row or an equation names a new source.
"""

from __future__ import annotations

import argparse
import ast
import csv
import re
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src" / "browseline"
DATA = PACKAGE / "data"


def rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file."""
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def named_by_tables(data: Path) -> Iterator[tuple[str, str]]:
    """Yield each source that a table names, and where."""
    for path in sorted(data.glob("*.csv")):
        if path.name == "sources.csv":
            continue
        for number, row in enumerate(rows(path), start=2):
            for column in ("source", "source_id"):
                for source in (row.get(column) or "").split(";"):
                    if source.strip():
                        yield source.strip(), f"{path.name}:{number}"


def references(docstring: str) -> str:
    """Return the text of a docstring's References section."""
    found = re.search(r"\nReferences\n-+\n(.*?)(?=\n\w[\w ]*\n-+\n|\Z)", docstring, re.DOTALL)
    return found[1] if found else ""


def named_by_code(package: Path) -> Iterator[tuple[str, str]]:
    """Yield every word of a References section and every short text of the code, and where."""
    for path in sorted(package.rglob("*.py")):
        name = path.relative_to(package).as_posix()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)):
                for word in re.findall(r"\w+", references(ast.get_docstring(node) or "")):
                    yield word, name
            elif isinstance(node, ast.Constant) and isinstance(node.value, str) and len(node.value) < 60:
                for word in node.value.split(";"):
                    yield word.strip(), name


def main() -> int:
    """Write the sources; return 1 and say so if a table names one that the shelf does not hold."""
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("reference", type=Path, nargs="?", default=ROOT.parent / "shared" / "reference")
    shelf = options.parse_args().reference / "sources.csv"
    if not shelf.is_file():
        print(f"{shelf} is not there. Give the folder of the reference shelf.", file=sys.stderr)
        return 1
    known = {row["source_id"]: row for row in rows(shelf)}
    from_tables = list(named_by_tables(DATA))
    unknown = sorted({f"{source}  {place}" for source, place in from_tables if source not in known})
    wanted = {source for source, _ in [*from_tables, *named_by_code(PACKAGE)]} & known.keys()
    with (DATA / "sources.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, next(iter(known.values())).keys(), lineterminator="\n")
        out.writeheader()
        out.writerows(known[source] for source in sorted(wanted))
    print(f"{len(wanted)} of {len(known)} sources written to {DATA.relative_to(ROOT)}/sources.csv")
    if unknown:
        print("Not on the shelf:", *unknown, sep="\n  ", file=sys.stderr)
    return int(bool(unknown))


if __name__ == "__main__":
    sys.exit(main())
