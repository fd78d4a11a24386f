"""The whole chain on real daily weather and outlines as a phone draws them, by the command line alone.

Weather: the four Seattle years that vega_datasets carries, and the typical year of Greensboro that pvlib
carries, whose rain was not read and is generated from normals. Outlines: squares with the noise of a phone in
the open (2.1 m a point), one file as KML, one as GPX. The farm round them is invented.
"""

from __future__ import annotations

import json
import math
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
from typer.testing import CliRunner
from vega_datasets import data

from browseline.cli.group import app

NOW = "2015-06-10T18:00-07:00"
SIDE_M, SD_M = 110.0, 2.1
LATITUDE, LONGITUDE = 47.45, -122.31
FARM = """
schema = 1
name = "Tried out"
time_zone = "America/Los_Angeles"
units = "acres"
as_of = 2015-05-01
position_error = "2.1 m"
[place]
latitude = 47.45
longitude = -122.31
elevation = "132 m"
coast = true
[swards.s]
kind = "orchardgrass_legume"
[[mobs]]
id = "heifers"
name = "Heifers"
at = "1"
since = "2015-06-09 08:00"
[[mobs.lines]]
kind = "cattle"
class = "dairy heifer"
head = 22
weight = "770 lb"
"""
TYPICAL_YEAR = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
NORMALS = """
[normals]
unit = "C"
rain_unit = "mm"
tmax = [9, 11, 16, 21, 25, 29, 31, 30, 27, 21, 16, 10]
tmin = [-2, -1, 3, 8, 13, 18, 20, 19, 16, 9, 4, 0]
rain = [85, 80, 95, 90, 90, 95, 110, 105, 100, 80, 80, 80]
wet_days = [10, 9, 10, 9, 10, 10, 11, 10, 8, 7, 8, 9]
wet_day_threshold = "0.25 mm"
"""
PADDOCK = '\n[[paddocks]]\nid = "{n}"\nname = "{n}"\nsward = "s"\nwater = "trough"\n'


def walked_square(n: int) -> list[tuple[float, float]]:
    """Return a square walked with a phone: a point every few metres, each off by its error."""
    noise = np.random.default_rng(n).normal(0, SD_M, (80, 2))
    t = np.linspace(0, 4, 80, endpoint=False)
    side, along = t.astype(int), t % 1
    x = np.choose(side, [along, np.ones(80), 1 - along, np.zeros(80)]) * SIDE_M + (n - 1) * 120
    y = np.choose(side, [np.zeros(80), along, np.ones(80), 1 - along]) * SIDE_M
    metres = np.stack([x, y], axis=1) + noise
    per_degree = 111_320.0
    return [
        (LONGITUDE + e / (per_degree * math.cos(math.radians(LATITUDE))), LATITUDE + north / per_degree)
        for e, north in metres
    ]


def kml(shapes: dict[int, list[tuple[float, float]]]) -> str:
    marks = "".join(
        f"<Placemark><name>{n}</name><Polygon><outerBoundaryIs><LinearRing><coordinates>"
        + " ".join(f"{x},{y},0" for x, y in [*points, points[0]])
        + "</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"
        for n, points in shapes.items()
    )
    return f'<kml xmlns="http://www.opengis.net/kml/2.2"><Document>{marks}</Document></kml>'


def gpx(shapes: dict[int, list[tuple[float, float]]]) -> str:
    tracks = "".join(
        f"<trk><name>{n}</name><trkseg>"
        + "".join(f'<trkpt lat="{y}" lon="{x}"/>' for x, y in [*points, points[0]])
        + "</trkseg></trk>"
        for n, points in shapes.items()
    )
    return f'<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1">{tracks}</gpx>'


def run(folder: Path, *words: str) -> str:
    """Run one command on the farm and return what it printed."""
    done = CliRunner().invoke(
        app, [*words, "--farm", str(folder)], env={"BROWSELINE_CACHE": str(folder / "kept")}
    )
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a farm with mapped paddocks, real weather and heights."""
    folder = tmp_path_factory.mktemp("real")
    areas = "".join(PADDOCK.format(n=n) for n in range(1, 7))
    (folder / "farm.toml").write_text(
        FARM + areas.replace('sward = "s"', 'sward = "s"\narea = "3 ac"'), "utf-8"
    )
    names = {
        "temp_max": "tmax (C)",
        "temp_min": "tmin (C)",
        "precipitation": "rain (mm)",
        "wind": "wind (m/s)",
    }
    frame = data.seattle_weather().drop(columns="weather").rename(columns=names)
    frame[frame["date"] < "2015-06-10"].to_csv(folder / "weather.csv", index=False)
    (folder / "a.kml").write_text(kml({n: walked_square(n) for n in (1, 2, 3)}), "utf-8")
    (folder / "b.gpx").write_text(gpx({n: walked_square(n) for n in (4, 5, 6)}), "utf-8")
    run(folder, "map", str(folder / "a.kml"), "--kind", "paddock")
    run(folder, "map", str(folder / "b.gpx"), "--kind", "paddock")
    (folder / "farm.toml").write_text(FARM + areas, "utf-8")
    for n, inches in enumerate((9, 10, 8.5, 11, 7, 9.5), start=1):
        run(folder, "walk", str(n), f"{inches} in", "--at", "2015-06-09 07:00", "--now", NOW, "--yes")
    return folder


def test_noisy_outlines_enclose_what_was_walked(farm: Path) -> None:
    shapes = json.loads((farm / "map.geojson").read_text("utf-8"))["features"]
    assert len([s for s in shapes if s["properties"]["kind"] == "paddock"]) == 6
    from browseline import read

    known = read(farm).farm
    assert known is not None
    for paddock in known.paddocks:
        assert paddock.area_ha == pytest.approx(SIDE_M**2 / 10_000, rel=0.05)
        assert paddock.area_sd_ha is not None


def test_today_tells_the_heifers_first_limit(farm: Path) -> None:
    page = json.loads(run(farm, "today", "--json", "--now", NOW))
    lines = page["mobs"][0]["lines"]
    grass = next(line for line in lines if line["limit"] == "grass")
    assert grass["earliest"] <= grass["likely"] <= grass["latest"]
    assert page["ahead"]["growing"] is not None
    assert page["mobs"][0]["next"] is not None


def test_the_season_keeps_one_place_a_day_and_the_papers_come_out(farm: Path) -> None:
    said = run(farm, "season", "--days", "21", "--iterations", "500", "--now", NOW, "--keep")
    assert "HEIFERS" in said
    run(farm, "papers", "relief", "--now", NOW)
    run(farm, "papers", "calendar", "--now", NOW)
    assert list((farm / "papers").glob("relief*.pdf"))
    assert list((farm / "papers").glob("calendar*.ics"))


def test_a_typical_year_without_rain_runs_on_generated_rain(farm: Path, tmp_path: Path) -> None:
    hours, _ = pvlib.iotools.read_tmy3(TYPICAL_YEAR, coerce_year=2014, map_variables=True)
    by_day = hours.groupby((hours.index - pd.Timedelta(hours=1)).strftime("%Y-%m-%d"))
    days = pd.DataFrame(
        {
            "tmax (C)": by_day["temp_air"].max(),
            "tmin (C)": by_day["temp_air"].min(),
            "rain (mm)": "",
            "radiation (MJ/m2/d)": by_day["ghi"].sum() * 0.0036,
        }
    )
    shutil.copytree(farm, tmp_path / "typical")
    days.rename_axis("date").to_csv(tmp_path / "typical" / "weather.csv")
    with (tmp_path / "typical" / "farm.toml").open("a", encoding="utf-8") as out:
        out.write(NORMALS)
    page = json.loads(run(tmp_path / "typical", "today", "--json", "--now", NOW))
    grass = next(line for line in page["mobs"][0]["lines"] if line["limit"] == "grass")
    assert grass["earliest"] <= grass["likely"] <= grass["latest"]
    assert any(
        "gap" in found["what"].lower() or "rain" in found["what"].lower() for found in page["findings"]
    )
