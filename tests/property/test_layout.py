"""What holds for every field and rule: setbacks, spacings, alleys, mirror images, one answer twice."""

from __future__ import annotations

import math
import time
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from browseline.farm.records import Farm, LayoutRule, Shape
from browseline.layout import Layout, lay_out
from browseline.layout.plane import geometry, plane_of
from browseline.layout.rule import keeps_off
from browseline.layout.terrain import Ground, ground_of
from tests.layout_farms import box, farm, line, outline, planting, point, q

Spots = list[tuple[float, float]]


@st.composite
def fields(draw: st.DrawFn) -> Spots:
    """Return the ring of a field that may have bays: six to nine corners about the middle."""
    corners = draw(st.integers(6, 9))
    angles = [2 * math.pi * (n + draw(st.floats(-0.3, 0.3))) / corners for n in range(corners)]
    away = [draw(st.floats(40, 160)) for _ in angles]
    ring = [(r * math.sin(a), r * math.cos(a)) for a, r in zip(angles, away, strict=True)]
    return [*ring, ring[0]]


@st.composite
def rules(draw: st.DrawFn) -> tuple[str, str, LayoutRule]:
    """Return a spacing, an alley and a rule."""
    sets = draw(st.integers(1, 3))
    metres = st.floats(0, 12).map(lambda m: q(f"{m:.2f} m"))
    rule = LayoutRule(
        rows_in_set=sets, between=q("3 m") if sets > 1 else None, staggered=draw(st.booleans()),
        bearing_deg=draw(st.none() | st.floats(0, 360)), headland=draw(metres), from_fence=draw(metres),
        from_boundary=draw(metres), from_building=draw(metres), from_overhead=draw(metres),
        from_buried=draw(metres), from_water=draw(metres),
    )  # fmt: skip
    spacing, alley = draw(st.floats(2, 12)), draw(st.floats(5, 30))
    return f"{spacing:.2f} m", f"{alley:.2f} m", rule


def beside(mirror: bool = False) -> list[Shape]:
    """Return a barn, lines over and under ground, a spring and a trough on a field."""
    how: dict[str, Any] = {"mirror": mirror}
    return [
        outline("farm", box(330, 330), "boundary", **how),
        outline("barn", [(10, 5), (30, 12), (26, 24), (8, 18), (10, 5)], "building", **how),
        outline("spring", [(-30, -20), (-20, -25), (-18, -12), (-30, -20)], "keep_out", **how),
        line("power", "overhead_line", [(-200, 40), (0, 55), (200, 20)], **how),
        line("pipe", "buried_line", [(-60, -200), (-40, 200)], **how),
        line("cross", "fence", [(0, -150), (60, -40)], **how),
        point("trough", "water", (40.0, -30.0), **how),
    ]


def made(ring: Spots, rule: tuple[str, str, LayoutRule], mirror: bool = False) -> Farm:
    spacing, alley, how = rule
    return farm(outline("1", ring, mirror=mirror), [planting(spacing, alley, how)], *beside(mirror))


def stems(layout: Layout) -> NDArray[np.float64]:
    return np.column_stack([layout.trees.east_m, layout.trees.north_m])


@settings(max_examples=60, deadline=None)
@given(ring=fields(), rule=rules())
def test_every_stem_keeps_off_everything(ring: Spots, rule: tuple[str, str, LayoutRule]) -> None:
    one = made(ring, rule)
    found = lay_out(one)
    plane = plane_of(one.shapes)
    points = shapely.points(stems(found))
    off = {k.what: k.distance_m for k in keeps_off(one.planned[0])}
    for shape in one.shapes:
        thing = geometry(shape, plane)
        if shape.kind in ("paddock", "boundary"):
            assert shapely.covers(thing.buffer(1e-3), points).all()
            thing = thing.boundary
        near = shapely.distance(points, thing)
        least = off.get("fence" if shape.kind == "paddock" else shape.kind, 0.0)
        assert (near >= least - 2e-3).all(), (shape.id, float(near.min()), least)
        if shape.kind == "keep_out":
            assert (near > 0).all()
    assert not [f for f in found.findings if f.finding.code.startswith("layout.near_")]


@settings(max_examples=60, deadline=None)
@given(ring=fields(), rule=rules())
def test_stems_are_never_nearer_than_spacing_and_rows_than_alley(
    ring: Spots, rule: tuple[str, str, LayoutRule]
) -> None:
    found = lay_out(made(ring, rule))
    if len(found.trees) < 2:
        return
    spacing, alley = (q(text).to("m") for text in rule[:2])
    between = 3.0 if rule[2].rows_in_set > 1 else alley
    near = np.asarray(cKDTree(stems(found)).query(stems(found), k=2)[0])[:, 1]
    assert near.min() >= min(spacing, between, alley) - 1e-6
    for row in found.rows:
        own = stems(found)[row.first : row.first + row.count]
        steps = np.hypot(*np.diff(own, axis=0).T)
        assert (steps >= spacing - 1e-6).all()
        assert (np.abs(steps / spacing - np.round(steps / spacing)) < 1e-6).all()
    if found.plantings and found.plantings[0].alley_m is not None:
        assert found.plantings[0].alley_m[0] >= min(alley, between) - 1e-6


@settings(max_examples=40, deadline=None)
@given(ring=fields(), rule=rules())
def test_a_mirrored_map_mirrors_its_rows(ring: Spots, rule: tuple[str, str, LayoutRule]) -> None:
    from dataclasses import replace

    spacing, alley, how = rule
    how = replace(how, staggered=False)  # which row begins shifted depends on the side one counts from
    bearing = 17.0 if how.bearing_deg is None else how.bearing_deg  # alike long sides are a tie
    how, turned = replace(how, bearing_deg=bearing), replace(how, bearing_deg=(360 - bearing) % 360)
    one = lay_out(made(ring, (spacing, alley, how)))
    other = lay_out(made(ring, (spacing, alley, turned), mirror=True))
    assert len(one.trees) == len(other.trees)
    if len(one.trees):
        flipped = stems(other) * [-1, 1]
        away = np.asarray(cKDTree(stems(one)).query(flipped)[0])
        assert away.max() < 0.01


@settings(max_examples=20, deadline=None)
@given(ring=fields(), rule=rules())
def test_the_same_farm_gives_the_same_layout(ring: Spots, rule: tuple[str, str, LayoutRule]) -> None:
    one, other = (lay_out(made(ring, rule)) for _ in range(2))
    assert one.rows == other.rows
    assert one.findings == other.findings
    assert np.array_equal(stems(one), stems(other))


@settings(max_examples=40, deadline=None)
@given(ring=fields(), rule=rules(), more=st.floats(0.5, 20))
def test_farther_off_never_more_ground(ring: Spots, rule: tuple[str, str, LayoutRule], more: float) -> None:
    """More room kept off takes ground from where stems may stand, never gives any."""
    from dataclasses import replace

    from browseline.layout.room import distances, room, things

    one = made(ring, rule)
    plane = plane_of(one.shapes)
    home, around = geometry(one.shapes[0], plane), things(one, plane)
    first = room(home, around, distances(keeps_off(one.planned[0])))
    far = replace(rule[2], from_buried=q(f"{rule[2].from_buried.to('m') + more:.2f} m"))  # type: ignore[union-attr]
    second = room(home, around, distances(keeps_off(replace(one.planned[0], layout=far))))
    assert second.area <= first.area + 1e-6
    assert second.difference(first.buffer(1e-3)).area < 1e-3


def test_ten_thousand_trees_in_a_second() -> None:
    """100 ha of rows 16 m apart with a tree every 6.2 m: under a second of processor time."""
    field = outline("1", box(1000, 1000))
    one = farm(field, [planting("6.2 m", "16 m", LayoutRule(from_fence=q("3 m")))], *beside()[1:])
    lay_out(one)
    began = time.process_time()
    found = lay_out(one)
    spent_s = time.process_time() - began
    assert len(found.trees) == pytest.approx(10_000, rel=0.05)
    assert spent_s < 1.0


@st.composite
def grounds(draw: st.DrawFn) -> Ground:
    """Return hills: a tilt and a few waves, no steeper than land that is farmed."""
    at = np.arange(-300, 304, 6.0)
    east, north = np.meshgrid(at, at)
    tilt = st.floats(-0.12, 0.12)
    height = 100 + draw(tilt) * east + draw(tilt) * north
    for _ in range(draw(st.integers(0, 3))):
        wave, turn = draw(st.floats(150, 600)), draw(st.floats(0, math.pi))
        phase = (east * math.sin(turn) + north * math.cos(turn)) * 2 * math.pi / wave
        height = height + draw(st.floats(0, 6)) * np.sin(phase + draw(st.floats(0, 6)))
    return ground_of(height, -300, -300, 6.0)


@settings(max_examples=40, deadline=None)
@given(ring=fields(), ground=grounds(), share=st.sampled_from(["1 %", "2 %", "5 %"]))
def test_contour_rows_keep_drift_spacing_alley_and_fence(ring: Spots, ground: Ground, share: str) -> None:
    rule = LayoutRule(contour=True, drift=q(share, "share"), from_fence=q("3 m"))
    one = farm(outline("1", ring), [planting("5 m", "14 m", rule)])
    found = lay_out(one, ground)
    home = geometry(one.shapes[0], plane_of(one.shapes))
    points = shapely.points(stems(found))
    assert shapely.covers(home, points).all()
    assert (shapely.distance(points, home.boundary) >= 3 - 2e-3).all()  # a map's rounding
    if "layout.flat" in {f.finding.code for f in found.findings}:
        return
    for row in found.rows:
        own, rest = slice(row.first, row.first + row.count), stems(found)
        assert row.drift_frac is not None
        assert row.drift_frac <= q(share, "share").to("1")
        near = np.asarray(cKDTree(rest[own]).query(rest[own], k=2)[0])[:, 1]
        assert near.min() >= 5 - 1e-5
        others = np.delete(rest, own, axis=0)
        if len(others):
            assert np.asarray(cKDTree(others).query(rest[own])[0]).min() >= 14 - 0.06
