"""How long answers take that tests ask for: a height read, days away against the plan in force, a drawn map.

``python -m benchmarks.answers`` prints each beside its bar; asv runs the same.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import numpy as np

BARS_S = {"height": 1.0, "away": 2.0, "map": 5.0}


class Answers:
    """Each in a process that has answered once before. Bars: 1 s, 2 s, 5 s."""

    timeout = 300.0
    number = 1
    warmup_time = 0.0

    def setup(self) -> None:
        from browseline.chain.in_force import keep_plan, plan_in_force
        from browseline.moves.season import plan
        from tests.acceptance.test_must import first_answer
        from tests.acceptance.test_season_plan import AWAY_JUNE, TRIES, spring
        from tests.unit.test_maps import FARM, write
        from tests.walked import blob, kml

        self.held = tempfile.TemporaryDirectory()
        held = Path(self.held.name)
        for name in ("first", "spring", "farm"):
            (held / name).mkdir()
        self.first = held / "first"
        first_answer(self.first, 8.0)
        kept = spring(held / "spring")
        keep_plan(kept, plan(kept.scene, None, TRIES), "owner")
        self.old = plan_in_force(spring(held / "spring"))
        self.away = spring(held / "spring", AWAY_JUNE)
        plan(self.away.scene, self.old, 10)
        rng = np.random.default_rng(11)
        rings = [
            (f"P{n}", blob(rng, 99, (-45.0 + 0.002 * (n % 5), 41.0 + 0.002 * (n // 5)))) for n in range(20)
        ]
        self.farm = held / "farm"
        write(self.farm / "farm.toml", FARM)
        self.drawn = write(held / "farm.kml", kml(rings))

    def teardown(self) -> None:
        self.held.cleanup()

    def time_height(self) -> None:
        """M2: the limits after one more height. Bar: 1 s."""
        from browseline.chain import today
        from browseline.events import Walked
        from tests.acceptance.cases import entry, quantity, seen
        from tests.acceptance.test_must import IN

        today(seen(self.first, IN, [entry(IN, "here", Walked(quantity("5 in", "length")))]))

    def time_away(self) -> None:
        """S3: the plan in force changed for days away. Bar: 2 s."""
        from browseline.moves.season import plan
        from tests.acceptance.test_season_plan import TRIES

        plan(self.away.scene, self.old, TRIES)

    def time_map(self) -> None:
        """M18: twenty drawn shapes of two thousand points brought in and read. Bar: 5 s."""
        from browseline.exchange.maps import import_map
        from browseline.farm.read import read

        import_map(self.farm, self.drawn)
        read(self.farm)


def main() -> None:
    """Print each answer's seconds beside its bar."""
    for name, bar in BARS_S.items():
        made = Answers()
        made.setup()
        begun = time.perf_counter()
        getattr(made, f"time_{name}")()
        print(f"{name}: {time.perf_counter() - begun:.2f} s, bar {bar:.0f} s")
        made.teardown()


if __name__ == "__main__":
    main()
