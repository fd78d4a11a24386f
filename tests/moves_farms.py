"""Farms for the tests of moves, a plain judge and a plain checker, written without a line of the planner."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import combinations
from typing import Any

import numpy as np

from browseline import tables
from browseline.events import When
from browseline.farm.needs import demand
from browseline.farm.records import Farm, Job, Line, Mob, Promise, Rules
from browseline.figures import Figure
from browseline.limits import Face, Scene, bites, faces
from browseline.moves import Season
from browseline.record.state import AWAY, YARD, HeadLine, MobState, ShutState, State, Stay, TypedGrowth
from browseline.sward import share_eaten
from browseline.units import parse
from tests.small_farm import NOW, ewes, farm, heights, scene

DAY = timedelta(days=1)
WORM_STAY_D, WORM_REST_D = 4, 35


def heifers(place: str | None = "2", since: datetime = NOW) -> MobState:
    """Return a second mob, that shares no worms with the first."""
    line = HeadLine("cattle", "heifer", 8, parse("900 lb", "mass"), parse("22 lb/d", "intake"))
    return MobState("heifers", "Heifers", (line,), place, When.at(since))


def goats(place: str | None = "3", since: datetime = NOW) -> MobState:
    """Return a third mob, that shares worms with the first."""
    line = HeadLine("goat", "doe dry", 12, parse("130 lb", "mass"), parse("3 lb/d", "intake"))
    return MobState("goats", "Goats", (line,), place, When.at(since))


def grazed(
    acres: tuple[float, ...], tall_in: tuple[float, ...], *, mobs: int = 1, been_h: float = 0.0,
    days: int = 20, members: int = 5, growth: str = "20 lb/ac/d", rules: Rules | None = None,
    past: tuple[Stay, ...] = (), shut: tuple[ShutState, ...] = (), promises: tuple[Promise, ...] = (),
    now: datetime = NOW, weather: bool = False, head: int = 30, follows: bool = False,
    jobs: tuple[Job, ...] = (), due_d: int | None = None, **seen: Any,
) -> Scene:  # fmt: skip
    """Return the scene of a farm whose mobs stand in the first paddocks since so many hours.

    With ``follows`` the ewes come behind the heifers; the last mob is due home after ``due_d`` days;
    ``seen`` are facts of the state, such as looks.
    """
    home = farm(acres, rules=rules, promises=promises, weather=weather)
    since = now - timedelta(hours=been_h)
    standing = (ewes("1", since, head), heifers("2", since), goats("3", since))[:mobs]
    if due_d is not None:
        standing = (*standing[:-1], replace(standing[-1], due=now.date() + due_d * DAY))
    home = replace(home, jobs=jobs, mobs=tuple(_on_file(m, follows) for m in standing))
    stays = past + tuple(Stay(m.id, m.place or "", When.at(since)) for m in standing)
    typed = TypedGrowth(When.at(now), date(2027, 1, 1), "", parse(growth, "herbage growth"))
    read = heights({p.id: f"{h} in" for p, h in zip(home.paddocks, tall_in, strict=True)}, now)
    folded = State(now, standing, stays, shut=shut, heights=read, growth=() if weather else (typed,), **seen)
    return scene(home, folded, now, members=members, horizon_d=days)


def _on_file(mob: MobState, follows: bool) -> Mob:
    """Return a mob as the farm's file has it."""
    lines = tuple(Line(x.kind, x.klass, x.head, x.weight, x.intake) for x in mob.lines)
    behind = "heifers" if follows and mob.id == "ewes" else None
    return Mob(mob.id, mob.name, lines, follows=behind)


def with_mob(found: Scene, mob: str, **more: Any) -> Scene:
    """Return the same scene where the farm's file says more of a mob."""
    mobs = tuple(replace(m, **more) if m.id == mob else m for m in found.farm.mobs)
    return replace(found, farm=replace(found.farm, mobs=mobs), memo={})


def number(figure: Figure | None) -> float:
    """Return the value of a figure that must be known."""
    if figure is None or figure.value is None:
        raise ValueError("not known")
    return figure.value


def span(figure: Figure | None) -> tuple[float, float, float]:
    """Return the low end, value and high end of a figure that must have them."""
    if figure is None or figure.low is None or figure.high is None:
        raise ValueError("no range")
    return figure.low, number(figure), figure.high


def left_at(stay: Stay) -> datetime:
    """Return when a stay with an end is over."""
    if stay.end is None:
        raise ValueError("no end")
    return stay.end.end


def came_at(mob: MobState) -> datetime:
    """Return since when a mob stands where it stands."""
    if mob.since is None:
        raise ValueError("not known")
    return mob.since.start


# ---------------------------------------------------------------- a plain judge


def _growth(found: Scene, s: int, p: int, t: int, left: float) -> float:
    """Return growth less loss of a day on a mass, from the equation as the forage reference prints it."""
    herbage = found.herbage
    typed = herbage.ahead.typed_kg_ha_d[t, p]
    if not np.isnan(typed):
        return max(float(typed), -left)
    leaf, curve = herbage.leaf, herbage.land.curve[p]
    total = 0.0
    for g, share in enumerate(herbage.land.share[p]):
        room = 1 - (left * leaf.per_ceiling[g]) ** 2
        if share > 0 and room > 0:
            caught = 1 - np.exp(-leaf.leaf_per_kg[g] * max(left, leaf.leaf_from_kg_ha))
            total += share * herbage.ahead.potential_kg_ha_d[curve, s, t, g] * caught * room
    lost = herbage.ahead.loss_per_d[curve, s, t] * max(0.0, left - leaf.loss_from_kg_ha)
    return float(herbage.fertility[s, p] * total - lost)


def visits_in(row: list[int]) -> list[tuple[int, int, int]]:
    """Return place, first day and end of every visit."""
    out: list[tuple[int, int, int]] = []
    for t, place in enumerate(row):
        if out and out[-1][0] == place:
            out[-1] = (place, out[-1][1], t + 1)
        else:
            out.append((place, t, t + 1))
    return out


def plain_cost(found: Scene, plan: np.ndarray, member: int) -> float:
    """Return the cost of a plan for one member, day by day in plain Python. [USD]"""
    yard, days = len(found.paddocks), plan.shape[1]
    needs = [number(demand(m.lines)) for m in found.mobs]
    usd = {k: tables.row("stays", *k).middle() for k in (
        ("hay_cost", "fed instead of grass"), ("yard_cost", "a mob off grass"), ("move_cost", "any arrival"),
        ("cover_cost", "cover short at the end"))}  # fmt: skip
    hay, yard_day, move, cover = usd.values()
    told = faces(found)
    starts = [found.paddocks.index(m.place) for m in found.mobs]
    been = [(found.now.date() - came_at(m).date()).days for m in found.mobs]
    visits = [visits_in(list(row)) for row in plan]
    cost = 0.0
    here: dict[tuple[int, int], tuple[int, float]] = {}  # (paddock, day) -> mob, share eaten
    for m, own in enumerate(visits):
        for place, a, b in own:
            arrives = a > 0 or place != starts[m]
            cost += move * arrives
            cost += move * sum(_job_place(found, m, t) not in (None, place) for t in range(a, b))
            if place == yard:
                here_d = [t for t in range(a, b) if not _gone(found, m, t)]
                cost += sum(needs[m] * hay + (0 if _housed(found, m, t) else yard_day) for t in here_d)
                continue
            stood = b - a + (0 if arrives else been[m])
            sward = found.herbage.numbers[found.herbage.index(found.paddocks[place])]
            for t in (t for t in range(a, b) if not _gone(found, m, t)):
                here[place, t] = (m, number(share_eaten(sward, stood)))
            cost += _calendar_cost(found, told, visits, m, place, a, b, stood, arrives)
    cost += yard_day * sum(_skipped(found, plan, m) for m in range(len(found.mobs)))
    for p in range(yard):
        i = found.herbage.index(found.paddocks[p])
        area, floor = found.herbage.land.area_ha[i], found.herbage.land.floor_kg_ha[i]
        mass = float(found.herbage.mass_kg_ha[member, i])
        for t in range(days):
            left = mass
            if (p, t) in here:
                m, share = here[p, t]
                arrives = (p, t - 1) not in here and not (t == 0 and starts[m] == p)
                arrives |= (p, t - 1) in here and here[p, t - 1][0] != m
                eaten = min(needs[m], max(0.0, mass - floor) * area * share)
                left = mass - eaten / share / area
                cost += (needs[m] - eaten) * hay
                for face in told:
                    comes = arrives and not _leader(found, m) and not _works(found, m, p)
                    if face.enter_kg_ha is not None and comes:
                        cost += max(0.0, face.enter_kg_ha[m, p] - mass) * area * face.early_usd_kg
                    if face.leave_kg_ha is not None:
                        cost += max(0.0, face.leave_kg_ha[m, p] - left) * area * face.below_usd_kg
            left = min(left, _cut_to(found, p, t))
            mass = left + _growth(found, member, i, t, left)
        wanted = max(float(f.enter_kg_ha[:, p].max()) for f in told if f.enter_kg_ha is not None)
        cost += max(0.0, wanted - mass) * area * cover
    return cost


def _skipped(found: Scene, plan: np.ndarray, m: int) -> int:
    """Return how many paddocks that its leader left a follower never came to, at once up to 4 d after."""
    lead = _leader(found, m)
    if lead is None:
        return 0
    days, own = plan.shape[1], found.mobs[m]
    row, of = list(plan[m]), list(plan[found.mobs.index(lead)])
    left = {(p, float(t)) for t, p in enumerate(of[:-1], start=1) if of[t] != p}
    sooner = _sooner(found)
    for p, name in enumerate(found.paddocks):
        past = {mob: [s.end.end for s in found.state.stays if s.mob == mob and s.end and s.place == name]
                for mob in (lead.id, own.id)}  # fmt: skip
        gone = [(end - found.now) / DAY for end in past[lead.id]] + [0.0] * (lead.place == name != YARD)
        came = [(end - found.now) / DAY for end in past[own.id]] + [0.0] * (own.place == name)
        stands = lead.place == name and of[0] == p
        if gone and not stands and own.place != name and not (came and max(came) > max(gone)):
            left.add((p, max(gone) + sooner))
    return sum(_skips(found, m, row, p, t, days) for p, t in left if p < len(found.paddocks))


def _sooner(found: Scene) -> float:
    """Return by how much moves of later days come before the time of day of now, as hard stays ask. [d]"""
    if not any(face.stay_is_hard for face in faces(found) if face.longest_stay_d is not None):
        return 0.0
    clock = [found.now, *(came_at(m).astimezone(found.zone) for m in found.mobs)]
    now, *since = [(t - t.replace(hour=0, minute=0, second=0, microsecond=0)) / DAY for t in clock]
    return max([now - s for s in since if s < now], default=0.0)


def _skips(found: Scene, m: int, row: list[int], p: int, left: float, days: int) -> bool:
    first, last = max(int(np.ceil(left - 1e-9)), 0), int(np.floor(left + 4 + 1e-9))
    if last < 0 or last >= days or (left > 0 and row[int(left) - 1] == p):
        return False
    window = range(first, last + 1)
    late = found.now.hour > 0

    def free(t: int) -> bool:
        shut = any(_shut(found.farm, found.state, found.mobs[m].id, found.paddocks[p], d)
                   for d in found.days[t : t + 1 + late])  # fmt: skip
        return _may_move(found, t) and not shut and not _gone(found, m, t) and not _housed(found, m, t)

    return not any(row[t] == p for t in window) and any(free(t) for t in window)


def _gone(found: Scene, m: int, t: int) -> bool:
    due = found.mobs[m].due
    return due is not None and due > found.days[0] and found.days[t] >= due


def _housed(found: Scene, m: int, t: int) -> bool:
    """Return whether a day lies outside every season on grass; who is out is out before one begins.

    Nobody of these farms was taken in since a season ended: who is out after one is to come in.
    """
    year_ago = found.days[0] - timedelta(days=365)
    seasons = [p for p in found.farm.promises if p.kind == "grazing" and p.to_day > year_ago]
    day, over = found.days[t], any(p.to_day <= found.days[0] for p in seasons)
    inside = any(p.from_day <= day < p.to_day for p in seasons)
    ahead = [p for p in seasons if p.to_day > found.days[0]]
    early = found.mobs[m].place != YARD and not over and all(day < p.from_day for p in ahead)
    return bool(seasons) and not inside and not early


def _works(found: Scene, m: int, p: int) -> bool:
    """Return whether a mob has a job in a paddock on any day of the plan: it waits for no height there."""
    last = found.days[-1]
    own = [j for j in found.farm.jobs if j.mob == found.mobs[m].id and j.paddock == found.paddocks[p]]
    return any((j.from_day is None or j.from_day <= last) and (j.to_day is None or j.to_day > found.days[0])
               for j in own)  # fmt: skip


def _leader(found: Scene, m: int) -> MobState | None:
    own = found.farm.mob(found.mobs[m].id)
    return next((x for x in found.mobs if own is not None and x.id == own.follows), None)


def _job_place(found: Scene, m: int, t: int) -> int | None:
    """Return the paddock of the first job of a mob on a day of the plan, if its mob may be there."""
    mob, day = found.mobs[m].id, found.days[t]
    open_ = [j for j in found.farm.jobs if j.mob == mob and (j.from_day is None or j.from_day <= day)
             and (j.to_day is None or day < j.to_day)]  # fmt: skip
    if not open_ or _gone(found, m, t) or _housed(found, m, t):
        return None
    if found.mobs[m].place == open_[0].paddock and any(
        b.moment is not None
        and b.hardness != "question"
        and b.moment.likely <= found.now
        and (b.hardness == "hard" or b.limit not in ("worms", "regrowth"))
        for b in bites(found, mob, open_[0].paddock)
    ):
        return None
    late = found.now.hour > 0
    kept_out = any(
        _shut(found.farm, found.state, mob, open_[0].paddock, d) for d in found.days[t : t + 1 + late]
    )
    return None if kept_out else found.paddocks.index(open_[0].paddock)


def _cut_to(found: Scene, p: int, t: int) -> float:
    """Return what hay that is cut on a day leaves: 4 in of the sward, or all of it. [kg/ha]"""
    cut = any(x.kind == "hay" and found.paddocks[p] in x.paddocks and x.to_day - DAY == found.days[t]
              for x in found.farm.promises)  # fmt: skip
    sward = found.herbage.numbers[found.herbage.index(found.paddocks[p])]
    return 4 * 2.54 * number(sward.mass_per_height) if cut else np.inf


def _calendar_cost(
    found: Scene, told: tuple[Face, ...], visits: list[list[tuple[int, int, int]]], m: int, place: int,
    a: int, b: int, stood: int, arrives: bool,
) -> float:  # fmt: skip
    """Return what over stay and short rest cost for one visit."""
    cost = 0.0
    for face in told:
        if face.longest_stay_d is not None:
            cost += min(max(stood - face.longest_stay_d[m, place], 0.0), b - a) * face.over_stay_usd_d
        if not arrives or face.rest_d is None:
            continue
        short = 0.0 if face.fit_from_d is None else face.fit_from_d[m, place] - a
        for i, mob in enumerate(found.mobs):
            left = [float(end) for where, _, end in visits[i] if where == place and end <= a]
            left += [0.0] if mob.place == found.paddocks[place] and visits[i][0][0] != place else []
            past = [s.end.end for s in found.state.stays
                    if s.mob == mob.id and s.end and s.place == found.paddocks[place]]  # fmt: skip
            left += [(end - found.now) / DAY for end in past]
            if left:
                short = max(short, face.rest_d[i, m] - (a - max(left)))
        cost += max(short, 0.0) * face.short_rest_usd_d
    return cost


# ---------------------------------------------------------------- a plain checker


def where(season: Season, mob: str, instant: datetime) -> list[str]:
    """Return every place a plan has a mob in at an instant."""
    return [s.stay.place for s in season.of(mob) if s.stay.begin.start <= instant < left_at(s.stay)]


def first_movable(found: Scene) -> int:
    """Return the first day of the plan on which animals can be moved."""
    return next((k for k in range(len(found.days)) if _may_move(found, k)), len(found.days))


def _may_move(found: Scene, k: int) -> bool:
    day = found.days[k]
    away = [p for p in found.farm.promises if p.kind in ("away", "term") and p.from_day <= day < p.to_day]
    return day.isoweekday() not in found.farm.rules.no_move_weekdays and not away


def _shut(home: Farm, state: State, mob: str, paddock: str, day: date) -> bool:
    for shut in state.shut:
        if shut.paddock == paddock and (shut.until_day is None or day < shut.until_day):
            return True
    return any(
        p.hard and paddock in p.paddocks and (not p.mobs or mob in p.mobs) and p.from_day <= day < p.to_day
        for p in home.promises
    )


def broken(found: Scene, season: Season) -> list[str]:
    """Return every hard rule that a plan breaks, hour by hour and stay by stay, in words."""
    out = []
    excused = found.now + first_movable(found) * DAY
    hours = [found.now + timedelta(hours=h) for h in range(0, 24 * (len(found.days) - 1), 3)]
    for instant in hours:
        places = {m.id: where(season, m.id, instant) for m in found.mobs}
        out += [f"{mob} in {found_in} at {instant}" for mob, found_in in places.items() if len(found_in) != 1]
        pairs = combinations(places, 2)
        shared = [(a, b) for a, b in pairs if set(places[a]) & set(places[b]) - {YARD, AWAY}]
        out += [f"{a} and {b} in one paddock at {instant}" for a, b in shared if not _friends(found, a, b)]
        for mob in found.mobs:
            for p in places[mob.id]:
                stuck = instant < excused and p == mob.place
                day = instant.astimezone(found.zone).date()
                m = [x.id for x in found.mobs].index(mob.id)
                t = (day - found.days[0]).days - (instant.time() < found.now.time())
                off = t < len(found.days) and (_gone(found, m, max(t, 0)) or _housed(found, m, max(t, 0)))
                if p not in (YARD, AWAY) and not stuck and off:
                    out.append(f"{mob.id} in {p} on {day}, gone or housed")
                if p not in (YARD, AWAY) and not stuck and _shut(found.farm, found.state, mob.id, p, day):
                    out.append(f"{mob.id} in shut {p} on {day}")
    for mob in found.mobs:
        for s in season.of(mob.id)[1:]:
            if s.stay.place == AWAY:
                continue
            k = (s.stay.begin.start.astimezone(found.zone).date() - found.days[0]).days
            out += [] if _may_move(found, k) else [f"{mob.id} moved on {found.days[k]}"]
        out += _worms(found, season, mob, excused) if found.farm.rules.worms_hard else []
        out += _ahead_of_leader(found, season, mob)
    return out + on_lying_hay(found, season)


def on_lying_hay(found: Scene, season: Season) -> list[str]:
    """Return who stands on a paddock from the day on which the plan cuts it until its hay is off.

    Who leaves on the day of the cut or comes on the day on which the hay is off stands there on neither.
    """
    days_d = found.farm.rules.hay_days
    if days_d is None:
        return [f"{cut.paddock} cut, and nobody said for how long hay lies" for cut in season.cuts]
    out = []
    for cut in season.cuts:
        off = cut.day + int(np.ceil(days_d.to("d"))) * DAY
        for stay in (s.stay for s in season.stays if s.stay.place == cut.paddock):
            begin, end = (at.astimezone(found.zone).date() for at in (stay.begin.start, left_at(stay)))
            if begin < off and end > cut.day:
                out.append(f"{stay.mob} in {cut.paddock} from {begin} to {end}, cut on {cut.day}")
    return out


def _friends(found: Scene, a: str, b: str) -> bool:
    one, two = found.farm.mob(a), found.farm.mob(b)
    return (one is not None and b in one.runs_with) or (two is not None and a in two.runs_with)


def _ahead_of_leader(found: Scene, season: Season, mob: MobState) -> list[str]:
    """Return the stays that a follower begins where its leader has not been in the days just before."""
    own = found.farm.mob(mob.id)
    lead = found.state.mob(own.follows) if own and own.follows else None
    if own is None or lead is None or lead not in found.mobs:
        return []
    soon = own.follows_after.to("d") * DAY if own.follows_after else 0 * DAY
    late = own.follows_within.to("d") * DAY if own.follows_within else soon + 4 * DAY
    out = []
    for s in (x.stay for x in season.of(mob.id)):
        begin = s.begin.start
        if s.place in (YARD, AWAY) or (s.place == mob.place and s.begin == mob.since):
            continue
        stays = [x for x in found.state.stays if x.mob == lead.id and x.end is not None]
        stays += [x.stay for x in season.of(lead.id)]
        ends = [left_at(x) for x in stays if x.place == s.place and left_at(x) <= begin]
        ends += [found.now] if lead.place == s.place and season.of(lead.id)[0].stay.place != s.place else []
        with_it = s.place in where(season, lead.id, begin) and _friends(found, mob.id, lead.id)
        if not with_it and not any(soon <= begin - end <= late for end in sorted(ends)[-1:]):
            out.append(f"{mob.id} in {s.place} at {begin} without {lead.id} before")
    return out


def _worms(found: Scene, season: Season, mob: MobState, excused: datetime) -> list[str]:
    """Return breaches of the hard worm rule of sheep: 4 days in, 35 days out."""
    if not any(line.kind in ("sheep", "goat") for line in mob.lines):
        return []
    out = []
    done = [s for s in found.state.stays if s.mob == mob.id and s.end is not None]
    stays = [s.stay for s in season.of(mob.id) if s.stay.place not in (YARD, AWAY)]
    present = found.state.mob(mob.id)
    for i, stay in enumerate(stays):
        if left_at(stay) - stay.begin.start > WORM_STAY_D * DAY and left_at(stay) > max(excused, found.now):
            out.append(f"{mob.id} over four days in {stay.place} from {stay.begin.start}")
        earlier = [left_at(s) for s in (*done, *stays[:i]) if s.place == stay.place]
        if i == 0 and present and present.since == stay.begin and present.place == stay.place:
            continue
        if present and present.place == stay.place:
            earlier.append(found.now)
        if earlier and stay.begin.start - max(earlier) < WORM_REST_D * DAY and stay.begin.start >= found.now:
            out.append(f"{mob.id} back in {stay.place} after {stay.begin.start - max(earlier)}")
    return out


def with_rules(found: Scene, **rules: object) -> Scene:
    """Return the same scene under other rules."""
    home = replace(found.farm, rules=replace(found.farm.rules, **rules))  # type: ignore[arg-type]
    return replace(found, farm=home, memo={})
