"""``weather.csv``: one line a day, named columns with their units, to daily records.

``date,tmax (C),tmin (C),rain (mm)`` are needed; ``radiation``, ``vapour`` and ``wind`` may follow.
Everything that is wrong is told at once. A value that cannot be true is left out, as if it had
not been read.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

from browseline.errors import Finding, Level, finding
from browseline.farm.records import DailyRecords
from browseline.units import NotAQuantity, convert, plain, unit_word

MOST_BYTES = 50_000_000
SHOWN_ALIKE = 5
LONGEST = timedelta(days=366 * 250)
NOT_READ = {"", "-", "--", "m", "na", "n/a", "nan", "null", "none", "missing"}
TRACE = {"t", "tr", "trace"}


@dataclass(frozen=True, slots=True)
class Column:
    """A column that is understood: its names, unit inside, what is possible, units named as help."""

    name: str
    also: tuple[str, ...]
    unit: str
    low: float
    high: float
    units: tuple[str, ...]
    needed: bool = False


COLUMNS = (
    Column(
        "tmax", ("temp max", "max temp", "temperature max", "high"), "C", -60, 60, ("C", "F"), needed=True
    ),
    Column("tmin", ("temp min", "min temp", "temperature min", "low"), "C", -70, 50, ("C", "F"), needed=True),
    Column("rain", ("precipitation", "precip", "rainfall"), "mm", 0, 2000, ("mm", "in", "cm"), needed=True),
    Column("radiation", ("rs", "solar", "solar radiation"), "MJ/m2/d", 0, 50, ("MJ/m2/d",)),
    Column("vapour", ("ea", "vapor", "vapour pressure", "vapor pressure"), "kPa", 0, 8, ("kPa",)),
    Column("wind", ("wind speed", "u2"), "m/s", 0, 60, ("m/s", "km/h", "mph")),
)
DATES = {"date", "day"}
_HEADING = re.compile(r"^\s*(?P<name>[^(\[]*?)\s*(?:[(\[]\s*(?P<unit>[^)\]]*?)\s*[)\]])?\s*$")


@dataclass(frozen=True, slots=True)
class Reader:
    """One column of the file: where it stands, and how its numbers become the unit inside."""

    column: Column
    at: int
    unit: str
    factor: float
    offset: float

    def typed(self, inside: float) -> str:
        """Return a number of the unit inside in the file's own unit."""
        return f"{plain((inside - self.offset) / self.factor)} {self.unit}"


@dataclass(slots=True)
class _Told:
    """Findings by code; of many alike the first are kept and the rest counted."""

    name: str
    found: list[Finding] = field(default_factory=list)
    alike: dict[str, int] = field(default_factory=dict)

    def add(self, code: str, line: int, level: Level = "error", **fields: object) -> None:
        self.alike[code] = self.alike.get(code, 0) + 1
        if self.alike[code] <= SHOWN_ALIKE:
            self.found.append(finding(f"weather_csv.{code}", f"{self.name}:{line}", level=level, **fields))

    def all(self) -> tuple[Finding, ...]:
        more = [
            finding("weather_csv.more", self.name, level="question", lines=count - SHOWN_ALIKE)
            for count in self.alike.values()
            if count > SHOWN_ALIKE
        ]
        return (*self.found, *more)


def read(path: Path) -> tuple[DailyRecords | None, tuple[Finding, ...]]:
    """Read a file of daily weather.

    Parameters
    ----------
    path : Path
        The CSV file.

    Returns
    -------
    (DailyRecords or None, tuple of Finding)
        None when the file cannot be used at all.
    """
    told = _Told(path.name)
    size = path.stat().st_size
    if size > MOST_BYTES:
        told.add("too_big", 1, size=size // 1_000_000, most=MOST_BYTES // 1_000_000)
        return None, told.all()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        told.add("no_text", 1)
        return None, told.all()
    return parse(text, path.name)


def parse(text: str, name: str = "weather.csv") -> tuple[DailyRecords | None, tuple[Finding, ...]]:
    """Read daily weather from the text of a file.

    Parameters
    ----------
    text : str
        Lines with commas, semicolons or tabs between the fields; the first one names the columns.
    name : str
        The file's name, for the findings.

    Returns
    -------
    (DailyRecords or None, tuple of Finding)
        Records without holes in the calendar, NaN where nothing usable was read; None when the
        headings are wrong or no line is usable.
    """
    told = _Told(name)
    first_line = text.partition("\n")[0]
    comma = max(",;\t", key=first_line.count)
    lines = csv.reader(io.StringIO(text.replace("\0", "")), delimiter=comma)
    try:
        heading, rows = next(lines, []), [(lines.line_num, row) for row in lines if any(map(str.strip, row))]
    except csv.Error:
        told.add("no_text", lines.line_num)
        return None, told.all()
    readers, date_at = _readers(heading, told)
    if date_at is None or any(found.level == "error" for found in told.found):
        return None, told.all()
    days = _days(rows, readers, date_at, told)
    if not days:
        told.add("empty", 1)
        return None, told.all()
    first, last = min(days), max(days)
    if last - first > LONGEST:
        told.add("too_long", 1, first=first, last=last)
        return None, told.all()
    records = _records(first, last, readers, days)
    _tell_gaps(records, told)
    return records, told.all()


def _readers(heading: Sequence[str], told: _Told) -> tuple[list[Reader], int | None]:
    """Return the columns that are understood and where the date stands."""
    readers: dict[str, Reader] = {}
    date_at: int | None = None
    for at, title in enumerate(heading):
        match = _HEADING.match(title)
        name = " ".join((match["name"] if match else title).lower().replace("_", " ").split())
        if name in DATES:
            if date_at is not None:
                told.add("double_column", 1, name="date")
            date_at = at
            continue
        column = next((c for c in COLUMNS if name == c.name or name in c.also), None)
        if column is None:
            if title.strip():
                told.add("unknown_column", 1, level="note", name=title.strip())
        elif column.name in readers:
            told.add("double_column", 1, name=column.name)
        elif reader := _reader(column, at, match["unit"] if match else None, told):
            readers[column.name] = reader
    _tell_missing(heading, readers, date_at, told)
    return list(readers.values()), date_at


def _tell_missing(
    heading: Sequence[str], readers: dict[str, Reader], date_at: int | None, told: _Told
) -> None:
    if date_at is None:
        told.add("missing_column", 1, name="date")
    titles = " ".join(heading).lower().replace("_", " ")
    for column in COLUMNS:
        spoken_of = any(word in titles for word in (column.name, *column.also))
        if column.needed and column.name not in readers and not spoken_of:
            told.add("missing_column", 1, name=column.name)


def _reader(column: Column, at: int, unit: str | None, told: _Told) -> Reader | None:
    if unit is None and len(column.units) > 1:
        told.add("missing_unit", 1, name=column.name, unit=column.unit)
        return None
    word = unit_word(unit) if unit else column.unit
    try:
        zero, one = (float(convert(Fraction(x), word or "", column.unit)) for x in (0, 1))
    except NotAQuantity:
        told.add("unit", 1, name=column.name, unit=unit, units=", ".join(column.units))
        return None
    return Reader(column, at, word or column.unit, one - zero, zero)


def _date(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip().replace("/", "-")[:10])
    except ValueError:
        return None


def _days(
    rows: Iterable[tuple[int, list[str]]], readers: Sequence[Reader], date_at: int, told: _Told
) -> dict[date, dict[str, float]]:
    """Return what was read on each day, by column."""
    days: dict[date, dict[str, float]] = {}
    for line, row in rows:
        text = row[date_at] if date_at < len(row) else ""
        day = _date(text)
        if day is None:
            told.add("date", line, "question", text=text.strip())
        elif day in days:
            told.add("double_day", line, "question", day=day)
        else:
            days[day] = _values(row, line, readers, told)
    return days


def _values(row: Sequence[str], line: int, readers: Sequence[Reader], told: _Told) -> dict[str, float]:
    values = {r.column.name: _value(row[r.at] if r.at < len(row) else "", line, r, told) for r in readers}
    high, low = values["tmax"], values["tmin"]
    if high < low:
        shown = {r.column.name: r for r in readers}
        told.add(
            "upside_down", line, "question", tmax=shown["tmax"].typed(high), tmin=shown["tmin"].typed(low)
        )
        values["tmax"] = values["tmin"] = math.nan
    return values


def _value(text: str, line: int, reader: Reader, told: _Told) -> float:
    """Return one number in the unit inside, NaN where nothing usable was read."""
    typed, column = text.strip().lower(), reader.column
    if typed in NOT_READ:
        return math.nan
    if column.name == "rain" and typed in TRACE:
        return 0.0
    try:
        value = float(typed.replace(",", ".")) * reader.factor + reader.offset
    except ValueError:
        told.add("number", line, "question", text=text.strip(), name=column.name)
        return math.nan
    if not column.low <= value <= column.high:
        bounds = {"low": reader.typed(column.low), "high": reader.typed(column.high)}
        told.add("impossible", line, "question", text=text.strip(), name=column.name, **bounds)
        return math.nan
    return value


def _records(
    first: date, last: date, readers: Sequence[Reader], days: dict[date, dict[str, float]]
) -> DailyRecords:
    calendar = tuple(first + timedelta(days=n) for n in range((last - first).days + 1))
    there = {reader.column.name for reader in readers}

    def series(name: str) -> tuple[float, ...]:
        return tuple(days[day][name] if day in days else math.nan for day in calendar)

    def perhaps(name: str) -> tuple[float, ...] | None:
        return series(name) if name in there else None

    return DailyRecords(
        calendar, series("tmax"), series("tmin"), series("rain"),
        perhaps("radiation"), perhaps("vapour"), perhaps("wind"),
    )  # fmt: skip


def _tell_gaps(records: DailyRecords, told: _Told) -> None:
    """Tell, for each needed column, on which days nothing usable was read."""
    needed = {"tmax": records.tmax_c, "tmin": records.tmin_c, "rain": records.rain_mm}
    for name, values in needed.items():
        missing = [day for day, value in zip(records.days, values, strict=True) if math.isnan(value)]
        if missing:
            span = {"first": records.days[0], "last": records.days[-1]}
            told.found.append(
                finding(
                    "weather_csv.gaps",
                    told.name,
                    level="note",
                    name=name,
                    days=len(missing),
                    which=_runs(missing),
                    **span,
                )
            )


def _runs(days: Sequence[date]) -> str:
    """Return days as runs in words of figures: 2026-04-01 to 2026-04-03, 2026-05-09."""
    runs: list[list[date]] = []
    for day in days:
        if runs and day - runs[-1][-1] == timedelta(days=1):
            runs[-1].append(day)
        else:
            runs.append([day])
    shown = [f"{r[0]}" if len(r) == 1 else f"{r[0]} – {r[-1]}" for r in runs[:SHOWN_ALIKE]]
    return ", ".join(shown) + (", …" if len(runs) > SHOWN_ALIKE else "")
