"""A look at ``terrain.tif``: one band of elevations that says where on earth it lies."""

from __future__ import annotations

import warnings
from pathlib import Path

from browseline.errors import Finding, finding

TIFF = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")
MOST_CELLS = 400_000_000


def check_terrain(path: Path) -> tuple[Finding, ...]:
    """Return what keeps an elevation grid from being used.

    Parameters
    ----------
    path : Path
        A GeoTIFF. Only its heading is read.
    """
    with path.open("rb") as file:
        begins = file.read(4)
    if begins not in TIFF:
        return (finding("terrain.no_tiff", path.name),)
    import rasterio
    from rasterio.errors import NotGeoreferencedWarning, RasterioError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", NotGeoreferencedWarning)
            with rasterio.open(path, driver="GTiff") as grid:
                bands, crs, cells = grid.count, grid.crs, grid.width * grid.height
    except RasterioError:
        return (finding("terrain.no_tiff", path.name),)
    found = []
    if bands != 1:
        found.append(finding("terrain.bands", path.name, bands=bands))
    if crs is None:
        found.append(finding("terrain.no_crs", path.name))
    if cells > MOST_CELLS:
        found.append(finding("terrain.too_big", path.name, cells=f"{cells:,}"))
    return tuple(found)
