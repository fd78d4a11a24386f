"""p15, trees lost: survival, the day to file, a rough cheque, and what must not be in it."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.events import Lost
from browseline.ledger.losses import LossNotice, notices, survival
from tests.acceptance.cases import EWE, entry, farm_folder, mob, seen

DROPS = {place: date(2026, 9, 25) for place in ("5", "6", "7")}
RULE = "tree loss rule as of 1 May 2026"
DEAD = {"walnuts-5": 24, "walnuts-6": 24, "walnuts-7": 23}


def orchard(folder: Path, now: str = "2026-07-11 06:00", **more: Any) -> Picture:
    rules = {"normal_loss": "3 %", "loss_rule": RULE} | more.pop("rules", {})
    farm_folder(
        folder, as_of=date(2026, 5, 1), mobs=[mob(EWE | {"intake": "2.6 lb/d"})], harvest=DROPS, rules=rules,
        prices={"walnut_english": "$32"}, **more,
    )  # fmt: skip
    lost = [entry("2026-07-10 09:00", rows, Lost(trees, "late May freeze")) for rows, trees in DEAD.items()]
    oaks = [entry("2026-07-10 10:00", "oaks", Lost(20, "late May freeze"))]
    return seen(folder, now, lost + oaks)


def notice(picture: Picture) -> LossNotice:
    (only,) = notices(picture.scene)
    return only


def test_p15_may_qualify(tmp_path: Path) -> None:
    found = notice(orchard(tmp_path))
    assert (found.lost.value, found.stood.value) == (71, 327)
    assert 100 * (found.share.value or 0) == pytest.approx(21.7, abs=0.05)
    assert found.above is not None
    assert 100 * (found.above.value or 0) == pytest.approx(18.7, abs=0.05)
    assert found.may_qualify is True


def test_p15_rough_cheque(tmp_path: Path) -> None:
    found = notice(orchard(tmp_path))
    assert found.payable is not None
    assert found.payable.value == pytest.approx(12.1, abs=0.05)
    assert found.cheque is not None
    assert found.cheque.value == pytest.approx(253, rel=0.01)
    assert found.cheque.mark == "G"


def test_p15_file_by(tmp_path: Path) -> None:
    assert notice(orchard(tmp_path)).tell_by == date(2026, 10, 8)


def test_p15_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    page = "\n".join(PAGES["losses"](orchard(tmp_path)).sentences)
    for words in (
        "File by 8 Oct", "within 12 months of approval", "Small cheque, hard date", "The office computes",
        "Rough: 12.1 trees", RULE, "confirm with the office", "the oak strip along 11 and 12",
    ):  # fmt: skip
        assert words in page


def test_p15_trap_paying_on_all_or_counting_the_oaks(tmp_path: Path) -> None:
    found = notice(orchard(tmp_path))
    assert found.cheque is not None
    assert found.cheque.value != pytest.approx(71 * 32 * 0.65, rel=0.2)
    with_oaks = (91 - 0.18 * (327 + 294)) * 32 * 0.65
    assert found.cheque.value != pytest.approx(with_oaks, rel=0.01)
    assert found.species == "walnut_english"


def test_s11_survival_by_planting_and_cause(tmp_path: Path) -> None:
    by_name = {one.planting: one for one in survival(orchard(tmp_path).scene)}
    assert by_name["walnuts-5"].lost == (("late May freeze", 24),)
    assert by_name["walnuts-5"].alive == 85
    assert by_name["oaks"].alive == 274
    assert by_name["hazel"].alive is None


def test_a_small_loss_does_not_qualify_and_no_sum_is_named(tmp_path: Path) -> None:
    found = notice(orchard(tmp_path, rules={"normal_loss": "7 %"}))
    assert found.may_qualify is False
    assert found.cheque is None


def test_the_date_that_has_passed_is_told(tmp_path: Path) -> None:
    page = "\n".join(PAGES["losses"](orchard(tmp_path, "2026-10-10 06:00")).sentences)
    assert "The day to file was 8 Oct, 2 days ago" in page
