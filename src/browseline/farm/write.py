"""Write ``farm.toml``: a whole farm, or one value among comments that stay where they are.

A file is put in place whole: after a crash it holds either the old text or the new one.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.farm.disk import write_whole
from browseline.farm.draft import ident
from browseline.farm.read import FARM, Reading, read
from browseline.farm.toml_lines import Path as Path_
from browseline.farm.toml_lines import spots_of

Key = str | int
Value = str | int | float | bool | date | Sequence[Any] | Mapping[str, Any] | None


def write_text(path: Path, text: str) -> None:
    """Put a text file in place so that a crash leaves the old or the new one, whole and on disk.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    write_whole(path, text.encode("utf-8"))


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
    return edit_all(folder, [(keys, value)], today)


def edit_all(
    folder: Path | str, changes: Sequence[tuple[Sequence[Key], Value]], today: date | None = None
) -> Reading:
    """Change values of ``farm.toml`` one after the other; the farm is checked once all are made.

    Raises
    ------
    BadInput
        As ``edit``; the file is then not touched.
    """
    path = Path(folder) / FARM
    with path.open(encoding="utf-8-sig", newline="") as file:
        text = file.read()
    for keys, value in changes:
        text = changed(text, keys, value)
    return _put(folder, text, today)


def _put(folder: Path | str, text: str, today: date | None) -> Reading:
    """Put a text in place of the farm's file if it brings no fault that is not there now."""
    before, after = read(folder, today), read(folder, today, text=text)
    told = {(found.code, found.what) for found in errors_in(before.findings)}
    new = [found for found in errors_in(after.findings) if (found.code, found.what) not in told]
    if new:
        raise BadInput(new)
    write_text(Path(folder) / FARM, text)
    return after


def add(folder: Path | str, listed: str, entry: Mapping[str, Value], today: date | None = None) -> Reading:
    """Put one more entry at the end of a list of tables, after all other text of ``farm.toml``.

    Raises
    ------
    BadInput
        If the farm would have faults that it does not have now, or the list is written in one line. The file
        is then not touched.
    """
    import tomlkit

    path = Path(folder) / FARM
    with path.open(encoding="utf-8-sig", newline="") as file:
        before = file.read()
    ending = "\r\n" if "\r\n" in before else "\n"
    made = tomlkit.dumps({listed: [dict(entry)]}).strip().replace("\n", ending)
    return _put(folder, f"{before.rstrip()}{ending * 2}{made}{ending}", today)


def changed(text: str, keys: Sequence[Key], value: Value) -> str:
    """Return a TOML text with one value changed, added or taken out; all other text stays as it is.

    Raises
    ------
    BadInput
        If the text is no TOML, or there is no table to put the value in.
    """
    from tomlkit.exceptions import TOMLKitError

    try:
        wanted = tomllib.loads(text)
        path = _apply(wanted, keys, value)
        for made in (_spliced(text, path, value), _by_tomlkit(text, keys, value)):
            if made is not None and tomllib.loads(made) == wanted:
                return made
    except (TOMLKitError, ValueError, RecursionError, TypeError) as wrong:
        raise BadInput([_no_place(keys)]) from wrong
    raise BadInput([_no_place(keys)])


def _no_place(keys: Sequence[Key]) -> Finding:
    return finding("farm.no_place_for", FARM, keys=".".join(str(key) for key in keys))


def _spliced(text: str, path: Path_, value: Value) -> str | None:
    """Return the text with the one value exchanged, its line added or taken out; None if that cannot be."""
    import tomlkit

    spots = spots_of(text)
    written = "" if value is None else tomlkit.item(value).as_string()
    if path in spots:
        key_at, value_at, end = spots[path]
        if value is not None:
            return text[:value_at] + written + text[end:]
        line_end = text.find("\n", end) + 1 or len(text)
        return text[:key_at] + text[line_end:]
    beside = [end for other, (_, _, end) in spots.items() if other[:-1] == path[:-1]]
    if value is None or not beside:
        return text if value is None else None
    line_end = text.find("\n", max(beside)) + 1 or len(text)
    before = text[:line_end] if text[:line_end].endswith("\n") else f"{text[:line_end]}\n"
    line = f"{tomlkit.key(str(path[-1])).as_string()} = {written}"
    ending = "\r\n" if before.endswith("\r\n") else "\n"
    return before + line + ending + text[line_end:]


def _by_tomlkit(text: str, keys: Sequence[Key], value: Value) -> str:
    """Return the text with the value set by tomlkit, which may put tables of one list together."""
    import tomlkit

    document = tomlkit.parse(text)
    _apply(document, keys, value)
    return tomlkit.dumps(document)


def _apply(data: Any, keys: Sequence[Key], value: Value) -> Path_:
    """Set or take out a value in nested tables; return the path to it. A table that is missing is added."""
    path: list[Key] = []
    here = data
    for key in keys[:-1]:
        if isinstance(here, list):
            key = _entry(here, key, keys)
        elif isinstance(here, dict):
            here.setdefault(key, {})
        else:
            raise BadInput([_no_place(keys)])
        here = here[key]
        path.append(key)
    if isinstance(here, list) and value is None:
        place = _entry(here, keys[-1], keys)
        del here[place]
        return (*path, place)
    if not isinstance(here, dict):
        raise BadInput([_no_place(keys)])
    if value is None:
        here.pop(keys[-1], None)
    else:
        here[keys[-1]] = value
    return (*path, keys[-1])


def _entry(entries: list[Any], key: Key, keys: Sequence[Key]) -> int:
    """Return the place of an entry of a list, named by its place or its id; as text where none has an id."""
    if isinstance(key, int) and -len(entries) <= key < len(entries):
        return key % len(entries)
    for number, entry in enumerate(entries):
        if isinstance(entry, dict) and ident(entry) == str(key):
            return number
    nameless = not any(isinstance(entry, dict) and ident(entry) for entry in entries)
    if nameless and str(key).isdecimal() and int(key) < len(entries):
        return int(key)
    raise BadInput([_no_place(keys)])
