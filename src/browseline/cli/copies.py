"""``join``, ``pack``, ``unpack``: copies of a farm put together, taken out and taken in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, tell, waiting
from browseline.errors import BadInput, finding
from browseline.exchange.plain import document
from browseline.farm.read import read
from browseline.record.join import Joined, read_entries
from browseline.record.join import join as join_folders
from browseline.record.told import tell as sentence
from browseline.words import list_words, say

FolderArgument = Annotated[Path, typer.Argument(metavar="FOLDER", help=say("cli.argument.folder"))]


def join(
    other: Annotated[Path, typer.Argument(metavar="OTHER", help=say("cli.argument.other"))],
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Take another copy, its pack, or a file of a phone's entries into this farm; the other is only read."""
    folder = folder_of(farm)
    with waiting(say("cli.demo.joining")):
        joined = _joined(folder, other, now)
    tell(joined.findings)
    if as_json:
        put_json(document("browseline/join/1", joined))
        return
    put(say("cli.join.done", new=joined.new_events))
    if not joined.new_events and not joined.files:
        put(say("cli.join.same"))
    if joined.files:
        put(say("cli.join.files", files=list_words(joined.files)))
    zone = _zone(folder)
    asked = [sentence(d, zone) for d in joined.disagreements]
    asked += [sentence(c, zone) for c in joined.clashes]
    asked += [sentence(q, zone) for q in joined.questions]
    for words in asked:
        put_wrapped(say("cli.today.ask", text=words), "  ", "")


def _joined(folder: Path, other: Path, now: str | None) -> Joined:
    if not other.is_file():
        return join_folders(folder, other, now_of(now))
    with other.open("rb") as file:
        if file.read(1) == b"{":
            return join_folders(folder, read_entries(other), now_of(now))
    import tempfile

    from browseline.exchange.pack import unpack as unpack_pack

    with tempfile.TemporaryDirectory() as beside:
        unpack_pack(other, Path(beside) / "pack", now_of(now))
        return join_folders(folder, Path(beside) / "pack", now_of(now))


def _zone(folder: Path) -> str:
    found = read(folder).farm
    return found.time_zone if found is not None else "UTC"


def pack(
    out: Annotated[Path, typer.Argument(metavar="OUT.zip", help=say("cli.argument.pack"))],
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Write the whole farm into one file of open formats."""
    from browseline.exchange.pack import pack as write_pack

    folder = folder_of(farm)
    if out.is_dir():
        raise BadInput([finding("cli.taken", str(out))])
    made = write_pack(folder, out, now_of(now))
    put(say("cli.pack.done", farm=folder.name, files=made.files, events=made.events, path=made.path))


def unpack(
    pack_file: Annotated[Path, typer.Argument(metavar="PACK.zip", help=say("cli.argument.pack_in"))],
    folder: FolderArgument,
    now: NowOption = None,
) -> None:
    """Make a farm folder from a pack."""
    from browseline.exchange.pack import unpack as read_pack

    joined = read_pack(pack_file, folder, now_of(now))
    tell(joined.findings)
    put(say("cli.unpack.done", events=joined.new_events, path=folder))
