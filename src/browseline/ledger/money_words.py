"""Money, coverage, years and cases in words, each linked to the figure that it stands for."""

from __future__ import annotations

from collections.abc import Sequence

from browseline.figures import Figure
from browseline.units import amount_words
from browseline.words import linked, say

BASE, DOWNSIDE = "base", "downside"


def low_words(figure: Figure) -> str:
    """Return the lower end of a figure of money: one draw in ten is below."""
    return linked(amount_words(figure.low or 0.0, figure.unit), figure)


def high_words(figure: Figure) -> str:
    """Return the upper end of a figure of money: one draw in ten is above."""
    return linked(amount_words(figure.high or 0.0, figure.unit), figure)


def cover_words(coverage: Figure | None) -> str:
    """Return a coverage in words: 1.41, or that nothing is due."""
    if coverage is None or coverage.value is None:
        return say("money.nothing_due")
    return linked(plain_cover(coverage.value), coverage)


def plain_cover(value: float) -> str:
    """Return a coverage with its two digits."""
    sign = "−" if round(value, 2) < 0 else ""
    return f"{sign}{abs(value):.2f}"


def percent_words(figure: Figure, value: float | None = None, digits: int = 1) -> str:
    """Return a share in percent, linked to its figure."""
    share = 100 * ((figure.value if value is None else value) or 0.0)
    sign = "−" if round(share, digits) < 0 else ""
    return linked(f"{sign}{abs(share):.{digits}f} %", figure)


def count_words(figure: Figure) -> str:
    """Return a count, linked to its figure."""
    return linked(f"{figure.value or 0.0:.0f}", figure)


def year_words(year: int, figure: Figure) -> str:
    """Return the number of a year, linked to a figure of that year."""
    return linked(f"{year}", figure)


def dated_words(year: int, calendar: int, figure: Figure) -> str:
    """Return a year of the plan with its calendar year, linked to a figure of it: 4 (2029)."""
    return linked(f"{year} ({calendar})", figure)


def case_words(name: str) -> str:
    """Return what a case is called: as planned, if it goes wrong, or the name of a bad decade as typed."""
    return say(f"money.case.{name}") if name in (BASE, DOWNSIDE) else name


def in_case_words(name: str) -> str:
    """Return a case as the end of a sentence: as planned, if it goes wrong, in “The dry thirties”."""
    return say(f"money.in.{name}") if name in (BASE, DOWNSIDE) else say("money.in.decade", decade=name)


def runs_words(years: Sequence[tuple[int, Figure]]) -> list[str]:
    """Return years as runs, each number linked: 1 to 6, 11."""
    runs: list[list[tuple[int, Figure]]] = []
    for year in years:
        if runs and year[0] == runs[-1][-1][0] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    return [
        year_words(*run[0])
        if len(run) == 1
        else say("money.run", first=year_words(*run[0]), last=year_words(*run[-1]))
        for run in runs
    ]
