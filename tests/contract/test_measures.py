"""The counters of scripts/counting.py count what they say."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from scripts.counting import Code, Function, conversions, depth, documented, read_code, rows_traced

ROOT = Path(__file__).resolve().parents[2]


def code_of(tmp_path: Path, name: str, text: str) -> Code:
    path = tmp_path / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return read_code(tmp_path)


def ruff_complexities(folder: Path) -> dict[tuple[str, int], int]:
    """Return the complexity that the linter finds for each function."""
    command = [sys.executable, "-m", "ruff", "check", "--isolated", "--no-cache", "--output-format=json"]
    command += ["--select=C901", "--ignore-noqa", "--config=lint.mccabe.max-complexity=0", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    found = {}
    for row in json.loads(done.stdout):
        match = re.search(r"\((\d+) > 0\)", row["message"])
        assert match is not None
        place = Path(row["filename"]).relative_to(folder).as_posix()
        found[place, row["location"]["row"]] = int(match[1])
    return found


@pytest.mark.parametrize("folder", ["src", "scripts", "tests"])
def test_complexity_agrees_with_the_linter(folder: str) -> None:
    """Compare with ruff's C901, an independent count that leaves comprehensions out."""
    functions = read_code(ROOT / folder).functions
    ours = {(f.place.rsplit(":", 1)[0], f.node.lineno): f.complexity - comprehensions(f) for f in functions}
    assert ours == ruff_complexities(ROOT / folder)


def comprehensions(function: Function) -> int:
    return sum(isinstance(node, ast.comprehension) for node in ast.walk(function.node))


@pytest.mark.parametrize(
    ("text", "deep"),
    [
        ("x = 1", 0),
        ("for a in b:\n    x = 1", 1),
        ("if a:\n    x = 1\nelif b:\n    x = 2\nelif c:\n    x = 3", 1),
        ("for a in b:\n    with c:\n        if d:\n            while e:\n                x = 1", 4),
        ("try:\n    x = 1\nexcept E:\n    if a:\n        x = 2", 2),
        ("match a:\n    case 1:\n        for b in c:\n            x = 1", 2),
        ("if a:\n    def f():\n        for b in c:\n            x = 1", 1),
    ],
)
def test_depth(text: str, deep: int) -> None:
    assert depth(ast.parse(text).body) == deep


def test_code_lines_leave_out_docstrings_comments_and_blanks(tmp_path: Path) -> None:
    docstring = '    """Say.\n\n    More.\n    """\n'
    text = f"def f():\n{docstring}    # why\n\n    a = (\n        1\n    )\n    return a\n"
    (function,) = code_of(tmp_path, "a.py", text).functions
    assert function.code_lines == 5


def test_conversion_factors_are_found_outside_units(tmp_path: Path) -> None:
    code_of(tmp_path, "browseline/units.py", "A = 2.54 * 1\n")
    code = code_of(tmp_path, "browseline/sward.py", "x = y * 2.54\nz = 2.54 + y\nw = y / 0.4536\n")
    assert conversions(code) == ("browseline/sward.py:1 2.54", "browseline/sward.py:3 0.4536")


FULL = '''
def height_m(age_yr: float) -> float:
    """Height of a tree.

    Parameters
    ----------
    age_yr : float
        [yr]

    Returns
    -------
    float
        [m]

    References
    ----------
    book
    """
    return age_yr
'''


def test_science_must_say_shape_unit_and_source(tmp_path: Path) -> None:
    short = 'def light(share: float) -> float:\n    """Light."""\n    return share\n'
    code = code_of(tmp_path, "browseline/science/a.py", FULL + short)
    said, public, silent = documented(code)
    assert (said, public) == (1, 2)
    assert silent[0].endswith(" light")


def test_a_row_without_source_is_loose(tmp_path: Path) -> None:
    (tmp_path / "sources.csv").write_text("source_id\nbook\n", encoding="utf-8")
    rows = (
        "key,applies_to,value,source,locator,basis",
        "a,,1,book,p. 1,published-copy",
        "b,,1,book,,published-read",
        "c,,1,letter,p. 2,published-read",
        "d,,1,,,common-practice",
    )
    (tmp_path / "grass.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    traced, count, loose = rows_traced(tmp_path)
    assert (traced, count) == (2, 4)
    assert loose == ("grass.csv:3 b ", "grass.csv:4 c ")


def test_functions_of_tests_carry_types() -> None:
    bare = [f.place for f in read_code(ROOT / "tests").functions if f.node.returns is None]
    assert bare == []
