"""What a plan costs as it is lived: the judge's own cost of what was done in each member, day by day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.plan_real_farms import onward, some
from benchmarks.real_farms import farm_scene
from browseline.limits import faces
from browseline.moves import Yardstick, judge, yardstick_of
from browseline.moves.changed import changes
from browseline.moves.explain import Explainer
from browseline.moves.form import Plan
from browseline.moves.lived import (
    RULES,
    Index,
    Life,
    by_eye,
    choosing,
    followed,
    lived,
    telling,
    to_the_end,
    with_rule,
)
from browseline.moves.replan import FIRM_D, place_words, stays_in
from browseline.moves.rules import rule_plans


def made_up(seed: int = 4, paddocks: int = 9, days: int = 63, members: int = 15) -> Yardstick:
    scene = farm_scene(seed, paddocks, days, members, 2)
    return yardstick_of(scene, faces(scene))


@pytest.mark.parametrize("kept_d", [0, 7, 28])
def test_a_rule_after_a_plan_is_the_rule_begun_from_what_stands_then(kept_d: int) -> None:
    """The other way: the season is cut in two, and the rule plays on from the herbage of its second part.

    What is trampled is the same in short and long stays here: a rule does not know how long a stay will be.
    """
    made = made_up()
    yardstick = replace(made, bars=made.bars._replace(eaten_frac=np.full_like(made.bars.eaten_frac, 0.7)))
    plan, members = rule_plans(yardstick, yardstick.whole)[1], np.array([0, 7, 11])
    for rule in RULES:
        life = with_rule(yardstick, plan, kept_d, rule, members)
        for k, member in enumerate(members):
            truth = some(yardstick.whole, np.array([member]))
            stands = judge(yardstick, plan, truth).mass_kg_ha[0, kept_d]
            left = onward(yardstick, plan, kept_d, stands)
            rest = truth._replace(
                mass_kg_ha=stands[None, :],
                days=truth.days._replace(
                    potential_kg_ha_d=truth.days.potential_kg_ha_d[:, :, kept_d:].copy(),
                    loss_per_d=truth.days.loss_per_d[:, :, kept_d:].copy(),
                    typed_kg_ha_d=truth.days.typed_kg_ha_d[kept_d:].copy(),
                    cut_to_kg_ha=truth.days.cut_to_kg_ha[kept_d:].copy(),
                ),
            )
            whole = np.concatenate([plan[:, :kept_d], rule_plans(left, rest)[rule]], axis=1)
            said = judge(yardstick, whole, truth)
            assert said.kept
            assert life.usd[k] == pytest.approx(said.mean_usd, abs=1e-6)


def test_a_plan_is_lived_in_the_cheapest_of_its_ways_and_told_over_more_members_in_that_way() -> None:
    yardstick = made_up(days=300, members=30)
    few, many = choosing(yardstick), telling(yardstick)
    assert (len(few), len(many)) == (15, 30)
    for plan in rule_plans(yardstick, yardstick.whole):
        said = judge(yardstick, plan)
        ways = [to_the_end(said, few)]
        ways += [with_rule(yardstick, plan, d, rule, few) for d in (7, 28) for rule in RULES]
        best = min(ways, key=lambda way: way.mean_usd)
        assert lived(yardstick, plan, said, few).mean_usd == best.mean_usd
        told = lived(yardstick, plan, said, few, many)
        assert told.kept_d == best.kept_d
        assert told.usd.shape == (30,)
        assert told.usd[np.isin(many, few)].mean() == pytest.approx(best.mean_usd)


def test_hand_rules_by_eye_cost_less_than_their_plan_made_from_the_mean_and_kept() -> None:
    yardstick = made_up()
    eyes = by_eye(yardstick, choosing(yardstick), telling(yardstick))
    assert eyes is not None
    assert eyes.mean_usd < min(judge(yardstick, p).mean_usd for p in rule_plans(yardstick, yardstick.whole))


def test_a_rule_that_breaks_a_hard_limit_costs_more_than_anything() -> None:
    yardstick = made_up()
    start = yardstick.bars.start.copy()
    start[:] = yardstick.yard
    shut = replace(yardstick, bars=yardstick.bars._replace(start=start, can_move=np.zeros(63, np.bool_)))
    plan = rule_plans(shut, shut.whole)[0]
    moved = plan.copy()
    moved[0, 3:] = 0
    life = with_rule(shut, moved, 7, RULES[0], np.array([0]))
    assert not judge(shut, moved).kept
    assert np.isinf(life.usd).all()


def test_a_way_that_breaks_a_hard_limit_in_a_member_that_is_told_is_not_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of no season drawn so far do both rules break a limit: here they do, by a limit put in their way."""
    yardstick = made_up()
    plan = rule_plans(yardstick, yardstick.whole)[1]
    said, few, many = judge(yardstick, plan), np.arange(3), np.arange(15)
    assert lived(yardstick, plan, said, few, many).kept_d in [one.value for one in followed()]
    honest = with_rule

    def broken(y: Yardstick, x: Plan, kept_d: int, rule: int, members: Index) -> Life:
        life = honest(y, x, kept_d, rule, members)
        return replace(life, usd=np.where(members > 9, np.inf, life.usd))

    monkeypatch.setattr("browseline.moves.lived.with_rule", broken)
    told = lived(yardstick, plan, said, few, many)
    assert told.kept_d == 0
    assert told.usd == pytest.approx(said.total_usd)
    assert by_eye(yardstick, few, many) is None


def test_what_is_cheaper_to_the_letter_says_that_it_is_so_on_paper_alone() -> None:
    """A hand rule's plan kept to the letter is easily bettered: then the next best must not read dearer."""
    scene = farm_scene(4, 9, 63, 15, 2)
    yardstick = yardstick_of(scene, faces(scene))
    plan = rule_plans(yardstick, yardstick.whole)[0]
    asked = Explainer(scene, yardstick, plan, judge(yardstick, plan))
    firm = [(m, a) for m in range(2) for a in range(7) if a == 0 or plan[m, a] != plan[m, a - 1]]
    ends = {(m, a): a + int(np.argmax(np.append(plan[m, a:] != plan[m, a], True))) for m, a in firm}
    others = [asked.runner_up(m, a, b) for (m, a), b in ends.items()]
    cheaper = [one for one in others if one is not None and (one.more.value or 0.0) < -0.5]
    assert cheaper, "the season was drawn so that there is one"
    few = choosing(yardstick)
    as_it_is = lived(yardstick, plan, asked.verdict, few).mean_usd
    places = {place_words(scene, yardstick, p): p for p in range(yardstick.yard + 1)}
    told = set[str]()
    for ((m, a), b), one in zip(ends.items(), others, strict=True):
        if one in cheaper and one is not None:
            other = asked.with_stay(m, a, b, places[one.place])
            better = lived(yardstick, other, judge(yardstick, other), few).mean_usd < as_it_is - 0.5
            assert ("Plan the season again" if better else "With eyes on the grass") in one.says
            assert "−" not in one.says
            told.add(str(better))
    assert told


def test_later_stays_that_would_be_cheaper_elsewhere_say_so() -> None:
    """They had read "as good, as far as can be told", whatever there was to win."""
    scene = farm_scene(4, 9, 63, 15, 2)
    yardstick = yardstick_of(scene, faces(scene))
    plan = rule_plans(yardstick, yardstick.whole)[0]
    asked = Explainer(scene, yardstick, plan, judge(yardstick, plan))
    later = [(m, a, b) for m in range(2) for _, a, b in stays_in(yardstick, plan, m) if a >= FIRM_D]
    found = [asked.runner_up(*stay) for stay in later]
    cheaper = [one for one in found if one is not None and (one.more.value or 0.0) < -0.5]
    assert cheaper, "the season was drawn so that there is one"
    assert all("less if the plan is kept to the letter" in one.says for one in cheaper)
    assert all("It is planned again before then." in one.says for one in cheaper)


def test_what_is_told_as_lived_never_costs_more_than_the_letter(monkeypatch: pytest.MonkeyPatch) -> None:
    """The way is chosen over some members: over those that are told it may be the dearer, as it is here."""
    yardstick = made_up()
    plan = rule_plans(yardstick, yardstick.whole)[1]
    said, few, many = judge(yardstick, plan), np.arange(3), np.arange(15)
    assert lived(yardstick, plan, said, few, many).kept_d > 0
    honest = with_rule

    def dear(y: Yardstick, x: Plan, kept_d: int, rule: int, members: Index) -> Life:
        life = honest(y, x, kept_d, rule, members)
        return replace(life, usd=np.where(members > 9, 1e6, life.usd))

    monkeypatch.setattr("browseline.moves.lived.with_rule", dear)
    told = lived(yardstick, plan, said, few, many)
    assert told.kept_d == 0
    assert told.usd == pytest.approx(said.total_usd)


def test_an_old_place_that_another_mob_takes_is_told_with_its_name() -> None:
    """Those who run together may share it: then the place is told by its cost, or by nothing."""
    scene = farm_scene(4, 9, 63, 15, 2)
    yardstick = yardstick_of(scene, faces(scene))
    plan = rule_plans(yardstick, yardstick.whole)[0]
    name = next(mob.name for mob in scene.mobs if mob.id == yardstick.mobs[1])
    told = []
    for together in (False, True):
        bars = yardstick.bars._replace(together=np.full((2, 2), together))
        made = replace(yardstick, bars=bars)
        asked = Explainer(scene, made, plan, judge(made, plan))
        old = plan.copy()
        old[0, 1:7] = plan[1, 1:7]
        told.append(" ".join(changes(asked, old)[0]))
    assert f"is taken by {name} by now" in told[0]
    assert "is taken by" not in told[1]
