"""The verbs ledger and carbon: what they print, their record, a knock switched off."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from typer.testing import CliRunner

from browseline.cli.group import app
from browseline.events import Sold
from browseline.events.bodies import Issued
from browseline.papers.issued import reprint
from browseline.record.store import Record
from tests.acceptance.cases import EWE, entry, farm_folder, mob
from tests.acceptance.test_p12 import MONEY
from tests.acceptance.test_p13 import oaks

NOW = "2026-10-01T06:00-04:00"


def ran(folder: Path, *words: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, [*words, "--farm", str(folder), "--now", NOW])
    return done.exit_code, done.output


def lender(folder: Path) -> Path:
    return farm_folder(folder, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=MONEY)


def test_ledger_tells_the_deepest_hole_first(tmp_path: Path) -> None:
    status, said = ran(lender(tmp_path), "ledger")
    assert status == 0
    assert "−$10,312" in said.splitlines()[0]
    assert "15 (2040)" in said


def test_a_knock_is_switched_off_by_its_id(tmp_path: Path) -> None:
    status, said = ran(lender(tmp_path), "ledger", "--off", "frost", "--off", "dry")
    assert status == 0
    assert "Switched off: hay to buy in year 4; frost in year 11." in " ".join(said.split())


def test_a_knock_that_is_not_there_is_told(tmp_path: Path) -> None:
    status, said = ran(lender(tmp_path), "ledger", "--off", "hail")
    assert status == 1
    assert "lamb-price" in said


def test_a_farm_without_a_plan_has_no_knocks(tmp_path: Path) -> None:
    bare = farm_folder(tmp_path, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})])
    assert ran(bare, "ledger")[0] == 0
    assert ran(bare, "ledger", "--off", "frost")[0] == 1


def test_carbon_gives_its_record(tmp_path: Path) -> None:
    status, said = ran(oaks(tmp_path).folder, "carbon", "--json")
    assert status == 0
    record = json.loads(said)
    assert record["schema"] == "browseline/carbon/1"
    assert record["book"]["metric"] == "AR6, 100 yr"


def test_carbon_prints_its_lines(tmp_path: Path) -> None:
    status, said = ran(oaks(tmp_path).folder, "carbon")
    assert status == 0
    assert "  lambs  " in said
    assert "  rams  " in said
    assert "Soil: no claim." in said


def test_a_pack_for_a_lender_is_written_and_its_numbers_open(tmp_path: Path) -> None:
    folder = lender(tmp_path)
    status, said = ran(folder, "papers", "lender", "--off", "frost", "--text")
    assert status == 0
    assert "switched off" in said
    assert {path.suffix for path in (folder / "papers").iterdir()} == {".pdf", ".txt", ".json"}
    status, said = ran(folder, "why", "lender.worth_today.as-planned_usd")
    assert status == 0
    assert "$77,143" in said or "77,14" in said
    status, said = ran(folder, "papers", "lender", "--json")
    assert status == 0
    assert len(json.loads(said)["paths"]) == 3
    assert ran(folder, "papers", "lender", "--off", "hail")[0] == 1


def test_the_draws_have_a_table_of_their_own(tmp_path: Path) -> None:
    typed = MONEY | {"price_range": "20 %"}
    folder = farm_folder(
        tmp_path, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], money=typed
    )
    status, said = ran(folder, "ledger")
    assert status == 0
    assert "one in ten below" in " ".join(said.split())
    assert json.loads(ran(folder, "ledger", "--json")[1])["spread"]["draws"]["value"] == 100


def test_carbon_by_the_kilogram_is_told_on_request(tmp_path: Path) -> None:
    folder = oaks(tmp_path, entry("2026-09-20 09:00", "ewes", Sold(40, "lambs", "sheep"))).folder
    assert "kilogram" not in ran(folder, "carbon")[1]
    status, said = ran(folder, "carbon", "--per-kg")
    assert status == 0
    assert "By kilogram of live weight sold" in " ".join(said.split())


def test_a_carbon_pack_is_written_kept_and_opened(tmp_path: Path) -> None:
    folder = oaks(tmp_path / "farm").folder
    status, said = ran(folder, "papers", "carbon", "--out", str(tmp_path / "out"), "--text")
    assert status == 0
    assert "58.2 t CO2" in said
    assert {path.suffix for path in (tmp_path / "out").iterdir()} == {".pdf", ".txt", ".json"}
    with Record.open(folder) as record:
        issued = [e.body for e in record.events() if isinstance(e.body, Issued)]
    assert [body.paper for body in issued] == ["carbon"]
    again = reprint(issued[0])
    for path in (tmp_path / "out").iterdir():
        assert again[path.suffix[1:]] == path.read_bytes()
    record_of = json.loads((tmp_path / "out").glob("*.json").__next__().read_text("utf-8"))
    key = next(number["key"] for number in record_of["numbers"] if number["text"] == "58.2")
    opened = ran(folder, "why", key.removeprefix("pack."))
    assert opened[0] == 0, (key, opened)
    assert "294" in opened[1]


def test_a_carbon_pack_without_stems_is_refused(tmp_path: Path) -> None:
    bare = farm_folder(tmp_path, as_of=date(2026, 1, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})])
    status, said = ran(bare, "papers", "carbon")
    assert status == 1
    assert "No stem is measured" in said
    assert not (bare / "papers").exists()
