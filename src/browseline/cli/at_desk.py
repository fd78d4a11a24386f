"""A farm with its record open for one entry of the command line, and what is asked before it is kept."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import typer

from browseline.chain.desk.desk import Desk, Said, hold
from browseline.chain.desk.doubts import doubts
from browseline.chain.desk.entry import entered
from browseline.chain.desk.kept import seen, told_of
from browseline.cli.options import folder_of, now_of
from browseline.cli.out import put_told
from browseline.errors import BadInput, Finding, errors_in, finding
from browseline.events.verbs import Entry
from browseline.words import say


@contextmanager
def at_desk(given: Path | None, now_text: str | None) -> Iterator[Desk]:
    """Hold a farm with its record open.

    Raises
    ------
    BadInput
        If there is no farm, or it cannot be used as it is.
    """
    now, folder = now_of(now_text), folder_of(given)
    with hold(folder, now) as at:
        yield at


def write_down(
    entry: Entry, words: list[str], texts: dict[str, str], said: Said, farm: Path | None, now: str | None
) -> None:
    """Keep one entry, after its doubts are settled, and tell what it changed.

    Raises
    ------
    BadInput
        If it cannot be read, or a doubt is not settled; nothing is kept then.
    """
    with at_desk(farm, now) as at:
        event = entered(entry, words, texts, at, said)
        before = seen(at, at.events)
        settle(doubts(at, event, before, said.at), said.yes)
        at.record.append([event])
        put_told(told_of(at, event, before))


def settle(found: Iterable[Finding], keep: bool) -> None:
    """Let a person keep what was questioned; errors cannot be kept.

    Raises
    ------
    BadInput
        With the errors, or with the questions that nobody answered with "keep it".
    """
    found = list(found)
    if errors_in(found):
        raise BadInput(errors_in(found))
    asked = [one for one in found if one.level == "question"]
    if not asked or keep:
        return
    if not sys.stdin.isatty():
        raise BadInput(
            [Finding(q.where, q.what, f"{q.mend} {say('cli.keep_with_yes')}", q.level, q.code) for q in asked]
        )
    for question in asked:
        if not typer.confirm(f"{question.what} {question.mend}", err=True):
            raise BadInput([finding("cli.not_kept", question.where, level="note")])
