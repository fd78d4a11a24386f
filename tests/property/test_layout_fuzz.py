"""Odd maps lay out without a crash: every kind of shape in every geometry, doubled points, bays, holes."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.exchange import tree_maps
from browseline.farm.map_geojson import Maps, parse_map
from browseline.farm.names import words
from browseline.farm.records import Farm, LayoutRule, Paddock, Planting
from browseline.layout import lay_out
from browseline.papers.plan import drawing
from browseline.papers.planting import planting_data, planting_list, rows_csv, trees_csv
from browseline.units import parse

SPOT = st.tuples(st.integers(-6, 6), st.integers(-6, 6)).map(lambda s: [-45 + s[0] * 2e-4, 41 + s[1] * 2e-4])
LINE = st.lists(SPOT, min_size=2, max_size=6)
RING = st.lists(SPOT, min_size=3, max_size=7)
GEOMETRY = st.one_of(
    SPOT.map(lambda at: {"type": "Point", "coordinates": at}),
    st.lists(SPOT, min_size=1, max_size=8).map(lambda at: {"type": "MultiPoint", "coordinates": at}),
    LINE.map(lambda at: {"type": "LineString", "coordinates": at}),
    st.lists(LINE, min_size=1, max_size=3).map(lambda at: {"type": "MultiLineString", "coordinates": at}),
    RING.map(lambda at: {"type": "Polygon", "coordinates": [at]}),
    st.tuples(RING, RING).map(lambda at: {"type": "Polygon", "coordinates": list(at)}),
    st.lists(RING, min_size=1, max_size=3).map(
        lambda at: {"type": "MultiPolygon", "coordinates": [[ring] for ring in at]}
    ),
)


@st.composite
def features(draw: st.DrawFn) -> dict[str, Any]:
    """Return one shape of the map: any kind, any geometry."""
    kind = draw(st.sampled_from(words("shape")))
    properties = {
        "kind": kind,
        "planting": draw(st.sampled_from(["a", "b", ""])),
        "row": draw(st.sampled_from(["", "1"])),
    }
    return {"type": "Feature", "properties": properties, "geometry": draw(GEOMETRY)}


def a_farm(found: list[dict[str, Any]], home: dict[str, Any], rule: LayoutRule, spacing: str | None) -> Farm:
    paddock = {"type": "Feature", "id": "1", "properties": {"kind": "paddock", "name": "1"}, "geometry": home}
    maps = Maps()
    parse_map(json.dumps({"type": "FeatureCollection", "features": [paddock, *found]}), maps)
    gap = parse(spacing, "length") if spacing else None
    pair = tuple(
        Planting(i, i, kind, "1", spacing=gap, alley=parse("9 m", "length"), layout=rule, trees=trees)
        for i, kind, trees in (("a", "walnut_black", None), ("b", "apple_standard", 7))
    )
    return Farm(
        "Odd", "UTC", "acres", date(2026, 1, 1), (Paddock("1", "1", 1.0),), (), plantings=pair,
        shapes=tuple(maps.shapes),
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(
    found=st.lists(features(), max_size=8),
    home=GEOMETRY,
    sets=st.integers(1, 3),
    contour=st.booleans(),
    spacing=st.sampled_from([None, "4 m", "60 m"]),
    headland=st.sampled_from(["0 m", "9 m"]),
)
def test_odd_maps_lay_out(
    found: list[dict[str, Any]],
    home: dict[str, Any],
    sets: int,
    contour: bool,
    spacing: str | None,
    headland: str,
) -> None:
    rule = LayoutRule(
        rows_in_set=sets, between=parse("2 m", "length"), contour=contour, headland=parse(headland, "length"),
        implement=parse("3 m", "length"), from_water=parse("5 m", "length"),
    )  # fmt: skip
    one = a_farm(found, home, rule, spacing)
    layout = lay_out(one, crowns=lambda which, year: 0.3 * year)
    assert np.isfinite(layout.trees.east_m).all()
    assert (
        sum(row.count for row in layout.rows) == len(layout.trees) == sum(p.places for p in layout.plantings)
    )
    assert all(f.finding.what and f.finding.mend and f.origins for f in layout.findings)
    if one.shapes:
        assert drawing(one, layout).svg
        told = planting_list(one, layout, date(2026, 4, 1), 2)
        assert len(rows_csv(told)) > 0
        assert len(trees_csv(layout, told).splitlines()) == sum(s.trees for s in told.spans) + 1
        assert planting_data(one, layout, told)["crews"]
        assert json.loads(tree_maps.geojson(one, layout))["type"] == "FeatureCollection"
        assert tree_maps.gpx(one, layout)
        assert tree_maps.kml(one, layout)
