"""``demo``: the example farm copied, and the whole chain run on it."""

from __future__ import annotations

import shutil
from datetime import datetime
from importlib import resources
from pathlib import Path
from typing import Annotated

import typer

from browseline.chain import look
from browseline.chain import today as of_picture
from browseline.chain.in_force import keep_plan
from browseline.cli.out import put, waiting
from browseline.cli.papers import DAYS, FIELD, FOLDER, write_paper
from browseline.cli.today import put_today
from browseline.errors import BadInput, errors_in, finding
from browseline.events import When
from browseline.farm.read import read
from browseline.record.join import read_copy
from browseline.record.store import Record
from browseline.record.told import when_words
from browseline.words import say

NAME = "fennick-lea"
EVENTS = "events.csv"
ITERATIONS = 12_000


def demo(
    folder: Annotated[
        Path | None, typer.Argument(metavar="[FOLDER]", help=say("cli.argument.demo"), show_default=False)
    ] = None,
    iterations: Annotated[
        int, typer.Option("--iterations", min=0, max=10_000_000, help=say("cli.season.iterations"))
    ] = ITERATIONS,
) -> None:
    """Copy the example farm, print Today, write the papers, and say what to do next."""
    target = folder or Path(NAME)
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BadInput([finding("cli.not_empty", str(target))])
    with waiting(say("cli.demo.joining")):
        now = copy_example(example(), target)
    put(say("cli.demo.copied", path=target))
    _run(target, now, iterations)


def example() -> Path:
    """Return the folder of the example farm: beside the package, or in the clone it runs from.

    Raises
    ------
    BadInput
        If this installation does not carry it.
    """
    package = Path(str(resources.files("browseline")))
    for home in (package, *package.parents[:2]):
        if (home / "examples" / NAME / "farm.toml").is_file():
            return home / "examples" / NAME
    raise BadInput([finding("cli.no_example", NAME)])


def copy_example(source: Path, target: Path) -> datetime:
    """Copy a farm with its events into a new folder; return the instant of its last event."""
    reading = read(source)
    if reading.farm is None or errors_in(reading.findings):
        raise BadInput(reading.findings)
    target.mkdir(parents=True, exist_ok=True)
    for path in sorted(source.iterdir()):
        if path.is_file() and path.name not in (EVENTS, "record.db"):
            shutil.copyfile(path, target / path.name)
    copy = read_copy(source, datetime.now().astimezone())
    with Record.open(target) as record:
        record.append_rows(copy.raws)
        seen = [event.observed.end for event in record.events() if not event.planned]
    return max(seen)


def _run(folder: Path, now: datetime, iterations: int) -> None:
    from browseline.moves.season import plan

    with waiting(say("cli.demo.looking")):
        picture = look(folder, now)
    put(say("cli.demo.at", when=when_words(When.at(now), picture.farm.time_zone)))
    put()
    put_today(of_picture(picture))
    put()
    with waiting(say("cli.demo.season")):
        keep_plan(picture, plan(picture.scene, None, iterations), "owner")
        picture = look(folder, now)
    with waiting(say("cli.demo.papers")):
        paths = [
            path for which in FIELD for path in write_paper(picture, which, folder / FOLDER, DAYS, "owner")[0]
        ]
    for path in paths:
        put(say("cli.papers.done", path=path))
    put()
    put(say("cli.demo.next"))
    stamp = picture.scene.local(now).isoformat(timespec="minutes")
    for line in (
        say("cli.demo.next_today", path=folder, now=stamp),
        say("cli.demo.next_pages", path=folder, now=stamp),
        say("cli.demo.next_why"),
        say("cli.demo.next_own"),
    ):
        put(f"  {line}")
