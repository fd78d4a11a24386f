"""Heat: the class of temperature and humidity of the coming days for each kind, and shade.

The mildest class of a kind is an alert, met on many a summer day; the limit bites from the next one.
The index ignores sun and wind. Humidity is made from the day's lowest temperature, which stands in
for the dew point. Where shade is typed, or trees of the map throw it in the hot hours, heat counts from one
class later (a guess, and said).
"""

from __future__ import annotations

from datetime import datetime, timedelta
from fractions import Fraction
from functools import partial

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.farm.herd_words import animals_words
from browseline.farm.needs import demand
from browseline.figures import Figure, Origin, typed
from browseline.limits._prices import price_usd
from browseline.limits.form import Bite, Face, Late, Limit, Moment, Scene
from browseline.record.state import HeadLine, MobState
from browseline.tables import Row
from browseline.units import convert
from browseline.words import day_words, linked, say

Array = NDArray[np.float64]
SUM = "air F plus RH %"
AIR = "air temperature"
AHEAD_D = 7
BITES_FROM = 1
LEAST_SHADE = 0.01
THROWN = (Origin("derived_here", "trees.md section 3, 3 for crowns grown by the tables", "derived"),)
NOON = timedelta(hours=12)


def classes(line: HeadLine) -> tuple[Row, ...]:
    """Return the heat classes of some animals, mildest first: of their class, else of their kind."""
    words = line.klass.split()
    special = [f"{line.kind}, {w}" for w in ("dairy", "layer") if w in words and "heifer" not in words]
    for name in (*special, line.kind):
        found = _of(name)
        if found:
            return found
    return ()


def _of(name: str) -> tuple[Row, ...]:
    known = (a for a in tables.applies("heat", "heat_from") if a.partition("; ")[0] == name)
    rows = [tables.row("heat", "heat_from", a) for a in known]
    return tuple(sorted(rows, key=lambda r: r.middle()))


def _measure(row: Row) -> str:
    """Return which index a row is in: THI, air temperature, or the sum used for horses."""
    return row.note.partition(";")[0]


def _level(row: Row) -> str:
    return row.applies_to.partition("; ")[2]


def _index(scene: Scene, which: str) -> Array | None:
    """Return an index in the hottest hour of the coming days, shape (member, day); None without weather."""
    return scene.once(("heat", which), lambda: _make_index(scene, which, AHEAD_D))


def _make_index(scene: Scene, which: str, days: int) -> Array | None:
    weather = scene.weather
    if weather is None:
        return None
    from browseline.science.heat import humidity_pct, thi

    first = int(np.searchsorted(weather.days, np.datetime64(scene.days[0])))
    span = slice(first, first + days)
    hot, low = weather.tmax_c[:, span], weather.tmin_c[:, span]
    if which == AIR:
        return hot
    humid = humidity_pct(hot, low)
    return _fahrenheit(hot) + humid if which == SUM else thi(hot, humid)


def _fahrenheit(temp_c: Array) -> Array:
    """Return temperatures in F, by the only place that holds the factor."""
    freezing, boiling = (float(convert(Fraction(c), "C", "F")) for c in (0, 100))
    return freezing + temp_c * (boiling - freezing) / 100


def shade(scene: Scene, paddock: str) -> Figure | None:
    """Return the shade of a paddock: the typed crown cover, else what trees of the map throw. [1]

    None where neither is known. Of trees of the map it is the ground in the shadow of a crown in the hot
    hours; less than a hundredth counts as none.
    """
    found = scene.paddock(paddock)
    if found is None:
        return None
    if found.cover is not None:
        return typed("cover", found.cover.to("1"), "1", found.cover.text, about=paddock)
    at = scene.trees.at(found) if scene.trees is not None else None
    if scene.trees is None or at is None:
        return None
    share = float(scene.trees.heat_frac[at])
    return Figure("heat_shade", share if share >= LEAST_SHADE else 0.0, "1", origins=THROWN, about=paddock)


def _bites(scene: Scene, mob: MobState, paddock: str) -> list[Bite]:
    """Return the first hot day of the kind that feels it soonest; nothing where no weather is known."""
    found = []
    for line in mob.lines:
        rows = classes(line) if line.head > 0 else ()
        index = _index(scene, _measure(rows[0])) if rows else None
        if index is None:
            continue
        cover = shade(scene, paddock)
        row = rows[min(BITES_FROM + _later(cover), len(rows) - 1)]
        moment = _first_day(scene, index, row.middle())
        if moment is not None:
            found.append((moment, line.kind, row, index, cover))
    if not found:
        return []
    moment, kind, row, index, cover = min(found, key=lambda f: (f[0].likely, f[1]))
    return [_bite(scene, mob, paddock, moment, kind, row, index, cover)]


def _later(cover: Figure | None) -> int:
    """Return how many classes later heat counts: some where shade is typed, none elsewhere."""
    if cover is None or not cover.value:
        return 0
    return round(tables.row("heat", "shade_classes", "any kind").middle())


def _first_day(scene: Scene, index: Array, limit: float) -> Moment | None:
    """Return noon of the first day at or above a limit; None if fewer than half of members have one."""
    hot = index >= limit
    days = np.where(hot.any(axis=1), np.argmax(hot, axis=1), np.inf).astype(float)
    start: datetime = scene.midnight(scene.days[0]) + NOON
    return Moment.after(start, days)


def _bite(
    scene: Scene, mob: MobState, paddock: str, moment: Moment, kind: str, row: Row, index: Array,
    cover: Figure | None,
) -> Bite:  # fmt: skip
    day = (scene.local(moment.likely).date() - scene.days[0]).days
    low, middle, high = (
        float(x) for x in np.quantile(index[:, min(day, index.shape[1] - 1)], (0.1, 0.5, 0.9))
    )
    unit = "C" if _measure(row) == AIR else "1"
    book = row.figure("heat_from", kind)
    shadow = [cover] if cover is not None else []
    if _later(cover):
        shadow.append(tables.row("heat", "shade_classes", "any kind").figure("shade_classes", paddock))
    figure = Figure("heat_index", middle, unit, low, high, parts=(book,), about=kind)
    told = {
        "kind": animals_words(kind),
        "low": f"{low:.0f}",
        "high": f"{high:.0f}",
        "level": _level(row),
        "limit": f"{row.middle():g}",
        "day": day_words(scene.local(moment.likely).date()),
        "shade": _told(cover),
    }
    measure = {AIR: "air", SUM: "sum"}.get(_measure(row), "thi")
    because = say(f"limits.heat.{measure}", **told)
    key = _key(cover)
    late = tuple(Late(n, risk=say("limits.heat.late", count=n)) for n in (1, 2, 3))
    return Bite(
        "heat", mob.id, paddock, moment, "soft", f"{because} {say(f'limits.heat.{key}', **told)}",
        say("limits.heat.do"), (figure, *shadow), late, moment.likely, say("limits.heat.short", **told),
        reserve=("B",),
    )  # fmt: skip


def _told(cover: Figure | None) -> str:
    """Return shade in words: as typed, else in percent."""
    if cover is None:
        return ""
    return cover.typed or linked(f"{100 * (cover.value or 0.0):.0f} %", cover)


def _key(cover: Figure | None) -> str:
    """Return which sentence tells of the shade."""
    if cover is None:
        return "shade_not_known"
    thrown = not cover.typed
    if _later(cover):
        return "shaded_by_trees" if thrown else "shaded"
    return "no_shade_yet" if thrown else "open"


def _rows(kind: str) -> tuple[Row, ...]:
    """Return the classes of a kind, and the guess of what shade does to them."""
    names = [a for a in tables.applies("heat", "heat_from") if a.partition("; ")[0].split(",")[0] == kind]
    own = tuple(tables.row("heat", "heat_from", a) for a in names)
    return (*own, tables.row("heat", "shade_classes", "any kind")) if own else ()


def _eases(scene: Scene, _mob: MobState) -> tuple[str, ...]:
    """Return the paddocks with typed shade: heat counts later there."""
    return tuple(p for p in scene.paddocks if _later(shade(scene, p)))


# ---------------------------------------------------------------- the planner


def _face(scene: Scene) -> Face:
    """Return what a hot day costs each mob in each paddock: its price by the share of members that have one.

    Where shade is known heat counts later, as it does for a person. The last days of the plan may have no
    weather: they cost nothing.
    """
    dear = np.zeros((len(scene.mobs), len(scene.days), len(scene.paddocks)))
    likely = np.zeros_like(dear)
    each = price_usd(scene.farm, "heat_day")
    for m, mob in enumerate(scene.mobs):
        usd = each * _livestock_units(mob)
        late = np.array([_later(shade(scene, p)) for p in scene.paddocks])
        for later in np.unique(late) if usd > 0 else ():
            share = _hot_share(scene, mob, int(later))
            dear[m, : len(share), late == later] = usd * share
            likely[m, : len(share), late == later] = share
    return Face(dear_usd_d=dear, dear_share=likely, dear_by_head=True) if dear.any() else Face()


def _livestock_units(mob: MobState) -> float:
    eats = demand(mob.lines)
    return (eats.value or 0.0) / tables.row("stays", "livestock_unit", "any kind").middle() if eats else 0.0


def _hot_share(scene: Scene, mob: MobState, later: int) -> Array:
    """Return the share of members in which a day is hot for any of a mob, shape (day seen,). [1]"""
    out = np.zeros(0)
    for line in mob.lines:
        rows = classes(line) if line.head > 0 else ()
        if rows:
            which = _measure(rows[0])
            days = len(scene.days)
            index = scene.once(("heat", which, days), partial(_make_index, scene, which, days))
            if index is not None:
                hot = (index >= rows[min(BITES_FROM + later, len(rows) - 1)].middle()).mean(axis=0)
                out = np.maximum(out, hot) if len(out) else hot
    return out


LIMIT = Limit("heat", _bites, _face, rows=_rows, eases=_eases)
