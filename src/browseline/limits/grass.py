"""Grass: the sward reaches the height to leave, or its regrowth is being grazed a second time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm import settings
from browseline.farm.needs import demand, on_grass
from browseline.figures import Figure, typed
from browseline.limits import worms
from browseline.limits._jobs import jobs_at
from browseline.limits._prices import price_usd
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Ready, Scene
from browseline.record.state import MobState
from browseline.science import grazing
from browseline.sward import days_of_grass, leave_at, left_alone, share_eaten, still
from browseline.units import shown
from browseline.words import day_words, say, time_words

Array = NDArray[np.float64]
SEASON = "rest_by_season"


@dataclass(frozen=True)
class _Eaten:
    """What becomes of every paddock under one mob: days with growth and without, shares, heights to leave."""

    needs: Figure | None
    leave: tuple[Figure, ...]
    leave_kg_ha: Array
    days: Array
    still_days: Array
    eaten_frac: Array


def _eaten(scene: Scene, mob: MobState) -> _Eaten:
    """Return the fate of every paddock under a mob, worked out once a scene."""
    return scene.once(("grass", mob.id), lambda: _work_out(scene, mob))


def _left(scene: Scene, mob: MobState) -> tuple[tuple[Figure, ...], Array]:
    """Return the height that a mob is to leave on every paddock, and the herbage then. [cm, kg/ha]"""
    numbers, kinds = scene.herbage.numbers, {line.kind for line in mob.lines}
    leave = tuple(leave_at(n, kinds) for n in numbers)
    mass = [n.mass_kg_ha(f.value or 0.0) for n, f in zip(numbers, leave, strict=True)]
    return leave, np.array(mass)


def _work_out(scene: Scene, mob: MobState) -> _Eaten:
    herbage = scene.herbage
    leave, floor = _left(scene, mob)
    needs = demand(on_grass(mob.lines), mob.id)
    if needs is None or not needs.value:
        nothing = np.full(herbage.mass_kg_ha.shape, np.inf)
        return _Eaten(needs, leave, floor, nothing, nothing, np.ones(len(floor)))
    been = np.array([(scene.now - scene.begin(mob, p)).total_seconds() for p in herbage.paddocks])
    been_d = been / timedelta(days=1).total_seconds()
    grown = days_of_grass(herbage, needs.value, floor, been_d)
    quiet = days_of_grass(still(herbage), needs.value, floor, been_d)
    return _Eaten(needs, leave, floor, grown.days, quiet.days, grown.eaten_frac)


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    if not on_grass(mob.lines):
        return []
    i = scene.herbage.index(paddock)
    eaten = _eaten(scene, mob)
    if eaten.needs is None:
        because = say("limits.grass.intake_not_known", mob=mob.name)
        return [Bite("grass", mob.id, paddock, None, "question", because, say("limits.grass.intake_do"))]
    if not scene.herbage.read[i]:
        because = say("limits.grass.not_read", paddock=_name(scene, paddock))
        return [Bite("grass", mob.id, paddock, None, "question", because, say("limits.grass.read_do"))]
    return [_down(scene, mob, paddock, i, eaten), *_again(scene, mob, paddock, i)]


def _down(scene: Scene, mob: MobState, paddock: str, i: int, eaten: _Eaten) -> Bite:
    """Return the bite of the height to leave."""
    units = scene.farm.units
    quiet = Moment.after(scene.now, eaten.still_days[:, i])
    moment = Moment.after(scene.now, eaten.days[:, i])
    figures = _figures(scene, mob, i, eaten)
    height, leave = figures[0], eaten.leave[i]
    fields = {
        "leave": shown(leave.value or 0.0, "length", units),
        "height": shown(height.value or 0.0, "length", units),
        "above": shown(figures[1].value or 0.0, "mass", units),
        "needs": shown(eaten.needs.value or 0.0, "intake", units) if eaten.needs else "",
        "days": f"{figures[2].value:.1f}" if figures[2].value is not None else "",
    }
    far = "keeps_up" if scene.herbage.growth_from[i] and quiet is not None else "lasts"
    key = "below" if (figures[1].value or 0.0) <= 0 else "because" if moment else far
    because = say(f"limits.grass.{key}", **fields)
    if moment and quiet and scene.herbage.growth_from[i]:
        still_says = time_words(scene.local(quiet.likely), scene.local(scene.now).date())
        because = say("limits.grass.beside", because=because, still=still_says)
    elif not scene.herbage.growth_from[i]:
        because = say("limits.grass.growth_not_known", because=because)
    short = say("limits.grass.short", leave=fields["leave"])
    return Bite(
        "grass",
        mob.id,
        paddock,
        moment,
        "soft",
        because,
        say("limits.grass.do"),
        figures,
        _late(scene, i, eaten, moment),
        quiet.likely if quiet else None,
        short,
    )


def _figures(scene: Scene, mob: MobState, i: int, eaten: _Eaten) -> tuple[Figure, ...]:
    """Return height now, herbage above the height to leave as eaten, and days: what the bite is made of."""
    herbage, numbers = scene.herbage, scene.herbage.numbers[i]
    mass = np.quantile(herbage.mass_kg_ha[:, i], (0.1, 0.5, 0.9), method="closest_observation")
    per_cm, leave, share = numbers.mass_per_height, eaten.leave[i], share_eaten(numbers, 1.0)
    if numbers.share_eaten is None:
        formula = say("limits.grass.share_formula")
        share = Figure("share_eaten", float(eaten.eaten_frac[i]), "1", formula=formula, parts=(share,))
    height = herbage.height_now(i)
    likely = height.value or 0.0
    area = herbage.land.area_ha[i]
    grazed = Figure("area", float(area), "ha", origins=typed("area", area, "ha", "").origins)
    above = [
        max(float(m) - float(eaten.leave_kg_ha[i]), 0.0) * area * float(eaten.eaten_frac[i]) for m in mass
    ]
    formula = (
        f"{area:.3g} ha × ({likely:.3g} − {leave.value or 0:.3g}) cm × {per_cm.value or 0:.4g} kg/ha/cm"
        f" × {eaten.eaten_frac[i]:.2g}"
    )
    above_figure = Figure(
        "grass_above",
        above[1],
        "kg",
        above[0],
        above[2],
        formula=formula,
        parts=(grazed, height, leave, per_cm, share),
        about=mob.id,
    )
    needs = eaten.needs.value or 0.0 if eaten.needs else 0.0
    quiet = _still_days(eaten.still_days[:, i], above, needs)
    days = Figure(
        "grass_days",
        float(quiet[1]),
        "d",
        float(quiet[0]),
        float(quiet[2]),
        formula=f"{above[1]:.4g} kg ÷ {needs:.4g} kg/d",
        parts=(above_figure, *((eaten.needs,) if eaten.needs else ())),
        about=mob.id,
    )
    return height, above_figure, days


def _still_days(days: Array, above_kg: list[float], needs_kg_d: float) -> list[float]:
    """Return the days with no growth: low, likely, high. [d]

    Past the days ahead they are what stands over what is eaten a day.
    """
    seen = np.quantile(days, (0.1, 0.5, 0.9), method="closest_observation")
    far = needs_kg_d > 0
    return [
        kg / needs_kg_d if far and np.isinf(d) else float(d) for d, kg in zip(seen, above_kg, strict=True)
    ]


def _late(scene: Scene, i: int, eaten: _Eaten, moment: Moment | None) -> tuple[Late, ...]:
    """Return what one, two, three days past the likely date take below the height to leave.

    Nothing is told where growth keeps up with them: a day late takes nothing then.
    """
    if moment is None or eaten.needs is None:
        return ()
    area, needs = float(scene.herbage.land.area_ha[i]), eaten.needs.value or 0.0
    growth = float(np.median(scene.herbage.growth_kg_ha_d[:, i]))
    per_day = max(needs / float(eaten.eaten_frac[i]) - growth * area, 0.0)
    out: list[Late] = []
    if not per_day:
        return ()
    for days in (1, 2, 3):
        taken = min(days * per_day, float(eaten.leave_kg_ha[i]) * area)
        formula = f"{days} × ({needs:.4g} ÷ {eaten.eaten_frac[i]:.2g} − {growth:.3g} × {area:.3g}) kg"
        feed = Figure("below_leave", taken, "kg", formula=formula, parts=(eaten.needs, eaten.leave[i]))
        per_cm = scene.herbage.numbers[i].mass_per_height
        height = taken / area / (per_cm.value or 1.0)
        formula = f"{taken:.4g} kg ÷ {area:.3g} ha ÷ {per_cm.value or 0:.4g} kg/ha/cm"
        deep = Figure("late_height", height, "cm", formula=formula, parts=(feed, per_cm))
        inches = shown(height, "length", scene.farm.units)
        risk = say("limits.grass.late", count=days, height=inches)
        out.append(Late(days, feed_kg=feed, height=deep, risk=risk))
    return tuple(out)


def _again(scene: Scene, mob: MobState, paddock: str, i: int) -> list[Bite]:
    """Return the bite of regrowth grazed again; where nothing grows there is none.

    Common practice: about three days in fast growth, up to a week in slow. Fast and slow are told
    apart by the rest that the growth of the day would need.
    """
    rest = _rest_d(scene, i)
    rule = scene.farm.rules.regrazed_after
    if rest is None:
        return []
    begin = scene.begin(mob, paddock)
    if rule is not None:
        after = typed("regrowth_after", rule.to("d"), "d", rule.text)
    else:
        after = _regrown(scene, rest)
    days = after.value or 0.0
    moment = Moment(*(begin + timedelta(days=d) for d in (after.low or days, days, after.high or days)))
    because = say("limits.grass.again", days=f"{days:.0f}", rest=f"{rest:.0f}")
    because = because if rule is not None else _with_choice(scene, SEASON, because)
    return [
        Bite(
            "regrowth",
            mob.id,
            paddock,
            moment,
            "soft",
            because,
            say("limits.grass.again_do"),
            (after, _rest(scene, i, rest)),
            short=say("limits.grass.again_short"),
        )
    ]


def _longest_d(scene: Scene, order: list[int]) -> Array:
    """Return the longest stay before regrowth is bitten again, shape (mob, paddock). [d]

    One number for all days ahead: the farm's own, else the days that slow growth allows; fast growth allows
    fewer. None for who is fed, where nothing grows, on ground of a mob's own job, which says itself how long,
    and for hosts of worms that must leave sooner: a day too long is priced once.
    """
    rule = scene.farm.rules.regrazed_after
    row = tables.row("stays", "regrowth_after", "any kind")
    most = rule.to("d") if rule is not None else row.high or row.middle()
    grows = np.array([_rest_d(scene, i) is not None for i in order], bool)
    out = np.full((len(scene.mobs), len(order)), np.inf)
    for m, mob in enumerate(scene.mobs):
        free = [bool(scene.farm.jobs) and jobs_at(scene, mob.id, p) != () for p in scene.paddocks]
        sooner = worms.hosts(mob) and worms.longest_d(scene) <= most
        if on_grass(mob.lines) and not sooner:
            out[m] = np.where(grows & ~np.array(free, bool), most, np.inf)
    return out


def _regrown(scene: Scene, rest_d: float) -> Figure:
    """Return the days until regrowth is bitten again: fast and slow told apart by the rest needed."""
    row = tables.row("stays", "regrowth_after", "any kind")
    (fast, slow), rests = _rests(scene)
    low, high = row.low or row.middle(), row.high or row.middle()
    days = float(np.interp(rest_d, (fast, slow), (low, high)))
    formula = f"{low:g} d where {fast:g} d of rest do … {high:g} d where {slow:g} d do; now {rest_d:.0f} d"
    parts = (row.figure("regrowth_after"), *rests)
    return Figure("regrowth_after", days, "d", row.low, row.high, formula=formula, parts=parts)


def _rests(scene: Scene) -> tuple[tuple[float, float], tuple[Figure, ...]]:
    """Return the rest in fast growth and in slow, and where it was read: as the farm named it. [d]"""
    named = settings.chosen(scene.farm, SEASON)
    if named is not None:
        return (named.low or named.middle(), named.middle()), (settings.figure(named, "rest"),)
    rests = [tables.row("stays", "rest", name) for name in ("early fast growth", "hot dry summer")]
    return (rests[0].middle(), rests[1].middle()), tuple(rest.figure("rest") for rest in rests)


def _with_choice(scene: Scene, key: str, words: str) -> str:
    """Return a sentence with the reading that the farm named behind it, if it named one."""
    named = settings.chosen(scene.farm, key)
    return words if named is None else f"{words} {settings.words_of(named)}"


def _rested(scene: Scene, paddock: str, i: int) -> str:
    """Return the rest that the reading named asks for in today's growth, and its day; the height rules."""
    named, rest = settings.chosen(scene.farm, SEASON), _rest_d(scene, i)
    ground = scene.ground(paddock)
    left = [
        stay.end.end if stay.end is not None else scene.now
        for stay in scene.state.stays
        if not stay.planned and stay.place in ground
    ]
    if named is None or rest is None or not left:
        return ""
    days = float(np.clip(rest, *_rests(scene)[0]))
    day = day_words(scene.local(max(left) + timedelta(days=days)).date())
    told = say("limits.grass.rested", days=f"{days:.0f}", day=day)
    return f" {told} {settings.words_of(named)}"


def _rest(scene: Scene, i: int, rest_d: float) -> Figure:
    """Return the rest that today's growth needs as a figure, with the two heights it goes between. [d]"""
    numbers, growth = scene.herbage.numbers[i], float(np.median(scene.herbage.growth_kg_ha_d[:, i]))
    grows = shown(growth, "herbage growth", scene.farm.units)
    formula = say("limits.grass.rest_formula", growth=grows)
    parts = (numbers.leave_at, numbers.enter_at, numbers.mass_per_height)
    return Figure("rest_needed", rest_d, "d", formula=formula, parts=parts)


def _rest_d(scene: Scene, i: int) -> float | None:
    """Return the days that today's growth needs from leaving to starting height; None if nothing grows."""
    numbers = scene.herbage.numbers[i]
    growth = float(np.median(scene.herbage.growth_kg_ha_d[:, i]))
    span = numbers.mass_kg_ha((numbers.enter_at.value or 0.0) - (numbers.leave_at.value or 0.0))
    return span / growth if growth > 0 and span > 0 else None


def undisturbed(scene: Scene) -> Array:
    """Return what stands if no animal comes, shape (member, day + 1, paddock), today first. [kg DM/ha]"""
    return scene.once("resting", lambda: left_alone(scene.herbage))


def _ready(scene: Scene, mob: MobState, paddock: str) -> Ready | None:
    """Return when the grass stands at the height to start at."""
    if not on_grass(mob.lines):
        return None
    i = scene.herbage.index(paddock)
    if not scene.herbage.read[i]:
        return Ready("grass", None, say("limits.grass.not_read", paddock=_name(scene, paddock)))
    numbers, start = scene.herbage.numbers[i], _start(scene, paddock, i)
    target = numbers.mass_kg_ha(start.value or 0.0)
    mass = undisturbed(scene)[:, :, i]
    days = grazing.crossing_d(-mass, np.full(len(mass), -target))
    moment = Moment.after(scene.now, days)
    height = shown(start.value or 0.0, "length", scene.farm.units)
    key = "ready_now" if moment and moment.likely <= scene.now else "ready" if moment else "ready_never"
    day = day_words(scene.local(moment.likely).date()) if moment else ""
    words = say(f"limits.grass.{key}", height=height, day=day)
    named = settings.reading(scene.farm, "height_to_start")
    if start is numbers.enter_at and start.origins[0].source in named.source.split(";"):
        words = _with_choice(scene, "height_to_start", words)
    return Ready("grass", moment, f"{words}{_rested(scene, paddock, i)}", (start,), wants=True)


def _start(scene: Scene, paddock: str, i: int) -> Figure:
    """Return the height to start at; of a typed first pass until grazed this year, not among trees. [cm]"""
    said, usual = scene.farm.rules.first_pass, scene.herbage.numbers[i].enter_at
    if said is None or any(planting.paddock == paddock for planting in scene.farm.plantings):
        return usual
    year = scene.local(scene.now).year
    stays = (s for s in scene.state.stays if s.place == paddock and not s.planned)
    if any(s.end is None or scene.local(s.end.end).year == year for s in stays):
        return usual
    return typed("first_pass", said.to("cm"), "cm", said.text)


def _wait_d(scene: Scene, leave_kg_ha: Array) -> Array:
    """Return the rest of each paddock if it were left today: from what is left to the starting height. [d]

    Shape (paddock,), the middle member; NaN where growth is not known. The farm's own rest goes first;
    what takes longer than the days ahead takes the longest rest that was read.
    """
    herbage, said = scene.herbage, scene.farm.rules.rest
    if said is not None:
        return np.full(len(herbage.paddocks), said.to("d"))
    enter = np.array([n.mass_kg_ha(n.enter_at.value or 0.0) for n in herbage.numbers])
    rested = replace(herbage, mass_kg_ha=np.broadcast_to(leave_kg_ha, herbage.mass_kg_ha.shape).copy())
    mass = np.moveaxis(left_alone(rested), 1, 2)
    days = grazing.crossing_d(-mass, np.broadcast_to(-enter, mass.shape[:2]))
    middle = np.quantile(days, 0.5, axis=0, method="closest_observation")
    longest = max(_rests(scene)[0][1], float(herbage.horizon_d))
    known = np.array([bool(k) for k in herbage.growth_from], bool) & (enter > leave_kg_ha)
    return np.where(known, np.minimum(middle, longest), np.nan)


def _waits(scene: Scene, order: list[int]) -> Array:
    """Return the rest that each mob's paddocks would need, shape (mob, paddock). [d]"""
    out = np.full((len(scene.mobs), len(order)), np.nan)
    found: dict[bytes, Array] = {}
    for m, mob in enumerate(scene.mobs):
        if on_grass(mob.lines):
            leave = _left(scene, mob)[1]
            key = leave.tobytes()
            if key not in found:
                found[key] = _wait_d(scene, leave)
            out[m] = found[key][order]
    return out


def _name(scene: Scene, paddock: str) -> str:
    found = scene.paddock(paddock)
    return found.name if found else paddock


def _face(scene: Scene) -> Face:
    herbage = scene.herbage
    order = [herbage.index(p) for p in scene.paddocks]
    leave = np.stack([_left(scene, mob)[1][order] for mob in scene.mobs]) if scene.mobs else None
    enter = np.array([n.mass_kg_ha(n.enter_at.value or 0.0) for n in herbage.numbers])[order]
    eats = np.array([[bool(on_grass(mob.lines))] for mob in scene.mobs], bool).reshape(-1, 1)
    longest = _longest_d(scene, order)
    bound = np.isfinite(longest).any()
    return Face(
        longest_stay_d=longest if bound else None,
        over_stay_usd_d=price_usd(scene.farm, "yard_day") if bound else 0.0,
        leave_kg_ha=leave * eats if leave is not None else None,
        below_usd_kg=price_usd(scene.farm, "left_short"),
        enter_kg_ha=enter * eats,
        early_usd_kg=price_usd(scene.farm, "entered_early"),
        wait_d=_waits(scene, order),
    )


LIMIT = Limit("grass", _bites, _face, _ready)
