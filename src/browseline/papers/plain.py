"""Papers as plain text: the relief sheet for a telephone that only takes text messages."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from browseline.papers.names import brief, briefs, clipped, shortest
from browseline.papers.relief import MoveLine, ReliefSheet
from browseline.words import say


@dataclass(frozen=True, slots=True)
class Cut:
    """One step of shortening: signs kept of an alarm, of a reason, of a name; no line is ever left out.

    Without ``why`` shut places stand in one line, without their reasons.
    """

    alarm: int
    reason: int
    name: int
    why: bool = True


PARTS_MOST = 4
FENCE_MOST = 110
SINGLE, JOINED = 160, 153
"""Signs in one message, and in each part of a longer one (3GPP TS 23.038 and 23.040)."""
SINGLE_WIDE, JOINED_WIDE = 70, 67
_BASIC = set(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§"
    "¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
_TWICE = set("^{}\\[~]|€\f")
_PLAINER = str.maketrans(
    {"…": "...", "→": ">", "·": ",", "’": "'", "‘": "'", "“": '"', "”": '"', "–": "-", "—": "-"}
)
PLACE_MOST = 160
"""Signs of where the farm is that a text keeps: who rings for help must be able to say it. [1]"""
STEPS = (
    Cut(200, 200, 60),
    Cut(120, 60, 40),
    Cut(100, 36, 28),
    Cut(90, 28, 20),
    Cut(80, 24, 14),
    Cut(70, 24, 12, why=False),
    Cut(50, 18, 10, why=False),
)


def message(sheet: ReliefSheet) -> str:
    """Return the relief sheet as text, shortened step by step to four message parts.

    With many mobs and moves it stays longer: counts, moves, telephones and where the farm is are never cut,
    and no shut place, hay or danger is left out. Then it is cut no more than the fewest parts ask for.
    """
    tries = [_text(sheet, step) for step in STEPS]
    fewest = max(min(map(parts, tries)), PARTS_MOST)
    return next(text for text in tries if parts(text) <= fewest)


def parts(text: str) -> int:
    """Return how many text messages a text takes."""
    if set(text) <= _BASIC | _TWICE:
        size = sum(2 if sign in _TWICE else 1 for sign in text)
        return 1 if size <= SINGLE else -(-size // JOINED)
    size = len(text.encode("utf-16-le")) // 2
    return 1 if size <= SINGLE_WIDE else -(-size // JOINED_WIDE)


def _text(sheet: ReliefSheet, step: Cut) -> str:
    def cut(text: str, most: int) -> str:
        return clipped(text.translate(_PLAINER), most, say("papers.text.cut"))

    def name(text: str) -> str:
        return cut(text, step.name)

    def place(text: str) -> str:
        return brief(text.translate(_PLAINER), step.name, say("papers.text.cut"))

    out = [
        say("papers.text.head", farm=cut(sheet.farm, 30), span=sheet.span_short),
        say("papers.text.emergency", emergency=sheet.emergency, place=cut(sheet.place, PLACE_MOST)),
        ", ".join(say("papers.text.phone", role=p.role, phone=p.phone) for p in sheet.phones),
        *(cut(alarm, step.alarm) for alarm in sheet.alarms),
    ]
    for m in sheet.mobs:
        said = say("papers.text.now", mob=name(m.name), place=place(m.place), heads=m.heads, total=m.total)
        out += [said, *(cut(pen, step.alarm) for pen in m.pens)]
    out += [_move(m, name, place) for m in sheet.moves]
    out += [sheet.left_out] if sheet.left_out else [] if sheet.moves else [say("papers.text.no_move")]
    out += _ground(sheet, step, cut)
    out += [say("papers.text.water", places=_water(sheet, step, place)), cut(sheet.fence_text, FENCE_MOST)]
    out += _look(sheet, step)
    out += [sheet.care_text, *(f"{head}: {then}" for head, then in sheet.ifs_short)]
    return "\n".join(out).translate(_PLAINER)


def _ground(sheet: ReliefSheet, step: Cut, cut: Callable[[str, int], str]) -> list[str]:
    """Return what ground is shut, and where hay is or will be, places of the same words together."""

    def places(each: Iterable[str], most: int) -> str:
        names, more = [one.translate(_PLAINER) for one in dict.fromkeys(each)], say("papers.text.cut")
        return briefs(names, most, more) if step.why else ", ".join(shortest(name, more) for name in names)

    hay: dict[str, list[str]] = {}
    for line in sheet.hay:
        hay.setdefault(line.short, []).extend(line.places)
    told = "; ".join(f"{places(each, step.name)}: {words}" for words, each in hay.items())
    lines = [say("papers.text.hay.line", what=told)] if told else []
    if step.why:
        named = ((one, places(one.places, step.name)) for one in sheet.shut)
        shut = [
            say("papers.text.shut_now", what=_shut_to(ground, "", cut(one.here, step.name), one.since))
            if one.here
            else say("papers.text.shut", paddocks=ground, because=cut(one.because, step.reason))
            for one, ground in named
        ]
        return [*shut, *lines]
    to: dict[tuple[str, str, str, str], list[str]] = {}
    for one in sheet.shut:
        to.setdefault((one.mob, one.here, one.since, one.days), []).extend(one.places)
    told = "; ".join(
        _shut_to(_on(places(each, step.name), days), cut(mob, step.name), cut(here, step.name), since)
        for (mob, here, since, days), each in to.items()
    )
    return [*([say("papers.text.shut_all", what=told)] if told else []), *lines]


def _on(paddocks: str, days: str) -> str:
    """Return places with the days on which they are shut, where it is not all along."""
    return say("papers.text.shut_days", paddocks=paddocks, days=days) if days else paddocks


def _shut_to(paddocks: str, mob: str, here: str, since: str) -> str:
    """Return places that stay shut: to whom, or who stands there still and from when on it is shut."""
    if mob:
        return say("papers.text.shut_to", paddocks=paddocks, mob=mob)
    if since:
        return say("papers.text.shut_from", paddocks=paddocks, mob=here, day=since)
    return say("papers.text.shut_here", paddocks=paddocks, mob=here) if here else paddocks


def _look(sheet: ReliefSheet, step: Cut) -> list[str]:
    if not sheet.look_for:
        return []
    more = say("papers.text.cut")
    pins = "; ".join(clipped(h, step.reason, more) for h in sheet.look_for)
    return [say("papers.text.look", hazards=pins)]


def _water(sheet: ReliefSheet, step: Cut, shorten: Callable[[str], str]) -> str:
    """Return the water of the places, places with the same words together."""
    alike: dict[str, list[str]] = {}
    for place, words in sheet.water:
        alike.setdefault(clipped(words, max(step.reason, 30), say("papers.text.cut")), []).append(
            shorten(place)
        )
    return "; ".join(f"{', '.join(places)} {words}" for words, places in alike.items())


def _move(move: MoveLine, name: Callable[[str], str], place: Callable[[str], str]) -> str:
    note = f" ({move.note})" if move.note else ""
    start, to = place(move.start), place(move.to)
    return say(
        "papers.text.move", day=move.day, time=move.time, mob=name(move.mob), start=start, to=to, note=note
    )
