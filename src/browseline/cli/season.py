"""``season``: the stays of the coming weeks for all mobs, each with its reason."""

from __future__ import annotations

from typing import Annotated

import typer

from browseline.chain import Picture, look
from browseline.chain.in_force import as_events, plan_in_force
from browseline.cli.numbers import amount
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import bold, put, put_json, put_wrapped, waiting
from browseline.exchange.plain import document
from browseline.moves.form import PlannedStay, Season
from browseline.record.store import Record
from browseline.words import day_words, known, say, time_words

DAYS, ITERATIONS = 45, 12_000


def season(
    days: Annotated[int, typer.Option("--days", min=1, max=366, help=say("cli.season.days"))] = DAYS,
    iterations: Annotated[
        int, typer.Option("--iterations", min=0, max=10_000_000, help=say("cli.season.iterations"))
    ] = ITERATIONS,
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
        made = plan(picture.scene, plan_in_force(picture), iterations)
    kept = keep_plan(picture, made, who) if keep else None
    if as_json:
        put_json(document("browseline/season/1", made))
        return
    put_season(picture, made)
    put(say("cli.season.not_kept") if kept is None else say("cli.season.kept", moves=kept))


def keep_plan(picture: Picture, made: Season, who: str) -> int:
    """Write a season as the plan in force and return how many moves it holds."""
    with Record.open(picture.folder) as record:
        record.append(as_events(made, picture, record.device, who))
    return sum(stay.stay.begin.start >= picture.now for stay in made.stays)


def put_season(picture: Picture, made: Season) -> None:
    """Print the stays of each mob in order, what set the end of each, and what the plan costs."""
    first, last = picture.scene.days[0], picture.scene.days[-1]
    put(say("cli.season.head", farm=picture.farm.name, first=day_words(first), last=day_words(last)))
    if not made.stays:
        put(say("cli.season.none"))
    for mob in picture.scene.mobs:
        put()
        put(bold(mob.name.upper()))
        for stay in made.of(mob.id):
            put_wrapped(stay_words(picture, stay), "     ", "   ")
    put()
    for clash in made.clashes:
        put_wrapped(say("cli.today.alarm", text=" ".join((clash.says, *clash.ways))), "     ", "")
    for change in made.changes:
        put_wrapped(change, "  ")
    total, rule = amount(made.total), amount(made.rule_total)
    put_wrapped(say("cli.season.cost", total=total, rule=rule))


def stay_words(picture: Picture, stay: PlannedStay) -> str:
    """Return one stay in words: where, from when to when, what set its end, and the runner-up."""
    found = picture.farm.paddock(stay.stay.place)
    place = found.name if found is not None else _place(stay.stay.place)
    begin, end = stay.stay.begin.start, stay.stay.end.end if stay.stay.end else stay.stay.begin.end
    local = picture.scene.local
    text = say(
        "cli.season.stay", place=place, begin=time_words(local(begin), picture.today),
        end=time_words(local(end), picture.today), firmness=say(f"cli.season.{stay.firmness}"),
        reason=stay.reason,
    )  # fmt: skip
    return f"{text} {stay.lost}" if stay.lost else text


def _place(ident: str) -> str:
    return say(f"cli.place.{ident}") if known(f"cli.place.{ident}") else ident
