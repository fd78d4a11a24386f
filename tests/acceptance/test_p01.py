"""p1, late spring: when to turn out, and whether the hay lasts until then."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browseline.chain import Picture, today
from browseline.events import Event, Moved
from browseline.ledger.advice import FeedAdvice, feed_advice
from browseline.ledger.hay import hay_store, lasting, spans
from browseline.limits import ready
from browseline.record.fold import planned
from tests.acceptance.cases import BALE, EWE, entry, farm_folder, grows, lb, mob, page, seen, walked

NOW = "2026-04-20 06:00"
GROWTHS = ("0.05 in/d", "0.10 in/d", "0.15 in/d")
STAGES = [
    {"from": date(2026, 4, 1), "stage": "late pregnant", "intake": "4.0 lb/d"},
    {"from": date(2026, 5, 1), "stage": "in milk", "intake": "4.4 lb/d"},
]


def spring(folder: Path, bales: int = 14, heights: Any = (2.5,) * 12, **more: Any) -> Picture:
    """Return the case: 60 ewes in the yard on hay, 2.5 in on the mean, turn-out written down for 25 April."""
    farm_folder(
        folder,
        as_of=date(2026, 4, 20),
        mobs=[mob(EWE | {"stages": STAGES})],
        hay=[BALE | {"bales": f"{bales} bales"}],
        rules={"first_pass": "4 in"},
        **more,
    )
    events: list[Event] = walked(NOW, heights)
    events += [grows(NOW, growth, date(2026, 7, 1)) for growth in GROWTHS]
    events.append(entry("2026-04-25 08:00", "ewes", Moved("1"), planned=True))
    return seen(folder, NOW, events)


def advice(picture: Picture) -> FeedAdvice:
    found = today(picture).feed
    assert found is not None
    return found


def test_p1_hay_as_eaten_and_its_days(tmp_path: Path) -> None:
    found = advice(spring(tmp_path))
    assert found.store is not None
    assert lb(found.store.bale.eaten.value) == pytest.approx(598.4, rel=0.01)
    assert lb(found.store.eaten.value) == pytest.approx(8378, rel=0.01)
    start = found.turnout
    assert start is not None
    assert start.now is not None
    assert start.highest is not None
    assert start.now.days.value == pytest.approx(34.9, rel=0.01)
    assert start.highest.days.value == pytest.approx(31.7, rel=0.01)
    assert start.highest.out == date(2026, 5, 21)


def test_p1_first_grazing_in_three_growths(tmp_path: Path) -> None:
    start = advice(spring(tmp_path)).turnout
    assert start is not None
    assert [s.day for s in start.starts] == [date(2026, 5, 20), date(2026, 5, 5), date(2026, 4, 30)]
    assert start.starts[0].spare_d == 1
    assert start.buy == 2
    assert start.buy_d is not None
    assert start.buy_d.value == pytest.approx(4.5, rel=0.01)


def test_p1_says_what_must_be_on_the_page(tmp_path: Path) -> None:
    told = page(today(spring(tmp_path)))
    for words in (
        "Do not turn out on 25 Apr", "Buy 2 bales (4.5 d more)", "the tallest open paddock",
        "first last year", "Keep off 5, 6, 7 and 10 while grass is short", "take buds and bark",
        "bloat and staggers", "Ask the vet", "20 May with 0.05 in/d", "1 spare day",
    ):  # fmt: skip
        assert words in told


def test_p1_ten_bales_change_the_advice(tmp_path: Path) -> None:
    found = advice(spring(tmp_path, bales=10))
    start = found.turnout
    assert start is not None
    assert start.highest is not None
    assert start.highest.days.value == pytest.approx(22.7, rel=0.01)
    assert start.highest.out == date(2026, 5, 12)
    assert start.starts[0].spare_d == -8
    assert all((s.spare_d or 0) >= 0 for s in start.starts[1:])
    told = page(found)
    assert "A gap of 8 days with 0.05 in/d: hay is out 12 May, grass starts 20 May." in told
    assert not any(words.startswith("1 spare day") for words in found.sentences)
    assert start.buy > 2


def test_p1_start_is_the_tallest_open_paddock_without_trees(tmp_path: Path) -> None:
    heights = dict.fromkeys(range(1, 13), 2.5) | {6: 3.6, 9: 3.1, 4: 3.5}
    picture = spring(tmp_path, heights=heights)
    start = feed_advice(picture.scene, planned(picture.events))
    assert start is not None
    assert start.turnout is not None
    assert start.turnout.first == "4"


def test_p1_no_page_sends_them_under_trees_or_counts_growth_as_grass(tmp_path: Path) -> None:
    heights = dict.fromkeys(range(1, 13), 2.5) | {6: 3.4, 4: 3.2}
    made = today(spring(tmp_path, heights=heights))
    place = made.mobs[0].next
    assert place is not None
    assert (place.paddock, place.ready) == ("4", False)
    assert made.ahead.still is not None
    assert made.ahead.growing is not None
    assert (made.ahead.still.value, made.ahead.growing.value) == (0, 0)


def test_p1_trap_turnout_by_the_calendar(tmp_path: Path) -> None:
    """On the day of the notebook no growth has the grass high enough: it is never the advice."""
    picture = spring(tmp_path)
    start = advice(picture).turnout
    assert start is not None
    assert [e.day for e in start.too_early] == [date(2026, 4, 25)]
    assert date(2026, 4, 25) not in [s.day for s in start.starts]
    later = picture.events[:-1]
    on_time = (*later, entry("2026-05-21 08:00", "ewes", Moved("1"), planned=True))
    found = feed_advice(picture.scene, on_time)
    assert found is not None
    assert found.turnout is not None
    assert found.turnout.too_early == ()
    assert "Do not turn out" not in page(found)


def test_p1_trap_feeding_loss_left_out(tmp_path: Path) -> None:
    """Without the loss 14 bales would last 41 d at 240 lb; that is not what is given."""
    picture = spring(tmp_path)
    store = hay_store(picture.scene)
    assert store is not None
    wrong = lb(store.dry.value) / 240
    assert wrong == pytest.approx(41, rel=0.01)
    over = spans(picture.scene, picture.scene.mobs, date(2026, 4, 21))
    given = lasting(store.eaten, over)
    assert given is not None
    assert given.days.value == pytest.approx(34.9, rel=0.01)
    assert "41" not in page(advice(picture))


def test_p1_next_place_waits_for_the_first_pass_and_says_when(tmp_path: Path) -> None:
    """The page must not say that 8 in is never reached where the first pass begins at 4 in."""
    picture = spring(tmp_path)
    found = today(picture).mobs[0].next
    assert found is not None
    assert "Grass reaches the 4 in to start at about" in found.because
    assert found.because.endswith(("30 Apr.", "5 May.", "20 May."))


def test_p1_a_paddock_grazed_this_year_waits_for_the_height_of_its_sward(tmp_path: Path) -> None:
    spring(tmp_path)
    stay = [
        entry("2026-04-21 08:00", "ewes", Moved("1")),
        entry("2026-04-22 08:00", "ewes", Moved("2")),
        *walked("2026-04-22 09:00", (2.5,) * 12),
    ]
    picture = seen(tmp_path, "2026-04-22 10:00", stay)
    starts = {name: dict(next_ready(picture, name)) for name in ("1", "3", "6")}
    assert "4 in to start at" in starts["3"]["grass"]
    assert "4 in to start at" not in starts["1"]["grass"]
    assert "4 in to start at" not in starts["6"]["grass"]  # among trees no short grass


def next_ready(picture: Picture, paddock: str) -> list[tuple[str, str]]:
    """Return what each limit says of a paddock that the ewes may go to."""
    return [(found.limit, found.because) for found in ready(picture.scene, "ewes", paddock)]
