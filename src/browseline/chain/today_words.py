"""Sentences of Today that both doors say: where next, days of grass ahead, what was left out."""

from __future__ import annotations

from collections.abc import Iterable

from browseline.chain.today import Line, MobPart, Today
from browseline.chain.why import amount
from browseline.figures import Figure
from browseline.ledger.ahead import GrassAhead, LeftOut
from browseline.words import linked, list_words, say


def in_order(page: Today) -> tuple[tuple[MobPart, Line], ...]:
    """Return each mob with its first limit, the mob whose limit comes first at the head.

    Before all come those that must be out by now: another's softer limit may have passed long ago.
    """
    first = [(mob, mob.lines[0]) for mob in page.mobs if mob.lines]
    return tuple(
        sorted(first, key=lambda pair: (not pair[0].out, pair[1].due is None, pair[1].due or page.at))
    )


def late_words(late: str) -> str:
    """Return what a day late costs, with what it is about before it."""
    return say("cli.today.late", late=late)


def next_words(mob: MobPart, unread: bool = False) -> str:
    """Return where a mob goes next by its limits, and why; ``unread`` says that no other height is known."""
    return say("cli.today.lead" if mob.plan is None else "cli.today.lead_plan", next=_next(mob, unread))


def _next(mob: MobPart, unread: bool) -> str:
    found = mob.next
    if found is None:
        return say("cli.today.next_unread" if unread else "cli.today.no_next")
    if found.stays:
        return say("cli.today.next_stays", name=found.name, because=found.because)
    if not found.ready:
        return say("cli.today.next_not_ready", name=found.name, height=found.height, because=found.because)
    if not found.because:
        return say("cli.today.next_short", name=found.name, height=found.height)
    return say("cli.today.next", name=found.name, height=found.height, because=found.because)


def unread(ahead: GrassAhead) -> list[str]:
    """Return the paddocks that are left out because nobody has read a height in them."""
    return [one.paddock for one in ahead.left_out if one.because == say("ledger.ahead.not_read")]


def ahead_words(ahead: GrassAhead) -> str:
    """Return the days of grass ahead, with no growth and as it grows; the numbers are linked."""
    nothing_read = not ahead.grass.parts and len(unread(ahead)) == len(ahead.left_out)
    if ahead.still is None or nothing_read:
        return say("cli.today.ahead_unknown")
    if not ahead.grass.parts:
        return say("cli.today.ahead_none")
    if ahead.growing is None:
        return say("cli.today.ahead_still", still=_linked(ahead.still))
    return say("cli.today.ahead_both", still=_linked(ahead.still), growing=_linked(ahead.growing))


def _linked(figure: Figure) -> str:
    return linked(amount(figure), figure)


def left_out_words(left_out: Iterable[LeftOut]) -> str:
    """Return the paddocks left out, those of one reason together."""
    reasons: dict[str, list[str]] = {}
    for one in left_out:
        reasons.setdefault(one.because, []).append(one.paddock)
    return "; ".join(
        say("cli.today.left_out_part", paddocks=list_words(names), because=because)
        for because, names in reasons.items()
    )
