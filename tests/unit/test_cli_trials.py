"""The verbs try and compare as they are typed: text, record, what is told where something is wrong."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from browseline.cli.group import app
from tests.acceptance.test_s08 import written

NOW = ("--now", "2026-05-06T07:00-04:00")
FEW = ("--years", "2", "--members", "3")


@pytest.fixture(scope="module", name="farm")
def _farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return written(tmp_path_factory.mktemp("typed") / "farm")


def run(farm: Path, *words: str) -> Result:
    return CliRunner().invoke(app, [*words, "--farm", str(farm), *NOW])


def test_try_tells_what_an_edit_changes(farm: Path) -> None:
    done = run(farm, "try", "--set", "mobs.ewes.lines.0.head=70", "--short")
    assert done.exit_code == 0, done.output
    assert "the farm itself stays as it is" in done.output
    assert "308 lb/d" in done.output


def test_try_as_a_record_has_its_edits_and_the_keys_of_its_numbers(farm: Path) -> None:
    done = run(farm, "try", "--set", "mobs.ewes.lines.0.head=70", "--short", "--json")
    record = json.loads(done.output)
    assert record["schema"] == "browseline/try/1"
    assert record["edits"] == ["mobs.ewes.lines.0.head=70"]
    assert any(one["key"].startswith("try.difference") for one in record["numbers"])


def test_a_wrong_edit_ends_with_status_1(farm: Path) -> None:
    done = run(farm, "try", "--set", "nothing here")
    assert done.exit_code == 1
    assert "neither a value to change nor an entry" in done.output


def test_compare_alone_sets_the_land_against_itself(farm: Path) -> None:
    done = run(farm, "compare", *FEW)
    assert done.exit_code == 0, done.output
    for words in (
        "Pasture without trees",
        "Annual crop",
        "less as it is",
        "Against the same land as plain pasture",
    ):
        assert words in done.output, words


def test_compare_designs_by_name(farm: Path) -> None:
    done = run(farm, "compare", "here", "bare", *FEW, "--by", "feed")
    assert done.exit_code == 0, done.output
    order = r"by the mean of the futures: No rows \([\d,]+ lb\) and Quern Bank Farm \([\d,]+ lb\)\."
    assert re.search(f"In order of the feed that they grow, {order}", " ".join(done.output.split()))


def test_compare_folders_without_a_farm_around(
    farm: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(app, ["compare", str(farm), str(farm), *FEW, "--json", *NOW])
    assert done.exit_code == 0, done.output
    assert json.loads(done.output)["schema"] == "browseline/compare/1"


@pytest.mark.parametrize(
    ("words", "told"),
    [(("compare", "here", "--years", "2"), "Two designs or more"),
     (("compare", "here", "zz"), "here, bare, wide"),
     (("compare", "here", "bare", "--by", "beauty"), "worth, feed, carbon, hours")],
)  # fmt: skip
def test_what_cannot_be_compared_is_told(farm: Path, words: tuple[str, ...], told: str) -> None:
    done = run(farm, *words)
    assert done.exit_code == 1
    assert told in " ".join(done.output.split())
