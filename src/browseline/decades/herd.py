"""The animals of a farm by class: what each needs in every month of a year, and who has young."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from browseline import tables
from browseline.canopy.light import MONTH_LENGTH
from browseline.decades.start import Start, season_days
from browseline.decades.trades import Trade, newcomers, trades_of
from browseline.farm import breeding, names
from browseline.farm.needs import GRAZERS, intake
from browseline.farm.records import Line, Mob, Stage
from browseline.figures import Origin
from browseline.record.state import HeadLine, MobState
from browseline.science import draws

Array = npt.NDArray[np.float64]
YEAR_D = 365
PLAIN_YEAR = 2025
KNOWN_AT = (0.1, 0.5, 0.9)
HENS = ("chicken", "layer")


@dataclass(frozen=True, eq=False)
class Class_:
    """One class of one mob.

    ``need_kg`` is what one head eats in each month of a year, ``grazed_kg`` the part within the grazing
    season; NaN where it is not known, 0 for kinds that are fed. ``breeds`` says that it has young each year,
    ``young`` that it is young stock, ``follows`` that the stocking rule moves its head. [kg DM/head]
    """

    mob: str
    kind: str
    klass: str
    head: int
    need_kg: Array
    grazed_kg: Array
    breeds: bool
    young: bool
    origins: tuple[Origin, ...] = ()

    @property
    def follows(self) -> bool:
        """Return whether the class lives on what grows."""
        return self.kind in GRAZERS


@dataclass(frozen=True, eq=False)
class Herd:
    """All classes, those whose need is not known (counted, not fed), and what is meant to be traded."""

    classes: tuple[Class_, ...]
    unknown: tuple[str, ...]
    trades: tuple[Trade, ...] = ()

    @property
    def head(self) -> Array:
        """Return the animals of each class today. [head]"""
        return np.array([c.head for c in self.classes], dtype=np.float64)

    def need(self, which: str) -> Array:
        """Return a need by class and month, shape (class, month); 0 where it is not known. [kg DM/head]"""
        found = [np.nan_to_num(getattr(c, which)) for c in self.classes]
        return np.array(found).reshape(len(found), 12)

    def moved(self, years: int) -> Array:
        """Return head bought less head sold by plan, shape (year, class). [head]"""
        out = np.zeros((years, len(self.classes)))
        for trade in self.trades:
            if trade.year < years:
                out[trade.year, trade.at] += trade.head
        return out

    def moved_kg(self, which: str, years: int) -> Array:
        """Return what those need in the months left of their year, shape (year, month). [kg DM]"""
        need, out = self.need(which), np.zeros((years, 12))
        for trade in self.trades:
            if trade.year < years:
                after = slice(trade.month + 1, None)
                out[trade.year, after] += trade.head * need[trade.at, after]
        return out

    @property
    def origins(self) -> tuple[Origin, ...]:
        """Return where the needs come from, each once."""
        return tuple(dict.fromkeys(o for c in self.classes for o in c.origins))


def herd_of(start: Start) -> Herd:
    """Return the animals of a farm: the mobs that are there now, and those of its file still to come.

    The breeding calendar and the days on which a mob is there come round every year.
    """
    here = [(mob.id, _file_mob(start, mob), mob.lines) for mob in start.state.living()]
    known = {mob.id for mob in start.state.mobs}
    coming = [
        (mob.id, mob, tuple(HeadLine(x.kind, x.klass, x.head, x.weight, x.intake) for x in mob.lines))
        for mob in start.farm.mobs if mob.id not in known and _still(mob, start.today)
    ]  # fmt: skip
    made = [_class(start, ident, mob, line) for ident, mob, lines in (*here, *coming) for line in lines]
    made += [_class(start, mob, start.farm.mob(mob), line) for mob, line in newcomers(start, made, is_young)]
    unknown = tuple(dict.fromkeys(f"{c.kind}, {c.klass}" for c in made if np.isnan(c.need_kg).any()))
    return Herd(tuple(made), unknown, trades_of(start, made))


def _still(mob: Mob, today: date) -> bool:
    return mob.to_day is None or mob.to_day > today


def _file_mob(start: Start, mob: MobState) -> Mob | None:
    return next((found for ident in (mob.id, *mob.parents) if (found := start.farm.mob(ident))), None)


def _own_line(mob: Mob | None, line: HeadLine) -> Line | None:
    wanted = (line.kind, line.klass.casefold())
    return next((x for x in mob.lines if (x.kind, x.klass.casefold()) == wanted), None) if mob else None


def _class(start: Start, ident: str, mob: Mob | None, line: HeadLine) -> Class_:
    own = _own_line(mob, line)
    stages = breeding.stages_of(own) if own is not None else ()
    daily, origins = _daily_kg(line, stages)
    if line.kind not in GRAZERS:
        daily = np.zeros(YEAR_D)
    daily = daily * _there(mob)
    season = _in_season(start)
    months = np.repeat(np.arange(12), MONTH_LENGTH)
    need, grazed = (
        np.bincount(months, weights=x, minlength=12).astype(np.float64) for x in (daily, daily * season)
    )
    young = is_young(line.kind, line.klass)
    breeds = not young and own is not None and (own.births is not None or _has_milk(line.kind, stages))
    return Class_(ident, line.kind, line.klass, line.head, need, grazed, breeds, young, origins)


def _has_milk(kind: str, stages: Sequence[Stage]) -> bool:
    """Return whether one of a line's stages is one in milk."""
    milk = {names.label("milk class", of) for of in (kind, f"{kind} dairy")}
    return any(stage.stage in milk for stage in stages)


def is_young(kind: str, klass: str) -> bool:
    """Return whether a class is young stock by its name."""
    said = klass.casefold()
    return any(word in said for word in names.words("young", kind))


def _daily_kg(line: HeadLine, stages: Sequence[Stage]) -> tuple[Array, tuple[Origin, ...]]:
    """Return what one head eats on each day of a year, and its sources; NaN where not known. [kg DM/d]"""
    out = np.full(YEAR_D, np.nan)
    origins: list[Origin] = []
    for first, end, then in _spans(line, stages):
        eats = intake(then)
        if eats is not None and eats.value is not None:
            out[first:end] = eats.value
            origins += eats.origins or [o for part in eats.parts for o in part.origins]
    return out, tuple(dict.fromkeys(origins))


def _spans(line: HeadLine, stages: Sequence[Stage]) -> Iterator[tuple[int, int, HeadLine]]:
    """Yield days of a plain year, from and up to, with the line as it is then; the last stage goes on."""
    ordered = sorted(stages, key=lambda s: _place(s.from_day))
    if not ordered:
        yield 0, YEAR_D, line
        return
    begun = [_place(stage.from_day) for stage in ordered]
    now = [
        replace(line, stage=s.stage, intake=s.intake or line.intake, weight=s.weight or line.weight)
        for s in ordered
    ]
    yield from zip(begun, [*begun[1:], YEAR_D], now, strict=True)
    yield 0, begun[0], now[-1]


def _place(day: date) -> int:
    """Return the place of a day in a plain year, from 0."""
    at = (
        day.replace(year=PLAIN_YEAR, day=min(day.day, 28)) if day.month == 2 else day.replace(year=PLAIN_YEAR)
    )
    return (at - date(PLAIN_YEAR, 1, 1)).days


def _there(mob: Mob | None) -> Array:
    """Return 1 on the days of a year on which a mob is there: its days come round every year."""
    if mob is None or (mob.from_day is None and mob.to_day is None):
        return np.ones(YEAR_D)
    first = _place(mob.from_day) if mob.from_day is not None else 0
    end = _place(mob.to_day) if mob.to_day is not None else YEAR_D
    return _round(first, end)


def _in_season(start: Start) -> Array:
    """Return 1 on the days of a year that lie in the grazing season."""
    first, last = season_days(start.farm, start.today)
    if (last - first).days >= YEAR_D:
        return np.ones(YEAR_D)
    return _round(_place(first), _place(last - timedelta(days=1)) + 1)


def _round(first: int, end: int) -> Array:
    day = np.arange(YEAR_D)
    inside = (day >= first) & (day < end) if first < end else (day >= first) | (day < end)
    return inside.astype(np.float64)


# ---------------------------------------------------------------- rates, one draw a member


def rate(seed: int, key: str, kind: str, members: Sequence[int], klass: str = "") -> Array | None:
    """Return a rate of the breeding table by member; None where the table has none for the kind.

    Its low and high hold 80 % of the members; a member has one draw for all years, since the rate, not the
    year, is what is not known.
    """
    wide = f"{kind} dairy" if "dairy" in klass.casefold() else kind
    known = tables.applies("breeding", key)
    of = next((name for name in (wide, kind) if name in known), None)
    if of is None:
        return None
    row = tables.row("breeding", key, of)
    middle = row.middle()
    ends = (middle if row.low is None else row.low, middle, middle if row.high is None else row.high)
    chance = [draws.uniform(seed, f"decades.{key}.{kind}", member, 0, 1)[0] for member in members]
    return np.asarray(np.interp(chance, KNOWN_AT, ends))
