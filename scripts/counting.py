"""Count in source code: lines, paths, nesting, docstrings, sources, stray conversion factors."""

from __future__ import annotations

import ast
import csv
import io
import re
import tokenize
from collections.abc import Iterator
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

FunctionNode = ast.FunctionDef | ast.AsyncFunctionDef
PUBLISHED = ("published-read", "published-copy")
_BLOCKS = (ast.If, ast.For, ast.AsyncFor, ast.While, ast.With, ast.AsyncWith, ast.Try, ast.Match)
_NUMBERS = re.compile(r"\b(float|int|ArrayLike|NDArray|Array)\b")
_OURS = re.compile(r"References\n-+\n(ours|derived_here)[:,] \S")
_SKIPPED = {
    tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT,
    tokenize.ENCODING, tokenize.ENDMARKER,
}  # fmt: skip
# Factors between units, as people write them; each belongs in units.py and nowhere else.
FACTORS = frozenset(
    {
        0.4536, 0.45359, 0.453592, 0.45359237, 2.2, 2.205, 2.2046, 2.20462, 2.54, 25.4, 0.3937, 0.3048,
        3.281, 3.28084, 2.471, 2.47105, 0.4047, 0.40469, 0.404686, 0.40468564224, 4046.86, 4047, 43560,
        1.121, 1.12085, 0.892, 0.8922, 3.785, 3.78541, 3.785411784, 0.2642, 0.264172, 1.609, 1.609344,
        0.6214, 0.621371, 121.4, 0.0864, 86400, 28.35, 907.185, 0.9072, 10000,
    }
)  # fmt: skip
COEFFICIENTS = {("science/methane.py", 25.4)}
"""What looks like a factor and is none: the last coefficient of IPCC Eq 10.14, net energy for growth."""


@dataclass(frozen=True)
class Function:
    """One function: where it stands and what was counted in it."""

    place: str
    name: str
    node: FunctionNode
    public: bool
    code_lines: int
    complexity: int
    depth: int


@dataclass
class Code:
    """All source files below a folder."""

    root: Path
    trees: dict[str, ast.Module] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    functions: list[Function] = field(default_factory=list)


def read_code(root: Path) -> Code:
    """Return every Python file below a folder, counted."""
    code = Code(root)
    for path in sorted(root.rglob("*.py")):
        name, text = path.relative_to(root).as_posix(), path.read_text(encoding="utf-8")
        tree = ast.parse(text)
        code.trees[name] = tree
        code.lines[name] = len(text.splitlines())
        filled = _filled_lines(text) - _docstring_lines(tree)
        code.functions += [_counted(name, node, public, filled) for node, public in _functions(tree)]
    return code


def _counted(name: str, node: FunctionNode, public: bool, filled: set[int]) -> Function:
    last = node.end_lineno or node.lineno
    own = sum(node.lineno <= line <= last for line in filled)
    place = f"{name}:{node.lineno} {node.name}"
    return Function(place, node.name, node, public, own, complexity(node), depth(node.body))


def _functions(tree: ast.AST, public: bool = True) -> Iterator[tuple[FunctionNode, bool]]:
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, FunctionNode):
            open_ = public and not node.name.startswith("_")
            yield node, open_
            yield from _functions(node, public=False)
        elif isinstance(node, ast.ClassDef):
            yield from _functions(node, public and not node.name.startswith("_"))
        else:
            yield from _functions(node, public)


def _filled_lines(text: str) -> set[int]:
    filled: set[int] = set()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type not in _SKIPPED:
            filled.update(range(token.start[0], token.end[0] + 1))
    return filled


def _docstring_lines(tree: ast.Module) -> set[int]:
    lines: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, (ast.Module, ast.ClassDef, FunctionNode)) and ast.get_docstring(node) is not None:
            first = node.body[0]
            lines.update(range(first.lineno, (first.end_lineno or first.lineno) + 1))
    return lines


def complexity(function: FunctionNode) -> int:
    """Return the number of independent paths, by McCabe's count as linters do it.

    One, and one more for each if, loop, comprehension, except, else of a loop or try, case and
    inner function.
    """
    paths = 1
    for node in ast.walk(function):
        if node is function:
            continue
        if isinstance(node, (ast.If, ast.comprehension, ast.ExceptHandler, FunctionNode)):
            paths += 1
        elif isinstance(node, (ast.For, ast.AsyncFor, ast.While)):
            paths += 1 + bool(node.orelse)
        elif isinstance(node, ast.Try):
            paths += bool(node.orelse)
        elif isinstance(node, ast.Match):
            paths += sum(not _catches_all(case) for case in node.cases)
    return paths


def _catches_all(case: ast.match_case) -> bool:
    return isinstance(case.pattern, ast.MatchAs) and case.pattern.pattern is None and case.guard is None


def depth(body: list[ast.stmt]) -> int:
    """Return how many blocks stand inside one another; `elif` is no deeper than its `if`."""
    return max((_depth_of(statement) for statement in body), default=0)


def _depth_of(statement: ast.stmt) -> int:
    if isinstance(statement, (ast.ClassDef, FunctionNode)):
        return 0  # counted as a function of its own
    if not isinstance(statement, _BLOCKS):
        return 0
    if isinstance(statement, ast.If) and [type(s) for s in statement.orelse] == [ast.If]:
        return max(1 + depth(statement.body), _depth_of(statement.orelse[0]))
    return 1 + max(depth(block) for block in _bodies(statement))


def _bodies(statement: ast.stmt) -> Iterator[list[ast.stmt]]:
    for name in ("body", "orelse", "finalbody"):
        yield getattr(statement, name, [])
    for part in (*getattr(statement, "handlers", []), *getattr(statement, "cases", [])):
        yield part.body


def documented(code: Code) -> tuple[int, int, tuple[str, ...]]:
    """Return public functions that are described, all public functions, and the silent ones.

    A function of `science` must also name each number it takes and say shape, unit and source;
    an argument that is a record is described by its class.
    """
    public = [f for f in code.functions if f.public and not _dunder(f.name) and not _overload(f.node)]
    silent = tuple(f.place for f in public if not _says_enough(f))
    return len(public) - len(silent), len(public), silent


def _dunder(name: str) -> bool:
    return name.startswith("__")


def _overload(node: FunctionNode) -> bool:
    return any("overload" in ast.unparse(decorator) for decorator in node.decorator_list)


def _says_enough(function: Function) -> bool:
    text = ast.get_docstring(function.node) or ""
    if "/science/" not in function.place or not text:
        return bool(text)
    given = function.node.args.args + function.node.args.kwonlyargs
    numbers = [a.arg for a in given if a.annotation and _NUMBERS.search(ast.unparse(a.annotation))]
    return (
        all(re.search(rf"\b{name}\b", text) for name in numbers)
        and bool(re.search(r"\[[^\]]+\]|\bunit\b", text))
        and bool(re.search(r"shape|float|scalar|int\b|bool", text))
        and "References" in text
    )


def equations(code: Code) -> list[Function]:
    """Return the public functions of `science`."""
    return [f for f in code.functions if f.public and "/science/" in f.place and not _dunder(f.name)]


def with_published_case(code: Code, folder: Path) -> tuple[int, int, int, tuple[str, ...]]:
    """Return equations that a published case names, those without one that say why, all, and the bare ones.

    Why: their source is ``ours`` or ``derived_here`` with the rule in words, which no
    other print could hold a value of.
    """
    texts = [p.read_text(encoding="utf-8") for p in folder.rglob("*") if p.suffix in {".py", ".csv"}]
    named = set(re.findall(r"\w+", "\n".join(texts)))
    found = equations(code)
    without = [f for f in found if f.name not in named]
    bare = tuple(f.place for f in without if not _OURS.search(ast.get_docstring(f.node) or ""))
    return len(found) - len(without), len(without) - len(bare), len(found), bare


def rows_traced(data: Path) -> tuple[int, int, tuple[str, ...]]:
    """Return coefficients with source and locator or an honest basis, all, and the loose ones."""
    known = {row["source_id"] for row in _rows(data / "sources.csv")}
    loose, count = [], 0
    for path in sorted(data.glob("*.csv")):
        for number, row in enumerate(_rows(path), start=2):
            if not {"key", "value", "basis"} <= row.keys():  # a list of words holds no coefficient
                continue
            count += 1
            if not _traced(row, known):
                loose.append(f"{path.name}:{number} {row['key']} {row.get('applies_to', '')}")
    return count - len(loose), count, tuple(loose)


def _rows(path: Path) -> list[dict[str, str]]:
    if not path.is_file():
        return []
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _traced(row: dict[str, str], known: set[str]) -> bool:
    named = [s.strip() for s in row.get("source", "").split(";") if s.strip()]
    if any(source not in known for source in named):
        return False
    if row["basis"] in PUBLISHED:
        return bool(named) and bool(row.get("locator", "").strip())
    return True


def conversions(code: Code) -> tuple[str, ...]:
    """Return where a known conversion factor is multiplied or divided by outside units.py."""
    found = []
    for name, tree in code.trees.items():
        if name.endswith("browseline/units.py"):
            continue
        for node in ast.walk(tree):
            if isinstance(node, ast.BinOp) and isinstance(node.op, (ast.Mult, ast.Div)):
                values = [n.value for n in (node.left, node.right) if isinstance(n, ast.Constant)]
                found += [
                    f"{name}:{node.lineno} {v}" for v in values
                    if v in FACTORS and not any(name.endswith(f) and v == c for f, c in COEFFICIENTS)
                ]  # fmt: skip
    return tuple(found)


def import_breaches(root: Path) -> int:
    """Return 0 if every import contract is kept, else 1; the linter itself says which."""
    import contextlib

    from importlinter.cli import lint_imports

    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return lint_imports(config_filename=str(root / "pyproject.toml"), no_cache=True)


def import_cycles() -> list[str]:
    """Return a circle of imports between files, if there is one."""
    import grimp

    graph = grimp.build_graph("browseline", cache_dir=None)
    imports = {name: graph.find_modules_directly_imported_by(name) for name in graph.modules}
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as circle:
        return [" -> ".join(circle.args[1])]
    return []
