"""How long the command line takes: before it says anything, and until Today stands after a new entry."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta
from pathlib import Path

NOW = datetime.fromisoformat("2026-06-10T07:30-04:00")
EXAMPLE_NOW = "2026-06-10T12:00-04:00"
MOBS, PADDOCKS = 3, 60
FIRST_PLAN = """
import os, sys, time
from browseline.cli import main
from browseline.moves import season

def told(work):
    def run(*given):
        made = work(*given)
        print(time.time() - float(os.environ["BEGUN"]), file=sys.stderr)
        return made
    return run

season.propose, season.replan = told(season.propose), told(season.replan)
main()
"""
"""The command line, telling on the error stream how long after BEGUN a plan stood. [s]"""
NORMALS = """
[place]
latitude = 41.0
longitude = -45.0
elevation = "200 m"

[normals]
unit = "C"
tmax = [2, 4, 10, 17, 23, 27, 29, 28, 24, 17, 10, 4]
tmin = [-8, -7, -2, 4, 9, 14, 17, 16, 12, 5, 1, -5]
rain_unit = "mm"
rain = [70, 60, 80, 85, 95, 100, 100, 90, 90, 80, 80, 70]
wet_days = [11, 10, 12, 12, 13, 11, 11, 10, 10, 10, 11, 11]
wet_day_threshold = "0.25 mm"
"""


def farm_text() -> str:
    """Return an invented farm of three mobs and sixty paddocks under a climate of no real place."""
    head = [
        "schema = 1",
        'name = "Sixty"',
        'time_zone = "America/New_York"',
        'units = "acres"',
        "as_of = 2026-04-20",
    ]
    parts = ["\n".join(head), NORMALS, '[swards.home]\nkind = "mixed_cool"\n']
    parts += [
        f'[[paddocks]]\nid = "{n}"\nname = "{n}"\narea = "3 ac"\nwater = "trough"\n'
        for n in range(1, PADDOCKS + 1)
    ]
    beasts = (
        ("sheep", "ewe lactating twins", 60),
        ("cattle", "dairy heifer", 28),
        ("goat", "doe maintenance", 20),
    )
    parts += [
        f'[[mobs]]\nid = "m{n}"\nname = "Mob {n}"\nat = "{n}"\nsince = "2026-04-20 08:00"\n\n'
        f'[[mobs.lines]]\nkind = "{kind}"\nclass = "{klass}"\nhead = {head}\n'
        for n, (kind, klass, head) in enumerate(beasts, start=1)
    ]
    return "\n".join(parts)


def make_farm(folder: Path) -> None:
    """Write the farm with seven weeks of record: paddocks walked weekly, mobs moved on the fourth day."""
    from browseline.events import Event, Moved, Walked, When, new_id
    from browseline.record.store import Record
    from browseline.units import parse

    (folder / "farm.toml").write_text(farm_text(), encoding="utf-8")
    events = []
    for day in range(50):
        at = NOW - timedelta(days=50 - day)
        for mob in range(1, MOBS + 1):
            if day % 4 == mob % 4:
                to = str((day // 4 * MOBS + mob) % PADDOCKS + 1)
                events.append(Event(new_id(at), "d-1", "owner", When.at(at), at, f"m{mob}", Moved(to)))
        for paddock in range(1 + day % 7, PADDOCKS + 1, 7):
            body = Walked(parse(f"{6 + (paddock * 7 + day) % 9 / 2} in", "length"))
            events.append(Event(new_id(at), "d-1", "owner", When.at(at), at, str(paddock), body))
    with Record.open(folder) as record:
        record.append(events)


class StartUp:
    """A new process each time, as a person starts it. Bar for help: 0.3 s."""

    timeout = 60.0

    def time_help(self) -> None:
        subprocess.run([sys.executable, "-m", "browseline", "--help"], check=True, capture_output=True)

    def time_import(self) -> None:
        subprocess.run([sys.executable, "-c", "import browseline"], check=True, capture_output=True)


class TodayAfterAnEntry:
    """Three mobs, sixty paddocks: Today in a new process after a height was read. Bar: 1.5 s."""

    timeout = 300.0
    number = 1
    warmup_time = 0.0

    def setup(self) -> None:
        self.held = tempfile.TemporaryDirectory()
        farm, code = (Path(self.held.name) / name for name in ("farm", "code"))
        farm.mkdir()
        kept = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        named = {"BROWSELINE_FARM": str(farm), "BROWSELINE_NOW": NOW.isoformat()}
        self.env = {**kept, **named, "PYTHONPYCACHEPREFIX": str(code)}
        make_farm(farm)
        self.run("today")
        self.run("walk", "1", "5 in", "--yes")

    def teardown(self) -> None:
        self.held.cleanup()

    def run(self, *words: str) -> None:
        """Run one command as a new process."""
        subprocess.run(
            [sys.executable, "-m", "browseline", *words], check=True, capture_output=True, env=self.env
        )

    def time_today(self) -> None:
        self.run("today")

    def time_entry(self) -> None:
        self.run("walk", "1", "5 in", "--yes")


class SeasonOfTheExample:
    """The example farm with a plan in force: Season in a new process. Bar: 2 s to the first plan."""

    timeout = 600.0
    number = 1
    warmup_time = 0.0
    unit = "s"

    def setup(self) -> None:
        from browseline.cli.demo import copy_example, example

        self.held = tempfile.TemporaryDirectory()
        farm, code = (Path(self.held.name) / name for name in ("farm", "code"))
        copy_example(example(), farm)
        kept = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        named = {"BROWSELINE_FARM": str(farm), "BROWSELINE_NOW": EXAMPLE_NOW}
        self.env = {**kept, **named, "PYTHONPYCACHEPREFIX": str(code)}
        self.run("-m", "browseline", "season", "--keep")
        self.run("-m", "browseline", "season")

    def teardown(self) -> None:
        self.held.cleanup()

    def run(self, *words: str) -> str:
        """Run a new process; return its errors."""
        env = {**self.env, "BEGUN": str(time.time())}
        done = subprocess.run([sys.executable, *words], check=True, capture_output=True, env=env, text=True)
        return done.stderr

    def time_season(self) -> None:
        self.run("-m", "browseline", "season")

    def track_first_plan(self) -> float:
        return float(self.run("-c", FIRST_PLAN, "season").split()[-1])
