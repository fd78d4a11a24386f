"""What holds for every compiled loop: no matrices, since numba is made ready without scipy's."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from browseline.moves.board import fast
from browseline.science import compiled

PACKAGE = Path(__file__).resolve().parents[2] / "src" / "browseline"
MATRIX_WORDS = {"dot", "vdot", "linalg", "matmul"}


def compiler_of(decorator: ast.expr) -> str:
    named = decorator.func if isinstance(decorator, ast.Call) else decorator
    return named.attr if isinstance(named, ast.Attribute) else getattr(named, "id", "")


def compilers(trees: Iterable[ast.Module]) -> set[str]:
    """Return the names under which functions are compiled: numba's own, and what is made of it."""
    made = {"njit"}
    for node in (node for tree in trees for node in ast.walk(tree)):
        match node:
            case ast.AnnAssign(target=ast.Name(id=name), value=ast.Call() as made_by):
                if compiler_of(made_by) in made:
                    made.add(name)
    return made


def loops(tree: ast.Module, names: set[str]) -> Iterator[ast.FunctionDef]:
    """Yield the functions of a file that are compiled."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and names & {compiler_of(d) for d in node.decorator_list}:
            yield node


def multiplies_matrices(loop: ast.FunctionDef) -> bool:
    nodes = list(ast.walk(loop))
    signs = any(isinstance(node, ast.BinOp) and isinstance(node.op, ast.MatMult) for node in nodes)
    return signs or any(isinstance(node, ast.Attribute) and node.attr in MATRIX_WORDS for node in nodes)


def all_loops() -> list[tuple[str, ast.FunctionDef]]:
    trees = {str(path): ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}
    names = compilers(trees.values())
    assert {"bare", "compiled", "folded", "quick", "within"} < names
    return [(f"{name}.{loop.name}", loop) for name, tree in trees.items() for loop in loops(tree, names)]


def test_no_compiled_loop_multiplies_matrices() -> None:
    found = all_loops()
    assert len(found) > 50
    assert [name for name, loop in found if multiplies_matrices(loop)] == []


@pytest.mark.parametrize("line", ["return a @ b", "return np.dot(a, b)", "return np.linalg.inv(a)"])
def test_a_loop_that_does_is_found(line: str) -> None:
    (loop,) = loops(ast.parse(f"@njit(cache=True)\ndef loop(a, b):\n    {line}\n"), {"njit"})
    assert multiplies_matrices(loop)


BARE = {"bare", "folded", "quick", "within"}
"""Loops in which nobody counts who holds an array."""


def hands_on_an_array(loop: ast.FunctionDef) -> bool:
    """Return whether a loop returns what was handed to it, or a part of that: an array, it may be."""
    parts = [node.value for node in ast.walk(loop) if isinstance(node, ast.Subscript | ast.Attribute)]
    given = {arg.arg for arg in loop.args.args} & {part.id for part in parts if isinstance(part, ast.Name)}
    for node in ast.walk(loop):
        value = node.value if isinstance(node, ast.Return) else None
        for one in value.elts if isinstance(value, ast.Tuple) else [value]:
            if isinstance(one, ast.Name) and one.id in given:
                return True
            if isinstance(one, ast.Attribute) and ast.unparse(one.value) in given:
                return True
    return False


def test_a_loop_that_counts_no_holders_hands_on_no_array() -> None:
    """Its caller would count one holder fewer than there are, and set the array free under the others."""
    trees = {str(path): ast.parse(path.read_text(encoding="utf-8")) for path in sorted(PACKAGE.rglob("*.py"))}
    found = [(f"{name}.{loop.name}", loop) for name, tree in trees.items() for loop in loops(tree, BARE)]
    assert len(found) > 100
    assert [name for name, loop in found if hands_on_an_array(loop)] == []


@pytest.mark.parametrize("line", ["return a", "return 1.0, a", "return a.mass"])
def test_a_loop_that_hands_on_an_array_is_found(line: str) -> None:
    (loop,) = loops(ast.parse(f"@bare\ndef loop(a, b):\n    a.mass[0] += b\n    {line}\n"), BARE)
    assert hands_on_an_array(loop)


class Record(NamedTuple):
    """Arrays handed on together, as boards and nodes are."""

    mass: NDArray[np.float64]
    days: NDArray[np.float64]


def _taken(record: Record, i: int) -> float:
    return record.mass[i] * record.days[i]  # type: ignore[no-any-return]


def _all_taken(record: Record, count: int) -> float:
    total = 0.0
    for i in range(count):
        total += _taken(record, i % 2)
    return total


@pytest.mark.parametrize(
    ("how", "counted"), [(fast.folded, False), (compiled.bare, False), (fast.stepped, True)]
)
def test_holders_of_arrays_are_counted_by_no_bare_loop(
    how: Callable[..., Any], counted: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Asked of numba's own library: what the loop would call. Counting took four fifths of a beam's time."""
    options = {name: value for name, value in how(_taken).targetoptions.items() if name != "nopython"}
    monkeypatch.setitem(_all_taken.__globals__, "_taken", compiled.njit(**options)(_taken))
    loop = compiled.njit(**options)(_all_taken)
    assert loop(Record(np.array([1.0, 2.0]), np.array([3.0, 4.0])), 4) == 22.0
    assert any("NRT_incref" in code for code in loop.inspect_llvm().values()) is counted


def test_every_compiled_loop_is_made_by_our_own_way() -> None:
    """Whoever imports numba by himself would bring its matrices back."""
    own = [
        path.stem
        for path in sorted(PACKAGE.rglob("*.py"))
        if "from numba import" in path.read_text(encoding="utf-8")
    ]
    assert own == ["compiled"]


def test_a_loop_runs_without_scipys_matrices_and_they_are_there_when_asked_for() -> None:
    program = (
        "import sys\nimport numpy as np\n"
        "from browseline.science.water import retention_mm\n"
        "assert retention_mm(80.0) == 25400 / 80 - 254\n"
        "assert 'scipy.linalg' not in sys.modules\n"
        "import scipy.linalg.cython_blas\nprint(scipy.linalg.cython_blas.__name__)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "scipy.linalg.cython_blas"
