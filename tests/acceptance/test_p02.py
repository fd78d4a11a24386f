"""p2, drought in July: grass ahead in both growths, what is short, the ways out and the day to decide."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture, today
from browseline.events import Event
from browseline.ledger.advice import FeedAdvice
from browseline.ledger.balance import ground
from browseline.ledger.options import Option, sell
from tests.acceptance.cases import (
    BALE,
    EWE,
    LAMBS,
    P2_HEIGHTS,
    farm_folder,
    grows,
    lb,
    mob,
    page,
    seen,
    walked,
)

NOW = "2026-07-08 06:00"
END = date(2026, 9, 15)


def drought(folder: Path, growth: bool = True, **more: Any) -> Picture:
    """Return the case: weaned lambs, no nuts sold, feed to last to 15 September."""
    parts: dict[str, Any] = {
        "as_of": date(2026, 7, 8),
        "mobs": [mob(EWE | {"intake": "2.6 lb/d"}, LAMBS | {"intake": "2.4 lb/d"}, place="1", since=NOW)],
        "hay": [BALE | {"bales": "0 bales", "price": "$60"}],
        "rules": {"rest": "45 d", "sale_notice": "8 d"},
        "promises": [{"id": "plan", "kind": "feed", "what": "feed", "from": date(2026, 7, 8), "to": END}],
    }  # fmt: skip
    farm_folder(folder, **(parts | more))
    events: list[Event] = walked(NOW, P2_HEIGHTS)
    return seen(folder, NOW, [*events, grows(NOW, "8 lb/ac/d", END)] if growth else events)


def advice(picture: Picture) -> FeedAdvice:
    found = today(picture).feed
    assert found is not None
    return found


def forty_lambs(picture: Picture) -> Option:
    way = sell(ground(picture.scene), END, "sheep", "lambs", 40)
    assert way is not None
    return way


def test_p2_grass_ahead(tmp_path: Path) -> None:
    ahead = today(drought(tmp_path)).ahead
    assert ahead.demand is not None
    assert lb(ahead.demand.value) == pytest.approx(386.4, rel=0.01)
    assert lb(ahead.grass.value) == pytest.approx(7238, rel=0.01)
    assert ahead.still is not None
    assert ahead.still.value == pytest.approx(18.7, rel=0.01)
    assert ahead.growing is not None
    assert ahead.growing.value == pytest.approx(36.9, rel=0.01)


def test_p2_feed_says_the_same_days_as_grass_ahead(tmp_path: Path) -> None:
    made = today(drought(tmp_path))
    assert made.feed is not None
    told = [lasts.days.value if lasts else None for lasts in made.feed.grass]
    assert made.ahead.still is not None
    assert made.ahead.growing is not None
    assert told == [pytest.approx(made.ahead.still.value), pytest.approx(made.ahead.growing.value)]


def test_p2_rest_and_stays(tmp_path: Path) -> None:
    rotation = advice(drought(tmp_path)).rotation
    assert rotation is not None
    assert rotation.paddocks == 12
    assert rotation.stay.value == pytest.approx(45 / 11, rel=0.01)
    assert rotation.covers.value == pytest.approx(0.42, rel=0.01)


def test_p2_short_to_mid_september(tmp_path: Path) -> None:
    found = advice(drought(tmp_path))
    assert [lb(b.short_kg) for b in found.balances] == pytest.approx([19424, 6286], rel=0.01)
    assert found.store is not None
    assert [b.bales(found.store.bale) for b in found.balances] == [33, 11]


def test_p2_sell_forty_lambs(tmp_path: Path) -> None:
    picture = drought(tmp_path)
    way = forty_lambs(picture)
    assert way.lasts is not None
    assert way.lasts.days.value == pytest.approx(24.9, rel=0.01)
    none, some = way.outcomes
    assert (none.bales, some.bales) == (22, 0)
    assert some.spare is not None
    assert lb(some.spare.value) == pytest.approx(338, rel=0.01)
    listed = [(o.head, o.klass) for o in advice(picture).options]
    assert (40, "lambs") in listed


def test_p2_decide_by(tmp_path: Path) -> None:
    assert advice(drought(tmp_path)).decide_by == date(2026, 7, 18)


def test_p2_with_the_nut_rows_closed(tmp_path: Path) -> None:
    drops = {"first_drop": {"5": date(2026, 9, 25), "6": date(2026, 9, 25), "7": date(2026, 9, 25)}}
    made = today(drought(tmp_path, harvest=drops["first_drop"]))
    assert {x.paddock for x in made.ahead.left_out} == {"5", "6", "7"}
    assert lb(made.ahead.grass.value) == pytest.approx(5506, rel=0.01)
    assert made.ahead.still is not None
    assert made.ahead.still.value == pytest.approx(14.2, rel=0.01)
    assert made.ahead.growing is not None
    assert made.ahead.growing.value == pytest.approx(24.0, rel=0.01)
    assert "Left out: 5 (Harvest), 6 (Harvest) and 7 (Harvest)" in page(made.feed)


def test_p2_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    told = page(today(drought(tmp_path)))
    for words in (
        "18.7 d with no growth and 36.9 d with 8 lb/ac/d", "Feed hay in one open paddock",
        "No short grass among trees: be out of 5, 6, 7 and 10", "Left out: no paddock",
        "Hungry stock in drought try poison plants: look first", "Decide by 18 Jul",
        "19,424 lb is short: 33 bales", "6,286 lb is short: 11 bales",
    ):  # fmt: skip
        assert words in told


def test_p2_trap_growth_assumed(tmp_path: Path) -> None:
    """Where nobody typed growth and no weather is known, none is counted and only one case is told."""
    made = today(drought(tmp_path, growth=False))
    assert made.ahead.growing is None
    assert made.feed is not None
    assert made.feed.cases == ("no growth",)
    assert [lb(b.short_kg) for b in made.feed.balances] == pytest.approx([19424], rel=0.01)


def test_p2_trap_hay_fed_among_trees(tmp_path: Path) -> None:
    """The farm marked a treed paddock as the one to give up: hay is still not fed there."""
    found = advice(drought(tmp_path, sacrifice=["6"]))
    assert found.feed_in is not None
    assert found.feed_in not in found.keep_off
    assert advice(drought(tmp_path / "other", sacrifice=["9"])).feed_in == "9"


def test_p2_trap_going_round_faster(tmp_path: Path) -> None:
    """A shorter rest gives shorter stays, and not one day of grass more."""
    slow = advice(drought(tmp_path))
    fast = advice(drought(tmp_path / "fast", rules={"rest": "22 d", "sale_notice": "8 d"}))
    assert slow.rotation is not None
    assert fast.rotation is not None
    assert (fast.rotation.stay.value or 0) < (slow.rotation.stay.value or 0)
    assert [g.days.value if g else None for g in fast.grass] == [
        g.days.value if g else None for g in slow.grass
    ]
    assert "Going round faster shortens the rest and grows nothing." in page(slow)
