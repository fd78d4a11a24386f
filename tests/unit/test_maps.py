"""Boundaries from other programs, read by hand-made files, GDAL's own readers, and attacks."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from pyogrio import raw

from browseline.errors import BadInput, errors_in
from browseline.exchange.maps import Imported, import_map, read_foreign
from browseline.exchange.xml_maps import comes_back
from browseline.farm.map_area import geodesic_area_m2, measured, plane
from browseline.farm.read import read
from browseline.farm.records import Place
from tests.walked import GLOBE, blob, gpx, kml, square, walked

AC_M2 = 4046.8564224
PLACE = Place(41.0, -45.0)


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def codes(read_: Imported) -> list[str]:
    return [found.code for found in read_.findings]


def spot_of(ring: Any) -> list[tuple[float, float]]:
    return [(round(x, 9), round(y, 9)) for x, y in ring]


# ---------------------------------------------------------------- what phones write


def test_kml_polygons_come_in_with_name_and_place(tmp_path: Path) -> None:
    rings = [("Gate", square(90)), ("Top", square(80, (-44.99, 41.0)))]
    found = read_foreign(write(tmp_path / "farm.kml", kml(rings)), place=PLACE)
    assert codes(found) == []
    assert [(s.kind, s.name) for s in found.shapes] == [("paddock", "Gate"), ("paddock", "Top")]
    for shape, (_, ring) in zip(found.shapes, rings, strict=True):
        assert set(spot_of(shape.rings[0])) == set(spot_of(ring))


@pytest.mark.parametrize("ending", ["kml", "gpx"])
def test_gdal_reads_the_same_shapes(tmp_path: Path, ending: str) -> None:
    """A second reader: GDAL's own KML and GPX drivers."""
    rng = np.random.default_rng(7)
    rings = [(f"P{n}", blob(rng, 40, (-45.0 + 0.01 * n, 41.0))) for n in range(3)]
    path = write(tmp_path / f"farm.{ending}", kml(rings) if ending == "kml" else gpx(rings))
    _, _, theirs, _ = raw.read(path, layer=None if ending == "kml" else "tracks", force_2d=True)
    ours = read_foreign(path)
    assert [s.name for s in ours.shapes] == ["P0", "P1", "P2"]
    for shape, wkb in zip(ours.shapes, theirs, strict=True):
        assert set(spot_of(shape.rings[0])) == set(spot_of(shapely.get_coordinates(shapely.from_wkb(wkb))))


def test_walked_tracks_of_a_phone_become_paddocks(tmp_path: Path) -> None:
    """Phone-like noise: 2.1 m in the open (JOB 4), a point every 3 m, ends that do not meet."""
    rng = np.random.default_rng(3)
    rings = {f"Field {n}": square(90, (-45.0 + 0.0015 * n, 41.0)) for n in range(6)}
    tracks = [(name, walked(ring, rng, 2.1)) for name, ring in rings.items()]
    found = read_foreign(write(tmp_path / "walk.gpx", gpx(tracks)), place=PLACE)
    assert errors_in(found.findings) == []
    assert [s.name for s in found.shapes] == list(rings)
    flat = plane(found.shapes)
    off = []
    for shape in found.shapes:
        made = measured(shape, flat, 2.1)
        assert made.area_ha is not None
        assert made.area_sd_ha is not None
        off.append((made.area_ha * 1e4 - 8100) / (made.area_sd_ha * 1e4))
        assert made.area_sd_ha / made.area_ha < 0.05
    assert max(map(abs, off)) < 4


def test_small_loops_of_a_walk_are_left_out_and_told(tmp_path: Path) -> None:
    ring = square(100)
    lon, lat = ring[1]
    ring[1:2] = [
        (lon + 2e-5, lat),
        (lon - 2e-5, lat + 2e-5),
        (lon - 2e-5, lat - 2e-5),
        (lon + 1e-5, lat + 1e-5),
    ]
    found = read_foreign(write(tmp_path / "loop.kml", kml([("Loop", ring)])))
    assert codes(found) == ["maps.loops"]
    assert geodesic_area_m2(found.shapes[0].rings) == pytest.approx(10_000, rel=0.01)


def test_twenty_shapes_of_two_thousand_points(tmp_path: Path) -> None:
    """M18: within 0.5 % of the geodesic; how long it takes: benchmarks/answers.py."""
    rng = np.random.default_rng(11)
    rings = [(f"P{n}", blob(rng, 99, (-45.0 + 0.002 * (n % 5), 41.0 + 0.002 * (n // 5)))) for n in range(20)]
    (tmp_path / "farm").mkdir()
    write(tmp_path / "farm" / "farm.toml", FARM)
    path = write(tmp_path / "farm.kml", kml(rings))
    import_map(tmp_path / "farm", path)
    farm = read(tmp_path / "farm").farm
    assert farm is not None
    assert len(farm.paddocks) == 20
    for paddock, (name, ring) in zip(farm.paddocks, rings, strict=True):
        area, _ = GLOBE.polygon_area_perimeter([x for x, _ in ring], [y for _, y in ring])
        assert paddock.name == name
        assert paddock.area_ha * 1e4 == pytest.approx(abs(area), rel=0.005)
        assert paddock.area_sd_ha is not None
        assert 0 < paddock.area_sd_ha < 0.1 * paddock.area_ha


FARM = """
schema = 1
name = "Case"
time_zone = "America/New_York"
units = "acres"
as_of = 2026-05-01
position_error = "2.1 m"
[place]
latitude = 41.0
longitude = -45.0
"""


def test_kml_of_all_sorts(tmp_path: Path) -> None:
    """Points, open lines, closed lines, holes, several geometries, a kind in the extended data."""
    outer, inner = square(100), square(20)
    hole = " ".join(f"{x},{y}" for x, y in inner)
    edge = " ".join(f"{x},{y}" for x, y in outer)
    text = f"""<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"><Document>
    <Placemark><name>gate 1</name><ExtendedData><Data name="kind"><value>gate</value></Data></ExtendedData>
      <Point><coordinates>-45.001,41.0,0</coordinates></Point></Placemark>
    <Placemark><name>track</name><LineString>
      <coordinates>-45.01,41.0 -45.02,41.01</coordinates></LineString></Placemark>
    <Placemark><name>Holed</name><Polygon><outerBoundaryIs><LinearRing><coordinates>{edge}</coordinates></LinearRing>
      </outerBoundaryIs><innerBoundaryIs><LinearRing><coordinates>{hole}</coordinates></LinearRing></innerBoundaryIs>
      </Polygon></Placemark>
    <Placemark><name>two</name><MultiGeometry>
      <Point><coordinates>-45.003,41.0</coordinates></Point><Point><coordinates>-45.004,41.0</coordinates></Point>
      </MultiGeometry></Placemark>
    <Placemark><name>ride</name><gx:Track>
      <gx:coord>-45.01 41.02 3</gx:coord><gx:coord>-45.02 41.03 3</gx:coord>
      </gx:Track></Placemark>
    <NetworkLink><Link><href>http://example.invalid/other.kml</href></Link></NetworkLink></Document></kml>"""
    found = read_foreign(write(tmp_path / "all.kml", text))
    assert codes(found) == []
    assert [(s.kind, s.name, s.geometry) for s in found.shapes] == [
        ("gate", "gate 1", "Point"), ("other", "track", "LineString"), ("paddock", "Holed", "Polygon"),
        ("other", "two", "Point"), ("other", "two", "Point"), ("other", "ride", "LineString"),
    ]  # fmt: skip
    assert geodesic_area_m2(found.shapes[2].rings) == pytest.approx(10_000 - 400, rel=1e-3)


def test_gpx_of_all_sorts(tmp_path: Path) -> None:
    text = """<gpx xmlns="http://www.topografix.com/GPX/1/1">
    <wpt lat="41.0" lon="-45.0"><name>Trough</name><type>water</type></wpt>
    <rte><name>lane</name><rtept lat="41.0" lon="-45.0"/><rtept lat="41.01" lon="-45.0"/></rte>
    <trk><name>none</name><trkseg><trkpt lat="41.0" lon="-45.0"/></trkseg></trk></gpx>"""
    found = read_foreign(write(tmp_path / "all.gpx", text))
    assert [(s.kind, s.name, s.geometry) for s in found.shapes] == [
        ("water", "Trough", "Point"), ("lane", "lane", "LineString"),
    ]  # fmt: skip


def test_a_line_comes_back_or_not() -> None:
    assert comes_back(square(90))
    assert not comes_back(square(90)[:3])
    assert comes_back([*square(900)[:-1], (square(900)[0][0] + 1e-05, square(900)[0][1])])
    assert not comes_back([(-45.0, 41.0), (-45.0, 41.01), (-45.0, 41.02), (-45.0, 41.03)])


def test_an_outline_around_the_others_is_the_boundary(tmp_path: Path) -> None:
    rings = [("All", square(600)), *((f"{n}", square(80, (-45.0 + 0.0012 * n, 41.0))) for n in (-1, 0, 1))]
    found = read_foreign(write(tmp_path / "farm.kml", kml(rings)))
    assert [s.kind for s in found.shapes] == ["boundary", "paddock", "paddock", "paddock"]
    assert codes(found) == []


# ---------------------------------------------------------------- Shapefile and GeoPackage


def shape_layer(path: Path, crs: str | None, turn: Any = None, **more: Any) -> None:
    rings = [shapely.Polygon(square(90)), shapely.Polygon(square(90, (-44.99, 41.0)))]
    made = [shapely.transform(r, turn, interleaved=False) if turn is not None else r for r in rings]
    raw.write(
        path, np.array([shapely.to_wkb(m) for m in made]), [np.array(["One", "Two"], object)], ["Name"],
        geometry_type="Polygon", crs=crs, **more,
    )  # fmt: skip


def utm(x: Any, y: Any) -> Any:
    from pyproj import Transformer

    return Transformer.from_crs("EPSG:4326", "EPSG:32623", always_xy=True).transform(x, y)


def zipped(folder: Path, name: str, *files: Path) -> Path:
    path = folder / name
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        for file in files:
            pack.write(file, f"maps/{file.name}")
    return path


@pytest.mark.parametrize("ending", ["shp", "gpkg"])
@pytest.mark.parametrize("projected", [False, True])
def test_gis_files_in_any_reference_system(tmp_path: Path, ending: str, projected: bool) -> None:
    path = tmp_path / f"map.{ending}"
    shape_layer(path, "EPSG:32623" if projected else "EPSG:4326", utm if projected else None)
    found = read_foreign(path)
    assert codes(found) == []
    assert [(s.kind, s.name) for s in found.shapes] == [("paddock", "One"), ("paddock", "Two")]
    for shape in found.shapes:
        assert geodesic_area_m2(shape.rings) == pytest.approx(8100, rel=1e-4)


@pytest.mark.parametrize("ending", ["shp", "gpkg", "kml", "gpx", "geojson"])
def test_maps_in_zip_files(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"map.{ending}"
    if ending in ("shp", "gpkg"):
        shape_layer(path, "EPSG:4326")
    elif ending == "geojson":
        features = read_foreign(write(tmp_path / "a.kml", kml([("One", square(90))]))).features
        write(path, json.dumps({"type": "FeatureCollection", "features": features}))
    else:
        write(path, (kml if ending == "kml" else gpx)([("One", square(90))]))
    beside = list(tmp_path.glob("map.*"))
    found = read_foreign(zipped(tmp_path, "all.zip", *beside))
    assert codes(found) == []
    assert found.shapes[0].name == "One"


def test_kmz(tmp_path: Path) -> None:
    path = write(tmp_path / "doc.kml", kml([("One", square(90))]))
    assert [s.name for s in read_foreign(zipped(tmp_path, "farm.kmz", path)).shapes] == ["One"]


def test_a_shapefile_without_a_system_is_taken_only_as_degrees(tmp_path: Path) -> None:
    shape_layer(tmp_path / "a.shp", "EPSG:4326")
    (tmp_path / "a.prj").unlink()
    assert codes(read_foreign(tmp_path / "a.shp")) == []
    shape_layer(tmp_path / "b.shp", "EPSG:32623", utm)
    (tmp_path / "b.prj").unlink()
    assert codes(read_foreign(tmp_path / "b.shp")) == ["maps.no_crs"]


def test_geojson_of_another_program(tmp_path: Path) -> None:
    two = {
        "type": "MultiPolygon",
        "coordinates": [[[list(s) for s in square(90)]], [[list(s) for s in square(9, (-44.99, 41.0))]]],
    }
    features = [
        {"type": "Feature", "id": 7, "properties": {"name": "Top", "colour": "red"}, "geometry": two},
        {"type": "Feature", "id": 7, "properties": {"kind": "gate", "name": "Top"},
         "geometry": {"type": "Point", "coordinates": [-45.0, 41.0, 3.0]}},
    ]  # fmt: skip
    path = write(tmp_path / "a.geojson", json.dumps({"type": "FeatureCollection", "features": features}))
    found = read_foreign(path)
    assert codes(found) == []
    assert [(s.kind, s.name, s.geometry) for s in found.shapes] == [
        ("paddock", "Top", "MultiPolygon"), ("gate", "Top", "Point"),
    ]  # fmt: skip
    assert geodesic_area_m2(found.shapes[0].rings) == pytest.approx(8100 + 81, rel=1e-4)


# ---------------------------------------------------------------- into the farm's map


def test_importing_twice_replaces_and_keeps_ids(tmp_path: Path) -> None:
    write(tmp_path / "farm.toml", FARM)
    first = write(tmp_path / "one.kml", kml([("Gate", square(90))]))
    import_map(tmp_path, first)
    larger = write(tmp_path / "two.kml", kml([("Gate", square(100)), ("Top", square(50, (-44.99, 41.0)))]))
    again = import_map(tmp_path, larger)
    assert codes(again) == ["maps.replaced"]
    farm = read(tmp_path).farm
    assert farm is not None
    assert [(p.id, p.name) for p in farm.paddocks] == [("gate", "Gate"), ("top", "Top")]
    assert farm.paddocks[0].area_ha == pytest.approx(1.0, rel=1e-4)


def test_what_lies_on_the_map_already_is_refused_and_nothing_written(tmp_path: Path) -> None:
    write(tmp_path / "farm.toml", FARM)
    import_map(tmp_path, write(tmp_path / "one.kml", kml([("Gate", square(90))])))
    before = (tmp_path / "map.geojson").read_text(encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        import_map(tmp_path, write(tmp_path / "two.kml", kml([("Other", square(80))])))
    assert [f.code for f in bad.value.findings] == ["map.overlap"]
    assert (tmp_path / "map.geojson").read_text(encoding="utf-8") == before


def test_ids_that_are_taken_get_a_number(tmp_path: Path) -> None:
    rings = [("Gate", square(9, (-45.0 + 0.01 * n, 41.0))) for n in range(3)]
    found = read_foreign(write(tmp_path / "three.kml", kml(rings)))
    assert [f["id"] for f in found.features] == ["gate", "gate-2", "gate-3"]


def test_a_broken_map_is_not_added_to(tmp_path: Path) -> None:
    write(tmp_path / "farm.toml", FARM)
    write(tmp_path / "map.geojson", "{")
    with pytest.raises(BadInput):
        import_map(tmp_path, write(tmp_path / "one.kml", kml([("Gate", square(90))])))
