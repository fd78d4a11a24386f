"""What costs a plan most, told as clashes: too long a stay, days off grass, grass that does not reach."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from browseline.figures import Figure
from browseline.moves.explain import HALF, Explainer
from browseline.moves.form import Clash
from browseline.moves.judge import spread
from browseline.moves.passed import Past, passed
from browseline.moves.replan import off_grass, stays_in
from browseline.moves.ways_out import WaysOut, told_usd
from browseline.units import amount_words, shown
from browseline.words import linked, say

MUCH = 0.1
"""Share of a plan's cost from which a kind of cost is told as a clash. [1]"""


@dataclass(frozen=True, slots=True)
class _Told:
    """A clash and what it costs [USD]."""

    usd: float
    clash: Clash


def dearest(asked: Explainer, but: tuple[Clash, ...] = ()) -> tuple[Clash, ...]:
    """Return what makes a plan dear, the dearest first, each with the ways out and what they would cost.

    Told is what takes a tenth of the plan's cost or more.

    Parameters
    ----------
    but : tuple of Clash
        Told already: days on which no place is left for a mob are not told again as days off grass.
    """
    much, ways = max(MUCH * asked.verdict.mean_usd, HALF), WaysOut(asked)
    stranded = {(clash.mob, clash.begin) for clash in but if clash.code.startswith("no_place")}
    found = [
        *_too_long(asked, much, ways),
        *_off_grass(asked, much, ways, stranded),
        *_grass(asked, much, ways),
    ]
    return tuple(one.clash for one in sorted(found, key=lambda x: -x.usd))


def _clash(
    asked: Explainer, code: str, mob: str, days: tuple[int, int], says: str, ways: Iterator[str]
) -> Clash:
    begin, end = (asked.scene.now + timedelta(days=d) for d in days)
    return Clash(code, mob, begin, end, says, tuple(dict.fromkeys(ways)))


# ---------------------------------------------------------------- past the longest stay

Stays = list[tuple[Past, int, int, int]]
"""Stays past a longest stay: by how much, the place, the first day and the end."""


def _too_long(asked: Explainer, much: float, ways: WaysOut) -> Iterator[_Told]:
    """Yield the stays that go past a longest stay, mob by mob and limit by limit."""
    yardstick = asked.yardstick
    for m in range(len(yardstick.mobs)):
        found: Stays = [
            (past, place, a, b)
            for place, a, b in stays_in(yardstick, asked.plan, m)
            for past in passed(yardstick, asked.plan, m, a, b)
        ]
        for name in dict.fromkeys(past.limit for past, *_ in found):
            stays = [one for one in found if one[0].limit == name]
            usd = sum(past.past_d * float(yardstick.bars.over_usd_d[past.row]) for past, *_ in stays)
            if usd >= much:
                yield _Told(usd, _stays_too_long(asked, m, stays, usd, ways))


def _stays_too_long(asked: Explainer, m: int, stays: Stays, usd: float, ways: WaysOut) -> Clash:
    one, place, a, b = max(stays, key=lambda stay: (stay[0].past_d, -stay[2]))
    about = f"{asked.yardstick.mobs[m]} {one.limit} in all"
    longest = Figure("clash_stay", one.longest_d, "d", about=about, formula=say(f"limits.{one.limit}.name"))
    began = _since(asked, m, place, a)
    stood = Figure("plan_stood", float(b - began), "d", about=about, formula=f"{a - began} d + {b - a} d")
    past_d, usd_d = sum(past.past_d for past, *_ in stays), float(asked.yardstick.bars.over_usd_d[one.row])
    past = Figure("plan_over", past_d, "d", about=about,
                  formula=" + ".join(f"{past.past_d:.3g} d" for past, *_ in stays))  # fmt: skip
    times = Figure("plan_times", float(len(stays)), "1", about=about, formula=" + ".join("1" for _ in stays))
    parts = (past, longest, stood, *asked.yardstick.figures[1:2])
    formula = f"{past_d:.3g} d × {usd_d:.6g} USD/d"
    cost = Figure("plan_cost", usd, "USD", about=about, parts=parts, formula=formula)
    says = say(
        "moves.clash.too_long" if len(stays) == 1 else "moves.clash.too_long_often",
        mob=ways.mob(m), place=ways.place(place), limit=say(f"limits.{one.limit}.name"),
        times=linked(f"{len(stays)}", times),
        stood=linked(f"{stood.value:.3g}", stood), longest=linked(f"{one.longest_d:g}", longest),
        past=linked(f"{past_d:.3g}", past), first=asked.day(began), cost=told_usd(cost),
    )  # fmt: skip
    return _clash(
        asked, "too_long", asked.yardstick.mobs[m], (a, b), says, _shorter(asked, ways, m, one, (place, a, b))
    )


def _since(asked: Explainer, m: int, place: int, a: int) -> int:
    """Return the day on which a stay began, before the plan's first where the mob stood there already. [d]"""
    bars = asked.yardstick.bars
    return -int(bars.been_d[m]) if a == 0 and place == bars.start[m] else a


def _shorter(
    asked: Explainer, ways: WaysOut, m: int, past: Past, stay: tuple[int, int, int]
) -> Iterator[str]:
    """Yield the ways out of too long a stay."""
    bars, (place, a, b) = asked.yardstick.bars, stay
    up = max(b - int(np.ceil(past.past_d)), int(bars.stuck_d[m]))
    yield from ways.look(m, a, place)
    if bars.can_move[up:b].any():
        yield from ways.go(m, up, b)
        yield from ways.feed(m, up, b)
    yield from ways.net(place)


# ---------------------------------------------------------------- off grass though it may graze


def _off_grass(
    asked: Explainer, much: float, ways: WaysOut, but: set[tuple[str, datetime]]
) -> Iterator[_Told]:
    """Yield the mobs that stand in the yard though they live off grass and are neither housed nor away."""
    yardstick = asked.yardstick
    for m, name in enumerate(yardstick.mobs):
        stays = [(a, b) for a, b in off_grass(yardstick, asked.plan, m)
                 if (name, asked.scene.now + timedelta(days=a)) not in but]  # fmt: skip
        cost = _yard_usd(asked, m, stays)
        eats = yardstick.bars.demand_kg_d[:, m].any()
        if not stays or not eats or (cost.value or 0.0) < much:
            continue
        a, b = max(stays, key=lambda one: one[1] - one[0])
        hay, days = cost.parts[:2]
        says = say("moves.clash.off_grass", mob=ways.mob(m), days=linked(f"{days.value:.3g}", days),
                   hay=linked(shown(hay.value or 0.0, "mass", asked.scene.farm.units), hay),
                   first=asked.day(a), cost=told_usd(cost))  # fmt: skip
        onto = (*ways.go(m, a, b), *ways.opened(m, a, b), *ways.fewer(m))
        yield _Told(cost.value or 0.0, _clash(asked, "off_grass", name, (a, b), says, iter(onto)))


def _yard_usd(asked: Explainer, m: int, stays: list[tuple[int, int]]) -> Figure:
    """Return what days of a mob off grass cost, its hay and its days as parts. [USD]

    Parameters
    ----------
    stays : list of (int, int)
        First days and ends, none of them housed or away. [d]
    """
    bars, about = asked.yardstick.bars, f"{asked.yardstick.mobs[m]} yard"
    days = sum(b - a for a, b in stays)
    need_kg = float(sum(bars.demand_kg_d[a:b, m].sum() for a, b in stays))
    hay = Figure(
        "plan_hay", need_kg, "kg", about=about, formula=f"{need_kg / max(days, 1):.6g} kg/d × {days} d"
    )
    formula = " + ".join(f"{b - a} d" for a, b in stays)
    off = Figure("plan_yard", float(days), "d", about=about, formula=formula)
    hay_usd, day_usd = bars.prices_usd[:2]
    formula = f"{need_kg:.6g} kg × {hay_usd:.6g} USD/kg + {days} d × {day_usd:.6g} USD/d"
    return Figure("plan_cost", need_kg * hay_usd + days * day_usd, "USD", about=about, formula=formula,
                  parts=(hay, off, *asked.yardstick.figures[:2]))  # fmt: skip


# ---------------------------------------------------------------- grass that does not reach


def _grass(asked: Explainer, much: float, ways: WaysOut) -> Iterator[_Told]:
    """Yield what grass below the height to leave and hay out on the paddocks cost, all mobs together."""
    bars, days = asked.yardstick.bars, asked.plan.shape[1]
    below_kg, below_usd = asked.verdict.part("below")
    hay_kg, hay_usd = asked.verdict.part("hay")
    in_yard = asked.plan == asked.yardstick.yard
    yard_kg = float((bars.demand_kg_d[:days].T * in_yard).sum())
    hay_kg, hay_usd = (np.maximum(x, 0.0) for x in (hay_kg - yard_kg, hay_usd - yard_kg * bars.prices_usd[0]))
    below, hay = (
        spread(name, kg, "kg", about="grass") for name, kg in (("plan_below", below_kg), ("plan_hay", hay_kg))
    )
    cost = spread("plan_cost", below_usd + hay_usd, "USD", (below, hay), about="grass")
    if (cost.value or 0.0) < much:
        return
    m, a, b = _shortest(asked)
    units = asked.scene.farm.units
    low, high = (linked(amount_words(end or 0.0, cost.unit), cost) for end in (cost.low, cost.high))
    says = say("moves.clash.grass", below=linked(shown(below.value or 0.0, "mass", units), below),
               hay=linked(shown(hay.value or 0.0, "mass", units), hay), cost=told_usd(cost),
               low=low, high=high, mob=ways.mob(m),
               place=ways.place(int(asked.plan[m, a])), first=asked.day(a), last=asked.day(b))  # fmt: skip
    fed = ways.feed(m, max(a, int(asked.yardstick.bars.stuck_d[m])), b)
    onto = (*fed, *ways.fewer(), *ways.net(days=(a, b)))
    yield _Told(cost.value or 0.0, _clash(asked, "grass", "", (a, b), says, iter(onto)))


def _shortest(asked: Explainer) -> tuple[int, int, int]:
    """Return mob, first day and end of the stay whose grass falls furthest below the height to leave."""
    yardstick = asked.yardstick
    stays = [
        (m, p, a, b) for m in range(len(yardstick.mobs)) for p, a, b in stays_in(yardstick, asked.plan, m)
    ]
    m, _, a, b = max(stays, key=lambda stay: _short_kg(asked, *stay))
    return m, a, b


def _short_kg(asked: Explainer, m: int, p: int, a: int, b: int) -> float:
    """Return by how much the herbage of a stay is below the height to leave, summed over its days. [kg DM]"""
    if p >= asked.yardstick.yard:
        return -1.0
    left = asked.verdict.mass_kg_ha[:, a + 1 : b + 1, p]
    wanted = asked.yardstick.bars.leave_kg_ha[:, m, p].max(initial=0.0)
    short = np.maximum(wanted - left, 0.0).mean(axis=0).sum()
    return float(short * asked.yardstick.whole.land.area_ha[p])
