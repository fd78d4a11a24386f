"""m12 on every page: each number printed opens, on the example farm and on the farm of the cases.

A page is walked text by text. A number in it is a day, a time or a part of a name of the farm, or it is
linked to a figure (to a source, where a source is quoted); every figure opens by its key to a formula or an
origin, with a mark, and what it is made from opens too.
"""

from __future__ import annotations

import ast
import json
import math
import operator
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from typer.testing import CliRunner

from browseline import tables
from browseline.chain import Picture, look
from browseline.chain.formulas import formula_words
from browseline.chain.in_force import keep_plan
from browseline.chain.keys import figures_of, found_by, page_name, parts_of, printed, texts_of
from browseline.chain.pages import PAGES
from browseline.chain.why import Opened, why, why_of
from browseline.cli.demo import copy_example, example
from browseline.cli.group import app
from browseline.errors import BadInput
from browseline.events import (
    Body,
    Cut,
    Earned,
    Event,
    Fed,
    Looked,
    Lost,
    Moved,
    Picked,
    Planted,
    Shut,
    Spent,
    Stormed,
    Treated,
    Worked,
)
from browseline.exchange.plain import document, plain
from browseline.figures import Figure, weakest
from browseline.ledger.account import Account
from browseline.moves.season import plan
from browseline.units import UNITS, System, parse
from browseline.words import linked, say
from tests.acceptance.cases import at, entry, farm_folder, grows, seen, walked
from tests.loose import loose

FIRST, LAST = date(2026, 4, 20), date(2026, 10, 31)
SPRING, HARVEST, WINTER = "2026-05-20 06:00", "2026-09-02 06:00", "2026-12-10 06:00"
YARD = "2026-04-22 06:00"
"""Two days after the farm began, all stock still in the yard."""
WORDS = ("One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve")
DROPS = {"5": date(2026, 9, 25), "6": date(2026, 9, 25), "7": date(2026, 9, 25), "10": date(2026, 9, 6)}
EWES = {"kind": "sheep", "class": "ewe lactating twins", "head": 60, "weight": "150 lb",
        "stages": [{"from": FIRST, "stage": "in milk", "intake": "4.4 lb/d"},
                   {"from": date(2026, 6, 19), "stage": "dry", "intake": "2.6 lb/d"}]}  # fmt: skip
LAMBS = {"kind": "sheep", "class": "lambs", "head": 96, "intake": "1.8 lb/d"}
MOBS = [
    {"id": "ewes", "name": "Ewes", "at": "1", "since": "2026-04-20 06:00", "lines": [EWES, LAMBS]},
    {"id": "pigs", "name": "Pigs", "at": "9", "since": "2026-05-10 06:00",
     "lines": [{"kind": "pig", "class": "grower 20-60 kg", "head": 6}]},
    {"id": "goats", "name": "Goats", "at": "12", "since": "2026-05-12 06:00",
     "lines": [{"kind": "goat", "class": "doe maintenance", "head": 14, "intake": "3 lb/d"}]},
]  # fmt: skip
PROMISES = [
    {"id": "season", "kind": "grazing", "what": "grazing", "from": FIRST, "to": LAST},
    {"id": "feed", "kind": "feed", "what": "feed lasts", "from": FIRST, "to": date(2027, 4, 15)},
    {"id": "lease", "kind": "lease", "what": "the hill lease", "from": FIRST, "to": date(2029, 5, 1),
     "paddocks": ["5", "6", "7"]},
]  # fmt: skip
JOBS = [
    {"id": "turn", "name": "Turn the corner", "kind": "turn", "paddock": "9", "mob": "pigs", "target": "40 %",
     "from": date(2026, 5, 10), "to": date(2026, 6, 10)},
    {"id": "brush", "name": "Clear the bank", "kind": "brush", "paddock": "12", "mob": "goats",
     "target": "15 %", "from": date(2026, 5, 12)},
]  # fmt: skip
YOUNG = [
    {"id": "young", "name": "Young walnuts", "species": "walnut_english", "paddock": "5", "planted": 2025,
     "trees": 40, "harvested": False},
    {"id": "apples", "name": "Apples", "species": "apple_standard", "paddock": "5", "planted": 2022,
     "trees": 12, "harvested": False},
]  # fmt: skip
BARN = {"id": "barn", "bales": "60 bales", "bale_weight": "800 lb", "dry": "88 %", "feeding_loss": "15 %",
        "price": "$60"}  # fmt: skip


def written(folder: Path, *, yard: bool = False) -> Path:
    """Write the farm of the cases with stock, trees, jobs and store, its paddocks named in words."""
    farm_folder(
        folder, as_of=FIRST, mobs=MOBS, harvest=DROPS, sacrifice=("11",), promises=PROMISES, jobs=JOBS,
        hay=[BARN], rules={"rest": "35 d", "normal_loss": "3 %", "sale_notice": "10 d"},
        prices={"walnut_english": "$32"}, labour={"hours_day": "2 h"},
        contacts={"vet": {"name": "the vet", "phone": "555 0100"}},
    )  # fmt: skip
    path = folder / "farm.toml"
    text: Any = tomlkit.parse(path.read_text(encoding="utf-8")).unwrap()
    for own in text["mobs"] if yard else ():
        own["at"] = "yard"
        own["since"] = "2026-04-20 06:00"
    for paddock, name in zip(text["paddocks"], WORDS, strict=True):
        paddock["name"] = name
    for planting in text["plantings"]:
        planting["name"] = planting["name"].replace("10", "Ten").replace("11 and 12", "Eleven")
        planting["name"] = (
            planting["name"].replace(" 5", " Five").replace(" 6", " Six").replace(" 7", " Seven")
        )
    text["plantings"] += YOUNG
    text["soils"] = {"low": {"drainage": "somewhat poorly drained"}}
    text["swards"]["pasture"] |= {"yearly_yield": "4800 lb/ac", "harvest_share": "45 %"}
    for paddock in text["paddocks"][4:7]:
        paddock["soil"] = "low"
    path.write_text(tomlkit.dumps(text), encoding="utf-8")
    return folder


def kept(*bodies: tuple[str, str, Body]) -> list[Event]:
    return [entry(when, subject, body) for when, subject, body in bodies]


def record() -> list[Event]:
    """Return a year's entries of every sort that a page counts."""
    heights = [grows("2026-04-20 08:00", "20 lb/ac/d", date(2026, 5, 18))]
    heights += walked("2026-04-20 07:00", [4.2, 4, 5, 6, 6, 5.5, 5, 6.5, 6, 5.5, 4.5, 4])
    heights += walked("2026-05-18 07:00", {1: 4, 2: 9, 3: 10, 4: 8, 8: 11})
    heights += walked("2026-08-30 07:00", {2: 6, 3: 7, 8: 8})
    return [*heights, grows("2026-05-18 08:00", "30 lb/ac/d", date(2026, 6, 18)), *kept(
        ("2026-04-28 08:00", "ewes", Moved("2")),
        ("2026-05-02 08:00", "ewes", Moved("1")),
        ("2026-05-01 08:00", "ewes", Fed(parse("2 bales", "count"), lot="barn")),
        ("2026-05-03 08:00", "ewes", Fed(parse("12 lb", "mass"), what="mineral")),
        ("2026-05-04 08:00", "ewes", Fed(parse("150 gal", "volume"), what="water")),
        ("2026-05-04 09:00", "farm", Spent(parse("$40", "money"), "mineral", weight=parse("50 lb", "mass"))),
        ("2026-05-05 09:00", "farm", Spent(parse("$90", "money"), "hay", bales=parse("18 bales", "count"))),
        ("2026-05-06 09:00", "hazel", Picked(parse("40 lb", "mass"))),
        ("2026-05-07 09:00", "farm", Earned(parse("$300", "money"), "hazel", weight=parse("25 lb", "mass"))),
        ("2026-05-08 09:00", "farm", Worked(parse("90 min", "time"), "fence")),
        ("2026-05-09 09:00", "walnuts-5", Lost(24, "late May freeze")),
        ("2026-05-10 09:00", "walnuts-5", Planted(3, "walnut_english")),
        ("2026-05-11 09:00", "3", Cut("hay", bales=parse("22 bales", "count"))),
        ("2026-05-12 09:00", "4", Shut("cherry down, 2 limbs", until="cleared")),
        ("2026-05-13 09:00", "5", Looked("trees", seen=30, bitten=5, barked=2)),
        ("2026-05-14 09:00", "9", Looked("ground", bare=parse("20 %", "share"))),
        ("2026-05-15 09:00", "12", Looked("brush", leaf=parse("60 %", "share"))),
        ("2026-05-16 09:00", "ewe 12", Treated("drench", withdrawal=date(2026, 6, 20))),
        ("2026-05-17 09:00", "farm", Stormed("wind")),
    )]  # fmt: skip


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    """Return the example farm with a plan in force."""
    folder = tmp_path_factory.mktemp("every") / "farm"
    now = copy_example(example(), folder)
    picture = look(folder, now)
    keep_plan(picture, plan(picture.scene, None, 50), "owner")
    return look(folder, now)


@pytest.fixture(scope="module")
def cases(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Picture]:
    """Return the farm of the cases at four times of its year, a plan in force in spring."""
    made = {}
    for instant in (SPRING, HARVEST, WINTER, YARD):
        folder = written(tmp_path_factory.mktemp("quern") / "farm", yard=instant == YARD)
        made[instant] = seen(folder, instant, [e for e in record() if e.observed.end <= at(instant)])
    spring = made[SPRING]
    keep_plan(spring, plan(spring.scene, None, 50), "owner")
    made[SPRING] = look(spring.folder, spring.now)
    return made


def farm(request: pytest.FixtureRequest, which: str) -> Picture:
    """Return one of the farms by its name or its instant."""
    if which == "demo":
        found: Picture = request.getfixturevalue("demo")
        return found
    every: dict[str, Picture] = request.getfixturevalue("cases")
    return every[which]


FARMS = pytest.mark.parametrize("which", ["demo", SPRING, HARVEST, WINTER, YARD])
NAMES = pytest.mark.parametrize("name", PAGES)


@FARMS
@NAMES
def test_no_number_of_a_page_lacks_its_why(request: pytest.FixtureRequest, which: str, name: str) -> None:
    picture = farm(request, which)
    assert loose(picture, PAGES[name].make(picture)) == []


@FARMS
@NAMES
def test_every_key_opens_to_its_own_figure(request: pytest.FixtureRequest, which: str, name: str) -> None:
    picture = farm(request, which)
    page = PAGES[name].make(picture)
    held = figures_of(page)
    assert page_name(page) == name
    for key, figure in held.items():
        assert found_by(held, key) == (key, figure)
        told = why_of(picture, page, key)
        assert (told.page, told.key, told.opened.value) == (name, key, figure.value)
        assert list(faults(told.opened)) == [], key


def faults(one: Opened) -> Iterator[str]:
    """Yield in what way a number, or one that it is made from, does not open."""
    if not (one.formula or one.cited or one.above):
        yield f"{one.key}: neither formula nor origin"
    if not one.name or not one.amount:
        yield f"{one.key}: without words"
    for cited in one.cited:
        if not cited.words or (cited.mark == "B" and not cited.references):
            yield f"{one.key}: a book without its place"
    for part in one.parts:
        yield from faults(part)


@FARMS
@NAMES
def test_the_weakest_mark_wins(request: pytest.FixtureRequest, which: str, name: str) -> None:
    picture = farm(request, which)
    for figure in figures_of(PAGES[name].make(picture)).values():
        for one in tree(figure):
            marks = [part.mark for part in one.parts]
            assert one.mark == weakest([*marks, *(replace(one, parts=()).mark for _ in one.origins[:1])])


def tree(figure: Figure) -> Iterator[Figure]:
    yield figure
    for part in figure.parts:
        yield from tree(part)


@FARMS
@NAMES
def test_json_carries_the_key_beside_every_number(
    request: pytest.FixtureRequest, which: str, name: str
) -> None:
    picture = farm(request, which)
    page = PAGES[name].make(picture)
    made = json.loads(json.dumps(document(page.schema, page)))
    held = figures_of(page)
    for item in objects(made):
        if {"value", "unit", "origins"} <= set(item):
            found = found_by(held, item["key"])
            assert found is not None, item["key"]
            assert (plain(found[1].value), found[1].unit) == (item["value"], item["unit"])
    for number in made["numbers"]:
        assert text_at(made, number["at"])[number["start"] : number["end"]] == number["text"]
        assert (number["key"] in held) != bool(number["source"])


def objects(item: Any) -> Iterator[dict[str, Any]]:
    """Yield every object of a page's JSON, the list of printed numbers left out."""
    if isinstance(item, dict):
        yield item
        for name, inner in item.items():
            if name != "numbers":
                yield from objects(inner)
    elif isinstance(item, list):
        for inner in item:
            yield from objects(inner)


def text_at(made: Any, way: str) -> str:
    for step in way.split("."):
        made = made[int(step)] if isinstance(made, list) else made[step]
    return str(made)


# ---------------------------------------------------------------- as people read it

HYPHEN_MINUS = re.compile(r"(?<![\w.)\]/-])-\d")
"""A number below nothing written with a hyphen; none between two numbers or in a date."""
CODE = re.compile(r"\b[a-z]{3,}(?:19|20)\d\d[a-z]?\b|\bspg\b")
"""A source as the tables name it, or a short form that a table heads a column with."""
NOT_READ = ("schema", "key", "case", "equation")
"""Parts of a record that are for machines: what is printed of them is in its sentences."""
TYPED = ("settings",)
"""Pages that name codes for somebody to type them."""


@FARMS
@NAMES
def test_below_nothing_stands_a_true_minus_and_no_code_is_printed(
    request: pytest.FixtureRequest, which: str, name: str
) -> None:
    picture = farm(request, which)
    page = PAGES[name].make(picture)
    read = [text for way, text in texts_of(page, "") if not way.endswith(NOT_READ)]
    for key in figures_of(page):
        for one in opened_whole(why_of(picture, page, key).opened):
            read += [one.amount, one.span, one.formula]
    assert [text for text in read if HYPHEN_MINUS.search(text)] == []
    assert name in TYPED or [text for text in read if CODE.search(text)] == []


def opened_whole(one: Opened) -> Iterator[Opened]:
    """Yield a number and all that it is made from."""
    yield one
    for part in one.parts:
        yield from opened_whole(part)


# ---------------------------------------------------------------- formulas give their numbers


@FARMS
def test_a_formula_gives_its_number_in_either_units(request: pytest.FixtureRequest, which: str) -> None:
    """Every formula that is arithmetic, worked out by hand in metric units and in those of the page."""
    picture, seen_, wrong = farm(request, which), set[Figure](), []
    for name in PAGES:
        for root in figures_of(PAGES[name].make(picture)).values():
            for one in tree(root):
                if one not in seen_ and one.name not in LOOSE:
                    seen_.add(one)
                    wrong += [text for text in (one.formula, uncoined(one.formula, "acres"))
                              if not gives(text, one)]  # fmt: skip
    assert sum(worked(one.formula, units=True) is not None for one in seen_) > 100
    assert wrong == []


LOOSE = ("grass_days", "below_leave")
"""Figures of the limits whose formula is the short form of a simulation: growth and what stands are in it."""
SIGNS = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv}
UNIT = "|".join(re.escape(unit) for unit in sorted(UNITS, key=len, reverse=True))
QUANTITY = re.compile(rf"(\d[\d,]*(?:\.\d+)?(?:e[+-]?\d+)?|\)) ({UNIT})(?![\w/])")


def uncoined(formula: str, system: System) -> str:
    """Return a formula as it is read, the sign of money that it gets there as the unit that it was."""
    told = formula_words(formula, system)
    return told if "$" in formula else re.sub(r"\$(\d[\d,.]*)((?:/[A-Za-z]+)*)", r"\1 USD\2", told)


def worked(formula: str, *, units: bool) -> float | None:
    """Return what a formula comes to, each amount in the base unit of its kind; None where it is words."""
    plain_ = formula.removesuffix(", rounded up")
    for sign, code in (("−", "-"), ("×", "*"), ("÷", "/")):
        plain_ = plain_.replace(sign, code)
    plain_ = re.sub(r"(?<=\d),(?=\d{3})", "", plain_)
    turned = QUANTITY.sub(lambda found: _amount(found, units), plain_)
    if not re.fullmatch(r"[\d.+\-*/() e]*\d[\d.+\-*/() e]*", turned):
        return None
    try:
        return _value(ast.parse(turned, mode="eval").body)
    except SyntaxError:
        return None


def _value(node: ast.expr) -> float:
    """Return what an expression of numbers, brackets and the four signs comes to."""
    if isinstance(node, ast.BinOp):
        return float(SIGNS[type(node.op)](_value(node.left), _value(node.right)))
    if isinstance(node, ast.UnaryOp):
        return -_value(node.operand)
    assert isinstance(node, ast.Constant)
    assert isinstance(node.value, (int, float))
    return float(node.value)


def _amount(found: re.Match[str], units: bool) -> str:
    factor_ = float(UNITS[found[2]].factor) if units else 1.0
    return f") * {factor_!r}" if found[1] == ")" else f"({found[1]} * {factor_!r})"


def gives(formula: str, figure: Figure) -> bool:
    """Return whether a formula comes to its figure: rounded, or up where it says so; never below 0."""
    if figure.value is None:
        return True
    for units, wanted in ((True, figure.value * float(UNITS[figure.unit].factor)), (False, figure.value)):
        found = worked(formula, units=units)
        if found is None:
            return True
        if math.isinf(wanted):
            return found < 0  # growth keeps up with what is eaten
        if formula.endswith("rounded up"):
            found = math.ceil(found - 1e-6)
        if max(found, min(wanted, 0.0)) == pytest.approx(wanted, rel=0.02, abs=0.02):
            return True
    return False


def test_a_formula_that_does_not_give_its_number_is_caught() -> None:
    assert not gives("3 × 4 kg", Figure("x", 13.0, "kg"))
    assert gives("3 × 4 kg", Figure("x", 12.0, "kg"))
    assert not gives("31 ÷ 5", Figure("x", 7.0, "1"))
    assert gives("31 ÷ 5, rounded up", Figure("x", 7.0, "1"))


@pytest.mark.parametrize(
    ("formula", "told"),
    [
        ("1 ha × (10 − 5) cm × 100 kg/ha/cm", "2.471 ac × (3.937 in − 1.969 in) × 226.6 lb/ac/in"),
        ("100 − 40 kg", "220.5 lb − 88.18 lb"),
        ("100 kg ÷ (5 − 1) kg/d", "220.5 lb ÷ (11.02 lb/d − 2.205 lb/d)"),
        ("60 × 30 d × 2 kg/d + 2 × 1 d × 3 kg/d", "60 × 30 d × 4.409 lb/d + 2 × 1 d × 6.614 lb/d"),
        ("362.9 kg × 0.88 × (1 − 0.08)", "800.1 lb × 0.88 × (1 − 0.08)"),
        ("5 × 2 kg + 3", "5 × 2 kg + 3"),
        ("the middle year of 12 kg", "the middle year of 26.46 lb"),
    ],
)
def test_a_formula_is_turned_whole_or_not_at_all(formula: str, told: str) -> None:
    assert formula_words(formula, "acres") == told
    assert formula_words(formula, "hectares") == formula


@pytest.mark.parametrize(
    ("formula", "told"),
    [
        ("6 d × 30 USD/d", "6 d × $30/d"),
        ("12 × 3.20 USD", "12 × $3.20"),
        ("10 ha × 148.3 USD/ha", "24.71 ac × $148.3/ha"),
        ("5 CAD", "5 CAD"),
    ],
)
def test_money_in_a_formula_is_written_as_on_the_page(formula: str, told: str) -> None:
    assert formula_words(formula, "acres") == told


# ---------------------------------------------------------------- that the walk finds what it should


def test_the_farm_of_the_cases_prints_much(cases: dict[str, Picture]) -> None:
    """Every page that has something to count prints numbers: the walk passes over no empty pages."""
    spring = cases[SPRING]
    for name in ("today", "walk", "season", "shut", "ready", "harvest", "record", "store", "balance", "share",
                 "hours", "losses", "site", "purpose", "settings"):  # fmt: skip
        assert any(one.key for one in printed(PAGES[name].make(spring))), name


def test_a_number_without_a_figure_is_found(cases: dict[str, Picture]) -> None:
    spring = cases[SPRING]
    bare = Account("browseline/bare/1", "bare", ("Hay: 60 bales on 3 May.", "Gate of Five shut at 7:30."))
    assert loose(spring, bare) == ["sentences.0: '60' in 'Hay: 60 bales on 3 May.'"]
    figure = Figure("hay_bales", 60.0, "bales", formula="60")
    told = (say("account.hours.due", due=linked("60", figure)),)
    assert loose(spring, replace(bare, sentences=told)) == []


def test_p10_hay_opens_to_bales_weight_and_losses(cases: dict[str, Picture]) -> None:
    """60 bales at the start, 22 cut, 18 bought, 2 fed: 98 × 800 lb × 0.88 × 0.85, who and when beside it."""
    spring = cases[SPRING]
    told = why(spring.folder, spring.now, "store.hay_eaten_lb")
    assert told.key == "store.hay_eaten_kg"
    assert told.opened.value == pytest.approx(98 * 800 * 0.88 * 0.85 * 0.45359237)
    lot, bale = told.opened.parts
    assert [part.value for part in lot.parts] == [60, 2, 18, 22]
    assert lot.formula == "60 − 2 + 18 + 22"
    assert {cited.words for part in lot.parts[1:] for cited in part.cited} == {
        "measured or typed here by owner on 1 May 2026", "measured or typed here by owner on 5 May 2026",
        "measured or typed here by owner on 11 May 2026",
    }  # fmt: skip
    assert lot.parts[0].cited[0].words == "typed in the farm's file, which stands for 20 Apr 2026"
    assert lot.parts[0].age_d == 30
    loss = next(part for part in bale.parts if part.key.endswith("store_loss.barn"))
    assert (loss.mark, told.opened.mark) == ("G", "G"), "a loss that nobody typed is a guess, so is the whole"


def test_a_part_opens_by_its_own_key(cases: dict[str, Picture]) -> None:
    spring = cases[SPRING]
    told = why(spring.folder, spring.now, "store.hay_eaten_kg/bale_eaten.barn_kg/bale_weight.barn_kg")
    assert (told.opened.typed, told.opened.amount) == ("800 lb", "800 lb")


def test_a_key_that_names_nothing_is_told_with_the_nearest(cases: dict[str, Picture]) -> None:
    spring = cases[SPRING]
    with pytest.raises(BadInput) as wrong:
        why(spring.folder, spring.now, "store.hay_eeten_kg")
    assert "store.hay_eaten_kg" in wrong.value.findings[0].mend
    with pytest.raises(BadInput) as wrong:
        why(spring.folder, spring.now, "barn.hay")
    assert "store" in wrong.value.findings[0].mend


def test_the_command_opens_a_key_as_the_library_does(cases: dict[str, Picture]) -> None:
    spring = cases[SPRING]
    env = {"BROWSELINE_FARM": str(spring.folder), "BROWSELINE_NOW": spring.now.isoformat(), "COLUMNS": "80"}
    done = CliRunner().invoke(app, ["why", "losses.trees_alive.walnuts-5"], env=env)
    assert done.exit_code == 0, done.output
    assert "Formula: 109 + 3 − 24" in done.stdout
    told = json.loads(CliRunner().invoke(app, ["why", "store.hay_eaten_kg", "--json"], env=env).stdout)
    assert told["schema"] == "browseline/why/1"
    assert told["opened"]["value"] == why(spring.folder, spring.now, "store.hay_eaten_kg").opened.value


def test_a_source_row_is_told_with_its_place(cases: dict[str, Picture]) -> None:
    """The oldest reading of a balance and the row of the table that a share of the year was read from."""
    spring = cases[SPRING]
    page = PAGES["balance"].make(spring)
    april = why_of(spring, page, "balance.supply.2026-04_kg").opened
    share = next(part for part in april.parts if "month_share" in part.key)
    row = tables.row("balance", "month_share", "Tall grass + N, 4")
    assert any(row.locator in reference for cited in share.parts[0].cited for reference in cited.references)


def test_keys_stay_as_they_are_when_a_day_passes(cases: dict[str, Picture]) -> None:
    spring = cases[SPRING]
    later = look(spring.folder, spring.now + timedelta(days=1))
    for name in ("store", "balance", "hours", "losses", "settings"):
        keys = [list(figures_of(PAGES[name].make(picture))) for picture in (spring, later)]
        assert keys[0] == keys[1], name


def test_parts_of_one_name_are_told_apart() -> None:
    one, other = (Figure("area_whole", value, "ha", formula="x") for value in (1.0, 2.0))
    whole = Figure("area_together", 3.0, "ha", formula="1 + 2", parts=(one, other))
    assert parts_of("k", whole) == {"k/area_whole_ha": one, "k/area_whole_ha-2": other}
