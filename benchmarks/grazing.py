"""How long the paddock-day takes: a year of a farm for all members, and of one paddock alone."""

from __future__ import annotations

import numpy as np

from browseline.science import grazing
from browseline.sward.constants import COOL, leaf

MEMBERS, PADDOCKS, DAYS, MOBS, CURVES = 50, 60, 365, 3, 3
STAY_D = 4
BOTH = (COOL, "legume")


class PaddockDay:
    """Bars: 50 members x 60 paddocks x 365 days 60 ms on two cores; a season of one paddock 20 us."""

    timeout = 60.0

    def setup(self) -> None:
        luck = np.random.default_rng(1)
        visits = MOBS * (DAYS // STAY_D)
        start = np.tile(np.arange(visits // MOBS) * float(STAY_D), MOBS)
        where, who = luck.integers(0, PADDOCKS, visits), np.repeat(np.arange(MOBS), visits // MOBS)
        self.stays = grazing.stays_of(DAYS, where, who, start, start + STAY_D, np.full(visits, 0.7))
        self.paddocks = grazing.Paddocks(
            luck.integers(0, CURVES, PADDOCKS), np.tile([0.8, 0.2], (PADDOCKS, 1)),
            luck.uniform(0.5, 3, PADDOCKS), np.full(PADDOCKS, 250.0),
        )  # fmt: skip
        self.days = grazing.Days(
            luck.uniform(0, 200, (CURVES, MEMBERS, DAYS, 2)),
            luck.choice([0, 0.003], (CURVES, MEMBERS, DAYS)),
            np.full((DAYS, PADDOCKS), np.nan), np.full((DAYS, PADDOCKS), np.inf),
        )  # fmt: skip
        self.demand = np.full((1, DAYS, MOBS), 400.0)
        self.start = np.full((MEMBERS, PADDOCKS), 2000.0)
        self.fertility = np.full((MEMBERS, PADDOCKS), 0.5)
        self.uncut, self.untyped = np.full(DAYS, np.inf), np.full(DAYS, np.nan)
        self.wanted = np.where(np.arange(DAYS) % 30 == 0, 500.0, 0.0)
        self.time_50_members_60_paddocks_a_year()
        self.time_one_paddock_a_year()

    def time_50_members_60_paddocks_a_year(self) -> None:
        grazing.run(self.start, self.fertility, self.demand, self.paddocks, self.days, self.stays, leaf(BOTH))

    def time_one_paddock_a_year(self) -> None:
        grazing.one_paddock(
            2000.0, self.wanted, 250.0, self.uncut, self.untyped, 0.5, self.days.potential_kg_ha_d[0, 0],
            self.days.loss_per_d[0, 0], self.paddocks.share[0], leaf(BOTH),
        )  # fmt: skip
