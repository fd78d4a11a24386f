"""Ground that a plan keeps for a hay cut: shut to all from the last stay before it until the hay is off."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from browseline.farm.records import Rules
from browseline.limits import Scene, faces
from browseline.moves import Season, judge, plan, yardstick_of
from browseline.moves.cuts import Cutter, cutter, with_cuts
from browseline.moves.form import Cut, Yardstick
from browseline.moves.propose import Keeping, polished
from browseline.moves.rules import all_yard
from browseline.units import parse
from tests.moves_farms import broken, grazed, number, on_lying_hay

PADDOCK, SHUT_FROM, DAY, CLEAR = 4, 5, 9, 14
DAYS = 30


def hay_rules(days: int, stubble_in: float) -> Rules:
    """Return rules under which aftermath may be as good to graze as grass that nobody cut."""
    return Rules(
        worm_stay=parse("60 d", "time"),
        worm_rest=parse("1 d", "time"),
        hay_pass=parse("10 USD/ac", "money by area"),
        hay_field_loss=parse("10 %", "share"),
        hay_days=parse(f"{days} d", "time"),
        hay_stubble=parse(f"{stubble_in} in", "length"),
    )


def meadow(mobs: int = 2, days: int = CLEAR - DAY, stubble_in: float = 8.0, **more: Any) -> Scene:
    """Return a farm in which paddock 5 stands tallest, and as good as any once it is cut."""
    tall = (9.0, 8.0, 8.0, 8.0, 16.0, 8.0)
    return grazed(
        (1.0, 1.0, 1.0, 1.0, 6.0, 1.0), tall, mobs=mobs, days=DAYS, growth="50 lb/ac/d",
        head=40, rules=hay_rules(days, stubble_in), members=3, **more,
    )  # fmt: skip


def asked(scene: Scene) -> tuple[Yardstick, Cutter, Cut]:
    yardstick = yardstick_of(scene, faces(scene))
    how = cutter(scene, yardstick, Keeping.nothing(yardstick), 1, 0)
    assert how is not None
    return yardstick, how, Cut(PADDOCK, SHUT_FROM, DAY, CLEAR, float(how.to_kg_ha[PADDOCK]))


def test_a_cut_shuts_its_paddock_to_all_until_the_hay_is_off_and_nothing_else() -> None:
    yardstick, _, cut = asked(meadow())
    assert yardstick.bars.open_.all()
    on = with_cuts(yardstick, (cut,))
    shut = np.zeros(yardstick.bars.open_.shape, bool)
    shut[:, SHUT_FROM:CLEAR, PADDOCK] = True
    np.testing.assert_array_equal(~on.bars.open_, shut)
    assert on.cuts == (cut,)
    assert yardstick.bars.open_.all(), "the yardstick without cuts stays as it was"
    cut_on = np.argwhere(np.isfinite(on.whole.days.cut_to_kg_ha))
    np.testing.assert_array_equal(cut_on, [[DAY, PADDOCK]])


@pytest.mark.parametrize(
    ("first", "end", "kept"),
    [
        (SHUT_FROM - 2, SHUT_FROM, True),
        (SHUT_FROM - 1, SHUT_FROM + 1, False),
        (SHUT_FROM, SHUT_FROM + 1, False),
        (DAY - 1, DAY, False),
        (DAY, DAY + 1, False),
        (CLEAR - 1, CLEAR, False),
        (CLEAR - 1, CLEAR + 2, False),
        (CLEAR, CLEAR + 2, True),
    ],
)
@pytest.mark.parametrize("mob", [0, 1])
def test_the_judge_refuses_who_stands_on_ground_kept_for_a_cut(
    mob: int, first: int, end: int, kept: bool
) -> None:
    yardstick, how, cut = asked(meadow())
    stands = all_yard(yardstick)
    stands[mob, first:end] = PADDOCK
    assert judge(yardstick, stands).kept
    assert how.judged(stands, (cut,)).verdict.kept is kept
    assert (how.made(stands, (cut,)) is not None) is kept
    bare = how.bare(stands, judge(yardstick, stands))
    assert how.judged(stands, (cut,), near=bare).verdict.kept is kept


def test_small_changes_keep_off_ground_that_is_cut_though_it_is_the_best_there_is() -> None:
    yardstick, how, cut = asked(meadow())
    begin, days = all_yard(yardstick), slice(SHUT_FROM, CLEAR)
    free = polished(begin, yardstick, how.held, 3000, 1)
    assert np.any(free[:, days] == PADDOCK), "it would be grazed if it were not kept"
    made = how.made(begin, (cut,))
    assert made is not None
    found = replace(how, tries=3000).settled(begin, (cut,), 1)
    assert found is not None
    assert how.cost(found) < how.cost(made)
    assert not np.any(found.plan[:, days] == PADDOCK)
    assert np.any(found.plan[:, CLEAR:] == PADDOCK), "it is grazed when the hay is off"


@pytest.fixture(scope="module")
def hungry() -> tuple[Scene, Season]:
    scene = meadow()
    return scene, plan(scene, iterations=3000)


def test_a_plan_with_cuts_has_nobody_on_lying_hay(hungry: tuple[Scene, Season]) -> None:
    scene, season = hungry
    assert season.cuts
    assert on_lying_hay(scene, season) == []
    assert broken(scene, season) == []


def test_no_place_that_came_second_is_ground_kept_for_a_cut(hungry: tuple[Scene, Season]) -> None:
    scene, season = hungry
    names = {p.id: p.name for p in scene.farm.paddocks}
    told = [stay for stay in season.stays if stay.runner_up]
    assert told
    for cut in season.cuts:
        for stay in told:
            begin, end = stay.stay.begin.start.date(), stay.stay.end
            assert end is not None
            if begin < cut.clear and end.end.date() > cut.day:
                assert stay.runner_up not in (cut.paddock, names[cut.paddock])


def test_the_hay_is_off_as_many_days_after_the_cut_as_the_farm_says(hungry: tuple[Scene, Season]) -> None:
    _, season = hungry
    assert {cut.clear - cut.day for cut in season.cuts} == {timedelta(days=CLEAR - DAY)}
    assert all(number(cut.saved) >= 0.5 for cut in season.cuts)
