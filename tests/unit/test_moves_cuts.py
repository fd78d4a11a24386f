"""Hay cuts as a decision of the plan: proposed where the judge says that they pay, and nowhere else."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from browseline.events import When
from browseline.farm.records import HayLot, Promise, Rules
from browseline.figures import Figure
from browseline.limits import Scene, faces
from browseline.moves import Season, haymaking, judge, plan, yardstick_of
from browseline.moves.cut_search import cheapest, exchanged, savings, worth_keeping
from browseline.moves.cuts import Cutter, Made, cutter, with_cuts
from browseline.moves.form import Cut, KeptCut, PlannedCut
from browseline.moves.propose import Keeping, propose
from browseline.moves.season import cuts_in_force, judged
from browseline.record.state import ShutState
from browseline.units import Quantity, parse
from browseline.words import links_of
from tests.moves_farms import broken, grazed, number
from tests.small_farm import NOW

ACRES = (3.0, 3.0, 3.0, 4.0, 3.0, 2.5, 3.0)
TALL = (9.0, 9.0, 9.0, 11.0, 9.0, 8.0, 10.0)
TODAY = NOW.date()
FLUSH, TIGHT = "60 lb/ac/d", "10 lb/ac/d"
HAY_USD_KG, LOST, PASS_USD_AC, DAYS_D = 0.30, 0.2, 60.0, 4
LB_AC_IN, LB_KG, AC_HA = 275, 0.45359237, 0.40468564224


def typed(**more: Any) -> Rules:
    """Return the rules of a farm that makes hay, with nothing that bounds a stay but grass."""
    own: dict[str, Quantity] = {
        "worm_stay": parse("60 d", "time"), "worm_rest": parse("1 d", "time"),
        "hay_pass": parse(f"{PASS_USD_AC:g} USD/ac", "money by area"),
        "hay_field_loss": parse("20 %", "share"), "hay_days": parse(f"{DAYS_D} d", "time"),
    }  # fmt: skip
    return Rules(**(own | more))


def flush(head: int = 60, growth: str = FLUSH, rules: Rules | None = None, **more: Any) -> Scene:
    return grazed(
        ACRES, TALL, mobs=1, days=40, growth=growth, head=head, rules=rules or typed(), members=3, **more
    )


@pytest.fixture(scope="module")
def grown() -> Season:
    """Return the plan of a spring flush with few head."""
    return plan(flush(), iterations=800)


def only(cuts: tuple[PlannedCut, ...], paddock: str) -> PlannedCut:
    (found,) = [cut for cut in cuts if cut.paddock == paddock]
    return found


def test_in_a_flush_cuts_pay_and_nobody_grazes_what_is_kept_for_them(grown: Season) -> None:
    assert len(grown.cuts) >= 2
    assert broken(flush(), grown) == []
    for cut in grown.cuts:
        assert number(cut.saved) >= 0.5
        assert f"Cut {cut.paddock} about" in cut.says
        assert "saves about" in cut.says
        for stay in grown.stays:
            if stay.stay.place == cut.paddock and stay.stay.end is not None:
                begin, end = stay.stay.begin.start.date(), stay.stay.end.end.date()
                assert end <= cut.day or begin >= cut.clear


def test_hay_is_what_stands_above_the_stubble_less_what_the_field_takes() -> None:
    """10 in of paddock 7, 60 lb a day, cut to 4 in: by hand, on a farm that grazes paddock 1 alone."""
    season = plan(flush(head=1), iterations=0)
    cut = only(judged(flush(head=1), season).cuts, "7")
    days = (cut.day - TODAY).days
    lb = 3.0 * (10 * LB_AC_IN + 60 * days - 4 * LB_AC_IN) * (1 - LOST)
    assert number(cut.made) == pytest.approx(lb * LB_KG, rel=1e-6)
    worth = lb * LB_KG * HAY_USD_KG - 3.0 * PASS_USD_AC
    assert number(cut.worth) == pytest.approx(worth, rel=1e-6)
    # nobody grazes it, and it is back at its start height in time: what it saves is what it is worth
    assert number(cut.saved) == pytest.approx(worth, rel=1e-6)
    # 4 in and 8 in: it must have grown 4 x 275 lb again before the plan ends, and not a day later
    assert days + 4 * LB_AC_IN / 60 <= 40


def test_hay_stands_in_the_costs_as_what_it_saves(grown: Season) -> None:
    made = [part for part in grown.parts if part.name == "plan_hay_made"]
    assert [number(part) for part in made] == [pytest.approx(sum(number(cut.made) for cut in grown.cuts))]
    usd = sum(number(part.parts[0]) for part in grown.parts)
    assert usd == pytest.approx(number(grown.total), abs=0.01)
    assert number(grown.total) < number(grown.rule_total)


def test_bales_where_the_farm_says_what_a_bale_is() -> None:
    scene = flush()
    one = HayLot("round", parse("10", "count", "bales"), parse("800 lb", "mass"), parse("85 %", "share"))
    scene = replace(scene, farm=replace(scene.farm, hay=(one,)), memo={})
    cut = plan(scene, iterations=200).cuts[0]
    (bales,) = [x.to for x in links_of(cut.says) if isinstance(x.to, Figure) and x.to.unit == "bales"]
    assert number(bales) == pytest.approx(number(cut.made) / (800 * LB_KG * 0.85))
    assert f"about {number(bales):.0f} bales" in str(cut.says)


def test_tight_grass_is_not_cut() -> None:
    season = plan(flush(head=90, growth=TIGHT), iterations=400)
    assert season.cuts == ()


def test_a_dear_pass_is_not_made() -> None:
    dear = plan(flush(rules=typed(hay_pass=parse("900 USD/ac", "money by area"))), iterations=200)
    assert dear.cuts == ()
    assert not any(part.name == "plan_hay_made" for part in dear.parts)


@pytest.mark.parametrize("how", ["shut", "promised", "unread", "away"])
def test_ground_that_is_shut_promised_or_not_read_is_not_cut(how: str) -> None:
    free = {cut.paddock for cut in plan(flush(), iterations=200).cuts}
    assert "7" in free
    if how == "shut":
        scene = flush(shut=(ShutState("7", "Limb down", When.at(NOW)),))
    elif how == "promised":
        scene = flush(promises=(Promise("h", "hay", "Hay", TODAY, TODAY + timedelta(days=6), ("7",)),))
    elif how == "away":
        away = Promise("a", "away", "Away", TODAY + timedelta(days=1), TODAY + timedelta(days=40))
        assert plan(flush(promises=(away,)), iterations=200).cuts == ()
        return
    else:
        scene = flush()
        read = scene.herbage.read.copy()
        read[scene.herbage.index("7")] = False
        scene = replace(scene, herbage=replace(scene.herbage, read=read), memo={})
    assert "7" not in {cut.paddock for cut in plan(scene, iterations=200).cuts}


def test_no_more_is_cut_on_a_day_than_the_farm_can() -> None:
    season = plan(flush(rules=typed(hay_area_day=parse("4 ac", "area"))), iterations=200)
    acres = dict(zip("1234567", ACRES, strict=True))
    by_day: dict[Any, float] = {}
    for cut in season.cuts:
        by_day[cut.day] = by_day.get(cut.day, 0.0) + acres[cut.paddock]
    assert len(by_day) >= 2
    assert max(by_day.values()) <= 4.0


@pytest.mark.parametrize("left_out", ["hay_pass", "hay_field_loss", "hay_days"])
def test_a_farm_that_does_not_say_how_it_makes_hay_is_told_what_is_missing(left_out: str) -> None:
    season = plan(flush(head=8, rules=typed(**{left_out: None})), iterations=0)
    assert season.cuts == ()
    assert len(season.on_cuts) == 1
    assert f"({left_out})" in season.on_cuts[0]
    assert "No hay cut is proposed" in season.on_cuts[0]


def search_of(scene: Scene, tries: int) -> tuple[Cutter, Made]:
    yardstick = yardstick_of(scene, faces(scene))
    found = propose(yardstick, 1, 400)
    how = cutter(scene, yardstick, Keeping.nothing(yardstick), 1, tries)
    assert how is not None
    return how, Made(yardstick, found.plan, found.verdict, np.zeros(found.verdict.usd.shape[0]))


def test_a_plan_with_its_cuts_is_never_dearer_and_each_cut_saves_by_the_judge() -> None:
    how, before = search_of(flush(), 150)
    after, saved = worth_keeping(how, cheapest(how, before.plan, before.verdict)[0])
    assert how.cost(after) <= how.cost(before)
    again = judge(after.yardstick, after.plan)
    assert again.kept
    assert again.total_usd == pytest.approx(after.verdict.total_usd)
    for cut, usd in saved.items():
        others = [one for one in after.cuts if one is not cut]
        without = how.made(after.plan, others)
        assert without is None or usd.mean() <= how.cost(without) - how.cost(after) + 1e-9


def too_soon(how: Cutter, made: Made) -> Made:
    """Return a plan in which the first cut that can be is made a week or more sooner than it should be."""
    for cut in made.cuts:
        others = [one for one in made.cuts if one is not cut]
        for day in range(cut.shut_from, cut.day - 6):
            early = replace(cut, day=day, clear=day + DAYS_D)
            found = how.made(made.plan, [*others, early]) if how.fit[day, cut.paddock] else None
            if found is not None and how.cost(found) > how.cost(made) + 1:
                return found
    raise AssertionError(made.cuts)


def test_a_plan_gives_a_cut_up_for_a_cheaper_one_in_its_place() -> None:
    how, before = search_of(flush(), 0)
    early = too_soon(how, cheapest(how, before.plan, before.verdict)[0])
    made, saved, others = exchanged(how, early, {})
    assert how.cost(made) <= how.cost(early) - 0.5
    assert set(saved) == set(others) == set(made.cuts)
    assert all(one is None or how.cost(one) > how.cost(made) - 0.5 for one in others.values())


def test_a_plan_just_made_tells_of_no_cut_that_would_be_cheaper(monkeypatch: pytest.MonkeyPatch) -> None:
    scene = flush()
    how, before = search_of(scene, 0)
    early = too_soon(how, cheapest(how, before.plan, before.verdict)[0])
    monkeypatch.setattr(haymaking, "cheapest", lambda *_: (early, True))
    monkeypatch.setattr(haymaking, "worth_keeping", lambda how, made: (made, savings(how, made)))
    held = Keeping.nothing(how.yardstick)
    told = haymaking.haymaking(scene, how.yardstick, before.plan, before.verdict, held).cuts
    assert told
    assert not [cut.says for cut in told if "cheaper" in cut.says]


def test_a_cut_that_is_not_back_before_the_plan_ends_is_not_taken() -> None:
    how, before = search_of(flush(head=1), 0)
    late = Cut(6, 0, 34, 38, float(how.to_kg_ha[6]))
    soon = Cut(6, 0, 12, 16, float(how.to_kg_ha[6]))
    assert how.made(before.plan, (late,)) is None
    assert how.made(before.plan, (soon,)) is not None
    assert judge(with_cuts(before.yardstick, (late,)), before.plan).kept


def test_a_plan_made_again_keeps_the_cuts_of_the_plan_in_force_or_finds_cheaper(grown: Season) -> None:
    again = plan(flush(), grown, iterations=400)
    assert broken(flush(), again) == []
    assert len(again.cuts) >= 2
    assert number(again.total) <= number(judged(flush(), grown).total) + 0.01


def test_a_plan_kept_before_cuts_were_tells_those_it_leaves_room_for(grown: Season) -> None:
    scene, grown = flush(), replace(grown, cuts=(), kept=())
    found = judged(scene, grown)
    assert {cut.paddock for cut in found.cuts} >= {cut.paddock for cut in grown.cuts[-2:]}
    assert cuts_in_force(scene, grown) == tuple(cut.says for cut in found.cuts)
    assert [s.stay.place for s in found.stays] == [s.stay.place for s in grown.stays]
    none = flush(rules=Rules())
    assert cuts_in_force(none, grown) == ()


def kept_with(season: Season) -> Season:
    """Return a season as it is read back: its stays and the days of its cuts, no costs."""
    return replace(season, cuts=(), kept=season.own_cuts)


def test_the_cuts_of_a_kept_plan_are_those_that_were_kept(grown: Season) -> None:
    found = judged(flush(), kept_with(grown))
    assert {(cut.paddock, cut.day) for cut in found.cuts} == {(c.paddock, c.day) for c in grown.cuts}
    assert found.on_cuts == ()
    assert number(found.total) == pytest.approx(number(grown.total), rel=1e-9)
    one = replace(grown, cuts=(), kept=grown.own_cuts[:1])
    assert [cut.paddock for cut in judged(flush(), one).cuts] == [grown.own_cuts[0].paddock]
    assert len(cuts_in_force(flush(), one)) == 1


def test_a_kept_cut_that_an_entry_makes_wrong_is_dropped_in_words(grown: Season) -> None:
    grazed_ever = {stay.stay.place for stay in grown.stays}
    last = max((c for c in grown.own_cuts if c.paddock not in grazed_ever), key=lambda cut: cut.day)
    shut = flush(shut=(ShutState(last.paddock, "Limb down", When.at(NOW)),))
    found = judged(shut, kept_with(grown))
    assert last.paddock not in {cut.paddock for cut in found.cuts}
    (said,) = [words for words in found.on_cuts if f"cut of {last.paddock} kept for" in words]
    assert "is dropped. The paddock is shut then" in said
    again = plan(shut, kept_with(grown), iterations=200)
    assert last.paddock not in {cut.paddock for cut in again.cuts}
    assert any(f"{last.paddock} is no longer cut" in words for words in again.changes)


def test_a_kept_cut_whose_day_is_over_is_asked_about_once(grown: Season) -> None:
    over = KeptCut("3", TODAY - timedelta(days=2), NOW - timedelta(days=9))
    old = replace(grown, cuts=(), kept=(over, *grown.own_cuts))
    (said,) = judged(flush(), old).on_cuts
    assert "cut of 3 kept for" in said
    assert "nobody entered it" in said
    again = plan(flush(), old, iterations=100)
    assert sum("nobody entered it" in words for words in again.on_cuts) == 1
    assert not any("3 is no longer cut" in words for words in again.changes)


def test_cuts_kept_by_a_farm_that_no_longer_says_how_it_makes_hay_are_dropped(grown: Season) -> None:
    none = flush(rules=typed(hay_days=None))
    said = [words for words in judged(none, kept_with(grown)).on_cuts if "is dropped" in words]
    assert len(said) == len(grown.cuts)
    assert all("no longer says how hay is made" in words for words in said)


def test_a_kept_cut_that_animals_graze_or_that_comes_too_late_is_dropped(grown: Season) -> None:
    scene = flush()
    grazed_at = next(stay.stay for stay in grown.stays if stay.stay.end is not None)
    day = grazed_at.begin.start.date()
    late = TODAY + timedelta(days=35)
    wrong = (KeptCut(grazed_at.place, day, NOW), KeptCut("7", late, NOW), KeptCut("gone", day, NOW))
    found = judged(scene, replace(grown, cuts=(), kept=wrong))
    said = " ".join(found.on_cuts)
    assert found.cuts == ()
    assert "Animals are planned to graze there then" in said
    assert "would not be back before the plan ends" in said
    assert "is no part of this plan now" in said


def test_a_plan_made_again_is_never_dearer_than_the_one_in_force_with_its_kept_cuts(grown: Season) -> None:
    old = kept_with(grown)
    again = plan(flush(), old, iterations=100)
    assert number(again.total) <= number(judged(flush(), old).total) + 0.01
    same = {(c.paddock, c.day) for c in old.kept} == {(c.paddock, c.day) for c in again.cuts}
    told = [words for words in again.changes if "ut " in words and "about" in words]
    assert same == (told == [])
