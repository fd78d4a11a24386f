"""A photo that came with a form: held in a folder of its own until its entry has been written."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from browseline.chain.desk.typed import Typed
from browseline.errors import BadInput, finding

KIND = "photographed"
_BEGINS: tuple[tuple[str, int, bytes], ...] = (
    (".jpg", 0, b"\xff\xd8\xff"),
    (".png", 0, b"\x89PNG\r\n\x1a\n"),
    (".webp", 8, b"WEBP"),
    (".heic", 4, b"ftyphei"),
    (".heic", 4, b"ftypmif"),
)
"""How the bytes of a photo begin: its ending, from which byte on, and what stands there."""


def ending_of(content: bytes) -> str:
    """Return the ending that a photo's own bytes give it; its name is not believed.

    Raises
    ------
    BadInput
        If the bytes are no photo of a kind that phones take.
    """
    for ending, at, begins in _BEGINS:
        if content[at : at + len(begins)] == begins:
            return ending
    raise BadInput([finding("access.not_a_photo", "file")])


@contextmanager
def held(content: bytes | None) -> Iterator[Path | None]:
    """Hold a photo as a file; None where none was sent."""
    if not content:
        yield None
        return
    with TemporaryDirectory() as made:
        path = Path(made) / f"photo{ending_of(content)}"
        path.write_bytes(content)
        yield path


def with_photo(command: Typed, photo: Path | None) -> Typed:
    """Return a command with the photo that came with it; no page names a file of this machine.

    Raises
    ------
    BadInput
        If it needs a photo and none came with it.
    """
    if command.entry.kind != KIND:
        return command
    if photo is None:
        raise BadInput([finding("access.no_file", "file")])
    return replace(command, words=command.words[:1], texts=command.texts | {"file": str(photo)})
