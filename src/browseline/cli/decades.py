"""``decades``: the years ahead in bands, with decision windows, and what was foretold before."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from browseline.chain.look import look
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, waiting
from browseline.words import day_words, say

if TYPE_CHECKING:
    from browseline.chain.decades_page import DecadesPage

MOST_YEARS, MOST_MEMBERS = 150, 1000
MEMBERS, EVERY = 101, 5


def decades(
    years: Annotated[
        int | None,
        typer.Option("--years", min=1, max=MOST_YEARS, help=say("cli.decades.years"), show_default=False),
    ] = None,
    members: Annotated[
        int, typer.Option("--members", min=1, max=MOST_MEMBERS, help=say("cli.decades.members"))
    ] = MEMBERS,
    bad: Annotated[bool, typer.Option("--bad-decade", help=say("cli.decades.bad"))] = False,
    every: Annotated[int, typer.Option("--every", min=1, help=say("cli.decades.every"))] = EVERY,
    keep: Annotated[bool, typer.Option("--keep", help=say("cli.decades.keep"))] = False,
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Tell the years ahead; with --keep they are kept, and later ones are drawn over them."""
    from browseline.chain.decades_earlier import keep_projection, kept_words
    from browseline.chain.decades_page import decades_page
    from browseline.exchange.plain import document

    with waiting(say("cli.decades.working")):
        picture = look(folder_of(farm), now_of(now))
        page = decades_page(picture, years, members, bad)
    if keep:
        span = range(page.first_year, page.first_year + page.years + 1)
        keep_projection(picture, kept_words(span, page.measured_to, members, page.bands), who)
    if as_json:
        put_json(document(page.schema, page))
        return
    put_decades(page, every)
    if keep:
        put(say("cli.decades.kept"))


def put_windows(page: DecadesPage) -> None:
    """Print what is to be decided, the soonest first, then the rest."""
    if page.windows or page.later:
        put()
        put_wrapped(say("decades.window.how"), "  ", "")
    for number, line in enumerate(page.windows, start=1):
        put_wrapped(f"{number}. {line.words}", "   ", "")
    if page.later:
        put_wrapped(say("decades.window.later"), "  ", "")
    for line in page.later:
        put_wrapped(line.words, "    ", "  ")
    if page.windows or page.later:
        put()


def put_decades(page: DecadesPage, every: int) -> None:
    """Print sentences, the table of every so many years, the other bands, windows, kept projections."""
    from browseline.cli.why import put_table

    for sentence in page.sentences:
        put_wrapped(sentence, "  ", "")
    put()
    put_table(page.head, page.rows[::every])
    put()
    others = [band for band in page.bands if band.name not in page.head]
    if others:
        head = (say("cli.decades.band"), *(f"{year}" for year in others[0].years))
        put_table(
            head,
            [(band.name, *(band.likely_words(y, page.units) for y in others[0].years)) for band in others],
        )
        put()
    for text in (one.words for one in page.paddocks if one.comes):
        put_wrapped(text, "  ", "")
    put_windows(page)
    for kept in page.earlier:
        put_wrapped(
            say("cli.decades.earlier", day=day_words(kept.made.date()), year=kept.made.year), "  ", ""
        )
