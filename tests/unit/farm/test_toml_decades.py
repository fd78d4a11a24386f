"""``[decades]`` of farm.toml: read, refused where it cannot be, written back the same."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from browseline.errors import errors_in
from browseline.farm.future import Future, LeafCut
from browseline.farm.read import Reading, read
from browseline.farm.text import tables_of, text_of
from browseline.units import parse

FARM = """
schema = 1
name = "Case"
time_zone = "America/New_York"
units = "acres"
as_of = 2026-05-01

[[paddocks]]
id = "1"
name = "Gate"
deeded = "3 ac"

[[plantings]]
id = "hazel"
name = "Hazel"
species = "hazel_hybrid"
paddock = "1"
planted = 2019
trees = 60

"""
DECADES = """
[decades]
years = 30
stock = "sell_down"
build_up = "20 %"
log_rule = "doyle"
form_class = "78 %"
replant = true
diesel = "60 gal"

[decades.soil]
stock = "2006, warm temperate dry, HAC"
use_before = "grassland, grassland, all"
management_before = "grassland, nominally managed (non-degraded), all"
input_before = "grassland, medium input (improved grassland only), all"
use_after = "grassland, grassland, all"
management_after = "grassland, improved grassland, temperate/boreal"
input_after = "grassland, medium input (improved grassland only), all"
area = "5 ha"
year = 2027

[[decades.works]]
planting = "hazel"
kind = "thin"
year = 2035
trees = 20

[[decades.inputs]]
what = "lime"
amount = "2 t"
year = 2027
every = 4

[[decades.inputs]]
id = "bag"
what = "34-0-0"
amount = "500 lb"
year = 2030

[[decades.fodder]]
planting = "hazel"
each = "3 lb"
from_age = 6
every = 2
month = 7

[[decades.works]]
id = "lift"
planting = "hazel"
kind = "prune"
year = 2030
to_height = "6 ft"
note = "winter"
"""


def told(folder: Path, text: str) -> Reading:
    (folder / "farm.toml").write_text(FARM + text, "utf-8")
    return read(folder)


def test_choices_are_read_as_typed(tmp_path: Path) -> None:
    reading = told(tmp_path, DECADES)
    assert not errors_in(reading.findings)
    assert reading.farm is not None
    future = reading.farm.future
    assert (future.years, future.stock, future.log_rule, future.replant) == (30, "sell_down", "doyle", True)
    assert future.build_up == parse("20 %", "share")
    assert [work.id for work in future.works] == ["hazel-thin-2035", "lift"]
    assert future.works[1].to_height == parse("6 ft", "length")
    assert [one.id for one in future.inputs] == ["lime", "bag"]
    assert future.inputs[0].amount == parse("2 t", "mass")
    assert [year for year in range(2026, 2037) if future.inputs[0].falls(year)] == [2027, 2031, 2035]
    assert [year for year in range(2026, 2037) if future.inputs[1].falls(year)] == [2030]
    assert future.fodder == (LeafCut("hazel-leaf", "hazel", parse("3 lb", "mass"), 6, 2, 7),)
    assert future.diesel == parse("60 gal", "volume")
    assert future.soil is not None
    assert (future.soil.area, future.soil.year) == (parse("5 ha", "area"), 2027)


def test_a_farm_that_says_nothing_is_as_usual(tmp_path: Path) -> None:
    reading = told(tmp_path, "")
    assert reading.farm is not None
    assert reading.farm.future == Future()
    assert "decades" not in tables_of(reading.farm)


def test_what_is_written_reads_back_the_same(tmp_path: Path) -> None:
    farm = told(tmp_path, DECADES).farm
    assert farm is not None
    (tmp_path / "farm.toml").write_text(text_of(farm), "utf-8")
    again = read(tmp_path).farm
    assert again is not None
    assert again.future == farm.future
    assert tomllib.loads(text_of(again))["decades"]["works"][0]["year"] == 2035


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ('stock = "folow"', "farm.word_near"),
        ("years = 400", "farm.impossible"),
        ('build_up = "200 %"', "farm.impossible"),
        ('log_rule = "metric"', "farm.word"),
        ("stok = 1", "farm.unknown_key_near"),
        ('[[decades.works]]\nplanting = "hazle"\nkind = "thin"\nyear = 2030', "farm.unknown_id_near"),
        ('[[decades.works]]\nplanting = "hazel"\nyear = 2030', "farm.missing"),
        ('[[decades.works]]\nplanting = "hazel"\nkind = "fell"', "farm.missing"),
        ('[[decades.inputs]]\nwhat = "lime"\namount = "2 t"', "farm.missing"),
        ('[[decades.inputs]]\nwhat = "lime"\nyear = 2030', "farm.missing"),
        ('[[decades.inputs]]\namount = "2 t"\nyear = 2030', "farm.missing"),
        ('[[decades.inputs]]\nwhat = "lime"\namount = "2 gal"\nyear = 2030', "farm.other_unit"),
        ('[[decades.inputs]]\nwhat = "lime"\namount = "2 t"\nyear = 2030\nevery = 0', "farm.impossible"),
        ('[[decades.fodder]]\nplanting = "hazle"\neach = "3 lb"\nfrom_age = 6', "farm.unknown_id_near"),
        ('[[decades.fodder]]\nplanting = "hazel"\neach = "3 lb"', "farm.missing"),
        ('[[decades.fodder]]\nplanting = "hazel"\nfrom_age = 6', "farm.missing"),
        ('[[decades.fodder]]\nplanting = "hazel"\neach = "9 t"\nfrom_age = 6', "farm.impossible"),
        (
            '[[decades.fodder]]\nplanting = "hazel"\neach = "3 lb"\nfrom_age = 6\nmonth = 13',
            "farm.impossible",
        ),
        ('diesel = "60 lb"', "farm.other_unit"),
        ('[decades.soil]\narea = "5 ha"\nyear = 2027', "farm.missing"),
        ('[decades.soil]\nstock = "peat"', "farm.word"),
    ],
)
def test_what_cannot_be_is_told(tmp_path: Path, line: str, code: str) -> None:
    codes = [found.code for found in told(tmp_path, f"[decades]\n{line}\n").findings]
    assert code in codes
