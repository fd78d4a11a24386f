"""m12 on the pages of trials, and what the example farm's packs end in: each number opens, to a table row.

As ``test_every_number`` walks the pages of the chain; five years and nine futures have every kind of number
that forty years have. What is printed on the packs is walked by ``test_p12_paper`` and ``test_p13``.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline import tables
from browseline.chain import Picture, look
from browseline.chain.keys import figures_of
from browseline.cli.demo import copy_example, example
from browseline.figures import Figure
from browseline.papers.evidence import evidence
from browseline.papers.issued import edition
from browseline.trials.brief import brief, looked_at
from browseline.trials.compare import compare
from browseline.trials.copies import scratch
from browseline.trials.designs import design_ids, laid_out, locks_of
from browseline.trials.edits import apply_all
from browseline.trials.same_land import same_land
from browseline.trials.try_page import try_page
from tests.acceptance.test_every_number import tree
from tests.loose import loose

YEARS, MEMBERS = 5, 9
PACKS = ("carbon",)
LABELS = re.compile(r"rows\.\d+\.0: '\d+' in '(Crowns|Grass), year \d+'|edits\.")
"""What a row is called by, and what somebody typed."""
UNREAD = ("placeholder", "from-memory", "common-practice")
"""Bases of numbers that no source is cited for: their mark says so."""
DESIGNS: dict[str, dict[str, Any]] = {
    "close": {
        "name": "Close",
        "edits": ["plantings.persimmon.spacing=12 ft", "plantings.persimmon.alley=40 ft"],
    },
    "wide": {
        "name": "Wide",
        "edits": ["plantings.persimmon.spacing=36 ft", "plantings.persimmon.alley=40 ft"],
    },
    "locks": {"title": "Persimmons", "planting": "persimmon"},
}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    folder = tmp_path_factory.mktemp("trials") / "farm"
    now = copy_example(example(), folder)
    (folder / "designs").mkdir(exist_ok=True)
    for name, data in DESIGNS.items():
        (folder / "designs" / f"{name}.toml").write_text(tomlkit.dumps(data), encoding="utf-8")
    return look(folder, now)


def page_of(picture: Picture, name: str) -> Any:
    folder: Path = picture.folder
    if name == "same-land":
        return same_land(picture, YEARS, MEMBERS)
    if name == "compare":
        return compare(folder, ("here", "close", "wide"), picture.now, years=YEARS, members=MEMBERS)
    if name == "brief":
        with laid_out(folder, design_ids(folder), picture.now, ()) as designs:
            return brief("", designs, locks_of(folder), picture, looked_at(designs, picture))
    if name == "try":
        edits = ("mobs.heifers.lines.0.head=70",)
        with scratch(folder) as copy:
            apply_all(copy, edits, picture.now)
            return try_page(picture, look(copy, picture.now), edits, ahead=False)
    return evidence(picture, edition())


@pytest.mark.parametrize("name", ["same-land", "compare", "brief", "try", "carbon"])
def test_no_number_lacks_its_why_and_each_ends_in_a_source(demo: Picture, name: str) -> None:
    page = page_of(demo, name)
    if name not in PACKS:
        assert [one for one in loose(demo, page) if not LABELS.match(one)] == []
    held = figures_of(page)
    assert len(held) > 5
    ends = [one for figure in held.values() for one in tree(figure) if not one.parts]
    assert [one.name for one in ends if not _ends(one)] == []


def _ends(one: Figure) -> bool:
    """Return whether a number that is made of no other says where it is read, or how it comes about."""
    known = {"farm", *tables.sources()}
    told = all(o.basis in UNREAD or set(o.source.split(";")) <= known for o in one.origins)
    return bool(one.formula) or (bool(one.origins) and told)
