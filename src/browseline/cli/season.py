"""``season``: the stays of the coming weeks for all mobs, each with its reason."""

from __future__ import annotations

from typing import Annotated

import typer

from browseline.chain import look
from browseline.chain.in_force import keep_plan, plan_in_force
from browseline.chain.reach import MOST_D
from browseline.chain.season_page import MobSeason, SeasonPage, StayLine, season_page
from browseline.chain.what_if_page import improved_plans, what_if_page
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import bold, put, put_json, put_wrapped, waiting
from browseline.exchange.plain import document
from browseline.ledger.account import Account
from browseline.words import day_words, joined, say

ITERATIONS = 12_000


def season(
    days: Annotated[
        int | None, typer.Option("--days", min=1, max=MOST_D, help=say("cli.season.days"), show_default=False)
    ] = None,
    iterations: Annotated[
        int, typer.Option("--iterations", min=0, max=10_000_000, help=say("cli.season.iterations"))
    ] = ITERATIONS,
    what_if: Annotated[bool, typer.Option("--what-if", help=say("cli.season.what_if"))] = False,
    keep: Annotated[bool, typer.Option("--keep", help=say("cli.season.keep"))] = False,
    who: Annotated[str, typer.Option("--who", help=say("cli.option.who"), show_default=False)] = "owner",
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Plan the stays; with --keep they become the plan in force."""
    from browseline.moves.season import plan

    with waiting(say("cli.demo.season")):
        picture = look(folder_of(farm), now_of(now), horizon_d=days)
        old = plan_in_force(picture)
        made = old if what_if and old is not None else plan(picture.scene, old, iterations)
        worth = what_if_page(picture, made) if what_if else None
        if what_if and keep:
            made = plan(picture.scene, made, iterations, improved_plans(picture, made))
    if worth is not None:
        _put_worth(worth, as_json)
    if worth is not None and not keep:
        return
    kept = keep_plan(picture, made, who) if keep else None
    if worth is not None and as_json:
        return
    page = season_page(picture, made)
    if as_json:
        put_json(document(page.schema, page))
        return
    put_season(page)
    put(say("cli.season.not_kept") if kept is None else say("cli.season.kept", count=kept))


def _put_worth(page: Account, as_json: bool) -> None:
    """Print what each rule is worth."""
    if as_json:
        put_json(document(page.schema, page))
        return
    for sentence in page.sentences:
        put_wrapped(sentence, "  ", "")


def put_season(page: SeasonPage) -> None:
    """Print the next moves, what changed, what is dear with its ways out, costs, every stay, then notes."""
    put(say("cli.season.head", farm=page.farm, first=day_words(page.first), last=day_words(page.last)))
    for sentence in page.sentences[1:]:
        put_wrapped(sentence, "  ", "")
    _put_moves(page)
    for change in page.changes:
        put_wrapped(change, "  ", "")
    for clash in page.clashes:
        put()
        put_wrapped(say("cli.season.clash", text=clash.says), "     ", "")
        for way in clash.ways:
            put_wrapped(say("cli.season.way", text=way), "       ", "     ")
    put()
    for sentence in page.costs[: len(page.parts) + 1]:
        put_wrapped(sentence, "  ", "")
    _put_mobs(page)
    for sentence in (*page.notes, *page.costs[len(page.parts) + 1 :]):
        put_wrapped(sentence, "  ", "")


def _put_moves(page: SeasonPage) -> None:
    if not page.next_days and not page.moves_say:
        return
    put()
    put(bold(say("pages.season.head.moves").upper()))
    if page.moves_say:
        put_wrapped(page.moves_say, "     ", "   ")
    for line in page.next_days:
        put_wrapped(joined((line.says, line.why), " "), "     ", "   ")
    for stays in page.staying:
        put_wrapped(stays, "     ", "   ")
    put()


def _put_mobs(page: SeasonPage) -> None:
    if not any(mob.stays for mob in page.mobs):
        put(say("cli.season.none"))
    for mob in page.mobs:
        _put_stays(mob)
    put()


def _put_stays(mob: MobSeason) -> None:
    put()
    put(bold(mob.name.upper()))
    for stay in mob.stays:
        put_wrapped(stay_words(stay), "     ", "   ")


def stay_words(stay: StayLine) -> str:
    """Return one stay in words: where, from when to when, what set its end, and the runner-up."""
    text = say(
        "cli.season.stay", place=stay.name, begin=stay.begins, end=stay.ends, firmness=stay.firm,
        reason=stay.reason,
    )  # fmt: skip
    return f"{text} {say('pages.season.next_best', lost=stay.lost)}" if stay.lost else text
