"""The rules that a plan can do without, one by one: what it is then measured by, and where to begin."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from browseline.events import Cut
from browseline.farm.records import Farm, Paddock, Promise, Rules
from browseline.figures import Figure, money_words
from browseline.limits import Scene, faces
from browseline.limits._prices import trip
from browseline.moves.form import Plan, Yardstick
from browseline.moves.halved import halved, on_halves
from browseline.moves.hay_rules import fit_days
from browseline.moves.judge import judge, spread
from browseline.moves.replan import repaired
from browseline.moves.yardstick import yardstick_of
from browseline.units import shown
from browseline.words import day_words, linked, list_words, say

FEWER = 0.1
"""Share of a mob that "fewer head" leaves out. [1]"""
RIPE = 0.95
"""Share of the most that ever stands at which grass is cut: later it gains little. [1]"""
AWAY = ("away", "term")
FREED = ("weekdays", "hands", "away", "net", "trough", "stay", "rest")
"""Keys of what only lets a plan do more: the plan with the rule may still be kept, so none is worth less."""


@dataclass(frozen=True)
class Case:
    """A rule left out: its key, what the plan is measured by without it, and the plan to begin from."""

    key: str
    yardstick: Yardstick
    begin: Plan
    fields: dict[str, str]

    @property
    def freed(self) -> bool:
        """Return whether all that was allowed with the rule is allowed without it too."""
        return self.key.partition("-")[0] in FREED


def cases(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield every rule of this farm that can be left out, each as a case of its own."""
    for make in (_weekdays, _hands, _away, _net, _troughs, _fewer, _stays, _rests, _hay):
        yield from make(scene, yardstick, begin)


def _of_farm(scene: Scene, farm: Farm) -> Yardstick:
    """Return what plans are measured by on a farm that is changed."""
    kept: dict[object, object] = {k: v for k, v in scene.memo.items() if k in ("growing", "taught")}
    changed = replace(scene, farm=farm, memo=kept)
    return yardstick_of(changed, faces(changed))


def _told(figure: Figure) -> str:
    return linked(f"{figure.value:,.0f}", figure)


def _with_rules(scene: Scene, **rules: object) -> Yardstick:
    own: Rules = replace(scene.farm.rules, **rules)  # type: ignore[arg-type]
    return _of_farm(scene, replace(scene.farm, rules=own))


def _weekdays(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield moves on the days of the week that are kept free; where none is, no moves on Sundays."""
    free = scene.farm.rules.no_move_weekdays
    if free:
        days = list_words(say(f"dates.weekday.{n}") for n in free)
        without = _as_many(yardstick, _with_rules(scene, no_move_weekdays=()))
        yield Case("weekdays", without, begin, {"days": days})
        return
    without = _with_rules(scene, no_move_weekdays=(7,))
    yield Case("sundays", without, repaired(without, begin), {})


def _as_many(yardstick: Yardstick, freed: Yardstick) -> Yardstick:
    """Return a yardstick with more days for moves that allows as many of them each day as before.

    On the first day that animals can be moved all may go; where that day comes sooner, a plan that moved all
    on the old one would break the most moves of a day without any rule that says so.
    """
    most = np.maximum(freed.bars.arrivals, yardstick.bars.arrivals)
    return replace(freed, bars=freed.bars._replace(arrivals=most))


def _hands(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield one more move a day, where fewer can be made than there are mobs."""
    most = scene.farm.rules.moves_a_day
    if most < len(yardstick.mobs):
        more = Figure("plan_moves_a_day", most + 1, "1", formula=f"{most} + 1")
        yield Case("hands", _with_rules(scene, moves_a_day=most + 1), begin, {"moves": _told(more)})


def _away(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield somebody to move animals while the owner is away."""
    ahead = [p for p in scene.farm.promises if p.kind in AWAY and _seen(p, scene.days)]
    if ahead:
        kept = tuple(p for p in scene.farm.promises if p not in ahead)
        spans = list_words(
            say("moves.if.span", first=day_words(p.from_day), last=day_words(p.last_day))
            for p in sorted(ahead, key=lambda p: p.from_day)
        )
        without = _as_many(yardstick, _of_farm(scene, replace(scene.farm, promises=kept)))
        yield Case("away", without, begin, {"days": spans})


def _seen(promise: Promise, days: tuple[date, ...]) -> bool:
    return promise.from_day <= days[-1] and promise.to_day > days[0]


def _net(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield one more paddock: the largest that is grazed, split in two by a net."""
    p = largest(yardstick)
    if p is None:
        return
    paddock = scene.paddock(yardstick.paddocks[p])
    name = paddock.name if paddock is not None else yardstick.paddocks[p]
    yield Case("net", halved(yardstick, p), on_halves(begin, p, yardstick), {"paddock": name})


def largest(yardstick: Yardstick, open_: NDArray[np.bool_] | None = None) -> int | None:
    """Return the largest paddock that any mob may graze and none stands in; None if there is none.

    Half of one in which a mob stands is grazed short before it can be moved, and would tell of that alone.

    Parameters
    ----------
    open_ : bool array, shape (mob, day, paddock), optional
        The mobs and days to whom and on which it has to be open; by default all of the plan.
    """
    grazed = np.flatnonzero((yardstick.bars.open_ if open_ is None else open_).any(axis=(0, 1)))
    free = np.setdiff1d(grazed, yardstick.bars.start)
    among = free if len(free) else grazed
    return int(among[np.argmax(yardstick.whole.land.area_ha[among])]) if len(among) else None


def _troughs(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield a trough in each paddock that has no water or to which it is carried at a price."""
    carried = trip(scene.farm) is not None
    for paddock in scene.farm.paddocks:
        dry = paddock.water == "none" or (paddock.water == "trailer" and carried)
        if dry and not paddock.sacrifice:
            yield Case(f"trough-{paddock.id}", _with_trough(scene, paddock), begin, {"paddock": paddock.name})


def _with_trough(scene: Scene, paddock: Paddock) -> Yardstick:
    own = tuple(replace(p, water="trough") if p is paddock else p for p in scene.farm.paddocks)
    return _of_farm(scene, replace(scene.farm, paddocks=own))


def _fewer(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield fewer head of each mob; what they are worth elsewhere is not counted."""
    for m, mob in enumerate(yardstick.mobs):
        who = scene.state.mob(mob)
        if who is not None and yardstick.bars.demand_kg_d[:, m].any():
            head = max(round(FEWER * who.head), 1)
            left = who.head - head
            fewer = Figure("plan_fewer", head, "head", formula=f"{who.head} − {left}", about=mob)
            fields = {"mob": who.name, "head": _told(fewer)}
            yield Case(f"fewer-{mob}", fewer_head(yardstick, m, 1 - head / max(who.head, 1)), begin, fields)


def _stays(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield the longest stay of each limit that prices it, counted for nothing."""
    return _free(yardstick, begin, "stay", "over_usd_d")


def _rests(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield the rest of each limit that prices it, counted for nothing."""
    return _free(yardstick, begin, "rest", "rest_usd_d")


def _free(yardstick: Yardstick, begin: Plan, what: str, price: str) -> Iterator[Case]:
    """Yield a case for each limit whose soft rule has a price: that price is nothing."""
    bars = yardstick.bars
    hard, usd_d = getattr(bars, f"{what}_hard"), getattr(bars, price)
    for f, name in enumerate(yardstick.names[what]):
        if not hard[f] and usd_d[f] > 0:
            free = np.where(np.arange(len(usd_d)) == f, 0.0, usd_d)
            case = replace(yardstick, bars=bars._replace(**{price: free}))
            yield Case(f"{what}-{name}", case, begin, {"limit": say(f"limits.{name}.name")})


def fewer_head(yardstick: Yardstick, m: int, share: float) -> Yardstick:
    """Return what plans are measured by where a mob has a share of its head: feed, and days paid by head."""
    need, dear = yardstick.bars.demand_kg_d.copy(), yardstick.bars.dear_usd.copy()
    need[:, m] *= share
    for face in yardstick.faces:
        if face.dear_usd_d is not None and face.dear_by_head:
            dear[m] -= (1.0 - share) * face.dear_usd_d[m, : dear.shape[1]]
    return replace(yardstick, bars=yardstick.bars._replace(demand_kg_d=need, dear_usd=dear))


# ---------------------------------------------------------------- grass that the plan leaves


def _hay(scene: Scene, yardstick: Yardstick, begin: Plan) -> Iterator[Case]:
    """Yield a cut of the paddock in which most grass stands that the plan never grazes, where it may be cut.

    Not of ground whose hay is promised or that is kept for a cut already.
    """
    verdict, bars, fit = judge(yardstick, begin), yardstick.bars, fit_days(scene, yardstick, 1)
    kept = {event.subject for event in scene.coming if isinstance(event.body, Cut)}
    skipped = [p for p in range(yardstick.yard) if fit[:, p].any() and not np.any(begin == p)]
    leave = bars.leave_kg_ha.max(axis=(0, 1), initial=0.0)
    standing = {
        p: np.where(fit[:, p], verdict.mass_kg_ha[:, :-1, p].mean(axis=0) - leave[p], 0.0)
        for p in skipped
        if yardstick.paddocks[p] not in kept
    }
    if not standing:
        return
    p = max(standing, key=lambda q: float(standing[q].max() * yardstick.whole.land.area_ha[q]))
    d = int(np.argmax(standing[p] >= RIPE * standing[p].max()))
    kg = np.maximum(verdict.mass_kg_ha[:, d, p] - leave[p], 0.0) * yardstick.whole.land.area_ha[p]
    if kg.mean() <= 0:
        return
    name = yardstick.paddocks[p]
    amount, price = spread("plan_hay_cut", kg, "kg", about=name), yardstick.figures[0]
    found = scene.paddock(name)
    formula = f"{amount.value:.6g} kg × {price.value:.6g} USD/kg"
    usd = (amount.value or 0.0) * (price.value or 0.0)
    worth = Figure("plan_hay_worth", usd, "USD", parts=(amount, price), formula=formula, about=name)
    fields = {
        "paddock": found.name if found else name,
        "day": day_words(yardstick.days[d]),
        "kg": linked(shown(amount.value or 0.0, "mass", scene.farm.units), amount),
        "worth": money_words(worth),
    }
    yield Case(f"hay-{yardstick.paddocks[p]}", _with_cut(yardstick, p, d, float(leave[p])), begin, fields)


def _with_cut(yardstick: Yardstick, p: int, d: int, to_kg_ha: float) -> Yardstick:
    """Return a yardstick on which a paddock is kept shut until it is cut on a day."""
    cuts, open_ = yardstick.whole.days.cut_to_kg_ha.copy(), yardstick.bars.open_.copy()
    cuts[d, p], open_[:, : d + 1, p] = to_kg_ha, False
    whole = yardstick.whole._replace(days=yardstick.whole.days._replace(cut_to_kg_ha=cuts))
    return replace(yardstick, bars=yardstick.bars._replace(open_=open_), whole=whole)
