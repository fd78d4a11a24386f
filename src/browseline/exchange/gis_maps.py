"""Shapes of Shapefile and GeoPackage files, read by GDAL from a copy that nothing points out of."""

from __future__ import annotations

import shutil
import sqlite3
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from browseline.errors import BadInput, finding
from browseline.exchange.drawn import MEGABYTE, Counter, Drawn
from browseline.exchange.safe_zip import members, write_out
from browseline.farm.map_geojson import AREAS, LINES, MOST_FEATURES, POINTS

MOST_SHAPE_BYTES = 200 * MEGABYTE
MOST_ZIPPED = 500
SIDE_FILES = (".shp", ".dbf", ".shx", ".prj", ".cpg")
SHAPE_MAGIC = b"\x00\x00\x27\x0a"
PACKAGE_MAGIC = b"SQLite format 3\x00"
NAMED = ("name", "label", "paddock", "field", "title")
KINDS = ("kind", "type")
WORLD = "EPSG:4326"


def read_shapefile(path: Path) -> list[Drawn]:
    """Return the shapes of a Shapefile with the files beside it.

    Raises
    ------
    BadInput
        If it cannot be read.
    """
    with TemporaryDirectory() as folder:
        for ending in SIDE_FILES:
            both = (path.with_suffix(ending), path.with_suffix(ending.upper()))
            beside = next((file for file in both if file.is_file()), None)
            if beside is not None:
                _small_enough(beside.stat().st_size, path.name)
                shutil.copyfile(beside, Path(folder) / f"shapes{ending}")
        return _shapefile(Path(folder) / "shapes.shp", path.name)


def read_zip(path: Path, wanted: Sequence[str]) -> tuple[str, bytes | list[Drawn]]:
    """Return the one map that a zip file holds: the ending of its name, and its bytes or its shapes.

    Raises
    ------
    BadInput
        If the zip file is harmful or holds no map.
    """
    try:
        with zipfile.ZipFile(path) as pack, TemporaryDirectory() as folder:
            return _unzipped(pack, path.name, wanted, Path(folder))
    except (zipfile.BadZipFile, RuntimeError, OSError, EOFError):  # a method not known is a RuntimeError
        raise BadInput([finding("maps.no_zip", path.name)]) from None


def _unzipped(
    pack: zipfile.ZipFile, name: str, wanted: Sequence[str], folder: Path
) -> tuple[str, bytes | list[Drawn]]:
    try:
        inside = members(pack, name)
    except BadInput:
        raise BadInput([finding("maps.unsafe_zip", name)]) from None
    _small_enough(sum(info.file_size for info in inside.values()), name)
    if len(inside) > MOST_ZIPPED:
        raise BadInput([finding("maps.unsafe_zip", name)])
    for ending in wanted:
        for title in sorted(inside, key=lambda title: (title.count("/"), title)):
            if title.lower().endswith(ending):
                return ending, _member(pack, inside, title, folder, name)
    raise BadInput([finding("maps.no_map_inside", name, known=", ".join(wanted))])


def _member(
    pack: zipfile.ZipFile, inside: dict[str, zipfile.ZipInfo], title: str, folder: Path, name: str
) -> bytes | list[Drawn]:
    stem = title[: title.rindex(".")].lower()
    for other, info in inside.items():
        ending = other[other.rindex(".") :].lower() if "." in other else ""
        if other.lower() == stem + ending and (ending in SIDE_FILES or other == title):
            write_out(pack, info, folder / f"shapes{ending}", name)
    if title.lower().endswith(".shp"):
        return _shapefile(folder / "shapes.shp", name)
    if title.lower().endswith(".gpkg"):
        return read_package(folder / "shapes.gpkg", name)
    return (folder / f"shapes{title[title.rindex('.') :].lower()}").read_bytes()


def _small_enough(size: int, name: str) -> None:
    if size > MOST_SHAPE_BYTES:
        raise BadInput([finding("maps.too_big", name, most=MOST_SHAPE_BYTES // MEGABYTE)])


def _shapefile(path: Path, name: str) -> list[Drawn]:
    with path.open("rb") as file:
        begins = file.read(4)
    if begins != SHAPE_MAGIC or not path.with_suffix(".shx").is_file():
        raise BadInput([finding("maps.no_shapefile", name)])
    return list(_layer(path, None, name, Counter(name)))


def read_package(path: Path, name: str = "") -> list[Drawn]:
    """Return the shapes of every layer of a GeoPackage; one that holds more than tables is refused.

    Raises
    ------
    BadInput
        If it cannot be read.
    """
    name = name or path.name
    with path.open("rb") as file:
        begins = file.read(16)
    if begins != PACKAGE_MAGIC:
        raise BadInput([finding("maps.no_package", name)])
    _small_enough(path.stat().st_size, name)
    with TemporaryDirectory() as folder:
        copy = Path(folder) / "shapes.gpkg"
        shutil.copyfile(path, copy)
        layers = _plain_layers(copy, name)
        counter = Counter(name)
        return [drawn for layer in layers for drawn in _layer(copy, layer, name, counter)]


def _plain_layers(path: Path, name: str) -> list[str]:
    """Return the layers of a package that are plain tables of shapes."""
    query = "SELECT table_name FROM gpkg_contents WHERE data_type = 'features' ORDER BY table_name"
    odd = (
        "SELECT count(*) FROM sqlite_master WHERE type = 'view' OR "
        "(sql LIKE 'CREATE VIRTUAL%' AND sql NOT LIKE '%USING rtree%')"
    )
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as base:
            if base.execute(odd).fetchone()[0]:
                raise BadInput([finding("maps.odd_package", name)])
            return [str(row[0]) for row in base.execute(query)]
    except sqlite3.Error:
        raise BadInput([finding("maps.no_package", name)]) from None


# ---------------------------------------------------------------- GDAL


def _layer(path: Path, layer: str | None, name: str, counter: Counter) -> Iterator[Drawn]:
    """Yield the shapes of one layer, in longitude and latitude."""
    import shapely
    from pyogrio import raw
    from pyogrio.errors import DataLayerError, DataSourceError, FieldError

    try:
        about, _, shapes, columns = raw.read(path, layer=layer, force_2d=True, max_features=MOST_FEATURES + 1)
    except (DataLayerError, DataSourceError, FieldError, ValueError, UnicodeDecodeError):
        raise BadInput([finding("maps.unreadable", name)]) from None
    fields = {str(field).lower(): column for field, column in zip(about["fields"], columns, strict=True)}
    made = list(shapely.from_wkb(shapes, on_invalid="ignore")) if shapes is not None else []
    turned = _to_world(made, about["crs"], name)
    for number, shape in enumerate(turned):
        if shape is None or shape.is_empty:
            continue
        counter.add(int(shapely.get_num_coordinates(shape)))
        yield from _simple(shape, _word(fields, NAMED, number), _word(fields, KINDS, number), name)


def _simple(shape: Any, title: str, word: str, name: str) -> Iterator[Drawn]:
    import shapely

    if shape.geom_type not in (*POINTS, *LINES, *AREAS):
        raise BadInput([finding("map.geometry", f'{name} "{title}"', form=shape.geom_type)])
    drawn = shapely.geometry.mapping(shape)
    yield Drawn(title, word, shape.geom_type, _lists(drawn["coordinates"]))


def _lists(coordinates: Any) -> Any:
    return [_lists(part) for part in coordinates] if isinstance(coordinates, (tuple, list)) else coordinates


def _word(fields: dict[str, Any], wanted: Sequence[str], number: int) -> str:
    for key in wanted:
        if key in fields and fields[key][number] is not None:
            text = str(fields[key][number]).strip()
            if text and text != "nan":
                return text
    return ""


def _to_world(shapes: list[Any], crs: str | None, name: str) -> list[Any]:
    """Return shapes in longitude and latitude on WGS84."""
    import shapely
    from pyproj import Transformer
    from pyproj.exceptions import ProjError

    if crs is None:
        spots = [shape.bounds for shape in shapes if shape is not None and not shape.is_empty]
        if all(abs(w) <= 180 and abs(e) <= 180 and abs(s) <= 90 and abs(n) <= 90 for w, s, e, n in spots):
            return shapes
        raise BadInput([finding("maps.no_crs", name)])
    try:
        turn = Transformer.from_crs(crs, WORLD, always_xy=True)
    except ProjError:
        raise BadInput([finding("maps.no_crs", name)]) from None
    return [
        shape if shape is None else shapely.transform(shape, turn.transform, interleaved=False)
        for shape in shapes
    ]
