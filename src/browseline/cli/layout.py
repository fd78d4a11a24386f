"""``layout``: rows and trees from the map and the planting rules, drawn, listed and written for others."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from zoneinfo import ZoneInfo

import typer

from browseline.chain.laid import laid_out
from browseline.chain.layout_page import LayoutPage, page_of, source_words
from browseline.chain.parts import with_planted
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import bold, put, put_json, put_wrapped, waiting
from browseline.errors import BadInput, Finding, finding
from browseline.exchange.plain import document
from browseline.farm.disk import write_whole
from browseline.farm.names import nearest
from browseline.farm.read import read
from browseline.farm.records import Farm
from browseline.record.fold import fold
from browseline.record.state import State
from browseline.record.store import Record
from browseline.words import say

if TYPE_CHECKING:
    from browseline.layout.form import Layout

FOLDER = "papers"


def layout(
    planting: Annotated[
        list[str] | None,
        typer.Argument(metavar="PLANTING", help=say("cli.layout.planting"), show_default=False),
    ] = None,
    crews: Annotated[int, typer.Option("--crews", min=1, max=50, help=say("cli.layout.crews"))] = 1,
    out: Annotated[Path | None, typer.Option("--out", help=say("cli.papers.out"), show_default=False)] = None,
    files: Annotated[bool, typer.Option("--files/--no-files", help=say("cli.layout.files"))] = True,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Tell where trees stand or shall stand, and write drawing, planting list and maps."""
    folder, when = folder_of(farm), now_of(now)
    found, state = _farm(folder, when)
    with waiting(say("cli.layout.working")):
        made = laid_out(folder, found, state)
    wanted = _wanted(made, planting or [])
    page = page_of(found, made)
    if as_json:
        put_json(document(page.schema, page))
        return
    put_layout(page)
    if not found.shapes:
        put(say("cli.layout.no_map"))
    elif files:
        today = when.astimezone(ZoneInfo(found.time_zone)).date()
        for path in written(out or folder / FOLDER, found, made, today, crews, wanted):
            put(say("cli.papers.done", path=path))


def _farm(folder: Path, now: datetime) -> tuple[Farm, State]:
    reading = read(folder)
    if reading.farm is None:
        raise BadInput(reading.findings)
    with Record.open(folder) as record:
        state = fold(reading.farm, record.events(), now)
    return with_planted(reading.farm, state), state


def _wanted(made: Layout, typed: list[str]) -> list[str] | None:
    """Return the ids of the plantings that were named, or None for what is usual.

    Raises
    ------
    BadInput
        If there is no such planting on the map.
    """
    names = {name.casefold(): p.id for p in made.plantings for name in (p.id, p.name)}
    bad = [word for word in typed if word.casefold() not in names]
    if bad:
        known = ", ".join(p.id for p in made.plantings)
        raise BadInput([_not_laid(word, nearest(word.casefold(), names), known) for word in bad])
    return [names[word.casefold()] for word in typed] or None


def _not_laid(word: str, near: str | None, known: str) -> Finding:
    """Return the finding of a planting that is not drawn, with the nearest that is, where one is near."""
    mend = say("cli.layout.near", near=near, known=known) if near else say("cli.layout.drawn", known=known)
    return finding("cli.no_laid_planting", word, mend=mend)


def put_layout(page: LayoutPage) -> None:
    """Print the table of plantings, what stems keep off, the sums, and what is to be looked at."""
    from browseline.cli.why import put_table

    if page.rows:
        put_table(page.head, page.rows)
        put()
    for sentence in (*page.sentences, *page.kept_off):
        put_wrapped(sentence, "  ", "")
    put_wrapped(say("layout.caution"), "  ", "")
    if not page.findings:
        return
    put()
    put(bold(say("layout.mend")))
    for one in page.findings:
        put_wrapped(f"{one.where}: {one.what}", "  ", "")
        put_wrapped(one.mend, "    ", "    ")
        put_wrapped(say("layout.source", sources="; ".join(source_words(one.sources))), "    ", "    ")


def written(
    out: Path, farm: Farm, made: Layout, today: date, crews: int, wanted: list[str] | None
) -> Iterator[Path]:
    """Write drawing, planting list and maps; yield each path."""
    out.mkdir(parents=True, exist_ok=True)
    for name, content in _contents(farm, made, today, crews, wanted):
        write_whole(out / name, content)
        yield out / name


def _contents(
    farm: Farm, made: Layout, today: date, crews: int, wanted: list[str] | None
) -> Iterator[tuple[str, bytes]]:
    from browseline.exchange import tree_maps
    from browseline.papers import planting as list_of
    from browseline.papers.plan import drawing, drawing_png
    from browseline.papers.sheets import pdf

    picture = drawing(farm, made, wanted)
    yield "layout.svg", picture.svg.encode()
    yield "layout.png", drawing_png(picture)
    yield "layout.geojson", tree_maps.geojson(farm, made).encode()
    yield "layout.kml", tree_maps.kml(farm, made).encode()
    yield "layout.gpx", tree_maps.gpx(farm, made).encode()
    yield "layout.gpkg", tree_maps.geopackage(farm, made)
    if made.plantings:
        told = list_of.planting_list(farm, made, today, crews, wanted)
        yield "planting-rows.csv", list_of.rows_csv(told).encode()
        yield "planting-trees.csv", list_of.trees_csv(made, told).encode()
        yield "planting.pdf", pdf(list_of.TEMPLATE, list_of.planting_data(farm, made, told))
