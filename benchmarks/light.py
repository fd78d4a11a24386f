"""How long the light map takes: farms of 10, 40 and 100 ha, one tree moved, one cell of endless rows.

    python -m benchmarks.light

prints the machine, CPU-seconds over two, the memory, the exponents in area, trees and directions, the share
of the inner loops' own speed, and the ratios to a general ray tracer (embreex, trimesh) in the same run.
"""

from __future__ import annotations

import resource
import statistics
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from benchmarks.__main__ import machine_line
from browseline.science import light_tiles as tiles
from browseline.science.light import Crowns, Directions, Grid, level_grid, light_map
from browseline.science.light_edit import light_changed, some
from browseline.science.light_fade import add_light
from browseline.science.light_ground import empty_tile, read_tile
from browseline.science.light_rows import RowPattern, row_light
from browseline.science.light_scene import rays_of
from browseline.science.light_sky import clear_global_w_m2, sky_patches, sun_and_sky, sun_times
from browseline.science.light_tiles import COLS, LANES, ROWS, STRIDE, quick

FARMS = {"10 ha/512": (316, 512), "40 ha/4,005": (632, 4005), "100 ha/10,011": (1000, 10_011)}
HOURLY_DAYS = (80, 172, 266, 355)
MONTHLY_DAYS = tuple(range(15, 366, 30))[:12]
LATITUDE, LONGITUDE = 41.0, -90.0


def farm(side_m: int, trees: int) -> tuple[Crowns, Grid]:
    """Return trees of mixed age on rolling ground, cells of 1 m."""
    luck = np.random.default_rng(1)
    x, y = np.meshgrid(np.arange(side_m), np.arange(side_m))
    ground = (4 * np.sin(x / 60) + 3 * np.cos(y / 45) + 0.02 * x).astype(np.float32)
    at_x, at_y = luck.uniform(0, side_m, (2, trees))
    foot = ground[at_y.astype(int), at_x.astype(int)].astype(np.float64)
    half = luck.uniform(2.5, 5.5, trees)
    crowns = Crowns(
        at_x, at_y, foot, half + 1.8, luck.uniform(2, 5, trees), half, luck.uniform(0.15, 0.35, trees)
    )
    return crowns, Grid(0.0, 0.0, 1.0, ground)


def directions(days: tuple[int, ...], step_min: float) -> Directions:
    """Return sun steps of some days of a year and 162 patches of sky."""
    times = sun_times(2026, days, step_min, LATITUDE, LONGITUDE)
    return sun_and_sky(times, 0.6 * clear_global_w_m2(times.zenith_deg), sky_patches())


def hourly() -> Directions:
    """Return 43 hours of sun and 162 patches: for means and for timing."""
    found = directions(HOURLY_DAYS, 60.0)
    return Directions(*(np.concatenate((values[:43], values[-162:])) for values in found))


def half_hourly() -> Directions:
    """Return 276 half hours of sun and 162 patches: for maps."""
    found = directions(MONTHLY_DAYS, 30.0)
    return Directions(*(np.concatenate((values[:276], values[-162:])) for values in found))


def cpu_s(work: Callable[[], object], times: int = 3) -> float:
    """Return the median CPU time of all threads. [s]"""
    taken = []
    for _ in range(times):
        start = time.process_time()
        work()
        taken.append(time.process_time() - start)
    return statistics.median(taken)


class LightMap:
    """Bar: 100 ha, 205 directions, two cores' CPU time over two at most 1.0 s, at most 500 MB."""

    params = tuple(FARMS)
    timeout = 300.0
    timer = time.process_time

    def setup(self, name: str) -> None:
        self.crowns, self.grid = farm(*FARMS[name])
        self.few, self.many = hourly(), half_hourly()
        light_map(self.crowns, level_grid(0, 0, 1.0, ROWS, COLS), self.few)

    def time_205_directions(self, name: str) -> None:
        light_map(self.crowns, self.grid, self.few)

    def time_438_directions(self, name: str) -> None:
        light_map(self.crowns, self.grid, self.many)

    def peakmem_438_directions(self, name: str) -> None:
        light_map(self.crowns, self.grid, self.many)


class LightSmall:
    """One tree moved on 10 ha; one cell of endless rows at 12 x 5 points. Bar of the cell: about 1 ms."""

    timeout = 120.0

    def setup(self) -> None:
        self.crowns, self.grid = farm(*FARMS["10 ha/512"])
        self.few, one = hourly(), np.arange(512) == 256
        self.kept, self.gone = some(self.crowns, ~one), some(self.crowns, one)
        self.come = self.gone._replace(x_m=self.gone.x_m + 8)
        self.light = light_map(self.crowns, self.grid, self.few)
        each = np.ones(1)
        self.cell = RowPattern(
            0.0, 5.0, 12.0, 0.0, 0 * each, 0 * each, 5 * each, 3 * each, 3.5 * each, 0.3 * each
        )
        self.time_one_tree_moved()
        self.time_a_cell_of_rows()

    def time_one_tree_moved(self) -> None:
        light_changed(self.light, self.kept, self.gone, self.come, self.grid, self.few)

    def time_a_cell_of_rows(self) -> None:
        row_light(self.cell, self.few, 0.05, -0.03, (5, 12))


# -- the inner loops alone ---------------------------------------------------------------------


@quick
def _chunks(tile: Any, count: int, e0: Any, ex: Any, ez: Any, f0: Any, fx: Any, depth: Any) -> None:
    """Run the loop of 16 cells over a tile that is in cache, over and over."""
    for n in range(count):
        at = tiles.U((n % ROWS) * STRIDE + (n % COLS))
        tiles._chunk(tile, at, e0, ex, ez, f0, fx, depth)


@quick
def _fades(tile: Any, rays: Any, count: int) -> None:
    """Turn the depths of a tile that is in cache into light, over and over."""
    for _n in range(count):
        add_light(tile, rays, 0)


def inner_loops_ns() -> tuple[float, float]:
    """Return the time of 16 cells of one crown, and of 16 cells of light. [ns]"""
    tile = read_tile(empty_tile(1), np.zeros((ROWS, COLS), np.float32), 1.0, 0, 0)
    few = [np.float32(v) for v in (-0.5, 0.05, 0.1, 0.2, 0.03, 0.01)]
    rays = rays_of(hourly())
    count, maps = 2_000_000, 3_000
    _chunks(tile, 1, *few)
    _fades(tile, rays, 1)
    chunk = cpu_s(lambda: _chunks(tile, count, *few), 5) / count
    fold = cpu_s(lambda: _fades(tile, rays, maps), 5) / (maps * ROWS * COLS / LANES)
    return 1e9 * chunk, 1e9 * fold


def least_chunks(crowns: Crowns, sky: Directions) -> tuple[float, float]:
    """Return chunks of 16 and cells that cover every shadow row by row, as on level ground."""
    chunks = cells = 0.0
    for azimuth, zenith in zip(np.radians(sky.azimuth_deg), np.radians(sky.zenith_deg), strict=True):
        along2 = crowns.radius_m**2 + (crowns.half_depth_m * np.tan(zenith)) ** 2
        across2 = crowns.radius_m**2
        high = np.sqrt(along2 * np.cos(azimuth) ** 2 + across2 * np.sin(azimuth) ** 2)
        wide = np.sqrt(along2 * across2) / high  # half-width of the middle row
        rows = np.arange(-np.ceil(high.max()), np.ceil(high.max()) + 1)[:, None]
        row_cells = 2 * wide * np.sqrt(np.maximum(1 - (rows / high) ** 2, 0))
        chunks += float(np.ceil(row_cells / LANES).sum())
        cells += float(row_cells.sum())
    return chunks, cells


# -- a general ray tracer ----------------------------------------------------------------------


def traced(crowns: Crowns, grid: Grid, sky: Directions, cells: int, rays: int) -> tuple[float, float]:
    """Return CPU time a ray of embree: any opaque hit, and the length of its way through crowns. [s]"""
    import trimesh
    from embreex.mesh_construction import TriangleMesh
    from embreex.rtcore_scene import EmbreeScene

    ball = trimesh.creation.icosphere(subdivisions=1)  # 80 faces: coarse, to its advantage
    shape = np.asarray(ball.vertices[ball.faces], np.float32)[None]
    axes = np.stack([crowns.radius_m, crowns.radius_m, crowns.half_depth_m], 1)
    middle = np.stack([crowns.x_m, crowns.y_m, crowns.ground_m + crowns.centre_m], 1)
    faces = (shape * axes[:, None, None] + middle[:, None, None]).astype(np.float32).reshape(-1, 3, 3)
    scene = EmbreeScene()
    TriangleMesh(scene, faces)
    luck = np.random.default_rng(2)
    row0 = luck.integers(0, grid.ground_m.shape[0] - cells // 500)
    row, col = (v.ravel() for v in np.mgrid[row0 : row0 + cells // 500, 250:750])  # neighbours, as in a map
    start = np.stack([col, row, grid.ground_m[row, col]], 1).astype(np.float32)
    any_s = path_s = 0.0
    for ray in np.linspace(0, len(sky.weight) - 1, rays).astype(int):
        azimuth, zenith = np.radians(sky.azimuth_deg[ray]), np.radians(sky.zenith_deg[ray])
        way = np.array([np.sin(zenith) * np.sin(azimuth), np.sin(zenith) * np.cos(azimuth), np.cos(zenith)])
        toward = np.tile(way, (len(start), 1)).astype(np.float32)
        began = time.process_time()
        scene.run(start, toward, query="OCCLUDED")
        any_s += time.process_time() - began
        began = time.process_time()
        paths(scene, start, toward)
        path_s += time.process_time() - began
    return any_s / (rays * len(start)), path_s / (rays * len(start))


def paths(scene: Any, start: Any, toward: Any) -> Any:
    """Return the way of rays through crowns: on from hit to hit, into a crown and out of it."""
    length, at, depth = np.zeros(len(start)), start.copy(), np.zeros(len(start), int)
    live = np.arange(len(start))
    while live.size:
        found = scene.run(at[live], toward[live], output=1)
        hit = found["primID"] >= 0
        live, far, facing = live[hit], found["tfar"][hit], found["Ng"][hit]
        inside = depth[live]
        length[live] += far * inside
        depth[live] += np.where((facing * toward[live]).sum(1) < 0, 1, -1)
        at[live] += toward[live] * (far + 1e-3)[:, None]
    return length


# -- one run of all ----------------------------------------------------------------------------


def exponent(small: float, large: float, times: float) -> float:
    """Return the power by which time grows."""
    return float(np.log(large / small) / np.log(times))


def map_times(name: str, few: Directions, many: Directions, repeats: int) -> float:
    """Print and return the CPU time of a farm's map. [s]"""
    crowns, grid = farm(*FARMS[name])
    short = cpu_s(lambda: light_map(crowns, grid, few), repeats)
    long = cpu_s(lambda: light_map(crowns, grid, many), repeats)
    print(f"{name}: CPU/2 {short / 2:.3f} s of 205 directions, {long / 2:.3f} s of 438")
    return short


def main(repeats: int) -> None:
    """Print every figure."""
    print(machine_line())
    few, many = hourly(), half_hourly()
    print(f"directions: {len(few.weight)} and {len(many.weight)}")
    light_map(*farm(64, 4), few)
    taken = {name: map_times(name, few, many, repeats) for name in FARMS}
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory at 100 ha, 438 directions, whole process: {peak:.0f} MB")
    ours = taken["100 ha/10,011"]
    # Area alone, trees alone, directions alone, each between two sizes of the same farm.
    crowns, grid = farm(1000, 10_011)
    dense = some(crowns, (crowns.x_m < 500) & (crowns.y_m < 500))
    quarter = grid._replace(ground_m=grid.ground_m[:500, :500])
    by_area = exponent(cpu_s(lambda: light_map(dense, quarter, few), repeats), ours, 4)
    by_trees = exponent(
        cpu_s(lambda: light_map(some(crowns, slice(None, None, 4)), grid, few), repeats), ours, 4
    )
    fewer = Directions(*(values[::4] for values in few))
    by_rays = exponent(cpu_s(lambda: light_map(crowns, grid, fewer), repeats), ours, 205 / len(fewer.weight))
    print(f"exponents: area at even trees {by_area:.2f}, trees {by_trees:.2f}, directions {by_rays:.2f}")
    chunk_ns, fold_ns = inner_loops_ns()
    chunks, cells = least_chunks(crowns, few)
    folds = grid.ground_m.size * len(few.weight) / LANES
    limit = 1e-9 * (chunks * chunk_ns + folds * fold_ns)
    packed = 1e-9 * (cells / LANES * chunk_ns + folds * fold_ns)
    print(
        f"inner loops: {chunk_ns:.2f} ns for 16 cells of a crown, {fold_ns:.2f} ns for 16 cells of light; "
        f"limit {limit:.3f} s CPU, reached {limit / ours:.0%} (were every lane full: {packed / ours:.0%})"
    )
    any_ray, path_ray = traced(crowns, grid, few, 50_000, 21)
    rays = grid.ground_m.size * len(few.weight)
    print(
        f"embree: any hit {1e9 * any_ray:.0f} ns a ray, {any_ray * rays / ours:.0f} times ours; path length "
        f"{1e9 * path_ray:.0f} ns a ray, {path_ray * rays / ours:.0f} times ours ({1e9 * ours / rays:.2f} ns)"
    )
    small = LightSmall()
    small.setup()
    print(
        f"one tree moved on 10 ha: {1e3 * cpu_s(small.time_one_tree_moved, 9):.1f} ms CPU; "
        f"a cell of endless rows: {1e3 * cpu_s(small.time_a_cell_of_rows, 9):.2f} ms"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
