"""What makes a plan dear on the example farm: said with its ways out, every sum held to the judge."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from browseline.chain import look
from browseline.cli.demo import copy_example, example
from browseline.figures import Figure
from browseline.limits import faces
from browseline.limits.form import Face
from browseline.moves.anew import anew, few_of, has_time
from browseline.moves.changed import changes
from browseline.moves.dearest import _stays_too_long, dearest
from browseline.moves.explain import Explainer
from browseline.moves.herd import with_coming
from browseline.moves.judge import judge
from browseline.moves.passed import Past, passed
from browseline.moves.propose import propose
from browseline.moves.replan import FIRM_D, stays_in
from browseline.moves.ways_out import WaysOut
from browseline.moves.what_if_cases import fewer_head, largest
from browseline.moves.yardstick import yardstick_of
from browseline.words import links_of

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
GOATS = "goats"


@pytest.fixture(scope="module")
def asked(tmp_path_factory: pytest.TempPathFactory) -> Explainer:
    folder: Path = tmp_path_factory.mktemp("dear") / "farm"
    copy_example(example(), folder)
    scene = with_coming(look(folder, NOW, horizon_d=45).scene)
    yardstick = yardstick_of(scene, faces(scene))
    found = propose(yardstick, scene.farm.seed, 300)
    return Explainer(scene, yardstick, found.plan, found.verdict)


def place_named(asked: Explainer, name: str) -> int:
    names = [paddock.name if (paddock := asked.scene.paddock(p)) else p for p in asked.yardstick.paddocks]
    return names.index(name) if name in names else asked.yardstick.yard


def opened(text: str) -> list[Figure]:
    """Return the figures that the numbers of a sentence open."""
    return [link.to for link in links_of(text) if isinstance(link.to, Figure)]


def amount(figure: Figure) -> float:
    assert figure.value is not None
    return figure.value


def dearer_usd(asked: Explainer, m: int, a: int, b: int, place: int) -> float:
    """Return what a stay elsewhere costs more by two whole plans, each judged by itself."""
    other = judge(asked.yardstick, asked.with_stay(m, a, b, place))
    assert other.kept
    return other.mean_usd - asked.verdict.mean_usd


def otherwise_usd(asked: Explainer, m: int, a: int, b: int, place: int) -> float:
    """Return what a stay elsewhere costs more where what comes after a firm one is planned anew."""
    if a >= FIRM_D:
        return dearer_usd(asked, m, a, b, place)
    usd = []
    for other in (asked.with_stay(m, a, b, place), asked.plan):
        found = anew(asked.yardstick, asked.plan, other, (m, a, b), few_of(asked.yardstick))
        assert found is not None
        assert (found[m, a:b] == other[m, a:b]).all()
        assert (found[:, :a] == asked.plan[:, :a]).all()
        after = judge(asked.yardstick, found)
        assert after.kept
        usd.append(after.mean_usd)
    return max(usd[0] - min(usd[1], asked.verdict.mean_usd), 0.0)


def test_every_runner_up_costs_what_two_whole_plans_differ_by(asked: Explainer) -> None:
    """Of a firm stay the second plan is as it is or made anew after it, whichever is cheaper."""
    held = 0
    assert has_time(asked.yardstick)
    for m in range(len(asked.yardstick.mobs)):
        for _, a, b in stays_in(asked.yardstick, asked.plan, m):
            lost = asked.runner_up(m, a, b) if a < 14 and not asked.yardstick.bars.off[m, a] else None
            if lost is not None:
                place = place_named(asked, lost.place)
                to_the_letter = dearer_usd(asked, m, a, b, place)
                usd = to_the_letter if to_the_letter < 0 else otherwise_usd(asked, m, a, b, place)
                assert lost.more.value == pytest.approx(min(usd, to_the_letter), abs=1e-6)
                held += 1
    assert held >= 4


def test_no_firm_stay_names_a_place_that_costs_more_than_the_yard_does_by_itself(asked: Explainer) -> None:
    """One act had two prices on one page: 1,020 as the next best, 428 as a way out."""
    yard, held = asked.yardstick.yard, 0
    for m in range(len(asked.yardstick.mobs)):
        for place, a, b in stays_in(asked.yardstick, asked.plan, m):
            lost = asked.runner_up(m, a, b) if a < FIRM_D and place != yard else None
            other = judge(asked.yardstick, asked.with_stay(m, a, b, yard))
            if lost is not None and other.kept:
                assert amount(lost.more) <= other.mean_usd - asked.verdict.mean_usd + 1e-6
                held += 1
    assert held >= 2


def test_a_day_more_costs_what_two_whole_plans_differ_by_and_says_mostly_for_what(asked: Explainer) -> None:
    held = 0
    for m in range(len(asked.yardstick.mobs)):
        for place, a, b in stays_in(asked.yardstick, asked.plan, m):
            ending = asked.ending(m, a, b) if b < 14 else None
            more = next((f for f in ending.figures if f.name == "plan_day_more"), None) if ending else None
            if ending is None or more is None:
                continue
            until = int(np.flatnonzero(asked.yardstick.bars.can_move[b + 1 :])[0]) + b + 1
            usd = min(f(asked, m, b, until, place) for f in (dearer_usd, otherwise_usd))
            assert more.value == pytest.approx(usd, abs=1e-6)
            assert any(
                words in ending.says for words in ("mostly", "as good", "to the letter", "by what is known")
            )
            held += 1
    assert held >= 1


def test_goats_on_brush_are_the_dearest_and_hay_in_the_yard_is_priced_by_the_judge(asked: Explainer) -> None:
    clash = next(one for one in dearest(asked) if one.code == "too_long" and one.mob == GOATS)
    stood, longest, past, cost = map(amount, opened(clash.says))
    assert longest == 4.0
    assert past == pytest.approx(stood - 4.0)
    assert cost == pytest.approx(past * 30.0)
    m = asked.yardstick.mobs.index(GOATS)
    end = round((clash.end - asked.scene.now).total_seconds() / 86400)
    (fed,) = [way for way in clash.ways if "hay in the yard" in way]
    (told,) = opened(fed)
    days = (m, end - round(past), end, asked.yardstick.yard)
    more = min(f(asked, *days) for f in (dearer_usd, otherwise_usd))
    assert told.value == pytest.approx(more, abs=1e-6)
    assert ("more" in fed) == (more > 0)
    assert any("nobody has since it began" in way for way in clash.ways)


def test_no_clash_is_told_of_what_costs_less_than_a_tenth(asked: Explainer) -> None:
    for clash in dearest(asked):
        sums = [amount(figure) for figure in opened(clash.says) if figure.unit == "USD"]
        assert max(sums) >= 0.1 * asked.verdict.mean_usd


def test_a_mob_without_a_place_left_is_not_told_again_as_off_grass(asked: Explainer) -> None:
    off = [one for one in dearest(asked) if one.code == "off_grass"]
    stranded = tuple(replace(one, code="no_place") for one in off)
    assert not [one for one in dearest(asked, stranded) if one.code == "off_grass"]


def test_a_longest_stay_of_a_month_is_passed_by_nobody_at_much_cost(asked: Explainer) -> None:
    bars = asked.yardstick.bars
    longer = replace(asked.yardstick, bars=bars._replace(longest_d=np.full_like(bars.longest_d, 60.0)))
    plain = Explainer(asked.scene, longer, asked.plan, judge(longer, asked.plan))
    assert not [one for one in dearest(plain) if one.code == "too_long"]


def test_the_longest_stay_is_told_from_the_day_it_began_with_all_its_days(asked: Explainer) -> None:
    """The ewes came to Top the day before the plan: eight days of it are nine there, five past four."""
    yardstick = asked.yardstick
    m, top = yardstick.mobs.index("ewes"), place_named(asked, "Top")
    assert (int(yardstick.bars.start[m]), int(yardstick.bars.been_d[m])) == (top, 1)
    row = next(f for f, name in enumerate(yardstick.names["stay"]) if name == "worms")
    stays = [(Past(row, "worms", 4.0, 5.0), top, 0, 8), (Past(row, "worms", 4.0, 1.0), top, 20, 25)]
    clash = _stays_too_long(asked, m, stays, 180.0, WaysOut(asked))
    assert "2 times, 6 d in all: $180." in clash.says
    assert "The longest is on Top from 9 Jun: 9 d, where 4 d are the most." in clash.says


def test_a_stay_that_was_too_long_before_the_plan_is_told_whole(asked: Explainer) -> None:
    """Ten days there already and five to come are fifteen; only the five to come cost anything now."""
    yardstick, been = asked.yardstick, asked.yardstick.bars.been_d.copy()
    m, top = yardstick.mobs.index("ewes"), place_named(asked, "Top")
    been[m] = 10
    older = replace(yardstick, bars=yardstick.bars._replace(been_d=been))
    plain = Explainer(asked.scene, older, asked.plan, asked.verdict)
    stay = asked.plan.copy()
    stay[m, :5] = top
    (past,) = (one for one in passed(older, stay, m, 0, 5) if one.limit == "worms")
    clash = _stays_too_long(plain, m, [(past, top, 0, 5)], 150.0, WaysOut(plain))
    assert "are on Top for 15 d; by the limit Worms 4 d are the most." in clash.says
    assert "The 5 d past it from now on cost $150." in clash.says


def test_a_look_that_is_asked_for_comes_with_the_words_that_enter_it(asked: Explainer) -> None:
    m, brush = asked.yardstick.mobs.index(GOATS), place_named(asked, "Brush")
    (told,) = WaysOut(asked).look(m, 0, brush)
    assert told.endswith('Then enter what you saw, such as: `browseline look ground Brush --leaf "60 %"`')


def test_one_more_paddock_never_halves_the_ground_on_which_a_mob_stands(asked: Explainer) -> None:
    """Who cannot be moved for days would eat the half of its paddock bare: a net there told of that alone."""
    area = asked.yardstick.whole.land.area_ha
    first = largest(asked.yardstick)
    assert first is not None
    start = asked.yardstick.bars.start.copy()
    start[0] = first
    second = largest(replace(asked.yardstick, bars=asked.yardstick.bars._replace(start=start)))
    assert second is not None
    assert second != first
    assert area[second] <= area[first]
    open_ = np.zeros_like(asked.yardstick.bars.open_)
    open_[..., first] = True
    alone = replace(asked.yardstick, bars=asked.yardstick.bars._replace(start=start, open_=open_))
    assert largest(alone) == first


# ---------------------------------------------------------------- hands, shut ground, head


def test_where_hands_are_needed_for_others_the_next_day_is_tried(asked: Explainer) -> None:
    """It had said that no place was open, and told no hay: the one move of that day was another mob's."""
    m = asked.yardstick.mobs.index(GOATS)
    arrivals = asked.yardstick.bars.arrivals.copy()
    arrivals[3] = sum(int(row[3] != row[2]) for row in asked.plan)
    busy = replace(asked.yardstick, bars=asked.yardstick.bars._replace(arrivals=arrivals))
    plain = Explainer(asked.scene, busy, asked.plan, asked.verdict)
    end = next(b for _, a, b in stays_in(busy, asked.plan, m) if a <= 3 < b)
    assert plain.elsewhere(m, 3, end) is None
    found = plain.soonest(m, 3, end)
    assert found is not None
    assert found[0] > 3
    assert asked.yardstick.bars.can_move[found[0]]
    (fed,) = WaysOut(plain).feed(m, 3, end)
    assert f"{asked.day(found[0])} to" in fed


def test_ground_is_offered_to_be_opened_only_where_a_limit_shuts_it(asked: Explainer) -> None:
    """Sacrifice ground and ground that nobody has read are not grazed either, and no gate opens them."""
    closed = np.zeros((len(asked.yardstick.mobs), asked.plan.shape[1], asked.yardstick.yard), bool)
    free = replace(asked.yardstick, faces=(Face(name="gates", closed=closed),))
    assert not list(WaysOut(replace(asked, yardstick=free)).opened(0, 0, 5))
    shut = closed.copy()
    shut[0, 3, 1] = True
    barred = replace(asked.yardstick, faces=(Face(name="gates", closed=shut),))
    assert len(list(WaysOut(replace(asked, yardstick=barred)).opened(0, 0, 5))) == 1


def test_fewer_head_pay_less_for_days_that_are_priced_by_head(asked: Explainer) -> None:
    bars, shape = asked.yardstick.bars, asked.yardstick.bars.dear_usd.shape
    hot, turned = (
        Face(dear_usd_d=np.full(shape, usd), dear_by_head=by) for usd, by in ((4.0, True), (6.0, False))
    )
    priced = replace(asked.yardstick, faces=(hot, turned), bars=bars._replace(dear_usd=np.full(shape, 10.0)))
    found = fewer_head(priced, 1, 0.75).bars
    assert found.dear_usd[1] == pytest.approx(np.full(shape[1:], 0.75 * 4.0 + 6.0))
    assert found.dear_usd[0] == pytest.approx(np.full(shape[1:], 10.0))
    assert found.demand_kg_d[:, 1] == pytest.approx(0.75 * bars.demand_kg_d[:, 1])


def test_a_change_is_told_to_its_own_end(asked: Explainer) -> None:
    """One that ran past the fortnight had ended there, at the price of the piece."""
    m, old = asked.yardstick.mobs.index(GOATS), asked.plan.copy()
    here = asked.plan[m, 10]
    assert (asked.plan[m, 10:20] == here).all()
    old[m, 10:20] = next(
        p for p in range(asked.yardstick.yard) if asked.yardstick.bars.open_[m, 10:20, p].all() and p != here
    )
    told, _ = changes(asked, old)
    assert any(f"{asked.day(10)} to {asked.day(20)}" in says for says in told)
