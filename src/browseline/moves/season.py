"""The moves arrow: a scene in, the season's stays out, each with its reason."""

from __future__ import annotations

from datetime import datetime, timedelta

from browseline.events import When
from browseline.limits import Scene, faces
from browseline.moves.clashes import clashes
from browseline.moves.explain import Explainer
from browseline.moves.form import Firmness, PlannedStay, Season, Yardstick
from browseline.moves.judge import figures_of, spread
from browseline.moves.propose import ITERATIONS, propose
from browseline.moves.replan import FIRM_D, LIKELY_D, changed_days, changes, keeping, replan, visits_of
from browseline.moves.yardstick import yardstick_of
from browseline.record.state import YARD, Stay


def plan(scene: Scene, old: Season | None = None, iterations: int = ITERATIONS) -> Season:
    """Return the season's stays for all mobs, judged over all members of the scene.

    Parameters
    ----------
    scene : Scene
        Its ``days`` are the days planned, as far as its herbage knows them.
    old : Season, optional
        The plan in force; the next days leave it only where that is worth the churn.
    iterations : int
        Small changes tried: the same seed and iterations give the same plan. [1]
    """
    yardstick = yardstick_of(scene, faces(scene))
    if old is None:
        found = propose(yardstick, scene.farm.seed, iterations)
        told: tuple[str, ...] = ()
        changed = 0
    else:
        found = replan(scene, yardstick, old, iterations)
        was = keeping(scene, yardstick, old).old
        told, changed = changes(scene, yardstick, was, found.plan), changed_days(was, found.plan)
    asked = Explainer(scene, yardstick, found.plan, found.verdict)
    stays = tuple(
        _stay(asked, m, place, a, b)
        for m in range(len(yardstick.mobs))
        for place, a, b in visits_of(found.plan[m])
    )
    return Season(
        scene.now, stays, figures_of(found.verdict), spread("plan_total", found.verdict.total_usd, "USD"),
        spread("plan_rule_total", found.rule.total_usd, "USD"), clashes(scene, yardstick, found.plan),
        scene.now + timedelta(days=FIRM_D), scene.now + timedelta(days=LIKELY_D), scene.farm.seed, iterations,
        told, changed,
    )  # fmt: skip


def _stay(asked: Explainer, m: int, place: int, a: int, b: int) -> PlannedStay:
    scene, yardstick = asked.scene, asked.yardstick
    name = YARD if place == yardstick.yard else yardstick.paddocks[place]
    begin = _present(asked, m) if a == 0 and place == yardstick.bars.start[m] else None
    end = _end(asked, m, place, begin, b)
    stay = Stay(yardstick.mobs[m], name, begin or When.at(_at(scene, a)), When.at(end), planned=True)
    ending, other = asked.ending(m, a, b), asked.runner_up(m, a, b)
    kept = asked.share_kept(m, a, b)
    if other is None:
        return PlannedStay(stay, _firmness(a), ending.limit, ending.says, share_kept=kept)
    return PlannedStay(
        stay, _firmness(a), ending.limit, ending.says, other.place, other.says, other.more, kept
    )


def _present(asked: Explainer, m: int) -> When | None:
    mob = asked.scene.state.mob(asked.yardstick.mobs[m])
    return mob.since if mob else None


def _at(scene: Scene, day: int) -> datetime:
    """Return the instant a day of the plan begins: the same time of day as now, on the farm's clock."""
    return scene.local(scene.now) + timedelta(days=day)


def _end(asked: Explainer, m: int, place: int, begin: When | None, b: int) -> datetime:
    """Return the end of a stay; a present stay never passes a hard longest stay by part of a day."""
    end = _at(asked.scene, b)
    yardstick: Yardstick = asked.yardstick
    bars = yardstick.bars
    if begin is None or place == yardstick.yard or b <= bars.stuck_d[m]:
        return end
    hard = [float(bars.longest_d[f, m, place]) for f in range(len(bars.over_usd_d)) if bars.stay_hard[f]]
    latest = [
        begin.start + timedelta(days=d) for d in hard if d < len(asked.scene.days) + int(bars.been_d[m]) + 1
    ]
    return max(min([end, *latest]), asked.scene.now)


def _firmness(day: int) -> Firmness:
    return "firm" if day < FIRM_D else "likely" if day < LIKELY_D else "outline"
