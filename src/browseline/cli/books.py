"""``ledger`` and ``carbon``: the books of money and of gases, in sentences and a table, or as a record."""

from __future__ import annotations

from typing import Annotated

import typer

from browseline.chain.look import Picture, look
from browseline.chain.money_ahead import money_given
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, waiting
from browseline.cli.why import CELL, put_folds, put_table
from browseline.errors import BadInput, finding
from browseline.exchange.plain import document
from browseline.ledger.account import Account
from browseline.ledger.carbon_page import carbon_account
from browseline.ledger.money_page import money_account
from browseline.words import list_words, say


def ledger(
    off: Annotated[
        list[str] | None,
        typer.Option("--off", metavar="KNOCK", help=say("cli.ledger.off"), show_default=False),
    ] = None,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Tell the money ahead, the deepest hole first, with what could go wrong switched on or off."""
    with waiting(say("cli.demo.looking")):
        picture = look(folder_of(farm), now_of(now))
        page = money_account(picture.scene, picture.events, known_knocks(picture, off), money_given(picture))
    _put(page, as_json)
    if not as_json:
        put_folds(page.folds, page.closing)


def known_knocks(picture: Picture, off: list[str] | None) -> tuple[str, ...]:
    """Return the knocks that are switched off.

    Raises
    ------
    BadInput
        If the money plan has no such knock.
    """
    plan = picture.farm.money
    known = [knock.id for knock in plan.knocks] if plan is not None else []
    strange = [name for name in off or [] if name not in known]
    if strange:
        raise BadInput([finding("cli.no_knock", strange[0], knocks=list_words(known) or "–")])
    return tuple(off or ())


def carbon(
    per_kg: Annotated[bool, typer.Option("--per-kg", help=say("cli.carbon.per_kg"))] = False,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Tell what measured trees hold and every gas by year and line."""
    with waiting(say("cli.demo.looking")):
        picture = look(folder_of(farm), now_of(now))
        page = carbon_account(picture.scene, picture.events, per_kg=per_kg)
    _put(page, as_json)


def _put(page: Account, as_json: bool) -> None:
    """Print the sentences and the table of a book, or its record."""
    if as_json:
        put_json(document(page.schema, page))
        return
    for sentence in page.sentences:
        put_wrapped(sentence, "  ")
    if page.rows:
        put()
        put_table(page.head, page.rows, CELL if hasattr(page, "folds") else 0)
