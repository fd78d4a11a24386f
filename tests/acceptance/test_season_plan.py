"""The season plan on the cases: drought, cherry down, lent goats, nut harvest, pigs, and days away."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from browseline.chain import Picture, look
from browseline.chain.in_force import keep_plan, moves_ahead, plan_in_force
from browseline.chain.season_page import season_page
from browseline.events import Moved, Netted, Shut
from browseline.figures import Figure
from browseline.limits import faces
from browseline.moves import judge, yardstick_of
from browseline.moves.form import Season
from browseline.moves.replan import keeping
from browseline.moves.season import plan
from browseline.record.state import AWAY, YARD
from tests.acceptance.cases import (
    BALE,
    EWE,
    LAMBS,
    P2_HEIGHTS,
    ZONE,
    at,
    entry,
    farm_folder,
    grows,
    lb,
    mob,
    walked,
)
from tests.acceptance.cases import seen as seen_at
from tests.acceptance.test_p06 import after_the_gale
from tests.acceptance.test_p07 import goats, lent
from tests.acceptance.test_p08 import WALNUTS, nut_year
from tests.acceptance.test_p09 import PIGS, TURN

DAY = timedelta(days=1)
TRIES = 4_000


def far(picture: Picture, days: int) -> Picture:
    """Return the same farm with more days ahead."""
    return look(picture.folder, picture.now, horizon_d=days)


def days_in(season: Season, mob_: str, place: str) -> list[date]:
    """Return the days on which a plan has a mob in a place."""
    found: list[date] = []
    for s in season.of(mob_):
        begin, end = s.stay.begin.start, s.stay.end.end if s.stay.end else s.stay.begin.end
        day = begin.astimezone(ZONE).date()
        while s.stay.place == place and datetime(day.year, day.month, day.day, 23, tzinfo=ZONE) < end:
            found.append(day)
            day += DAY
    return found


def usd(figure: Figure) -> float:
    assert figure.value is not None
    return figure.value


# ---------------------------------------------------------------- p2, drought in July


@pytest.mark.parametrize(("growth", "short_lb"), [(False, 19424), (True, 6286)])
def test_p2_the_plan_feeds_what_the_case_is_short_of(tmp_path: Path, growth: bool, short_lb: float) -> None:
    """Hay to 15 September is the shortage of the case and the grass that the plan leaves or takes beyond."""
    end, now = date(2026, 9, 15), "2026-07-08 06:00"
    farm_folder(
        tmp_path, as_of=date(2026, 7, 8), hay=[BALE | {"bales": "40 bales", "price": "$60"}],
        mobs=[mob(EWE | {"intake": "2.6 lb/d"}, LAMBS | {"intake": "2.4 lb/d"}, place="1", since=now)],
        rules={"rest": "45 d", "worm_stay": "69 d", "worm_rest": "1 d", "regrazed_after": "69 d"},
        prices={"entered_early": "$0", "end_cover": "$0"},
    )  # fmt: skip
    events = walked(now, P2_HEIGHTS)
    scene = far(
        seen_at(tmp_path, now, [*events, grows(now, "8 lb/ac/d", end)] if growth else events), 69
    ).scene
    season, yardstick = plan(scene, None, TRIES), yardstick_of(scene, faces(scene))
    left = judge(yardstick, keeping(scene, yardstick, season).old).mass_kg_ha[:, -1]
    above = (left - yardstick.bars.leave_kg_ha[0, 0]) @ yardstick.whole.land.area_ha
    hay = next(f for f in season.parts if f.name == "plan_hay")
    assert lb(hay.value) == pytest.approx(short_lb + 0.70 * lb(float(above.mean())), rel=0.01)
    assert abs(0.70 * lb(float(above.mean()))) < 0.5 * 7238, "nearly all grass is used, little is stripped"
    assert any(s.stay.place == YARD for s in season.stays), "hay is fed off the grass"
    assert usd(season.total) <= usd(season.rule_total)


# ---------------------------------------------------------------- p6, wild cherry down


def test_p6_the_mob_is_out_at_once_and_the_route_is_made_again(tmp_path: Path) -> None:
    before = after_the_gale(tmp_path / "before", storm=False)
    old = plan(before.scene, None, TRIES)
    picture = after_the_gale(
        tmp_path / "after", entry("2026-05-06 06:00", "4", Shut("cherry limb down", "cleared"))
    )
    season = plan(picture.scene, old, TRIES)
    (first, *later) = season.of("ewes")
    assert first.stay.place != "4" or first.stay.end is None or first.stay.end.end <= picture.now
    assert "4" not in {s.stay.place for s in later}
    assert days_in(season, "ewes", "4") == []
    assert any("instead of 4. 4 is not open then" in text for text in season.changes), season.changes


# ---------------------------------------------------------------- p7, a neighbour lends goats


def test_p7_the_plan_sends_the_goats_home_on_their_day_and_the_ewes_never_behind_them(tmp_path: Path) -> None:
    picture = far(lent(tmp_path), 70)
    season = plan(picture.scene, None, TRIES)
    home = [s for s in season.of("goats") if s.stay.place == AWAY]
    assert [s.stay.begin.start.astimezone(ZONE).date() for s in home] == [date(2026, 8, 22)]
    assert {s.stay.place for s in season.of("goats")} <= {
        "brush",
        YARD,
        AWAY,
        "1",
        "2",
        "3",
        "4",
        "8",
        "9",
        "11",
        "12",
    }
    assert not [day for day in days_in(season, "ewes", "brush") if day < date(2026, 9, 26)]
    gone = season.of("goats")[-2]
    assert "22 Aug" in gone.reason


# ---------------------------------------------------------------- p8, nut harvest


def test_p8_nobody_is_planned_among_the_nuts_after_the_last_grazing(tmp_path: Path) -> None:
    picture = far(nut_year(tmp_path, "2026-05-10", harvest=WALNUTS), 60)
    season = plan(picture.scene, None, TRIES)
    last = [day for place in WALNUTS for day in days_in(season, "ewes", place)]
    assert all(day <= date(2026, 5, 28) for day in last)


def test_p8_sheep_mow_under_the_nuts_before_they_shut(tmp_path: Path) -> None:
    """Grass kept down to 4.5 in in 6 by the ewes instead of a mower: done before 28 May, never after."""
    job = {"id": "mow", "name": "Mow 6", "kind": "keep_down", "paddock": "6", "mob": "ewes",
           "target": "4.5 in", "from": date(2026, 5, 10)}  # fmt: skip
    picture = far(nut_year(tmp_path, "2026-05-10", harvest=WALNUTS, jobs=[job]), 40)
    season = plan(picture.scene, None, TRIES)
    days = days_in(season, "ewes", "6")
    assert days
    assert max(days) <= date(2026, 5, 28)
    told = [s.reason for s in season.of("ewes") if s.stay.place == "6"]
    assert all("Job Mow 6" in reason for reason in told)


# ---------------------------------------------------------------- p9, pigs in the wood lot


def test_p9_thirteen_cells_make_twenty_stays_of_five_days_with_sixty_of_rest(tmp_path: Path) -> None:
    """12 pigs, 3.0 ac in 13 cells, 5-d stays, 60-d rest, 100 d."""
    now = "2026-06-01 09:00"
    farm_folder(tmp_path, as_of=date(2026, 5, 31), jobs=[TURN],
                mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="1", since="2026-06-01 08:00"),
                      PIGS | {"at": "yard", "keep_out": [str(n) for n in range(1, 13)]}])  # fmt: skip
    text: Any = tomlkit.parse((tmp_path / "farm.toml").read_text("utf-8")).unwrap()
    text["paddocks"].append({"id": "lot", "name": "the wood lot", "deeded": "3.0 ac", "water": "trough"})
    (tmp_path / "farm.toml").write_text(tomlkit.dumps(text), "utf-8")
    cells = tuple(f"c{n}" for n in range(1, 14))
    net = entry("2026-06-01 08:10", "lot", Netted(cells, tuple("0.2308 ac" for _ in cells)))
    into = replace(entry("2026-06-01 08:30", "pigs", Moved("lot")), part="c1")
    picture = far(seen_at(tmp_path, now, [*walked("2026-06-01 08:00", [7.0] * 12), net, into]), 100)
    stays = [s.stay for s in plan(picture.scene, None, 20_000).of("pigs")]
    assert all(s.place.startswith("lot/") for s in stays)
    lengths = [(_end(s) - s.begin.start) / DAY for s in stays]
    assert len(stays) == 20
    assert max(lengths) <= 5.05
    for n, stay in enumerate(stays):
        before = [_end(s) for s in stays[:n] if s.place == stay.place]
        assert all((stay.begin.start - end) / DAY >= 59.95 for end in before)


def _end(stay: Any) -> datetime:
    found: datetime = stay.end.end
    return found


# ---------------------------------------------------------------- s3, away 10-14 Jun


AWAY_JUNE = {"id": "out", "kind": "away", "what": "Away", "from": date(2026, 6, 10), "to": date(2026, 6, 15)}


def spring(folder: Path, *promises: dict[str, Any]) -> Picture:
    farm_folder(folder, as_of=date(2026, 6, 1), promises=list(promises),
                mobs=[mob(EWE | {"intake": "4.4 lb/d"}, place="1", since="2026-06-04 08:00")])  # fmt: skip
    events = walked("2026-06-03 08:00", [8.5] * 12)
    return look(folder, at("2026-06-05 07:00")) if (folder / "record.db").exists() else seen_at(
        folder, "2026-06-05 07:00", [*events, grows("2026-06-03 08:00", "30 lb/ac/d", date(2026, 9, 1))]
    )  # fmt: skip


def test_s3_away_10_to_14_june_has_no_move_inside_and_tells_changes(
    tmp_path: Path,
) -> None:
    kept = spring(tmp_path)
    keep_plan(kept, plan(kept.scene, None, TRIES), "owner")
    picture = spring(tmp_path, AWAY_JUNE)
    old = plan_in_force(picture)
    season = plan(picture.scene, old, TRIES)
    moves = [
        s.stay.begin.start.astimezone(ZONE).date() for s in season.stays if s.stay.begin.start > picture.now
    ]
    assert moves
    assert not [day for day in moves if date(2026, 6, 10) <= day < date(2026, 6, 15)]
    assert season.changes
    assert all(" instead of " in text and text.endswith(".") for text in season.changes)


def test_p7_goats_that_are_to_come_are_planned_from_their_day_to_their_day(tmp_path: Path) -> None:
    """Lent from 1 to 22 August, planned on 20 July: away before, on the farm between, away again."""
    now = "2026-07-20 07:00"
    farm_folder(tmp_path, as_of=date(2026, 7, 19),
                mobs=[mob(EWE | {"intake": "2.6 lb/d"}, place="1", since="2026-07-19 08:00")])  # fmt: skip
    come = replace(goats("2"), planned=True)
    picture = far(seen_at(tmp_path, now, [*walked("2026-07-19 08:00", [8.5] * 12), come]), 45)
    season = plan(picture.scene, None, TRIES)
    stays = [s.stay for s in season.of("goats")]
    assert (stays[0].place, stays[-1].place) == (AWAY, AWAY)
    assert _end(stays[0]).astimezone(ZONE).date() == date(2026, 8, 1)
    assert stays[-1].begin.start.astimezone(ZONE).date() == date(2026, 8, 22)
    assert all(s.place != AWAY for s in stays[1:-1])
    keep_plan(picture, season, "owner")
    kept = look(picture.folder, picture.now, horizon_d=45)
    assert [e for e in moves_ahead(kept) if e.subject == "goats"]
    assert "goats" in {line.id for line in season_page(picture, season).mobs}
