"""The options that verbs share."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from browseline.errors import BadInput, finding
from browseline.words import say

FARM_FILE = "farm.toml"

FarmOption = Annotated[
    Path | None, typer.Option("--farm", metavar="PATH", envvar="BROWSELINE_FARM", help=say("cli.option.farm"))
]
NowOption = Annotated[str | None, typer.Option("--now", envvar="BROWSELINE_NOW", hidden=True)]
JsonOption = Annotated[bool, typer.Option("--json", help=say("cli.option.json"))]


def now_of(text: str | None) -> datetime:
    """Return the instant of this run: as given, or the machine's clock.

    Raises
    ------
    BadInput
        If the text is no instant with an offset.
    """
    if not text:
        return datetime.now(UTC)
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        read = None
    if read is None or read.tzinfo is None:
        raise BadInput([finding("cli.no_instant", f"--now {text}")])
    return read


def folder_of(given: Path | None) -> Path:
    """Return the farm's folder: as given, or the nearest above that holds a farm.

    Raises
    ------
    BadInput
        If there is none.
    """
    start = (given or Path.cwd()).resolve()
    if given is not None:
        start = start.parent if start.name == FARM_FILE else start
        if (start / FARM_FILE).is_file():
            return start
        raise BadInput([finding("cli.no_farm_there", str(given))])
    for folder in (start, *start.parents):
        if (folder / FARM_FILE).is_file():
            return folder
    raise BadInput([finding("cli.no_farm", str(Path.cwd()))])
