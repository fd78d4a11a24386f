"""Which trees stand: what was counted, what was drawn, what dies, what is set again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from browseline.canopy import TreeSizes, TreeWork
from browseline.canopy.fates import dying
from browseline.canopy.growing import kept_apart
from browseline.farm.records import TreeRow
from browseline.units import parse
from tests.unit.canopy.trees_farm import (
    MEMBERS,
    YEARS,
    at,
    cut,
    grown,
    lost,
    two_rows,
    walnuts,
    with_trees,
)

SUMMER = "2026-05-04"


def standing(sizes: TreeSizes, year: int) -> list[int]:
    return [int(n) for n in sizes.alive[YEARS.index(year)].sum(axis=1)]


def test_what_was_counted_is_so_in_every_member() -> None:
    sizes = grown(with_trees(walnuts()), **lost(7, SUMMER))
    assert standing(sizes, 2026) == [93] * len(MEMBERS)


def test_trees_counted_but_not_placed_are_drawn_by_member_and_marked() -> None:
    own = grown(with_trees(walnuts()), **lost(7, SUMMER)).fates["nuts"]
    gone = [tuple(np.flatnonzero(own.end[m] <= 2026)) for m in range(len(MEMBERS))]
    assert {len(g) for g in gone} == {7}
    assert len(set(gone)) > 1
    assert own.unplaced
    assert (own.drawn == (own.end <= 2046)).all()


def test_a_loss_in_a_named_row_stays_in_that_row() -> None:
    own = grown(with_trees(two_rows()), **lost(7, SUMMER, "B")).fates["nuts"]
    rows = np.array(own.row_of())
    assert (rows[np.argwhere(own.end <= 2026)[:, 1]] == "B").all()
    assert (own.end <= 2026).sum() == 7 * len(MEMBERS)


def test_a_loss_before_the_farms_as_of_is_in_its_count_already() -> None:
    assert standing(grown(with_trees(walnuts()), **lost(7, "2026-04-20")), 2026)[0] == 100


def test_more_lost_than_there_are_leaves_none() -> None:
    assert standing(grown(with_trees(walnuts()), **lost(130, SUMMER)), 2026) == [0] * len(MEMBERS)


def test_trees_die_at_the_rates_of_the_table() -> None:
    """Walnuts of 8 years lose 0.5 to 1 % a year (placeholder of trees.md 4): 100 to 82-90 in 20 years."""
    many = walnuts(trees=5000)
    left = grown(with_trees(many)).alive[-1].sum(axis=1) / 5000
    assert (left > 0.99**20 - 0.02).all()
    assert (left < 0.995**20 + 0.02).all()
    assert left.std() > 0.01


def test_young_trees_die_faster_and_a_guard_saves_some() -> None:
    chance = np.array([0.0, 0.5, 1.0])
    ages = np.array([1.0, 3.0, 9.0])
    bare, safe = dying(walnuts(), ages, chance), dying(walnuts(guard="mesh cage, two posts"), ages, chance)
    assert bare == pytest.approx(np.array([[0.15, 0.03, 0.005], [0.225, 0.04, 0.0075], [0.30, 0.05, 0.01]]))
    assert safe[:, 0] == pytest.approx([0.10, 0.125, 0.15])
    assert (safe[:, 1:] == bare[:, 1:]).all()


def test_nobody_dies_in_the_year_of_planting() -> None:
    own = grown(with_trees(replace(walnuts(), planted=2030))).fates["nuts"]
    assert not (own.end <= 2030).any()
    assert (own.end == 2031).any()


def test_dead_trees_stay_dead() -> None:
    sizes = grown(with_trees(walnuts(planted=2025)))
    assert (np.diff(sizes.alive.sum(axis=2), axis=0) <= 0).all()


def test_replants_are_a_cohort_of_their_own_in_the_oldest_gaps() -> None:
    facts = lost(7, SUMMER) | {"planted": (("nuts", 5, at("2026-05-05")),)}
    sizes = grown(with_trees(walnuts()), **facts)
    assert [c.replant for c in sizes.cohorts] == [False, True]
    assert sizes.cohorts[1].planted == 2026
    assert standing(sizes, 2026) == [98] * len(MEMBERS)
    own = sizes.fates["nuts"]
    for member in range(len(MEMBERS)):
        gone = set(np.flatnonzero(own.end[member, :100] <= 2026))
        into = own.place[member, 100:].tolist()
        assert len(set(into)) == 5
        assert set(into) <= gone


def test_a_replant_in_a_named_row_goes_into_that_rows_gaps() -> None:
    facts = lost(7, SUMMER, "B")
    row = facts["row_counts"][0]
    again = type(row)("nuts", "B", at("2026-05-05"), planted=3)
    facts |= {"planted": (("nuts", 3, at("2026-05-05")),), "row_counts": (row, again)}
    sizes = grown(with_trees(two_rows()), **facts)
    assert sizes.cohorts[-1].row == "B"
    assert (sizes.fates["nuts"].place[:, 100:] >= 60).all()


def test_replants_beyond_the_gaps_have_no_place() -> None:
    sizes = grown(with_trees(walnuts()), planted=(("nuts", 4, at(SUMMER)),))
    assert (sizes.fates["nuts"].place[:, 100:] == -1).all()
    assert standing(sizes, 2026)[0] == 104


def test_gaps_are_filled_again_where_it_is_asked_for() -> None:
    young = with_trees(walnuts(planted=2026))
    bare, filled = grown(young), grown(young, replant=True)
    assert (filled.alive.sum(axis=2)[-1] > bare.alive.sum(axis=2)[-1] + 10).all()
    assert (filled.alive.sum(axis=2) <= 100).all()
    assert filled.alive.sum(axis=2).min() > 55


def test_thinning_and_felling_take_trees_out() -> None:
    sizes = grown(with_trees(walnuts()), trees_cut=(cut("thinned", SUMMER, 30), cut("felled", SUMMER, 5)))
    assert standing(sizes, 2026) == [65] * len(MEMBERS)
    own = sizes.fates["nuts"]
    assert {year: set(n.tolist()) for year, n in own.thinned.items()} == {2026: {35}}
    assert set(own.free_places((2025, 2026, 2030)).ravel().tolist()) == {0, 35}


def test_planned_thinning_waits_for_its_year() -> None:
    planned = (TreeWork("nuts", 2030, "thinned", 50, planned=True),)
    sizes = grown(with_trees(walnuts()), planned=planned)
    before, after = standing(sizes, 2029), standing(sizes, 2030)
    assert min(before) > 85
    assert all(45 <= b - a <= 60 for b, a in zip(before, after, strict=True))


def test_every_other_tree_out_leaves_every_other_place() -> None:
    planned = (TreeWork("nuts", 2030, "thinned", planned=True, every_other=True),)
    own = grown(with_trees(walnuts()), planned=planned).fates["nuts"]
    left = own.alive(2030)
    assert not left[:, 1::2].any()
    # The others stand as they would have, but for those that died.
    assert (left[:, ::2] == grown(with_trees(walnuts())).fates["nuts"].alive(2030)[:, ::2]).all()
    bare = grown(with_trees(walnuts())).fates["nuts"].alive(2030)
    np.testing.assert_array_equal(own.thinned[2030], bare[:, 1::2].sum(axis=1))
    assert own.free_places((2029, 2030, 2040))[:, 0].tolist() == [0, 50, 50]


def test_what_is_felled_leaves_the_room_of_each_members_own_trees() -> None:
    """By hand: of 100 places k had a tree; the room in the row is 100 over what is left, at least one."""
    planned = (TreeWork("nuts", 2030, "felled", planned=True),)
    own = grown(with_trees(walnuts()), planned=planned).fates["nuts"]
    felled = own.thinned[2030]
    assert len(set(felled.tolist())) > 1
    assert (felled <= own.alive(2029).sum(axis=1)).all()
    assert not own.alive(2030).any()
    spaced = replace(own.planting, spacing=parse("4 m", "length"), alley=None)
    room = kept_apart(np.full((2, len(MEMBERS)), 1e6), replace(own, planting=spaced), (2029, 2030))
    np.testing.assert_allclose(room[0] ** 2, 1.1 * 4.0 * 1e6)
    np.testing.assert_allclose(room[1] ** 2, 1.1 * 4.0 * 100 / np.maximum(100 - felled, 1) * 1e6)


def test_more_than_stand_are_not_taken_and_trees_set_there_again_take_their_room() -> None:
    planned = (TreeWork("nuts", 2030, "thinned", 100, planned=True),
               TreeWork("nuts", 2031, "planted", 60, planned=True))  # fmt: skip
    own = grown(with_trees(walnuts()), planned=planned).fates["nuts"]
    bare = grown(with_trees(walnuts())).fates["nuts"].alive(2030)
    np.testing.assert_array_equal(own.thinned[2030], bare.sum(axis=1))
    assert (own.thinned[2030] < 100).any()
    free = own.free_places((2030, 2031))
    np.testing.assert_array_equal(free[0], own.thinned[2030])
    into = own.place[:, 100:]
    assert ((into >= 0).sum(axis=1) == 60).all()
    assert (free[1] < free[0]).all()
    assert (free[1] >= free[0] - 60).all()
    taken = np.array([own.opened[m, into[m]].any() for m in range(len(MEMBERS))])
    assert not taken.any()


def test_what_one_member_takes_out_is_no_other_members_room() -> None:
    planned = (TreeWork("nuts", 2030, "felled", planned=True),
               TreeWork("nuts", 2031, "planted", 10, planned=True))  # fmt: skip
    close = walnuts(spacing=parse("1 ft", "length"), alley=parse("9 ft", "length"))
    facts = lost(20, SUMMER) | {"planned": planned}
    many = grown(with_trees(close), **facts)
    few = grown(with_trees(close), members=MEMBERS[:2], **facts)
    assert len(set(many.crown_m[-1, :, -1].round(6).tolist())) > 3
    for name in ("crown_m", "stem_cm", "leaf_m2", "alive"):
        np.testing.assert_array_equal(getattr(many, name)[:, :2], getattr(few, name))
    whole = many.fates["nuts"]
    one = whole.of([1])
    assert one.members == MEMBERS[1:2]
    np.testing.assert_array_equal(one.free_places((2032,)), whole.free_places((2032,))[:, 1:2])


def test_a_gap_left_on_purpose_stays_where_the_dead_are_set_again() -> None:
    planned = (TreeWork("nuts", 2027, "thinned", planned=True, every_other=True),
               TreeWork("nuts", 2040, "planted", planned=True))  # fmt: skip
    own = grown(with_trees(walnuts()), planned=planned, **lost(30, SUMMER)).fates["nuts"]
    into = own.place[:, 100:]
    assert (into >= 0).any()
    assert not (into[into >= 0] % 2).any()
    assert set(own.free_places((2040,)).ravel().tolist()) == {50}


def test_what_is_not_known_is_left_out_and_named() -> None:
    sizes = grown(with_trees(walnuts(planted=None), walnuts(id="some", trees=None)))
    assert sizes.unknown == ("nuts", "some")
    assert sizes.stem_cm.shape == (len(YEARS), len(MEMBERS), 0)


def test_one_member_more_or_another_planting_changes_no_draw() -> None:
    few = grown(with_trees(walnuts()), members=(3, 5))
    more = grown(with_trees(walnuts(id="other"), walnuts()))
    assert (few.alive[:, :, 0] == more.alive[:, (3, 5), 1]).all()
    assert few.stem_cm[:, :, 0] == pytest.approx(more.stem_cm[:, (3, 5), 1])


def test_what_happens_to_another_planting_changes_nothing() -> None:
    facts = lost(7, SUMMER, "B") | {
        "planted": (("nuts", 5, at("2026-05-05")),),
        "trees_cut": (cut("felled", SUMMER, 9),),
    }
    other = with_trees(walnuts(id="other"))
    assert (grown(other, **facts).alive == grown(other).alive).all()


def test_a_loss_told_with_and_without_a_row_is_two_losses() -> None:
    by_row, plain = lost(3, SUMMER, "B"), lost(4, "2026-05-05")
    facts = {"losses": by_row["losses"] + plain["losses"], "row_counts": by_row["row_counts"]}
    own = grown(with_trees(two_rows()), **facts).fates["nuts"]
    gone = (own.end <= 2026).sum(axis=1)
    in_b = (own.end[:, 60:] <= 2026).sum(axis=1)
    assert gone.tolist() == [7] * len(MEMBERS)
    assert (in_b >= 3).all()


def test_a_row_without_a_year_or_count_of_its_own_takes_the_plantings() -> None:
    rows = (TreeRow("A", "A", 30), TreeRow("C", "C"))
    sizes = grown(with_trees(walnuts(rows=rows)))
    assert [(c.row, c.planted, c.count) for c in sizes.cohorts] == [("A", 2018, 30), ("", 2018, 70)]
    only = grown(with_trees(walnuts(rows=(TreeRow("A", "A", 30, planted=2020),), trees=None, planted=None)))
    assert [(c.row, c.planted, c.count) for c in only.cohorts] == [("A", 2020, 30)]


def test_pruning_takes_no_tree() -> None:
    sizes = grown(with_trees(walnuts()), trees_cut=(cut("pruned", SUMMER, 40, "6 ft"),))
    assert standing(sizes, 2026) == [100] * len(MEMBERS)


@pytest.mark.parametrize("few", [1, 3])
def test_more_members_change_nobodys_deaths_where_gaps_are_filled_again(few: int) -> None:
    """Replanted trees have draws of their own, so a future that loses more of them changes no other."""
    young = with_trees(walnuts(planted=2026))
    years = range(2026, 2056)
    alone = grown(young, years=years, members=range(few), replant=True)
    among = grown(young, years=years, members=range(24), replant=True)
    assert len(among.cohorts) > 2
    assert (alone.alive.sum(axis=2) == among.alive[:, :few].sum(axis=2)).all()
    for member in range(few):
        assert ends_by_place(alone, member) == ends_by_place(among, member)


def ends_by_place(sizes: TreeSizes, member: int) -> list[tuple[int, int, int]]:
    """Return place, year of planting and last year of each tree that stood in a member."""
    own = sizes.fates["nuts"]
    each = zip(own.place[member].tolist(), own.began().tolist(), own.end[member].tolist(), strict=True)
    return sorted(one for one in each if one[2] > one[1])
