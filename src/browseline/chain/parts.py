"""What the record makes of the farm's file: parts that a net splits off, plans that were planted."""

from __future__ import annotations

from dataclasses import replace

from browseline.farm.records import Farm, Paddock, Planting
from browseline.record.state import MobState, State, Stay


def with_parts(farm: Farm, state: State) -> tuple[Farm, State]:
    """Return the farm with every split paddock as its parts, and the state that stands on them.

    A part has the area that was typed, its whole as parent, and everything else from the whole. What
    happened on the whole before stays with the whole and counts for each part. A paddock stays whole while a
    mob stands in it of which nobody has said on which part.
    """
    areas = dict(state.part_areas)
    undivided = {mob.place for mob in state.living() if not mob.part}
    parts_of: dict[str, list[str]] = {}
    for part, whole in state.parents:
        if part in areas and whole not in undivided:
            parts_of.setdefault(whole, []).append(part)
    if not parts_of:
        return farm, state
    paddocks: list[Paddock] = []
    for paddock in farm.paddocks:
        parts = parts_of.get(paddock.id, [])
        hectares = {part: areas[part].to("ha") for part in parts}
        total = sum(hectares.values())
        for part in parts:
            rows = paddock.row_area_ha * hectares[part] / total if total > 0 else 0.0
            name = f"{paddock.name} {part.rpartition('/')[2]}"
            paddocks.append(
                replace(
                    paddock,
                    id=part,
                    name=name,
                    area_ha=hectares[part],
                    row_area_ha=rows,
                    parents=(paddock.id, *paddock.parents),
                    deeded=None,
                )
            )
        if not parts:
            paddocks.append(paddock)
    return replace(farm, paddocks=tuple(paddocks)), _on_parts(state)


def place_of(farm: Farm, ident: str | None) -> Paddock | None:
    """Return a paddock of the farm, or one that a net has split since, by the name that it had; else None."""
    found = farm.paddock(ident) if ident is not None else None
    parts = (p for p in farm.paddocks if ident in p.parents) if found is None else iter(())
    return found or next((_whole(part, part.parents.index(ident or "")) for part in parts), None)


def _whole(part: Paddock, level: int) -> Paddock:
    """Return what a part was split off, so many nets ago: its name, with all else that the part has of it."""
    name = part.name
    for own in (part.id, *part.parents[:level]):
        name = name.removesuffix(f" {own.rpartition('/')[2]}")
    return replace(part, id=part.parents[level], name=name, parents=part.parents[level + 1 :])


def with_planted(farm: Farm, state: State) -> Farm:
    """Return the farm with each planned planting of which a tree was planted among those that stand.

    Its trees are those of the record: the file counts none.
    """
    first = {subject: when for subject, _, when in reversed(state.planted)}
    grown = [p for p in farm.planned if p.id in first]
    if not grown:
        return farm
    now = tuple(_standing(p, first[p.id].start.year) for p in grown)
    left = tuple(p for p in farm.planned if p.id not in first)
    return replace(farm, plantings=(*farm.plantings, *now), planned=left)


def _standing(planned: Planting, year: int) -> Planting:
    """Return a planned planting as one that stands since a year, its trees not counted by the file."""
    rows = tuple(replace(row, trees=None) for row in planned.rows)
    return replace(planned, planned=False, trees=0, planted=year, rows=rows)


def _on_parts(state: State) -> State:
    mobs = tuple(_mob(mob) for mob in state.mobs)
    return replace(state, mobs=mobs, stays=tuple(_stay(stay) for stay in state.stays))


def _mob(mob: MobState) -> MobState:
    return replace(mob, place=mob.part, part="") if mob.part else mob


def _stay(stay: Stay) -> Stay:
    return replace(stay, place=stay.part, part="") if stay.part else stay
