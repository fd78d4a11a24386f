"""How far animals walk: by gates and lanes where the map has them, else straight between middles."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from browseline.farm.records import Farm, Shape
from browseline.units import factor

Array = NDArray[np.float64]
FED = ("sacrifice", "yard", "building")
"""Where stock off grass is fed, the likeliest first."""
HOME = ("yard", "building", "sacrifice")
"""Where people set out from, the likeliest first."""
LANE, GATE = "lane", "gate"
NEAR_M = 15.0
"""A gate this near to a fence or to the edge of a lane stands in it: maps are drawn by hand. [m]"""
BOTH_M = 5.0
"""A gate this near to two paddocks opens into both. [m]"""


def far_km(farm: Farm, paddocks: tuple[str, ...], yard: tuple[str, ...] = FED) -> Array:
    """Return the walk between any two places, the yard last; 0 where the map does not say.

    From the middle of a paddock to its gate, by lanes and gates, and to the middle of the other. A pair that
    no gates and lanes join is as far as it is straight.

    Parameters
    ----------
    paddocks : tuple of str
        In the order of the plan.
    yard : tuple of str
        The kinds of ground that may be the last place: the first that the map has.

    Returns
    -------
    array, shape (place, place)
        On the ellipsoid where straight, on the flat picture of the map by lanes. [km]
    """
    shapes = {s.id: s for s in farm.shapes}
    own = [shapes.get(p.shape or p.id) if (p := farm.paddock(name)) else None for name in paddocks]
    places = [*own, _yard(farm, yard)]
    spots = [_middle(s) for s in places]
    if sum(s is not None for s in spots) < 2:
        return np.zeros((len(spots), len(spots)))
    straight = _straight_km(spots)
    lanes = [s for s in farm.shapes if s.kind == LANE]
    gates = [s for s in farm.shapes if s.kind == GATE and s.points]
    if not gates:
        return straight
    walked = _Ways(farm, lanes, gates).between(places) * factor("m", "km")
    return np.where(np.isfinite(walked), np.maximum(walked, straight), straight)


def _straight_km(spots: Sequence[tuple[float, float] | None]) -> Array:
    from pyproj import Geod

    out, ellipsoid = np.zeros((len(spots), len(spots))), Geod(ellps="WGS84")
    for a, here in enumerate(spots):
        for b, there in enumerate(spots[:a]):
            if here is not None and there is not None:
                out[a, b] = out[b, a] = ellipsoid.inv(*here, *there)[2] * factor("m", "km")
    return out


class _Ways:
    """The gates and lanes of a map as places joined by walks, on its flat picture. [m]"""

    def __init__(self, farm: Farm, lanes: Sequence[Shape], gates: Sequence[Shape]) -> None:
        from browseline.layout.plane import plane_of

        self.plane = plane_of(farm.shapes)
        self.lines = [(line, (s.width_m or 0.0) / 2) for s in lanes for line in self._rings(s)]
        self.spots: list[Array] = []
        self.on: list[list[tuple[float, int]]] = [[] for _ in self.lines]
        self.walks: list[tuple[int, int, float]] = []
        self.gates = [self._spot(np.array(xy)) for s in gates for xy in self._flat(s.points)]
        self._corners()
        self._gates()
        self._ends()

    def _corners(self) -> None:
        for n, (line, _) in enumerate(self.lines):
            for corner in line:
                self._onto(corner, n, self._spot(corner), np.inf)

    def _gates(self) -> None:
        for gate, (n, (_, half)) in product(self.gates, enumerate(self.lines)):
            self._onto(self.spots[gate], n, gate, NEAR_M + half)

    def _ends(self) -> None:
        """Join the ends of each lane to the other lanes that they come near."""
        for (n, (line, half)), k in product(enumerate(self.lines), range(len(self.lines))):
            if k != n:
                for end in (line[0], line[-1]):
                    self._onto(end, k, self._nearest(end), NEAR_M + half)

    def _flat(self, ring: Sequence[tuple[float, float]]) -> Array:
        return np.column_stack(self.plane.flat([x for x, _ in ring], [y for _, y in ring]))

    def _rings(self, shape: Shape) -> Iterator[Array]:
        for ring in (*shape.rings, shape.points):
            if len(ring) > 1:
                yield self._flat(ring)

    def _spot(self, at: Array) -> int:
        self.spots.append(at)
        return len(self.spots) - 1

    def _nearest(self, at: Array) -> int:
        return int(np.argmin([float(np.hypot(*(s - at))) for s in self.spots]))

    def _onto(self, at: Array, n: int, spot: int, most_m: float) -> None:
        """Join a spot to the nearest place on a lane, if that is near enough."""
        off_m, along_m, foot = _nearest_on(self.lines[n][0], at)
        if off_m > most_m:
            return
        step = self._spot(foot)
        self.on[n].append((along_m, step))
        self.walks.append((spot, step, off_m))

    def between(self, places: Sequence[Shape | None]) -> Array:
        """Return the walk between the middles of places, shape (place, place); infinite if not joined. [m]"""
        first, walks = len(self.spots), list(self.walks)
        for row in self.on:
            steps = sorted(row)
            walks += [(a, b, there - here) for (here, a), (there, b) in pairwise(steps)]
        off_m = np.array([self._off_m(shape) for shape in places])
        nearest = off_m.min(axis=0, initial=np.inf)
        opens = (off_m <= NEAR_M) & (off_m <= np.maximum(nearest, BOTH_M))
        for n, shape in enumerate(places):
            middle = self._flat([spot])[0] if shape is not None and (spot := _middle(shape)) else None
            if middle is not None:
                own = [int(k) for k in np.flatnonzero(opens[n])]
                walks += [(first + n, self.gates[k], self._far(k, middle)) for k in own]
        yard = places[-1]
        if yard is not None:
            last = len(places) - 1
            walks += [(first + n, first + last, 0.0) for n in range(last) if places[n] is yard]
        if yard is not None and not opens[-1].any():
            walks += self._from_yard(yard, first + len(places) - 1)
        return _shortest(first + len(places), walks)[first:, first:]

    def _far(self, gate: int, middle: Array) -> float:
        return float(np.hypot(*(self.spots[self.gates[gate]] - middle)))

    def _from_yard(self, yard: Shape, number: int) -> list[tuple[int, int, float]]:
        """Return the walk from a yard without a gate to the nearest spot of a lane: it lies open to it."""
        spot = _middle(yard)
        steps = [step for row in self.on for _, step in row]
        if spot is None or not steps:
            return []
        middle = self._flat([spot])[0]
        far = [float(np.hypot(*(self.spots[s] - middle))) for s in steps]
        k = int(np.argmin(far))
        return [(number, steps[k], far[k])]

    def _off_m(self, shape: Shape | None) -> list[float]:
        """Return how far each gate is off the fence of a place. [m]"""
        rings = list(self._rings(shape)) if shape is not None else []
        return [min((_nearest_on(r, self.spots[g])[0] for r in rings), default=np.inf) for g in self.gates]


def _nearest_on(line: Array, at: Array) -> tuple[float, float, Array]:
    """Return how far a spot is off a line, how far along its foot lies [m], and the foot."""
    a, step = line[:-1], np.diff(line, axis=0)
    long = np.hypot(step[:, 0], step[:, 1])
    share = np.clip(((at - a) * step).sum(axis=1) / np.maximum(long**2, 1e-12), 0.0, 1.0)
    feet = a + share[:, None] * step
    off = np.hypot(feet[:, 0] - at[0], feet[:, 1] - at[1])
    k = int(np.argmin(off))
    return float(off[k]), float(long[:k].sum() + share[k] * long[k]), feet[k]


def _shortest(count: int, walks: Sequence[tuple[int, int, float]]) -> Array:
    """Return the shortest walk between any two of some spots, shape (spot, spot). [m]

    References
    ----------
    derived_here: every spot in turn as a stop between two others (Floyd's scheme)
    """
    out = np.full((count, count), np.inf)
    np.fill_diagonal(out, 0.0)
    for a, b, far in walks:
        out[a, b] = out[b, a] = min(out[a, b], far)
    for k in range(count):
        out = np.minimum(out, out[:, k, None] + out[None, k, :])
    return out


def _yard(farm: Farm, kinds: Sequence[str]) -> Shape | None:
    """Return the first shape of the first kind that the farm has; sacrifice ground may be a paddock."""
    sacrifice = {p.shape or p.id for p in farm.paddocks if p.sacrifice}
    found = [(FED[0] if s.id in sacrifice else s.kind, s) for s in farm.shapes]
    marked = [(kinds.index(kind), s) for kind, s in found if kind in kinds]
    return min(marked, key=lambda one: one[0])[1] if marked else None


def _middle(shape: Shape | None) -> tuple[float, float] | None:
    """Return the middle of a ring or of points, longitude first. [deg]"""
    if shape is None:
        return None
    ring = shape.rings[0] if shape.rings else shape.points
    if not ring:
        return None
    corners = ring[:-1] if len(ring) > 1 and ring[0] == ring[-1] else ring
    return float(np.mean([c[0] for c in corners])), float(np.mean([c[1] for c in corners]))
