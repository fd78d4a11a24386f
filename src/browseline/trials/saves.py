"""What grazing saves: mowing that it really stands for, dung where the trees stand, shade as a range."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta

import numpy as np

from browseline import tables
from browseline.chain import Picture
from browseline.farm import factors
from browseline.farm.names import label
from browseline.farm.records import Paddock, Planting
from browseline.figures import NINE_TENTHS, Figure, Origin, typed
from browseline.ledger.inputs_carbon import saved_passes
from browseline.science import nitrogen
from browseline.trials.crop import NINETEEN_IN_TWENTY
from browseline.trials.land_uses import LandUse
from browseline.trials.told import told
from browseline.units import factor, plain
from browseline.words import linked, list_words, say

YEAR = timedelta(days=365)
PERCENT = factor("%", "1")
Held = Mapping[tuple[str, str], float]


def saves_words(picture: Picture, here: LandUse) -> tuple[str, ...]:
    """Return what grazing saves in sentences; what is named by nobody is no line."""
    return (*_mowing(picture), *_dung(picture), *_shade(picture, here))


def _mowing(picture: Picture) -> Iterator[str]:
    farm = picture.farm
    for one in farm.same_land.mowing:
        ground = tuple(p for p in farm.paddocks if p.id in one.paddocks)
        if not ground:
            continue
        saved = saved_passes(one.machine, one.passes, ground, one.fuel)
        fields = {"name": one.name, "passes": one.passes, "machine": one.machine, "fuel": one.fuel}
        yield say("trials.saves.mowing", saved=told(saved, farm.units), **fields)
    yield say("trials.saves.baseline" if farm.same_land.mowing else "trials.saves.no_mowing")


# ---------------------------------------------------------------- dung


def head_days(picture: Picture, paddock: Paddock) -> Held:
    """Return the head times days of the last year on a paddock, by kind and class, of stays on record."""
    scene, end = picture.scene, picture.now
    mobs = {mob.id: mob for mob in picture.state.mobs}
    out: dict[tuple[str, str], float] = {}
    for stay in picture.state.stays:
        mob = mobs.get(stay.mob)
        if stay.planned or mob is None or paddock.id not in scene.ground(stay.place):
            continue
        last = min(stay.end.end if stay.end is not None else end, end)
        days = (last - max(stay.begin.start, end - YEAR)) / timedelta(days=1)
        for line in mob.lines if days > 0 else ():
            key = (line.kind, line.klass)
            out[key] = out.get(key, 0.0) + line.head * days
    return out


def dung_nitrogen(picture: Picture, paddock: Paddock) -> Figure | None:
    """Return the nitrogen of dung that fell on a paddock in the last year; None where none is known. [kg]"""
    parts = tuple(
        part
        for (kind, klass), held in head_days(picture, paddock).items()
        if (part := _of_kind(picture, kind, klass, held, paddock)) is not None
    )
    if not parts:
        return None
    spread = tables.row("benefit", "nitrogen_spread", "dung")
    half = spread.middle() * PERCENT / NINETEEN_IN_TWENTY * NINE_TENTHS
    value = sum(part.value or 0.0 for part in parts)
    formula = " + ".join(f"{part.value:.4g} kg" for part in parts)
    return Figure(
        "dung_nitrogen", value, "kg", value * (1 - half), value * (1 + half), formula=formula,
        parts=(*parts, spread.figure("nitrogen_spread")), about=paddock.name,
    )  # fmt: skip


def _of_kind(picture: Picture, kind: str, klass: str, held: float, paddock: Paddock) -> Figure | None:
    farm = picture.farm
    rate = factors.by_region(farm, "nitrogen", "nitrogen_rate", kind, klass)
    mass = factors.by_region(farm, "methane", "animal_mass", kind, klass)
    own = next(
        (line.weight for mob in farm.mobs for line in mob.lines
         if (line.kind, line.klass) == (kind, klass) and line.weight is not None), None,
    )  # fmt: skip
    weight = typed("weight", own.to("kg"), "kg", own.text, about=klass) if own is not None else None
    if weight is None and mass is not None:
        weight = mass.figure("animal_mass", klass)
    if rate is None or weight is None or weight.value is None:
        return None
    each = float(nitrogen.excreted_by_rate(np.array(rate.middle()), np.array(weight.value)))
    days = Figure(
        "head_days", held, "days", origins=(Origin("farm", "record"),), about=f"{klass}, {paddock.name}"
    )
    formula = f"{held:.5g} × {weight.value:.4g} × {rate.middle():g} ÷ 1000"
    parts = (days, weight, rate.figure("nitrogen_rate", rate.applies_to))
    return Figure(
        "dung_nitrogen",
        each * held / 365,
        "kg",
        formula=formula,
        parts=parts,
        about=f"{klass}, {paddock.name}",
    )


def _dung(picture: Picture) -> Iterator[str]:
    farm = picture.farm
    uses, unknown = dict(farm.same_land.tree_nitrogen), list[str]()
    for planting in farm.plantings:
        ground = next((p for p in farm.paddocks if planting.paddock in (p.id, *p.parents)), None)
        fell = dung_nitrogen(picture, ground) if ground is not None else None
        if ground is None or fell is None:
            continue
        row = _in_rows(planting, ground, fell)
        if row is None:
            yield say("trials.saves.dung", planting=planting.name, fell=told(fell, farm.units))
            continue
        wanted = _wanted(planting, uses.get(planting.id, ()))
        need = say("trials.saves.need", need=told(wanted, farm.units)) if wanted is not None else ""
        unknown += [planting.name] if wanted is None else []
        yield say("trials.saves.dung_rows", planting=planting.name, fell=told(row, farm.units), need=need)
    if unknown:
        yield say("trials.saves.no_need", plantings=list_words(unknown))


def _in_rows(planting: Planting, ground: Paddock, fell: Figure) -> Figure | None:
    """Return what fell on the rows if it fell evenly; at most all of it, where stock lie in the shade."""
    if not ground.row_area_ha or fell.value is None or not planting.trees:
        return None
    share = ground.row_area_ha / ground.area_ha
    low = (fell.low or 0.0) * share
    rows = typed("area_rows", ground.row_area_ha, "ha", "", about=ground.name)
    whole = typed("area_whole", ground.area_ha, "ha", "", about=ground.name)
    formula = f"{fell.value:.4g} kg × {ground.row_area_ha:.3g} ha ÷ {ground.area_ha:.4g} ha"
    return Figure(
        "dung_in_rows", fell.value * share, "kg", low, fell.high, formula=formula, parts=(fell, rows, whole),
        about=planting.name,
    )  # fmt: skip


def _wanted(planting: Planting, typed_: tuple[object, ...]) -> Figure | None:
    """Return what the trees of a planting take up, as the farm typed it for a tree. [kg]"""
    ends = [q.to("kg") for q in typed_]  # type: ignore[attr-defined]
    if not ends or not planting.trees:
        return None
    trees = typed("trees_stood", float(planting.trees), "trees", f"{planting.trees}", about=planting.name)
    text = " – ".join(str(q) for q in typed_)
    each = typed("tree_nitrogen", sum(ends) / len(ends), "kg", text, about=planting.name)
    value = planting.trees * sum(ends) / len(ends)
    formula = f"{planting.trees} × {plain(sum(ends) / len(ends))} kg"
    return Figure(
        "nitrogen_wanted", value, "kg", planting.trees * ends[0], planting.trees * ends[-1], formula=formula,
        parts=(trees, each), about=planting.name,
    )  # fmt: skip


# ---------------------------------------------------------------- shade


def _shade(picture: Picture, here: LandUse) -> Iterator[str]:
    """Yield what shade may be worth for each kind on the farm: always a range that includes nothing."""
    kinds = dict.fromkeys(line.kind for mob in picture.state.mobs for line in mob.lines)
    known = [kind for kind in kinds if kind in tables.applies("benefit", "shade_gain")]
    if not picture.farm.plantings:
        return
    for kind in known:
        row = tables.row("benefit", "shade_gain", kind)
        low, high = row.low or 0.0, row.high or 0.0
        gain = Figure(
            "shade_gain", None, "%", low, high, origins=row.figure("shade_gain").origins, about=kind
        )
        span = linked(say("trials.saves.span", low=f"{low:g}", high=f"{high:g} %"), gain)
        yield say("trials.saves.shade", kind=label("kind", kind), gain=span)
    if known:
        yield say("trials.saves.shade_note")
    elif kinds:
        yield say("trials.saves.no_shade")
