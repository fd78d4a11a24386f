"""Write ``farm.toml``: a whole farm, or one value among comments that stay where they are.

A file is put in place whole: after a crash it holds either the old text or the new one.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.farm.draft import ident
from browseline.farm.read import FARM, Reading, read

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

Key = str | int
Value = str | int | float | bool | date | Sequence[Any] | Mapping[str, Any] | None


def write_text(path: Path, text: str) -> None:
    """Put a text file in place so that a crash leaves the old or the new one, whole and on disk.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    beside = path.with_name(f".{path.name}.{os.getpid()}.new")
    with beside.open("w", encoding="utf-8", newline="") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(path)
    if os.name == "posix":
        handle = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def edit(folder: Path | str, keys: Sequence[Key], value: Value, today: date | None = None) -> Reading:
    """Change, add or take out one value of ``farm.toml``; every comment and the order stay.

    Parameters
    ----------
    folder : Path or str
        The farm folder.
    keys : sequence of str or int
        The way to the value, such as ``("paddocks", "5", "deeded")``. In a list of tables a text is the
        id of an entry, a number its place.
    value : str, int, float, bool, date, list, mapping or None
        The new value; None takes the key out.
    today : date, optional
        As in ``read``.

    Returns
    -------
    Reading
        The farm as it now reads.

    Raises
    ------
    BadInput
        If there is no such table, or the farm would have faults that it does not have now. The file
        is then not touched.
    """
    path = Path(folder) / FARM
    before = read(folder, today)
    with path.open(encoding="utf-8-sig", newline="") as file:
        text = changed(file.read(), keys, value)
    after = read(folder, today, text=text)
    told = {(found.code, found.what) for found in errors_in(before.findings)}
    new = [found for found in errors_in(after.findings) if (found.code, found.what) not in told]
    if new:
        raise BadInput(new)
    write_text(path, text)
    return after


def changed(text: str, keys: Sequence[Key], value: Value) -> str:
    """Return a TOML text with one value changed, added or taken out.

    Raises
    ------
    BadInput
        If the text is no TOML, or there is no table to put the value in.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        table = _table(document, keys[:-1])
        if value is None:
            if keys[-1] in table:
                table.remove(keys[-1])
        else:
            table[keys[-1]] = value
        made = tomlkit.dumps(document)
    except TOMLKitError as wrong:
        raise BadInput([_no_place(keys)]) from wrong
    return made


def _no_place(keys: Sequence[Key]) -> Finding:
    return finding("farm.no_place_for", FARM, keys=".".join(str(key) for key in keys))


def _table(document: TOMLDocument, keys: Sequence[Key]) -> Any:
    """Return the table that some keys lead to; a plain table that is missing is added."""
    import tomlkit

    here: Any = document
    for key in keys:
        if isinstance(here, list):
            here = _entry(here, key, keys)
        elif isinstance(here, dict):
            if key not in here:
                here[key] = tomlkit.table()
            here = here[key]
        if not isinstance(here, (dict, list)):
            raise BadInput([_no_place(keys)])
    if not isinstance(here, dict):
        raise BadInput([_no_place(keys)])
    return here


def _entry(entries: list[Any], key: Key, keys: Sequence[Key]) -> Any:
    if isinstance(key, int) and -len(entries) <= key < len(entries):
        return entries[key]
    for entry in entries:
        if isinstance(entry, dict) and ident(entry) == str(key):
            return entry
    raise BadInput([_no_place(keys)])
