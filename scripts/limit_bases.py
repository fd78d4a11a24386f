"""Write docs/limits.md: for every limit and kind of animal, what its figures rest on.

    python -m scripts.limit_bases

A cell counts the rows of the tables that the limit reads for the kind, by basis, and ends with the
mark that the tool shows beside what it says: the weakest of them. What the farm types itself wins over
any row and is marked M.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

from browseline import tables
from browseline.farm.names import words
from browseline.figures import BASES, Basis, Mark, weakest
from browseline.limits import known
from browseline.tables import Row

PAGE = Path(__file__).resolve().parents[1] / "docs" / "limits.md"
OWN = "the farm's own"
NOTHING = "not known"
ORDER: tuple[Basis, ...] = (
    "published-read", "published-copy", "derived", "conflict", "common-practice", "from-memory",
    "placeholder",
)  # fmt: skip
HEAD = """# What each limit rests on

Made by `scripts/limit_bases.py` from the tables the program reads. A cell counts rows by basis and
ends with the weakest mark: **B** a book, **G** a guess (common practice, from memory, or a
placeholder). What a farm types or measures itself wins over a row and is marked **M**. "{nothing}" means
that no row is known for the kind: the limit then says nothing, or asks.

A limit that rests on common practice or a placeholder is a reason to look sooner, not a rule of science.
The job limit rests on what the farm typed and on its own looks. The hay limit says nothing where the farm
does not type `hay_days`. Where limits contradict each other the tool says so with numbers and ways out, and
chooses nothing: see [The season's stays](moves.md).
"""


def _applies(table: str, key: str, kind: str) -> list[Row]:
    names = tables.applies(table, key)
    return [tables.row(table, key, n) for n in names if kind in n.replace(",", ";").split(";")]


def _grass(kind: str) -> list[Row]:
    return [*_applies("animals", "intake", kind), tables.row("stays", "regrowth_after", "any kind")]


def _worms(kind: str) -> list[Row]:
    return [row for key in ("worm_stay", "worm_rest") for row in _applies("worms", key, kind)]


def _water(kind: str) -> list[Row]:
    return _applies("animals", "water_need", kind)


def _harvest(_kind: str) -> list[Row]:
    return [tables.row("stays", "harvest_interval", "edible part touches soil")]


BY_HAND: dict[str, Callable[[str], list[Row]]] = {
    "grass": _grass, "worms": _worms, "water": _water, "harvest": _harvest,
}  # fmt: skip


def bases(limit: str, kind: str) -> list[Basis]:
    """Return the basis of every row that a limit reads for a kind."""
    if limit == "poison":
        lines = (line for line in tables.texts("poison") if line["kind"] == kind)
        return [basis for line in lines for basis in BASES if basis == line["basis"]]
    found = next(one for one in known() if one.name == limit)
    rows = BY_HAND[limit](kind) if limit in BY_HAND else list(found.rows(kind))
    return [row.basis for row in rows]


def cell(limit: str, kind: str) -> str:
    """Return one cell: counts by basis, and the weakest mark."""
    if limit in ("count", "hay", "job", "promise", "shut"):
        return f"{OWN} (M)"
    found = bases(limit, kind)
    if not found:
        return NOTHING
    counts = Counter(found)
    mark: Mark = weakest(BASES[basis] for basis in found)
    return ", ".join(f"{basis} {counts[basis]}" for basis in ORDER if counts[basis]) + f" ({mark})"


def page() -> str:
    """Return the page: a table of limit by kind, one limit a section to keep lines short."""
    kinds = words("kind")
    out = [HEAD.format(nothing=NOTHING)]
    for limit in known():
        out.append(f"\n## {limit.name}\n\n| kind | rests on |\n|---|---|")
        out += [f"| {kind} | {cell(limit.name, kind)} |" for kind in kinds]
    return "\n".join(out) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
