"""Made-up farms on the product's own sward: the same seed gives the same farm.

Paddocks, swards, soils, trees, mobs, normals and promises are drawn; nothing is taken from a real farm. The
map lies in mid-ocean. Head is set so that the herd eats a share of what the mean year grows.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from browseline.chain import picture
from browseline.events import When
from browseline.farm.records import (
    Farm,
    Line,
    Mob,
    Normals,
    Paddock,
    Place,
    Planting,
    Promise,
    Rules,
    Shape,
    Soil,
    Sward,
)
from browseline.limits import Scene, faces
from browseline.moves.guide import mean_growth
from browseline.moves.yardstick import yardstick_of
from browseline.record.state import HeadLine, HeightRead, MobState, State, Stay
from browseline.units import parse

ZONE = ZoneInfo("America/New_York")
FIRST = date(2026, 4, 20)
NOW = datetime(2026, 4, 20, 7, tzinfo=ZONE)
LATITUDE, LONGITUDE = 41.0, -45.0
SWARDS = ("mixed_cool", "orchardgrass_legume", "bluegrass_clover", "timothy_legume")
SOILS = (("loam", "B", "well drained"), ("silt loam", "B", "moderately well drained"),
         ("silt loam", "C", "somewhat poorly drained"), ("sandy loam", "A", "well drained"))  # fmt: skip
MOBS = (("heifers", "Heifers", "cattle", "dairy heifer", "770 lb"),
        ("ewes", "Ewes", "sheep", "ewe maintenance", "150 lb"),
        ("does", "Does", "goat", "doe maintenance", "130 lb"))  # fmt: skip
SHARES = {1: (1.0,), 2: (0.65, 0.35), 3: (0.6, 0.25, 0.15)}
TMAX = np.array([2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4], float)
TMIN = np.array([-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5], float)
RAIN = np.array([70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70], float)
WET_DAYS = (11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11)
GRAZED_AT, EATEN = 0.4, 0.65
"""Herbage as a share of the fullest, and the share eaten, at which head is reckoned. [1]"""
FEW_MEMBERS = 11


def farm_scene(seed: int, paddocks: int, days: int, members: int, mobs: int = 0) -> Scene:
    """Return the scene of a made-up farm on the first day of its season.

    Parameters
    ----------
    members : int
        Of weather and herbage, by the product's own generator.
    mobs : int
        How many; drawn, one to three, if 0.
    """
    luck = np.random.default_rng(seed)
    count = mobs or int(luck.integers(1, 4))
    farm = _farm(luck, seed, paddocks, count)
    heights = luck.uniform(4.5, 9.5, paddocks)
    share = luck.uniform(0.4, 0.65)
    few = _scene(farm, heights, days, FEW_MEMBERS)
    wanted = share * _grown_kg_d(few)
    eats = yardstick_of(few, faces(few)).bars.demand_kg_d.mean(axis=0)
    head = [max(round(wanted * part / one), 1) for part, one in zip(SHARES[count], eats, strict=True)]
    return _scene(_with_head(farm, head), heights, days, members)


def _grown_kg_d(few: Scene) -> float:
    """Return what may be eaten of the mean growth of a day, at the herbage of grazed land. [kg DM/d]"""
    field = yardstick_of(few, faces(few)).whole
    mass = np.array([GRAZED_AT / float(field.leaf.per_ceiling.max())])
    net = np.maximum(mean_growth(field, mass)[:, :, 0], 0.0)
    return float(EATEN * (net * field.land.area_ha[:, None]).sum() / net.shape[1])


def _farm(luck: np.random.Generator, seed: int, paddocks: int, mobs: int) -> Farm:
    """Return a farm with one head a mob."""
    warm, wet = luck.normal(0, 1.5), luck.uniform(0.8, 1.15)
    normals = Normals(tuple(TMAX + warm), tuple(TMIN + warm), tuple(RAIN * wet), tuple(map(float, WET_DAYS)),
                      0.25, cv_year_rain=float(luck.uniform(0.15, 0.25)))  # fmt: skip
    kinds = luck.choice(SWARDS, 2, replace=False)
    soils = tuple(
        Soil(f"soil{i}", *SOILS[k]) for i, k in enumerate(luck.choice(len(SOILS), 2, replace=False))
    )
    rows = [_paddock(luck, i) for i in range(paddocks)]
    herd = tuple(
        Mob(i, name, (Line(kind, klass, 1, parse(lb, "mass")),)) for i, name, kind, klass, lb in MOBS
    )
    return Farm(
        f"Farm {seed}", "America/New_York", "acres", FIRST, tuple(row[0] for row in rows),
        herd[:mobs], Place(LATITUDE, LONGITUDE, float(luck.uniform(50, 350))), seed=seed, normals=normals,
        swards=tuple(Sward(f"sward{i}", str(kind)) for i, kind in enumerate(kinds)), soils=soils,
        plantings=tuple(p for _, p in rows if p is not None), promises=_promises(luck, paddocks),
        rules=Rules(no_move_weekdays=(7,), worms_hard=bool(luck.random() < 0.5)),
        shapes=_map([row[0] for row in rows]),
    )  # fmt: skip


def _paddock(luck: np.random.Generator, i: int) -> tuple[Paddock, Planting | None]:
    """Return a paddock, and its trees: none, old rows that shade it, young ones, or nuts off the ground."""
    name = str(i + 1)
    kind = str(luck.choice(["open", "old", "young", "nuts"], p=[0.5, 0.25, 0.15, 0.1]))
    cover = {"open": "0 %", "old": f"{luck.integers(15, 45)} %", "young": "3 %", "nuts": "25 %"}[kind]
    paddock = Paddock(
        name, f"P{name}", float(np.clip(np.exp(luck.normal(np.log(1.3), 0.3)), 0.6, 3.0)),
        sward=f"sward{luck.integers(2)}", soil=f"soil{luck.integers(2)}", water="trough",
        cover=parse(cover, "share"), shape=name,
    )  # fmt: skip
    if kind == "open":
        return paddock, None
    planted = {"old": 2008, "young": 2023, "nuts": 2012}[kind]
    rows = Planting(f"rows{name}", f"Rows {name}", "locust_honey", name, planted, 40, harvested=False)
    if kind == "nuts":
        return paddock, replace(rows, species="hazel_hybrid", harvested=True, first_drop=date(2026, 8, 28))
    if kind == "young":
        return paddock, replace(rows, leader=parse("6 ft", "length"), guard="mesh cage, two posts")
    return paddock, replace(rows, leader=parse("22 ft", "length"))


def _promises(luck: np.random.Generator, paddocks: int) -> tuple[Promise, ...]:
    """Return hay off one or two paddocks, and a few days on which nobody is there to move stock."""
    hay = [str(p + 1) for p in luck.choice(paddocks, 1 + paddocks // 14, replace=False)]
    away = FIRST + timedelta(days=int(luck.integers(40, 120)))
    return (
        Promise("hay", "hay", "Hay", date(2026, 5, 10), date(2026, 6, 21), tuple(hay)),
        Promise("away", "away", "Away", away, away + timedelta(days=4)),
    )


def _map(paddocks: list[Paddock]) -> tuple[Shape, ...]:
    """Return squares along a lane, and the yard at its head."""
    shapes, east = [], 0.0
    for p in paddocks:
        side = np.sqrt(p.area_ha * 1e4)
        a, b, c = (_point(east, 0), _point(east + side, 0), _point(east + side, side))
        shapes.append(Shape(p.id, "paddock", p.name, "Polygon", ((a, b, c, _point(east, side), a),)))
        east += side
    return (*shapes, Shape("yard", "yard", "Yard", "Point", points=(_point(-20, 0),)))


def _point(east_m: float, north_m: float) -> tuple[float, float]:
    """Return a point of the map, longitude first, on a round earth: the map only needs to hang together."""
    return LONGITUDE + east_m / (111_320 * np.cos(np.radians(LATITUDE))), LATITUDE + north_m / 111_320


def _with_head(farm: Farm, head: list[int]) -> Farm:
    return replace(
        farm,
        mobs=tuple(
            replace(m, lines=(replace(m.lines[0], head=n),)) for m, n in zip(farm.mobs, head, strict=True)
        ),
    )


def _scene(farm: Farm, heights_in: np.ndarray, days: int, members: int) -> Scene:
    """Return the scene: every mob in the open paddock with the tallest grass that no other mob took."""
    tall = [p for p in np.argsort(-heights_in) if farm.plantings == () or _free(farm, p)][: len(farm.mobs)]
    standing = tuple(
        MobState(m.id, m.name, tuple(HeadLine(x.kind, x.klass, x.head, x.weight) for x in m.lines),
                 str(p + 1), When.at(NOW)) for m, p in zip(farm.mobs, tall, strict=True)
    )  # fmt: skip
    stays = tuple(Stay(m.id, m.place or "", When.at(NOW)) for m in standing)
    read = tuple(
        HeightRead(p.id, When.at(NOW), parse(f"{h:.1f} in", "length"), event=f"height-{p.id}")
        for p, h in zip(farm.paddocks, heights_in, strict=True)
    )
    state = State(NOW, standing, stays, heights=read)
    return picture(Path("made-up"), farm, (), state, NOW, members, days).scene


def _free(farm: Farm, p: int) -> bool:
    return all(planting.paddock != str(p + 1) for planting in farm.plantings)
