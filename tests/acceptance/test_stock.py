"""m8, s14, s15, s19: plant dangers, breeding calendar, water and stock for the purpose, on real folders."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline.chain import Picture, today
from browseline.chain.purpose import purpose_account, purposes
from browseline.events import Event, Looked, Stormed
from browseline.farm.needs import demand, water
from browseline.limits import bites
from browseline.units import factor
from tests.acceptance.cases import EWE, entry, farm_folder, lb, mob, page, seen, walked
from tests.acceptance.test_p06 import drawn

NOW = "2026-05-06 07:00"
MILK = EWE | {"intake": "4.4 lb/d"}


def changed(
    folder: Path, change: Any, now: str, *events: Event, line: dict[str, Any] | None = None,
    since: str = "2026-05-05 08:00", as_of: date = date(2026, 5, 4),
) -> Picture:  # fmt: skip
    """Return the farm of the cases after a change of its file."""
    farm_folder(folder, as_of=as_of, mobs=[mob(line or MILK, place="1", since=since)])
    text: Any = tomlkit.parse((folder / "farm.toml").read_text("utf-8")).unwrap()
    change(text)
    (folder / "farm.toml").write_text(tomlkit.dumps(text), "utf-8")
    return seen(folder, now, [*walked(since, [7.0] * 12), *events])


# ---------------------------------------------------------------- m8


def pinned(
    folder: Path, now: str, *events: Event, kind: str = "sheep", klass: str = "ewe maintenance"
) -> Picture:
    """Return the farm with a map on which plants are pinned: cherry in 4 and 9, oak in 11, yew in 12."""
    (folder).mkdir(parents=True, exist_ok=True)
    (folder / "map.geojson").write_text(json.dumps(drawn()), "utf-8")
    line = {"kind": kind, "class": klass, "head": 10}

    def placed(text: Any) -> None:
        text["place"] = {"latitude": 41.0, "longitude": -45.0}

    first = date.fromisoformat(now[:10]) - timedelta(days=1)
    return changed(folder, placed, now, *events, line=line, since=f"{first} 08:00", as_of=first)


@pytest.mark.parametrize(
    ("paddock", "now", "kind", "klass"),
    [("12", NOW, "sheep", "ewe maintenance"), ("11", "2026-10-05 07:00", "cattle", "beef steer growing"),
     ("11", "2026-04-20 07:00", "cattle", "beef steer growing")],
)  # fmt: skip
def test_m8_yew_and_oak_shut_ground_by_themselves(
    paddock: str, now: str, kind: str, klass: str, tmp_path: Path
) -> None:
    picture = pinned(tmp_path, now, kind=kind, klass=klass)
    assert any(b.limit == "poison" and b.hardness == "hard" for b in bites(picture.scene, "ewes", paddock))
    assert paddock in {s.paddock for s in today(picture).shut}
    after = today(picture).mobs[0].next
    assert after is None or after.paddock != paddock


def test_m8_after_wind_look_before_any_move(tmp_path: Path) -> None:
    gale = entry("2026-05-06 02:00", "farm", Stormed("gale"))
    words = today(pinned(tmp_path / "gale", NOW, gale)).warnings
    assert any("Look before any move there: 4" in line for line in words)
    looks = [entry("2026-05-06 06:00", p, Looked("plants", clear=True)) for p in ("4", "9", "11", "12")]
    after = today(pinned(tmp_path / "looked", NOW, gale, *looks))
    assert not any("Look before any move" in line for line in after.warnings)


def test_m8_no_safe_amounts(tmp_path: Path) -> None:
    gale = entry("2026-05-06 02:00", "farm", Stormed("gale"))
    said = page(today(pinned(tmp_path, NOW, gale)).mobs[0].ready).casefold()
    assert "safe" not in said
    assert "amount" not in said


# ---------------------------------------------------------------- s14


def eats(folder: Path, births: date, day: date) -> float:
    line = {"kind": "sheep", "class": "ewe maintenance", "head": 60, "weight": "150 lb", "births": births}
    picture = changed(folder, lambda _text: None, f"{day} 12:00", line=line, since="2026-02-01 08:00",
                      as_of=date(2026, 2, 1))  # fmt: skip
    found = demand(picture.scene.mobs[0].lines)
    assert found is not None
    return lb(found.value) / 60


def test_s14_lambing_ten_days_later_moves_the_step_ten_days(tmp_path: Path) -> None:
    """2.6 -> 4.0 -> 4.4 lb a day (ohio_sheep2023) as the day of lambing makes it."""
    births = date(2026, 4, 20)
    for n, (after_d, pounds) in enumerate(((-60, 2.6), (-10, 4.0), (5, 4.4))):
        for m, later in enumerate((0, 10)):
            moved = births + timedelta(days=later)
            folder = tmp_path / f"{n}-{m}"
            assert eats(folder, moved, moved + timedelta(days=after_d)) == pytest.approx(pounds, rel=0.01)
    between = eats(tmp_path / "still", births + timedelta(days=10), births + timedelta(days=5))
    assert between == pytest.approx(4.0)


# ---------------------------------------------------------------- s15


def test_s15_a_150_gal_trailer_is_filled_every_day(tmp_path: Path) -> None:
    """60 x 2.36 gal = 142 gal a day (sdsu_ewe_water2022): 150 gal last 1.06 d in cool weather."""

    def trailer(text: Any) -> None:
        text["paddocks"][0] |= {"water": "trailer", "trough": "150 gal"}

    line = {"kind": "sheep", "class": "ewe lactating twins", "head": 60, "weight": "150 lb"}
    picture = changed(tmp_path, trailer, NOW, line=line)
    drunk = water(picture.scene.mobs[0].lines, hot=False)
    assert drunk is not None
    assert (drunk.value or 0) / factor("gal", "L") == pytest.approx(142, rel=0.01)
    bite = next(b for b in bites(picture.scene, "ewes", "1") if b.limit == "water")
    assert "every day" in bite.do
    lasts = next(f for f in bite.figures if f.name == "water_days")
    assert lasts.high == pytest.approx(150 / 141.6, rel=0.001)


# ---------------------------------------------------------------- s19


def jobs(folder: Path, **job: Any) -> Picture:
    def typed(text: Any) -> None:
        text["jobs"] = [{"id": "j", "name": "The job", "paddock": "9"} | job]
        text["keeper"] = {"goat": {"experience": "none yet", "market": "a neighbour"}}

    return changed(folder, typed, NOW)


def test_s19_turn_ground_beside_bare_hazel_no_pigs_and_why(tmp_path: Path) -> None:
    said = purpose_account(jobs(tmp_path / "a", kind="turn", target="30 %", beside=["hazel"])).sentences
    (pigs,) = [line for line in said if "pig:" in line]
    assert "no. Hazel in 10" in pigs
    assert "without a guard" in pigs
    fine = purpose_account(jobs(tmp_path / "b", kind="turn", target="30 %")).sentences
    assert any("pig: fit" in line for line in fine)


@pytest.mark.parametrize(
    ("kind", "target", "ends", "sooner"),
    [("brush", "15 %", "15 % of the leaf left", "bark is bitten"),
     ("turn", "30 %", "30 % bare", "roots show"),
     ("keep_down", "4 in", "Done at 4 in", "trees are bitten"),
     ("feed_rows", "4 in", "4 in", "harvest date")],
)  # fmt: skip
def test_s19_each_job_has_a_target_and_a_harm_that_end_it(
    kind: str, target: str, ends: str, sooner: str, tmp_path: Path
) -> None:
    (job,) = purposes(jobs(tmp_path, kind=kind, target=target)).jobs
    assert ends in job.target
    assert sooner in job.sooner


def test_s19_kinds_stand_side_by_side_with_marks(tmp_path: Path) -> None:
    page_ = purpose_account(jobs(tmp_path, kind="brush", target="15 %"))
    assert page_.head == ("kind", "eats", "harms", "fence", "drinks", "who buys", "we know them", "mark")
    goat = next(row for row in page_.rows if row[0] == "goat")
    assert goat[5:7] == ("a neighbour", "none yet")
    assert all(row[-1] in "BG" for row in page_.rows)
