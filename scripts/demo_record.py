"""Make a year of record and weather for the invented farm, from a hidden truth that nobody typed.

    python -m scripts.demo_record examples/fennick-lea

Weather is one generated year; grass grows in it with a hidden fertility a paddock; the mobs follow a
plain rule (leave at the height or on the fourth day, go to the tallest); heights are read with an
error and to the half inch. Out come ``weather.csv`` and ``events.csv``, the same at every run.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from browseline import sward
from browseline.events import Event, When, body_of
from browseline.farm.needs import demand
from browseline.farm.read import read
from browseline.farm.records import Farm
from browseline.record.table import events_csv
from browseline.science import draws, grazing
from browseline.units import factor
from browseline.weather import make

FIRST, LAST = date(2025, 5, 12), date(2026, 6, 10)
HOUSED, TURNOUT = date(2025, 11, 18), date(2026, 4, 24)
HIDDEN_SEED = 20250512
DEVICE = "demo-notebook"
LONGEST_D = 4
EWE_PADDOCKS = ("12", "6", "7", "11", "1", "2", "3", "4", "8", "9")
HEIFER_PADDOCKS = tuple(str(n) for n in range(1, 12))
READ_EVERY_D = 7
INCH_CM = factor("in", "cm")


def hidden(name: str, n: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Return draws that only this script knows. [1]"""
    return draws.uniform(HIDDEN_SEED, name, 0, 0, n)


@dataclass
class Book:
    """The notebook that is being filled."""

    zone: ZoneInfo
    rows: list[Event] = field(default_factory=list)
    left: dict[str, date] = field(default_factory=dict)

    def add(self, day: date, hour: float, kind: str, subject: str, who: str = "owner", **value: Any) -> None:
        """Write one entry as somebody would have on that day."""
        at = datetime(day.year, day.month, day.day, int(hour), round(hour % 1 * 60), tzinfo=self.zone)
        n = len(self.rows)
        stamp = int(at.timestamp() * 1000)
        digits = f"{stamp:012x}7{n & 0xFFF:03x}8{n:015x}"
        ident = "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))
        body = body_of(kind, 1, value)
        self.rows.append(Event(ident, DEVICE, who, When.at(at), at + timedelta(minutes=2), subject, body))


class Truth:
    """Grass as it really stood: one member, hidden fertility, hidden weather."""

    def __init__(self, farm: Farm, growing: sward.Growing) -> None:
        self.farm, self.growing = farm, growing
        self.numbers = {p.id: sward.sward_numbers(farm, p) for p in farm.paddocks}
        self.area = {p.id: p.grazed_ha for p in farm.paddocks}
        luck = hidden("fertility", len(farm.paddocks))
        self.fertility = {p.id: 0.42 + 0.26 * float(u) for p, u in zip(farm.paddocks, luck, strict=True)}
        self.mass = {
            p.id: self.numbers[p.id].mass_kg_ha((6 + 5 * float(u)) * INCH_CM)
            for p, u in zip(farm.paddocks, hidden("start", len(farm.paddocks)), strict=True)
        }

    def step(self, day: date, eaten_kg: dict[str, float]) -> None:
        """Let a day pass: what animals ate, then growth."""
        days = self.growing.slice(day, 1)
        for ident in self.mass:
            curve = self.growing.curve_of[ident]
            wanted = eaten_kg.get(ident, 0.0) / 0.72 / self.area[ident]
            self.mass[ident] = float(
                grazing.one_paddock(
                    self.mass[ident],
                    np.array([wanted]),
                    250.0,
                    np.array([np.inf]),
                    np.array([np.nan]),
                    self.fertility[ident],
                    days.potential_kg_ha_d[curve, 0],
                    days.loss_per_d[curve, 0],
                    np.array(self.numbers[ident].shares),
                    self.growing.leaf,
                ).mass_kg_ha[-1]
            )

    def inches(self, ident: str) -> float:
        """Return the height as it is. [in]"""
        return self.numbers[ident].height_cm(self.mass[ident]) / INCH_CM

    def leave_in(self, ident: str) -> float:
        """Return the height to leave. [in]"""
        return (self.numbers[ident].leave_at.value or 0.0) / INCH_CM


def read_inches(true_in: float, luck: float) -> str:
    """Return a height as read: an error of about a tenth, to the half inch."""
    seen = true_in * (1 + 0.1 * float(draws.normal(np.array([luck]))[0]))
    return f"{max(round(seen * 2) / 2, 1):g} in"


def graze(farm: Farm, truth: Truth, book: Book) -> None:
    """Play the year: heifers round the paddocks, ewes in the hazel, hay in winter."""
    heifers, ewes = (demand(m.lines).value or 0.0 for m in farm.mobs)  # type: ignore[union-attr]
    at, since = "1", FIRST
    ewes_at, ewes_since = "12", FIRST
    luck = hidden("readings", 4000)
    n = 0
    for d in range((LAST - FIRST).days + 1):
        day = FIRST + timedelta(days=d)
        housed = HOUSED <= day < TURNOUT
        if day == HOUSED:
            book.add(day, 9, "moved", "heifers", to="yard")
            book.add(day, 9.5, "moved", "ewes", to="yard")
        if day == TURNOUT:
            at, since = tallest(truth, "", closed(day)), day
            ewes_at, ewes_since = "12", day
            book.add(day, 8, "moved", "heifers", to=at)
            book.add(day, 9, "moved", "ewes", to="12")
        if housed and day.weekday() in (0, 3):
            book.add(day, 8, "fed", "heifers", amount="5 bales")
        if not housed and day.isoweekday() != 7:
            ewes_at, ewes_since = move_ewes(truth, book, day, ewes_at, ewes_since, at)
        if not housed and day.isoweekday() != 7 and day > since and must_go(truth, at, since, day):
            goes = tallest(truth, at, (*closed(day), ewes_at))
            if goes:
                if (day - since).days:
                    book.add(
                        day, 7.5, "walked", goes, height=read_inches(truth.inches(goes), luck[n]), readings=12
                    )
                    n += 1
                book.add(day, 8, "moved", "heifers", to=goes)
                at, since = goes, day
        if not housed and day.weekday() == 1 and day.month in range(4, 12):
            for ident in weekly(farm, d):
                if ident != at:
                    book.add(
                        day,
                        17.5,
                        "walked",
                        ident,
                        height=read_inches(truth.inches(ident), luck[n]),
                        readings=12,
                    )
                    n += 1
        truth.step(day, {} if housed else {at: heifers, ewes_at: ewes})


def must_go(truth: Truth, at: str, since: date, day: date) -> bool:
    """Return whether the plain rule moves the heifers today."""
    return (day - since).days >= LONGEST_D or truth.inches(at) <= truth.leave_in(at) + 0.6


def closed(day: date) -> tuple[str, ...]:
    """Return paddocks kept for hay or shut on a day."""
    hay = ("5",) if date(2025, 5, 12) <= day < date(2025, 6, 24) or date(2026, 5, 1) <= day else ()
    limb = ("10",) if date(2026, 6, 1) <= day else ()
    return hay + limb


def tallest(truth: Truth, at: str, shut: tuple[str, ...]) -> str:
    """Return the paddock with most grass above what is to be left."""
    open_ = [p for p in HEIFER_PADDOCKS if p != at and p not in shut]
    return max(open_, key=lambda p: truth.inches(p) - truth.leave_in(p), default="")


def move_ewes(truth: Truth, book: Book, day: date, at: str, since: date, heifers_at: str) -> tuple[str, date]:
    """Move the ewes on the fourth day, and out of the hazel by its shut date; not where heifers stand."""
    out_of_hazel = at == "12" and not hazel_open(day)
    if (day - since).days < LONGEST_D and not out_of_hazel:
        return at, since
    rested = sorted(EWE_PADDOCKS, key=lambda p: book.left.get(p, FIRST))
    open_ = [p for p in rested if p not in (at, heifers_at) and (p != "12" or hazel_open(day))]
    if not open_ or day == since:
        return at, since
    book.left[at] = day
    book.add(day, 9, "moved", "ewes", to=open_[0])
    return open_[0], day


def hazel_open(day: date) -> bool:
    """Return whether the ewes may mow the hazel block: before its shut date, and after harvest."""
    return day < date(2025, 5, 14) or date(2025, 10, 1) <= day < HOUSED or TURNOUT <= day < date(2026, 4, 29)


def weekly(farm: Farm, d: int) -> list[str]:
    """Return the paddocks that somebody walks this week."""
    return [p.id for k, p in enumerate(farm.paddocks) if (k + d // READ_EVERY_D) % 2 == 0]


def happenings(book: Book) -> None:
    """Write what else happened: counts, storms, gates, trees, the borrowed goats."""
    add = book.add
    add(date(2025, 6, 20), 14, "cut", "5", purpose="hay", to_height="3 in", bales="22 bales")
    add(date(2025, 7, 2), 18, "looked", "8", at="trees", planting="locust-new", seen=20, bitten=1, barked=0)
    add(date(2025, 7, 14), 12, "counted", "heifers", head=["46"])
    add(date(2025, 8, 9), 19, "stormed", "farm", what="wind")
    add(date(2025, 8, 10), 7, "shut", "10", because="limbs down at the cherry edge", until="cleared and dry")
    add(date(2025, 8, 24), 16, "opened", "10", met="cleared and dry")
    add(date(2025, 11, 3), 15, "guarded", "locust-new", trees=4, guard="mesh cage, two posts")
    add(date(2026, 4, 28), 18, "looked", "8", at="trees", planting="locust-new", seen=20, bitten=2, barked=0)
    add(date(2026, 5, 12), 8, "counted", "heifers", head=["46"])
    add(
        date(2026, 6, 7),
        10,
        "borrowed",
        "goats",
        head=14,
        beast="goat",
        klass="doe range browsing",
        until=date(2026, 7, 19),
        owner="a neighbour",
        to="13",
        weight="100 lb",
    )
    add(date(2026, 6, 5), 21, "stormed", "farm", what="wind")
    add(date(2026, 6, 6), 6.5, "shut", "10", because="wild cherry limb down", until="cleared and dry")
    add(date(2026, 6, 9), 17, "looked", "9", at="trees", planting="locust-far", seen=20, bitten=1, barked=0)
    add(date(2026, 6, 10), 12, "counted", "goats", head=["14"])


def looks(book: Book) -> None:
    """Write the looks that found the cherry clear, after the limbs and after the last frost."""
    book.add(date(2025, 8, 24), 15.5, "looked", "10", at="cherry", clear=True)
    book.add(date(2026, 4, 24), 7.5, "looked", "10", at="cherry", clear=True)


STEMS_IN = {
    "locust-old": (6.4, 7.1, 5.8, 6.9, 7.6, 6.1, 5.5, 7.3, 6.6, 6.0, 8.0, 6.7, 5.2, 7.0, 6.3, 6.8, 5.9, 7.4),
    "locust-well": (5.9, 6.8, 6.2, 7.2, 5.6, 6.5, 7.0, 6.1, 6.6, 5.3, 7.5, 6.4),
}
"""Stems of trees that were taped at breast height, every other tree of a row. [in]"""


def stems(book: Book) -> None:
    """Write the stems that were taped after leaf fall."""
    for planting, girths in STEMS_IN.items():
        for n, across_in in enumerate(girths):
            book.add(
                date(2025, 11, 9), 13.5, "tree_measured", planting, tree=f"{2 * n + 1}", dbh=f"{across_in} in"
            )


def main(folder: Path) -> None:
    """Write the two files of the demo farm."""
    reading = read(folder)
    if reading.farm is None:
        sys.exit("\n".join(str(f) for f in reading.findings))
    farm = replace(reading.farm, daily=None)
    if farm.place is None:
        sys.exit("the demo farm needs a place")
    weather = make(
        farm.place, farm.normals, None, FIRST, LAST + timedelta(days=3), 1, HIDDEN_SEED, warmup_days=365
    )
    if weather is None:
        sys.exit("the demo farm needs normals")
    book = Book(ZoneInfo(farm.time_zone))
    happenings(book)
    graze(farm, Truth(farm, sward.growing_days(farm, weather)), book)
    looks(book)
    stems(book)
    rows = sorted(book.rows, key=lambda e: e.order)
    rows = [e for e in rows if e.observed.end < datetime(2026, 6, 10, 18, tzinfo=book.zone)]
    (folder / "events.csv").write_text(events_csv(rows), encoding="utf-8")
    with (folder / "weather.csv").open("w", newline="", encoding="utf-8") as out:
        sheet = csv.writer(out, lineterminator="\n")
        sheet.writerow(["date", "tmax (C)", "tmin (C)", "rain (mm)"])
        for k, day in enumerate(weather.days):
            when = day.astype(object)
            if FIRST <= when < LAST:
                sheet.writerow(
                    [
                        when,
                        f"{weather.tmax_c[0, k]:.1f}",
                        f"{weather.tmin_c[0, k]:.1f}",
                        f"{weather.rain_mm[0, k]:.1f}",
                    ]
                )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
