"""Who was in a mob on a past day: events and stages both begin new lines."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from browseline import sward
from browseline.events import Penned
from browseline.ledger.beasts_carbon import present
from browseline.record.fold import fold
from tests.unit.ledger.small import NOW, TODAY, event, ewes, farm, heights, mob, scene, stage

LATER = NOW + timedelta(days=10)


def test_lines_change_with_events_and_with_the_day_of_a_stage() -> None:
    of = farm(mobs=(mob(ewes(50, "1 kg/d", (stage(TODAY + timedelta(days=4), "3 kg/d"),))),))
    pen = event("ewes", Penned("0123", ("ewes=1",)), NOW + timedelta(days=6))
    state = fold(of, [pen], LATER)
    logged = [
        ((at.astimezone(NOW.tzinfo).date() - TODAY).days, lines[0].head, str(lines[0].intake))
        for at, _, lines in state.heads
    ]
    assert logged == [(0, 50, "1 kg/d"), (4, 50, "3 kg/d"), (6, 49, "3 kg/d")]


def test_past_days_eat_what_past_animals_ate() -> None:
    """From 6:00: 3.75 d at 50 kg, 2.25 d at 150, 4 d at 147, on 1 ha of 100 kg/cm."""
    of = farm(mobs=(mob(ewes(50, "1 kg/d", (stage(TODAY + timedelta(days=4), "3 kg/d"),))),))
    pen = event("ewes", Penned("0123", ("ewes=1",)), NOW + timedelta(days=6))
    state = fold(of, [*heights(30), pen], LATER)
    herbage = sward.grow(of, state, LATER, None, horizon_d=5, members=1)
    eaten = 3.75 * 50 + 2.25 * 150 + 4 * 147
    assert float(herbage.mass_kg_ha[0, 0]) == pytest.approx(3000 - eaten, abs=0.01)


def test_a_mob_that_comes_later_is_here_from_its_day_or_from_the_entry_that_found_it_sooner() -> None:
    """Four days of the file, or two where somebody counted a lamb out of it on the second."""
    comes = TODAY + timedelta(days=4)
    of = farm(mobs=(replace(mob(ewes(50, "1 kg/d")), from_day=comes),))
    pen = event("ewes", Penned("0123", ("ewes=1",)), NOW + timedelta(days=2))
    for events, wanted in (([], [(4, 50)]), ([pen], [(2, 49)])):
        state = fold(of, events, LATER)
        logged = [((at.astimezone(NOW.tzinfo).date() - TODAY).days, x[0].head) for at, _, x in state.heads]
        assert logged == wanted


def test_a_mob_that_comes_later_gives_off_gas_from_its_day_on() -> None:
    comes = TODAY - timedelta(days=6)
    begun = TODAY - timedelta(days=10)
    farms = [
        replace(farm(mobs=(one,)), as_of=begun)
        for one in (mob(ewes(50, "1 kg/d")), replace(mob(ewes(50, "1 kg/d")), from_day=comes))
    ]
    scenes = [scene(of) for of in farms]
    ten, six = (present(each, begun, TODAY + timedelta(days=30))[0].head_years for each in scenes)
    assert (six.value or 0.0) / (ten.value or 1.0) == pytest.approx(6.25 / 10.25)
