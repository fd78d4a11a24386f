"""Draw the map of the invented farm: paddocks, rows, lane, gates, water, hazards, in local metres.

    python -m scripts.demo_map > examples/fennick-lea/map.geojson

The drawing stands in metres from the yard and is turned by 18 degrees and set down in mid-ocean.
"""

from __future__ import annotations

import json
import math
import sys
from typing import Any

from pyproj import Proj

CENTRE = (41.0, -45.0)
TURN_DEG = 18.0
WIDE, DEEP, LANE = 100.0, 120.0, 8.0
Point = tuple[float, float]


def placed(points: list[Point]) -> list[list[float]]:
    """Return local metres (east, north) as longitude and latitude."""
    plane = Proj(proj="aeqd", lat_0=CENTRE[0], lon_0=CENTRE[1], ellps="WGS84")
    a = math.radians(TURN_DEG)
    out = []
    for x, y in points:
        lon, lat = plane(x * math.cos(a) + y * math.sin(a), -x * math.sin(a) + y * math.cos(a), inverse=True)
        out.append([round(lon, 7), round(lat, 7)])
    return out


def feature(
    kind: str, ident: str, name: str, geometry: str, points: list[Point], **more: Any
) -> dict[str, Any]:
    """Return one feature of the map."""
    at = placed(points)
    coordinates: Any = {"Polygon": [[*at, at[0]]], "LineString": at, "Point": at[0]}[geometry]
    return {
        "type": "Feature",
        "id": ident,
        "properties": {"kind": kind, "name": name, **more},
        "geometry": {"type": geometry, "coordinates": coordinates},
    }


def box(x: float, y: float, wide: float, deep: float, lean: float = 0.0) -> list[Point]:
    """Return a paddock that leans a little, as fields do."""
    return [(x, y), (x + wide, y + lean), (x + wide, y + deep + lean), (x, y + deep)]


def paddocks() -> list[dict[str, Any]]:
    """Return the thirteen paddocks: six above the lane, six below, the brush beyond."""
    names = (
        "Gate",
        "Old Locust",
        "Long Alley",
        "Well",
        "Hay Piece",
        "Top",
        "Stile",
        "New Locust",
        "Far Locust",
        "Cherry Edge",
        "Yard Field",
        "Hazel",
    )
    out = []
    for n, name in enumerate(names):
        above, column = n < 6, n % 6
        y = LANE if above else -DEEP
        out.append(feature("paddock", str(n + 1), name, "Polygon", box(column * WIDE, y, WIDE, DEEP)))
    out.append(feature("paddock", "13", "Brush", "Polygon", box(6 * WIDE, LANE, 60, DEEP)))
    return out


def rows() -> list[dict[str, Any]]:
    """Return the tree rows: locust along the alleys, hazel close together."""
    out = []
    for column, planting, y in (
        (1, "locust-old", LANE),
        (2, "locust-long", LANE),
        (3, "locust-well", LANE),
        (1, "locust-new", -DEEP),
        (2, "locust-far", -DEEP),
    ):
        for r in range(5):
            x = column * WIDE + 14 + r * 18
            line = [(x, y + 6), (x, y + DEEP - 6)]
            out.append(
                feature(
                    "tree_row", f"{planting}-{r + 1}", f"row {r + 1}", "LineString", line, planting=planting
                )
            )
    for r in range(4):
        x = 5 * WIDE + 13.4 + r * 24.4
        line = [(x, -DEEP + 5), (x, -5)]
        out.append(
            feature("tree_row", f"hazel-{r + 1}", f"row {r + 1}", "LineString", line, planting="hazel")
        )
    return out


def works() -> list[dict[str, Any]]:
    """Return lane, gates, water, buildings, hazards and what is kept off."""
    edge = box(-70, -DEEP - 20, 6 * WIDE + 140, 2 * DEEP + LANE + 40)
    out = [
        feature("boundary", "boundary", "Fennick Lea", "Polygon", edge),
        feature(
            "lane", "lane", "Lane", "LineString", [(-40, LANE / 2), (6 * WIDE + 30, LANE / 2)], width="8 m"
        ),
        feature("building", "barn", "Barn", "Polygon", box(-45, 14, 24, 14)),
        feature("energiser", "energiser", "Energiser", "Point", [(-22, 15)]),
        feature("yard", "yard", "Yard", "Polygon", box(-60, -30, 45, 28)),
        feature(
            "hazard",
            "cherry",
            "Wild cherry in the fence row",
            "LineString",
            [(3 * WIDE + 25, -DEEP), (4 * WIDE - 25, -DEEP)],
            plant="cherry",
        ),
        feature("hazard", "pond", "Pond, steep bank", "Point", [(4 * WIDE + 50, LANE + DEEP + 8)]),
        feature(
            "keep_out",
            "spring",
            "Spring head, fenced",
            "Polygon",
            box(4 * WIDE + 40, LANE + DEEP + 2, 20, 12),
        ),
    ]
    for n in range(12):
        above, column = n < 6, n % 6
        y = LANE if above else 0.0
        out.append(feature("gate", f"gate-{n + 1}", f"gate {n + 1}", "Point", [(column * WIDE + 8, y)]))
        if n not in (8, 11):
            inside = y + (6 if above else -6)
            out.append(
                feature(
                    "water", f"trough-{n + 1}", f"trough {n + 1}", "Point", [(column * WIDE + 90, inside)]
                )
            )
    out.append(feature("gate", "gate-13", "gate 13", "Point", [(6 * WIDE + 4, LANE)]))
    return out


def main() -> None:
    """Write the map to standard output."""
    collection = {"type": "FeatureCollection", "features": works() + paddocks() + rows()}
    json.dump(collection, sys.stdout, indent=1, ensure_ascii=False)
    sys.stdout.write("\n")


if __name__ == "__main__":
    main()
