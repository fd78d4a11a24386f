"""``why``: a number opened to its formula, what it was made from, and the source of each part."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Any

import typer

from browseline import tables
from browseline.chain import Picture, Today, look
from browseline.chain import today as of_picture
from browseline.chain.accounts import PAGES
from browseline.cli.accounts import account_of, figures_of, put_account, put_account_json
from browseline.cli.numbers import amount, name_of, number
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, waiting
from browseline.errors import BadInput, finding
from browseline.exchange.plain import document
from browseline.figures import Basis, Figure, Origin
from browseline.ledger.account import Account
from browseline.units import System
from browseline.words import list_words, say

DEEPEST = 12
BASIS_WORDS: dict[Basis, str] = {
    "farm": "farm", "published-read": "published", "published-copy": "published", "derived": "derived",
    "conflict": "conflict", "common-practice": "practice", "from-memory": "memory", "placeholder": "guess",
}  # fmt: skip


def why(
    name: Annotated[
        str, typer.Argument(metavar="[NAME]", help=say("cli.argument.why"), show_default=False)
    ] = "",
    about: Annotated[
        str, typer.Argument(metavar="[OF]", help=say("cli.argument.about"), show_default=False)
    ] = "",
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Open a limit or a number of Today; without a name, list what can be opened."""
    with waiting(say("cli.demo.looking")):
        picture = look(folder_of(farm), now_of(now))
        account = account_of(picture, name)
        if account is not None:
            _put_page(picture, account, as_json)
            return
        page = of_picture(picture)
    roots = list(opened(page, name, about)) if name else []
    if name and not roots:
        raise BadInput([finding("cli.no_number", name, names=list_words(dict.fromkeys(names(page))))])
    if as_json:
        put_json(document("browseline/why/1", {"figures": roots or all_figures(page)}))
    elif not name:
        put(say("cli.why.list"))
        put_wrapped(", ".join(dict.fromkeys(names(page))), "  ")
    else:
        _put_limits(page, name, about)
        told: set[Figure] = set()
        for figure in roots:
            put_tree(figure, picture.today, picture.farm.units, told)


def _put_page(picture: Picture, page: Account, as_json: bool) -> None:
    """Print a page of the ledger, then every figure that it rests on."""
    if as_json:
        put_account_json(page)
        return
    put_account(page)
    told: set[Figure] = set()
    for figure in figures_of(page):
        put()
        put_tree(figure, picture.today, picture.farm.units, told)


def all_figures(page: Today) -> list[Figure]:
    """Return the figures that Today rests on, each once."""
    ahead, feed, harvest = page.ahead, page.feed, page.harvest
    found: list[Figure | None] = [ahead.still, ahead.growing, ahead.demand, ahead.grass, ahead.growth]
    found += [figure for mob in page.mobs for line in mob.lines for figure in line.figures]
    for record in (*((mob.late_figures, mob.next) for mob in page.mobs), feed, harvest):
        found += list(_figures_in(record))
    return list(dict.fromkeys(figure for figure in found if figure is not None))


def _figures_in(item: Any) -> Iterator[Figure]:
    """Yield every figure anywhere in a record."""
    if isinstance(item, Figure):
        yield item
    elif isinstance(item, (tuple, list)):
        for part in item:
            yield from _figures_in(part)
    elif hasattr(item, "__dataclass_fields__"):
        for name in item.__dataclass_fields__:
            yield from _figures_in(getattr(item, name))


def names(page: Today) -> Iterator[str]:
    """Yield what can be opened: pages, then limits, then numbers and their parts."""
    yield from PAGES
    yield from (line.limit for mob in page.mobs for line in mob.lines)
    yield from (figure.name for root in all_figures(page) for figure in _tree(root))


def _tree(figure: Figure) -> Iterator[Figure]:
    yield figure
    for part in figure.parts:
        yield from _tree(part)


def opened(page: Today, name: str, about: str) -> Iterator[Figure]:
    """Yield the figures of a limit (of one mob, if said), or the figures of that name."""
    wanted, of = name.casefold().replace(" ", "_").replace("-", "_"), about.casefold()
    by_limit = [
        figure
        for mob in page.mobs
        for line in mob.lines
        if wanted in (line.limit, line.name.casefold()) and of in ("", mob.id.casefold(), mob.name.casefold())
        for figure in line.figures
    ]
    if by_limit:
        yield from dict.fromkeys(by_limit)
        return
    every = [figure for root in all_figures(page) for figure in _tree(root)]
    yield from dict.fromkeys(f for f in every if f.name == wanted and of in ("", f.about.casefold()))


def _put_limits(page: Today, name: str, about: str) -> None:
    for mob in page.mobs:
        for line in mob.lines:
            said = name.casefold() in (line.limit, line.name.casefold())
            if said and about.casefold() in ("", mob.id.casefold(), mob.name.casefold()):
                put(say("cli.why.limit", mob=mob.name, limit=line.name, when=line.when or line.short))
                put_wrapped(line.because, "  ")
                put_wrapped(line.act, "  ")


def put_tree(figure: Figure, today: date, system: System, told: set[Figure], depth: int = 0) -> None:
    """Print a figure and, under it, what it was made from; what was told already, in one line."""
    indent = "  " * depth
    about = f" ({figure.about})" if figure.about else ""
    head = f"{name_of(figure)}{about}: {amount(figure, system)}{_range(figure, system)} [{figure.mark}]"
    put_wrapped(head, indent + "  ", indent)
    if figure in told and (figure.parts or figure.formula):
        put_wrapped(say("cli.why.above"), indent + "    ")
        return
    told.add(figure)
    for line in _notes(figure, today):
        put_wrapped(line, indent + "    ")
    if depth < DEEPEST:
        for part in figure.parts:
            put_tree(part, today, system, told, depth + 1)


def _range(figure: Figure, system: System) -> str:
    if figure.value is None or figure.low is None or figure.high is None or figure.low == figure.high:
        return ""
    low, high = number(figure.low, figure.unit, system), number(figure.high, figure.unit, system)
    return f", {say('cli.why.range', low=low, high=high)}"


def _notes(figure: Figure, today: date) -> Iterator[str]:
    if figure.formula:
        yield say("cli.why.formula", formula=figure.formula)
    if figure.typed:
        yield say("cli.why.typed", text=figure.typed)
    for origin in figure.origins:
        yield from _origin(origin)
    if figure.as_of is not None:
        yield say("cli.why.age", days=(today - figure.as_of).days)


def _origin(origin: Origin) -> Iterator[str]:
    """Yield the basis of a number in words, and the publications behind it."""
    basis = say(f"cli.why.basis.{BASIS_WORDS[origin.basis]}")
    yield ", ".join(part for part in (basis, origin.who, origin.note) if part)
    if origin.basis == "farm":
        return
    for source in filter(None, (s.strip() for s in origin.source.split(";"))):
        known = tables.sources().get(source)
        text = say("cli.why.source", reference=known["reference"] if known is not None else source)
        yield f"{text} {say('cli.why.locator', locator=origin.locator)}" if origin.locator else text
