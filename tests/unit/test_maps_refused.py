"""Maps of other programs that are refused, or told with their faults."""

from __future__ import annotations

import json
import sqlite3
import zipfile
from pathlib import Path

import numpy as np
import pytest
import shapely
from pyogrio import raw

from browseline.errors import BadInput
from browseline.exchange.maps import import_map, read_foreign
from tests.unit.test_maps import FARM, codes, shape_layer, utm, write, zipped
from tests.walked import CENTRE, kml, square

DOCTYPE = '<!DOCTYPE kml [<!ENTITY a "x"><!ENTITY b "&a;&a;&a;">]>'
POINT = "<kml><Placemark><Point><coordinates>{}</coordinates></Point></Placemark></kml>"
OUTSIDE = '<!DOCTYPE gpx [<!ENTITY f SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("a.kml", f"{DOCTYPE}<kml><Placemark><name>&b;</name></Placemark></kml>", "maps.doctype"),
        ("a.gpx", f"{OUTSIDE}<gpx><wpt lat='1' lon='1'><name>&f;</name></wpt></gpx>", "maps.doctype"),
        ("a.kml", "<!DOCTYPE kml><kml/>", "maps.doctype"),
        ("a.kml", "<kml><Placemark>", "maps.no_xml"),
        ("a.kml", "<?xml version='1.0' encoding='no-such'?><kml/>", "maps.no_xml"),
        ("a.kml", "", "maps.no_xml"),
        ("a.kml", "<gpx/>", "maps.no_kml"),
        ("a.gpx", "<kml/>", "maps.no_gpx"),
        ("a.kml", "<kml/>", "maps.nothing"),
        ("a.gpx", "<gpx/>", "maps.nothing"),
        ("a.kml", POINT.format("a,b"), "maps.numbers"),
        ("a.kml", POINT.format("nan,1"), "maps.numbers"),
        ("a.gpx", "<gpx><wpt lat='x' lon='1'/></gpx>", "maps.numbers"),
        ("a.kml", "<kml><Placemark><Point/></Placemark></kml>", "map.coordinates"),
        ("a.kml", "<kml><Placemark><Polygon/></Placemark></kml>", "map.coordinates"),
        ("a.kml", POINT.format("41,-145"), "map.swapped"),
        ("a.dwg", "x", "maps.ending"),
        ("a.shp", "x", "maps.no_shapefile"),
        ("a.gpkg", "x", "maps.no_package"),
        ("a.gpkg", "SQLite format 3\0 and nothing", "maps.no_package"),
        ("a.zip", "PK", "maps.no_zip"),
        ("a.geojson", "[", "map.syntax"),
        ("a.geojson", "{}", "map.no_collection"),
        ("a.geojson", "[" * 100_000, "map.syntax"),
    ],
)  # fmt: skip
def test_refused(tmp_path: Path, name: str, text: str, code: str) -> None:
    found = read_foreign(write(tmp_path / name, text))
    assert codes(found) == [code]
    assert found.features == ()


def test_addresses_and_virtual_paths_are_no_files() -> None:
    for path in (
        "/vsicurl/http://example.invalid/a.kml",
        "http://example.invalid/a.gpkg",
        "/vsizip/a.zip/a.shp",
    ):
        assert codes(read_foreign(path)) == ["maps.no_file"]


def test_a_huge_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "big.kml"
    with path.open("wb") as out:
        out.truncate(60_000_000)
    assert codes(read_foreign(path)) == ["maps.too_big"]


def test_too_many_points_are_refused(tmp_path: Path) -> None:
    many = " ".join(["-45.0,41.0"] * 500_001)
    text = f"<kml><Placemark><LineString><coordinates>{many}</coordinates></LineString></Placemark></kml>"
    assert codes(read_foreign(write(tmp_path / "many.kml", text))) == ["map.too_much"]


def test_zip_files_that_lie_or_swell_are_refused(tmp_path: Path) -> None:
    def made(name: str, inside: str, content: bytes) -> Path:
        with zipfile.ZipFile(tmp_path / name, "w", zipfile.ZIP_DEFLATED) as pack:
            pack.writestr(inside, content)
        return tmp_path / name

    assert codes(read_foreign(made("up.zip", "../farm.kml", b"<kml/>"))) == ["maps.unsafe_zip"]
    assert codes(read_foreign(made("root.zip", "/etc/farm.kml", b"<kml/>"))) == ["maps.unsafe_zip"]
    assert codes(read_foreign(made("bomb.zip", "farm.kml", b" " * 20_000_000))) == ["maps.unsafe_zip"]
    assert codes(read_foreign(made("none.zip", "read.me", b"x"))) == ["maps.no_map_inside"]
    with zipfile.ZipFile(tmp_path / "crowd.zip", "w") as pack:
        for n in range(600):
            pack.writestr(f"{n}.kml", "<kml/>")
    assert codes(read_foreign(tmp_path / "crowd.zip")) == ["maps.unsafe_zip"]


def test_a_package_with_a_view_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "map.gpkg"
    shape_layer(path, "EPSG:4326")
    base = sqlite3.connect(path)
    base.execute(
        "CREATE VIEW endless AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x FROM n) SELECT x FROM n"
    )
    base.commit()
    base.close()
    assert codes(read_foreign(path)) == ["maps.odd_package"]


def test_an_outline_that_crosses_itself_is_told_not_mended(tmp_path: Path) -> None:
    ring = square(90)
    ring[1], ring[2] = ring[2], ring[1]
    found = read_foreign(write(tmp_path / "bow.kml", kml([("Bow", ring)])))
    assert codes(found) == ["map.crossing"]
    assert found.findings[0].where == 'bow.kml paddock "Bow"'
    assert f"latitude {CENTRE[1]:.5f}" in found.findings[0].what


# ---------------------------------------------------------------- rarer faults


def test_the_fault_of_a_file_stops_its_import(tmp_path: Path) -> None:
    write(tmp_path / "farm.toml", FARM)
    with pytest.raises(BadInput) as bad:
        import_map(tmp_path, write(tmp_path / "one.kml", "<gpx/>"))
    assert [f.code for f in bad.value.findings] == ["maps.no_kml"]
    assert not (tmp_path / "map.geojson").exists()


def test_a_map_can_come_before_the_farm(tmp_path: Path) -> None:
    found = import_map(tmp_path, write(tmp_path / "one.kml", kml([("Gate", square(90))])), kind="yard")
    assert [s.kind for s in found.shapes] == ["yard"]
    assert json.loads((tmp_path / "map.geojson").read_text(encoding="utf-8"))["features"][0]["id"] == "gate"


def test_foreign_geojson_with_faults(tmp_path: Path) -> None:
    (tmp_path / "a.geojson").write_bytes(b"\xff\xfe{}")
    assert codes(read_foreign(tmp_path / "a.geojson")) == ["map.no_text"]
    text = json.dumps({"type": "FeatureCollection", "features": [3, {"type": "Feature"}]})
    assert codes(read_foreign(write(tmp_path / "b.geojson", text))) == ["map.no_feature", "map.geometry"]


def test_an_outline_of_two_corners_is_told(tmp_path: Path) -> None:
    ring = [(-45.0, 41.0), (-44.99, 41.0), (-45.0, 41.0)]
    assert codes(read_foreign(write(tmp_path / "a.kml", kml([("Thin", ring)])))) == ["map.coordinates"]


def test_shapes_without_names_or_with_nothing(tmp_path: Path) -> None:
    path = tmp_path / "map.gpkg"
    made = [shapely.Polygon(square(90)), None, shapely.Polygon()]
    names = np.array(["", None, "x"], object)
    raw.write(
        path, np.array([None if m is None else shapely.to_wkb(m) for m in made], object), [names], ["Name"],
        geometry_type="Polygon", crs="EPSG:4326",
    )  # fmt: skip
    assert [(s.id, s.name) for s in read_foreign(path).shapes] == [("paddock-1", "paddock-1")]


def test_a_form_that_is_none_of_ours(tmp_path: Path) -> None:
    path = tmp_path / "map.gpkg"
    made = shapely.GeometryCollection([shapely.Point(-45.0, 41.0), shapely.LineString(square(9))])
    raw.write(
        path, np.array([shapely.to_wkb(made)], object), [np.array(["mixed"], object)], ["Name"],
        geometry_type="GeometryCollection", crs="EPSG:4326",
    )  # fmt: skip
    assert codes(read_foreign(path)) == ["map.geometry"]


def test_a_shapefile_whose_table_is_torn(tmp_path: Path) -> None:
    shape_layer(tmp_path / "a.shp", "EPSG:4326")
    (tmp_path / "a.shp").write_bytes((tmp_path / "a.shp").read_bytes()[:60])
    assert codes(read_foreign(tmp_path / "a.shp")) == ["maps.unreadable"]


def test_a_system_that_is_none(tmp_path: Path) -> None:
    shape_layer(tmp_path / "a.shp", "EPSG:32623", utm)
    (tmp_path / "a.prj").write_text('LOCAL_CS["drawn by hand",UNIT["metre",1]]', encoding="utf-8")
    assert codes(read_foreign(tmp_path / "a.shp")) == ["maps.no_crs"]


def test_capital_endings(tmp_path: Path) -> None:
    shape_layer(tmp_path / "a.shp", "EPSG:4326")
    for file in list(tmp_path.glob("a.*")):
        file.rename(file.with_suffix(file.suffix.upper()))
    assert len(read_foreign(tmp_path / "a.SHP").shapes) == 2
    packed = zipped(tmp_path, "MAP.ZIP", *tmp_path.glob("a.*"))
    assert len(read_foreign(packed).shapes) == 2


def test_files_larger_than_any_map(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shape_layer(tmp_path / "a.gpkg", "EPSG:4326")
    monkeypatch.setattr("browseline.exchange.gis_maps.MOST_SHAPE_BYTES", 1000)
    assert codes(read_foreign(tmp_path / "a.gpkg")) == ["maps.too_big"]
    monkeypatch.undo()
    path = zipped(tmp_path, "a.kmz", write(tmp_path / "doc.kml", kml([("One", square(90))])))
    monkeypatch.setattr("browseline.exchange.maps.MOST_BYTES", 100)
    assert codes(read_foreign(path)) == ["maps.too_big"]


def test_nested_geometries_end_somewhere(tmp_path: Path) -> None:
    deep = (
        "<MultiGeometry>" * 300
        + "<Point><coordinates>-45,41</coordinates></Point>"
        + "</MultiGeometry>" * 300
    )
    text = f"<kml><Placemark>{deep}</Placemark></kml>"
    assert codes(read_foreign(write(tmp_path / "deep.kml", text))) == ["maps.nothing"]
    many = "<a>" * 200_000 + "</a>" * 200_000
    found = read_foreign(write(tmp_path / "a.kml", f"<kml>{many}</kml>"))
    assert codes(found) in (["maps.nothing"], ["maps.no_xml"])
