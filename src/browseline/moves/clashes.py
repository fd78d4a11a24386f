"""Where limits contradict each other or no place is left: said with numbers and ways out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np

from browseline.farm.needs import on_grass
from browseline.figures import Figure, money_words
from browseline.limits import Scene
from browseline.limits._jobs import ended_by, open_job
from browseline.moves.form import Clash, Plan, Yardstick
from browseline.moves.halved import halved, on_halves
from browseline.moves.kernel import follows_on, rest_usd
from browseline.moves.passed import HALF_USD
from browseline.moves.paths import FED
from browseline.moves.replan import place_words, stays_in
from browseline.moves.what_if import cheaper
from browseline.moves.what_if_cases import fewer_head, largest
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say

QUARTER = 0.25
"""Share of a mob that fewer head leaves out where no place is left. [1]"""


def clashes(scene: Scene, yardstick: Yardstick, plan: Plan) -> tuple[Clash, ...]:
    """Return every clash of a plan: not read, intake not known, stuck where it must not be, no place left.

    Ways out of no place left are priced by the judge: hay by its days, others by short searches of a plan.
    """
    found = [*_unread(scene), *_no_word_on_water(scene, yardstick, plan)]
    for m in range(len(yardstick.mobs)):
        found += [*_no_intake(scene, yardstick, m), *_stuck(scene, yardstick, m)]
        found += _job_left(scene, yardstick, m)
        found += _no_place(scene, yardstick, plan, m)
    return tuple(found)


def _clash(
    scene: Scene, code: str, who: str, a: int, b: int, ways: tuple[str, ...], **fields: object
) -> Clash:
    begin, end = (scene.now + timedelta(days=d) for d in (a, b))
    first, last = (day_words(scene.local(t).date()) for t in (begin, end))
    says = say(f"moves.clash.{code}", first=first, last=last, **fields)
    return Clash(code, who, begin, end, says, ways)


def _name(scene: Scene, mob: str) -> str:
    who = scene.state.mob(mob)
    return who.name if who else mob


def _unread(scene: Scene) -> list[Clash]:
    """Return that paddocks without a height are left out of the plan; sacrifice ground is in none anyway."""
    paddocks = [p for p in scene.paddocks if not scene.herbage.read[scene.herbage.index(p)]]
    found = {p: scene.paddock(p) for p in paddocks}
    names = [one.name if one else p for p, one in found.items() if one is None or not one.sacrifice]
    if not names:
        return []
    return [_clash(scene, "not_read", "", 0, 0, (say("moves.way.walk"),), paddocks=list_words(names))]


def _no_word_on_water(scene: Scene, yardstick: Yardstick, plan: Plan) -> list[Clash]:
    """Return that a plan goes where nobody wrote whether there is water, on a farm that says so of others."""
    places = {p: scene.paddock(p) for p in scene.paddocks}
    silent = {p: one.name for p, one in places.items() if one is not None and one.water == "unknown"}
    if len(silent) == len(places):
        return []
    used = {yardstick.paddocks[p] for p in np.unique(plan).tolist() if p < yardstick.yard}
    names = [name for p, name in silent.items() if p in used]
    if not names:
        return []
    return [_clash(scene, "water", "", 0, 0, (say("moves.way.water"),), paddocks=list_words(names))]


def _no_intake(scene: Scene, yardstick: Yardstick, m: int) -> list[Clash]:
    """Return that nobody knows what a mob takes of the grass; pigs and poultry are fed and need no number."""
    who = scene.state.mob(yardstick.mobs[m])
    if who is not None and not on_grass(who.lines):
        return []
    gone = yardstick.gone
    here = np.arange(len(yardstick.days)) if gone is None else np.flatnonzero(~gone[m])
    if not len(here) or yardstick.bars.demand_kg_d[here[:1], m].sum() > 0:
        return []
    mob = yardstick.mobs[m]
    return [_clash(scene, "intake", mob, 0, 0, (say("moves.way.intake"),), mob=_name(scene, mob))]


def _job_left(scene: Scene, yardstick: Yardstick, m: int) -> list[Clash]:
    """Return that a mob leaves an open job before its target, since a limit bites where it works."""
    who = scene.state.mob(yardstick.mobs[m])
    job = open_job(scene, yardstick.mobs[m], scene.days[0])
    limit = ended_by(scene, who, job) if who is not None and job is not None else None
    if who is None or job is None or limit is None:
        return []
    ways = (say("moves.way.later"), say("moves.way.other_job"))
    name = say(f"limits.{limit}.name")
    return [_clash(scene, "job_left", who.id, 0, 0, ways, mob=who.name, job=job.name, limit=name)]


def _stuck(scene: Scene, yardstick: Yardstick, m: int) -> list[Clash]:
    """Return that a mob stands where a hard limit bars it on first days when nobody can move it."""
    bars, p, stuck = yardstick.bars, int(yardstick.bars.start[m]), int(yardstick.bars.stuck_d[m])
    if p == yardstick.yard or stuck == 0:
        return []
    stood = int(bars.been_d[m]) + np.arange(1, stuck + 1)
    barred = ~bars.open_[m, :stuck, p]
    for f in range(len(bars.over_usd_d)):
        if bars.stay_hard[f]:
            barred |= stood > bars.longest_d[f, m, p]
    if not barred.any():
        return []
    mob, first = yardstick.mobs[m], int(np.argmax(barred))
    paddock = scene.paddock(yardstick.paddocks[p])
    ways = (say("moves.way.help"), say("moves.way.today"))
    return [_clash(scene, "stuck", mob, first, stuck, ways, mob=_name(scene, mob),
                   paddock=paddock.name if paddock else yardstick.paddocks[p])]  # fmt: skip


def _no_place(scene: Scene, yardstick: Yardstick, plan: Plan, m: int) -> list[Clash]:
    """Return the stays in the yard at whose beginning no paddock may be entered."""
    out: list[Clash] = []
    priced: tuple[str, ...] = ()
    for place, a, b in stays_in(yardstick, plan, m):
        if place != yardstick.yard or yardstick.bars.off[m, a]:
            continue
        closed, taken, resting, behind = _why_not(yardstick, plan, m, a)
        if closed + taken + resting + behind < yardstick.yard:
            continue
        out_d = int(np.argmax(np.append(yardstick.bars.off[m, a:b], True)))
        mob, hay = yardstick.mobs[m], _fed(scene, yardstick, m, a, a + out_d)
        priced = priced or tuple(_priced(scene, yardstick, plan, m, a))
        leader = _leader(scene, yardstick, m)
        alone = (say("moves.way.alone", mob=_name(scene, mob), leader=leader),) if leader else ()
        ways = (*alone, say("moves.way.open"), hay, *priced,
                *(() if _has_yard(scene) else (say("moves.way.yard"),)))  # fmt: skip
        code = "no_place" if leader is None else "no_place_behind"
        fields = {} if leader is None else {"leader": leader, "behind": behind}
        out.append(_clash(scene, code, mob, a, b, ways, mob=_name(scene, mob), closed=closed,
                          taken=taken, resting=resting, **fields))  # fmt: skip
    return out


def _fed(scene: Scene, yardstick: Yardstick, m: int, a: int, b: int) -> str:
    """Return what feeding a mob in the yard takes and costs, by the plan's prices."""
    bars, figures = yardstick.bars, yardstick.figures
    need_kg = float(bars.demand_kg_d[a:b, m].sum())
    eaten = Figure("plan_hay", need_kg, "kg", formula=f"{need_kg / (b - a):.6g} kg/d × {b - a} d",
                   about=f"{yardstick.mobs[m]} {a}")  # fmt: skip
    usd = need_kg * bars.prices_usd[0] + (b - a) * bars.prices_usd[1]
    hay_usd, day_usd = bars.prices_usd[:2]
    formula = f"{need_kg:.6g} kg × {hay_usd:.6g} USD/kg + {b - a} d × {day_usd:.6g} USD/d"
    cost = Figure("plan_cost", usd, "USD", formula=formula, parts=(eaten, *figures[:2]), about=eaten.about)
    if need_kg <= 0:
        who = _name(scene, yardstick.mobs[m])
        days = Figure("plan_yard", float(b - a), "d", formula=f"{b} − {a}", about=eaten.about)
        return say("moves.way.yard_days", mob=who, days=linked(f"{b - a} d", days),
                   cost=money_words(cost))  # fmt: skip
    hay = linked(shown(need_kg, "mass", scene.farm.units), eaten)
    return say("moves.way.hay", hay=hay, cost=money_words(cost))


def _priced(scene: Scene, yardstick: Yardstick, plan: Plan, m: int, a: int) -> Iterator[str]:
    """Yield what a quarter fewer head and a net through the largest paddock that is open then would save."""
    seed, who = scene.farm.seed, yardstick.mobs[m]
    fewer = cheaper(yardstick, fewer_head(yardstick, m, 1 - QUARTER), plan, plan, seed)
    fewer = replace(fewer, about=f"{who} fewer")
    yield say(_way("fewer", fewer), mob=_name(scene, who), cost=money_words(fewer))
    p = largest(yardstick, yardstick.bars.open_[m : m + 1, a : a + 1])
    if p is not None:
        begin = on_halves(plan, p, yardstick)
        net = replace(cheaper(yardstick, halved(yardstick, p), plan, begin, seed), about=f"{who} net")
        name = place_words(scene, yardstick, p)
        yield say(_way("split", net), paddock=name, cost=money_words(net))


def _way(way: str, saved: Figure) -> str:
    """Return the key of a way out: what it saves, or that it saves nothing."""
    return f"moves.way.{way}" if (saved.value or 0.0) >= HALF_USD else f"moves.way.{way}_level"


def _why_not(yardstick: Yardstick, plan: Plan, m: int, t: int) -> tuple[int, int, int, int]:
    """Return how many paddocks are shut, taken, resting by a hard rule, or not just left by its leader."""
    bars = yardstick.bars
    closed, taken, resting, behind = 0, 0, 0, 0
    for p in range(yardstick.yard):
        if not bars.open_[m, t, p]:
            closed += 1
        elif any(plan[i, t] == p and not bars.together[m, i] for i in range(len(plan)) if i != m):
            taken += 1
        else:
            left, nobody = _left(yardstick, plan, p, t), np.zeros(len(plan), bool)
            rests = not np.isfinite(rest_usd(p, m, t, left, nobody, bars)[1])
            resting += rests
            behind += not rests and not follows_on(m, t, left, plan[:, t] == p, bars)
    return closed, taken, resting, behind


def _leader(scene: Scene, yardstick: Yardstick, m: int) -> str | None:
    """Return the name of the mob that a mob follows, or None."""
    leader = int(yardstick.bars.leader[m])
    return _name(scene, yardstick.mobs[leader]) if leader >= 0 else None


def _left(yardstick: Yardstick, plan: Plan, p: int, t: int) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return on which day each mob last left a paddock before a day; minus infinity if never. [d]"""
    left = -yardstick.bars.ago_d[:, p].copy()
    for i in range(len(plan)):
        if yardstick.bars.start[i] == p:
            left[i] = 0.0
        stood = np.flatnonzero(plan[i, :t] == p)
        if len(stood):
            left[i] = stood[-1] + 1.0
    return left


def _has_yard(scene: Scene) -> bool:
    marked = any(shape.kind in FED for shape in scene.farm.shapes)
    return marked or any(paddock.sacrifice for paddock in scene.farm.paddocks)
