"""What is said right after a loss, a feeding of mineral, a planting."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from browseline.chain.answers import answer_to
from browseline.events import Body, Fed, Lost, Planted
from browseline.units import parse
from tests.acceptance.cases import EWE, entry, farm_folder, mob, seen

DROPS = {"5": date(2026, 9, 25)}


def said(folder: Path, subject: str, body: Body, kind: str = "sheep") -> str:
    flock = mob(EWE | {"kind": kind, "class": "own", "intake": "4 lb/d"}, place="1")
    soils = {"valley": {"drainage": "poorly drained"}}
    rules = {"normal_loss": "3 %", "loss_rule": "rule as of 1 May 2026"}
    farm_folder(folder, as_of=date(2026, 5, 1), mobs=[flock], harvest=DROPS, soils=soils, rules=rules)
    event = entry("2026-07-10 09:00", subject, body)
    return "\n".join(answer_to(event, seen(folder, "2026-07-10 10:00", [event])))


def test_a_loss_answers_with_the_day_to_file(tmp_path: Path) -> None:
    told = said(tmp_path, "walnuts-5", Lost(40, "freeze"))
    assert "40 of 109 lost (36.7 %): freeze" in told
    assert "File by 8 Oct, 90 days from now" in told
    assert "rule as of 1 May 2026" in told


@pytest.mark.parametrize("planting", ["oaks", "nowhere"])
def test_a_loss_of_what_bears_no_crop_answers_nothing(tmp_path: Path, planting: str) -> None:
    assert said(tmp_path, planting, Lost(40, "freeze")) == ""


def test_mineral_to_sheep_answers_with_copper(tmp_path: Path) -> None:
    assert "copper that kills sheep" in said(tmp_path, "ewes", Fed(parse("5 lb", "mass"), what="Mineral"))


@pytest.mark.parametrize(("kind", "what"), [("goat", "mineral"), ("sheep", "hay"), ("sheep", "")])
def test_no_copper_where_there_is_none(tmp_path: Path, kind: str, what: str) -> None:
    assert said(tmp_path, "ewes", Fed(parse("5 lb", "mass"), what=what), kind) == ""


def test_a_planting_on_wet_ground_answers_with_the_caution(tmp_path: Path) -> None:
    assert "deep well-drained soil" in said(tmp_path, "walnuts-5", Planted(5))
    assert said(tmp_path / "oaks", "oaks", Planted(5)) == ""
