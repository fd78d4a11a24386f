"""Made-up farms for the decades: square paddocks side by side, every other one with rows of trees."""

from __future__ import annotations

from datetime import UTC, date, datetime

from pyproj import Proj

from browseline.chain.tree_shade import MEAN_CELLS
from browseline.decades.start import Start
from browseline.events import When
from browseline.farm.records import (
    Farm,
    LayoutRule,
    Line,
    Mob,
    Normals,
    Paddock,
    Place,
    Planting,
    Promise,
    Shape,
    Sward,
)
from browseline.record.state import HeadLine, MobState, State, Stay
from browseline.units import parse

SIDE_M, ACROSS = 155.0, 8
LATITUDE, LONGITUDE = 41.0, -45.0
TODAY = date(2026, 5, 6)
SPECIES = ("walnut_black", "pecan", "chestnut_hybrid", "pear", "locust_honey")
# The invented climate of forage.md 4: no real place.
NORMALS = Normals(
    (2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4), (-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5),
    (70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70), (11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11),
    0.25,
)  # fmt: skip


def _square(number: int) -> Shape:
    plane = Proj(proj="laea", lat_0=LATITUDE, lon_0=LONGITUDE, ellps="WGS84")
    west, south = SIDE_M * (number % ACROSS), SIDE_M * (number // ACROSS)
    corners = [(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]
    ring = tuple(plane(west + SIDE_M * x, south + SIDE_M * y, inverse=True) for x, y in corners)
    return Shape(str(number), "paddock", str(number), "Polygon", (ring,), area_ha=SIDE_M**2 / 10_000)


def _trees(number: int) -> Planting:
    trees = int(SIDE_M // 8) * int(SIDE_M // 16)
    return Planting(
        f"t{number}", f"Trees {number}", SPECIES[number % len(SPECIES)], str(number), 2022 + number % 4,
        trees,
        spacing=parse("8 m", "length"), alley=parse("16 m", "length"), guard="tube",
        layout=LayoutRule(from_fence=parse("6 m", "length")),
    )  # fmt: skip


def farm(paddocks: int) -> Farm:
    """Return a farm of so many paddocks, every other one with trees."""
    area_ha = SIDE_M**2 / 10_000
    sward = Sward("home", "mixed_cool")
    line = Line("sheep", "ewe maintenance", 12 * paddocks, births=date(2026, 4, 15))
    return Farm(
        "Bench", "UTC", "hectares", date(2026, 5, 1),
        tuple(Paddock(str(n), str(n), area_ha, sward="home") for n in range(paddocks)),
        (Mob("ewes", "Ewes", (line,)),), Place(LATITUDE, LONGITUDE, 200.0), normals=NORMALS, swards=(sward,),
        plantings=tuple(_trees(n) for n in range(0, paddocks, 2)),
        promises=(Promise("s", "grazing", "season", date(2026, 4, 15), date(2026, 11, 1)),),
        shapes=tuple(_square(n) for n in range(paddocks)),
    )  # fmt: skip


def start_of(paddocks: int) -> Start:
    """Return what a projection of such a farm starts from."""
    from browseline.canopy.cells import cells_of
    from browseline.canopy.measured import crowns_after
    from browseline.layout.lay import lay_out

    own = farm(paddocks)
    now = When.at(datetime(2026, 5, 6, 7, tzinfo=UTC))
    lines = tuple(HeadLine(x.kind, x.klass, x.head) for x in own.mobs[0].lines)
    state = State(now.end, (MobState("ewes", "Ewes", lines, "0", now),), (Stay("ewes", "0", now),))
    layout = lay_out(own, None, crowns_after(own, state))
    return Start(own, state, TODAY, layout, cells_of(own, most=MEAN_CELLS))
