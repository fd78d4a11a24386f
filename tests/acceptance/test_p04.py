"""p4, the fence fails: the mob stands in 10 in the morning, and nobody knows since when."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from browseline.chain import Picture
from browseline.chain.answers import answer_to, most_eaten, most_hours
from browseline.events import Event, Looked, Moved
from browseline.limits import bites, ready
from browseline.readings import tree_shares
from tests.acceptance.cases import EWE, LAMBS, at, entry, farm_folder, lb, mob, seen, walked

MILK, SUCKING = {"intake": "4.4 lb/d"}, {"intake": "1.2 lb/d"}
EVENING, MORNING = "2026-06-10 21:00", "2026-06-11 06:30"


def found() -> Event:
    return entry(EVENING, "ewes", Moved("10"), until=MORNING)


def look() -> Event:
    return entry("2026-06-11 07:10", "10", Looked("trees", planting="hazel", seen=40, bitten=6, barked=2))


def broken_out(folder: Path, *events: Event, now: str = "2026-06-11 07:30") -> Picture:
    farm_folder(
        folder,
        as_of=date(2026, 6, 9),
        mobs=[mob(EWE | MILK, LAMBS | SUCKING, place="9", since="2026-06-09 08:00")],
    )
    return seen(folder, now, [*walked("2026-06-09 08:00", {9: 7.0, 10: 7.0}), *events])


def test_p4_the_stay_is_an_interval(tmp_path: Path) -> None:
    event = found()
    picture = broken_out(tmp_path, event)
    stay = picture.state.stays[-1]
    assert stay.place == "10"
    assert (stay.begin.start, stay.begin.end) == (at(EVENING), at(MORNING))
    assert most_hours(event) == pytest.approx(9.5)
    eaten = most_eaten(event, picture.scene.mobs[0].lines)
    assert eaten is not None
    assert lb(eaten.value) == pytest.approx(150, rel=0.01)
    assert eaten.low == 0


def test_p4_shares_of_trees(tmp_path: Path) -> None:
    for found_so, share, low, high in ((6, 15, 8, 26), (2, 5, 2, 14)):
        figure = tree_shares(40, found_so, "bitten")
        ends = [100 * (x or 0) for x in (figure.value, figure.low, figure.high)]
        assert ends == [pytest.approx(n, abs=0.5) for n in (share, low, high)]
    event = look()
    picture = broken_out(tmp_path, found(), event)
    told = " ".join(answer_to(event, picture))
    assert "6 of 40 bitten, 15 % (8-26 %" in told
    assert "2 of 40 barked, 5 % (2-14 %" in told


def test_p4_clocks(tmp_path: Path) -> None:
    """The worm clock of 10 starts again today; after they leave, 10 rests and 9 has all its grass left."""
    picture = broken_out(tmp_path, found())
    scene = picture.scene
    worms = next(b for b in bites(scene, "ewes", "10") if b.limit == "worms")
    assert worms.moment is not None
    assert worms.moment.earliest == at(EVENING) + timedelta(days=4)
    assert worms.moment.latest == at(MORNING) + timedelta(days=4)
    back = broken_out(tmp_path / "back", found(), entry("2026-06-11 08:00", "ewes", Moved("9")),
                      now="2026-06-11 08:30")  # fmt: skip
    rest = next(r for r in ready(back.scene, "ewes", "10") if r.limit == "worms")
    assert rest.moment is not None
    assert rest.moment.likely.astimezone(at(MORNING).tzinfo).date() == date(2026, 7, 16)
    middle = scene.herbage.mass_kg_ha[0]
    ten = scene.herbage.index("10")
    area_ac = 2.5
    gone_lb = (7.0 - scene.herbage.numbers[ten].height_cm(float(middle[ten])) / 2.54) * 275 * area_ac
    assert 0 < gone_lb * 0.7 < 150


def test_p4_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    event = found()
    told = answer_to(event, broken_out(tmp_path, event))
    page = " ".join(told)
    for words in (
        "Energiser off before a hand touches wire", "Stock on the road: call for help first",
        "find the fault: below about 3-4 kV", "common practice",
        "Ring the neighbour if the road side was open",
        "Count them: 60 ewes + 96 lambs", "up to 150 lb eaten", "0 to 9.5 h", "9 keeps the grass",
        "worm clock of 10 starts again today", "its grass hardly changes", "6:30",
    ):  # fmt: skip
        assert words in page
    assert told.index("Energiser off before a hand touches wire.") < next(
        n for n, words in enumerate(told) if "find the fault" in words
    )


def test_p4_trap_an_exact_hour_made_up(tmp_path: Path) -> None:
    """Neither the state, nor the record read again, nor the page knows one hour of coming."""
    event = found()
    picture = broken_out(tmp_path, event)
    mob_now = picture.scene.mobs[0]
    assert mob_now.since is not None
    assert not mob_now.since.exact
    kept = next(e for e in picture.events if e.id == event.id)
    assert kept.observed == event.observed
    from browseline.chain import today

    since = today(picture).mobs[0].since
    assert "21:00" in since
    assert "6:30" in since


def test_p4_a_move_at_a_known_time_is_no_break_out(tmp_path: Path) -> None:
    event = entry(MORNING, "ewes", Moved("10"))
    assert answer_to(event, broken_out(tmp_path, event)) == ()
