"""M25: an old paper prints again as it was, after prices, factors, sentences and tables have changed."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
import tomlkit
from typer.testing import CliRunner

import browseline
from browseline.cli.group import app
from browseline.events import Issued
from browseline.papers import issued
from browseline.record.store import Record
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


# ---------------------------------------------------------------- another program with other tables

EDITED = {
    "tree_mass.csv": ("deciduous,hardwood,-2.0705,2.441", "deciduous,hardwood,-1.8705,2.441"),
    "crown_width.csv": ("open-grown,poly,in,ft,3.12,1.829", "open-grown,poly,in,ft,4.12,2.329"),
}
"""One coefficient of the oaks' equation, two of the crowns that the class draws."""


@pytest.fixture(scope="module")
def later_program(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a copy of the installed package whose tables say something else."""
    home = tmp_path_factory.mktemp("later")
    shutil.copytree(Path(browseline.__file__).parent, home / "browseline")
    for name, (was, now) in EDITED.items():
        path = home / "browseline" / "data" / name
        text = path.read_text(encoding="utf-8")
        assert text.count(was) == 1, name
        path.write_text(text.replace(was, now), encoding="utf-8")
    return home


def run_by(program: Path, folder: Path, *words: str) -> str:
    """Return what the command line of a copy of the package prints, in a process of its own."""
    code = (
        "import sys, browseline; from browseline.cli.group import app;"
        "assert browseline.__file__.startswith(sys.argv[1]), browseline.__file__;"
        "sys.argv = ['browseline', *sys.argv[2:]]; app()"
    )
    environment = os.environ | {"PYTHONPATH": str(program), "BROWSELINE_CACHE": str(program / "kept")}
    done = subprocess.run(
        [sys.executable, "-c", code, str(program), *words, "--farm", str(folder), "--now", LATER],
        env=environment, cwd=program, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def as_it_is(held: dict) -> None:  # type: ignore[type-arg]
    """Change nothing: the tables alone are others."""


@pytest.mark.parametrize(
    ("which", "made", "change"),
    [("carbon", carbon, as_it_is), ("brief", brief, as_it_is), ("lender", lender, dearer)],
)
def test_another_program_with_other_coefficients_prints_the_old_paper_and_a_new_one(
    which: str, made: Callable[[Path], Path], change: Callable[[dict], None],  # type: ignore[type-arg]
    later_program: Path, tmp_path: Path,
) -> None:  # fmt: skip
    folder = made(tmp_path / "farm")
    ran(folder, THEN, "papers", which)
    first = {path.suffix: path.read_bytes() for path in (folder / "papers").iterdir()}
    typed(folder, change)

    said = json.loads(run_by(later_program, folder, "papers", which, "--again", "2026-10-01", "--json"))

    again = {Path(path).suffix: Path(path).read_bytes() for path in said["paths"]}
    assert again[".txt"] == first[".txt"]
    assert again[".json"] == first[".json"]
    assert read_pdf(again[".pdf"]) == read_pdf(first[".pdf"])
    assert said["tables"] == issued.edition()

    run_by(later_program, folder, "papers", which, "--out", str(tmp_path / "new"))
    (new,) = (tmp_path / "new").glob("*.txt")
    assert new.read_bytes() != first[".txt"]
    with Record.open(folder) as record:
        editions = [e.body.tables for e in record.events() if isinstance(e.body, Issued)]
    assert editions[0] == issued.edition()
    assert editions[-1] != issued.edition()


def test_the_oaks_of_the_later_program_follow_its_coefficient(later_program: Path, tmp_path: Path) -> None:
    """A coefficient higher by 0.2 makes every stem heavier by e^0.2: 58.2 t become 71.1 t."""
    folder = carbon(tmp_path / "farm")
    ran(folder, THEN, "papers", "carbon")
    assert "58.2 t CO2" in " ".join(ran(folder, THEN, "carbon").split())
    assert "71.1 t CO2" in " ".join(run_by(later_program, folder, "carbon").split())
    run_by(later_program, folder, "papers", "carbon", "--again", "2026-10-01", "--out", str(tmp_path / "old"))
    (old,) = (tmp_path / "old").glob("*.txt")
    assert "58.2 t CO2" in old.read_text(encoding="utf-8")
