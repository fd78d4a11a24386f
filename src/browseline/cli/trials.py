"""``try`` and ``compare``: edits on a copy, the same land as something else, designs side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, waiting
from browseline.words import say

if TYPE_CHECKING:
    from browseline.ledger.account import Account

MOST_YEARS, MOST_MEMBERS = 150, 1000
MEMBERS = 101
Edits = Annotated[
    list[str] | None, typer.Option("--set", metavar="EDIT", help=say("cli.try.set"), show_default=False)
]
Years = Annotated[
    int | None,
    typer.Option("--years", min=1, max=MOST_YEARS, help=say("cli.decades.years"), show_default=False),
]
Members = Annotated[int, typer.Option("--members", min=1, max=MOST_MEMBERS, help=say("cli.decades.members"))]


def try_(
    folder: Annotated[
        Path | None, typer.Argument(metavar="[FARM]", help=say("cli.argument.try"), show_default=False)
    ] = None,
    edits: Edits = None,
    short: Annotated[bool, typer.Option("--short", help=say("cli.try.short"))] = False,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Make edits on a copy and tell what they change; the farm itself stays as it is."""
    from browseline.trials.try_page import try_ as tried

    with waiting(say("cli.try.working")):
        page = tried(folder_of(folder or farm), tuple(edits or ()), now_of(now), ahead=not short)
    _put(page, as_json)


def compare(
    designs: Annotated[
        list[str] | None,
        typer.Argument(metavar="[FARM_OR_DESIGN …]", help=say("cli.argument.compare"), show_default=False),
    ] = None,
    locks: Annotated[
        list[str] | None,
        typer.Option("--lock", metavar="EDIT", help=say("cli.compare.lock"), show_default=False),
    ] = None,
    by: Annotated[str, typer.Option("--by", help=say("cli.compare.by"), show_default=False)] = "",
    years: Years = None,
    members: Members = MEMBERS,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Set the land against itself in other uses; or farms and designs against one another."""
    folder = folder_of(Path(designs[0]) if designs and farm is None and _all_farms(designs) else farm)
    if not designs:
        from browseline.trials.same_land import same_land_at

        with waiting(say("cli.compare.working")):
            page = same_land_at(folder, now_of(now), years, members)
        _put(page, as_json, (page.less_head, page.less_rows), (page.saves, page.for_us))
        return
    from browseline.trials.compare import compare as compared
    from browseline.trials.lands import by_of

    with waiting(say("cli.compare.working")):
        made = compared(
            folder, designs, now_of(now), locks=tuple(locks or ()), years=years, members=members, by=by_of(by)
        )
    _put(made, as_json, (made.less_head, made.less_rows))


def _all_farms(designs: list[str]) -> bool:
    """Return whether every design is a folder of a farm."""
    return all((Path(one) / "farm.toml").is_file() for one in designs)


def _put(
    page: Account, as_json: bool, less: tuple[tuple[str, ...], tuple[tuple[str, ...], ...]] | None = None,
    more: tuple[tuple[str, ...], ...] = (),
) -> None:  # fmt: skip
    """Print sentences, the table, the table of differences, and further sentences; or the record."""
    from browseline.cli.why import put_table
    from browseline.exchange.plain import document

    if as_json:
        put_json(document(page.schema, page))
        return
    for sentence in page.sentences:
        put_wrapped(sentence, "  ", "")
    for head, rows in ((page.head, page.rows), less or ((), ())):
        if rows:
            put()
            put_table(head, rows)
    for sentences in more:
        put()
        for sentence in sentences:
            put_wrapped(sentence, "  ", "")
