"""The page Decades with its drawings: for a desk and for a phone."""

from __future__ import annotations

from dataclasses import dataclass

from browseline.chain.decades_page import DecadesPage, decades_page
from browseline.chain.look import Picture
from browseline.papers.decades_chart import decades_svg
from browseline.papers.decades_panels import lacking


@dataclass(frozen=True, slots=True)
class DecadesView:
    """The page, its chart in two widths as SVG, and the bands that have nothing to be drawn."""

    page: DecadesPage
    wide: str
    narrow: str
    lacking: tuple[str, ...]


def decades_view(picture: Picture, bad_decade: bool = False) -> DecadesView:
    """Return the page Decades of a farm, drawn."""
    page = decades_page(picture, bad_decade=bad_decade)
    return DecadesView(page, decades_svg(page), decades_svg(page, narrow=True), lacking(page))
