"""The practitioners' rules, against the same rules written plainly, a day at a time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.plan_real_farms import some
from benchmarks.real_farms import farm_scene
from browseline.limits import faces
from browseline.moves import Yardstick, judge, yardstick_of
from browseline.moves.form import Plan
from browseline.moves.rules import LONGEST_RESTED, MOST_FEED, rule_plans


def made_up(seed: int, mobs: int, *, follows: bool) -> Yardstick:
    """Return a farm whose short stays tread as much as long ones: a rule knows no stay before its end."""
    scene = farm_scene(seed, 8, 63, 3, mobs)
    made = yardstick_of(scene, faces(scene))
    bars = made.bars._replace(eaten_frac=np.full_like(made.bars.eaten_frac, 0.7))
    if follows:
        bars = bars._replace(leader=np.array([-1, 0]), follow_d=np.array([[0.0, 0.0, 0.0], [1.0, 6.0, 0.0]]))
    return replace(made, bars=bars)


class Plain:
    """A rule, day by day; the herbage of each morning comes from the judge of what was done so far."""

    def __init__(self, yardstick: Yardstick, member: int, rule: int) -> None:
        self.yardstick, self.rule, self.bars, self.yard = yardstick, rule, yardstick.bars, yardstick.yard
        self.truth = some(yardstick.whole, np.array([member]))
        self.area_ha = yardstick.whole.land.area_ha
        self.here, self.stood = list(self.bars.start), list(self.bars.been_d)
        self.left = {(p, m): -self.bars.ago_d[m, p] for m in range(len(self.here)) for p in range(self.yard)}

    def plan(self) -> Plan:
        bars = self.bars
        x = np.tile(np.array(self.here)[:, None], len(bars.can_move))
        for t in range(x.shape[1]):
            if bars.can_move[t]:
                self.decide(t, judge(self.yardstick, x, self.truth).mass_kg_ha[0, t])
            x[:, t:] = np.array(self.here)[:, None]
            self.stood = [d + 1 for d in self.stood]
        return x

    def decide(self, t: int, stands: np.ndarray) -> None:
        arrived = 0
        for urgent in (True, False):
            for m in range(len(self.here)):
                if self.why(m, t, stands) != ("hard" if urgent else "soft"):
                    continue
                if arrived >= self.bars.arrivals[t]:
                    continue
                fit = [p for p in range(self.yard) if self.fits(m, p, t, stands)]
                to = max(fit, key=lambda p: (self.worth(m, p, t, stands), -p), default=self.yard)
                if to != self.here[m]:
                    if self.here[m] != self.yard:
                        self.left[self.here[m], m] = t
                    self.here[m], self.stood[m] = to, 0
                    arrived += 1

    def until(self, t: int) -> int:
        return next((d for d in range(t + 1, len(self.bars.can_move)) if self.bars.can_move[d]), self.days)

    @property
    def days(self) -> int:
        return len(self.bars.can_move)

    def open_until(self, m: int, p: int, t: int) -> bool:
        return all(self.bars.open_[m, d, p] for d in range(t, self.until(t)))

    def longest_hard(self, m: int, p: int) -> float:
        stays = self.bars.longest_d[:, m, p]
        return min((d for d, hard in zip(stays, self.bars.stay_hard, strict=True) if hard), default=np.inf)

    def why(self, m: int, t: int, stands: np.ndarray) -> str:
        p, bars = self.here[m], self.bars
        if p == self.yard:
            return "soft"
        past = self.stood[m] + self.until(t) - t > self.longest_hard(m, p)
        if past or not self.open_until(m, p, t):
            return "hard"
        taken = bars.demand_kg_d[t, m] / 0.7 / self.area_ha[p]
        leave = max(0.0, bars.leave_kg_ha[:, m, p].max(initial=0.0))
        over = self.stood[m] + 1 > bars.longest_d[:, m, p].min(initial=np.inf)
        return "soft" if over or stands[p] - taken < leave - taken / 2 else ""

    def fits(self, m: int, p: int, t: int, stands: np.ndarray) -> bool:
        bars, mobs = self.bars, range(len(self.here))
        if p == self.here[m] or not self.open_until(m, p, t) or self.until(t) - t > self.longest_hard(m, p):
            return False
        if any(self.here[i] == p and not bars.together[m, i] for i in mobs):
            return False
        rests = all(t - self.left[p, i] >= bars.rest_d[:, i, m].max() - 1e-9 for i in mobs)
        own = t - self.left[p, m] >= bars.own_rest_d[:, m, p].max() - 1e-9
        if not (rests and own and t >= bars.fit_from_d[:, m, p].max() - 1e-9):
            return False
        leader = bars.leader[m]
        if leader >= 0 and self.here[leader] != p and not 1 <= t - self.left[p, leader] <= 6:
            return False
        return bool(stands[p] >= bars.enter_kg_ha[:, m, p].max())

    def worth(self, m: int, p: int, t: int, stands: np.ndarray) -> float:
        if self.rule == LONGEST_RESTED:
            return float(min(t - self.left[p, i] for i in range(len(self.here))))
        leave = max(0.0, self.bars.leave_kg_ha[:, m, p].max(initial=0.0))
        return float((stands[p] - leave) * self.area_ha[p])


@pytest.mark.parametrize("rule", [LONGEST_RESTED, MOST_FEED])
@pytest.mark.parametrize(
    ("seed", "mobs", "follows"), [(4, 1, False), (5, 2, False), (6, 3, False), (5, 2, True)]
)
def test_a_rule_moves_as_the_same_rule_written_plainly(
    seed: int, mobs: int, follows: bool, rule: int
) -> None:
    yardstick, moves = made_up(seed, mobs, follows=follows), 0
    for member in range(3):
        plain = Plain(yardstick, member, rule).plan()
        found = rule_plans(yardstick, some(yardstick.whole, np.array([member])))[rule]
        assert found.tolist() == plain.tolist()
        moves += int((np.diff(plain) != 0).sum())
    assert moves > 20
