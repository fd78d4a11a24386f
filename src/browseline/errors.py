"""What is wrong with what somebody gave: findings, and the two exceptions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from browseline.words import say

Level = Literal["error", "question", "note"]
LEVELS: tuple[Level, ...] = ("error", "question", "note")


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """One thing to mend: where it stands, what is wrong, how to mend it.

    ``level`` is *error* (the farm cannot be used as it is), *question* (improbable, may be kept)
    or *note* (a default was taken). ``code`` is the sentence's key without its room.
    """

    where: str
    what: str
    mend: str
    level: Level = "error"
    code: str = ""

    def __str__(self) -> str:
        indent = " " * (len(self.where) + 2)
        return f"{self.where}  {self.what}\n{indent}{self.mend}"


def finding(code: str, where: str, *, level: Level = "error", **fields: object) -> Finding:
    """Return the finding of a code, its two sentences taken from the catalogue ``findings``.

    Raises
    ------
    KeyError
        If ``findings.<code>.what`` or ``.mend`` has no words.
    """
    what = say(f"findings.{code}.what", **fields)
    mend = say(f"findings.{code}.mend", **fields)
    return Finding(where, what, mend, level, code)


def errors_in(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings that stop the work."""
    return [found for found in findings if found.level == "error"]


def by_level(findings: Iterable[Finding]) -> list[tuple[str, tuple[Finding, ...]]]:
    """Return findings by level under headings, what stops the work first; one level alone needs none."""
    found = tuple(findings)
    levels = [(level, tuple(one for one in found if one.level == level)) for level in LEVELS]
    there = [(level, some) for level, some in levels if some]
    headed = len(there) > 1
    return [(say(f"findings.level.{level}") if headed else "", some) for level, some in there]


class BadInput(Exception):
    """What a person gave cannot be used; every finding is carried, none is lost."""

    def __init__(self, findings: Sequence[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(str(found) for found in self.findings))


class BrokenRecord(Exception):
    """The record on disk is damaged or cannot be written; nothing was changed."""
