"""Light between endless regular rows on an even slope: one cell of the pattern, wrapped.

A milliseconds' answer for the search of a spacing, and a cross-check of the full map.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from browseline.science.light_scene import Directions, rays_of
from browseline.science.light_tiles import Doubles, Rays, quick

FACING_AWAY = 1e-3  # light that grazes the slope more than this is left out: it is less of the whole


class RowPattern(NamedTuple):
    """Trees of one cell and how the cell repeats.

    ``bearing_deg`` of the rows, clockwise from north; ``in_row_m`` and ``repeat_m`` sides of the cell
    along and across the rows; ``slip_m`` how far the next cell across is moved along (half of
    ``in_row_m`` sets the rows off). Arrays of shape (tree,): place ``along_m`` and ``across_m`` to the
    right, height of the crown's centre above the foot, half-axes, depth per metre. [deg, m, 1/m]
    """

    bearing_deg: float
    in_row_m: float
    repeat_m: float
    slip_m: float
    along_m: Doubles
    across_m: Doubles
    centre_m: Doubles
    radius_m: Doubles
    half_depth_m: Doubles
    depth_per_m: Doubles


@quick
def _half_path(e: float, f: float, middle: float) -> float:
    """Return the chord ahead of the point, in half-lengths of the longest one."""
    half = math.sqrt(max(1 - e * e - f * f, 0.0))
    return half + min(max(middle, -half), half)


@quick
def _along(cell: RowPattern, ray: Any, form: Any, p: float, q: float) -> float:
    """Return the depth of one row of trees over a point p along and q across from one of them."""
    e0, ep, eq, fp, fq, u0, up, uq, per = form
    e, f = e0 + eq * q, fq * q
    aa, bb, cc = ep * ep + fp * fp, e * ep + f * fp, e * e + f * f - 1
    inside = max(bb * bb - aa * cc, 0.0)
    middle, side, step = -bb / aa, math.sqrt(inside) / aa, cell.in_row_m
    first, last = math.ceil((middle - side - p) / step), math.floor((middle + side - p) / step)
    depth = 0.0
    for n in range(int(first), int(last) + 1):
        at = p + n * step
        depth += per * _half_path(e + ep * at, f + fp * at, u0 + up * at + uq * q)
    return depth


@quick
def _form(cell: RowPattern, n: int, ray: Any, slope: Any) -> Any:
    """Return the linear forms of a tree's shadow along p and across q, from its foot."""
    sin, cos, sin_el, cos_el, cot = ray
    a, c = cell.radius_m[n], cell.half_depth_m[n]
    length = 1 / math.sqrt(a * a + c * c * cot * cot)
    half = a * c * length / sin_el
    turn = math.radians(cell.bearing_deg)
    p_x, p_y, q_x, q_y = math.sin(turn), math.cos(turn), math.cos(turn), -math.sin(turn)
    p_z, q_z = slope[0] * p_x + slope[1] * p_y, slope[0] * q_x + slope[1] * q_y
    p_ahead, q_ahead = -(sin * p_x + cos * p_y), -(sin * q_x + cos * q_y)
    flat, steep = half * cos_el / (a * a), half * sin_el / (c * c)
    return (
        -length * cot * cell.centre_m[n], length * (p_ahead + cot * p_z), length * (q_ahead + cot * q_z),
        -(cos * p_x - sin * p_y) / a, -(cos * q_x - sin * q_y) / a,
        steep * cell.centre_m[n], flat * p_ahead - steep * p_z, flat * q_ahead - steep * q_z,
        cell.depth_per_m[n] * half,
    )  # fmt: skip


@quick
def _span(form: Any) -> Any:
    """Return the least and most q that a tree's shadow reaches."""
    e0, ep, eq, fp, fq = form[0], form[1], form[2], form[3], form[4]
    turn = ep * fq - eq * fp
    middle = e0 * fp / turn
    side = math.sqrt(ep * ep + fp * fp) / abs(turn)
    return middle - side, middle + side


@quick
def _add_tree(cell: RowPattern, n: int, ray: Any, slope: Any, depth: Any) -> None:
    """Add the depth of one tree of the cell, and of all its likes, to every point."""
    form = _form(cell, n, ray, slope)
    low, high = _span(form)
    for col in range(depth.shape[1]):
        q = (col + 0.5) * cell.repeat_m / depth.shape[1] - cell.across_m[n]
        first, last = math.ceil((low - q) / cell.repeat_m), math.floor((high - q) / cell.repeat_m)
        for m in range(int(first), int(last) + 1):
            for row in range(depth.shape[0]):
                p = (row + 0.5) * cell.in_row_m / depth.shape[0] - cell.along_m[n] + m * cell.slip_m
                depth[row, col] += _along(cell, ray, form, p, q + m * cell.repeat_m)


@quick
def _add_light(depth: Any, falls: float, out: Any) -> None:
    """Add the light of one direction to every point, and set the depths to 0."""
    for row in range(out.shape[0]):
        for col in range(out.shape[1]):
            out[row, col] += falls * math.exp(-depth[row, col])
            depth[row, col] = 0.0


@quick
def _fill(cell: RowPattern, rays: Rays, slope: Any, depth: Any, out: Any) -> float:
    """Fill the light of every point; return the open light of the slope."""
    sky = 0.0
    for k in range(rays.weight.size):
        cot = rays.cot_el[k]
        face = 1 - cot * (slope[0] * rays.sin_az[k] + slope[1] * rays.cos_az[k])
        if face <= FACING_AWAY:
            continue
        ray = (rays.sin_az[k], rays.cos_az[k], rays.sin_el[k], rays.cos_el[k], cot)
        for n in range(cell.radius_m.size):
            _add_tree(cell, n, ray, slope, depth)
        _add_light(depth, rays.weight[k] * face, out)
        sky += rays.weight[k] * face
    return sky


def row_light(
    cell: RowPattern, directions: Directions, slope_east: float, slope_north: float, points: tuple[int, int]
) -> tuple[Doubles, float]:
    """Light between endless rows, at points spread evenly over one cell of the pattern.

    Parameters
    ----------
    cell : RowPattern
        Trees of the cell and how it repeats. [m]
    directions : Directions
        Sun and sky with their light on level open ground. [deg]
    slope_east, slope_north : float
        Rise of the ground. [1]
    points : tuple of int
        How many along the rows and across them. [1]

    Returns
    -------
    array, shape (along, across), and float
        What the trees leave of the slope's open light; the slope's open light over that of level ground.
        The first point stands half a step from the cell's corner, right of it. [1]

    Raises
    ------
    ValueError
        If a side is not above 0, or a tree has no size.

    References
    ----------
    derived_here, trees.md section 3, 4 and 5, summed over the pattern
    """
    if (
        cell.in_row_m <= 0
        or cell.repeat_m <= 0
        or (cell.radius_m <= 0).any()
        or (cell.half_depth_m <= 0).any()
    ):
        raise ValueError("a pattern needs sides and crowns above 0")
    depth, out = np.zeros(points), np.zeros(points)
    sky = _fill(cell, rays_of(directions), (float(slope_east), float(slope_north)), depth, out)
    return (out / sky if sky > 0 else np.ones(points)), sky
