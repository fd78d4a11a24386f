"""What is said right after an entry: what it changes, what to look at, what to beware of."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any

from browseline import tables
from browseline.chain.ledger_answers import after_feed, after_loss, after_planting
from browseline.chain.lent import eats_unknown, lent_words
from browseline.chain.look import Picture
from browseline.chain.looks import after_look, after_walk
from browseline.chain.named import heads_words, paddock_name
from browseline.chain.plant_dangers import storm_words
from browseline.chain.shut_answers import after_plants, after_shut
from browseline.events import (
    Back,
    Body,
    Borrowed,
    Counted,
    Event,
    Fed,
    Looked,
    Lost,
    Moved,
    Netted,
    Penned,
    Planted,
    Shut,
    Sold,
    Stormed,
    Treated,
    Walked,
)
from browseline.farm.needs import demand
from browseline.figures import Figure
from browseline.ledger.trees_near import treed
from browseline.limits.worms import hosts
from browseline.record.state import HeadLine, MobState, Stay, Withdrawal
from browseline.record.told import tell
from browseline.units import factor, shown, true_minus
from browseline.words import day_words, list_words, say, time_words

SAME_PLAN = 0.05
DAY_H = factor("d", "h")
Answer = Callable[[Event, Any, Picture], Iterator[str]]


def answer_to(event: Event, picture: Picture) -> tuple[str, ...]:
    """Return the sentences that follow an entry.

    Parameters
    ----------
    picture : Picture
        The farm with the entry in it.
    """
    answer = ANSWERS.get(type(event.body)) if isinstance(event.body, Body) else None
    if event.planned:
        return tuple(eats_unknown(event.body)) if isinstance(event.body, Borrowed) else ()
    return tuple(answer(event, event.body, picture)) if answer is not None else ()


# ---------------------------------------------------------------- found on the wrong side of a fence


def _moved(event: Event, _body: Moved, picture: Picture) -> Iterator[str]:
    """Yield what a mob found elsewhere calls for: the time of its coming is an interval, not an hour."""
    mob = picture.state.mob(event.subject)
    if event.observed.exact or mob is None or mob.place is None:
        return
    yield from _stay_words(event, mob, picture)
    yield from _clock_words(event, mob, picture)
    yield say("answer.found.energiser")
    yield say("answer.found.road")
    yield say("answer.found.fault", volts=_volts(mob))
    yield say("answer.found.neighbour")
    yield say("answer.found.count", heads=heads_words(mob))


def most_hours(event: Event) -> float:
    """Return the longest that a mob may have been where it was found. [h]"""
    return (event.observed.end - event.observed.start).total_seconds() / 3600


def most_eaten(event: Event, lines: tuple[HeadLine, ...]) -> Figure | None:
    """Return the most that may have been eaten in the interval; None if the need is not known. [kg DM]"""
    needs = demand(lines, event.subject)
    if needs is None or needs.value is None:
        return None
    hours = most_hours(event)
    most = needs.value / DAY_H * hours
    formula = f"{needs.value:.5g} kg/d ÷ {DAY_H:g} × {hours:.3g} h"
    return Figure(
        "eaten_at_most", most, "kg", 0.0, most, formula=formula, parts=(needs,), about=event.subject
    )


def _stay_words(event: Event, mob: MobState, picture: Picture) -> Iterator[str]:
    first, last = (_time(picture, at) for at in (event.observed.start, event.observed.end))
    eaten = most_eaten(event, mob.lines)
    amount = "" if eaten is None else shown(eaten.value or 0.0, "mass", picture.farm.units, 0)
    fields = {"mob": mob.name, "paddock": paddock_name(picture, mob.place), "first": first, "last": last,
              "hours": f"{most_hours(event):.1f}"}  # fmt: skip
    if eaten is None:
        yield say("answer.found.stay", **fields)
    else:
        yield say("answer.found.eaten", eaten=amount, **fields)


def _clock_words(event: Event, mob: MobState, picture: Picture) -> Iterator[str]:
    here = paddock_name(picture, mob.place)
    if hosts(mob):
        yield say("answer.found.worms", paddock=here)
    before = _stay_before(event, mob, picture)
    if before is not None:
        yield say("answer.found.keeps", paddock=paddock_name(picture, before.place))
    if mob.place is not None and treed(picture.farm, mob.place):
        yield say("answer.found.trees", paddock=here)


def _stay_before(event: Event, mob: MobState, picture: Picture) -> Stay | None:
    own = [s for s in picture.state.stays if s.mob == mob.id and not s.planned and s.begin_event != event.id]
    ended = [s for s in own if s.place in picture.scene.paddocks and s.place != mob.place]
    return max(ended, key=lambda s: s.begin.end, default=None)


def _volts(mob: MobState) -> str:
    """Return the reading below which a mob's kinds walk through a fence, in kV."""
    known = tables.applies("fence", "fence_volts_min")
    rows = [tables.row("fence", "fence_volts_min", x.kind) for x in mob.lines if x.kind in known]
    if not rows:
        rows = [tables.row("fence", "fence_volts_min", kind) for kind in known]
    row = max(rows, key=lambda r: r.middle())
    ends = [volts for volts in (row.low, row.middle()) if volts is not None]
    return "-".join(f"{volts * factor('V', 'kV'):g}" for volts in ends)


def _time(picture: Picture, at: datetime) -> str:
    return time_words(picture.scene.local(at), picture.today, exact=True)


# ---------------------------------------------------------------- animals


def _penned(event: Event, body: Penned, picture: Picture) -> Iterator[str]:
    mob = picture.state.mob(event.subject)
    pen = next((p for p in mob.pens if p.animal == body.animal), None) if mob is not None else None
    if mob is None or pen is None:
        return
    now, before = demand(mob.lines), demand((*mob.lines, *pen.lines))
    yield say("answer.pen.heads", animal=body.animal, heads=heads_words(mob))
    if now is not None and before is not None and now.value and before.value:
        change = now.value / before.value - 1
        units = picture.farm.units
        key = "same" if abs(change) <= SAME_PLAN else "changed"
        yield say(
            f"answer.pen.{key}", before=shown(before.value, "intake", units),
            now=shown(now.value, "intake", units), percent=true_minus(f"{100 * change:+.1f}"),
        )  # fmt: skip
    yield say("answer.pen.relief", heads=heads_words(mob))
    yield say("answer.pen.days")
    yield say("answer.pen.vet")


def _back(event: Event, body: Back, picture: Picture) -> Iterator[str]:
    mob = picture.state.mob(event.subject)
    if mob is not None and all(pen.animal != body.animal for pen in mob.pens):
        yield say("answer.back", animal=body.animal, heads=heads_words(mob))


def _treated(event: Event, body: Treated, _picture: Picture) -> Iterator[str]:
    if body.withdrawal is None:
        yield say("answer.treated.ask", animal=event.subject)
    else:
        yield say("answer.treated.until", animal=event.subject, day=day_words(body.withdrawal))
    yield say("answer.treated.organic")


def withheld(picture: Picture) -> list[Withdrawal]:
    """Return the treated animals whose withdrawal date is still to come."""
    return [w for w in picture.state.withdrawals if w.until is not None and picture.today < w.until]


def _sold(event: Event, _body: Sold, picture: Picture) -> Iterator[str]:
    for one in withheld(picture):
        if event.subject in (one.animal, one.mob) and one.until is not None:
            yield say("answer.sold.withheld", animal=one.animal, day=day_words(one.until))


def _counted(event: Event, _body: Counted, picture: Picture) -> Iterator[str]:
    asked = [q for q in picture.state.questions if q.subject == event.subject and q.code == "count"]
    if not asked:
        yield say("answer.count.agrees")
    yield from (tell(q, picture.farm.time_zone) for q in asked)


# ---------------------------------------------------------------- land and trees


def _netted(event: Event, _body: Netted, picture: Picture) -> Iterator[str]:
    asked = (q for q in picture.state.questions if q.code == "which_part" and q.event == event.id)
    yield from (tell(q, picture.farm.time_zone) for q in asked)


def _stormed(_event: Event, _body: Stormed, picture: Picture) -> Iterator[str]:
    trees = [paddock_name(picture, p) for p in picture.scene.paddocks if treed(picture.farm, p)]
    yield say("chain.caution.limbs")
    if trees:
        yield say("answer.storm.look", paddocks=list_words(trees))
    yield from storm_words(picture)


def _looked(event: Event, body: Looked, picture: Picture) -> Iterator[str]:
    yield from after_look(event, body, picture)
    if body.at == "plants" and body.clear is False:
        yield from after_plants(event, body, picture)


ANSWERS: dict[type[Body], Answer] = {
    Moved: _moved,
    Penned: _penned,
    Back: _back,
    Treated: _treated,
    Sold: _sold,
    Counted: _counted,
    Borrowed: lent_words,
    Looked: _looked,
    Walked: after_walk,
    Netted: _netted,
    Stormed: _stormed,
    Lost: after_loss,
    Fed: after_feed,
    Planted: after_planting,
    Shut: after_shut,
}
