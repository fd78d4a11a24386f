"""p11, the class's brief: the bad design beside its options, in one table, from files that a class writes."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline.chain import look
from browseline.chain.keys import figures_of, printed
from browseline.errors import BadInput
from browseline.papers.brief_print import TEMPLATE, brief_of
from browseline.papers.issued import issue, reprint
from browseline.papers.sheets import pages
from browseline.trials.brief import Brief, DesignYears, brief, looked_at, subtitle
from browseline.trials.designs import design_ids, laid_out, locks_of
from tests.acceptance.cases import at, farm_folder

NOW = at("2026-05-06 07:00")
FILES: dict[str, dict[str, Any]] = {
    "a": {"name": "20 x 10", "note": "full grazing for 20 years, one cultivar"},
    "b": {"name": "40 x 20", "edits": ["plantings.hill.spacing=20 ft", "plantings.hill.alley=40 ft",
                                       'plantings.hill.cultivars=["First", "Second"]']},
    "c": {"name": "20 x 10, thinned", "thin_year": 10},
    "locks": {"title": "Walnut on the hill", "planting": "hill", "stem_per_year": "0.55 in", "stem_from": 2,
              "crown_like": "hickory_shagbark"},
}  # fmt: skip
HILL = {"id": "hill", "name": "Hill walnuts", "species": "walnut_black", "paddock": "5", "planned": True,
        "planted": 2027, "spacing": "10 ft", "alley": "20 ft", "cultivars": ["First"]}  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "class"
    farm_folder(made, as_of=date(2026, 4, 20), mobs=[])
    text = tomlkit.parse((made / "farm.toml").read_text(encoding="utf-8")).unwrap()
    text.setdefault("plantings", []).append(HILL)
    (made / "farm.toml").write_text(tomlkit.dumps(text), encoding="utf-8")
    (made / "designs").mkdir()
    for name, data in FILES.items():
        (made / "designs" / f"{name}.toml").write_text(tomlkit.dumps(data), encoding="utf-8")
    return made


def briefed(folder: Path, *locks: str) -> Brief:
    now = look(folder, NOW)
    with laid_out(folder, design_ids(folder), NOW, locks) as designs:
        return brief("", designs, locks_of(folder), now, looked_at(designs, now))


def at_year(brief_: Brief, design: DesignYears, year: int) -> tuple[float, float]:
    n = brief_.years.index(year)
    return 100 * (design.cover[n].value or 0), design.grass[n].value or 0


def test_p11_designs_side_by_side(folder: Path) -> None:
    """Cover within 1 point of the scenario; grass 0.72 in year 12; year 15 past the data."""
    found = briefed(folder)
    bad, wide, thinned = found.designs
    assert bad.density.value == pytest.approx(217.8, abs=0.05)
    for year, cover in ((8, 33), (10, 47), (11, 53), (12, 59), (15, 76)):
        assert at_year(found, bad, year)[0] == pytest.approx(cover, abs=1)
    assert at_year(found, bad, 12)[1] == pytest.approx(0.72, abs=0.01)
    assert at_year(found, bad, 15)[1] == pytest.approx(0.60, abs=0.005)
    assert 15 in bad.past
    assert 12 not in bad.past
    assert at_year(found, wide, 12)[0] == pytest.approx(17, abs=1)
    assert at_year(found, wide, 18)[0] == pytest.approx(36, abs=1)
    assert at_year(found, thinned, 10)[0] == pytest.approx(47, abs=1)
    assert at_year(found, thinned, 12)[0] == pytest.approx(34, abs=1)
    assert at_year(found, thinned, 15)[0] == pytest.approx(52, abs=1)


def test_without_a_lock_the_planting_is_drawn_whose_places_differ(folder: Path) -> None:
    """Another planting stands first in the file; the designs move the rows of the hill."""
    text = tomlkit.parse((folder / "farm.toml").read_text(encoding="utf-8")).unwrap()
    text["plantings"].insert(0, HILL | {"id": "bank", "name": "Bank walnuts", "alley": "30 ft"})
    (folder / "farm.toml").write_text(tomlkit.dumps(text), encoding="utf-8")
    kept = {key: value for key, value in FILES["locks"].items() if key != "planting"}
    (folder / "designs" / "locks.toml").write_text(tomlkit.dumps(kept), encoding="utf-8")
    made = briefed(folder)
    assert "Drawn here: Hill walnuts." in made.sentences
    assert made.rows[0][1:3] == (
        "20 ft between rows, 10 ft in the row",
        "40 ft between rows, 20 ft in the row",
    )
    assert [cell.endswith("trees/ac") for cell in made.rows[1][1:]] == [True, True, True]
    assert made.designs[0].density.value == pytest.approx(217.8, abs=0.05)


def test_p11_touch_window_and_what_is_said(folder: Path) -> None:
    found = briefed(folder)
    bad, wide, _ = found.designs
    assert bad.touch is not None
    assert bad.touch.value == pytest.approx(8.8, abs=0.05)
    assert bad.near is not None
    assert 10 < (bad.near.value or 0) < 11
    assert bad.window == (9, 10)
    said = " ".join(found.sentences)
    assert "years 9 to 10" in said
    assert "cover is not shade" in said
    assert "slats" in said
    assert any("one cultivar" in s and "20 x 10" in s and wide.name not in s for s in found.sentences)


def test_a_changed_lock_moves_every_design(folder: Path) -> None:
    """Half the growth: every cover falls, and in the same file."""
    before = briefed(folder)
    path = folder / "designs" / "locks.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("0.55 in", "0.275 in"), encoding="utf-8")
    after = briefed(folder)
    for one, other in zip(before.designs, after.designs, strict=True):
        assert at_year(after, other, 15)[0] < at_year(before, one, 15)[0] - 5


def test_the_brief_says_which_paper_it_is(folder: Path) -> None:
    """Under the title that the locks give it; without one that is its title, and the farm stands below."""
    own = brief_of(look(folder, NOW))
    assert own.title == "Walnut on the hill"
    assert subtitle(own) == f"Design brief, {own.farm}"
    path = folder / "designs" / "locks.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("Walnut on the hill", ""), encoding="utf-8")
    plain = brief_of(look(folder, NOW))
    assert (plain.title, subtitle(plain)) == ("Design brief", plain.farm)


def test_every_number_of_the_brief_opens(folder: Path) -> None:
    found = briefed(folder)
    keys = figures_of(found)
    assert len(keys) > 40
    assert all(figure.origins or figure.parts for figure in keys.values())
    cells = [cell for row in found.rows[1:] for cell in row[1:] if any(sign.isdigit() for sign in cell)]
    assert len([p for p in printed(found) if p.at.startswith("rows")]) >= len(
        [c for c in cells if not c.startswith("not by")]
    )


@pytest.mark.parametrize(
    ("text", "code"),
    [("name = 3", "trials.sort"), ("nam = 'x'", "trials.strange"), ("edits = [1]", "trials.sort"),
     ("= broken", "trials.no_toml"), ("thin_year = true", "trials.sort")],
)  # fmt: skip
def test_a_design_that_cannot_be_read_is_told(folder: Path, text: str, code: str) -> None:
    (folder / "designs" / "d.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as wrong, laid_out(folder, ["d"], NOW):
        pass
    assert wrong.value.findings[0].code == code
    assert wrong.value.findings[0].where == "designs/d.toml"


def test_an_unknown_design_is_told(folder: Path) -> None:
    with pytest.raises(BadInput, match=r"here, a, b, c"), laid_out(folder, ["zz"], NOW):
        pass


def test_the_brief_is_kept_and_prints_again_the_same(folder: Path, tmp_path: Path) -> None:
    """m25: from its own context, whatever became of the designs."""
    paper = issue(look(folder, NOW), "brief", tmp_path / "papers")
    files = {path.suffix: path.read_bytes() for path in paper.paths}
    assert files[".pdf"].startswith(b"%PDF")
    assert "20 x 10: 59 %" in files[".txt"].decode("utf-8")
    (folder / "designs" / "a.toml").unlink()
    again = reprint(paper.event)
    assert again["pdf"] == files[".pdf"]
    assert again["txt"] == files[".txt"]
    assert pages(TEMPLATE, json.loads(paper.event.context)["data"]) == 1


def test_a_design_without_the_trees_is_named_not_dropped(folder: Path) -> None:
    """A class that plans bare pasture beside rows must see why it has no column."""
    assert not any("no such trees" in words for words in briefed(folder).sentences)
    bare = {"name": "No rows", "edits": ["plantings.hill="]}
    (folder / "designs" / "d.toml").write_text(tomlkit.dumps(bare), encoding="utf-8")
    made = briefed(folder)
    assert len(made.head) == 1 + 3
    assert "Not drawn, for no such trees stand in it: No rows." in made.sentences
