"""Plan again from today: what was done is done, and the next days change only where it buys enough."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from browseline.limits import Scene
from browseline.limits._prices import price_usd
from browseline.moves.again import Outlook, again, outlook_of
from browseline.moves.differs import placed
from browseline.moves.form import Firmness, Plan, PlannedStay, Season, Yardstick
from browseline.moves.propose import ITERATIONS, Keeping, Proposal
from browseline.moves.rules import all_yard
from browseline.words import say

Array = NDArray[np.float64]
FIRM_D, LIKELY_D = 7, 14
MOST_CHANGED, FIRMER, WORTH = 0.5, 4.0, 1.05
"""Share of the next week's mob-days beyond which a plan made again is sought once more; by how much changes
are dearer then; what a plan that changes less may cost at their own price, as a share. [1]"""
MOST_RUN_D, TOLD_D = 70_000_000, 600
"""Days of members times small changes for which two seconds suffice, and how many fewer for each day of each
mob and paddock that the plan has to be told of. [d]"""


def firmness_of(day: int) -> Firmness:
    """Return how firm a plan is on a day of the calendar, 0 is today: the hour of now does not matter."""
    return "firm" if day < FIRM_D else "likely" if day < LIKELY_D else "outline"


def replan(
    scene: Scene, yardstick: Yardstick, old_plan: Season, iterations: int = ITERATIONS,
    also: Sequence[Plan] = (),
) -> Proposal:  # fmt: skip
    """Return a plan from today's state that leaves the next days alone unless a change is worth it.

    Days 1 to 7 are dear to change, days 8 to 14 less; later days are free. Where the old plan can
    still be kept it is one of the plans to choose from. Where more than half of the next week's mob-days
    would change, and more than limits force, the plan is sought once more with dearer changes. The search
    counts on mildly less growth than each member has; what the plan costs is judged over all members as they
    are.

    Parameters
    ----------
    also : sequence of plans
        Known already, to choose from as well.
    """
    held = keeping(scene, yardstick, old_plan)
    start = repaired(yardstick, held.old)
    tries = min(iterations, most_changes(yardstick))
    return settled(yardstick, start, held, scene.farm.seed, tries, outlook_of(yardstick), also)


def settled(
    yardstick: Yardstick, start: Plan, held: Keeping, seed: int, tries: int, outlook: Outlook,
    also: Sequence[Plan] = (),
) -> Proposal:  # fmt: skip
    """Return the plan of ``again``, sought once more at dearer changes where much of the next week changes.

    Much is more than half of the mob-days of which the plan in force has a word, and than ``start`` changes.
    The second is taken where it changes less and costs, changes at their own price, hardly more.

    Parameters
    ----------
    yardstick, start, held, seed, tries, outlook, also
        As of ``again``.
    """
    found = again(yardstick, start, held, seed, tries, outlook, also)
    most = max(MOST_CHANGED * float(np.sum(held.old[:, :FIRM_D] >= 0)), changed_days(held.old, start))
    if changed_days(held.old, found.plan) <= most:
        return found
    dearer = Keeping(held.old, FIRMER * held.usd_d)
    firm = again(yardstick, start, dearer, seed, tries, outlook, also)
    one, other = (it.verdict.mean_usd + held.usd(it.plan) for it in (found, firm))
    less = changed_days(held.old, firm.plan) < changed_days(held.old, found.plan)
    return firm if less and other <= WORTH * one else found


def most_changes(yardstick: Yardstick) -> int:
    """Return how many small changes leave a plan made again within two seconds. [1]"""
    days = len(yardstick.days)
    told = TOLD_D * days * len(yardstick.mobs) * yardstick.yard
    return max(MOST_RUN_D - told, MOST_RUN_D // 4) // max(days * yardstick.members, 1)


def keeping(scene: Scene, yardstick: Yardstick, old: Season) -> Keeping:
    """Return the plan in force as days of a plan from now, with the price of each day that differs.

    What was planned for a paddock that a net has split since is held on its first part. A mob that the plan
    does not move stands where it stands: that it stays is what the plan says of it.
    """
    days = len(yardstick.days)
    place = np.full((len(yardstick.mobs), days), -1, np.int64)
    number = {
        name: p for p, part in reversed([*enumerate(yardstick.paddocks)]) for name in scene.ground(part)
    }
    for m, mob in enumerate(yardstick.mobs):
        for planned in old.of(mob):
            a, b = _span(scene, planned, days)
            place[m, a:b] = number.get(planned.stay.place, yardstick.yard)
        if not old.of(mob) and _is_here(scene, mob):
            place[m] = np.where(yardstick.bars.off[m, :days], yardstick.yard, yardstick.bars.start[m])
    usd = np.zeros(days)
    usd[:FIRM_D] = price_usd(scene.farm, "change_near")
    usd[FIRM_D:LIKELY_D] = price_usd(scene.farm, "change_later")
    return Keeping(place, usd)


def _is_here(scene: Scene, mob: str) -> bool:
    """Return whether it is known where a mob stands on the farm."""
    found = scene.state.mob(mob)
    return found is not None and found.place is not None and found.since is not None


def _span(scene: Scene, planned: PlannedStay, days: int) -> tuple[int, int]:
    """Return the days of a plan from now that lie in an old stay, by the farm's calendar."""
    today = scene.local(scene.now).date()
    end = planned.stay.end.start if planned.stay.end else planned.stay.begin.start
    first, last = ((scene.local(t).date() - today).days for t in (planned.stay.begin.start, end))
    return min(max(first, 0), days), min(max(last, 0), days)


def repaired(yardstick: Yardstick, old: Plan) -> Plan:
    """Return the old plan with every stay that a hard limit now bars sent to the yard.

    Parameters
    ----------
    old : int array, shape (mob, day)
        -1 where it has no word: the yard.
    """
    place = np.ascontiguousarray(all_yard(yardstick), np.int64)
    visits = sorted(
        (int(a), m, int(b))
        for m in range(old.shape[0])
        for a, b in zip(*_bounds(old[m]), strict=True)
        if old[m, a] >= 0 and old[m, a] != yardstick.yard
    )
    found = [(m, int(old[m, a]), a, b) for a, m, b in visits]
    placed(place, np.array(found, np.int64).reshape(-1, 4), yardstick.bars)
    return place


def _bounds(row: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return first days and ends of the runs of equal numbers in a row."""
    cuts = np.flatnonzero(np.diff(row)) + 1
    return np.concatenate([[0], cuts]).astype(np.int64), np.concatenate([cuts, [len(row)]]).astype(np.int64)


def visits_of(row: NDArray[np.int64]) -> list[tuple[int, int, int]]:
    """Return the visits of one mob: place, first day, end."""
    if len(row) == 0:
        return []
    return [(int(row[a]), int(a), int(b)) for a, b in zip(*_bounds(row), strict=True)]


def stays_in(yardstick: Yardstick, plan: Plan, m: int) -> list[tuple[int, int, int]]:
    """Return the visits of one mob as `visits_of`, a number past the yard's while it is not on the farm."""
    row = plan[m] if yardstick.gone is None else np.where(yardstick.gone[m], yardstick.yard + 1, plan[m])
    return visits_of(np.asarray(row, np.int64))


def off_grass(yardstick: Yardstick, plan: Plan, m: int) -> list[tuple[int, int]]:
    """Return first days and ends of the days of a mob in the yard on which it is neither housed nor away."""
    stands = (plan[m] == yardstick.yard) & ~yardstick.bars.off[m, : plan.shape[1]]
    return [(a, b) for code, a, b in visits_of(stands.astype(np.int64)) if code]


def place_words(scene: Scene, yardstick: Yardstick, place: int) -> str:
    """Return a place by its name, or the word for the yard, or for away, which is the number after it."""
    if place > yardstick.yard:
        return say("moves.away")
    if place == yardstick.yard:
        return say("moves.yard")
    paddock = scene.paddock(yardstick.paddocks[place])
    return paddock.name if paddock else yardstick.paddocks[place]


def changed_days(old: Plan, new: Plan) -> int:
    """Return how many mob-days of the next seven differ from the plan in force. [d]"""
    near, was = new[:, :FIRM_D], old[:, :FIRM_D]
    return int(np.sum((was >= 0) & (was != near)))
