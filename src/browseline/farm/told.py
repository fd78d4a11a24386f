"""Findings about one text file, each with the line where it stands."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from browseline.errors import Finding, Level, finding
from browseline.farm.toml_lines import Path, line_at

LONGEST_SHOWN = 60


@dataclass(slots=True)
class Told:
    """What was found so far in a file, and on which lines its keys stand."""

    name: str = "farm.toml"
    lines: dict[Path, int] = field(default_factory=dict)
    found: list[Finding] = field(default_factory=list)

    def where(self, path: Path) -> str:
        """Return file and line of a key, or of the table around it."""
        return f"{self.name}:{line_at(self.lines, path)}" if path else self.name

    def has(self, path: Path) -> bool:
        """Return whether a key or a table was typed."""
        return path in self.lines

    def finding(self, code: str, path: Path, /, *, level: Level = "error", **fields: object) -> None:
        """Add one finding at a key."""
        self.found.append(finding(code, self.where(path), level=level, **fields))

    def placed(self, found: Finding, path: Path, prefix: str) -> None:
        """Add a finding of another part, with the line of a key in place of a prefix."""
        self.found.append(replace(found, where=self.where(path) + found.where.removeprefix(prefix)))


def shown(value: object) -> str:
    """Return what somebody typed, short enough and printable, for a sentence."""
    text = "".join(c if c.isprintable() else " " for c in str_of(value)[: LONGEST_SHOWN * 4])
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 1]}…"


def str_of(value: object) -> str:
    """Return a value as it would be typed; a whole number too long to print as "nan"."""
    try:
        return str(value)
    except ValueError:
        return "nan"
