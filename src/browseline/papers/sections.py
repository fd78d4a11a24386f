"""Sections of a pack as a template sets them and as plain text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from browseline.papers.fit import soft
from browseline.papers.section_form import Section


def sections_data(sections: Iterable[Section], widths: Mapping[str, Sequence[str]]) -> list[dict[str, Any]]:
    """Return the sections that say something as the template sets them, ready for JSON.

    Parameters
    ----------
    widths : mapping from a section's key to its columns' widths in the template's words
    """
    return [_data(one, widths.get(one.key, ())) for one in sections if one.lines or one.rows]


def _data(one: Section, widths: Sequence[str]) -> dict[str, Any]:
    return {
        "key": one.key, "title": one.title, "lines": [soft(line) for line in one.lines],
        "head": [soft(cell) for cell in one.head], "rows": [[soft(cell) for cell in row] for row in one.rows],
        "widths": list(widths),
    }  # fmt: skip


def sections_text(title: str, printed: str, disclaimer: str, sections: Iterable[Section]) -> str:
    """Return a paper of sections as plain text, in its order, the disclaimer first and last."""
    out = [title, printed, disclaimer]
    for one in sections:
        if one.lines or one.rows:
            out += ["", one.title, *one.lines]
            out += [" | ".join(row) for row in ((one.head, *one.rows) if one.rows else ())]
    return "\n".join([*out, "", disclaimer]) + "\n"
