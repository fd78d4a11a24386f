"""Layouts as GeoJSON, GeoPackage, KML and GPX: read back by GDAL, and by the farm's own reader."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from defusedxml import ElementTree
from pyogrio import list_layers, raw

from browseline.exchange import tree_maps
from browseline.farm.map_geojson import Maps, parse_map
from browseline.farm.records import Farm, LayoutRule
from browseline.layout import Layout, lay_out
from tests.layout_farms import box, farm, line, outline, planting, q

FT = 0.3048
ODD = 'Röd & <blå> "rad" \x07 =1+1'


@pytest.fixture(scope="module")
def made() -> tuple[Farm, Layout]:
    """Return a farm with a parted row, a strange name and two cultivars, and its layout."""
    field = outline("1", box(120 * FT, 300 * FT), turn_deg=25)
    pipe = line("pipe", "buried_line", [(-60, 0), (60, 10)])
    rule = LayoutRule(from_fence=q("0 m"))
    one = farm(field, [planting(rule=rule, name=ODD, cultivars=("Ä", "<b>"))], pipe)
    return one, lay_out(one)


def read_layer(path: Path, layer: str) -> tuple[dict[str, Any], Any]:
    """Return the columns and the shapes of a layer, read by GDAL."""
    about, _, shapes, columns = raw.read(path, layer=layer)
    return dict(zip(about["fields"], columns, strict=True)), shapely.from_wkb(shapes)


def spots(layout: Layout) -> Any:
    return np.column_stack([layout.trees.longitude_deg, layout.trees.latitude_deg])


def test_geopackage_reads_back(made: tuple[Farm, Layout], tmp_path: Path) -> None:
    path = tmp_path / "rows.gpkg"
    path.write_bytes(tree_maps.geopackage(*made))
    layout = made[1]
    assert sorted(name for name, _ in list_layers(path)) == ["rows", "trees"]
    trees, points = read_layer(path, "trees")
    assert list(trees["name"]) == [layout.tree_name(n) for n in range(len(layout.trees))]
    assert shapely.get_coordinates(points) == pytest.approx(spots(layout), abs=1e-8)
    assert set(trees["cultivar"]) == {"Ä", "<b>"}
    rows, lines = read_layer(path, "rows")
    assert list(rows["name"]) == [row.id for row in layout.rows]
    assert list(rows["trees"]) == [row.count for row in layout.rows]
    assert all(len(one.geoms) == 2 for one in lines)
    assert tree_maps.geopackage(*made) == path.read_bytes()


def test_gpx_has_a_waypoint_a_tree_and_a_route_a_row(made: tuple[Farm, Layout], tmp_path: Path) -> None:
    path = tmp_path / "rows.gpx"
    path.write_text(tree_maps.gpx(*made), encoding="utf-8")
    layout = made[1]
    names, points = read_layer(path, "waypoints")
    assert list(names["name"]) == [layout.tree_name(n) for n in range(len(layout.trees))]
    assert shapely.get_coordinates(points) == pytest.approx(spots(layout), abs=1e-8)
    routes, _ = read_layer(path, "routes")
    assert list(routes["name"]) == [row.id for row in layout.rows]


def test_kml_has_a_folder_a_row(made: tuple[Farm, Layout], tmp_path: Path) -> None:
    path = tmp_path / "rows.kml"
    path.write_text(tree_maps.kml(*made), encoding="utf-8")
    layout = made[1]
    (row, *_) = layout.rows
    names, shapes = read_layer(path, row.id)
    assert list(names["Name"])[1:] == [f"{row.id}/{n}" for n in range(1, row.count + 1)]
    own = slice(row.first, row.first + row.count)
    at = shapely.get_coordinates(shapes[1:])
    assert at == pytest.approx(spots(layout)[own], abs=1e-8)


def test_typed_words_stay_words(made: tuple[Farm, Layout]) -> None:
    """Signs of XML are escaped, those it forbids are left out; the texts are sound XML."""
    for text in (tree_maps.kml(*made), tree_maps.gpx(*made)):
        tree = ElementTree.fromstring(text)
        said = {node.text for node in tree.iter()}
        assert "Case" in said
        assert not any("\x07" in (part or "") for part in said)
    assert 'Röd & <blå> "rad"  =1+1' in {n.text for n in ElementTree.fromstring(tree_maps.kml(*made)).iter()}


def test_geojson_comes_back_as_surveyed_trees(made: tuple[Farm, Layout]) -> None:
    """Put into the map, the trees lay out to the same places, rows and numbers, and the rule rests."""
    one, first = made
    maps = Maps("map.geojson")
    parse_map(tree_maps.geojson(one, first), maps)
    assert not maps.found
    again = lay_out(replace(one, shapes=(*one.shapes, *maps.shapes)))
    assert [(r.id, r.count, r.how) for r in again.rows] == [(r.id, r.count, "surveyed") for r in first.rows]
    assert [again.tree_name(n) for n in range(9)] == [first.tree_name(n) for n in range(9)]
    assert spots(again) == pytest.approx(spots(first), abs=2e-8)


def test_geojson_is_of_the_standard(made: tuple[Farm, Layout]) -> None:
    data = json.loads(tree_maps.geojson(*made))
    assert data["type"] == "FeatureCollection"
    assert "crs" not in data
    idents = [feature["id"] for feature in data["features"]]
    assert len(idents) == len(set(idents)) == len(made[1].rows) + len(made[1].trees)


def test_a_farm_without_trees_gives_empty_files(tmp_path: Path) -> None:
    one = farm(outline("1", box(50, 50)), [])
    layout = lay_out(one)
    path = tmp_path / "none.gpkg"
    path.write_bytes(tree_maps.geopackage(one, layout))
    assert len(read_layer(path, "trees")[1]) == 0
    assert json.loads(tree_maps.geojson(one, layout))["features"] == []
