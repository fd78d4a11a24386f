"""``undo`` and ``correct``: new events that stand in the stead of old ones; nothing is rewritten."""

from __future__ import annotations

from typing import Annotated

import typer

from browseline.chain.desk.desk import Said
from browseline.chain.desk.doubts import doubts
from browseline.chain.desk.kept import entry_words, seen, told, told_of
from browseline.chain.desk.mend import corrected, entry_of, take_back
from browseline.cli.at_desk import at_desk, settle
from browseline.cli.options import FarmOption, NowOption
from browseline.cli.out import put, put_told
from browseline.words import say


def undo(
    ident: Annotated[
        str, typer.Argument(metavar="[ID]", help=say("cli.option.undo_id"), show_default=False)
    ] = "",
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    because: Annotated[
        str, typer.Option("--because", help=say("cli.option.because"), show_default=False)
    ] = "",
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Take back an entry, or the batch it came in, of this device's last 24 hours; the record keeps both."""
    with at_desk(farm, now) as at:
        before = seen(at, at.events)
        undone, events = take_back(at, ident, who, because)
        at.record.append(events)
        if len(undone) > 1:
            put(say("cli.batch.undone", count=len(undone), mark=undone[0].reason))
        else:
            put(say("cli.undone", entry=entry_words(at, undone[0])))
        put_told(told((), at, events[:1] if len(events) == 1 else (), before))


def correct(
    ident: Annotated[str, typer.Argument(metavar="ID", help=say("cli.option.correct_id"))],
    changes: Annotated[list[str], typer.Argument(metavar="FIELD=VALUE...", help=say("cli.option.changes"))],
    at_text: Annotated[str, typer.Option("--at", help=say("cli.option.at"), show_default=False)] = "",
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    because: Annotated[
        str, typer.Option("--because", help=say("cli.option.because"), show_default=False)
    ] = "",
    yes: Annotated[bool, typer.Option("--yes", help=say("cli.option.yes"))] = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Put right what an entry says; the record keeps both."""
    with at_desk(farm, now) as at:
        old = entry_of(at, ident)
        said = Said(at=at_text, who=who, because=because)
        event = corrected(at, old, changes, said)
        before = seen(at, at.events)
        settle(doubts(at, event, before, said.at), yes)
        at.record.append([event])
        put_told(told_of(at, event, before))
