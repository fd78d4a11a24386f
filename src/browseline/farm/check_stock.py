"""Mobs and their animals: weights that no such beast has, companions that clash, stages out of order."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from browseline import tables
from browseline.farm.draft import Draft
from browseline.farm.records import Line, Mob
from browseline.farm.toml_lines import Path
from browseline.tables import Row
from browseline.units import Quantity, convert, plain

NO_BEAST = 3.0
MOST_OF_WEIGHT = 0.15


def check_mobs(draft: Draft) -> None:
    """Add findings about the mobs of a draft."""
    as_of = draft.head["as_of"]
    for mob in draft.mobs:
        path = draft.at["mobs", mob.id]
        _companions(draft, mob, path)
        if mob.due is not None and as_of is not None and mob.due < as_of:
            fields: dict[str, Any] = {"mob": mob.name, "due": mob.due, "as_of": as_of}
            draft.told.finding("farm.overdue", (*path, "due"), level="question", **fields)
        for number, line in enumerate(mob.lines):
            _line(draft, line, (*path, "lines", number))


def _companions(draft: Draft, mob: Mob, path: Path) -> None:
    if mob.id in mob.runs_with or mob.follows == mob.id:
        key = "runs_with" if mob.id in mob.runs_with else "follows"
        draft.told.finding("farm.own_companion", (*path, key), mob=mob.name, key=key)
    elif _in_circle(draft, mob):
        draft.told.finding("farm.follows_in_circle", (*path, "follows"), mob=mob.name)
    if mob.at is not None and mob.at in mob.keep_out:
        draft.told.finding("farm.kept_out_of_own", (*path, "keep_out"), mob=mob.name, paddock=mob.at)


def _in_circle(draft: Draft, mob: Mob) -> bool:
    """Return whether a mob comes behind itself by way of others: then none of them could begin."""
    behind = {other.id: other.follows for other in draft.mobs}
    leader = mob.follows
    for _ in draft.mobs:
        if leader is None or leader == mob.id:
            break
        leader = behind.get(leader)
    return leader == mob.id


def _line(draft: Draft, line: Line, path: Path) -> None:
    for where, weight, intake in _typed(line, path):
        if weight is not None:
            _weight(draft, line, weight, (*where, "weight"))
        if weight is not None and intake is not None:
            _appetite(draft, weight, intake, (*where, "intake"))
    days = [stage.from_day for stage in line.stages]
    if days != sorted(set(days)):
        draft.told.finding("farm.stages_out_of_order", (*path, "stages"), klass=line.klass)


def _appetite(draft: Draft, weight: Quantity, intake: Quantity, where: Path) -> None:
    share = intake.to("kg/d") / weight.to("kg")
    if share > MOST_OF_WEIGHT:
        fields: dict[str, Any] = {
            "intake": intake.text, "weight": weight.text, "share": f"{share * 100:.0f} %",
        }  # fmt: skip
        draft.told.finding("farm.eats_too_much", where, level="question", **fields)


def _typed(line: Line, path: Path) -> list[tuple[Path, Quantity | None, Quantity | None]]:
    """Return where, weight and intake of a line and of each of its stages."""
    found = [(path, line.weight, line.intake)]
    for number, stage in enumerate(line.stages):
        found.append(((*path, "stages", number), stage.weight, stage.intake))
    return found


def _weight(draft: Draft, line: Line, weight: Quantity, path: Path) -> None:
    try:
        row = tables.row("animals", "body_weight", f"{line.kind}, {line.klass}")
    except LookupError:
        return
    low, high, value = row.low or 0.0, row.high or row.middle(), weight.to("kg")
    if low <= value <= high:
        return
    fields: dict[str, Any] = {"klass": line.klass, "weight": weight.text, "usual": _span(row, weight.unit)}
    if value > high * NO_BEAST or value < low / NO_BEAST:
        draft.told.finding("farm.no_such_weight", path, **fields)
    else:
        draft.told.finding("farm.unusual_weight", path, level="question", **fields)


def _span(row: Row, unit: str) -> str:
    """Return the usual weights of a class in the unit that was typed."""
    low, high = (plain(float(convert(Fraction(x or 0.0), "kg", unit)), 0) for x in (row.low, row.high))
    return f"{low}–{high} {unit}"
