"""The breeding calendar: from the day on which young are born to the stages before and after it.

A line with ``births`` goes dry, late in young, in milk, dry again. Each stage is a class of the table
of needs, so that what is not known of a kind stays unknown and what is a guess stays marked.
"""

from __future__ import annotations

from datetime import date, timedelta

from browseline import tables
from browseline.farm import names
from browseline.farm.records import Line, Stage
from browseline.tables import Row

LATE = "late gestation"
DRY, MILK = "dry", "milk"


def stages_of(line: Line) -> tuple[Stage, ...]:
    """Return the stages of a line: those typed, else those that its day of births makes."""
    if line.stages or line.births is None:
        return line.stages
    return calendar(line.kind, line.klass, line.births)


def calendar(kind: str, klass: str, births: date) -> tuple[Stage, ...]:
    """Return the stages round a day of births; the steps move with it, day for day.

    Parameters
    ----------
    births : date
        The first day on which young are born.

    References
    ----------
    nrc1985_sheep, Table 1: late pregnancy of a ewe is what follows the first 15 weeks
    """
    of = _of(kind, klass)
    dry, milk = _class(DRY, kind, of), _class(MILK, kind, of)
    if not dry or not milk:
        return ()
    gestation, late = row("gestation", kind, klass), row("late_stage", kind, klass)
    out = [Stage(births - _days(gestation), dry)] if gestation is not None else []
    if late is not None:
        out.append(Stage(births - _days(late), _class("late", kind, of) or f"{dry}; {LATE}"))
    weaning = row("weaning_age", kind, klass)
    out.append(Stage(births, milk))
    if weaning is not None:
        out.append(Stage(births + _days(weaning), dry))
    return tuple(out)


def conceived(kind: str, klass: str, births: date) -> date | None:
    """Return when the young that are born from ``births`` on were conceived; None where not known."""
    gestation = row("gestation", kind, klass)
    return births - _days(gestation) if gestation is not None else None


def row(key: str, kind: str, klass: str = "") -> Row | None:
    """Return a row of the breeding table for a kind, a donkey's own first; None where nothing is known."""
    for of in (f"{kind}, {klass.split(' ')[0]}", kind):
        if of in tables.applies("breeding", key):
            return tables.row("breeding", key, of)
    return None


def _of(kind: str, klass: str) -> str:
    return f"{kind} dairy" if "dairy" in klass.casefold() else kind


def _class(stage: str, kind: str, of: str) -> str:
    """Return the class of the table of needs that stands for a stage; nothing where there is none."""
    for which in (of, kind):
        found = names.label(f"{stage} class", which)
        if found != which:
            return found
    return ""


def _days(known: Row) -> timedelta:
    return timedelta(days=known.middle())
