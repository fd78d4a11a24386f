"""On which line of a TOML text each table and key stands, so that a finding can say it.

The text has been read by ``tomllib`` before, so only its layout is followed here.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

Path = tuple[str | int, ...]
Spot = tuple[int, int, int]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_KEY = re.compile(r"""(?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[^"'=\]\n])+""")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})|\'\'\'.*?\'\'\'(?:\'{0,2})|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_BARE = re.compile(r"[^,\]}#\n]*")


def lines_of(text: str) -> dict[Path, int]:
    """Return the line of every table, key and array element of a valid TOML text.

    Parameters
    ----------
    text : str
        What ``tomllib.loads`` has accepted.

    Returns
    -------
    dict of path to int
        Paths such as ``("paddocks", 0, "name")``; lines count from 1. Nesting too deep to follow
        ends the list early, and a finding then names the table around.
    """
    return _walked(text).lines


def spots_of(text: str) -> dict[Path, Spot]:
    """Return where each pair of a valid TOML text stands: begin of key, begin and end of value."""
    return _walked(text).spots


def _walked(text: str) -> _Walk:
    walk = _Walk(text)
    try:
        walk.statements()
    except (RecursionError, ValueError):
        return walk
    return walk


def line_at(lines: dict[Path, int], path: Path) -> int:
    """Return the line of a path, or of the nearest table or key around it."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 1


class _Walk:
    """The place in the text, and what was passed on the way."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.line, self.counted = 1, 0
        self.lines: dict[Path, int] = {}
        self.spots: dict[Path, Spot] = {}
        self.arrays: dict[Path, int] = {}

    def statements(self) -> None:
        """Pass every table heading and every key of the text."""
        table: Path = ()
        while True:
            self._skip(_BLANK)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                table = self._heading()
            else:
                self._pair(table)

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        found = match.group() if match else ""
        self.at += len(found) if found else 0
        return found

    def _here(self) -> int:
        self.line += self.text.count("\n", self.counted, self.at)
        self.counted = self.at
        return self.line

    def _key(self) -> tuple[str, ...]:
        """Return the parts of a key, dotted or quoted."""
        inner: Any = tomllib.loads(f"{self._skip(_KEY).strip()}=0")
        parts = []
        while isinstance(inner, dict):
            ((name, inner),) = inner.items()
            parts.append(name)
        return tuple(parts)

    def _heading(self) -> Path:
        line, several = self._here(), self.text.startswith("[[", self.at)
        self.at += 2 if several else 1
        keys = self._key()
        self.at += 2 if several else 1
        path = self._resolved(keys[:-1]) + keys[-1:]
        if several:
            self.lines.setdefault(path, line)
            self.arrays[path] = self.arrays.get(path, 0) + 1
            path = (*path, self.arrays[path] - 1)
        self._note(path, line)
        return path

    def _resolved(self, keys: tuple[str, ...]) -> Path:
        """Return a path with the number of the last entry behind each array of tables."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.arrays:
                path = (*path, self.arrays[path] - 1)
        return path

    def _note(self, path: Path, line: int) -> None:
        for length in range(1, len(path) + 1):
            self.lines.setdefault(path[:length], line)

    def _pair(self, table: Path) -> None:
        line, key_at = self._here(), self.at
        path = table + self._key()
        self._note(path, line)
        self.at += 1  # the equals sign
        self._skip(_SPACE)
        value_at = self.at
        self._value(path)
        end = value_at + len(self.text[value_at : self.at].rstrip())
        self.spots[path] = (key_at, value_at, end)

    def _value(self, path: Path) -> None:
        first = self.text[self.at : self.at + 1]
        if first == "[":
            self._elements(path)
        elif first == "{":
            self._members(path)
        elif first in ('"', "'"):
            self._skip(_STRING)
        else:
            self._skip(_BARE)

    def _elements(self, path: Path) -> None:
        self.at += 1
        number = 0
        while self._more("]"):
            self.lines[(*path, number)] = self._here()
            self._value((*path, number))
            number += 1

    def _members(self, path: Path) -> None:
        self.at += 1
        while self._more("}"):
            self._pair(path)

    def _more(self, end: str) -> bool:
        """Pass blanks and a comma; return whether another element follows, else pass the end."""
        self._skip(_BLANK)
        if self.text[self.at : self.at + 1] == ",":
            self.at += 1
            self._skip(_BLANK)
        if self.at >= len(self.text):
            return False
        if self.text[self.at] == end:
            self.at += 1
            return False
        return True
