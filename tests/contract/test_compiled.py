"""What holds for every compiled loop: no matrices, since numba is made ready without scipy's."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

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
    assert {"compiled", "quick", "within"} < names
    return [(f"{name}.{loop.name}", loop) for name, tree in trees.items() for loop in loops(tree, names)]


def test_no_compiled_loop_multiplies_matrices() -> None:
    found = all_loops()
    assert len(found) > 50
    assert [name for name, loop in found if multiplies_matrices(loop)] == []


@pytest.mark.parametrize("line", ["return a @ b", "return np.dot(a, b)", "return np.linalg.inv(a)"])
def test_a_loop_that_does_is_found(line: str) -> None:
    (loop,) = loops(ast.parse(f"@njit(cache=True)\ndef loop(a, b):\n    {line}\n"), {"njit"})
    assert multiplies_matrices(loop)


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
