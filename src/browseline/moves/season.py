"""The moves arrow: a scene in, the season's stays out, each with its reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from browseline.events import When
from browseline.figures import Figure
from browseline.limits import Scene, faces
from browseline.moves.asked import told
from browseline.moves.broken import broken
from browseline.moves.changed import changes
from browseline.moves.clashes import clashes
from browseline.moves.dearest import dearest
from browseline.moves.explain import Explainer, housed_words
from browseline.moves.form import Plan, PlannedStay, Season, Yardstick
from browseline.moves.hay_rules import making
from browseline.moves.haymaking import Haymaking, haymaking, kept_haymaking
from browseline.moves.herd import with_coming
from browseline.moves.judge import figures_of, judge, spread
from browseline.moves.kept_cuts import changed_cuts
from browseline.moves.lived import by_eye, choosing, followed, lived, telling
from browseline.moves.meant import meant
from browseline.moves.passed import past_words
from browseline.moves.propose import ITERATIONS, Keeping, propose
from browseline.moves.replan import (
    FIRM_D,
    LIKELY_D,
    changed_days,
    firmness_of,
    keeping,
    repaired,
    replan,
    stays_in,
)
from browseline.moves.yardstick import yardstick_of
from browseline.record.state import AWAY, YARD, Stay
from browseline.words import joined, say

NOTHING = Figure("plan_total", None, "USD")


def plan(
    scene: Scene, old: Season | None = None, iterations: int = ITERATIONS, also: Sequence[Plan] = ()
) -> Season:
    """Return the season's stays for all mobs, judged over all members of the scene.

    Parameters
    ----------
    scene : Scene
        Its ``days`` are the days planned, as far as its herbage knows them.
    old : Season, optional
        The plan in force; the next days leave it only where that is worth the churn.
    iterations : int
        Small changes tried: the same seed and iterations give the same plan. [1]
    also : sequence of plans
        Known already: a plan made again may choose one of them.
    """
    scene = with_coming(scene)
    yardstick = yardstick_of(scene, faces(scene))
    if old is None:
        found = propose(yardstick, scene.farm.seed, iterations)
    else:
        found = replan(scene, yardstick, old, iterations, also)
    held = Keeping.nothing(yardstick) if old is None else keeping(scene, yardstick, old)
    # a plan made again has to be there soon: its stays are those found, or those in force, with their cuts
    tries, before = (iterations, None) if old is None else (0, (repaired(yardstick, held.old), old.own_cuts))
    hay = haymaking(scene, yardstick, found.plan, found.verdict, held, tries, before)
    asked = Explainer(scene, hay.made.yardstick, hay.made.plan, hay.made.verdict)
    was = held.old if old is not None else None
    news, rests_on = changes(asked, was) if was is not None else ((), ())
    news += changed_cuts(scene, old.own_cuts, hay.made) if old is not None else ()
    changed = changed_days(was, asked.plan) if was is not None else 0
    made = Season(
        scene.now, _stays(asked), (), NOTHING, NOTHING, (), scene.now + timedelta(days=FIRM_D),
        scene.now + timedelta(days=LIKELY_D), scene.farm.seed, iterations, news, changed,
        figures=rests_on,
    )  # fmt: skip
    return _costed(made, asked, yardstick, hay)


def judged(scene: Scene, old: Season) -> Season:
    """Return the plan in force with what it costs from now on, by the judge of every plan.

    A mob stays where it stands on days on which the plan has no word. Where a hard limit is broken by now
    there are no costs and no reasons, which were those of another day: the plan has to be made anew.
    """
    scene = with_coming(scene)
    yardstick = yardstick_of(scene, faces(scene))
    plan_now = _in_days(scene, yardstick, old)
    verdict = judge(yardstick, plan_now)
    if not verdict.kept:
        found = (*broken(scene, yardstick, plan_now), *clashes(scene, yardstick, plan_now))
        return replace(old, stays=tuple(replace(stay, reason="") for stay in old.stays), clashes=found)
    hay = kept_haymaking(scene, yardstick, plan_now, verdict, old.own_cuts)
    asked = Explainer(scene, hay.made.yardstick, plan_now, hay.made.verdict)
    stays = tuple(_in_force(scene, old, stay) for stay in _stays(asked))
    return _costed(replace(old, stays=stays), asked, yardstick, hay)


def cuts_in_force(scene: Scene, old: Season) -> tuple[str, ...]:
    """Return in words the hay cuts of the plan in force: those kept with it, or those it leaves room for."""
    if making(scene.farm) is None and not old.own_cuts:
        return ()
    scene = with_coming(scene)
    yardstick = yardstick_of(scene, faces(scene))
    plan_now = _in_days(scene, yardstick, old)
    verdict = judge(yardstick, plan_now)
    if not verdict.kept:
        return ()
    found = kept_haymaking(scene, yardstick, plan_now, verdict, old.own_cuts)
    return (*(cut.says for cut in found.cuts), *(found.on_cuts if old.own_cuts else ()))


def _in_days(scene: Scene, yardstick: Yardstick, old: Season) -> Plan:
    """Return the plan in force as days; where it has no word a mob stays where it stands.

    Who is not on the farm is nowhere: the last planned stay of a lent mob does not outlast its days here.
    """
    held = keeping(scene, yardstick, old).old
    plan_now = np.where(held < 0, np.asarray(yardstick.bars.start)[:, None], held)
    plan_now[(held < 0) & yardstick.bars.off] = yardstick.yard
    if yardstick.gone is not None:
        plan_now[yardstick.gone] = yardstick.yard
    return plan_now


def _stays(asked: Explainer) -> tuple[PlannedStay, ...]:
    return tuple(
        _stay(asked, m, place, a, b)
        for m in range(len(asked.yardstick.mobs))
        for place, a, b in stays_in(asked.yardstick, asked.plan, m)
    )


def _costed(season: Season, asked: Explainer, by_hand: Yardstick, hay: Haymaking) -> Season:
    """Return a season with its cuts, its clashes, and its costs to the letter and as it is lived."""
    found, made = clashes(asked.scene, asked.yardstick, asked.plan), hay.made
    few, many = choosing(asked.yardstick), telling(asked.yardstick)
    life = lived(asked.yardstick, asked.plan, asked.verdict, few, many)
    rule = by_eye(by_hand, few, many)
    kept = tuple(span for span in followed() if span.value == life.kept_d)
    by_rule = Figure("plan_rule_total", None, "USD")
    return replace(
        season, parts=(*figures_of(asked.verdict, asked.yardstick, asked.plan), *hay.parts),
        total=spread("plan_total", made.usd, "USD"),
        lived=spread("plan_lived", life.usd - made.worth_usd[life.members], "USD", kept),
        rule_total=by_rule if rule is None else spread(by_rule.name, rule.usd, by_rule.unit),
        clashes=(*found, *dearest(asked, found)),
        cuts=hay.cuts, on_cuts=hay.on_cuts,
    )  # fmt: skip


def _in_force(scene: Scene, old: Season, now: PlannedStay) -> PlannedStay:
    """Return a stay with its reason of now, from when to when it was planned, where it was.

    A plan is judged by whole days from the hour of now: its stays are known by place and day, not by hour.
    """
    day = scene.local(now.stay.begin.end).date()
    for was in old.of(now.stay.mob):
        begins, ends = was.stay.begin, was.stay.end or was.stay.begin
        here = was.stay.place == now.stay.place
        if here and scene.local(begins.start).date() <= day < scene.local(ends.end).date():
            return replace(now, stay=was.stay, firmness=was.firmness)
    return now


def _stay(asked: Explainer, m: int, place: int, a: int, b: int) -> PlannedStay:
    yardstick = asked.yardstick
    name = (*yardstick.paddocks, YARD, AWAY)[place]
    present = _present(asked, m) if a == 0 and place == yardstick.bars.start[m] else None
    begin = present or When.at(_at(asked, a))
    stay = Stay(yardstick.mobs[m], name, begin, When.at(_at(asked, b)), planned=True)
    ending, other = asked.ending(m, a, b), asked.runner_up(m, a, b)
    kept = asked.share_kept(m, a, b)
    reason = say("moves.end.below", reason=ending.says) if asked.below(m, a, b) else ending.says
    behind, work = told(asked.scene, yardstick, asked.plan, m, a, b)
    past, figures = past_words(asked, m, a, b)
    more = (*meant(asked, m, place, a, b), *housed_words(asked, m, a, b))
    reason = joined((*work, reason, *past, *behind, *more), " ")
    figures = (*ending.figures, *figures)
    made = PlannedStay(stay, firmness_of(a), ending.limit, reason, share_kept=kept, figures=figures)
    return (
        made if other is None else replace(made, runner_up=other.place, lost=other.says, lost_by=other.more)
    )


def _present(asked: Explainer, m: int) -> When | None:
    mob = asked.scene.state.mob(asked.yardstick.mobs[m])
    return mob.since if mob else None


def _at(asked: Explainer, day: int) -> datetime:
    """Return the instant at which moves of a day are made, on the farm's clock."""
    sooner = timedelta(days=asked.yardstick.sooner_d) if day > 0 else timedelta(0)
    return asked.scene.local(asked.scene.now) + timedelta(days=day) - sooner
