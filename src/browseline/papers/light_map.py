"""The light under a farm's trees as a drawing: greys by class, paddocks, scale bar, north, legend in words.

Darker is less light, in six steps that stay apart in a grey print. The drawing holds no place on Earth.
The same facts stand in the page's tables.
"""

from __future__ import annotations

import base64
import math
import struct
import zlib
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from browseline.chain.canopy_page import Seen
from browseline.farm.records import Shape
from browseline.papers.plan import (
    EDGE,
    HEAD,
    LINE,
    WIDE,
    Drawing,
    Sheet,
    clip,
    labels,
    north_arrow,
    path_of,
    scale_bar,
    sheet_of,
    svg,
)
from browseline.papers.plan_signs import text
from browseline.words import say

CLASSES = ((0.95, 255), (0.85, 222), (0.70, 184), (0.50, 140), (0.30, 92), (0.0, 36))
"""The least light of each class and its grey, 0 black to 255 white."""
STEM_PT = 1.1
PNG_HEAD = b"\x89PNG\r\n\x1a\n"
BODY_PT = 13


def light_drawing(seen: Seen) -> Drawing:
    """Return the light map of a month, drawn."""
    from browseline.layout.plane import plane_of

    plane = plane_of(seen.farm.shapes)
    sheet, shapes = sheet_of(seen.farm, seen.layout, plane, None)
    fields = {"farm": seen.farm.name, "month": say(f"dates.month.{seen.month}"), "year": seen.year}
    says = say("canopy.drawing.says", **fields)
    title = say("canopy.drawing.title", **fields)
    parts = [clip(sheet), _raster(seen, sheet), *_outlines(shapes, sheet), *_stems(seen, sheet), "</g>"]
    parts += [*labels([s for s in shapes if s[0].kind == "paddock"], sheet, seen.farm)]
    bottom = HEAD + sheet.deep + 16
    parts.append(text(EDGE, 28, title, 'font-size="20" font-weight="700"'))
    parts += [
        north_arrow(WIDE - EDGE - 16, 22),
        *scale_bar(seen.farm, sheet, bottom, say("canopy.drawing.beside")),
    ]
    top = bottom + 58
    entries = [*classes(), ("stem", say("canopy.drawing.stem"))]
    for number, (grey, words) in enumerate(entries):
        parts += _entry(grey, words, divmod(number, math.ceil(len(entries) / 2)), top)
    deep = top + math.ceil(len(entries) / 2) * LINE + 8
    return Drawing(svg(parts, deep, says), WIDE, deep, says)


def greys(light_frac: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Return the grey of each cell, same shape, 0 black to 255 white.

    Parameters
    ----------
    light_frac : array
        0 to 1. [1]
    """
    out = np.zeros(light_frac.shape, np.uint8)
    for least, grey in reversed(CLASSES):
        out[light_frac >= least] = grey
    return out


def grey_png(cells: NDArray[np.uint8]) -> bytes:
    """Return cells of grey as PNG, the first row uppermost.

    Parameters
    ----------
    cells : array of uint8, shape (row, col)
        0 black to 255 white.

    References
    ----------
    PNG, third edition: signature, IHDR of eight bits grey, one IDAT with filter 0 a row, IEND
    """
    rows, cols = cells.shape
    lines = np.concatenate([np.zeros((rows, 1), np.uint8), cells], axis=1).tobytes()
    head = struct.pack(">IIBBBBB", cols, rows, 8, 0, 0, 0, 0)
    return PNG_HEAD + _chunk(b"IHDR", head) + _chunk(b"IDAT", zlib.compress(lines, 9)) + _chunk(b"IEND", b"")


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def _raster(seen: Seen, sheet: Sheet) -> str:
    """Return the map's cells as an image on the sheet."""
    grid = seen.cells.grid
    rows, cols = grid.ground_m.shape
    x, y = sheet.at(grid.x_m - grid.cell_m / 2, grid.y_m + grid.cell_m * (rows - 0.5))
    data = base64.b64encode(grey_png(greys(seen.map.light_frac)[::-1])).decode()
    side = grid.cell_m * sheet.scale
    return (
        f'<image x="{x:.2f}" y="{y:.2f}" width="{cols * side:.2f}" height="{rows * side:.2f}" '
        f'preserveAspectRatio="none" style="image-rendering:pixelated" '
        f'href="data:image/png;base64,{data}"/>'
    )


def _outlines(shapes: Sequence[tuple[Shape, Any]], sheet: Sheet) -> Iterator[str]:
    for shape, geometry in shapes:
        if shape.kind in ("paddock", "building"):
            fill = "#8a8a8a" if shape.kind == "building" else "none"
            yield f'<path d="{path_of(geometry, sheet)}" fill="{fill}" stroke="black" stroke-width="1.1"/>'


def _stems(seen: Seen, sheet: Sheet) -> Iterator[str]:
    """Yield the stems of standing trees as dots that show on black and on white."""
    spots = [sheet.at(float(e), float(n)) for e, n in zip(seen.there.east_m, seen.there.north_m, strict=True)]
    r = STEM_PT
    path = "".join(
        f"M{x - r:.1f} {y:.1f}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0Z" for x, y in spots
    )
    if path:
        yield f'<path d="{path}" fill="black" stroke="white" stroke-width="0.5"/>'


def classes() -> Iterator[tuple[str, str]]:
    """Yield grey and words of each class, the lightest first."""
    top = 100.0
    for least, grey in CLASSES:
        fill, low = f"#{grey:02x}{grey:02x}{grey:02x}", 100 * least
        key = "most" if top == 100.0 else "least" if least == 0 else "between"
        yield fill, say(f"canopy.drawing.{key}", low=f"{low:.0f}", high=f"{top:.0f}")
        top = low


def _entry(grey: str, words: str, place: tuple[int, int], top: float) -> Iterator[str]:
    x, y = EDGE + place[0] * (WIDE / 2), top + place[1] * LINE
    if grey == "stem":
        yield f'<circle cx="{x + 14}" cy="{y}" r="2.5" fill="black" stroke="white" stroke-width="0.5"/>'
    else:
        yield f'<rect x="{x}" y="{y - 8}" width="28" height="15" fill="{grey}" stroke="black"/>'
    yield text(x + 38, y + 5, words, f'font-size="{BODY_PT}"')
