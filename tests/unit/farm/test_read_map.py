"""Reading a farm folder: its map, weather and terrain beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rasterio
from affine import Affine
from rasterio.errors import NotGeoreferencedWarning

from browseline.farm import map_geojson
from browseline.farm.read import read
from browseline.units import parse
from scripts.bad_farms import TODAY
from tests.unit.farm.folders import SOUND, changed, codes, feature, folder, reading, sound
from tests.walked import square


@pytest.mark.parametrize(
    ("geometry", "coordinates", "code"),
    [
        ("LineString", [[-45.0, 41.0]], "map.coordinates"),
        ("LineString", [[-245.0, 41.0], [-45.0, 41.0]], "map.off_earth"),
        ("MultiPolygon", [], "map.coordinates"),
        ("Point", ["a", "b"], "map.coordinates"),
        ("Point", [True, 1], "map.coordinates"),
        ("Point", [1e400, 1], "map.coordinates"),
        ("Point", [10**400, 1], "map.coordinates"),
        ("Point", None, "map.coordinates"),
        ("MultiPoint", [[-45.0, 41.0], "ab"], "map.coordinates"),
        ("MultiPoint", [[-45.0, 41.0], []], "map.coordinates"),
    ],
)  # fmt: skip
def test_geometries_that_are_none(tmp_path: Path, geometry: str, coordinates: Any, code: str) -> None:
    made = reading(tmp_path, SOUND, [feature("x", coordinates, "gate", geometry=geometry)])
    assert codes(made) == [code]


def test_an_outline_left_open_is_closed(tmp_path: Path) -> None:
    shapes = [feature("1", [[list(s) for s in square(90)[:-1]]])]
    farm = sound(tmp_path, changed(('area = "3 ac"\nsward', "sward")), shapes)
    assert farm.paddocks[0].area_ha == pytest.approx(0.81, rel=1e-4)


def test_a_collection_without_a_list(tmp_path: Path) -> None:
    folder(tmp_path)
    (tmp_path / "map.geojson").write_text('{"type": "FeatureCollection"}', encoding="utf-8")
    assert codes(read(tmp_path, TODAY)) == ["map.no_collection"]
    (tmp_path / "map.geojson").write_text('{"type": "FeatureCollection", "features": []}', encoding="utf-8")
    assert codes(read(tmp_path, TODAY)) == []


def test_outlines_give_areas_and_deeded_acres_go_before(tmp_path: Path) -> None:
    text = changed(('area = "3 ac"\nsward', "sward"), ('area = "3 ac"\nrow', 'deeded = "2.0 ac"\nrow'))
    side = (2 * 4046.8564224) ** 0.5
    shapes = [
        feature("1", [[list(s) for s in square(side)]]),
        feature("upper", [[list(s) for s in square(side, (-44.99, 41.0))]], name="Top"),
    ]
    farm = sound(tmp_path, text, shapes)
    gate, top = farm.paddocks
    assert gate.area_ha == pytest.approx(2 * 0.40468564224, rel=1e-4)
    assert gate.area_sd_ha is not None
    assert (gate.deeded, gate.shape) == (None, "1")
    assert top.area_ha == 2 * 0.40468564224
    assert (top.deeded, top.shape, top.area_sd_ha) == (parse("2.0 ac", "area"), "upper", None)
    drawn = farm.shapes[1]
    assert drawn.area_ha == pytest.approx(top.area_ha, rel=1e-4)
    assert drawn.area_sd_ha == pytest.approx(gate.area_sd_ha, rel=1e-3)


def test_drawn_paddocks_need_no_table(tmp_path: Path) -> None:
    lone = [feature("x9", [[list(s) for s in square(90, (-44.99, 41.0))]], name="Far")]
    farm = sound(tmp_path, SOUND, lone)
    assert [(p.id, p.name, p.shape) for p in farm.paddocks[2:]] == [("x9", "Far", "x9")]


def test_an_outline_that_took_anothers_place_may_lie_on_it(tmp_path: Path) -> None:
    ring = [[list(s) for s in square(90)]]
    text = changed(
        ('area = "3 ac"\nsward', "to = 2026-05-03\nsward"), ('area = "3 ac"\nrow', "from = 2026-05-03\nrow")
    )
    assert codes(reading(tmp_path, text, [feature("1", ring), feature("2", ring)])) == []
    later = text.replace("from = 2026-05-03", "from = 2026-05-02", 1)
    assert codes(reading(tmp_path, later, [feature("1", ring), feature("2", ring)])) == ["map.overlap"]


def test_rings_turn_as_the_standard_asks_and_heights_go(tmp_path: Path) -> None:
    outer, hole = square(90)[::-1], square(20)
    shapes = [
        feature("1", [[[*s, 212.0] for s in outer], [list(s) for s in hole]]),
        feature("rows", [[[-45.0, 41.0], [-45.0, 41.0001]], [[-45.001, 41.0], [-45.001, 41.0001]]],
                "tree_row", geometry="MultiLineString", note="north"),
        feature("gates", [[-45.0, 41.0], [-45.0001, 41.0]], "gate", geometry="MultiPoint", public=False),
        feature("lane", [[-45.0, 41.0], [-45.0001, 41.0]], "lane", geometry="LineString"),
    ]  # fmt: skip
    first, rows, gates, lane = sound(tmp_path, changed(('area = "3 ac"\nsward', "sward")), shapes).shapes
    assert first.rings[0] == tuple(square(90))
    assert set(first.rings[1]) == set(square(20))
    assert first.area_ha == pytest.approx(0.77, rel=1e-3)
    assert (rows.geometry, len(rows.rings), rows.note) == ("MultiLineString", 2, "north")
    assert (gates.public, len(gates.points)) == (False, 2)
    assert lane.points[0] == (-45.0, 41.0)


def test_a_map_that_is_no_text_or_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder(tmp_path)
    (tmp_path / "map.geojson").write_bytes(b'{"type": "\xff"}')
    assert codes(read(tmp_path, TODAY)) == ["map.no_text"]
    monkeypatch.setattr(map_geojson, "MOST_BYTES", 10)
    assert codes(read(tmp_path, TODAY)) == ["map.too_big"]


def test_a_map_of_too_many_points_or_shapes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shapes = [feature(str(n), [-45.0, 41.0], "gate", geometry="Point") for n in range(4)]
    monkeypatch.setattr(map_geojson, "MOST_FEATURES", 3)
    assert codes(reading(tmp_path, SOUND, shapes)) == ["map.too_much"]
    monkeypatch.setattr(map_geojson, "MOST_FEATURES", 30)
    monkeypatch.setattr(map_geojson, "MOST_POINTS", 3)
    assert codes(reading(tmp_path, SOUND, shapes)) == ["map.too_much"]


def test_swapped_places_are_known_by_where_the_farm_lies(tmp_path: Path) -> None:
    """Without [place] one swapped shape among three stands out against the others."""
    place = ("[place]\nlatitude = 41.0\nlongitude = -45.0\n", "")
    normals = SOUND[SOUND.index("[normals]") : SOUND.index("[rules]")]
    text = changed(place).replace(normals, "")
    rings = [square(90, (-45.0 + 0.01 * n, 41.0)) for n in range(3)]
    shapes = [feature(f"f{n}", [[list(s) for s in ring]]) for n, ring in enumerate(rings)]
    assert set(codes(reading(tmp_path, text, shapes))) == {"farm.no_water"}
    shapes[1]["geometry"]["coordinates"] = [[[y, x] for x, y in rings[1]]]
    made = reading(tmp_path, text, shapes)
    told = [(f.code, f.where) for f in made.findings if f.code.startswith("map.")]
    assert told == [("map.swapped", 'map.geojson paddock "f1"')]


# ---------------------------------------------------------------- weather and terrain beside it


def test_weather_beside_the_farm_is_read(tmp_path: Path) -> None:
    folder(tmp_path)
    (tmp_path / "weather.csv").write_text(
        "date,tmax (C),tmin (C),rain (mm)\n2026-05-01,20,9,3\n", encoding="utf-8"
    )
    farm = read(tmp_path, TODAY).farm
    assert farm is not None
    assert farm.daily is not None
    assert farm.daily.rain_mm == (3.0,)
    (tmp_path / "weather.csv").write_text("date,tmax (C)\n", encoding="utf-8")
    assert "weather_csv.missing_column" in codes(read(tmp_path, TODAY))


def grid(path: Path, bands: int = 1, crs: str | None = "EPSG:4326", placed: bool = True) -> None:
    with rasterio.open(
        path, "w", driver="GTiff", width=4, height=3, count=bands, dtype="float32", crs=crs,
        transform=Affine(0.001, 0, -45, 0, -0.001, 41) if placed else None,
    ) as out:  # fmt: skip
        out.write(np.zeros((bands, 3, 4), np.float32))


def test_terrain_is_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = folder(tmp_path) / "terrain.tif"
    grid(path)
    assert codes(read(tmp_path, TODAY)) == []
    grid(path, bands=3)
    assert codes(read(tmp_path, TODAY)) == ["terrain.bands"]
    grid(path, crs=None)
    assert codes(read(tmp_path, TODAY)) == ["terrain.no_crs"]
    with pytest.warns(NotGeoreferencedWarning):
        grid(path, crs=None, placed=False)
    assert codes(read(tmp_path, TODAY)) == ["terrain.no_crs"]
    monkeypatch.setattr("browseline.farm.terrain.MOST_CELLS", 4)
    assert codes(read(tmp_path, TODAY)) == ["terrain.no_crs", "terrain.too_big"]
    path.write_bytes(b"II*\0 and then nothing")
    assert codes(read(tmp_path, TODAY)) == ["terrain.no_tiff"]
    path.write_bytes(b"no picture")
    assert codes(read(tmp_path, TODAY)) == ["terrain.no_tiff"]
