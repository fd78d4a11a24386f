"""s24, looks at ground and animals: each shortens a stay or flags a sale, and none diagnoses."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from browseline.chain import Picture, today
from browseline.chain.answers import answer_to
from browseline.events import Event, Looked, Weighed
from browseline.limits import bites
from tests.acceptance.cases import EWE, at, entry, farm_folder, mob, page, quantity, seen, walked

CAME, NOW = "2026-05-04 08:00", "2026-05-05 08:00"
DIAGNOSES = ("anaemi", "anemi", "worms have", "infected", "dose", "drench", "disease", "lame")


def standing(folder: Path, *events: Event) -> Picture:
    farm_folder(
        folder, as_of=date(2026, 5, 1), mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="9", since=CAME)]
    )
    return seen(folder, NOW, [*walked(CAME, dict.fromkeys(range(1, 13), 8.0)), *events])


def told(picture: Picture, event: Event) -> str:
    return " ".join([*answer_to(event, picture), page(today(picture).warnings)])


def test_ruts_end_the_stay_and_are_a_firm_limit_where_the_wet_rule_is_on(tmp_path: Path) -> None:
    event = entry("2026-05-05 07:00", "9", Looked("ground", ruts="hoof prints over the boot"))
    picture = standing(tmp_path, event)
    ground = next(b for b in bites(picture.scene, "ewes", "9") if b.limit == "ground")
    assert ground.hardness == "hard"
    assert ground.moment is not None
    assert ground.moment.likely == at("2026-05-05 07:00")
    assert "Move now" in told(picture, event)
    dry = entry("2026-05-05 07:30", "9", Looked("ground", ruts="none"))
    after = standing(tmp_path / "dry", event, dry)
    assert all(b.limit != "ground" for b in bites(after.scene, "ewes", "9"))


def test_a_look_of_an_earlier_stay_ends_nothing_now(tmp_path: Path) -> None:
    event = entry("2026-05-03 07:00", "9", Looked("ground", ruts="deep"))
    assert all(b.limit != "ground" for b in bites(standing(tmp_path, event).scene, "ewes", "9"))


def test_a_pale_eyelid_flags_a_sale_until_a_better_look(tmp_path: Path) -> None:
    event = entry("2026-05-05 07:00", "9", Looked("animals", animal="0123", eyelid="4"))
    words = told(standing(tmp_path, event), event)
    assert "0123: eyelid 4" in words
    assert "Not for sale or a move before somebody who may has looked: ring the vet" in words
    assert not any(word in words.casefold() for word in DIAGNOSES)
    better = entry("2026-05-05 07:30", "9", Looked("animals", animal="0123", eyelid="2"))
    assert "eyelid" not in told(standing(tmp_path / "better", event, better), better)


def test_falling_condition_and_weight_are_told_with_both_numbers(tmp_path: Path) -> None:
    events = [
        entry("2026-05-04 09:00", "9", Looked("animals", condition="3")),
        entry("2026-05-05 07:00", "9", Looked("animals", condition="2.5")),
        entry("2026-05-04 09:00", "ewes", Weighed(quantity("150 lb", "mass"), "ewes")),
        entry("2026-05-05 07:10", "ewes", Weighed(quantity("144 lb", "mass"), "ewes")),
    ]
    words = told(standing(tmp_path, *events), events[1])
    assert "condition 3, then 2.5 on 5 May" in words
    assert "ewes weighed 150 lb, then 144 lb on 5 May" in words
    assert not any(word in words.casefold() for word in DIAGNOSES)
    rising = standing(tmp_path / "rising", events[3], entry("2026-05-05 07:40", "ewes",
                      Weighed(quantity("151 lb", "mass"), "ewes")))  # fmt: skip
    assert "weighed" not in page(today(rising).warnings)
