"""Pages of the ledger and the site under ``why``: sentences, the table, then every figure opened."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from browseline.chain import Picture
from browseline.chain.accounts import PAGES
from browseline.cli.out import bold, put, put_json, put_wrapped
from browseline.exchange.plain import document
from browseline.figures import Figure
from browseline.ledger.account import Account


def account_of(picture: Picture, name: str) -> Account | None:
    """Return the page of a name, or None if there is none."""
    make = PAGES.get(name.casefold())
    return make(picture) if make is not None else None


def put_account(page: Account) -> None:
    """Print the sentences and the table of a page."""
    for sentence in page.sentences:
        indent = " " * (len(sentence) - len(sentence.lstrip()))
        put_wrapped(sentence.strip(), f"{indent}  ", indent)
    if page.rows:
        put()
        put_table(page.head, page.rows)


def put_account_json(page: Account) -> None:
    """Print a page as JSON."""
    put_json(document(page.schema, page))


def put_table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table with its columns under one another."""
    lines = [tuple(head), *(tuple(row) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    for number, line in enumerate(lines):
        text = "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        put(bold(text) if number == 0 else text)


def figures_of(page: Account) -> tuple[Figure, ...]:
    """Return the figures of a page, each once."""
    return tuple(dict.fromkeys(page.figures))
