"""The hay cuts of a plan in words: how much hay, what each cut saves, the runner-up, or why there is none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from browseline.farm.own_hay import not_said
from browseline.figures import Figure, money_words, typed
from browseline.limits import Scene
from browseline.moves.cut_search import cheapest, exchanged, filled_up, savings, seconds, worth_keeping
from browseline.moves.cuts import LEAST_USD, Cutter, Made, cutter
from browseline.moves.form import Cut, KeptCut, Plan, PlannedCut, Verdict, Yardstick
from browseline.moves.hay_rules import left_kg_ha
from browseline.moves.judge import judge, spread
from browseline.moves.kept_cuts import none_kept, still_kept
from browseline.moves.propose import Keeping
from browseline.moves.replan import MOST_RUN_D, place_words
from browseline.moves.set_aside import set_aside
from browseline.units import amount_words, shown
from browseline.words import day_words, joined, linked, list_words, say

Array = NDArray[np.float64]
SHARE = 24
"""Small changes of a season for each of those around one cut. [1]"""


@dataclass(frozen=True)
class Haymaking:
    """A plan with its hay cuts told, and what is said where there are none."""

    made: Made
    cuts: tuple[PlannedCut, ...]
    on_cuts: tuple[str, ...]
    parts: tuple[Figure, ...]


def haymaking(
    scene: Scene, yardstick: Yardstick, plan: Plan, verdict: Verdict, held: Keeping, iterations: int = 0,
    old: tuple[Plan, Sequence[KeptCut]] | None = None,
) -> Haymaking:  # fmt: skip
    """Return a plan with the cuts that make it cheaper by the judge.

    Parameters
    ----------
    held : Keeping
        The plan in force and what a day costs that differs from it.
    iterations : int
        Small changes of the season; with none the stays are left as they are. [1]
    old : tuple, optional
        The plan in force, repaired, and the cuts that were kept with it: it may be cheaper with them.
    """
    most = MOST_RUN_D // max(len(yardstick.days) * yardstick.members, 1)
    how = cutter(scene, yardstick, held, scene.farm.seed, min(iterations, most) // SHARE)
    kept = old[1] if old is not None else ()
    if how is None:
        bare = Made(yardstick, plan, verdict, np.zeros(verdict.usd.shape[0]))
        return Haymaking(
            bare, (), (*none_kept(scene, kept), *_not_asked(scene, yardstick, plan, verdict)), ()
        )
    first, looked = cheapest(how, plan, verdict)
    found = [first]
    dropped: tuple[str, ...] = ()
    if old is not None and (on := judge(yardstick, old[0])).kept:
        with_kept, dropped = still_kept(scene, how, how.bare(old[0], on), kept)
        found += [filled_up(how, with_kept)[0], *([cheapest(how, old[0], on)[0]] if kept else [])]
    made, saved, others = exchanged(how, *worth_keeping(how, min(found, key=how.cost)))
    told = _all_told(scene, how, made, saved, others)
    none = (say("moves.cut.level"),) if looked and not told else ()
    return Haymaking(made, told, (*dropped, *none), tuple(_part(how, made, told)))


def kept_haymaking(
    scene: Scene, yardstick: Yardstick, plan: Plan, verdict: Verdict, kept: Sequence[KeptCut]
) -> Haymaking:
    """Return the plan in force with the cuts that were kept with it; those it has room for if there are none.

    A cut that would be wrong by now is dropped, with the reason in words.
    """
    held = Keeping.nothing(yardstick)
    how = cutter(scene, yardstick, held, scene.farm.seed, 0) if kept else None
    if how is None:
        found = haymaking(scene, yardstick, plan, verdict, held)
        return replace(found, on_cuts=(*none_kept(scene, kept), *found.on_cuts))
    made, dropped = still_kept(scene, how, how.bare(plan, verdict), kept)
    told = _all_told(scene, how, made, savings(how, made), seconds(how, made))
    return Haymaking(made, told, dropped, tuple(_part(how, made, told)))


def _all_told(
    scene: Scene, how: Cutter, made: Made, saved: dict[Cut, Array], others: dict[Cut, Made | None]
) -> tuple[PlannedCut, ...]:
    """Return every cut that saves something, told beside the plan with another cut instead."""
    return tuple(_told(scene, how, made, cut, saves, others[cut]) for cut, saves in saved.items())


def _not_asked(scene: Scene, yardstick: Yardstick, plan: Plan, verdict: Verdict) -> Iterator[str]:
    """Yield, where grass stands that the plan never grazes, what the farm does not say of making hay.

    Not of grass that is kept for winter, or whose hay is promised.
    """
    left = left_kg_ha(scene)
    over = [
        p
        for p in range(yardstick.yard)
        if yardstick.bars.open_[:, :, p].any()
        and not np.any(plan == p)
        and set_aside(scene, yardstick.paddocks[p]) is None
        and float((verdict.mass_kg_ha[:, :, p].mean(axis=0) - left[p]).max()) > 0
    ]
    missing = not_said(scene.farm.rules)
    if over and missing:
        names = list_words(place_words(scene, yardstick, p) for p in over)
        yield say("moves.cut.not_said", paddocks=names, missing=list_words(map(_missing, missing)))


def _missing(name: str) -> str:
    return say(f"moves.cut.missing.{name}")


def _told(
    scene: Scene, how: Cutter, made: Made, cut: Cut, saves_usd: Array, other: Made | None
) -> PlannedCut:
    """Return a cut with its figures in one sentence."""
    name, yardstick = how.yardstick.paddocks[cut.paddock], how.yardstick
    kg = how.kg(made.verdict, cut)
    dry, price = spread("plan_hay_made", kg, "kg", how.how.figures[1:2], name), yardstick.figures[0]
    worth = _worth(how, cut, dry, price)
    saved = spread("plan_cut_saves", saves_usd, "USD", (worth,), f"{name} {cut.day}")
    fields = {
        "paddock": place_words(scene, yardstick, cut.paddock),
        "day": day_words(yardstick.days[cut.day]),
        "made": _bales(scene, dry),
        "saves": money_words(saved),
    }
    second = _runner_up(scene, how, made, other, float(saves_usd.mean()))
    says = joined((say("moves.cut.plan", **fields), *second), " ")
    clear = yardstick.days[0] + timedelta(days=cut.clear)  # it may be the day after the last of the plan
    return PlannedCut(name, yardstick.days[cut.day], clear, says, dry, worth, saved)


def _worth(how: Cutter, cut: Cut, dry: Figure, price: Figure) -> Figure:
    """Return the hay of a cut at its price less what the cut costs. [USD]"""
    hectares = float(how.yardstick.whole.land.area_ha[cut.paddock])
    usd = (dry.value or 0.0) * (price.value or 0.0) - how.pass_usd(cut)
    formula = (
        f"{dry.value or 0.0:.6g} kg × {price.value or 0.0:.6g} USD/kg"
        f" − {hectares:.6g} ha × {how.how.usd_ha:.6g} USD/ha"
    )
    parts = (dry, price, *how.how.figures[:1])
    return Figure("plan_hay_gain", usd, "USD", formula=formula, parts=parts, about=dry.about)


def _bales(scene: Scene, dry: Figure) -> str:
    """Return hay in bales of the first lot whose weight and dry share are typed, else by weight."""
    for lot in scene.farm.hay:
        one = lot.bale_weight.to("kg") * lot.dry.to("1") if lot.dry is not None else 0.0
        if one > 0:
            bale = typed("bale_weight", lot.bale_weight.to("kg"), "kg", lot.bale_weight.text, about=lot.id)
            formula = f"{dry.value or 0.0:.6g} kg ÷ {one:.6g} kg"
            bales = Figure("plan_hay_bales", (dry.value or 0.0) / one, "bales", formula=formula,
                           parts=(dry, bale), about=dry.about)  # fmt: skip
            return say("moves.cut.bales", bales=linked(f"{bales.value:,.0f}", bales))
    return linked(shown(dry.value or 0.0, "mass", scene.farm.units), dry)


def _runner_up(scene: Scene, how: Cutter, made: Made, other: Made | None, saves_usd: float) -> Iterator[str]:
    """Yield which other cut might be made instead and what that would cost more.

    One that costs more than to make none in its place is no second best.
    """
    if other is None or float((other.usd - made.usd).mean()) > saves_usd - LEAST_USD:
        yield say("moves.cut.only")
        return
    new = other.cuts[-1]
    name = place_words(scene, how.yardstick, new.paddock)
    more = spread("plan_more", other.usd - made.usd, "USD", about=f"{name} {new.day}")
    day = day_words(how.yardstick.days[new.day])
    if (more.value or 0.0) <= -LEAST_USD:
        less = linked(amount_words(-(more.value or 0.0), more.unit), more)
        yield say("moves.cut.other_cheaper", paddock=name, day=day, cost=less)
    elif (more.value or 0.0) < LEAST_USD:
        yield say("moves.cut.other_level", paddock=name, day=day)
    else:
        yield say("moves.cut.other", paddock=name, day=day, cost=money_words(more))


def _part(how: Cutter, made: Made, told: Sequence[PlannedCut]) -> Iterator[Figure]:
    """Yield the hay of all cuts as one part of a plan's cost: what it is worth is taken off."""
    if not told:
        return
    usd = -sum(cut.worth.value or 0.0 for cut in told)
    cost = Figure("plan_cost", usd, "USD", formula=f"−({' + '.join(cut.worth.formula for cut in told)})",
                  parts=tuple(cut.worth for cut in told), about="hay made")  # fmt: skip
    kg = np.sum([how.kg(made.verdict, cut) for cut in made.cuts], axis=0)
    dry = tuple(cut.made for cut in told)
    yield replace(spread("plan_hay_made", kg, "kg", (cost, *dry)),
                  formula=" + ".join(f"{one.value or 0.0:.6g} kg" for one in dry))  # fmt: skip
