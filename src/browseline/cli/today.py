"""``today``: what bites first for each mob, where next, what is shut and what can wait."""

from __future__ import annotations

from itertools import chain
from typing import Annotated

import typer

from browseline.chain import Today, look
from browseline.chain import today as of_picture
from browseline.chain.settings_page import Used, source_words
from browseline.chain.today import Line, MobPart
from browseline.chain.today_words import ahead_words, left_out_words, next_words, unread
from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import bold, put, put_json, put_wrapped, waiting
from browseline.errors import errors_in
from browseline.exchange.plain import document
from browseline.ledger.ahead import GrassAhead
from browseline.limits import Clash
from browseline.words import list_words, say

INDENT = "   "
FEW_WAYS = 3
"""Ways out of the first contradiction that are printed without --why. [1]"""


def today(
    why: Annotated[bool, typer.Option("--why", help=say("cli.option.why"))] = False,
    as_json: JsonOption = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Print the limits in order of arrival."""
    with waiting(say("cli.demo.looking")):
        picture = look(folder_of(farm), now_of(now))
        page = of_picture(picture)
    if as_json:
        put_json(document(page.schema, page))
    else:
        put_today(page, why=why)


def put_today(page: Today, *, why: bool = False) -> None:
    """Print the page Today as plain text, eighty signs wide."""
    put(say("cli.today.head", day=page.day, farm=page.farm, zone=page.time_zone))
    for alarm in page.alarms:
        put_wrapped(say("cli.today.alarm", text=alarm), INDENT, "")
    if page.quiet:
        put_wrapped(page.quiet)
    if not page.mobs:
        put(say("cli.today.no_mobs"))
    for mob in page.mobs:
        put()
        _put_mob(mob, why, unread=bool(unread(page.ahead)))
    put()
    _put_farm(page)
    for setting in page.settings if why else ():
        put_wrapped(" ".join([setting.words, *_sources(setting)]), INDENT, "")


def _sources(setting: Used) -> list[str]:
    return [source_words(origin) for figure in setting.figures for origin in figure.origins]


def _put_mob(mob: MobPart, why: bool, unread: bool) -> None:
    place = say("cli.today.since", place=mob.place, since=mob.since) if mob.since else mob.place
    put(bold(say("cli.today.mob", name=mob.name.upper(), heads=mob.heads, place=place)))
    if mob.unlimited:
        put_wrapped(mob.unlimited, INDENT)
    for number, line in enumerate(mob.lines):
        _put_line(line, first=number == 0, why=why)
    for pen in mob.pens:
        put_wrapped(pen, INDENT)
    if mob.out:
        put_wrapped(bold(mob.out), INDENT + "  ", INDENT)
    if mob.plan is not None:
        put_wrapped(mob.plan.says, INDENT + "  ", INDENT)
    if mob.plan is None or not mob.plan.same:
        put_wrapped(next_words(mob, unread), INDENT + "  ", INDENT)
    _put_rest(mob, why)


def _put_rest(mob: MobPart, why: bool) -> None:
    """Print what days late cost, what contradicts what, and ready dates."""
    if mob.late:
        late = mob.late if why else mob.late[:1]
        put_wrapped(say("cli.today.late", late=" ".join(late)), INDENT + "  ", INDENT)
    for number, clash in enumerate(mob.clashes):
        few = 0 if number else FEW_WAYS
        _put_clash(clash, len(clash.ways) if why or few >= len(clash.ways) - 1 > 0 else few)
    for row in mob.ready if why else ():
        put_wrapped(say("cli.today.ready", name=row.name, words=row.words), INDENT + "  ", INDENT)


def _put_clash(clash: Clash, most: int) -> None:
    """Print limits that contradict each other, the first ways out, and how many more there are."""
    put_wrapped(say("cli.today.clash", says=clash.says), INDENT + "  ", INDENT)
    for way in clash.ways[:most]:
        put_wrapped(say("cli.today.way", says=way.says), INDENT + "    ", INDENT + "  ")
    if clash.ways[most:]:
        key = "cli.today.more_ways" if most else "cli.today.ways"
        put_wrapped(say(key, count=len(clash.ways[most:])), INDENT + "    ", INDENT + "  ")


def _put_line(line: Line, first: bool, why: bool) -> None:
    if line.when:
        text = say("cli.today.line", name=line.name, when=line.when, short=line.short)
    else:
        text = say("cli.today.undated", name=line.name, because=line.because)
    if line.between:
        text = f"{text} {say('cli.today.between', between=line.between)}"
    text = f"{text} [{line.mark}]"
    put_wrapped(bold(text) if first else text, INDENT + "  ", " > " if first else INDENT)
    if why:
        put_wrapped(line.because, INDENT + "    ")
        put_wrapped(line.act, INDENT + "    ")


def _put_farm(page: Today) -> None:
    """Print what holds for the whole farm: shut gates, rules, grass ahead, what can wait, what is asked."""
    _put_shut(page)
    for rule in (*page.warnings, *page.rules):
        put_wrapped(say("cli.today.rules", what=rule.rstrip(".")), INDENT, "")
    _put_ahead(page.ahead)
    told = [advice.sentences for advice in (page.feed, page.harvest) if advice is not None]
    for sentence in chain.from_iterable(told):
        put_wrapped(sentence, INDENT)
    waits = list_words(page.can_wait)
    put_wrapped(
        say("cli.today.can_wait", what=waits) if waits else say("cli.today.nothing_waits"), INDENT, ""
    )
    for asked in (*page.questions, *page.disagreements):
        put_wrapped(say("cli.today.ask", text=asked), INDENT, "")
    for caution in page.cautions:
        put_wrapped(say("cli.today.take_care", text=caution), INDENT, "")
    for found in errors_in(page.findings):
        put(str(found))
    put(say("cli.today.marks"))


def _put_shut(page: Today) -> None:
    """Print the shut gates, or that there are none."""
    put(say("cli.today.shut" if page.shut else "cli.today.nothing_shut"))
    for shut in page.shut:
        line = say("cli.today.shut_line", paddock=shut.paddock, because=shut.because, until=shut.until)
        put_wrapped(line, INDENT + "  ", INDENT)


def _put_ahead(ahead: GrassAhead) -> None:
    put(bold(say("cli.today.ahead")))
    put_wrapped(ahead_words(ahead), INDENT)
    if ahead.left_out:
        put_wrapped(say("cli.today.left_out", what=left_out_words(ahead.left_out)), INDENT)
