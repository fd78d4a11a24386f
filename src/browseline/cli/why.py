"""``why``: a number opened to its formula, what it was made from, and the source of each part."""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Annotated

import typer

from browseline.chain import Picture, Today, look
from browseline.chain import today as of_picture
from browseline.chain.accounts import PAGES as ACCOUNTS
from browseline.chain.keys import figures_of, parts_of
from browseline.chain.pages import PAGES
from browseline.chain.today import Line, MobPart
from browseline.chain.why import Opened, WhyPage, open_figure, why_of, why_page
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import bold, put, put_json, put_wrapped, waiting
from browseline.errors import BadInput, finding
from browseline.exchange.plain import document, plain
from browseline.figures import Figure
from browseline.ledger.money_cases import Fold
from browseline.words import list_words, say

FEW, SHORT = 4, 2
CELL, NARROW = 16, 10
"""Where cells of a wide table are broken. [signs]"""
LENDER, EVIDENCE, PLANNER = "lender.", "evidence.", "planner."
"""How the keys of the packs for a lender, on carbon and for a planner begin: papers, above the pages."""


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
    """Open a number by its key, a page, a limit or a number of Today; without a name, list them all."""
    with waiting(say("cli.demo.looking")):
        picture = look(folder_of(farm), now_of(now))
        if "." in name:
            _put_key(picture, name, as_json)
            return
        if name.casefold() in ACCOUNTS:
            _put_page(picture, name, as_json)
            return
        page = of_picture(picture)
    held = figures_of(page)
    if not name:
        _put_all(page, held, as_json)
        return
    roots = dict(opened(page, held, name, about))
    if roots:
        _put_roots(picture, page, roots, (name, about), as_json)
    elif name.casefold() in PAGES:
        _put_page(picture, name, as_json)
    else:
        near = nearest_of(name, (*PAGES, *dict.fromkeys(names(page, held))))
        raise BadInput([finding("cli.no_number", name, names=list_words(near))])


def nearest_of(said: str, known: Iterable[str]) -> list[str]:
    """Return the few names most like what was said; where none is, the first few pages."""
    every = list(dict.fromkeys(known))
    folded, said = {name.casefold(): name for name in every}, said.casefold()
    begins = [name for name in folded if name.startswith(said) or (len(said) > SHORT and said in name)]
    near = [*begins, *difflib.get_close_matches(said, folded, FEW, 0.6)]
    return [folded[name] for name in dict.fromkeys(near)][:FEW] or every[:FEW]


def _put_all(page: Today, held: Mapping[str, Figure], as_json: bool) -> None:
    """Print what can be opened."""
    if as_json:
        _put_json(held)
        return
    put(say("cli.why.list"))
    put_wrapped(", ".join(dict.fromkeys(names(page, held))), "  ")


def _put_roots(
    picture: Picture, page: Today, roots: Mapping[str, Figure], asked: tuple[str, str], as_json: bool
) -> None:
    """Print the figures of a limit or of a name, the limit's own words before them."""
    if as_json:
        _put_json(roots)
        return
    for mob, line in _limits(page, *asked):
        put(say("cli.why.limit", mob=mob.name, limit=line.name, when=line.when or line.short))
        put_wrapped(line.because, "  ")
        put_wrapped(line.act, "  ")
    _put_figures(picture, roots)


def _put_json(figures: Mapping[str, Figure]) -> None:
    keys = {figure: key for key, figure in figures.items()}
    put_json(document("browseline/figures/1", {"figures": plain(list(keys), keys)}))


def _put_key(picture: Picture, key: str, as_json: bool) -> None:
    """Print the number of a key."""
    papers = {LENDER: _lender, EVIDENCE: _evidence, PLANNER: _planner}
    of_paper = next((own for start, own in papers.items() if key.startswith(start)), None)
    page = of_paper(picture, key) if of_paper is not None else why_page(picture, key)
    if as_json:
        put_json(document(page.schema, page))
        return
    put(say("cli.why.key", key=page.key))
    put_opened(page.opened)


def _lender(picture: Picture, key: str) -> WhyPage:
    """Return a number of the pack for a lender, opened."""
    from browseline.chain.money_ahead import money_given
    from browseline.papers.lender import lender_pack

    return why_of(picture, lender_pack(picture, money_given(picture)), key)


def _evidence(picture: Picture, key: str) -> WhyPage:
    """Return a number of the pack on carbon, opened."""
    from browseline.papers.evidence import evidence
    from browseline.papers.issued import edition

    return why_of(picture, evidence(picture, edition()), key)


def _planner(picture: Picture, key: str) -> WhyPage:
    """Return a number of the plan for a planner's office, opened."""
    from browseline.chain.in_force import plan_in_force
    from browseline.papers.planner_print import planner_of

    return why_of(picture, planner_of(picture, plan_in_force(picture)), key)


def _put_page(picture: Picture, name: str, as_json: bool) -> None:
    """Print the sentences and the table of a page, then every number that it prints, opened."""
    page = PAGES[name.casefold()].make(picture)
    if as_json:
        put_json(document(page.schema, page))
        return
    for sentence in getattr(page, "sentences", ()):
        indent = " " * (len(sentence) - len(sentence.lstrip()))
        put_wrapped(sentence.strip(), f"{indent}  ", indent)
    if getattr(page, "rows", ()) and getattr(page, "head", ()):
        put()
        put_table(page.head, page.rows, CELL if hasattr(page, "folds") else 0)
    if hasattr(page, "folds"):
        put_folds(page.folds, page.closing)
    _put_figures(picture, figures_of(page))


def _put_figures(picture: Picture, figures: Mapping[str, Figure]) -> None:
    """Print figures with their keys; what stands above already is told in one line."""
    told: set[Figure] = set()
    for key, figure in figures.items():
        put()
        put(say("cli.why.key", key=key))
        put_opened(open_figure(picture, key, figure, told))


def put_table(head: Sequence[str], rows: Iterable[Sequence[str]], most: int = 0) -> None:
    """Print a table with its columns under one another.

    Parameters
    ----------
    most : int
        Cells longer than so many signs are broken between words; 0 for never.
    """
    lines = [_broken(line, most) for line in (head, *rows)]
    widths = [max(len(part) for line in lines for part in line[i]) for i in range(len(head))]
    for number, line in enumerate(lines):
        for at in range(max(len(cell) for cell in line)):
            parts = (cell[at] if at < len(cell) else "" for cell in line)
            text = "  ".join(part.ljust(width) for part, width in zip(parts, widths, strict=True)).rstrip()
            put(bold(text) if number == 0 else text)


def _broken(line: Sequence[str], most: int) -> list[list[str]]:
    """Return the lines of each cell."""
    if not most:
        return [[cell] for cell in line]
    whole = textwrap.TextWrapper(most, break_long_words=False, break_on_hyphens=False)
    return [whole.wrap(str(cell)) or [""] for cell in line]


def put_folds(folds: Iterable[Fold], closing: Iterable[str] = ()) -> None:
    """Print what a page folds away, each part under its title, then what holds for all of it."""
    for fold in folds:
        put()
        put(bold(fold.title))
        for sentence in fold.sentences:
            put_wrapped(sentence, "  ")
        if fold.rows:
            put_table(fold.head, fold.rows, NARROW)
    put()
    for sentence in closing:
        put_wrapped(sentence, "  ")


def names(page: Today, held: Mapping[str, Figure]) -> Iterator[str]:
    """Yield what can be opened: pages, then limits, then numbers of Today and their parts."""
    yield from PAGES
    yield from (line.limit for mob in page.mobs for line in mob.lines)
    yield from (figure.name for key, root in held.items() for _, figure in _tree(key, root))


def _tree(key: str, figure: Figure) -> Iterator[tuple[str, Figure]]:
    yield key, figure
    for name, part in parts_of(key, figure).items():
        yield from _tree(name, part)


def opened(page: Today, held: Mapping[str, Figure], name: str, about: str) -> Iterator[tuple[str, Figure]]:
    """Yield the figures of a limit (of one mob, if said), or the figures of that name, with their keys."""
    by_limit = {figure for _, line in _limits(page, name, about) for figure in line.figures}
    if by_limit:
        yield from _each_once((key, figure) for key, figure in held.items() if figure in by_limit)
    else:
        yield from _each_once(_of_name(held, _plain(name), about.casefold()))


def _of_name(held: Mapping[str, Figure], wanted: str, of: str) -> Iterator[tuple[str, Figure]]:
    for root, one in held.items():
        for key, figure in _tree(root, one):
            if figure.name == wanted and of in ("", figure.about.casefold()):
                yield key, figure


def _plain(name: str) -> str:
    return name.casefold().replace(" ", "_").replace("-", "_")


def _each_once(found: Iterable[tuple[str, Figure]]) -> Iterator[tuple[str, Figure]]:
    told: set[Figure] = set()
    for key, figure in found:
        if figure not in told:
            told.add(figure)
            yield key, figure


def _limits(page: Today, name: str, about: str) -> Iterator[tuple[MobPart, Line]]:
    """Yield the lines of a limit, of one mob if it is said."""
    for mob in page.mobs:
        if about.casefold() in ("", mob.id.casefold(), mob.name.casefold()):
            yield from ((mob, line) for line in mob.lines if _plain(name) in (line.limit, _plain(line.name)))


def put_opened(one: Opened, depth: int = 0) -> None:
    """Print a number and, under it, what it was made from; what stands above already, in one line."""
    indent = "  " * depth
    about, span = (f" ({one.about})" if one.about else ""), (f", {one.span}" if one.span else "")
    put_wrapped(f"{one.name}{about}: {one.amount}{span} [{one.mark}]", indent + "  ", indent)
    if one.above:
        put_wrapped(say("cli.why.above"), indent + "    ")
        return
    for line in _notes(one):
        put_wrapped(line, indent + "    ")
    for part in one.parts:
        put_opened(part, depth + 1)


def _notes(one: Opened) -> Iterator[str]:
    """Yield the formula, what was typed, who measured it and when, the publications, and the age."""
    if one.formula:
        yield say("why.formula", formula=one.formula)
    if one.typed:
        yield say("why.typed", text=one.typed)
    for cited in one.cited:
        yield cited.words
        yield from cited.references
    if one.cited and one.age:
        yield one.age
