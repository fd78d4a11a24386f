"""Farm folders for the tests of reading and writing: the sound farm of the bad ones, with changes."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from browseline.farm.read import Reading, read
from browseline.farm.records import Farm
from scripts.bad_farms import CASES, TODAY

SOUND: str = tomllib.loads(CASES.read_text(encoding="utf-8"))["sound"]


def changed(*changes: tuple[str, str]) -> str:
    """Return the sound farm with some of its text changed."""
    text = SOUND
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def folder(at: Path, text: str = SOUND, features: Sequence[Mapping[str, Any]] = ()) -> Path:
    """Write a farm folder."""
    at.mkdir(exist_ok=True)
    (at / "farm.toml").write_text(text, encoding="utf-8")
    if features:
        made = {"type": "FeatureCollection", "features": list(features)}
        (at / "map.geojson").write_text(json.dumps(made), encoding="utf-8")
    return at


def reading(at: Path, text: str = SOUND, features: Sequence[Mapping[str, Any]] = ()) -> Reading:
    """Write a farm folder and read it on the day of the cases."""
    return read(folder(at, text, features), TODAY)


def sound(at: Path, text: str = SOUND, features: Sequence[Mapping[str, Any]] = ()) -> Farm:
    """Return the farm of a folder that must have no error."""
    made = reading(at, text, features)
    assert made.farm is not None, made.findings
    return made.farm


def feature(
    ident: str,
    coordinates: Any,
    kind: str = "paddock",
    name: str = "",
    geometry: str = "Polygon",
    **more: Any,
) -> dict[str, Any]:
    """Return one feature of a map."""
    return {
        "type": "Feature", "id": ident, "properties": {"kind": kind, "name": name or ident, **more},
        "geometry": {"type": geometry, "coordinates": coordinates},
    }  # fmt: skip


def codes(made: Reading) -> list[str]:
    """Return the codes of what was found."""
    return [found.code for found in made.findings]
