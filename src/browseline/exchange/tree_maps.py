"""Rows and trees for other programs and for a telephone: GeoJSON, GeoPackage, KML, GPX.

Every tree is named ``planting/row/number`` and every row ``planting/row``. The GeoJSON has the form of
the farm's own map, so its trees can be kept there as surveyed ones.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from xml.sax.saxutils import escape

from browseline.farm.records import Farm
from browseline.layout.form import LaidRow, Layout
from browseline.words import say

DIGITS = 8
"""Decimals of a degree: about a millimetre."""
STAMP = "2000-01-01T00:00:00.000Z"
"""What a GeoPackage says of when it was changed, so that the same farm gives the same bytes."""
TREES, ROWS = "trees", "rows"
WORLD = "EPSG:4326"
_ODD = {code: None for code in range(32) if code not in (9, 10, 13)} | {0xFFFE: None, 0xFFFF: None}


def row_lines(farm: Farm, layout: Layout, row: LaidRow) -> list[list[list[float]]]:
    """Return the pieces of a row as longitude and latitude. [deg]"""
    from browseline.layout.plane import plane_of

    plane = plane_of(farm.shapes)
    out = []
    for line in row.lines:
        lon, lat = plane.world(*map(_column, zip(*line, strict=True)))
        out.append([_spot(x, y) for x, y in zip(lon, lat, strict=True)])
    return out


def _column(values: Any) -> Any:
    import numpy as np

    return np.asarray(values, dtype=float)


def _spot(lon: float, lat: float) -> list[float]:
    return [round(float(lon), DIGITS), round(float(lat), DIGITS)]


def _trees(layout: Layout) -> Iterator[tuple[str, LaidRow, int, str, list[float]]]:
    """Yield name, row, number, cultivar and place of every tree."""
    trees = layout.trees
    for at in range(len(trees)):
        row = layout.rows[int(trees.row[at])]
        spot = _spot(trees.longitude_deg[at], trees.latitude_deg[at])
        yield layout.tree_name(at), row, int(trees.number[at]), layout.cultivar(at), spot


# ---------------------------------------------------------------- GeoJSON


def geojson(farm: Farm, layout: Layout) -> str:
    """Return rows and trees as a GeoJSON text of the map's own form (RFC 7946)."""
    features = []
    for row in layout.rows:
        lines = row_lines(farm, layout, row)
        form, at = ("LineString", lines[0]) if len(lines) == 1 else ("MultiLineString", lines)
        properties = {"kind": "tree_row", "name": row.name, "planting": row.planting, "row": row.row}
        features.append(_feature(row.id, properties, form, at))
    for name, row, number, cultivar, spot in _trees(layout):
        own = {"kind": "tree", "name": name, "planting": row.planting, "row": row.row, "number": number}
        features.append(_feature(name, own | ({"cultivar": cultivar} if cultivar else {}), "Point", spot))
    made = {"type": "FeatureCollection", "features": features}
    return json.dumps(made, ensure_ascii=False, indent=1) + "\n"


def _feature(ident: str, properties: dict[str, Any], form: str, coordinates: Any) -> dict[str, Any]:
    geometry = {"type": form, "coordinates": coordinates}
    return {"type": "Feature", "id": ident, "properties": properties, "geometry": geometry}


# ---------------------------------------------------------------- GeoPackage


def geopackage(farm: Farm, layout: Layout) -> bytes:
    """Return rows and trees as the two layers of a GeoPackage."""
    import shapely
    from pyogrio import set_gdal_config_options

    set_gdal_config_options({"OGR_CURRENT_DATE": STAMP, "OGR_SQLITE_SYNCHRONOUS": "OFF"})
    lines = [shapely.MultiLineString(row_lines(farm, layout, row)) for row in layout.rows]
    points, columns = _tree_columns(layout)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "rows.gpkg"
        _layer(path, ROWS, lines, "MultiLineString", _row_columns(layout))
        _layer(path, TREES, points, "Point", columns)
        return path.read_bytes()


def _row_columns(layout: Layout) -> dict[str, Any]:
    import numpy as np

    rows = layout.rows
    return {
        "name": [row.id for row in rows],
        "kind": ["tree_row"] * len(rows),
        "planting": [row.planting for row in rows],
        "row": [row.row for row in rows],
        "trees": np.array([row.count for row in rows], dtype=np.int32),
        "length_m": np.array([row.length_m for row in rows]),
        "bearing_deg": np.array([row.bearing_deg for row in rows]),
    }


def _tree_columns(layout: Layout) -> tuple[Any, dict[str, Any]]:
    """Return the trees as points and what is told of each."""
    import numpy as np
    import shapely

    trees = list(_trees(layout))
    columns = {
        "name": [name for name, *_ in trees],
        "kind": ["tree"] * len(trees),
        "planting": [row.planting for _, row, *_ in trees],
        "row": [row.row for _, row, *_ in trees],
        "number": np.array([number for _, _, number, *_ in trees], dtype=np.int32),
        "cultivar": [cultivar for *_, cultivar, _ in trees],
    }
    return shapely.points(np.array([spot for *_, spot in trees]).reshape(-1, 2)), columns


def _layer(path: Path, name: str, shapes: Any, form: str, columns: dict[str, Any]) -> None:
    import numpy as np
    import shapely
    from pyogrio import raw

    data = [np.array(c, dtype=object) if isinstance(c, list) else c for c in columns.values()]
    raw.write(
        path, shapely.to_wkb(np.asarray(shapes)), data, list(columns), layer=name, driver="GPKG",
        geometry_type=form, crs=WORLD, append=path.exists(),
    )  # fmt: skip


# ---------------------------------------------------------------- KML and GPX


def _word(text: str) -> str:
    """Return typed words as XML text; signs that XML forbids go."""
    return escape(text.translate(_ODD))


def kml(farm: Farm, layout: Layout) -> str:
    """Return rows and trees as KML, a folder a planting and in it a folder a row."""
    out = ['<?xml version="1.0" encoding="UTF-8"?>', '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>']
    out.append(f"<name>{_word(farm.name)}</name>")
    trees = list(_trees(layout))
    for planting in layout.plantings:
        out.append(f"<Folder><name>{_word(planting.name)}</name>")
        for row in layout.rows:
            if row.planting == planting.id:
                out += _kml_row(farm, layout, row, trees[row.first : row.first + row.count])
        out.append("</Folder>")
    return "\n".join([*out, "</Document></kml>", ""])


def _kml_row(farm: Farm, layout: Layout, row: LaidRow, trees: list[Any]) -> Iterator[str]:
    yield f"<Folder><name>{_word(row.id)}</name>"
    lines = "".join(
        "<LineString><coordinates>" + " ".join(f"{x},{y}" for x, y in line) + "</coordinates></LineString>"
        for line in row_lines(farm, layout, row)
    )
    yield f"<Placemark><name>{_word(row.id)}</name><MultiGeometry>{lines}</MultiGeometry></Placemark>"
    for name, _, _, cultivar, (lon, lat) in trees:
        about = f"<description>{_word(cultivar)}</description>" if cultivar else ""
        point = f"<Point><coordinates>{lon},{lat}</coordinates></Point>"
        yield f"<Placemark><name>{_word(name)}</name>{about}{point}</Placemark>"
    yield "</Folder>"


def gpx(farm: Farm, layout: Layout) -> str:
    """Return a waypoint a tree, named by row and tree, and a route a row, as GPX 1.1."""
    from browseline import __version__

    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="browseline {__version__}" xmlns="http://www.topografix.com/GPX/1/1">',
        f"<metadata><name>{_word(farm.name)}</name></metadata>",
    ]
    for name, row, number, cultivar, (lon, lat) in _trees(layout):
        about = say("pack.tree", row=row.name, number=number, cultivar=cultivar).strip()
        out.append(
            f'<wpt lat="{lat}" lon="{lon}"><name>{_word(name)}</name><desc>{_word(about)}</desc></wpt>'
        )
    for row in layout.rows:
        spots = [spot for line in row_lines(farm, layout, row) for spot in line]
        points = "".join(f'<rtept lat="{lat}" lon="{lon}"/>' for lon, lat in spots)
        out.append(f"<rte><name>{_word(row.id)}</name>{points}</rte>")
    return "\n".join([*out, "</gpx>", ""])
