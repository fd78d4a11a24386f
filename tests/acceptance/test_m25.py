"""M25: an old paper prints again as it was, after prices, factors, sentences and tables have changed."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
import tomlkit
from typer.testing import CliRunner

from browseline.cli.group import app
from browseline.papers import issued
from tests.acceptance.cases import EWE, farm_folder, mob
from tests.acceptance.test_p11_brief import FILES, HILL
from tests.acceptance.test_p12 import MONEY
from tests.acceptance.test_p13 import oaks, read_pdf

THEN, LATER = "2026-10-01T06:00-04:00", "2027-02-01T06:00-05:00"


def ran(folder: Path, now: str, *words: str) -> str:
    done = CliRunner().invoke(app, [*words, "--farm", str(folder), "--now", now])
    assert done.exit_code == 0, done.output
    return done.output


def typed(folder: Path, change: Callable[[dict], None]) -> None:  # type: ignore[type-arg]
    path = folder / "farm.toml"
    held = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    change(held)
    path.write_text(tomlkit.dumps(held), encoding="utf-8")


def lender(folder: Path) -> Path:
    return farm_folder(folder, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=MONEY)


def carbon(folder: Path) -> Path:
    return oaks(folder).folder


def brief(folder: Path) -> Path:
    farm_folder(folder, as_of=date(2026, 4, 20), mobs=[])
    typed(folder, lambda held: held.setdefault("plantings", []).append(HILL))
    (folder / "designs").mkdir()
    for name, data in FILES.items():
        (folder / "designs" / f"{name}.toml").write_text(tomlkit.dumps(data), encoding="utf-8")
    return folder


def dearer(held: dict) -> None:  # type: ignore[type-arg]
    for line in held["money"]["lines"]:
        if "price" in line:
            line["price"] = "$1"


def other_factors(held: dict) -> None:  # type: ignore[type-arg]
    held["carbon"] |= {"tree_set": "jenkins2003", "metric": "AR5, 100 yr"}


def other_rows(held: dict) -> None:  # type: ignore[type-arg]
    held["plantings"][-1] |= {"spacing": "33 ft", "alley": "66 ft"}


@pytest.mark.parametrize(
    ("which", "made", "change"),
    [("lender", lender, dearer), ("carbon", carbon, other_factors), ("brief", brief, other_rows)],
)
def test_a_paper_prints_again_as_it_was_whatever_changed(
    which: str, made: Callable[[Path], Path], change: Callable[[dict], None],  # type: ignore[type-arg]
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    folder = made(tmp_path / "farm")
    ran(folder, THEN, "papers", which)
    first = {path.suffix: path.read_bytes() for path in (folder / "papers").iterdir()}
    assert set(first) == {".pdf", ".txt", ".json"}
    typed(folder, change)
    monkeypatch.setattr(issued, "__version__", "99.0")
    monkeypatch.setattr(issued, "edition", lambda: "another edition")

    said = json.loads(ran(folder, LATER, "papers", which, "--again", "2026-10-01", "--json"))

    again = {Path(path).suffix: Path(path).read_bytes() for path in said["paths"]}
    assert again[".txt"] == first[".txt"]
    assert again[".json"] == first[".json"]
    assert read_pdf(again[".pdf"]) == read_pdf(first[".pdf"])
    assert said["context"]["page"] == json.loads(first[".json"])
    assert said["context"]["text"].encode() == first[".txt"]
    assert (said["program"], said["tables"]) != ("99.0", "another edition")
    assert said["issued"].startswith("2026-10-01")

    ran(folder, LATER, "papers", which, "--out", str(tmp_path / "new"))
    new = {path.suffix: path.read_bytes() for path in (tmp_path / "new").iterdir()}
    assert new[".txt"] != first[".txt"]


def test_a_day_without_a_paper_is_told_with_the_days_that_have_one(tmp_path: Path) -> None:
    folder = lender(tmp_path / "farm")
    ran(folder, THEN, "papers", "lender")
    done = CliRunner().invoke(
        app, ["papers", "lender", "--again", "2026-09-01", "--farm", str(folder), "--now", LATER]
    )
    assert done.exit_code == 1
    assert "Days on which one was issued: 2026-10-01." in " ".join(done.output.split())


def test_a_changed_file_beside_the_record_is_not_given_out_as_the_paper(tmp_path: Path) -> None:
    folder = lender(tmp_path / "farm")
    ran(folder, THEN, "papers", "lender")
    (kept,) = (folder / "files").glob("*.json")
    kept.write_bytes(kept.read_bytes().replace(b"215", b"999"))
    said = json.loads(ran(folder, LATER, "papers", "lender", "--again", "2026-10-01", "--json"))
    assert {Path(path).suffix for path in said["paths"]} == {".pdf", ".txt"}
    assert "page" not in said["context"]
