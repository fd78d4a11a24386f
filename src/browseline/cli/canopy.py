"""``canopy``: light under the farm's trees in one month of one year, as tables and as a drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from browseline.chain import look
from browseline.chain.canopy_page import CanopyPage, Seen, canopy_seen, page_of
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, waiting
from browseline.exchange.plain import document
from browseline.farm.disk import write_whole
from browseline.words import say

FOLDER = "papers"
LAST_YEAR = 2400


def canopy(
    year: Annotated[
        int | None,
        typer.Option("--year", min=0, max=LAST_YEAR, help=say("cli.canopy.year"), show_default=False),
    ] = None,
    month: Annotated[
        int | None, typer.Option("--month", min=1, max=12, help=say("cli.canopy.month"), show_default=False)
    ] = None,
    out: Annotated[Path | None, typer.Option("--out", help=say("cli.papers.out"), show_default=False)] = None,
    files: Annotated[bool, typer.Option("--files/--no-files", help=say("cli.canopy.files"))] = True,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Tell the light under the trees, and draw it."""
    folder = folder_of(farm)
    with waiting(say("cli.canopy.working")):
        picture = look(folder, now_of(now))
        seen = canopy_seen(picture, year, month)
        page = page_of(picture, seen)
    if as_json:
        put_json(document(page.schema, page))
        return
    put_canopy(page)
    if files and seen is not None:
        for path in written(out or folder / FOLDER, seen):
            put(say("cli.papers.done", path=path))


def put_canopy(page: CanopyPage) -> None:
    """Print both tables and the sentences."""
    from browseline.cli.why import put_table

    for head, rows in ((page.head, page.rows), (page.strips_head, page.strips)):
        if rows:
            put_table(head, rows)
            put()
    for sentence in page.sentences:
        put_wrapped(sentence, "  ", "")


def written(out: Path, seen: Seen) -> tuple[Path, ...]:
    """Write the drawing as SVG and PNG; return their paths."""
    from browseline.papers.light_map import light_drawing
    from browseline.papers.plan import drawing_png

    out.mkdir(parents=True, exist_ok=True)
    drawn = light_drawing(seen)
    name = f"canopy-{seen.year}-{seen.month:02d}"
    contents = ((f"{name}.svg", drawn.svg.encode()), (f"{name}.png", drawing_png(drawn)))
    for file, content in contents:
        write_whole(out / file, content)
    return tuple(out / file for file, _ in contents)
