"""``start``: at most twelve questions, a farm folder, and the first answer."""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from browseline.chain import Today, look
from browseline.chain import today as of_picture
from browseline.chain.desk.begin import QUESTIONS, Question, answered, begin, choice_words
from browseline.cli.at_desk import settle
from browseline.cli.options import FARM_FILE, JsonOption, NowOption, now_of
from browseline.cli.out import put, put_json, put_wrapped, waiting
from browseline.errors import BadInput, Finding, finding
from browseline.exchange.plain import document
from browseline.farm import zone as zones
from browseline.words import say

Answer = Annotated[str | None, typer.Option(show_default=False, metavar="TEXT")]


def _option(name: str) -> Any:
    return Annotated[
        str | None,
        typer.Option(f"--{name}", help=say(f"cli.start.help.{name}"), metavar="TEXT", show_default=False),
    ]


def start(
    into: Annotated[
        Path | None, typer.Option("--in", help=say("cli.start.option.folder"), show_default=False)
    ] = None,
    name: _option("name") = None,  # type: ignore[valid-type]
    head: _option("head") = None,  # type: ignore[valid-type]
    kind: _option("kind") = None,  # type: ignore[valid-type]
    klass: _option("class") = None,  # type: ignore[valid-type]
    weight: _option("weight") = None,  # type: ignore[valid-type]
    intake: _option("intake") = None,  # type: ignore[valid-type]
    area: _option("area") = None,  # type: ignore[valid-type]
    height: _option("height") = None,  # type: ignore[valid-type]
    mass_per_height: _option("mass-per-height") = None,  # type: ignore[valid-type]
    leave_at: _option("leave-at") = None,  # type: ignore[valid-type]
    share_eaten: _option("share-eaten") = None,  # type: ignore[valid-type]
    since: _option("since") = None,  # type: ignore[valid-type]
    zone: _option("zone") = None,  # type: ignore[valid-type]
    answers: Annotated[
        Path | None, typer.Option("--answers", help=say("cli.start.option.answers"), show_default=False)
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help=say("cli.start.option.yes"))] = False,
    as_json: JsonOption = False,
    now: NowOption = None,
) -> None:
    """Ask, write the farm, and say when they must move."""
    given = {
        "name": name, "head": head, "kind": kind, "class": klass, "weight": weight, "intake": intake,
        "area": area, "height": height, "mass-per-height": mass_per_height, "leave-at": leave_at,
        "share-eaten": share_eaten, "since": since,
    }  # fmt: skip
    instant = now_of(now)
    typed = _of_file(answers) | {key: text for key, text in given.items() if text is not None}
    place = zone or typed.pop("zone", None) or zones.of_machine()
    if not zones.exists(place):
        raise BadInput([finding("cli.no_zone", f"--zone {place}")])
    if not as_json:
        put(say("cli.start.zone_given" if zone else "cli.start.zone", zone=place))
    whole = _ask(typed, place)
    folder = _begun(whole, into or Path(whole["name"].replace("/", "-")), place, instant, yes)
    with waiting(say("cli.demo.looking")):
        page = of_picture(look(folder, instant))
    if as_json:
        put_json(document(page.schema, page))
    else:
        put_first(page, folder)


def _begun(answers: Mapping[str, str], folder: Path, place: str, now: datetime, sure: bool) -> Path:
    """Return the folder made of the answers, after what is hardly so was asked about."""
    try:
        return begin(answers, folder, place, now, sure=sure)
    except BadInput as wrong:
        settle(wrong.findings, sure)
    return begin(answers, folder, place, now, sure=True)


def _of_file(path: Path | None) -> dict[str, str]:
    """Return the answers of a file, each as text."""
    if path is None:
        return {}
    try:
        read = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as wrong:
        raise BadInput([finding("cli.no_answers", str(path), why=str(wrong))]) from None
    known = {question.name for question in QUESTIONS} | {"zone"}
    unknown = [key for key in read if key.replace("_", "-") not in known]
    if unknown:
        names = ", ".join(sorted(known))
        raise BadInput([finding("cli.unknown_answer", str(path), name=key, names=names) for key in unknown])
    return {key.replace("_", "-"): str(text) for key, text in read.items()}


def _ask(typed: Mapping[str, str], place: str) -> dict[str, str]:
    """Return every answer: as typed, else asked on a terminal, else a finding for each that is missing."""
    asks = sys.stdin.isatty()
    out: dict[str, str] = {}
    wrong: list[Finding] = []
    for question in QUESTIONS:
        text = typed.get(question.name)
        if text is None and asks:
            out[question.name] = _prompt(question, out, place)
            continue
        try:
            out[question.name] = answered(question, text or "", out, place)
        except BadInput as bad:
            wrong += bad.findings
    if wrong:
        raise BadInput(wrong)
    return out


def _prompt(question: Question, so_far: Mapping[str, str], place: str) -> str:
    """Ask until the answer can be used."""
    words = say(
        f"cli.start.ask.{question.name}", choices=", ".join(map(choice_words, question.choices(so_far)))
    )
    read: Callable[..., Any] = typer.prompt
    while True:
        text = str(
            read(words, default="" if question.optional else None, show_default=False, prompt_suffix=" ")
        )
        try:
            return answered(question, text, so_far, place)
        except BadInput as bad:
            for one in bad.findings:
                typer.echo(str(one), err=True)


def put_first(page: Today, folder: Path) -> None:
    """Print the first answer: by when, by which limit, and what comes after it."""
    put_wrapped(say("cli.start.made", path=folder / FARM_FILE))
    put()
    for mob in page.mobs:
        dated = [line for line in mob.lines if line.likely is not None]
        undated = [line for line in mob.lines if line.likely is None]
        for number, line in enumerate(dated[:2]):
            key = "cli.start.move" if number == 0 else "cli.start.other"
            put_wrapped(say(key, limit=line.name, when=line.when, because=line.because), "  ", "")
        for line in undated:
            put_wrapped(say("cli.start.no_answer", because=line.because), "  ", "")
    put()
    for caution in page.cautions:
        put_wrapped(say("cli.today.take_care", text=caution), "   ", "")
    put_wrapped(say("cli.start.next"))
