"""How fast a sward fell under a mob against what the mob would have eaten."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from browseline.farm.needs import demand
from browseline.farm.records import Farm, Paddock
from browseline.record.state import HeightRead, MobState, State
from browseline.sward import share_eaten, sward_numbers

DAY = timedelta(days=1)
START_WITHIN = timedelta(days=3)


@dataclass(frozen=True, slots=True)
class Fell:
    """Two heights of one stay: read at the start and now, and what the mob would have left. [cm, d]

    ``worth_d`` is the days of this mob that the fall would feed, with no growth; ``fast_d`` is how many
    more than it has stood there.
    """

    start_cm: float
    now_cm: float
    expected_cm: float
    stood_d: float
    worth_d: float

    @property
    def fast_d(self) -> float:
        """Return how many days too fast it fell; below 0 where it fell more slowly. [d]"""
        return self.worth_d - self.stood_d


def fell(farm: Farm, state: State, mob: MobState, paddock: Paddock) -> Fell | None:
    """Return how a paddock fell under the mob that stands in it; None without two heights of the stay."""
    needs = demand(mob.lines, mob.id)
    if mob.place != paddock.id or mob.since is None or needs is None or not needs.value:
        return None
    begin = mob.since.start
    heights = sorted((h for h in state.heights if h.paddock == paddock.id), key=lambda h: (h.at.end, h.event))
    before = [h for h in heights if begin - START_WITHIN <= h.at.end <= begin]
    after = [h for h in heights if h.at.end > begin]
    start: HeightRead | None = before[-1] if before else None
    if start is None or not after:
        return None
    numbers = sward_numbers(farm, paddock)
    per_cm, area = numbers.mass_per_height.value or 0.0, paddock.grazed_ha
    stood = (after[-1].at.end - begin) / DAY
    eaten = share_eaten(numbers, stood).value or 1.0
    per_day_cm = needs.value / eaten / area / per_cm if area > 0 and per_cm > 0 else 0.0
    if per_day_cm <= 0:
        return None
    first, last = start.height.to("cm"), after[-1].height.to("cm")
    return Fell(first, last, first - stood * per_day_cm, stood, (first - last) / per_day_cm)
