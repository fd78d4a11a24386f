"""Every kind of stock loads; what no table knows is left unknown or marked a guess, never 0."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline import tables
from browseline.errors import errors_in
from browseline.farm import breeding, names, needs
from browseline.farm.read import read
from browseline.farm.records import Line, Stage
from browseline.record.heads import Group
from browseline.record.state import HeadLine
from browseline.units import parse

KINDS = ("sheep", "goat", "cattle", "pig", "horse", "chicken", "turkey", "goose", "duck")
CLASSES = [(kind, klass) for kind in KINDS for klass in names.words("class", kind)]


def folder(path: Path, *lines: dict[str, Any]) -> Path:
    made = {
        "schema": 1, "name": "Kinds", "time_zone": "America/New_York", "units": "acres",
        "as_of": date(2026, 5, 1), "paddocks": [{"id": "1", "name": "1", "deeded": "3 ac"}],
        "mobs": [{"id": "mob", "name": "Mob", "at": "1", "lines": list(lines)}],
    }  # fmt: skip
    (path / "farm.toml").write_text(tomlkit.dumps(made), "utf-8")
    return path


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_loads(kind: str, tmp_path: Path) -> None:
    klass = next(iter(names.words("class", kind)), "layers")
    reading = read(folder(tmp_path, {"kind": kind, "class": klass, "head": 7}))
    assert not errors_in(reading.findings)
    assert reading.farm is not None
    assert reading.farm.mobs[0].lines[0].kind == kind


def test_a_kind_without_any_table_is_asked_about_and_left_unknown(tmp_path: Path) -> None:
    reading = read(folder(tmp_path, {"kind": "duck", "class": "layers", "head": 7}))
    assert "farm.kind_unknown" in [f.code for f in reading.findings]
    duck = HeadLine("duck", "layers", 7)
    assert needs.intake(duck) is None
    assert needs.weight(duck) is None
    assert needs.water((duck,), hot=True) is None
    assert needs.demand((duck, HeadLine("sheep", "ram", 1))) is None
    assert needs.diet("duck") is None


def test_what_is_typed_of_an_unknown_kind_is_used() -> None:
    duck = HeadLine(
        "duck", "layers", 10, intake=parse("0.2 kg/d", "intake"), water=parse("1 L/d", "water use")
    )
    eaten, drunk = needs.demand((duck,)), needs.water((duck,), hot=False)
    assert eaten is not None
    assert drunk is not None
    assert eaten.value == pytest.approx(2.0)
    assert drunk.value == pytest.approx(10.0)
    assert (eaten.mark, drunk.mark) == ("M", "M")


@pytest.mark.parametrize(("kind", "klass"), CLASSES, ids=lambda x: str(x))
def test_no_need_of_any_class_is_0_and_each_wears_the_mark_of_its_row(kind: str, klass: str) -> None:
    line = HeadLine(kind, klass, 1)
    eats, cool, hot = needs.intake(line), needs.water((line,), hot=False), needs.water((line,), hot=True)
    assert eats is not None
    assert cool is not None
    assert hot is not None
    assert 0 < (eats.low or 0) <= (eats.value or 0) <= (eats.high or 0)
    assert 0 < (cool.value or 0) <= (hot.value or 0)
    basis = tables.row("animals", "intake", f"{kind}, {klass}").basis
    if basis in ("from-memory", "common-practice"):
        assert eats.mark == "G"


def test_twice_the_weight_eats_twice() -> None:
    for kind, klass in CLASSES:
        one, two = (needs.intake(HeadLine(kind, klass, 1, parse(w, "mass"))) for w in ("50 kg", "100 kg"))
        assert one is not None
        assert two is not None
        assert two.value == pytest.approx(2 * (one.value or 0))


def test_pigs_and_poultry_are_no_grazers_on_inches_of_grass() -> None:
    lines = tuple(HeadLine(kind, "", 1) for kind in KINDS)
    assert {line.kind for line in needs.on_grass(lines)} == {"sheep", "goat", "cattle", "horse", "goose"}


def test_diets_of_a_hundred_parts_and_goats_browse_most() -> None:
    shares = {kind: needs.diet(kind) for kind in KINDS}
    known = {kind: [f.value or 0 for f in found] for kind, found in shares.items() if found is not None}
    assert all(sum(parts) == 100 for parts in known.values())
    assert max(known, key=lambda kind: known[kind][2]) == "goat"
    assert shares["pig"] is None


# ---------------------------------------------------------------- breeding calendar


def ewes(births: date | None, **more: Any) -> Line:
    return Line("sheep", "ewe maintenance", 60, parse("150 lb", "mass"), births=births, **more)


def pounds(line: Line, day: date) -> float:
    eaten = needs.intake(Group.of(line).line(day))
    assert eaten is not None
    return round((eaten.value or 0) / 0.45359237, 2)


@pytest.mark.parametrize("later_d", [0, 10])
def test_a_day_of_lambing_makes_the_steps_and_moves_them(later_d: int) -> None:
    """2.6 -> 4.0 -> 4.4 lb/d (ohio_sheep2023); 150 d less 15 weeks = 45 d late (nrc1985_sheep)."""
    births = date(2026, 4, 20) + timedelta(days=later_d)
    for offset, eats in ((-100, 2.6), (-46, 2.6), (-45, 4.0), (-1, 4.0), (0, 4.4), (89, 4.4), (90, 2.6)):
        assert pounds(ewes(births), births + timedelta(days=offset)) == eats


def test_stages_that_were_typed_stand_over_the_calendar() -> None:
    typed = (Stage(date(2026, 3, 1), "in milk", parse("5 lb/d", "intake")),)
    assert breeding.stages_of(ewes(date(2026, 4, 20), stages=typed)) == typed
    assert breeding.stages_of(ewes(None)) == ()


@pytest.mark.parametrize(
    ("kind", "klass", "gestation_d"),
    [("goat", "doe maintenance", 150), ("cattle", "beef cow dry gestating", 283),
     ("pig", "sow gestating", 114),
     ("horse", "mature idle", 340), ("horse", "donkey mature", 370)],
)  # fmt: skip
def test_gestation_by_kind_as_printed(kind: str, klass: str, gestation_d: int) -> None:
    births = date(2026, 4, 20)
    assert breeding.conceived(kind, klass, births) == births - timedelta(days=gestation_d)
    stages = breeding.calendar(kind, klass, births)
    milk = next(s for s in stages if s.from_day == births)
    assert milk.stage in names.words("class", kind)


def test_poultry_have_no_calendar_of_ours() -> None:
    assert breeding.calendar("chicken", "layer", date(2026, 4, 20)) == ()
    assert breeding.conceived("duck", "layer", date(2026, 4, 20)) is None


def test_births_are_read_and_written(tmp_path: Path) -> None:
    line = {"kind": "sheep", "class": "ewe maintenance", "head": 60, "births": date(2026, 4, 20)}
    farm = read(folder(tmp_path, line)).farm
    assert farm is not None
    assert farm.mobs[0].lines[0].births == date(2026, 4, 20)
    from browseline.farm.text import text_of

    assert "births = 2026-04-20" in text_of(farm)


# ---------------------------------------------------------------- what they are kept for


def test_a_keeper_of_no_known_kind_is_told(tmp_path: Path) -> None:
    path = folder(tmp_path, {"kind": "sheep", "class": "ram", "head": 1})
    text = (path / "farm.toml").read_text("utf-8")
    (path / "farm.toml").write_text(text + '\n[keeper.llama]\nexperience = "none"\n', "utf-8")
    assert "farm.keeper_kind" in [f.code for f in read(path).findings]


@pytest.mark.parametrize(("kind", "target"), [("turn", "4 in"), ("brush", "4 in"), ("keep_down", "30 %")])
def test_a_target_of_the_wrong_sort_is_a_fault(kind: str, target: str, tmp_path: Path) -> None:
    path = folder(tmp_path, {"kind": "sheep", "class": "ram", "head": 1})
    job = f'\n[[jobs]]\nid = "j"\nkind = "{kind}"\npaddock = "1"\ntarget = "{target}"\n'
    (path / "farm.toml").write_text((path / "farm.toml").read_text("utf-8") + job, "utf-8")
    assert errors_in(read(path).findings)


def test_water_at_a_temperature_nobody_printed_is_a_range() -> None:
    """For sheep no source prints temperatures: cool and hot are the range; of a duck nothing is known."""
    ewes_, ducks = (HeadLine("sheep", "ewe maintenance", 2),), (HeadLine("duck", "layers", 2),)
    figure = needs.water_at((*ewes_, HeadLine("sheep", "ram", 0)), 30.0)
    assert figure is not None
    for got, litres in ((figure.low, 6.2), (figure.value, 8.1), (figure.high, 10.0)):
        assert got == pytest.approx(litres)
    assert needs.water_at(ducks, 30.0) is None
    assert needs.water((), hot=True) is None
