"""Reading a farm folder: every field comes out as typed, defaults are said, limits hold."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from browseline.errors import BadInput, errors_in
from browseline.farm.names import words
from browseline.farm.read import read, read_or_raise
from browseline.farm.records import Place, Stage
from browseline.farm.text import text_of
from browseline.units import Quantity, parse
from scripts.bad_farms import TODAY
from tests.unit.farm.folders import SOUND, changed, codes, folder, reading, sound

FULL = """
[swards.seed]
kind = "ryegrass_clover"
mass_per_height = "275 lb/ac/in"
density = "good"
fertility = "60 %"
cut_or_long_rest = true
[soils.low]
texture = "silt loam"
group = "B"
drainage = "poorly drained"
available_water = "93 mm"
[[paddocks]]
id = "3"
name = "Low"
deeded = "2.5 ac"
sward = "seed"
soil = "low"
water = "trailer"
trough = "150 gal"
light = "80 %"
open_ground = false
sacrifice = true
parents = ["1"]
from = 2026-05-02
to = 2027-05-02
note = "wet in March"
[[mobs]]
id = "goats"
name = "Goats"
at = "yard"
owner = "neighbour"
due = 2026-08-22
runs_with = ["ewes"]
follows = "ewes"
follows_after = "1 d"
follows_within = "5 d"
keep_out = ["2"]
parents = ["ewes"]
from = 2026-05-01
to = 2026-09-01
[[mobs.lines]]
kind = "goat"
class = "our own"
head = "20 "
weight = "110 lb"
intake = "3.85 lb/d"
water = "2 gal/d"
stages = [{ from = 2026-06-01, stage = "dry", intake = "2.6 lb/d", weight = "100 lb" }]
[[jobs]]
name = "Turn the lot"
kind = "turn"
paddock = "2"
mob = "goats"
target = "30 %"
from = 2026-06-01
to = 2026-09-09
stay = "5 d"
rest = "60 d"
beside = ["walnut-row"]
[keeper.sheep]
experience = "nine years"
market = "a butcher in town"
[[plantings]]
name = "Walnut row"
species = "walnut_english"
trees = 109
cultivars = ["one", "two"]
spacing = "20 ft"
alley = "40 ft"
row_width = "6 ft"
leader = "7 ft"
guard = "tube"
interval = "120 d"
harvested = false
accepted_bitten = "5 %"
note = "year 6"
[plantings.layout]
rows_in_set = 2
between = "10 ft"
staggered = true
bearing = 12.5
drift = "1 %"
headland = "40 ft"
implement = "12 ft"
passes = 3
clearance = "4 ft"
from_fence = "8 ft"
from_boundary = "30 ft"
from_building = "20 ft"
from_overhead = "65 ft"
from_buried = "10 ft"
from_water = "25 ft"
partners = ["walnut-row"]
[[plantings]]
name = "Next rows"
species = "pear"
planned = true
[money]
first_year = 2027
years = 10
discount = "5 %"
own_hours = "900 h"
cover_wanted = 1.25
[[money.loans]]
name = "Fence"
amount = "$8,000"
rate = "6 %"
years = 8
interest_only = 2
first = 1
buys = "fence"
[[money.lines]]
name = "Nuts"
kind = "income"
price = "$3.00"
less = "$0.80"
count = { 1 = 109, 4 = 98 }
each = 2
from = 6
to = 10
note = "a guess"
[[money.lines]]
name = "Carbon"
kind = "carbon"
price = "$100"
signed = 2026-01-02
[[money.knocks]]
name = "Frost"
line = "nuts"
on = "yield"
factor = 0.2
from = 8
to = 8
[[money.knocks]]
name = "Late"
line = "nuts"
on = "later"
years_later = 1
[[money.knocks]]
name = "Hail"
line = "nuts"
on = "amount"
add = "$10"
[carbon]
edition = "2019"
region = "North America"
climate = "aggregated"
metric = "AR6, 100 yr"
tree_set = "chojnacky2014"
root_share = "ipcc2006_v4_ch04, other broadleaf, AGB <75"
carbon_share = "temperate broadleaf"
tree_owner = "the farm"
already_paid = "half of the planting"
[carbon.groups]
walnut-row = "mixed hardwood"
[[carbon.diets]]
kind = "sheep"
class = "ewes"
digestible = "65 %"
milk = "0.3 kg/d"
fat = "7 %"
young_gain = "44 lb"
pregnant = "95 %"
litter = 2
gain = "0 kg/d"
mature_weight = "150 lb"
wool = "0 kg"
[same_land]
hours_by_month = [8, 8, 14, 20, 20, 18, 16, 16, 20, 14, 10, 8]
tree_lines = ["nuts"]
stock_lines = []
[same_land.alone]
walnut-row = "30 trees/ac"
[same_land.tree_nitrogen]
walnut-row = ["0.2 kg", "0.6 kg"]
[same_land.food]
walnut-row = "2600 kcal/kg"
crop = "3650 kcal/kg"
[same_land.crop]
kind = "maize"
paddocks = ["2"]
grain = "4 t/ha"
yield_range = "25 %"
nitrogen = "90 lb/ac"
price = "$210"
per = "t"
hours = "3 h"
hours_per = "ac"
[[same_land.crop.passes]]
machine = "sprayer"
times = 2
[[same_land.crop.costs]]
name = "seed"
amount = "$100"
per = "ac"
[[same_land.mowing]]
id = "under"
name = "Mowing under the nuts"
paddocks = ["2"]
passes = 2
machine = "mower (sickle/disk)"
fuel = "diesel"
[labour]
hours_day = "3 h"
[energiser]
where = "barn"
reading = "6.2 kV"
read_on = 2026-04-30
[prices]
hay = "$60"
[rules.settings]
height_to_start = "tall and low growers"
rest_by_season = "21 to 42 days"
shade_against_yield = "measured slats"
pig_stay = "woods"
pig_rest = "woods, the longest"
"""


def q(text: str, dimension: str) -> Quantity:
    return parse(text, dimension)


def test_every_field_comes_out_as_typed(tmp_path: Path) -> None:
    farm = sound(tmp_path, SOUND + FULL)
    assert (farm.name, farm.units, farm.as_of) == ("Case Farm", "acres", date(2026, 5, 1))
    assert (farm.time_zone, farm.time_zone_typed) == ("America/New_York", True)
    assert farm.place == Place(41.0, -45.0)
    assert farm.position_error == q("2.1 m", "length")
    low, seed, soil = farm.paddocks[2], farm.swards[1], farm.soils[1]
    assert (low.deeded, low.trough, low.light) == (
        q("2.5 ac", "area"),
        q("150 gal", "volume"),
        q("80 %", "share"),
    )
    assert low.area_ha == pytest.approx(2.5 * 0.40468564224)
    assert (low.open_ground, low.sacrifice, low.parents, low.note) == (False, True, ("1",), "wet in March")
    assert (low.from_day, low.to_day) == (date(2026, 5, 2), date(2027, 5, 2))
    assert seed.mass_per_height == q("275 lb/ac/in", "herbage density")
    assert (seed.density, seed.fertility, seed.cut_or_long_rest) == ("good", q("60 %", "share"), True)
    assert (soil.group, soil.drainage, soil.available_water) == ("B", "poorly drained", q("93 mm", "length"))
    goats = farm.mobs[1]
    assert (goats.at, goats.owner, goats.due) == ("yard", "neighbour", date(2026, 8, 22))
    assert (goats.runs_with, goats.follows, goats.keep_out) == (("ewes",), "ewes", ("2",))
    assert (goats.parents, goats.from_day, goats.to_day) == (("ewes",), date(2026, 5, 1), date(2026, 9, 1))
    line = goats.lines[0]
    assert (line.head, line.water) == (20, q("2 gal/d", "water use"))
    stage = Stage(date(2026, 6, 1), "dry", q("2.6 lb/d", "intake"), q("100 lb", "mass"))
    assert line.stages == (stage,)
    walnut = farm.plantings[1]
    assert (walnut.id, walnut.paddock, walnut.cultivars) == ("walnut-row", None, ("one", "two"))
    assert (walnut.interval, walnut.harvested) == (q("120 d", "time"), False)
    assert farm.labour_hours_day == q("3 h", "time")
    assert farm.energiser.reading == q("6.2 kV", "voltage")
    assert farm.price("hay") == q("$60", "money")
    assert farm.contacts[0].name == "vet"
    assert farm.hay[0].bales == q("40 bales", "count")
    assert farm.rules.no_move_weekdays == (7,)


def test_numbers_keep_their_text_and_exact_value(tmp_path: Path) -> None:
    farm = sound(tmp_path, changed(('leave_at = "4 in"', 'leave_at = "4 1/2 in"')))
    leave = farm.swards[0].leave_at
    assert leave is not None
    assert (leave.text, leave.value, leave.unit) == ("4 1/2 in", Fraction(9, 2), "in")


def test_normals_in_other_units_are_the_same(tmp_path: Path) -> None:
    fahrenheit = "[35.6, 39.2, 50, 62.6, 73.4, 80.6, 84.2, 82.4, 75.2, 62.6, 50, 39.2]"
    nights = "[17.6, 19.4, 28.4, 39.2, 48.2, 57.2, 62.6, 60.8, 53.6, 41, 33.8, 23]"
    winds = "[1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1]"
    text = changed(
        ('unit = "C"', 'unit = "F"'),
        ("[2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4]", fahrenheit),
        ("[-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5]", nights),
        ('rain_unit = "mm"', f'rain_unit = "cm"\nwind_unit = "mph"\nwind = {winds}'),
        ("[70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70]", "[7, 6, 8, 8.5, 9.5, 10, 10, 9, 9, 8, 8, 7]"),
    )
    one, other = sound(tmp_path / "a").normals, sound(tmp_path / "b", text).normals
    assert one is not None
    assert other is not None
    assert other.tmax_c == pytest.approx(one.tmax_c)
    assert other.tmin_c == pytest.approx(one.tmin_c)
    assert other.rain_mm == pytest.approx(one.rain_mm)
    assert other.wind_m_s == pytest.approx([0.44704] * 12)


def test_a_file_without_a_zone_takes_the_machines_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    made = reading(tmp_path, changed(('time_zone = "America/New_York"\n', "")))
    assert codes(made) == ["farm.machine_zone"]
    assert made.findings[0].level == "note"
    assert "Pacific/Auckland" in made.findings[0].what
    assert made.farm is not None
    assert (made.farm.time_zone, made.farm.time_zone_typed) == ("Pacific/Auckland", False)


def test_the_day_of_reading_is_the_machines_own(tmp_path: Path) -> None:
    made = read(folder(tmp_path, changed(("as_of = 2026-05-01", "as_of = 2020-05-01"))))
    assert codes(made) == []


def test_read_or_raise_carries_every_finding(tmp_path: Path) -> None:
    assert read_or_raise(folder(tmp_path / "a"), TODAY).name == "Case Farm"
    bad = folder(tmp_path / "b", changed(('name = "Case Farm"\n', ""), ('kind = "sheep"', 'kind = "ship"')))
    with pytest.raises(BadInput) as told:
        read_or_raise(bad, TODAY)
    assert [f.code for f in told.value.findings] == ["farm.missing", "farm.word_near"]
    assert read(bad, TODAY).errors == list(told.value.findings)


def test_the_file_itself_may_be_given(tmp_path: Path) -> None:
    assert read(folder(tmp_path) / "farm.toml", TODAY).farm is not None


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    (folder(tmp_path) / "farm.toml").write_text(SOUND, encoding="utf-8-sig")
    assert read(tmp_path, TODAY).findings == ()


def test_lines_of_a_dos_file_are_counted(tmp_path: Path) -> None:
    text = changed(('kind = "sheep"', 'kind = "ship"'))
    (folder(tmp_path) / "farm.toml").write_bytes(text.replace("\n", "\r\n").encode())
    line = text.splitlines().index('kind = "ship"') + 1
    assert read(tmp_path, TODAY).findings[0].where == f"farm.toml:{line}"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("deep = " + "[" * 100_000 + "]" * 100_000, "farm.too_deep"),
        ("long = " + "9" * 100_000, "farm.too_deep"),
        ("#" + "x" * 6_000_000, "farm.too_big"),
    ],
    ids=["deep", "long", "big"],
)
def test_what_no_farm_needs_is_refused(tmp_path: Path, text: str, code: str) -> None:
    assert codes(reading(tmp_path, f"{text}\n{SOUND}")) == [code]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ('name = "Gate"', "name = [1]", "farm.sort"),
        ('water = "trough"', 'water = "trough"\nsacrifice = "yes"', "farm.sort"),
        ('water = "trough"', 'water = "trough"\nnote = ""', ""),
        ('at = "1"', 'at = "1"\nkeep_out = [true]', "farm.sort"),
        ('at = "1"', 'at = "1"\nkeep_out = "2"', ""),
        ("tmax = [2, 4,", "tmax = 4 #", "farm.sort"),
        ("tmax = [2,", "tmax = [0x" + "f" * 9000 + ",", "farm.sort"),
        ("schema = 1", "schema = 0x" + "f" * 9000, "farm.impossible"),
        ("as_of = 2026-05-01", "as_of = 0x" + "f" * 9000, "farm.sort"),
        ("as_of = 2026-05-01", 'as_of = "2026-05-01"', ""),
        ('name = "Case Farm"', 'name = "' + "x" * 3000 + '"', "farm.sort"),
        ("[place]", "[place.deep]\n[place2]", "farm.missing"),
        ("[rules]", "[[rules]]", "farm.sort"),
        ("[contacts.vet]", "[contacts.vet.more]", "farm.missing"),
        ("bales = 40", 'bales = "40"', ""),
        ("bales = 40", "bales = -1", "farm.impossible"),
        ('phone = "555 0111"', "phone = 911", ""),
        ('unit = "C"', 'unit = "K"', "farm.unknown_unit"),
        ('unit = "C"', 'unit = "mm"', "farm.other_unit"),
        ('rain_unit = "mm"\n', "", "farm.missing"),
        ("rain = [70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70]\n", "", "farm.missing"),
        ('since = "2026-05-01 07:00"', "since = 2026-05-01 07:00:00", ""),
        ('since = "2026-05-01 07:00"', "since = 2026-05-01", ""),
        ('id = "1"\n', "id = 1\n", ""),
        ("planted = 2019", "planted = 20190", "farm.impossible"),
        ("head = 60", 'head = "sixty"', "farm.sort"),
        ('leave_at = "4 in"', "leave_at = true", "farm.sort"),
        ('worm_stay = "4 d"', 'worm_stay = "4 d"\nmoves_a_day = 1', ""),
        ("[[hay]]", "hay2 = [1]\n[[hay]]", "farm.unknown_key"),
        ('name = "Top"', 'name = "Top"\nfrom = 2026-05-03\nto = 2026-05-03', "farm.reversed"),
        ('kind = "sheep"', "kind = 3", "farm.word"),
        ("dry = ", 'price = "60 lb"\ndry = ', "farm.other_unit"),
        ('phone = "555 0111"', 'phone = ""', "farm.empty"),
        ('phone = "555 0111"', 'phone = "1"\n[prices]\nhay = "sixty"', "farm.no_number"),
        ('species = "hazel_hybrid"\n', "", "farm.missing"),
        ('intake = "4.4 lb/d"', 'intake = "4.4 lb/d"\nstages = [{ stage = "dry" }]', "farm.missing"),
        ('intake = "4.4 lb/d"', "stages = 3", "farm.sort"),
        ('intake = "4.4 lb/d"', "stages = [3]", "farm.sort"),
        ('id = "ewes"\nname = "Ewes"\n', "", "farm.no_name"),
    ],
)
def test_sorts_of_values(tmp_path: Path, old: str, new: str, code: str) -> None:
    assert codes(reading(tmp_path, changed((old, new))))[:1] == ([code] if code else [])


def test_a_farm_without_weather_or_map_is_a_farm(tmp_path: Path) -> None:
    """M1: no map, no place, no normals, typed acres."""
    start, end = SOUND.index("[place]"), SOUND.index("[rules]")
    farm = sound(tmp_path, SOUND[:start] + SOUND[end:])
    assert (farm.place, farm.normals, farm.shapes) == (None, None, ())
    assert farm.paddocks[0].area_ha == pytest.approx(3 * 0.40468564224)
    assert farm.paddocks[1].grazed_ha == pytest.approx(2.8 * 0.40468564224)
    assert farm.paddock("2") == farm.paddocks[1]
    assert farm.sward_of(farm.paddocks[0]) == farm.swards[0]
    assert read(tmp_path, TODAY, text=text_of(farm)).farm == farm


@pytest.mark.parametrize("typed", [*words("texture"), "silty clay loam"])
def test_a_soil_is_read_by_the_name_of_its_texture_class(tmp_path: Path, typed: str) -> None:
    farm = sound(tmp_path, changed(('texture = "loam"', f'texture = "{typed}"')))
    assert farm.soils[0].texture == typed.replace("silty clay loam", "silt clay loam")


@pytest.mark.parametrize("typed", ["sandy clay loam", "clay loam", "sandy clay"])
def test_a_texture_class_without_a_row_is_told_with_those_that_have_one(tmp_path: Path, typed: str) -> None:
    (told,) = errors_in(reading(tmp_path, changed(('texture = "loam"', f'texture = "{typed}"'))).findings)
    assert told.code == "farm.texture_class"
    assert all(word in told.mend for word in words("texture"))
