"""Poison: what sets a plant off, what ends it, whom it harms; the table is that of the shelf."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

import pytest

from browseline import tables
from browseline.events import When
from browseline.farm.records import DailyRecords, Farm, Planting, Shape
from browseline.limits import Scene, bites, faces, ready
from browseline.limits import _plants as plants
from browseline.limits.poison import to_look
from browseline.record.state import Cleared, HeadLine, MobState, TreesCut
from tests.small_farm import NOW, ZONE, ewes, farm, scene, state

STORM = When.at(NOW - timedelta(hours=5))
SIDE = 0.001
KEYS = [
    "cherry", "red_maple", "box_elder", "black_walnut", "yew", "oak", "black_locust", "honeylocust",
    "rhododendron", "laurel", "ponderosa", "boxwood", "oleander", "bracken", "milkweed", "snakeroot",
    "hemlock", "johnsongrass", "fescue_infected", "brassica", "copper", "ionophore", "elderberry",
    "buckeye", "alsike", "algae",
]  # fmt: skip


def square(ident: str, east: int) -> Shape:
    """Return a paddock of about 84 × 111 m, one beside the other."""
    x, y = -45.0 + east * SIDE, 41.0
    ring = ((x, y), (x + SIDE, y), (x + SIDE, y + SIDE), (x, y + SIDE), (x, y))
    return Shape(ident, "paddock", ident, "Polygon", (ring,))


def pin(plant: str, east: float, north: float = 0.5) -> Shape:
    spot = (-45.0 + east * SIDE, 41.0 + north * SIDE)
    return Shape(f"pin-{plant}", "hazard", plant, "Point", (), (spot,), plant=plant)


def pinned(*pins: Shape, **more: Any) -> Any:
    return farm(shapes=(*(square(str(n + 1), n) for n in range(3)), *pins), **more)


def mob(kind: str, klass: str = "", stage: str = "") -> MobState:
    line = HeadLine(kind, klass, 10, stage=stage)
    return replace(ewes(), lines=(line,))


def poison(
    farm_: Farm, paddock: str = "1", now: datetime = NOW, kind: str = "sheep", klass: str = "",
    stage: str = "", **more: Any,
) -> tuple[list[Any], Scene]:  # fmt: skip
    seen = scene(farm_, state(farm_, at=now, mob=mob(kind, klass, stage), **more), now)
    return [b for b in bites(seen, "ewes", paddock) if b.limit == "poison"], seen


def closed(seen: Scene) -> Any:
    return next(f for f in faces(seen) if f.name == "poison").closed


def hard(found: list[Any]) -> list[Any]:
    return [b for b in found if b.hardness == "hard"]


def test_the_table_is_the_shelfs_row_by_row() -> None:
    rows = tables.texts("poison")
    assert len(rows) == 132
    assert list(dict.fromkeys(r["key"] for r in rows)) == KEYS
    assert {r["key"] for r in tables.texts("poison_triggers")} == set(KEYS)


def test_a_storm_shuts_cherry_ground_to_sheep_at_once() -> None:
    found, seen = poison(pinned(pin("cherry", 0.5)), storms=(STORM,))
    (bite,) = hard(found)
    assert bite.moment.likely <= NOW
    assert bite.mark == "B"
    assert closed(seen)[0, :, 0].all()
    assert not closed(seen)[0, :, 2].any()
    assert next(r for r in ready(seen, "ewes", "1") if r.limit == "poison").moment is None


def test_before_a_storm_it_only_asks_for_a_look() -> None:
    found, seen = poison(pinned(pin("cherry", 0.5)))
    assert [b.hardness for b in found] == ["question"]
    assert not closed(seen).any()


@pytest.mark.parametrize("plant", KEYS)
def test_what_it_says_begins_as_a_sentence_begins(plant: str) -> None:
    """It stands after other sentences: of a change of the plan, of what comes next."""
    found, _ = poison(pinned(pin(plant, 0.5)), storms=(STORM,))
    assert all(bite.because[:1].isupper() for bite in found)


def test_a_plant_within_reach_over_the_fence_counts_and_one_far_off_does_not() -> None:
    # 0.05 of 84 m is 4 m over the fence; half a paddock is 42 m.
    for east, shut in ((1.05, True), (1.5, False)):
        found, _ = poison(pinned(pin("cherry", east)), storms=(STORM,))
        assert bool(hard(found)) is shut


def test_only_a_look_that_clears_it_ends_it_and_the_next_storm_starts_it_again() -> None:
    small = pinned(pin("cherry", 0.5))
    look = Cleared("1", "", When.at(NOW - timedelta(hours=1)))
    found, seen = poison(small, storms=(STORM,), cleared=(look,))
    assert not hard(found)
    assert not closed(seen).any()
    early = replace(look, at=When.at(NOW - timedelta(hours=9)))
    assert hard(poison(small, storms=(STORM,), cleared=(early,))[0])
    elsewhere = replace(look, paddock="2")
    assert hard(poison(small, storms=(STORM,), cleared=(elsewhere,))[0])
    again = (STORM, When.at(NOW - timedelta(minutes=10)))
    assert hard(poison(small, storms=again, cleared=(look,))[0])


def test_time_alone_never_ends_it() -> None:
    later = NOW + timedelta(days=400)
    assert hard(poison(pinned(pin("cherry", 0.5)), now=later, storms=(STORM,))[0])


def test_a_wait_named_in_the_row_is_the_least() -> None:
    # johnsongrass_ext: 14 d after frost, whatever somebody sees before
    small = pinned(pin("johnsongrass", 0.5))
    frost = (When.at(NOW - timedelta(days=10)),)
    look = Cleared("1", "", When.at(NOW - timedelta(days=1)))
    assert hard(poison(small, frosts=frost, cleared=(look,))[0])
    late = NOW + timedelta(days=6)
    found, _ = poison(small, now=late, frosts=frost, cleared=(replace(look, at=When.at(late)),))
    assert not hard(found)


def test_a_recorded_frost_shuts_and_the_day_before_zero_does_not() -> None:
    day = NOW.date()
    for low, shut in ((0.0, True), (0.1, False)):
        cold = DailyRecords((day - timedelta(days=1), day), (9.0, 9.0), (low, 5.0), (0.0, 0.0))
        found, _ = poison(pinned(pin("cherry", 0.5), daily=cold))
        assert bool(hard(found)) is shut


def test_a_generated_frost_warns_and_never_shuts() -> None:
    small = pinned(pin("cherry", 0.5), weather=True)
    winter = datetime(2026, 12, 20, 7, tzinfo=ZONE)
    found, seen = poison(small, now=winter)
    assert "soft" in [b.hardness for b in found]
    assert not hard(found)
    assert not closed(seen).any()


def test_cut_brush_of_a_planting_shuts_its_paddock() -> None:
    rows = Planting("plums", "Plums", "plum", "2")
    cut = TreesCut("plums", "pruned", When.at(NOW - timedelta(days=2)))
    found, _ = poison(farm(plantings=(rows,)), "2", trees_cut=(cut,))
    assert hard(found)
    assert not hard(poison(farm(plantings=(rows,)), "1", trees_cut=(cut,))[0])


@pytest.mark.parametrize(
    ("plant", "day", "kind", "shut"),
    [
        ("oak", date(2026, 10, 1), "cattle", True), ("oak", date(2026, 7, 1), "cattle", False),
        ("oak", date(2026, 10, 1), "pig", False), ("rhododendron", date(2027, 1, 10), "goat", True),
        ("rhododendron", date(2026, 7, 1), "goat", False), ("laurel", date(2027, 3, 10), "sheep", True),
        ("laurel", date(2026, 6, 10), "sheep", False), ("yew", date(2026, 7, 1), "horse", True),
        ("honeylocust", date(2026, 10, 1), "cattle", False), ("red_maple", date(2026, 10, 1), "horse", True),
        ("red_maple", date(2026, 10, 1), "sheep", False), ("hemlock", date(2027, 4, 1), "cattle", True),
    ],
)  # fmt: skip
def test_seasons_by_kind(plant: str, day: date, kind: str, shut: bool) -> None:
    """M8: oak in mast, yew, laurel; who is not harmed is not shut out."""
    now = datetime(day.year, day.month, day.day, 7, tzinfo=ZONE)
    small = replace(pinned(pin(plant, 0.5)), as_of=day - timedelta(days=1))
    found, seen = poison(small, now=now, kind=kind)
    on = [b for b in hard(found) if b.moment.likely <= now]
    assert bool(on) is shut
    assert bool(closed(seen)[0, 0, 0]) is shut


def test_the_other_half_of_the_earth_has_its_seasons_half_a_year_later() -> None:
    south = replace(pinned(pin("oak", 0.5), weather=True), as_of=date(2026, 3, 30))
    south = replace(south, place=replace(south.place, latitude_deg=-41.0))
    seen = scene(south, state(south, mob=mob("cattle")), NOW)
    (mast,) = [r for r in plants.triggers("oak", "season") if r["trigger"] == "mast"]
    assert plants.season_start(seen, mast) == datetime(2026, 3, 1, tzinfo=ZONE)


def test_a_season_to_come_shuts_the_calendar_from_its_first_day() -> None:
    now = datetime(2026, 8, 20, 7, tzinfo=ZONE)
    small = replace(pinned(pin("oak", 0.5)), as_of=now.date())
    found, seen = poison(small, now=now, kind="cattle")
    assert hard(found)[0].moment.likely == datetime(2026, 9, 1, tzinfo=ZONE)
    shut = closed(seen)[0, :, 0]
    assert not shut[:12].any()
    assert shut[12:].all()


def test_late_pregnancy_is_shut_out_while_it_lasts() -> None:
    small = pinned(pin("ponderosa", 0.5))
    assert hard(poison(small, kind="cattle", stage="late gestation")[0])
    assert not hard(poison(small, kind="cattle", stage="")[0])
    assert not hard(poison(small, kind="horse", stage="late gestation")[0])


def test_what_nobody_knows_of_a_kind_counts_as_harm_and_is_a_guess() -> None:
    for kind in ("duck", "turkey", "chicken", "goose"):
        found, _ = poison(pinned(pin("cherry", 0.5)), kind=kind, storms=(STORM,))
        assert hard(found)
        assert hard(found)[0].mark == "G"
        assert "not known" in hard(found)[0].because


def basis(line: HeadLine) -> str:
    row = plants.row_for("box_elder", line)
    return row["basis"] if row is not None else ""


def test_donkeys_are_read_by_their_own_row() -> None:
    line = HeadLine("horse", "donkey mature", 1)
    assert basis(line) == "placeholder"
    assert basis(replace(line, klass="mature idle")) == "published-read"


@pytest.mark.parametrize(("pounds", "low", "high"), [("150 lb", 69, 273), ("45 lb", 20.7, 81.9)])
def test_the_lethal_range_stands_only_under_why(pounds: str, low: float, high: float) -> None:
    # cherry_cyanide: 0.46-1.82 g a pound; 69-273 g at 150 lb, 21-82 g at 45 lb
    from browseline.units import parse

    small = pinned(pin("cherry", 0.5))
    flock = replace(ewes(), lines=(replace(ewes().lines[0], weight=parse(pounds, "mass")),))
    seen = scene(small, state(small, mob=flock, storms=(STORM,)))
    bite = next(b for b in bites(seen, "ewes", "1") if b.limit == "poison")
    lethal = next(f for f in bite.figures if f.name == "lethal_plant")
    assert lethal.low == pytest.approx(low)
    assert lethal.high == pytest.approx(high)
    assert lethal.value is None
    assert lethal.unit == "g"
    for text in (bite.because, bite.do, bite.short, *(late.risk for late in bite.late)):
        assert not re.search(r"\d ?(g|kg|lb)\b", text)
        assert "safe" not in text
    assert "vet" in bite.do


def test_after_a_storm_every_pinned_paddock_waits_for_a_look() -> None:
    small = pinned(pin("cherry", 0.5), pin("yew", 2.5))
    seen = scene(small, state(small, storms=(STORM,)))
    assert [x.paddock for x in to_look(seen)] == ["1", "3"]
    look = Cleared("3", "", When.at(NOW))
    seen = scene(small, state(small, storms=(STORM,), cleared=(look,)))
    assert [x.paddock for x in to_look(seen)] == ["1"]
    assert to_look(scene(small, state(small))) == ()


def test_no_row_of_the_table_is_left_without_words() -> None:
    from browseline.words import say

    for key in KEYS:
        for part in ("plant", "worst", "do"):
            assert say(f"poison.{part}.{key}", minutes="1")
    for row in tables.texts("poison_triggers"):
        assert say(f"poison.trigger.{row['trigger']}")


def test_the_shelf_says_the_same() -> None:
    """The doses' words of the table stand in the file as the shelf gives them, with their sources."""
    rows = tables.texts("poison")
    assert all(r["source"] and r["basis"] for r in rows)
    assert {r["severity"] for r in rows} == {
        "fatal",
        "serious",
        "moderate",
        "low",
        "none_reported",
        "unknown",
    }


def test_a_drawn_line_or_area_counts_as_a_point_does() -> None:
    """A hedge over the fence and a wood inside: each by its nearest part."""
    edge = tuple((-45.0 + 1.02 * SIDE, 41.0 + n * SIDE) for n in (0.2, 0.8))
    far = tuple((-45.0 + 2.5 * SIDE, 41.0 + n * SIDE) for n in (0.2, 0.8))
    hedge = Shape("hedge", "hazard", "hedge", "LineString", (), edge, plant="cherry")
    hedges = Shape("hedges", "hazard", "hedges", "MultiLineString", (far, edge), plant="cherry")
    wood = replace(square("wood", 0), kind="hazard", plant="cherry")
    for shape in (hedge, hedges, wood):
        found, _ = poison(pinned(shape), storms=(STORM,))
        assert hard(found), shape.geometry


def test_no_frost_is_warned_of_in_summer() -> None:
    summer = datetime(2026, 7, 10, 7, tzinfo=ZONE)
    found, _ = poison(pinned(pin("cherry", 0.5), weather=True), now=summer)
    assert "soft" not in [b.hardness for b in found]
