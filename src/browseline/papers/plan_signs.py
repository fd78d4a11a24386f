"""The signs of a drawing of rows: lines, fills, letters and stems, told by shape and dash in greys."""

from __future__ import annotations

from xml.sax.saxutils import escape

MARK = {"gate": "G", "water": "W", "energiser": "E", "hazard": "!"}
DASH = {
    "boundary": ("#000000", 1.6, "14 4 3 4"),
    "paddock": ("#000000", 1.1, ""),
    "keep_out": ("#000000", 1.0, "2 3"),
    "yard": ("#000000", 1.0, "6 3"),
    "sacrifice": ("#000000", 1.0, "6 3"),
    "lane": ("#c4c4c4", 7.0, ""),
    "building": ("#000000", 1.0, ""),
    "overhead_line": ("#000000", 1.4, "12 3 2 3"),
    "buried_line": ("#000000", 1.4, "2 4"),
    "fence": ("#000000", 1.0, "10 4"),
    "hazard": ("#000000", 1.0, "1 3"),
}
"""Stroke, its width and its dashes by kind of shape."""
FILL = {"building": "#8a8a8a", "keep_out": "#f1f1f1", "yard": "#f1f1f1", "sacrifice": "#f1f1f1"}
STEMS = ("disc", "ring", "triangle", "square", "diamond", "cross", "open_square", "open_triangle")


def text(x: float, y: float, words: str, more: str = "") -> str:
    """Return words at a place of the sheet; what people typed stays data. [pt]"""
    return f'<text x="{x:.1f}" y="{y:.1f}" {more}>{escape(words)}</text>'


def paint(sign: str, size: float) -> str:
    """Return how a stem's sign is filled and drawn."""
    thin = max(size / 3.5, 0.5)
    if sign in ("ring", "open_square", "open_triangle"):
        return f'fill="white" stroke="black" stroke-width="{thin:.2f}"'
    if sign == "cross":
        return f'fill="none" stroke="black" stroke-width="{1.4 * thin:.2f}"'
    return 'fill="black"'


def stem(sign: str, x: float, y: float, r: float) -> str:
    """Return the outline of a stem's sign of a size about a place. [pt]"""
    if sign in ("disc", "ring"):
        return (
            f"M{x - r:.2f} {y:.2f}a{r:.2f} {r:.2f} 0 1 0 {2 * r:.2f} 0a{r:.2f} {r:.2f} 0 1 0 {-2 * r:.2f} 0Z"
        )
    if sign in ("square", "open_square"):
        a = 0.9 * r
        return f"M{x - a:.2f} {y - a:.2f}h{2 * a:.2f}v{2 * a:.2f}h{-2 * a:.2f}Z"
    if sign in ("triangle", "open_triangle"):
        return f"M{x:.2f} {y - 1.2 * r:.2f}L{x + r:.2f} {y + 0.7 * r:.2f}H{x - r:.2f}Z"
    if sign == "diamond":
        a = 1.2 * r
        return f"M{x:.2f} {y - a:.2f}L{x + a:.2f} {y:.2f}L{x:.2f} {y + a:.2f}L{x - a:.2f} {y:.2f}Z"
    return f"M{x - r:.2f} {y - r:.2f}l{2 * r:.2f} {2 * r:.2f}m0 {-2 * r:.2f}l{-2 * r:.2f} {2 * r:.2f}"


def letter(x: float, y: float, sign: str) -> str:
    """Return a letter in a box: a gate, water, the energiser, a hazard. [pt]"""
    box = (
        f'<rect x="{x - 6:.1f}" y="{y - 7:.1f}" width="12" height="14" fill="white" stroke="black" '
        'stroke-width="0.7"/>'
    )
    return box + text(x, y + 4, sign, 'text-anchor="middle" font-size="11" font-weight="700"')


def sample(sign: str, x: float, y: float) -> str:
    """Return a sign as the legend shows it. [pt]"""
    if sign in STEMS:
        return f'<path d="{stem(sign, x, y, 5)}" {paint(sign, 5)}/>'
    if sign == "strip":
        line = f"M{x - 14} {y}h28"
        thick = f'<path d="{line}" stroke="#e2e2e2" stroke-width="9"/>'
        return f'{thick}<path d="{line}" stroke="#777777" stroke-width="0.5"/>'
    mark = MARK.get(sign.removeprefix("mark_"))
    if mark:
        return letter(x, y, mark)
    stroke, wide, dash = DASH[sign]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    if sign in FILL:
        return (
            f'<rect x="{x - 13}" y="{y - 6}" width="26" height="12" fill="{FILL[sign]}" stroke="{stroke}" '
            f'stroke-width="{wide}"{dashes}/>'
        )
    return f'<path d="M{x - 14} {y}h28" fill="none" stroke="{stroke}" stroke-width="{wide}"{dashes}/>'
