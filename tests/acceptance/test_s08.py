"""s8, designs in one table: assumptions are locked, a changed lock moves all, the flip is proven."""

from __future__ import annotations

from datetime import date
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import pytest
import tomlkit

from browseline.chain import look
from browseline.chain.keys import figures_of
from browseline.errors import BadInput
from browseline.figures import Figure
from browseline.trials.compare import ComparePage, compare
from browseline.trials.designs import laid_out, locked
from browseline.words import links_of
from tests.acceptance.cases import EWE, at, farm_folder, mob
from tests.loose import loose
from tests.small_farm import NORMALS

NOW = at("2026-05-06 07:00")
YEARS, MEMBERS = 12, 15
ROWS = {"id": "nuts", "name": "Nuts", "species": "hazel_hybrid", "paddock": "1", "planted": 2022,
        "trees": 200, "spacing": "10 ft", "alley": "20 ft", "cultivars": ["First", "Second"]}  # fmt: skip
LINES: list[dict[str, Any]] = [
    {"id": "ewes", "name": "Ewes", "kind": "income", "price": "$90", "price_range": "15 %",
     "follows": "head ewes"},
    {"id": "nuts", "name": "Nuts", "kind": "income", "price": "$1.00", "price_range": "40 %",
     "follows": "yield nuts", "per": "lb"},
    {"id": "care", "name": "Care of trees", "kind": "cost", "price": "$3.00", "count": 200},
    {"id": "hay", "name": "Hay", "kind": "cost", "price": "$0.12", "follows": "hay bought", "per": "lb"},
]  # fmt: skip
MONEY = {"first_year": 2026, "years": 12, "discount": "5 %"}
DESIGNS = {
    "wide": {
        "name": "Wide rows",
        "edits": ["plantings.nuts.trees=60", "plantings.nuts.alley=60 ft", "money.lines.care.count=60"],
    },
    "bare": {
        "name": "No rows", "note": "pasture alone",
        "edits": ["plantings=", "money.lines.nuts=", "money.lines.care="],
    },
}  # fmt: skip


def written(folder: Path, nuts: str = "$1.00") -> Path:
    farm_folder(folder, as_of=date(2026, 4, 20), mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="2")])
    text = tomlkit.parse((folder / "farm.toml").read_text(encoding="utf-8")).unwrap()
    lines = [line | ({"price": nuts} if line["id"] == "nuts" else {}) for line in LINES]
    text |= {
        "plantings": [ROWS], "money": MONEY | {"lines": lines},
        "place": {"latitude": 41.0, "longitude": -45.0},
        "normals": {
            "unit": "C", "tmax": list(NORMALS.tmax_c), "tmin": list(NORMALS.tmin_c), "rain_unit": "mm",
            "rain": list(NORMALS.rain_mm), "wet_days": list(NORMALS.wet_days or ()),
            "wet_day_threshold": "0.25 mm",
        },
    }  # fmt: skip
    (folder / "farm.toml").write_text(tomlkit.dumps(text), encoding="utf-8")
    (folder / "designs").mkdir(exist_ok=True)
    for name, data in DESIGNS.items():
        (folder / "designs" / f"{name}.toml").write_text(tomlkit.dumps(data), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def folder() -> Path:
    return _made()


@cache
def _made() -> Path:
    return written(Path(mkdtemp(prefix="compare-")) / "farm")


@cache
def compared(*locks: str) -> ComparePage:
    return compare(_made(), ["here", "wide", "bare"], NOW, locks=locks, years=YEARS, members=MEMBERS)


def row(page: ComparePage, name: str) -> tuple[str, ...]:
    return next(r for r in page.rows if r[0].startswith(name))


def middle(cell: str) -> float:
    figure = links_of(cell)[0].to
    return float(figure.value)  # type: ignore[attr-defined]


def test_s8_three_designs_stand_in_one_table() -> None:
    page = compared()
    assert page.head[1:] == ("Quern Bank Farm", "Wide rows", "No rows")
    grown = [middle(cell) for cell in row(page, "Feed grown")[1:]]
    assert grown[0] < grown[1] < grown[2]
    assert row(page, "Nuts, nuts")[3] == "none"
    assert page.by == "worth"
    assert set(page.order) == {"Quern Bank Farm", "Wide rows", "No rows"}
    assert page.in_futures is not None
    assert 0 <= page.in_futures <= 1


def test_s8_a_changed_lock_moves_all() -> None:
    """Hay at twice the price costs every design that buys hay."""
    before, after = compared(), compared("money.lines.hay.price=$0.24")
    one, other = ([middle(c) for c in row(page, "Worth today")[1:]] for page in (before, after))
    assert all(b < a for a, b in zip(one, other, strict=True))
    assert any("money.lines.hay.price=$0.24" in sentence for sentence in after.sentences)


def test_s8_the_assumption_that_turns_the_order_is_named_and_does_in_a_rerun() -> None:
    page = compared()
    assert page.flip is not None, page.sentences
    assert page.flip.assumption in page.tried
    assert page.flip.first != page.order[0]
    assert page.flip.assumption == "price of Nuts"
    again = compared(f"money.lines.nuts.price={page.flip.then}")
    assert again.order[0] == page.flip.first
    said = " ".join(page.sentences)
    assert "price of Nuts" in said
    assert page.flip.then in said


def test_s8_what_turns_it_opens_to_the_price_that_was_typed() -> None:
    """Both numbers of the sentence have a Why: the price as typed, and what it is times what."""
    page = compared()
    assert page.flip is not None
    (said,) = [s for s in page.sentences if s.startswith("What would turn it")]
    was, then = (link.to for link in links_of(said))
    assert isinstance(was, Figure)
    assert isinstance(then, Figure)
    assert {was, then} <= set(figures_of(page).values())
    assert (was.typed, was.unit, was.value) == ("$1.00", "USD", 1.0)
    assert then.parts == (was,)
    assert float(then.formula.partition(" × ")[2]) == pytest.approx(then.value or 0.0, abs=0.01)
    assert loose(look(_made(), NOW), page) == []


def test_s8_the_change_that_turns_the_order_is_the_smallest() -> None:
    """A tenth of the way back it does not turn, and it is told by how large a part of the price it is."""
    page = compared()
    assert page.flip is not None
    was, then = (float(text.removeprefix("$")) for text in (page.flip.was, page.flip.then))
    assert page.flip.far == pytest.approx(abs(then / was - 1), abs=0.01)
    nearer = compared(f"money.lines.nuts.price=${then + (was - then) / 10:.2f}")
    assert nearer.order[0] == page.order[0]


def test_s8_an_assumption_that_does_not_turn_it_does_not_in_a_rerun() -> None:
    """Ewes are in all designs alike: their price within its range turns nothing."""
    for price in ("$78.30", "$103.50"):
        assert compared(f"money.lines.ewes.price={price}").order[0] == compared().order[0]


def test_s8_the_same_folder_given_twice_is_the_same_design(folder: Path) -> None:
    page = compare(folder, ["here", str(folder)], NOW, years=3, members=4)
    assert all(cell in ("the same", "none") for r in page.less_rows for cell in r[1:])


def test_s8_other_farms_take_the_first_ones_assumptions(tmp_path: Path, folder: Path) -> None:
    """A farm whose nuts are dearer is compared at the first one's price."""
    other = written(tmp_path / "other", "$9.00")
    page = compare(folder, ["here", str(other)], NOW, years=12, members=6)
    worth = row(page, "Worth today")
    assert middle(worth[1]) == pytest.approx(middle(worth[2]))
    farms = [look(f, NOW).farm for f in (folder, other)]
    made = locked(farms[1], farms[0])
    assert made.money is not None
    assert [line.price.text for line in made.money.lines] == ["$90", "$1.00", "$3.00", "$0.12"]


def test_s8_by_another_measure(folder: Path) -> None:
    page = compare(folder, ["here", "wide", "bare"], NOW, years=4, members=5, by="feed")
    assert page.order[0] == "No rows"
    assert page.in_futures == 1


def test_s8_every_number_opens() -> None:
    page = compared()
    keys = figures_of(page)
    assert keys
    assert all(figure.origins or figure.parts for figure in keys.values())
    for r in (*page.rows, *page.less_rows):
        for cell in r[1:]:
            assert bool(links_of(cell)) == any(sign.isdigit() for sign in cell), cell


def test_s8_the_live_farm_is_only_read(folder: Path) -> None:
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    compare(folder, ["here", "bare"], NOW, years=2, members=3)
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before


def test_one_design_is_not_compared(folder: Path) -> None:
    with pytest.raises(BadInput) as wrong:
        compare(folder, ["here"], NOW)
    assert wrong.value.findings[0].code == "trials.too_few"


def test_copies_of_designs_are_gone_afterwards(folder: Path) -> None:
    with laid_out(folder, ["here", "wide"], NOW) as designs:
        folders = [design.folder for design in designs]
        assert all(f.is_dir() and f != folder for f in folders)
    assert not any(f.exists() for f in folders)


def test_s8_the_order_is_told_with_the_means_that_make_it() -> None:
    """The table holds middles: where they stand in another order than the means, the page says so."""
    page = compared()
    told = next(s for s in page.sentences if s.startswith("In order of"))
    means = [float(link.to.value) for link in links_of(told)]  # type: ignore[attr-defined]
    assert len(means) == len(page.order)
    assert means == sorted(means, reverse=True)
    middles = {
        name: middle(cell) for name, cell in zip(page.head[1:], row(page, "Worth today")[1:], strict=True)
    }
    by_middle = tuple(sorted(middles, key=lambda name: -middles[name]))
    warned = any("by that the order is another" in s for s in page.sentences)
    assert warned == (by_middle != page.order)


def test_s8_means_that_stand_as_the_middles_do_need_no_word() -> None:
    """By the feed every future has the same order, and so have mean and middle."""
    page = compare(_made(), ["here", "wide", "bare"], NOW, years=4, members=5, by="feed")
    assert not any("by that the order is another" in s for s in page.sentences)
