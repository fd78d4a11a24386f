"""Mobs, their lines and stages in ``farm.toml``."""

from __future__ import annotations

from typing import Any

from browseline.farm import bounds, names
from browseline.farm.draft import Draft, identify
from browseline.farm.records import Line, Mob, Stage
from browseline.farm.toml_table import Table


def read_mobs(draft: Draft, farm: Table) -> None:
    """Read the mobs: animals that are moved together."""
    for table in farm.tables("mobs"):
        found = identify(draft, table, "mobs")
        lines = tuple(line for inner in table.tables("lines") if (line := _line(inner)) is not None)
        if not table.has("lines"):
            table.told.finding("farm.no_lines", table.path, mob=found[1] if found else "")
        ident, name = found or ("", "")
        made = Mob(
            ident, name, lines, table.text("at"), table.instant("since"), table.text("owner"),
            table.day("due"), table.names("runs_with"), table.text("follows"), table.names("keep_out"),
            table.names("parents"), table.day("from"), table.day("to"),
            *(table.quantity(key, "time", bounds.INTERVAL) for key in ("follows_after", "follows_within")),
        )  # fmt: skip
        table.close()
        if found is not None:
            draft.mobs.append(made)


def _line(table: Table) -> Line | None:
    kind = table.word("kind", "kind", needed=True)
    klass = table.text("class", needed=True)
    head = table.whole("head", 0, bounds.MOST_HEAD, needed=True)
    weight = table.quantity("weight", "mass", bounds.WEIGHT)
    intake = table.quantity("intake", "intake", bounds.INTAKE)
    water = table.quantity("water", "water use", bounds.WATER_NEED)
    stages = tuple(stage for inner in table.tables("stages") if (stage := _stage(inner)) is not None)
    births, wool = table.day("births"), table.quantity("wool", "mass", bounds.WOOL)
    table.close()
    if kind is None or klass is None or head is None:
        return None
    _known_class(table, kind, klass, intake is not None or any(s.intake is not None for s in stages))
    return Line(kind, klass, head, weight, intake, water, stages, births, wool)


def _known_class(table: Table, kind: str, klass: str, eats: bool) -> None:
    """Say of a class that the tables lack which is nearest; with a typed intake it is only a question."""
    known = names.words("class", kind)
    if klass in known:
        return
    if not known:
        table.told.finding("farm.kind_unknown", table.at("class"), level="question", kind=kind, value=klass)
        return
    near = names.nearest(klass, known)
    fields: dict[str, Any] = {"value": klass, "kind": kind, "known": ", ".join(known), "near": near or ""}
    path = table.at("class")
    if eats:
        table.told.finding("farm.own_class", path, level="note", **fields)
    elif near is None:
        table.told.finding("farm.class", path, **fields)
    else:
        table.told.finding("farm.class_near", path, **fields)


def _stage(table: Table) -> Stage | None:
    first = table.day("from", needed=True)
    stage = table.text("stage", needed=True)
    intake = table.quantity("intake", "intake", bounds.INTAKE)
    weight = table.quantity("weight", "mass", bounds.WEIGHT)
    table.close()
    return None if first is None or stage is None else Stage(first, stage, intake, weight)
