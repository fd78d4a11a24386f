"""``layout``: table, findings and files of a farm folder; JSON with units in its keys."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from browseline.cli.group import app

DEMO = Path(__file__).resolve().parents[2] / "examples" / "fennick-lea"
NOW = "2026-06-10T12:00:00+00:00"
WRITTEN = [
    "layout.geojson", "layout.gpkg", "layout.gpx", "layout.kml", "layout.png", "layout.svg",
    "planting-rows.csv", "planting-trees.csv", "planting.pdf",
]  # fmt: skip


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    home = tmp_path / "fennick-lea"
    home.mkdir()
    for name in ("farm.toml", "map.geojson"):
        shutil.copyfile(DEMO / name, home / name)
    return home


def run(home: Path, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(app, ["layout", *words, "--farm", str(home), "--now", NOW])
    return done.exit_code, done.stdout, done.stderr


def test_the_demo_farm_is_laid_out(farm: Path) -> None:
    code, out, err = run(farm, "--crews", "3")
    assert (code, err) == (0, "")
    assert "Top persimmons (to plant)  6        6     84" in out
    assert "35 rows with 493 places" in out
    assert "in year " in out
    assert "12 ft implement" in out
    assert "Source: worked out from crown widths by year." in out
    assert sorted(path.name for path in (farm / "papers").iterdir()) == WRITTEN
    rows = (farm / "papers" / "planting-rows.csv").read_text("utf-8").splitlines()
    assert len(rows) == 7
    assert rows[1].startswith("1,persimmon/1,Top persimmons")


def test_a_planting_is_named_and_files_can_be_left_out(farm: Path, tmp_path: Path) -> None:
    code, _, _ = run(farm, "Hazel block", "--out", str(tmp_path / "here"))
    assert code == 0
    assert "hazel/1" in (tmp_path / "here" / "planting-rows.csv").read_text("utf-8")
    assert run(farm, "--no-files")[0] == 0
    assert not (farm / "papers").exists()


def test_json_has_trees_in_columns(farm: Path) -> None:
    data = json.loads(run(farm, "--json")[1])
    assert data["schema"] == "browseline/layout/1"
    layout = data["layout"]
    assert len(layout["trees"]["longitude_deg"]) == len(layout["trees"]["row"]) == 493
    assert layout["rows"][0]["id"] == "locust-old/1"
    assert layout["fence_m"] == pytest.approx(4320, abs=0.1)
    assert {f["code"] for f in data["findings"]} == {"layout.fewer_passes"}


def test_a_planned_planting_stands_once_a_tree_was_planted(farm: Path) -> None:
    """The class's list becomes the record: 84 trees planted, counted alive, no longer on the list."""
    from browseline.chain import look

    done = CliRunner().invoke(app, ["plant", "persimmon", "84", "--farm", str(farm), "--now", NOW, "--yes"])
    assert done.exit_code == 0
    layout = json.loads(run(farm, "--json")[1])["layout"]
    (own,) = [p for p in layout["plantings"] if p["id"] == "persimmon"]
    assert (own["to_plant"], own["places"], own["counted"]) == (False, 84, None)
    picture = look(farm, datetime.fromisoformat(NOW))
    (stands,) = [p for p in picture.farm.plantings if p.id == "persimmon"]
    assert (stands.planted, stands.trees, picture.farm.planned) == (2026, 0, ())


def test_a_planting_that_is_not_there(farm: Path) -> None:
    code, _, err = run(farm, "hazl")
    assert code == 1
    assert 'Do you mean "hazel"?' in err


def test_a_farm_without_a_map_is_told(farm: Path) -> None:
    (farm / "map.geojson").unlink()
    text = (farm / "farm.toml").read_text("utf-8")
    for water in ("trough", "trailer"):
        text = text.replace(f'water = "{water}"\n', f'water = "{water}"\narea = "3 ac"\n')
    (farm / "farm.toml").write_text(text, "utf-8")
    code, out, _ = run(farm)
    assert code == 0
    assert "its paddock has no outline on the map" in " ".join(out.split())
    assert out.endswith("Nothing is drawn: this farm has no map yet. See browseline map --help.\n")
    assert not (farm / "papers").exists()


def test_contour_rows_follow_the_farm_s_own_terrain(farm: Path) -> None:
    """A slope of 10 % to the east as terrain.tif: rows that ask for the contour run north."""
    import numpy as np
    import rasterio
    from affine import Affine

    lon, lat, step = -45.004, 41.004, 0.00005
    height = np.tile(np.arange(260) * step * 84_000 * 0.1, (200, 1)) + 100
    with rasterio.open(
        farm / "terrain.tif", "w", driver="GTiff", height=200, width=260, count=1, dtype="float64",
        crs="EPSG:4326", transform=Affine(step, 0, lon, 0, -step, lat),
    ) as out:  # fmt: skip
        out.write(height, 1)
    text = (farm / "farm.toml").read_text("utf-8").replace('headland = "30 ft"', "contour = true")
    (farm / "farm.toml").write_text(text, "utf-8")
    rows = [r for r in json.loads(run(farm, "--json")[1])["layout"]["rows"] if r["planting"] == "persimmon"]
    assert len(rows) > 3
    assert all(min(r["bearing_deg"] % 180, 180 - r["bearing_deg"] % 180) < 1.5 for r in rows)
    assert max(r["drift_frac"] for r in rows) < 0.02


def test_a_planting_that_is_not_drawn_is_told_with_one_that_is_near(farm: Path) -> None:
    far, near = run(farm, "nonsense"), run(farm, "hazell")
    assert far[0] == near[0] == 1
    assert "Do you mean" not in far[2]
    assert 'Do you mean "hazel"?' in near[2]
