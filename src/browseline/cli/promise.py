"""``promise``: away, hay, term and what else is agreed for a stretch of days, into farm.toml."""

from __future__ import annotations

from typing import Annotated

import typer

from browseline.chain.desk.desk import Desk
from browseline.cli.at_desk import at_desk
from browseline.cli.options import FarmOption, NowOption
from browseline.cli.out import put_wrapped
from browseline.farm.records import Promise
from browseline.words import ends_words, list_words, say


def promise(
    kind: Annotated[str, typer.Argument(metavar="[KIND]", help=say("cli.argument.promise"))] = "",
    said: Annotated[
        list[str] | None, typer.Argument(metavar="[DAYS PADDOCKS…]", help=say("cli.argument.promise_days"))
    ] = None,
    what: Annotated[
        str, typer.Option("--what", help=say("cli.option.promise_what"), show_default=False)
    ] = "",
    mobs: Annotated[
        list[str] | None, typer.Option("--mob", help=say("cli.option.promise_mob"), show_default=False)
    ] = None,
    drop: Annotated[
        str, typer.Option("--drop", metavar="ID", help=say("cli.option.promise_drop"), show_default=False)
    ] = "",
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Write down what is agreed for a stretch of days; without words tell what is."""
    from browseline.chain.desk import promised

    with at_desk(farm, now) as at:
        today = at.now.astimezone(at.zone).date()
        if drop:
            promised.drop(at.folder, at.farm, drop, today)
            put_wrapped(say("cli.promise.dropped", id=drop))
        elif kind:
            after = promised.promise(
                at.folder, at.names, kind.casefold(), said or (), today, what, mobs or ()
            )
            _tell(at, after.promises[-1])
        else:
            _list(at)
        at.record.keep_files(at.now)


def _list(at: Desk) -> None:
    if not at.farm.promises:
        put_wrapped(say("cli.promise.none"))
    for one in sorted(at.farm.promises, key=lambda p: p.from_day):
        put_wrapped(say("cli.promise.line", id=one.id, **_words(at, one)))


def _tell(at: Desk, made: Promise) -> None:
    from browseline.chain.desk import promised

    put_wrapped(say("cli.promise.kept", id=made.id, **_words(at, made)))
    if not promised.nobody_moves(made):
        shut = promised.stays_shut(at, made)
        put_wrapped(say("cli.promise.shut", count=shut) if shut else say("cli.promise.again"))
        return
    falls = promised.moves_within(at, made)
    put_wrapped(say("cli.promise.falls", count=falls) if falls else say("cli.promise.nobody"))


def _words(at: Desk, one: Promise) -> dict[str, str]:
    ground = [found.name if (found := at.farm.paddock(p)) else p for p in one.paddocks]
    where = say("cli.promise.where", paddocks=list_words(ground)) if ground else ""
    first, last = ends_words(one.from_day, one.last_day, at.now.astimezone(at.zone).year)
    return {"what": one.what, "where": where, "first": first, "last": last}
