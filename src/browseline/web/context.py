"""Contexts of the pages that the library has no record for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from browseline.chain.desk.kept import Told
from browseline.errors import Finding


@dataclass(frozen=True, slots=True)
class FindingsPage:
    """What is to be mended before something can be done: errors and questions, all at once."""

    schema: str
    findings: tuple[Finding, ...]

    @classmethod
    def of(cls, found: Iterable[Finding]) -> FindingsPage:
        """Return the page of some findings."""
        return cls("browseline/findings/1", tuple(found))


@dataclass(frozen=True, slots=True)
class ToldPage:
    """What is told after an entry."""

    schema: str
    told: Told
