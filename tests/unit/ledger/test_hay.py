"""The store as eaten, the need by stage, and for how long one meets the other."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from browseline.events import Cut, Fed
from browseline.figures import Figure
from browseline.ledger.hay import hay_store, lasting, requirement, sold, spans, whole_bales
from tests.unit.ledger.small import TODAY, event, ewes, farm, lot, mob, quantity, scene, stage

KG = Figure("hay_eaten", 100.0, "kg")


def days(n: int) -> date:
    return TODAY + timedelta(days=n)


def test_water_store_and_feeding_are_taken_once_each() -> None:
    store = hay_store(scene(farm()))
    assert store is not None
    assert store.stored.value == pytest.approx(1000)
    assert store.dry.value == pytest.approx(800)
    assert store.lost_in_store.value == pytest.approx(80)
    assert store.lost_in_feeding.value == pytest.approx(72)
    assert store.eaten_kg == pytest.approx(648)
    assert store.bale.not_typed == ()


def test_feeding_takes_bales_out() -> None:
    fed = event("ewes", Fed(quantity("4 bales", "count")))
    store = hay_store(scene(farm(), [fed]))
    assert store is not None
    assert store.bales.value == 6


def test_a_share_that_nobody_typed_takes_nothing_off_and_is_named() -> None:
    store = hay_store(scene(farm(hay=(lot(feeding_loss=None, store_loss=None),))))
    assert store is not None
    assert store.eaten_kg == pytest.approx(800)
    assert store.bale.not_typed == ("store_loss", "feeding_loss")


def test_bales_of_a_cut_count_as_those_of_the_first_lot() -> None:
    cut = event("2", Cut(bales=quantity("5 bales", "count")))
    found = hay_store(scene(farm(hay=(lot(), lot(0, "loft"))), [cut]))
    assert found is not None
    assert found.bales.value == 15
    assert found.not_counted == ("cut/2",)


def test_without_a_lot_there_is_no_store() -> None:
    assert hay_store(scene(farm(hay=()))) is None


def test_needs_change_where_a_stage_begins() -> None:
    stages = (stage(days(-30), "1 kg/d"), stage(days(10), "3 kg/d"), stage(days(40), "4 kg/d"))
    seen = scene(farm(mobs=(mob(ewes(50, None, stages), ewes(2, "5 kg/d", klass="rams")),)))
    over = spans(seen, seen.mobs, days(20))
    assert [(s.first, s.last) for s in over] == [(TODAY, days(10)), (days(10), days(20))]
    assert [s.kg_d for s in over] == pytest.approx([60, 160])
    assert requirement(over).value == pytest.approx(10 * 60 + 10 * 160)


def test_what_is_not_known_is_no_need() -> None:
    seen = scene(farm(mobs=(mob(ewes(50, None)),)))
    assert spans(seen, seen.mobs, days(20)) == ()


def test_stages_are_found_through_the_parents_of_a_mob() -> None:
    from dataclasses import replace

    seen = scene(farm(mobs=(mob(ewes(50, "1 kg/d", (stage(days(10), "3 kg/d"),))),)))
    child = replace(seen.mobs[0], id="split-off", parents=("gone", "ewes"))
    assert [s.kg_d for s in spans(seen, (child,), days(20))] == [pytest.approx(50), pytest.approx(150)]
    other = replace(child, parents=())
    assert [s.kg_d for s in spans(seen, (other,), days(20))] == [pytest.approx(50)]


def test_feed_lasts_through_the_stages_and_beyond_the_last() -> None:
    seen = scene(farm(mobs=(mob(ewes(1, "1 kg/d", (stage(days(10), "3 kg/d"),))),)))
    over = spans(seen, seen.mobs, days(20))
    found = lasting(KG, over)
    assert found is not None
    assert found.days.value == pytest.approx(10 + 90 / 3)
    assert (found.last_full, found.out) == (days(39), days(40))
    short = lasting(Figure("hay_eaten", 5.5, "kg"), over)
    assert short is not None
    assert short.days.value == pytest.approx(5.5)
    assert (short.last_full, short.out) == (days(4), days(5))


def test_feed_does_not_end_where_growth_keeps_up() -> None:
    seen = scene(farm(mobs=(mob(ewes(1, "1 kg/d", (stage(days(10), "3 kg/d"),))),)))
    over = spans(seen, seen.mobs, days(20))
    assert lasting(KG, over, 3.0) is None
    piled = lasting(KG, over, 2.0)
    assert piled is not None
    assert piled.days.value == pytest.approx(10 + 110)


def test_growth_ends_where_nobody_expects_more() -> None:
    """1 kg/d for 10 d, 3 kg/d after; 1 kg/d grows until a day, or 5 d past the stretch."""
    seen = scene(farm(mobs=(mob(ewes(1, "1 kg/d", (stage(days(10), "3 kg/d"),))),)))
    over = spans(seen, seen.mobs, days(20))
    for until, wanted in ((4, 4 + 6 + 94 / 3), (15, 10 + 5 + 90 / 3), (25, 10 + 15 + 70 / 3)):
        found = lasting(KG, over, 1.0, days(until))
        assert found is not None
        assert found.days.value == pytest.approx(wanted)


def test_bales_round_up_but_not_for_a_whole_number() -> None:
    store = hay_store(scene(farm()))
    assert store is not None
    assert [whole_bales(kg, store.bale) for kg in (-5, 0, 0.1, 64.8, 64.9)] == [0, 0, 1, 1, 2]


def test_animals_are_sold_out_of_their_own_class_only() -> None:
    lines = (ewes(30), ewes(20, "1 kg/d", klass="lambs"))
    seen = scene(farm(mobs=(mob(*lines),)))
    left = sold((*seen.mobs, *seen.mobs), "sheep", "ewes", 35)
    assert [[line.head for line in m.lines] for m in left] == [[0, 20], [25, 20]]
    assert sold(seen.mobs, "goat", "ewes", 5) == seen.mobs
