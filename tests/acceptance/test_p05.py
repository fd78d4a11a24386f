"""p5, trees browsed in paddock 7: within plan by grass, but the trees say move now."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import numpy as np
import pytest

from browseline.chain import Picture, today
from browseline.chain.answers import answer_to
from browseline.events import Event, Guarded, Looked, TreeMeasured
from browseline.limits import Bite, bites, faces
from browseline.readings import fell, tree_shares
from tests.acceptance.cases import EWE, LAMBS, at, entry, farm_folder, mob, page, quantity, seen, walked

CAME, DAY_2 = "2026-05-04 08:00", "2026-05-06 08:00"
EWES = EWE | {"intake": "4.4 lb/d"}
# 348 lb/d in all: 60 × 4.4 + 96 × 0.875
SUCKING = LAMBS | {"intake": "0.875 lb/d"}


def looked(when: str = DAY_2, bitten: int = 5, barked: int = 2) -> Event:
    return entry(when, "7", Looked("trees", planting="walnuts-7", seen=30, bitten=bitten, barked=barked))


def in_seven(folder: Path, *events: Event, now: str = "2026-05-06 08:30", height: float = 4.2) -> Picture:
    farm_folder(folder, as_of=date(2026, 5, 1), mobs=[mob(EWES, SUCKING, place="7", since=CAME)])
    heights = [*walked(CAME, dict.fromkeys(range(1, 13), 7.0)), *walked(DAY_2, {7: height})]
    return seen(folder, now, [*heights, *events])


def of(picture: Picture, limit: str, place: str = "7") -> Bite:
    return next(b for b in bites(picture.scene, "ewes", place) if b.limit == limit)


def likely(bite: Bite) -> datetime:
    assert bite.moment is not None
    return bite.moment.likely


def test_p5_the_planned_stay_was_three_days(tmp_path: Path) -> None:
    farm_folder(tmp_path, as_of=date(2026, 5, 1), mobs=[mob(EWES, SUCKING, place="7", since=CAME)])
    picture = seen(tmp_path, CAME, walked(CAME, {7: 7.0}))
    grass = of(picture, "grass")
    assert (likely(grass) - at(CAME)).total_seconds() / 86400 == pytest.approx(3.32, rel=0.01)
    trees = of(picture, "trees")
    assert likely(trees) > likely(grass)  # before anybody looked, the book says the stay is fine


def test_p5_the_grass_fell_too_fast(tmp_path: Path) -> None:
    picture = in_seven(tmp_path)
    place = picture.farm.paddock("7")
    assert place is not None
    fall = fell(picture.farm, picture.state, picture.scene.mobs[0], place)
    assert fall is not None
    assert fall.expected_cm / 2.54 == pytest.approx(5.19, rel=0.01)
    assert fall.worth_d == pytest.approx(3.1, rel=0.01)
    assert fall.fast_d == pytest.approx(1.1, rel=0.01)


def test_p5_shares(tmp_path: Path) -> None:
    for found, share, low, high in ((5, 16.7, 8, 30), (2, 6.7, 2, 18)):
        figure = tree_shares(30, found, "bitten")
        ends = [100 * (x or 0) for x in (figure.value, figure.low, figure.high)]
        assert ends == [pytest.approx(n, abs=0.5) for n in (share, low, high)]


def test_p5_move_now_and_what_is_said(tmp_path: Path) -> None:
    event = looked()
    picture = in_seven(tmp_path, event)
    trees = of(picture, "trees")
    assert trees.hardness == "hard"
    assert likely(trees) <= picture.now
    told = page(today(picture))
    for words in (
        "Move now", "5 of 30 leaders bitten, 16.7 % (8-30 %)", "2 barked, 6.7 % (2-18 %)",
        "published conifer trial lost 3-9 % a year",
        "7: stay 2 d at most, and look at the trees after 24 h. This holds until leaders clear",
        "109 × $8.30 = $905 (price of 2019)", "from 7 in to 4.2 in, 5.19 in was expected",
        "3.1 d worth is gone, 1.1 d too fast", "start height was read too high, or more was wasted",
        "not relish a tree protects nothing once grass is short (common practice)",
    ):  # fmt: skip
        assert words in told
    assert today(picture).mobs[0].lines[0].limit == "trees"
    assert today(picture).mobs[0].lines[0].when == "now"
    answer = " ".join(answer_to(event, picture))
    assert "Move now" in answer
    assert "stay 2 d at most, and look at the trees after 24 h" in answer


def test_a_stay_of_less_than_a_day_is_told_in_hours(tmp_path: Path) -> None:
    """Five of thirty bitten after ten hours: "0.4 d with a look after 24 h" is nothing that can be done."""
    early = "2026-05-04 18:00"
    told = page(today(in_seven(tmp_path, looked(early), now="2026-05-04 18:30")))
    assert "From now on 7: stay 10 hours at most, and look at the trees each time." in told
    assert "0.4 d" not in told
    assert "after 24 h" not in told


def test_p5_trap_within_plan_stay(tmp_path: Path) -> None:
    """By grass and worms alone the day is within plan; with the look it is not, whatever the grass says."""
    unseen = in_seven(tmp_path / "unseen", height=5.2)
    assert all(b.moment is None or b.moment.likely > unseen.now for b in bites(unseen.scene, "ewes", "7"))
    tall = in_seven(tmp_path / "tall", looked(), height=5.2)
    assert likely(of(tall, "grass")) > tall.now
    assert likely(of(tall, "trees")) <= tall.now
    few = in_seven(tmp_path / "few", looked(bitten=1, barked=0), height=5.2)
    assert likely(of(few, "trees")) > few.now


def test_p5_the_new_limit_is_the_planners_until_leaders_clear_reach(tmp_path: Path) -> None:
    def longest(picture: Picture) -> float:
        face = next(f for f in faces(picture.scene) if f.name == "trees")
        assert face.longest_stay_d is not None
        return float(face.longest_stay_d[0, picture.scene.paddocks.index("7")])

    picture = in_seven(tmp_path / "now", looked())
    assert longest(picture) == pytest.approx(2.0, rel=0.01)
    unseen = in_seven(tmp_path / "unseen")
    assert longest(unseen) > 3.32
    tall = entry("2026-05-06 08:10", "walnuts-7", TreeMeasured(leader=quantity("7 ft", "length")))
    assert not np.isfinite(longest(in_seven(tmp_path / "tall", looked(), tall)))


def test_p5_guards_end_it(tmp_path: Path) -> None:
    guarded = entry("2026-05-06 08:10", "walnuts-7", Guarded(109, "mesh cage, two posts"))
    picture = in_seven(tmp_path, looked(), guarded)
    assert {b.limit for b in bites(picture.scene, "ewes", "7")}.isdisjoint({"trees", "young"})
    off = entry("2026-05-06 08:20", "walnuts-7", Guarded(9, "none"))
    fewer = in_seven(tmp_path / "fewer", looked(), guarded, off)
    assert "Guards: 9 × $8.30 = $75" in of(fewer, "trees").do
    mended = entry("2026-05-06 08:20", "walnuts-7", Guarded(4, "mesh cage, two posts"))
    still = in_seven(tmp_path / "mended", looked(), guarded, mended)
    assert {b.limit for b in bites(still.scene, "ewes", "7")}.isdisjoint({"trees", "young"})
