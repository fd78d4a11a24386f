"""Imports point one way; science stays pure; the start stays light."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from scripts.counting import import_cycles

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "browseline"
CHAIN = (
    "cli", "web", "many", "papers | exchange", "trials", "chain", "ledger | moves | decades", "limits",
    "readings", "sward", "canopy", "layout | weather", "record", "events", "farm", "tables | science",
    "figures", "units | errors", "words",
)  # fmt: skip
SCIENCE_MAY_IMPORT = {"numpy", "numba", "scipy", "browseline.units", "browseline.science"}
PLAIN_PARTS = {
    "__future__", "typing", "collections", "dataclasses", "enum", "functools", "itertools", "math",
    "operator",
}  # fmt: skip
KEYS_AND_THREADS = {"hashlib", "concurrent", "threading", "os"}  # keyed draws; the count of cores
LOADER_PARTS = {"importlib", "sys"}  # only to keep small what numba loads
HEAVY = {
    "altair", "icalendar", "numba", "pandas", "polib", "pvlib", "pydantic", "pyogrio", "pyproj", "rasterio",
    "scipy", "segno", "shapely", "typst", "vl_convert",
}  # fmt: skip
KEPT_FROM_HELP = (HEAVY - {"polib"}) | {"numpy", "sqlite3"}  # help is sentences, which polib reads


def contract() -> dict[str, list[str]]:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (found,) = settings["tool"]["importlinter"]["contracts"]
    assert isinstance(found, dict)
    return found


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    code = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True))"
    path = {"PYTHONPATH": str(folder / "src"), "PATH": "/usr/bin:/bin"}
    return subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=path, capture_output=True, text=True, check=False
    )


def test_layers_are_those_of_the_house_in_their_order() -> None:
    assert tuple(re.sub(r"[()]", "", layer) for layer in contract()["layers"]) == CHAIN


def test_contract_is_kept() -> None:
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout


def test_a_layer_in_brackets_is_not_built_yet() -> None:
    names = re.findall(r"\((\w+)\)", " ".join(contract()["layers"]))
    built = [n for n in names if (PACKAGE / f"{n}.py").exists() or (PACKAGE / n / "__init__.py").exists()]
    assert built == []


def small_package(folder: Path, breach: str = "") -> Path:
    """Write a package with every layer in the contract, empty but for one breach."""
    home = folder / "src" / "browseline"
    home.mkdir(parents=True)
    settings = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    (folder / "pyproject.toml").write_text(settings, encoding="utf-8")
    for name in ("__init__", "__main__", *re.findall(r"\w+", " ".join(contract()["layers"]))):
        (home / f"{name}.py").write_text("", encoding="utf-8")
    if breach:
        name, _, line = breach.partition(": ")
        (home / f"{name}.py").write_text(line + "\n", encoding="utf-8")
    return folder


@pytest.mark.parametrize(
    "breach",
    [
        "words: import browseline.units",
        "science: from browseline import tables",
        "papers: from browseline.exchange import x",
        "limits: def late():\n    import browseline.chain",
        "stray: x = 1",
    ],
)
def test_contract_names_a_breach(tmp_path: Path, breach: str) -> None:
    done = lint(small_package(tmp_path, breach))
    assert done.returncode != 0, done.stdout


def test_contract_passes_a_clean_package(tmp_path: Path) -> None:
    done = lint(small_package(tmp_path))
    assert done.returncode == 0, done.stdout


def test_no_circle_of_imports() -> None:
    assert import_cycles() == []


def imported(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom):
        assert node.level == 0, "imports are written in full"
        home = node.module or ""
        yield from (f"{home}.{alias.name}" for alias in node.names)


def belongs(name: str, allowed: set[str]) -> bool:
    return any(name == part or name.startswith(part + ".") for part in allowed)


@pytest.mark.parametrize("path", sorted((PACKAGE / "science").glob("**/*.py")), ids=lambda p: p.name)
def test_science_imports_only_numbers_and_units(path: Path) -> None:
    allowed = SCIENCE_MAY_IMPORT | PLAIN_PARTS | KEYS_AND_THREADS
    if path.name == "compiled.py":
        allowed = allowed | LOADER_PARTS
    tree = ast.parse(path.read_text(encoding="utf-8"))
    foreign = [name for node in ast.walk(tree) for name in imported(node) if not belongs(name, allowed)]
    assert foreign == []


@pytest.mark.parametrize("path", sorted((PACKAGE / "science").glob("**/*.py")), ids=lambda p: p.name)
def test_science_neither_reads_nor_prints(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    called = {n.func.id for n in ast.walk(tree) if isinstance(n, ast.Call) and isinstance(n.func, ast.Name)}
    assert called & {"open", "print", "input", "exec", "eval"} == set()


def imported_at_once(body: list[ast.stmt]) -> Iterator[str]:
    """Yield what runs when the file is imported: not in functions, not for the type checker."""
    for statement in body:
        yield from imported(statement)
        if isinstance(statement, ast.If) and "TYPE_CHECKING" in ast.unparse(statement.test):
            yield from imported_at_once(statement.orelse)
        elif isinstance(statement, (ast.If, ast.Try, ast.With)):
            yield from imported_at_once(statement.body)


def outside_science() -> list[Path]:
    return [p for p in sorted(PACKAGE.rglob("*.py")) if "science" not in p.parts]


def test_heavy_parts_are_imported_where_they_are_used() -> None:
    early = [
        f"{path.relative_to(PACKAGE)}: {name}"
        for path in outside_science()
        for name in imported_at_once(ast.parse(path.read_text(encoding="utf-8")).body)
        if belongs(name, HEAVY)
    ]
    assert early == []


def modules_after(code: str) -> set[str]:
    program = f"{code}\nimport sys\nprint('\\n'.join(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    return set(done.stderr.split())


def test_help_loads_nothing_heavy() -> None:
    help_ = (
        "import sys\nsys.argv = ['browseline', '--help']\nfrom browseline.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass"
    )
    assert modules_after(help_) & KEPT_FROM_HELP == set()


def test_the_package_itself_loads_nothing_heavy() -> None:
    assert modules_after("import browseline") & KEPT_FROM_HELP == set()


def test_public_names_are_there() -> None:
    import browseline

    assert [name for name in browseline.__all__ if not hasattr(browseline, name)] == []
    with pytest.raises(AttributeError):
        _ = browseline.nothing_of_the_kind
