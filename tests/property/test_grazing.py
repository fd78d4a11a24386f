"""The paddock-day: what must hold for any sward, herd and calendar."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.science import forage, grazing
from browseline.science.forage import Array

COOL = forage.Group(3.0, 0.6, 5.0, 0.0445, 4.0, 13.0, 20.0, 35.0, 0.033, 0.68, 0.6, 6000.0)
LEGUME = forage.Group(2.0, 0.86, 5.0, 0.0445, 4.0, 18.0, 25.0, 35.0, 0.03, 0.6, 0.6, 5000.0)
LEAF = grazing.leaf_of([COOL, LEGUME], 250.0, 1000.0)
MEMBERS, DAYS, PADDOCKS, MOBS = 3, 60, 4, 2


def invented(seed: int) -> tuple[Array, Array, Array, grazing.Paddocks, grazing.Days, grazing.Stays]:
    """Return a farm, its days and its stays, drawn at random: hay cuts, typed growth, part days."""
    rng = np.random.default_rng(seed)
    share = rng.uniform(0, 1, (PADDOCKS, 1))
    paddocks = grazing.Paddocks(
        rng.integers(0, 2, PADDOCKS), np.hstack([share, 1 - share]),
        rng.uniform(0.3, 4, PADDOCKS), rng.uniform(0, 900, PADDOCKS),
    )  # fmt: skip
    typed = np.where(rng.random((DAYS, PADDOCKS)) < 0.1, rng.uniform(-5, 80, (DAYS, PADDOCKS)), np.nan)
    cut_to = np.where(rng.random((DAYS, PADDOCKS)) < 0.02, 1500.0, np.inf)
    days = grazing.Days(
        rng.uniform(0, 500, (2, MEMBERS, DAYS, 2)), rng.choice([0, 0.003], (2, MEMBERS, DAYS)), typed, cut_to
    )
    count = 20
    start = rng.uniform(0, DAYS, count)
    visits = (rng.integers(0, PADDOCKS, count), rng.integers(0, MOBS, count), start)
    stays = grazing.stays_of(DAYS, *visits, start + rng.uniform(0, 8, count), rng.uniform(0.5, 1, count))
    mass, fertility = rng.uniform(0, 5500, (MEMBERS, PADDOCKS)), rng.uniform(0.2, 1.2, (MEMBERS, PADDOCKS))
    return mass, fertility, rng.uniform(0, 900, (1, DAYS, MOBS)), paddocks, days, stays


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1))
def test_mass_is_neither_made_nor_lost(seed: int) -> None:
    mass, fertility, demand, paddocks, days, stays = invented(seed)
    out = grazing.run(mass, fertility, demand, paddocks, days, stays, LEAF)
    change = out.growth_kg_ha - out.loss_kg_ha - out.removed_kg_ha - out.cut_kg_ha
    assert np.max(np.abs(out.mass_kg_ha[:, :-1] + change - out.mass_kg_ha[:, 1:])) < 1e-9
    assert np.min(out.mass_kg_ha) >= 0
    assert np.all(out.removed_kg_ha >= 0)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1))
def test_what_leaves_the_sward_is_what_mobs_ate_and_trod(seed: int) -> None:
    mass, fertility, demand, paddocks, days, stays = invented(seed)
    stays = stays._replace(share_eaten=np.full(len(stays.mob), 0.8))
    out = grazing.run(mass, fertility, demand, paddocks, days, stays, LEAF)
    taken = np.sum(out.removed_kg_ha * paddocks.area_ha, axis=2) * 0.8
    assert taken == pytest.approx(np.sum(out.eaten_kg, axis=2), abs=1e-8)
    need = np.zeros((DAYS, MOBS))
    for day in range(DAYS):
        for e in range(stays.first[day], stays.first[day + 1]):
            need[day, stays.mob[e]] += demand[0, day, stays.mob[e]] * stays.day_frac[e]
    assert out.eaten_kg + out.short_kg == pytest.approx(np.broadcast_to(need, out.eaten_kg.shape), abs=1e-8)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1), st.floats(1, 5))
def test_more_demand_never_leaves_more_standing(seed: int, times: float) -> None:
    mass, fertility, demand, paddocks, days, stays = invented(seed)
    light = grazing.run(mass, fertility, demand, paddocks, days, stays, LEAF)
    heavy = grazing.run(mass, fertility, demand * times, paddocks, days, stays, LEAF)
    assert np.all(heavy.mass_kg_ha <= light.mass_kg_ha + 1e-9)


@settings(deadline=None, max_examples=40)
@given(st.integers(0, 2**32 - 1))
def test_one_paddock_alone_is_the_same_paddock(seed: int) -> None:
    mass, fertility, demand, paddocks, days, stays = invented(seed)
    out = grazing.run(mass, fertility, demand, paddocks, days, stays, LEAF)
    wanted = np.zeros((DAYS, PADDOCKS))
    for day in range(DAYS):
        for e in range(stays.first[day], stays.first[day + 1]):
            p = stays.paddock[e]
            need = demand[0, day, stays.mob[e]] * stays.day_frac[e] / stays.share_eaten[e]
            wanted[day, p] += need / paddocks.area_ha[p]
    p, member = seed % PADDOCKS, seed % MEMBERS
    curve = paddocks.curve[p]
    alone = grazing.one_paddock(
        mass[member, p], wanted[:, p], paddocks.floor_kg_ha[p],
        days.cut_to_kg_ha[:, p], days.typed_kg_ha_d[:, p],
        fertility[member, p], days.potential_kg_ha_d[curve, member], days.loss_per_d[curve, member],
        paddocks.share[p], LEAF,
    )  # fmt: skip
    assert alone.mass_kg_ha == pytest.approx(out.mass_kg_ha[member, :, p], abs=1e-12)
    assert alone.cut_kg_ha == pytest.approx(out.cut_kg_ha[member, :, p], abs=1e-12)


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2**32 - 1))
def test_days_of_a_stay_add_up_to_its_hours(seed: int) -> None:
    rng = np.random.default_rng(seed)
    start = rng.uniform(-5, DAYS, 12)
    end = start + rng.uniform(0, 9, 12)
    mob = np.arange(12)
    stays = grazing.stays_of(DAYS, np.zeros(12, int), mob, start, end, np.full(12, 0.7))
    inside = np.maximum(np.clip(end, 0, DAYS) - np.clip(start, 0, DAYS), 0)
    assert np.bincount(stays.mob, stays.day_frac, 12) == pytest.approx(inside, abs=1e-9)
    assert stays.first[-1] == len(stays.mob)
    assert np.all((stays.day_frac > 0) & (stays.day_frac <= 1 + 1e-12))


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 9))
def test_more_water_never_less_growth(one: float, other: float, et0: float) -> None:
    low, high = sorted((one, other))
    assert forage.water_response(low, et0) <= forage.water_response(high, et0) + 1e-12


@given(st.floats(0, 2), st.floats(0, 1), st.floats(0, 1))
def test_shaded_yield_ends_inside_the_accepted_range(ratio: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    after = ratio * float(forage.shade_correction(ratio, low, high))
    assert low - 1e-12 <= after <= high + 1e-12 or ratio <= 1e-9
