"""``map``: a walked boundary comes in, is measured with its ±, and counts from then on."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from typer.testing import CliRunner

from browseline.cli.group import app
from browseline.farm.read import read
from browseline.record.store import Record
from tests.unit.test_maps import FARM
from tests.walked import gpx, kml, square, walked


def run(folder: Path, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(app, [*words, "--farm", str(folder)])
    return done.exit_code, done.stdout, done.stderr


def test_a_walk_becomes_a_paddock(tmp_path: Path) -> None:
    farm = tmp_path / "farm"
    farm.mkdir()
    (farm / "farm.toml").write_text(FARM, encoding="utf-8")
    track = walked(square(90), np.random.default_rng(4), 2.1)
    (tmp_path / "walk.gpx").write_text(gpx([("Gate", track)]), encoding="utf-8")
    code, out, _ = run(farm, "map", str(tmp_path / "walk.gpx"))
    assert code == 0
    assert out.startswith("paddock Gate: ")
    assert " ac ± 2." in out
    made = read(farm).farm
    assert made is not None
    assert [p.name for p in made.paddocks] == ["Gate"]
    with Record.open(farm) as record:
        assert {version.name for version in record.versions()} == {"farm.toml", "map.geojson"}
    code, out, _ = run(farm, "map", str(tmp_path / "walk.gpx"), "--json")
    assert json.loads(out)["findings"][0]["code"] == "maps.replaced"


def test_what_is_wrong_is_told_and_nothing_written(tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_text(FARM, encoding="utf-8")
    (tmp_path / "a.kml").write_text("<kml/>", encoding="utf-8")
    code, _, err = run(tmp_path, "map", str(tmp_path / "a.kml"))
    assert (code, err.startswith("a.kml  The file draws nothing")) == (1, True)
    code, _, err = run(tmp_path, "map", str(tmp_path / "a.kml"), "--kind", "padock")
    assert code == 1
    assert '"padock" is no known kind of shape' in err
    assert not (tmp_path / "map.geojson").exists()


def test_without_a_position_error_there_is_no_spread(tmp_path: Path) -> None:
    (tmp_path / "farm.toml").write_text(FARM.replace('position_error = "2.1 m"\n', ""), encoding="utf-8")
    (tmp_path / "a.kml").write_text(kml([("Gate", square(90))]), encoding="utf-8")
    assert run(tmp_path, "map", str(tmp_path / "a.kml"))[1] == "paddock Gate: 2 ac\n"
    (tmp_path / "b.gpx").write_text(
        '<gpx><wpt lat="41" lon="-45"><name>gate</name></wpt></gpx>', encoding="utf-8"
    )
    assert run(tmp_path, "map", str(tmp_path / "b.gpx"))[1] == "gate gate\n"
