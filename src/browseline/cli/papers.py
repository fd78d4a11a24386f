"""``papers``: relief sheet, season sheet, calendar and record of a period, written and kept as issued."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Annotated, cast

import typer

from browseline.chain import Picture, look
from browseline.chain.desk.times import wanted_day
from browseline.chain.in_force import plan_in_force
from browseline.cli.books import known_knocks
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, waiting
from browseline.errors import BadInput, finding
from browseline.events import Event, When, new_id
from browseline.record.store import Record
from browseline.words import say

FIELD = ("relief", "season", "calendar", "record")
WHICH = (*FIELD, "lender", "carbon", "brief")
DAYS = 3
FOLDER = "papers"


def papers(
    which: Annotated[str, typer.Argument(metavar="PAPER", help=say("cli.papers.which"))],
    days: Annotated[int, typer.Option("--days", min=1, max=31, help=say("cli.papers.days"))] = DAYS,
    out: Annotated[Path | None, typer.Option("--out", help=say("cli.papers.out"), show_default=False)] = None,
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    text: Annotated[bool, typer.Option("--text", help=say("cli.papers.text"))] = False,
    first: Annotated[str, typer.Option("--from", help=say("cli.papers.from"), show_default=False)] = "",
    last: Annotated[str, typer.Option("--to", help=say("cli.papers.to"), show_default=False)] = "",
    off: Annotated[
        list[str] | None,
        typer.Option("--off", metavar="KNOCK", help=say("cli.ledger.off"), show_default=False),
    ] = None,
    coordinates: Annotated[bool, typer.Option("--coordinates", help=say("cli.papers.coordinates"))] = False,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Write a paper, and keep what it was printed from."""
    if which not in WHICH:
        raise BadInput([finding("cli.no_paper", which)])
    folder = folder_of(farm)
    with waiting(say("cli.demo.papers")):
        picture = look(folder, now_of(now))
        span = span_of(first, last, picture.today)
        paths, words = write_paper(
            picture, which, out or folder / FOLDER, days, who, span, known_knocks(picture, off), coordinates
        )
    if as_json:
        put_json({"schema": "browseline/papers/1", "paper": which, "paths": [str(path) for path in paths]})
        return
    for path in paths:
        put(say("cli.papers.done", path=path))
    if text and words:
        put()
        put(words)


def span_of(first: str, last: str, today: date) -> tuple[date, date] | None:
    """Return the period of ``--from`` and ``--to``, its last day not included; None if neither is said.

    Raises
    ------
    BadInput
        If one is no day, or the period ends before it begins.
    """
    if not first and not last:
        return None
    ends = wanted_day(last, today, f"--to {last}") if last else today
    begins = wanted_day(first, today, f"--from {first}") if first else date(ends.year, 1, 1)
    if ends < begins:
        raise BadInput([finding("farm.reversed", "--to", first=begins, last=ends)])
    return begins, ends + timedelta(days=1)


def write_paper(
    picture: Picture,
    which: str,
    out: Path,
    days: int,
    who: str,
    span: tuple[date, date] | None = None,
    off: tuple[str, ...] = (),
    coordinates: bool = False,
) -> tuple[tuple[Path, ...], str]:
    """Write a paper and its event; return its files, and its text where it has one."""
    from browseline.exchange.plain import document
    from browseline.papers.issued import Kind, issue

    season = plan_in_force(picture)
    paper = issue(
        picture, cast("Kind", which), out, season=season, days=days, span=span, off=off, as_record=document,
        coordinates=coordinates,
    )  # fmt: skip
    at = picture.scene.local(picture.now)
    with Record.open(picture.folder) as record:
        event = Event(new_id(picture.now), record.device, who, When.at(at), at, "farm", paper.event)
        record.append([event])
    return paper.paths, paper.text
