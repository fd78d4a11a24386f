"""The page on the farm folder names every key that is read, and no word of the closed lists is missing."""

from __future__ import annotations

from pathlib import Path

import pytest

from browseline.farm import toml_table
from browseline.farm.names import words
from browseline.farm.read import read
from scripts.bad_farms import TODAY
from tests.unit.farm.folders import SOUND, folder
from tests.unit.farm.test_read import FULL

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "farm_folder.md").read_text(encoding="utf-8")
FREE = {"walnut-row", "sheep", "hay", "home", "seed", "bank", "low", "vet", "hazel", "next-rows"}


def keys_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> set[str]:
    """Return every key that the program asks a farm file for."""
    asked: set[str] = set()
    plain = toml_table.Table._take

    def noted(self: toml_table.Table, key: str, needed: bool = False) -> object:
        asked.add(key)
        return plain(self, key, needed)

    monkeypatch.setattr(toml_table.Table, "_take", noted)
    assert read(folder(tmp_path, SOUND + FULL), TODAY).farm is not None
    return asked


def test_every_key_stands_on_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = keys_read(tmp_path, monkeypatch)
    assert len(asked) > 90
    tables = {
        "place", "normals", "rules", "swards", "soils", "paddocks", "mobs", "lines", "plantings", "promises",
        "hay", "contacts", "energiser", "labour", "prices", "jobs", "keeper", "rows", "layout", "money",
        "loans", "knocks", "carbon", "groups", "diets", "same_land", "alone", "food", "crop", "passes",
        "costs", "mowing", "tree_nitrogen", "decades", "review",
    }  # fmt: skip
    left = [key for key in sorted(asked - FREE - tables) if f"`{key}`" not in PAGE]
    assert not left, left
    assert [name for name in sorted(tables) if f"[{name}" not in PAGE and f".{name}]" not in PAGE] == []


@pytest.mark.parametrize("which", ["sward", "kind", "water", "promise", "shape", "density", "units", "job"])
def test_every_word_of_a_list_stands_on_the_page(which: str) -> None:
    assert [word for word in words(which) if word not in PAGE] == []
