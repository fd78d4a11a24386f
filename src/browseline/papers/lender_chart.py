"""The lender pack's chart: money in hand and coverage by year, black on white, told by dash and band."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from browseline.papers.lender_form import Drawing, Line
from browseline.words import say

WIDE_PT, TOTAL_PT, COVER_PT = 470.0, 150.0, 88.0
FONT, SIZE_PT = "Libertinus Serif", 11
DASH = {"solid": [1, 0], "dashed": [7, 4], "dotted": [2, 3]}
THICK = {"solid": 2.2, "dashed": 1.8, "dotted": 1.8}
BAND = "#d9d9d9"
MOST_TICKS = 8
ENDS = 150.0


def lender_svg(drawing: Drawing) -> str:
    """Return the chart as SVG; every number in it stands in a table of the pack."""
    import vl_convert

    return str(vl_convert.vegalite_to_svg(lender_spec(drawing)))


def lender_spec(drawing: Drawing) -> dict[str, Any]:
    """Return the chart as a Vega-Lite specification."""
    import altair as alt

    panels = [_total(alt, drawing)]
    if any(value is not None for line in drawing.lines for value in line.coverage):
        panels.append(_coverage(alt, drawing))
    chart = alt.vconcat(*panels, spacing=10).configure(font=FONT, padding=2)
    chart = chart.configure_view(stroke=None).configure_axis(
        labelFontSize=SIZE_PT, titleFontSize=SIZE_PT, titleFontWeight="normal", labelColor="black",
        titleColor="black", domainColor="black", tickColor="black", gridColor="#e4e4e4",
    )  # fmt: skip
    found: dict[str, Any] = chart.to_dict()
    return found


def _x(alt: Any, drawing: Drawing, labels: bool) -> Any:
    first, last = drawing.years[0], drawing.years[-1]
    step = max(1, -(-len(drawing.years) // MOST_TICKS))
    axis = alt.Axis(
        title=None, format="d", values=list(range(first, last + 1, step)), labels=labels, grid=False
    )
    return alt.X("year:Q", scale=alt.Scale(domain=[first, last], nice=False), axis=axis)


def _rule(alt: Any, at: float, thick: float, dash: list[int]) -> Any:
    rows = alt.Data(values=[{"at": at}])
    return alt.Chart(rows).mark_rule(color="black", strokeWidth=thick, strokeDash=dash).encode(y="at:Q")


def _total(alt: Any, drawing: Drawing) -> Any:
    """Return the panel of money in hand: a band of the draws, a line a case, its name at its end."""
    axis = alt.Axis(title=say("lender.chart.total", currency=drawing.currency), format="~s", tickCount=6)
    rows = [
        {"year": year, "low": low, "high": high}
        for year, (low, high) in zip(drawing.years, drawing.band, strict=False)
    ]
    layers = []
    if rows:
        band = alt.Chart(alt.Data(values=rows)).mark_area(color=BAND, opacity=1)
        layers.append(band.encode(x=_x(alt, drawing, True), y=alt.Y("low:Q", axis=axis), y2="high:Q"))
    layers.append(_rule(alt, 0.0, 1.6, [1, 0]))
    spots = _apart([line.total[-1] for line in drawing.lines], drawing)
    for line, spot in zip(drawing.lines, spots, strict=True):
        layers += _line(alt, drawing, line, list(line.total), axis, spot)
    return alt.layer(*layers).properties(width=WIDE_PT, height=TOTAL_PT)


def _apart(ends: list[float], drawing: Drawing) -> list[float]:
    """Return where the names at the lines' ends stand so that none covers another. [money]"""
    every = [value for line in drawing.lines for value in line.total]
    every += [value for pair in drawing.band for value in pair]
    least = (max(every) - min(every) or 1.0) * (SIZE_PT + 3) / TOTAL_PT
    spots, order = list(ends), sorted(range(len(ends)), key=ends.__getitem__)
    for before, after in pairwise(order):
        spots[after] = max(spots[after], spots[before] + least)
    return spots


def _line(
    alt: Any,
    drawing: Drawing,
    line: Line,
    values: list[float | None] | list[float],
    axis: Any,
    spot: float | None,
) -> list[Any]:
    """Return a case's line, and its name at its end where it is told."""
    rows = [
        {"year": year, "value": value}
        for year, value in zip(drawing.years, values, strict=True)
        if value is not None
    ]
    base = alt.Chart(alt.Data(values=rows))
    drawn = base.mark_line(color="black", strokeWidth=THICK[line.drawn], strokeDash=DASH[line.drawn])
    made = [drawn.encode(x=_x(alt, drawing, True), y=alt.Y("value:Q", axis=axis))]
    if spot is not None:
        end = alt.Chart(alt.Data(values=[{"year": drawing.years[-1], "value": spot, "name": line.name}]))
        words = end.mark_text(align="left", dx=6, fontSize=SIZE_PT, color="black", limit=ENDS)
        made.append(words.encode(x=_x(alt, drawing, True), y="value:Q", text="name:N"))
    return made


def _coverage(alt: Any, drawing: Drawing) -> Any:
    """Return the panel of coverage: a line a case, and a thin one at what counts as enough."""
    axis = alt.Axis(title=say("lender.chart.coverage"), tickCount=5)
    layers = [_rule(alt, 0.0, 0.8, [1, 0]), _rule(alt, drawing.wanted, 1.0, [4, 2])]
    enough = alt.Chart(alt.Data(values=[{"year": drawing.years[-1], "value": drawing.wanted}]))
    words = enough.mark_text(align="left", dx=6, fontSize=SIZE_PT, color="black")
    text = say("lender.chart.wanted")
    layers.append(words.encode(x=_x(alt, drawing, True), y="value:Q", text=alt.value(text)))
    for line in drawing.lines:
        layers += _line(alt, drawing, line, list(line.coverage), axis, None)
    return alt.layer(*layers).properties(width=WIDE_PT, height=COVER_PT)
