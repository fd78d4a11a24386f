"""How things are printed: findings, bold words on a terminal, and what is being done once it takes long."""

from __future__ import annotations

import json
import sys
import textwrap
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import typer

from browseline.errors import Finding, by_level
from browseline.words import say

if TYPE_CHECKING:
    from browseline.chain.desk.kept import Told

WIDTH = 80
PATIENCE_S = 1.0
LOG_PATIENCE_S = 10.0


def put(text: str = "") -> None:
    """Print a line."""
    typer.echo(text)


def tell(findings: Iterable[Finding]) -> None:
    """Print findings in the house form to the standard error, what stops the work first."""
    for line in told_findings(findings):
        typer.echo(line, err=True)


def told_findings(findings: Iterable[Finding]) -> Iterator[str]:
    """Yield the lines of findings, level by level under headings where there is more than one."""
    for number, (heading, some) in enumerate(by_level(findings)):
        if heading:
            yield f"\n{heading}" if number else heading
        yield from (str(found) for found in some)


def bold(text: str) -> str:
    """Return text that a terminal shows bold; anywhere else it stays as it is."""
    return typer.style(text, bold=True) if sys.stdout.isatty() else text


def wrapped(text: str, indent: str = "", first: str | None = None) -> list[str]:
    """Return lines of at most eighty signs."""
    lead = indent if first is None else first
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=lead,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def put_wrapped(text: str, indent: str = "", first: str | None = None) -> None:
    """Print text in lines of at most eighty signs."""
    for line in wrapped(text, indent, first):
        put(line)


def put_told(found: Told) -> None:
    """Print what is told after entries were kept."""
    if found.kept:
        put(found.kept)
    marks = {"cautions": "! ", "answers": None, "alarms": "! ", "asked": "? ", "changes": None}
    for part, mark in marks.items():
        for sentence in getattr(found, part):
            put_wrapped(sentence, "  ", mark)


def put_json(record: object) -> None:
    """Print the record that the pages use."""
    put(json.dumps(record, ensure_ascii=False, indent=1))


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """Show what is being done on the standard error: a terminal after a second, else one line after ten."""
    show = _spin if sys.stderr.isatty() else _tell
    done = threading.Event()
    thread = threading.Thread(target=show, args=(done, what), daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _spin(done: threading.Event, what: str) -> None:
    if done.wait(PATIENCE_S):
        return
    from rich.console import Console

    with Console(stderr=True).status(say("cli.working", what=what)):
        done.wait()


def _tell(done: threading.Event, what: str) -> None:
    if not done.wait(LOG_PATIENCE_S):
        typer.echo(say("cli.working", what=what), err=True)
