"""The season as a drawing: grass ahead, strings of beads, promises, on one axis of days.

Black on white, told by fill and dash and never by colour. Words are data of the chart.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from browseline.papers.season import BeadLine, SeasonSheet, by_firmness
from browseline.words import day_words, say

WIDE_PT = 640.0
SIGN_PT = 6.6
FONT = "Libertinus Serif"
SIZE_PT = 12
MARGIN_NAME = 4
AHEAD_PT = 140.0
STRING_PT = 44.0
LANE_PT = 25.0
TALL_PT = 420.0
LEAST_LANES = 3
LEAST_TOP_D = 5.0
ROOM = 1.6
DASH = {"firm": [1, 0], "likely": [7, 4], "outline": [2, 4]}


def season_svg(sheet: SeasonSheet) -> str:
    """Return the chart of the season sheet as SVG; every fact in it stands in the table too."""
    import vl_convert

    return str(vl_convert.vegalite_to_svg(season_spec(sheet)))


def season_spec(sheet: SeasonSheet) -> dict[str, Any]:
    """Return the chart of the season sheet as a Vega-Lite specification."""
    import altair as alt

    panels = [_ahead(alt, sheet), _strings(alt, sheet)]
    if sheet.promises:
        panels.append(_promises(alt, sheet))
    chart = alt.vconcat(*panels, spacing=14).configure(font=FONT, padding=0)
    chart = chart.configure_view(stroke=None).configure_axis(
        labelFontSize=SIZE_PT, titleFontSize=SIZE_PT, titleFontWeight="normal", labelColor="black",
        titleColor="black", domainColor="black", tickColor="black", gridColor="#bbbbbb", labelLimit=110,
    )  # fmt: skip
    found: dict[str, Any] = chart.to_dict()
    return found


def _stamp(at: datetime | date) -> str:
    """Return an instant of the farm's clock as the chart takes it: no zone of the machine comes in."""
    return f"{at:%Y-%m-%dT%H:%M}:00Z" if isinstance(at, datetime) else f"{at:%Y-%m-%d}T00:00:00Z"


def _x(alt: Any, sheet: SeasonSheet, field: str = "begin") -> Any:
    ends = [_stamp(sheet.first), _stamp(sheet.last + timedelta(days=1))]
    return alt.X(f"{field}:T", scale=alt.Scale(type="utc", domain=ends, nice=False), axis=None)


def _weeks(alt: Any, sheet: SeasonSheet, labels: bool) -> list[Any]:
    """Return a thin line at each Monday, with its day in words above, and a thick one now."""
    days = [sheet.first + timedelta(days=n) for n in range((sheet.last - sheet.first).days + 1)]
    step = 1 if len(days) <= 84 else 2
    mondays = [d for d in days if d.isoweekday() == 1][::step]
    values = [{"begin": _stamp(d), "word": day_words(d)} for d in mondays]
    now = alt.Data(values=[{"begin": _stamp(sheet.now)}])
    lines = alt.Chart(alt.Data(values=values)).encode(x=_x(alt, sheet))
    out = [
        lines.mark_rule(color="black", strokeWidth=0.4, strokeDash=[1, 3]),
        alt.Chart(now).mark_rule(color="black", strokeWidth=2).encode(x=_x(alt, sheet)),
    ]
    if labels:
        words = lines.mark_text(fontSize=SIZE_PT, align="left", dx=2, baseline="bottom", color="black")
        out.append(words.encode(text="word:N", y=alt.value(-4)))
        today = alt.Chart(now).mark_text(
            fontSize=SIZE_PT, fontWeight="bold", baseline="top", color="black", align="left", dx=4
        )
        out.append(today.encode(x=_x(alt, sheet), y=alt.value(2), text=alt.value(say("papers.season.now"))))
    return out


def _ahead(alt: Any, sheet: SeasonSheet) -> Any:
    """Return the panel of grass ahead: dots measured, a band from no growth to as now."""
    tall = AHEAD_PT
    values = [
        {
            "begin": _stamp(a.day),
            "still": a.still_d,
            "growing": a.still_d if a.growing_d is None else a.growing_d,
        }
        for a in sheet.ahead
        if a.day <= sheet.last
    ]
    dots = [{"begin": _stamp(day), "still": d} for day, d in sheet.measured if day >= sheet.first]
    top = _top(sheet)
    y = alt.Y(
        "still:Q",
        scale=alt.Scale(domain=[0, top], nice=False),
        axis=alt.Axis(title=say("papers.season.ahead"), tickCount=4),
    )
    band = alt.Chart(alt.Data(values=values)).encode(x=_x(alt, sheet))
    layers = [
        band.mark_area(color="#dddddd", clip=True).encode(y=y, y2="growing:Q"),
        band.mark_line(color="black", strokeWidth=2).encode(y=y),
        band.mark_line(color="black", strokeWidth=1.2, strokeDash=[6, 3], clip=True).encode(
            y=alt.Y("growing:Q")
        ),
        alt.Chart(alt.Data(values=dots))
        .mark_point(shape="circle", filled=True, size=50, color="black", opacity=1)
        .encode(x=_x(alt, sheet), y=y),
    ]
    return alt.layer(*_weeks(alt, sheet, True), *layers).properties(width=WIDE_PT, height=tall)


def _top(sheet: SeasonSheet) -> float:
    """Return where the axis of grass ahead ends: growth that keeps up may leave it. [d]"""
    still = [a.still_d for a in sheet.ahead] + [d for _, d in sheet.measured]
    growing = [a.growing_d for a in sheet.ahead if a.growing_d is not None]
    return max(LEAST_TOP_D, *still, min(max([0.0, *growing]), ROOM * max([0.0, *still])))


def _strings(alt: Any, sheet: SeasonSheet) -> Any:
    """Return the panel of strings: full where it happened, open where planned, dashed where less firm."""
    lines = [bead for string in sheet.strings for bead in by_firmness(string.beads, sheet.now)]
    day_pt = WIDE_PT / ((sheet.last - sheet.first).days + 1)
    values = [_bead(bead, day_pt) for bead in lines]
    order = [string.mob for string in sheet.strings]
    y = alt.Y(
        "mob:N",
        sort=order,
        scale=alt.Scale(domain=order),
        axis=alt.Axis(title=None, ticks=False, domain=False),
    )
    layers = []
    for state in ("done", "firm", "likely", "outline"):
        own = [v for v in values if v["state"] == state]
        done = state == "done"
        bars = alt.Chart(alt.Data(values=own)).mark_bar(
            size=26, cornerRadius=11, fill="black" if done else "white",
            stroke="white" if done else "black",
            strokeWidth=0.8 if done else 1.6, strokeDash=DASH.get(state, [1, 0]),
        )  # fmt: skip
        words = alt.Chart(alt.Data(values=own)).mark_text(
            fontSize=SIZE_PT + 1, fontWeight="bold", color="white" if done else "black"
        )
        layers.append(bars.encode(x=_x(alt, sheet), x2="end:T", y=y))
        layers.append(words.encode(x=_x(alt, sheet, "middle"), y=y, text="label:N"))
    tall = STRING_PT * max(len(order), 1)
    return alt.layer(*_weeks(alt, sheet, False), *layers).properties(width=WIDE_PT, height=tall)


def _bead(bead: BeadLine, day_pt: float) -> dict[str, str]:
    wide = (bead.end - bead.begin) / timedelta(days=1) * day_pt
    fits = [t for t in (bead.place, bead.short) if len(t) * SIGN_PT + MARGIN_NAME <= wide]
    return {
        "mob": bead.mob, "state": bead.state, "begin": _stamp(bead.begin), "end": _stamp(bead.end),
        "middle": _stamp(bead.begin + (bead.end - bead.begin) / 2), "label": fits[0] if fits else "",
    }  # fmt: skip


def _promises(alt: Any, sheet: SeasonSheet) -> Any:
    """Return the lane of promises: a bar a promise, a mark a shut date, each with its words."""
    fits = max(int((TALL_PT - AHEAD_PT - STRING_PT * len(sheet.strings)) / LANE_PT), LEAST_LANES)
    values = [
        {
            "row": str(n), "what": p.what, "begin": _stamp(max(p.first, sheet.first)),
            "end": _stamp(min(p.last or p.first + timedelta(days=1), sheet.last + timedelta(days=1))),
        }
        for n, p in enumerate(sheet.promises[:fits])
    ]  # fmt: skip
    late = sheet.first + (sheet.last - sheet.first) * 0.6
    y = alt.Y("row:N", sort=None, axis=None)
    tall = LANE_PT * len(values)
    layers = [
        alt.Chart(alt.Data(values=values))
        .mark_bar(size=7, color="black", yOffset=6)
        .encode(x=_x(alt, sheet), x2="end:T", y=y)
    ]
    for align, own in (
        ("left", [v for v in values if v["begin"] <= _stamp(late)]),
        ("right", [v for v in values if v["begin"] > _stamp(late)]),
    ):
        beside = 3 if align == "left" else -3
        words = alt.Chart(alt.Data(values=own)).mark_text(fontSize=SIZE_PT, align=align, dy=-5, dx=beside)
        end = "begin" if align == "left" else "end"
        layers.append(words.encode(x=_x(alt, sheet, end), y=y, text="what:N"))
    return alt.layer(*_weeks(alt, sheet, False), *layers).properties(width=WIDE_PT, height=tall)
