"""The years ahead as a drawing: five bands on one axis of years, windows across all, black on white.

Told by dash, thickness and number and never by colour. Words are data of the chart.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from typing import Any

from browseline.chain.decades_page import DecadesPage
from browseline.papers.decades_panels import HALF_YR, Lane, Panel, Strand, lanes_of, panels_of, span_of
from browseline.words import list_words, say

FONT, SIZE_PT, SIGN_PT = "Libertinus Serif", 18, 10.4
AXIS_PT, ROW_PT, LANE_PT, BAR_PT = 72.0, 24.0, 26.0, 10
WIDE_PT, NARROW_PT = 610.0, 259.0
TALL_PT, LOW_PT, GAP_PT = 130.0, 104.0, 10.0
DASHES = ([1, 0], [9, 4], [2, 4], [9, 3, 2, 3], [14, 3], [1, 2])
THICK, THIN, MEASURED = 2.2, 0.9, 4.0
GREY = 0.16
EVERY_YR = 10
SAMPLE_PT = 34
LEAST_LIGHT, FULL_LIGHT = 70.0, 100.0
ROLES = re.compile(r' (?:role|aria-[a-z]+)="[^"<>]*"')
"""What the library says of single marks to screen readers: the whole is one picture, with words beside it."""
Key = tuple[str, list[int], float]


def decades_svg(page: DecadesPage, narrow: bool = False) -> str:
    """Return the chart of the page Decades as SVG; every fact in it stands in tables and sentences too.

    Parameters
    ----------
    narrow : bool
        As a phone shows it: windows by their numbers alone.
    """
    import vl_convert

    return ROLES.sub("", str(vl_convert.vegalite_to_svg(decades_spec(page, narrow))))


def decades_spec(page: DecadesPage, narrow: bool = False) -> dict[str, Any]:
    """Return the chart as a Vega-Lite specification."""
    import altair as alt

    drawn = _Sheet(alt, page, narrow)
    panels = [drawn.panel(panel) for panel in panels_of(page)]
    chart = alt.vconcat(drawn.windows(), *panels, spacing=16).configure(font=FONT, padding=2, aria=False)
    chart = chart.configure_view(stroke=None).configure_axis(
        labelFontSize=SIZE_PT, labelColor="black", domainColor="black", tickColor="black",
        gridColor="#dddddd",
    )  # fmt: skip
    found: dict[str, Any] = chart.to_dict()
    return found


class _Sheet:
    """What every panel of one chart shares: the axis of years, how wide it is, the marks across."""

    def __init__(self, alt: Any, page: DecadesPage, narrow: bool) -> None:
        self.alt, self.page, self.narrow = alt, page, narrow
        self.wide, self.tall = (NARROW_PT, LOW_PT) if narrow else (WIDE_PT, TALL_PT)
        self.first, self.last = span_of(page)

    def x(self, field: str = "year") -> Any:
        """Return the axis of years."""
        tens = [year for year in range(self.first, self.last + 1) if year % EVERY_YR == 0]
        ticks = tens if len(tens) > 1 else [self.first, self.last]
        axis = self.alt.Axis(title=None, format="d", values=ticks, grid=False, labelFlush=True)
        scale = self.alt.Scale(domain=[self.first - HALF_YR, self.last + HALF_YR], nice=False)
        return self.alt.X(f"{field}:Q", scale=scale, axis=axis)

    def chart(self, rows: Sequence[dict[str, Any]]) -> Any:
        """Return a chart of some rows."""
        return self.alt.Chart(self.alt.Data(values=list(rows)))

    def across(self) -> list[Any]:
        """Return what goes through every panel: where measuring ends, and the likely year of each window."""
        likely = sorted({one.likely for one in self.page.windows})
        lines = self.chart([{"year": year} for year in likely])
        measured = self.chart([{"year": self.page.measured_to}])
        return [
            lines.mark_rule(color="black", strokeWidth=0.8, strokeDash=[1, 4]).encode(x=self.x()),
            measured.mark_rule(color="black", strokeWidth=MEASURED).encode(x=self.x()),
        ]

    def windows(self) -> Any:
        """Return the windows above: a bar from first to last, a mark at the likely year, number and name."""
        year_pt = self.wide / (self.last - self.first + 2 * HALF_YR)
        lanes = lanes_of(self.page, year_pt, SIGN_PT, named=not self.narrow)
        rows = max([lane.row for lane in lanes], default=-1) + 1
        tall = LANE_PT * max(rows, 1)
        y = self.alt.Y("y:Q", scale=self.alt.Scale(domain=[tall, 0], nice=False), axis=None)
        values = [self._bar(lane) for lane in lanes]
        bars = self.chart(values).mark_bar(size=BAR_PT, fill="white", stroke="black", strokeWidth=1.4)
        marks = self.chart(values).mark_point(shape="diamond", filled=True, size=90, color="black", opacity=1)
        layers = [*self.across(), bars.encode(x=self.x("begin"), x2="end:Q", y=y),
                  marks.encode(x=self.x("likely"), y=y)]  # fmt: skip
        for after in (True, False):
            own = [value for value in values if value["after"] is after]
            words = self.chart(own).mark_text(
                align="left" if after else "right", dx=6 if after else -6, fontSize=SIZE_PT, color="black",
            )  # fmt: skip
            at = self.x("end" if after else "begin")
            layers.append(words.encode(x=at, y=y, text="label:N"))
        heads = [say("decades.chart.windows"), self._measured()]
        return self._finish(layers, heads[:1], [(heads[1], [1, 0], MEASURED)], tall)

    def _bar(self, lane: Lane) -> dict[str, Any]:
        return {
            "begin": lane.first - HALF_YR, "end": lane.last + HALF_YR, "likely": lane.likely,
            "y": (lane.row + 0.5) * LANE_PT, "label": lane.label, "after": lane.after,
        }  # fmt: skip

    def _measured(self) -> str:
        return say("decades.chart.measured", year=str(self.page.measured_to))

    def panel(self, panel: Panel) -> Any:
        """Return a band: the range of each line in grey, the line, what was foretold before as thin lines."""
        y = self._y(panel)
        layers = [self._range(strand, y) for strand in panel.strands]
        layers += self.across()
        key: list[Key] = []
        for n, strand in enumerate(panel.strands):
            dash = DASHES[n % len(DASHES)]
            layers += [self._line(old[1], old[2], y, [1, 0], THIN) for old in strand.before]
            layers.append(self._line(strand.years, strand.likely, y, dash, THICK))
            key.append((strand.name, dash, THICK))
        made = sorted({old[0] for strand in panel.strands for old in strand.before})
        if made:
            told = say("decades.chart.before", years=list_words([f"{year}" for year in made]))
            key.append((told, [1, 0], THIN))
        return self._finish(layers, [panel.title], key, self.tall)

    def _y(self, panel: Panel) -> Any:
        ends = [value for strand in panel.strands for value in (*strand.low, *strand.high)]
        scale = self.alt.Scale(zero=panel.band != "light", nice=True)
        if panel.band == "light":
            scale = self.alt.Scale(domain=[min(LEAST_LIGHT, *ends), FULL_LIGHT], nice=True)
        said = "format(datum.value, '~s')"
        axis = self.alt.Axis(title=None, tickCount=4, labelExpr=said)
        return self.alt.Y("value:Q", scale=scale, axis=axis)

    def _range(self, strand: Strand, y: Any) -> Any:
        rows = [
            {"year": year, "value": low, "high": high}
            for year, low, high in zip(strand.years, strand.low, strand.high, strict=True)
        ]
        area = self.chart(rows).mark_area(color="black", opacity=GREY, clip=True)
        return area.encode(x=self.x(), y=y, y2="high:Q")

    def _line(
        self, years: Sequence[int], values: Sequence[float], y: Any, dash: list[int], thick: float
    ) -> Any:
        rows = [{"year": year, "value": value} for year, value in zip(years, values, strict=True)]
        line = self.chart(rows).mark_line(color="black", strokeWidth=thick, strokeDash=dash, clip=True)
        return line.encode(x=self.x(), y=y)

    def _finish(self, layers: list[Any], heads: list[str], key: list[Key], tall: float) -> Any:
        """Return a panel with its name and the key of its lines above it."""
        signs = int((self.wide + AXIS_PT - SAMPLE_PT) / SIGN_PT)
        told = [(textwrap.wrap(name, signs), dash, thick) for name, dash, thick in key]
        up = ROW_PT * (len(heads) + sum(len(lines) for lines, _, _ in told)) - ROW_PT / 2 + GAP_PT
        for head in heads:
            layers.append(self._words([head], -AXIS_PT, -up, bold=True))
            up -= ROW_PT
        for lines, dash, thick in told:
            layers.append(self._sample(dash, thick, -up))
            layers.append(self._words(lines, SAMPLE_PT + 8 - AXIS_PT, -up))
            up -= ROW_PT * len(lines)
        return self.alt.layer(*layers).properties(width=self.wide, height=tall)

    def _words(self, lines: list[str], left: float, top: float, bold: bool = False) -> Any:
        mark = self.chart([{"text": lines}]).mark_text(
            align="left", baseline="middle", fontSize=SIZE_PT, lineHeight=ROW_PT, color="black",
            fontWeight="bold" if bold else "normal",
        )  # fmt: skip
        return mark.encode(x=self.alt.value(left), y=self.alt.value(top), text="text:N")

    def _sample(self, dash: list[int], thick: float, top: float) -> Any:
        mark = self.chart([{}]).mark_rule(color="black", strokeWidth=thick, strokeDash=dash)
        ends = (-AXIS_PT, SAMPLE_PT - AXIS_PT)
        return mark.encode(
            x=self.alt.value(ends[0]),
            x2=self.alt.value(ends[1]),
            y=self.alt.value(top),
            y2=self.alt.value(top),
        )
