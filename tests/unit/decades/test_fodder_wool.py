"""Leaf fodder and wool by what the farm typed: by hand, in the feed, in money; none where none is typed."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from browseline.canopy import TreeWork
from browseline.chain.decades_told import fodder_words, wool_words
from browseline.chain.money_ahead import can_follow, futures
from browseline.decades.fodder import fed_kg, fodder_ahead
from browseline.decades.form import Projection
from browseline.decades.grown import GrownAhead
from browseline.decades.project import Land, feed_ahead
from browseline.decades.start import Start
from browseline.decades.wool import typed_line, wool_ahead
from browseline.farm.accounts import MoneyLine, MoneyPlan
from browseline.farm.future import Future, LeafCut
from browseline.farm.records import Farm, Line, Mob
from browseline.record.state import HeadLine, MobState, State
from browseline.trials.alternatives import left_alone, without_stock, without_trees
from browseline.units import parse
from browseline.words import links_of
from tests.unit.decades.orchard import NOW, YEARS, farm, grown
from tests.unit.decades.test_carbon_ahead import feed

MEMBERS = tuple(range(8))


def cut(each: str = "3 kg", age: int = 12, every: int = 2, month: int | None = 7) -> LeafCut:
    return LeafCut("nuts-leaf", "nuts", parse(each, "mass"), age, every, month)


def with_cuts(*cuts: LeafCut, **more: Any) -> Farm:
    return replace(farm(**more), future=Future(fodder=cuts))


def test_by_hand_three_kilograms_a_tree_every_other_year() -> None:
    """Planted 2016: from age 12, in 2028, 2030, 2032 …; each living tree gives 3 kg of dry leaf."""
    made = with_cuts(cut())
    sizes = grown(made, years=YEARS[:9], members=MEMBERS)
    (leaf,) = fodder_ahead(made, sizes)
    due = [year >= 2028 and year % 2 == 0 for year in YEARS[:9]]
    np.testing.assert_array_equal(leaf.amount, 3.0 * sizes.alive.sum(axis=2) * np.array(due)[:, None])
    assert leaf.amount[due].min() > 200
    assert (leaf.product, leaf.unit, leaf.first[0]) == ("leaf", "kg", 2028)
    assert {origin.basis for origin in leaf.origins} == {"farm"}
    fed = fed_kg(made, sizes)
    np.testing.assert_array_equal(fed[:, :, 6], leaf.amount)
    assert not np.delete(fed, 6, axis=2).any()


def test_leaf_that_is_fed_to_nobody_is_told_all_the_same() -> None:
    made = with_cuts(cut(month=None))
    sizes = grown(made, years=YEARS[:9], members=MEMBERS)
    assert fodder_ahead(made, sizes)[0].amount.any()
    assert not fed_kg(made, sizes).any()


def test_replants_are_cut_by_their_own_age_and_felled_trees_not_at_all() -> None:
    made = with_cuts(cut(age=4, every=1))
    works = (TreeWork("nuts", 2030, "felled", 400, planned=True),
             TreeWork("nuts", 2031, "planted", 50, planned=True))  # fmt: skip
    sizes = grown(made, works, YEARS[:14], MEMBERS)
    (leaf,) = fodder_ahead(made, sizes)
    at = [YEARS.index(year) for year in (2029, 2030, 2034, 2035)]
    assert leaf.amount[at[0]].min() > 0
    assert not leaf.amount[at[1] : at[2] + 1].any()
    assert 0 < leaf.amount[at[3]].max() <= 3.0 * 50


@given(
    st.integers(0, 60),
    st.integers(1, 9),
    st.sampled_from([None, 1, 6, 12]),
    st.floats(0.1, 40, allow_nan=False),
)
@settings(max_examples=30, deadline=None)
def test_twice_the_leaf_is_twice_the_fodder(
    age: int, every: int, month: int | None, kilograms: float
) -> None:
    sizes = grown(farm(), years=YEARS[:12], members=MEMBERS[:3])
    one, two = (with_cuts(cut(f"{kilograms * n:.3f} kg", age, every, month)) for n in (1, 2))
    (single,), (double,) = fodder_ahead(one, sizes), fodder_ahead(two, sizes)
    np.testing.assert_allclose(double.amount, 2 * single.amount, rtol=0.02)
    both = with_cuts(
        cut(f"{kilograms:.3f} kg", age, every, month), cut(f"{kilograms:.3f} kg", age, every, None)
    )
    np.testing.assert_allclose(fodder_ahead(both, sizes)[0].amount, 2 * single.amount)
    np.testing.assert_array_equal(fed_kg(both, sizes), fed_kg(one, sizes))


def test_more_members_or_years_change_no_other() -> None:
    made = with_cuts(cut())
    (long,) = fodder_ahead(made, grown(made, years=YEARS[:14], members=MEMBERS))
    (short,) = fodder_ahead(made, grown(made, years=YEARS[:7], members=MEMBERS[:3]))
    np.testing.assert_array_equal(long.amount[:7, :3], short.amount)


# ---------------------------------------------------------------- in the feed


EWES = Mob("m", "Mob", (Line("sheep", "ewe maintenance", 40, wool=parse("2.5 kg", "mass")),), at="1")


def eaters(made: Farm, july_kg: float) -> tuple[Any, Any]:
    """Return the feed of a farm on which each month grows a little, with its leaf; and the sizes."""
    lines = tuple(HeadLine(x.kind, x.klass, x.head) for x in EWES.lines)
    start = Start(made, State(NOW, (MobState("m", "Mob", lines, "1", None),)), NOW.date())
    sizes = grown(made, years=YEARS[:6], members=MEMBERS)
    month = np.full((6, len(MEMBERS), 12), july_kg)
    land = Land(
        sizes, cast("Any", SimpleNamespace(paddocks=("1",))),
        GrownAhead(month, month.sum(axis=2)[:, :, None], None, ()),
    )  # fmt: skip
    return feed_ahead(start, land)[0], sizes


def test_leaf_in_july_is_hay_not_bought() -> None:
    """July and August both lack grass: every kilogram of leaf is eaten and saves a kilogram of hay."""
    bare, _ = eaters(farm(mobs=(EWES,)), 100.0)
    made = with_cuts(cut(age=1, every=1, each="2 kg"), mobs=(EWES,))
    fed, sizes = eaters(made, 100.0)
    saved = bare.hay_kg.sum(axis=2) - fed.hay_kg.sum(axis=2)
    np.testing.assert_allclose(saved, 2.0 * sizes.alive.sum(axis=2))
    assert not (fed.hay_kg[:, :, :6] - bare.hay_kg[:, :, :6]).any()


def test_leaf_alone_does_not_make_growth_known() -> None:
    made = with_cuts(cut(age=1, every=1), mobs=(EWES,))
    fed, _ = eaters(made, 0.0)
    assert not fed.grows


# ---------------------------------------------------------------- wool


def test_by_hand_wool_of_forty_ewes() -> None:
    """40 head at 2.5 kg greasy: 100 kg a year; half the head, half the wool; a class without it has none."""
    made = farm(mobs=(EWES,))
    state = State(NOW)
    np.testing.assert_allclose(
        wool_ahead(made, state, feed(40, 4, "sheep", "ewe maintenance")).sum(axis=2), 100.0
    )
    np.testing.assert_allclose(
        wool_ahead(made, state, feed(20, 4, "sheep", "Ewe Maintenance")).sum(axis=2), 50.0
    )
    assert not wool_ahead(made, state, feed(40, 4, "sheep", "rams")).any()
    assert not wool_ahead(farm(), state, feed(40, 4, "sheep", "ewe maintenance")).any()


def test_a_mob_goes_before_another_of_the_same_class() -> None:
    other = replace(EWES, id="o", lines=(replace(EWES.lines[0], wool=parse("4 kg", "mass")),))
    made = farm(mobs=(other, EWES))
    own = typed_line(made, State(NOW), "m", "sheep", "ewe maintenance")
    assert own is not None
    assert own.wool == EWES.lines[0].wool
    split = State(
        NOW, (MobState("new", "New", (HeadLine("sheep", "ewe maintenance", 3),), "1", None, parents=("m",)),)
    )
    late = typed_line(made, split, "new", "sheep", "ewe maintenance")
    assert late is not None
    assert late.wool == EWES.lines[0].wool


# ---------------------------------------------------------------- told, and in money


def ahead(made: Farm, head: float = 40.0) -> Projection:
    years, members = YEARS[:6], MEMBERS[:3]
    sizes = grown(made, years=years, members=members)
    flock = feed(head, len(members), "sheep", "ewe maintenance")
    flock = replace(flock, head=np.full((len(years), len(members), 1), head))
    found: dict[str, Any] = {
        "feed": flock, "fodder": fodder_ahead(made, sizes), "yields": (), "wood": (), "years": years,
        "members": members, "wool_kg": wool_ahead(made, State(NOW), flock), "work_h": np.zeros((6, 3)),
        "sizes": sizes, "light": SimpleNamespace(stand_in=("1",), error_frac=np.zeros((6, 1))),
    }  # fmt: skip
    return cast("Projection", SimpleNamespace(**found))


def test_both_have_a_price_where_a_line_follows_them() -> None:
    """100 kg of wool at $2 a kg; 300 kg of leaf (100 trees, some dead) by the pound."""
    made = with_cuts(cut(age=1, every=1), mobs=(EWES,))
    seen = ahead(made)
    line = MoneyLine("w", "Wool", "income", parse("$2", "money"), follows="wool m/ewe maintenance", per="kg")
    leaf = replace(line, id="l", follows="yield nuts leaf", per="lb")
    plan = MoneyPlan(2026, 6, parse("5 %", "share"), lines=(line, leaf))
    found = futures(made, plan, seen)
    assert found.unknown == ()
    np.testing.assert_allclose(found.follows["w"].amount, 100.0)
    np.testing.assert_allclose(found.follows["l"].amount, seen.fodder[0].amount / 0.45359237)
    assert "yield nuts leaf" in set(can_follow(seen))
    bare = replace(plan, lines=(replace(line, follows="wool m"),))
    assert futures(farm(), bare, ahead(farm())).unknown == ("Wool",)


def test_what_is_typed_is_said_and_what_is_not_is_said_too() -> None:
    made = with_cuts(cut(), mobs=(EWES,))
    told = list(fodder_words(made, ahead(made)))
    assert told[0] == "Leaf fodder as you typed it: 3 kg a tree of Nuts every 2 years from age 12 on."
    assert told[1] == "Stock have it in Jul, as they have the grass of that month."
    assert told[2].startswith("The next cut of Nuts, in 2028, gives ")
    assert len(links_of(told[0])) == 3
    assert len(links_of(told[2])) == 4
    (wool,) = wool_words(made, State(NOW), ahead(made))
    assert wool == "Wool as you typed it: 2.5 kg a head of dry ewes a year."
    (none,) = fodder_words(farm(), ahead(farm()))
    assert none.startswith("No leaf fodder is typed, so none is counted")
    (no_wool,) = wool_words(farm(), State(NOW), ahead(farm()))
    assert no_wool == "No wool is typed for dry ewes, so none is counted."
    assert list(fodder_words(with_cuts(cut(month=None)), ahead(with_cuts(cut(month=None)))))[1].endswith(
        "feeds none of your stock here."
    )


def test_other_uses_of_the_land_take_what_is_theirs() -> None:
    made = with_cuts(cut(), mobs=(EWES,))
    line = MoneyLine("w", "Wool", "income", parse("$2", "money"), follows="wool m")
    lime = replace(line, id="i", kind="cost", follows="input lime")
    made = replace(made, money=MoneyPlan(2026, 6, parse("5 %", "share"), lines=(line, lime)))
    assert not without_trees(made).future.fodder
    assert not left_alone(made).future.fodder
    kept = {use: [x.id for x in (use(made).money or MoneyPlan(1, 1, parse("5 %", "share"))).lines]
            for use in (without_trees, without_stock, left_alone)}  # fmt: skip
    assert list(kept.values()) == [["w", "i"], ["i"], []]
