"""The drawing of rows and light for reading: local metres, greys on the ground they belong to."""

from __future__ import annotations

import io
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapely import Point, Polygon

from browseline.chain import Picture, look
from browseline.chain.canopy_page import canopy_page, canopy_seen
from browseline.chain.layout_page import layout_page
from browseline.cli.demo import copy_example, example
from browseline.papers.light_map import CLASSES
from browseline.papers.trees_map import TreesMap, canopy_view, layout_view
from tests.unit.cli_farm import NOW
from tests.web_farm import small_farm


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    folder = tmp_path_factory.mktemp("trees") / "farm"
    now = copy_example(example(), folder)
    return look(folder, now)


def drawn(made: TreesMap | None) -> TreesMap:
    assert made is not None
    return made


def test_every_name_stands_inside_its_paddock_and_all_inside_the_drawing(picture: Picture) -> None:
    found = drawn(layout_view(picture).map)
    assert len(found.fields) == len(picture.farm.paddocks)
    for field in found.fields:
        assert Polygon(field.rings[0]).covers(Point(field.spot))
        assert all(0 <= x <= found.wide_m and 0 <= y <= found.deep_m for ring in field.rings for x, y in ring)
    assert all(0 <= x <= found.wide_m and 0 <= y <= found.deep_m for _, line in found.rows for x, y in line)


def test_the_drawing_is_as_large_as_the_farm(picture: Picture) -> None:
    """Areas of the outlines drawn are those that the farm was measured with, on the ellipsoid."""
    found = drawn(layout_view(picture).map)
    for field, paddock in zip(found.fields, picture.farm.paddocks, strict=True):
        assert Polygon(field.rings[0]).area / 1e4 == pytest.approx(paddock.area_ha, rel=0.01)


def test_rows_lie_in_their_paddocks_and_planned_ones_are_told_apart(picture: Picture) -> None:
    view, layout = layout_view(picture), layout_page(picture).layout
    found = drawn(view.map)
    to_plant = {p.id for p in layout.plantings if p.to_plant}
    assert to_plant
    lines = [row for row in layout.rows for _ in row.lines]
    assert [planned for planned, _ in found.rows] == [row.planting in to_plant for row in lines]
    homes = {p.id: Polygon(f.rings[0]) for p, f in zip(picture.farm.paddocks, found.fields, strict=True)}
    for row, (_, line) in zip(lines, found.rows, strict=True):
        assert homes[row.paddock].buffer(1).covers(Point(line[0])), row.id


def test_greys_lie_on_the_ground_that_they_belong_to(picture: Picture) -> None:
    view, seen = canopy_view(picture, 20, 6), canopy_seen(picture, 20, 6)
    assert seen is not None
    assert view.greys is not None
    found = drawn(view.map)
    assert found.shade is not None
    image = np.asarray(Image.open(io.BytesIO(view.greys)))
    assert image.shape == seen.cells.paddock_of.shape
    assert set(np.unique(image).tolist()) <= {grey for _, grey in CLASSES}
    x, y = found.shade.corner
    for number, field in enumerate(found.fields):
        col = int((field.spot[0] - x) / found.shade.wide_m * image.shape[1])
        row = int((field.spot[1] - y) / found.shade.deep_m * image.shape[0])
        assert seen.cells.paddock_of[::-1][row, col] == number


def test_what_is_told_is_what_the_command_tells(picture: Picture) -> None:
    told, page = layout_view(picture).page, layout_page(picture)
    assert (told.rows, told.sentences, told.findings) == (page.rows, page.sentences, page.findings)
    assert canopy_view(picture, 20, 6).page.rows == canopy_page(picture, 20, 6).rows


def test_without_a_map_there_is_no_drawing(tmp_path: Path) -> None:
    bare = look(small_farm(tmp_path / "farm"), datetime.fromisoformat(NOW))
    assert layout_view(bare).map is None
    view = canopy_view(bare)
    assert (view.map, view.greys, view.page.rows) == (None, None, ())
