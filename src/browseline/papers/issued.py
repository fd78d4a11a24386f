"""Issuing a paper: its files, and the event that lets it be printed again as it was.

What is kept is what was printed: every word as it stood, the template's edition, the instant, the
program's version and the edition of the tables. A later catalogue or table changes no old paper.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from hashlib import sha256
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from browseline import __version__
from browseline.chain.in_force import judged_plan
from browseline.chain.look import Picture
from browseline.chain.period import as_csv, as_text, period
from browseline.chain.season_page import season_page
from browseline.events.bodies import Issued
from browseline.farm.disk import write_whole
from browseline.moves.form import Season
from browseline.papers.brief_print import brief_context
from browseline.papers.calendar import ics
from browseline.papers.evidence_print import evidence_context
from browseline.papers.lender_print import AsRecord, lender_context
from browseline.papers.plain import message, parts
from browseline.papers.planner_print import planner_context
from browseline.papers.relief import relief
from browseline.papers.season import season_sheet
from browseline.papers.season_print import TEMPLATE, season_data, season_text
from browseline.papers.sheets import RELIEF, pdf, relief_data

Kind = Literal["relief", "season", "calendar", "record", "lender", "carbon", "brief", "planner"]
KINDS: tuple[Kind, ...] = (
    "relief", "season", "calendar", "record", "lender", "carbon", "brief", "planner",
)  # fmt: skip


BESIDE = (("lender", "page"),)
"""What is kept as a file and not in the record, for it is long: by kind, part of the context."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A paper as it was issued.

    Attributes
    ----------
    paths : tuple of Path
        The readable copies.
    kept : tuple of Path
        The same under their hashes in the farm's ``files``.
    text : str
        The paper as plain text, if it has one; ``messages`` is how many text messages it takes.
    event : Issued
        For the record: appended by the caller.
    """

    kind: Kind
    paths: tuple[Path, ...]
    kept: tuple[Path, ...]
    text: str
    messages: int
    event: Issued


def issue(
    picture: Picture,
    kind: Kind,
    folder: Path | str,
    *,
    season: Season | None = None,
    days: int = 3,
    span: tuple[date, date] | None = None,
    off: Sequence[str] = (),
    as_record: AsRecord | None = None,
    coordinates: bool = False,
) -> Paper:
    """Write a paper: under its hash in the farm's ``files``, and under a readable name in ``folder``.

    Parameters
    ----------
    kind : str
        relief, season, calendar, record, lender, carbon, brief or planner.
    folder : path
        Where the readable copies go.
    season : Season, optional
        The plan in force.
    days : int
        Days after today that a relief sheet covers.
    span : (first, last), optional
        The period of a record, also of that in a planner's plan, its last day not included; by default this
        year up to today.
    off : sequence of str
        Knocks of the money plan that a lender pack leaves out.
    as_record : callable, optional
        Turns a pack into lists and texts, for its JSON.
    coordinates : bool
        Whether a carbon pack tells longitudes and latitudes.
    """
    if kind == "lender":
        context = lender_context(picture, off, as_record)
    elif kind == "carbon":
        context = evidence_context(picture, edition(), as_record, coordinates=coordinates)
    elif kind == "brief":
        context = brief_context(picture, as_record)
    elif kind == "planner":
        context = planner_context(picture, season, span, as_record)
    else:
        context = _context(picture, kind, season, days, span)
    files = print_again(context)
    out = Path(folder)
    store = picture.folder / "files"
    for place in (out, store):
        place.mkdir(parents=True, exist_ok=True)
    name = f"{kind} {picture.today.isoformat()}"
    paths, kept = [], []
    for ending, content in files.items():
        paths.append(out / f"{name}.{ending}")
        kept.append(store / f"{sha256(content).hexdigest()}.{ending}")
        write_whole(kept[-1], content)
        write_whole(paths[-1], content)
    text = str(context.get("text", ""))
    printed = {name: part for name, part in context.items() if (kind, name) not in BESIDE}
    event = Issued(
        kind,
        json.dumps(printed, ensure_ascii=False, sort_keys=True, separators=(",", ":")),
        __version__,
        edition(),
        " ".join(path.name for path in kept),
    )
    return Paper(kind, tuple(paths), tuple(kept), text, parts(text) if text else 0, event)


def reprint(event: Issued, files: Path | None = None) -> dict[str, bytes]:
    """Return the files of an issued paper by their endings, from what was kept of it alone.

    Parameters
    ----------
    files : Path, optional
        The farm's ``files``: what is too long for the record is read there, if it is what was issued.
    """
    return print_again(context_of(event, files))


def context_of(event: Issued, files: Path | None = None) -> dict[str, Any]:
    """Return what an issued paper was printed from; ``files`` as in ``reprint``."""
    context: dict[str, Any] = json.loads(event.context)
    for kind, part in BESIDE:
        if kind == event.paper and part not in context and files is not None:
            context |= _beside(event, files, part)
    return context


def _beside(event: Issued, files: Path, part: str) -> dict[str, Any]:
    """Return the part of a context that a file holds; nothing where the file is gone or another."""
    for name in event.file.split():
        path = files / name
        if path.suffix == ".json" and path.is_file():
            content = path.read_bytes()
            if sha256(content).hexdigest() == path.stem:
                return {part: json.loads(content)}
    return {}


def print_again(context: dict[str, Any]) -> dict[str, bytes]:
    """Return the files of a context: the same bytes whenever it is asked."""
    files: dict[str, bytes] = {}
    if "template" in context:
        files["pdf"] = pdf(context["template"], context["data"])
    if "text" in context:
        files["txt"] = context["text"].encode("utf-8")
    if "table" in context:
        files["csv"] = context["table"].encode("utf-8")
    if "page" in context:
        whole = json.dumps(context["page"], ensure_ascii=False, sort_keys=True, separators=(",", ":"))
        files["json"] = whole.encode("utf-8")
    if "calendar" in context:
        files["ics"] = context["calendar"].encode("utf-8")
    return files


def _context(
    picture: Picture, kind: Kind, season: Season | None, days: int, span: tuple[date, date] | None
) -> dict[str, Any]:
    if kind == "record":
        return _record(picture, span)
    if kind == "calendar":
        return {"schema": "browseline/calendar/1", "calendar": ics(picture, season).decode("utf-8")}
    if kind == "season":
        asked = None if season is judged_plan(picture) else season
        plan = season_sheet(picture, season, season_page(picture, asked) if season is not None else None)
        return {
            "schema": plan.schema, "template": TEMPLATE, "made": plan.made.isoformat(),
            "data": season_data(plan), "text": season_text(plan),
        }  # fmt: skip
    sheet = relief(picture, days, season)
    return {
        "schema": sheet.schema, "template": RELIEF, "made": sheet.made.isoformat(),
        "data": relief_data(sheet), "text": message(sheet),
    }  # fmt: skip


def _record(picture: Picture, span: tuple[date, date] | None) -> dict[str, Any]:
    first, last = span or (date(picture.today.year, 1, 1), picture.today + timedelta(days=1))
    made = period(picture, first, last)
    at = picture.scene.local(picture.now)
    return {"schema": made.schema, "made": at.isoformat(), "table": as_csv(made), "text": as_text(made)}


@cache
def edition() -> str:
    """Return the edition of the tables: one hash over every file of ``data``, names included."""
    total = sha256()
    folder = resources.files("browseline") / "data"
    for path in sorted((p for p in folder.iterdir() if p.name.endswith(".csv")), key=lambda p: p.name):
        total.update(path.name.encode())
        total.update(path.read_bytes())
    return total.hexdigest()
