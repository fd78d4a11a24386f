"""A small farm folder on disk for tests of the command line, and a way to run one command."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from typer.testing import CliRunner

from browseline.cli.group import app
from browseline.events import Event
from browseline.record.store import Record

NOW = "2026-05-06T07:30-04:00"
FARM = """schema = 1
name = "Small Farm"
time_zone = "America/New_York"
units = "acres"
as_of = 2026-05-01

[swards.home]
kind = "mixed_cool"
mass_per_height = "275 lb/ac/in"
leave_at = "4 in"
share_eaten = "70 %"
start_at = "6 in"

[[paddocks]]
id = "4"
name = "Cherry"
area = "3 ac"
water = "trough"

[[paddocks]]
id = "6"
name = "Gate"
area = "3 ac"
water = "trough"

[[paddocks]]
id = "7"
name = "Hazel"
area = "2 ac"
water = "trough"

[[paddocks]]
id = "8"
name = "Top"
area = "3 ac"
water = "trough"

[[mobs]]
id = "ewes"
name = "Ewes"
at = "6"
since = "2026-05-04 07:00"

[[mobs.lines]]
kind = "sheep"
class = "ewe lactating twins"
head = 60
weight = "150 lb"
intake = "4.4 lb/d"

[[mobs.lines]]
kind = "sheep"
class = "lamb growing 30 kg"
head = 96
intake = "1.0 lb/d"

[[plantings]]
id = "hazel"
name = "Hazel block"
species = "hazel_hybrid"
paddock = "7"
planted = 2020
trees = 109

[[hay]]
id = "barn"
bales = "60 bales"
bale_weight = "800 lb"

[prices]
hay = "$60"
"""


@dataclass(frozen=True)
class Done:
    """What a command printed, and its exit status."""

    code: int
    out: str
    err: str

    @property
    def all(self) -> str:
        """Return everything printed, runs of blanks as one."""
        return " ".join((self.out + self.err).split())


@dataclass(frozen=True)
class SmallFarm:
    """A farm folder that commands are run on."""

    folder: Path

    def run(self, *words: str, now: str = NOW, typed: str | None = None) -> Done:
        """Run one command on the farm."""
        runner = CliRunner()
        env = {"BROWSELINE_FARM": str(self.folder), "BROWSELINE_NOW": now, "COLUMNS": "80"}
        done = runner.invoke(app, list(words), env=env, input=typed)
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        return Done(done.exit_code, done.stdout, done.stderr)

    def events(self) -> tuple[Event, ...]:
        """Return every event of the record."""
        with Record.open(self.folder) as record:
            return record.events()

    def last(self) -> Event:
        """Return the newest event."""
        return self.events()[-1]


def small_farm(folder: Path, text: str = FARM) -> SmallFarm:
    """Write the farm into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return SmallFarm(folder)
