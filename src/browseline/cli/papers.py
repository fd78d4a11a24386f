"""``papers``: relief sheet, season sheet, calendar and record of a period, written and kept as issued."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Annotated, cast
from zoneinfo import ZoneInfo

import typer

from browseline.chain import Picture, look
from browseline.chain.desk.times import past_day
from browseline.chain.in_force import judged_plan, plan_in_force
from browseline.cli.books import known_knocks
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, waiting
from browseline.errors import BadInput, finding
from browseline.events import Event, Issued, When, new_id
from browseline.record.store import Record
from browseline.words import say

FIELD = ("relief", "season", "calendar", "record")
WHICH = (*FIELD, "lender", "carbon", "brief", "planner")
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
    again: Annotated[
        str, typer.Option("--again", metavar="DAY", help=say("cli.papers.again"), show_default=False)
    ] = "",
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Write a paper, and keep what it was printed from."""
    if which not in WHICH:
        raise BadInput([finding("cli.no_paper", which, known=", ".join(WHICH))])
    folder = folder_of(farm)
    if again:
        _put_again(folder, which, again, now_of(now), out or folder / FOLDER, as_json)
        return
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


def _put_again(folder: Path, which: str, day: str, now: datetime, out: Path, as_json: bool) -> None:
    """Print a paper again as it was issued on a day, from what was kept of it alone.

    Raises
    ------
    BadInput
        If none was issued on that day, or the day is no day.
    """
    from browseline.farm.disk import write_whole
    from browseline.papers.issued import context_of, reprint

    event, body = _issued(folder, which, day, now)
    files = reprint(body, folder / "files")
    out.mkdir(parents=True, exist_ok=True)
    paths = [out / f"{which} {event.observed.start.date().isoformat()}, again.{ending}" for ending in files]
    for path, content in zip(paths, files.values(), strict=True):
        write_whole(path, content)
    if as_json:
        told = {"issued": event.observed.start.isoformat(), "program": body.program, "tables": body.tables}
        kept = context_of(body, folder / "files")
        whole = {"schema": "browseline/papers-again/1", "paper": which, **told, "context": kept}
        put_json({**whole, "paths": [str(path) for path in paths]})
        return
    for path in paths:
        put(say("cli.papers.done", path=path))


def _issued(folder: Path, which: str, day: str, now: datetime) -> tuple[Event, Issued]:
    """Return the last paper of a kind that was issued on a day."""
    from browseline.farm.read import read

    farm = read(folder).farm
    zone = ZoneInfo(farm.time_zone) if farm is not None else now.tzinfo
    wanted = past_day(day, now.astimezone(zone).date(), f"--again {day}")
    with Record.open(folder) as record:
        events = record.events()
    papers = [(e, e.body) for e in events if isinstance(e.body, Issued) and e.body.paper == which]
    days = [event.observed.start.astimezone(zone).date() for event, _ in papers]
    if wanted not in days:
        there = ", ".join(dict.fromkeys(one.isoformat() for one in days)) or say("cli.papers.none")
        where = f"--again {day}"
        raise BadInput([finding("cli.no_issued", where, paper=which, day=wanted.isoformat(), days=there)])
    return papers[len(days) - 1 - days[::-1].index(wanted)]


def span_of(first: str, last: str, today: date) -> tuple[date, date] | None:
    """Return the period of ``--from`` and ``--to``, its last day not included; None if neither is said.

    Raises
    ------
    BadInput
        If one is no day, or the period ends before it begins.
    """
    if not first and not last:
        return None
    ends = past_day(last, today, f"--to {last}") if last else today
    begins = past_day(first, today, f"--from {first}") if first else date(ends.year, 1, 1)
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

    season = judged_plan(picture) if which == "season" else plan_in_force(picture)
    paper = issue(
        picture, cast("Kind", which), out, season=season, days=days, span=span, off=off, as_record=document,
        coordinates=coordinates,
    )  # fmt: skip
    at = picture.scene.local(picture.now)
    with Record.open(picture.folder) as record:
        event = Event(new_id(picture.now), record.device, who, When.at(at), at, "farm", paper.event)
        record.append([event])
    return paper.paths, paper.text
