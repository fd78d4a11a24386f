"""What weather says of larvae: the day-degree date beside the days of the rule, and how wet it has been."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from browseline import tables
from browseline.figures import Figure
from browseline.limits.form import Moment, Scene
from browseline.science import worms
from browseline.words import say

WORM = "barber pole worm"


def infective(scene: Scene, dropped: datetime) -> tuple[Moment, Figure] | None:
    """Return when eggs dropped at an instant can be infective; None where weather is not known that far."""
    return scene.once(("larvae", dropped), lambda: _infective(scene, dropped))


def _infective(scene: Scene, dropped: datetime) -> tuple[Moment, Figure] | None:
    if scene.weather is None:
        return None
    first = np.datetime64(scene.local(dropped).date(), "D")
    ahead = scene.weather.days >= first
    if not ahead.any() or scene.weather.days[ahead][0] != first:
        return None
    mean_c = (scene.weather.tmax_c[:, ahead] + scene.weather.tmin_c[:, ahead]) / 2
    base, heat = (tables.row("worms", key, WORM) for key in ("worm_base", "worm_larva_heat"))
    gone = (dropped - scene.midnight(scene.local(dropped).date())) / timedelta(days=1)
    days = worms.development_d(mean_c, base.middle(), heat.middle(), min(gone, 1.0))
    moment = Moment.after(dropped, days)
    return (moment, _figure(days, base, heat)) if moment is not None else None


def _figure(days: NDArray[np.float64], base: tables.Row, heat: tables.Row) -> Figure:
    low, likely, high = np.quantile(days, (0.1, 0.5, 0.9), method="closest_observation")
    read = tables.row("worms", "worm_degree_days", WORM)
    span = Figure("worm_degree_days", None, read.unit, read.low, read.high, origins=read.figure("x").origins)
    best = [tables.row("worms", key, WORM) for key in ("worm_best_low", "worm_best_high")]
    ends = (best[0].middle(), best[1].middle())
    likes = Figure("worm_best", None, "C", *ends, origins=best[0].figure("x").origins)
    parts = (heat.figure("worm_larva_heat"), base.figure("worm_base"), span, likes)
    formula = f"days until {heat.middle():g} C d above {base.middle():g} C"
    top = float(high) if np.isfinite(high) else None
    return Figure("larvae_days", float(likely), "d", float(low), top, parts=parts, formula=formula)


def wetness(scene: Scene, dropped: datetime) -> tuple[str, Figure] | None:
    """Return rain over drying in the first days after dung fell, in words, once those days are over."""
    window = tables.row("worms", "worm_moisture_window", WORM)
    if scene.weather is None or scene.now < dropped + timedelta(days=window.middle()):
        return None
    first = np.datetime64(scene.local(dropped).date(), "D")
    there = (scene.weather.days >= first) & (
        scene.weather.days < first + np.timedelta64(round(window.middle()), "D")
    )
    if there.sum() < window.middle():
        return None
    ratio = worms.moisture_ratio(scene.weather.rain_mm[:, there], scene.weather.et0_mm[:, there])
    low, likely, high = (float(x) for x in np.quantile(ratio, (0.1, 0.5, 0.9), method="closest_observation"))
    parts = (window.figure("worm_moisture_window"),)
    figure = Figure("worm_moisture", likely, "1", low, high, formula="rain ÷ drying", parts=parts)
    return say("limits.worms.wetness", ratio=f"{likely:.1f}", days=f"{window.middle():g}"), figure


def readings() -> tuple[Figure, ...]:
    """Return every reading of how long ground must rest from worms (conflict K06): short, long, die-off."""
    short = tables.row("worms", "worm_rest", "sheep;goat").figure("worm_rest", "K06")
    long = tables.row("worms", "worm_rest_long", "sheep;goat").figure("worm_rest_long", "K06")
    warm = tables.row("worms", "worm_die_off_warm", "warm region")
    hot, cold = (tables.row("worms", key, WORM) for key in ("worm_die_off_hot", "worm_die_off_cold"))
    origins = (*hot.figure("x").origins, *cold.figure("x").origins)
    cool = Figure("worm_die_off", None, "d", hot.middle(), cold.middle(), origins=origins, about="K06, cool")
    spread = warm.figure("x").origins
    return (
        short,
        long,
        Figure("worm_die_off", None, "d", warm.low, warm.high, origins=spread, about="K06, warm"),
        cool,
    )
