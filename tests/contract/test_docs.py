"""The pages agree with the code: parts, links, make targets, what is printed."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from browseline import __version__
from scripts.build_docs import broken_links, table_as_html

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def names(requirements: list[str]) -> set[str]:
    return {re.split(r"[^\w.\-]", requirement)[0] for requirement in requirements}


def section(title: str) -> set[str]:
    page = (ROOT / "docs" / "dependencies.md").read_text(encoding="utf-8")
    text = page.partition(f"## {title}")[2].partition("\n## ")[0]
    return set(re.findall(r"^\| ([\w.\-]+) \|", text, re.MULTILINE)) - {"part"}


def test_every_part_is_described() -> None:
    assert section("To run") == names(PROJECT["dependencies"])
    assert section("To test, measure and write") == names(PROJECT["optional-dependencies"]["test"])


def test_every_part_is_locked() -> None:
    for name, extra in (("run", []), ("test", PROJECT["optional-dependencies"]["test"])):
        lock = (ROOT / "locks" / f"{name}.txt").read_text(encoding="utf-8")
        locked = set(re.findall(r"^([\w.\-]+)==", lock, re.MULTILINE))
        assert names(PROJECT["dependencies"] + extra) <= locked


def test_no_link_leads_nowhere() -> None:
    assert broken_links() == []


def test_make_targets_named_in_the_pages_are_there() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    targets = set(re.findall(r"^([a-z]+):", makefile, re.MULTILINE))
    assert {"demo", "test", "check", "bench", "docs", "lock", "clean"} <= targets
    for page in ("README.md", "CONTRIBUTING.md", "CHANGELOG.md"):
        named = set(re.findall(r"`make (\w+)`", (ROOT / page).read_text(encoding="utf-8")))
        assert named <= targets, page


def test_only_tested_versions_are_claimed() -> None:
    claimed = [c for c in PROJECT["classifiers"] if re.search(r":: 3\.\d+$", c)]
    assert claimed == ["Programming Language :: Python :: 3.11"]
    assert PROJECT["requires-python"] == ">=3.11"


def test_version_is_the_one_installed() -> None:
    from importlib.metadata import version

    assert version("browseline") == __version__


README_VERBS = sorted(set(re.findall(r"browseline (\w+)", (ROOT / "README.md").read_text(encoding="utf-8"))))


def test_the_readme_shows_verbs() -> None:
    assert {"start", "today"} <= set(README_VERBS)


@pytest.mark.parametrize("verb", README_VERBS)
def test_verbs_of_the_readme_are_there(verb: str) -> None:
    command = [sys.executable, "-m", "browseline", verb, "--help"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_cells_are_data_in_the_pages(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    path.write_text('key,note\nx,"<b>a, b</b>"\n', encoding="utf-8")
    assert "<td>&lt;b&gt;a, b&lt;/b&gt;</td>" in table_as_html(path)
