"""p3, an injured ewe leaves the mob with her lambs, and comes back."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from browseline.chain import Picture, today
from browseline.chain.answers import answer_to
from browseline.chain.named import heads_words
from browseline.events import Back, Counted, Event, Penned, Sold, Treated
from browseline.farm.needs import demand
from browseline.record.fold import fold_each
from tests.acceptance.cases import EWE, LAMBS, at, entry, farm_folder, lb, mob, page, seen, walked

MILK = {"intake": "4.4 lb/d"}
OUT, BACK = "2026-05-03 07:30", "2026-05-12 08:00"
WITHDRAWAL = date(2026, 5, 25)


def entries() -> dict[str, Event]:
    return {
        "pen": entry(OUT, "ewes", Penned("0123", ("ewes=1", "lambs=2"), "lame")),
        "vet": entry("2026-05-03 11:00", "0123", Treated("given by the vet", WITHDRAWAL, "vet")),
        "back": entry(BACK, "ewes", Back("0123")),
    }


def lambing(folder: Path, now: str, *events: Event) -> Picture:
    """Return the case: 60 ewes at 4.4 and 96 lambs at 1.0 in paddock 8."""
    farm_folder(
        folder,
        as_of=date(2026, 5, 1),
        mobs=[mob(EWE | MILK, LAMBS | {"intake": "1.0 lb/d"}, place="8", since="2026-05-01 07:00")],
    )
    return seen(folder, now, [*walked("2026-05-01 07:00", {8: 12.0, 9: 7.0}), *events])


def eats(picture: Picture) -> float:
    needs = demand(picture.scene.mobs[0].lines)
    assert needs is not None
    return lb(needs.value)


def test_p3_heads_and_demand(tmp_path: Path) -> None:
    made = entries()
    before = lambing(tmp_path / "before", "2026-05-03 06:00")
    penned = lambing(tmp_path / "penned", "2026-05-04 06:00", made["pen"], made["vet"])
    back = lambing(tmp_path / "back", "2026-05-12 20:00", *made.values())
    assert [heads_words(p.scene.mobs[0]) for p in (before, penned, back)] == [
        "60 ewes + 96 lambs", "59 ewes + 94 lambs", "60 ewes + 96 lambs",
    ]  # fmt: skip
    assert eats(before) == pytest.approx(360.0, rel=0.01)
    assert eats(penned) == pytest.approx(353.6, rel=0.01)
    assert 100 * (eats(penned) / eats(before) - 1) == pytest.approx(-1.8, abs=0.05)
    assert eats(back) == pytest.approx(360.0, rel=0.01)


def test_p3_every_day_reconciles(tmp_path: Path) -> None:
    """On each day a count of what should stand there raises no question: nobody is missing."""
    picture = lambing(tmp_path, "2026-05-15 20:00", *entries().values())
    days = [at("2026-05-01 18:00") + timedelta(days=d) for d in range(14)]
    counts = [entry(day.strftime("%Y-%m-%d %H:%M"), "ewes", Counted(_expected(day))) for day in days]
    states = fold_each(picture.farm, [*picture.events, *counts], [day + timedelta(hours=1) for day in days])
    assert len(states) == 14
    for state in states:
        assert state.questions == ()
        pens = sum(line.head for pen in state.mobs[0].pens for line in pen.lines)
        assert state.mobs[0].head + pens == 60 + 96


def _expected(day: datetime) -> tuple[str, ...]:
    penned = date(2026, 5, 3) <= day.date() < date(2026, 5, 12)
    return ("ewes=59", "lambs=94") if penned else ("ewes=60", "lambs=96")


def test_p3_pen_days_are_not_pasture_days(tmp_path: Path) -> None:
    """8 is eaten by 60 + 96 to the 3rd and from the 12th, by 59 + 94 between; the pen is no stay."""
    picture = lambing(tmp_path, "2026-05-13 07:00", *entries().values())
    assert {s.place for s in picture.state.stays} == {"8"}
    herbage = picture.scene.herbage
    i = herbage.index("8")
    left_lb_ac = herbage.numbers[i].height_cm(float(herbage.mass_kg_ha[0, i])) / 2.54 * 275
    penned_d = (at(BACK) - at(OUT)).total_seconds() / 86400
    eaten = 360.0 * (12 - penned_d) + 353.6 * penned_d
    assert left_lb_ac == pytest.approx(12.0 * 275 - eaten / 0.7 / 3.0, abs=0.5)


def test_p3_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    made = entries()
    picture = lambing(tmp_path, "2026-05-03 12:00", made["pen"], made["vet"])
    after_pen = " ".join(answer_to(made["pen"], picture))
    for words in ("the plan is unchanged", "−1.8 %", "The relief sheet counts 59 ewes + 94 lambs"):
        assert words in after_pen
    after_vet = " ".join(answer_to(made["vet"], picture))
    for words in ("no sale before 25 May", "withdrawal date", "the certifier's call"):
        assert words in after_vet
    told = page(today(picture))
    assert "0123: no sale before 25 May, the vet's withdrawal date." in told
    assert "missing" not in told
    assert any(w.animal == "0123" and w.until == WITHDRAWAL for w in picture.state.withdrawals)
    back = lambing(tmp_path / "back", "2026-05-12 20:00", *made.values())
    assert "60 ewes + 96 lambs" in " ".join(answer_to(made["back"], back))


def test_p3_a_sale_before_the_date_is_flagged_and_one_after_it_is_not(tmp_path: Path) -> None:
    made = entries()
    early = entry("2026-05-20 09:00", "ewes", Sold(1, "ewes"))
    late = entry("2026-05-26 09:00", "ewes", Sold(1, "ewes"))
    before = lambing(tmp_path / "early", "2026-05-20 10:00", *made.values(), early)
    assert any(q.code == "sold_in_withdrawal" for q in before.state.questions)
    assert "may not be sold before 25 May" in " ".join(answer_to(early, before))
    after = lambing(tmp_path / "late", "2026-05-26 10:00", *made.values(), late)
    assert after.state.questions == ()
    assert answer_to(late, after) == ()


def test_p3_trap_lambs_left_in_the_mob(tmp_path: Path) -> None:
    """Had her lambs stayed, the mob would eat 355.6 lb; that is not what is given."""
    picture = lambing(tmp_path, "2026-05-04 06:00", entries()["pen"])
    assert eats(picture) != pytest.approx(59 * 4.4 + 96 * 1.0, abs=0.1)
    assert picture.scene.mobs[0].head == 59 + 94


def test_p3_trap_a_dose(tmp_path: Path) -> None:
    """A treatment has no place for an amount, and no sentence names one."""
    made = entries()
    picture = lambing(tmp_path, "2026-05-03 12:00", made["pen"], made["vet"])
    assert set(made["vet"].body.value()) == {"product", "withdrawal", "by"}
    told = " ".join(
        [page(today(picture)), *answer_to(made["vet"], picture), *answer_to(made["pen"], picture)]
    )
    for word in ("dose", " mL", " mg", "milligram"):
        assert word not in told
