"""Pages of the ledger under ``why``, the entries that feed them, and the record of a period as a paper."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from browseline.chain.accounts import PAGES
from browseline.events import Earned, Fed, Issued, Spent, Worked
from tests.unit.cli_farm import FARM, SmallFarm, small_farm


@pytest.fixture
def farm(tmp_path: Path) -> SmallFarm:
    return small_farm(tmp_path / "farm")


@pytest.mark.parametrize("name", sorted(PAGES))
def test_every_page_opens_and_is_listed(farm: SmallFarm, name: str) -> None:
    opened = farm.run("why", name)
    assert opened.code == 0, opened.all
    assert opened.out.strip()
    assert name in farm.run("why").out
    record = json.loads(farm.run("why", name, "--json").out)
    assert record["name"] == name
    assert record["schema"].startswith("browseline/")
    assert record["sentences"]


def test_work_by_the_clock_by_time_and_by_an_interval(farm: SmallFarm) -> None:
    for words in (
        ("work", "start", "fence", "--at", "5 May 8:00"),
        ("work", "stop", "fence", "--at", "5 May 9:30"),
        ("work", "30 min", "moving ewes", "--at", "5 May 18:00"),
        ("work", "fence", "--at", "between 5 May 10:00 and 5 May 11:00"),
    ):
        done = farm.run(*words)
        assert done.code == 0, done.all
    bodies = [e.body for e in farm.events() if isinstance(e.body, Worked)]
    assert [(b.clock, b.what, b.time is None) for b in bodies] == [
        ("start", "fence", True), ("stop", "fence", True), ("", "moving ewes", False), ("", "fence", True),
    ]  # fmt: skip
    assert "3.0 h entered" in farm.run("why", "hours").out


def test_mineral_water_and_bought_hay_are_entries(farm: SmallFarm) -> None:
    for words in (
        ("feed", "ewes", "12 lb", "--what", "mineral"),
        ("feed", "ewes", "150 gal", "--what", "water"),
        ("spent", "$1,080", "hay", "--bales", "18"),
        ("earned", "$300", "hazelnuts", "--weight", "40 lb"),
    ):
        done = farm.run(*words)
        assert done.code == 0, done.all
    kinds = [e.body for e in farm.events()]
    assert [b.amount.text for b in kinds if isinstance(b, Fed)] == ["12 lb", "150 gal"]
    assert [b.bales.text for b in kinds if isinstance(b, Spent) and b.bales] == ["18 bales"]
    assert [b.weight.text for b in kinds if isinstance(b, Earned) and b.weight] == ["40 lb"]
    page = " ".join(farm.run("why", "store").out.split())
    assert "mineral: 12 lb given to Ewes; none entered as bought." in page
    assert "Water hauled: 150 gal to Ewes, Gate." in page


@pytest.mark.parametrize("amount", ["3 acres", "4 in"])
def test_what_is_no_bale_weight_or_volume_is_not_fed(farm: SmallFarm, amount: str) -> None:
    assert farm.run("feed", "ewes", amount).code == 1


def test_record_of_a_period_is_written_kept_and_prints_again(farm: SmallFarm, tmp_path: Path) -> None:
    done = farm.run(
        "papers", "record", "--from", "2026-05-01", "--to", "2026-05-06", "--out", str(tmp_path / "out")
    )
    assert done.code == 0, done.all
    files = {path.suffix: path for path in (tmp_path / "out").iterdir()}
    assert set(files) == {".csv", ".txt"}
    (row,) = csv.DictReader(io.StringIO(files[".csv"].read_text(encoding="utf-8")))
    assert (row["mob"], row["paddock"], row["in"], row["out"]) == (
        "Ewes", "Gate", "2026-05-04 07:00", "still there",
    )  # fmt: skip
    event = farm.last()
    assert isinstance(event.body, Issued)
    from browseline.papers.issued import reprint

    assert reprint(event.body)["csv"] == files[".csv"].read_bytes()


@pytest.mark.parametrize("span", [("--from", "2026-05-06", "--to", "2026-05-01"), ("--from", "someday")])
def test_a_period_that_is_none_is_a_finding(farm: SmallFarm, span: tuple[str, ...]) -> None:
    done = farm.run("papers", "record", *span)
    assert done.code == 1
    assert "Traceback" not in done.all


def test_check_tells_the_cautions_of_the_place(tmp_path: Path) -> None:
    wet = (
        FARM
        + """
[soils.valley]
drainage = "somewhat poorly drained"

[[plantings]]
id = "walnuts"
name = "Walnuts"
species = "walnut_english"
paddock = "8"
"""
    )
    made = small_farm(tmp_path / "wet", wet)
    done = made.run("check")
    assert done.code == 0, done.all
    assert "! Walnuts in Top: the soil is somewhat poorly drained" in done.out
    notes = json.loads(made.run("check", "--json").out)["site"]
    (note,) = (one for one in notes if one["about"] == "walnuts")
    assert (note["kind"], note["mark"], note["source"]) == ("wet", "G", "common_practice")
