"""Kill programs that write and join records, at random instants, and look for what was lost.

    python -m scripts.kill_test [--kills 200] [--seed 1] [--folder DIR]

Each round starts a program of its own that writes batches of events, or joins another copy whose
events and text file keep changing, and prints every id once it is confirmed. It is ended by SIGKILL
at a random instant. Then, each time: every id ever confirmed is there, SQLite's integrity check is
clean, and each text file is one whole version, old or new. A kill leaves the machine running, so
this tests the order of writes and not the disk's own promise to keep what was synced.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from browseline.events import Event, Noted, When, new_id
from browseline.record.history import NAMES
from browseline.record.join import join
from browseline.record.store import FILE, Record

FILLER = "".join(
    f"# line {n} that makes the file long enough to be caught half written\n" for n in range(3000)
)
LONGEST_S = 0.4
"""A kill comes at most so long after the program began its work."""


@dataclass(frozen=True)
class Result:
    """What was found: ``lost`` ids, ``unsound`` checks, ``torn`` text files; all empty is well."""

    kills: int
    confirmed: int
    joins: int
    unconfirmed: int
    lost: tuple[str, ...]
    unsound: tuple[str, ...]
    torn: tuple[str, ...]


def note(number: int) -> Event:
    """Return a small event made now."""
    now = datetime.now(UTC)
    return Event(new_id(now), "kill", "owner", When.at(now), now, "farm", Noted(f"entry {number}"))


def work(kind: str, mine: Path, theirs: Path) -> None:
    """Write or join until killed; print what is confirmed."""
    print("begin", flush=True)
    number = 0
    while True:
        number += 1
        if kind == "write":
            with Record.open(mine, "mine") as record:
                for _ in range(20):
                    batch = [note(number) for _ in range(1 + number % 5)]
                    record.append(batch)
                    print("mine", *(event.id for event in batch), flush=True)
        else:
            join_once(mine, theirs, number)


def join_once(mine: Path, theirs: Path, number: int) -> None:
    """Let the other copy change its text file and gain an event, then join it."""
    (theirs / "farm.toml").write_text(f'name = "Farm {time.time_ns()}"\n{FILLER}', encoding="utf-8")
    with Record.open(theirs, "theirs") as record:
        event = note(number)
        record.append([event])
        print("theirs", event.id, flush=True)
    join(mine, theirs, datetime.now(UTC))
    print("joined", event.id, flush=True)


def one_kill(kind: str, mine: Path, theirs: Path, wait_s: float) -> list[list[str]]:
    """Start a program, kill it after a while, and return the lines that it had printed in full."""
    command = [sys.executable, "-m", "scripts.kill_test", "--work", kind, str(mine), str(theirs)]
    root = Path(__file__).resolve().parent.parent
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=root) as program:
        out = program.stdout
        if out is None or out.readline() != "begin\n":
            raise RuntimeError("the program did not begin")
        time.sleep(wait_s)
        program.send_signal(signal.SIGKILL)
        lines = out.read().split("\n")
        program.wait()
    if program.returncode != -signal.SIGKILL:
        raise RuntimeError(f"the program ended by itself with {program.returncode}: {lines[-3:]}")
    return [line.split() for line in lines[:-1]]


def torn_files(folder: Path) -> Iterator[str]:
    """Yield the text files that are no whole version of the record."""
    with Record.open(folder) as record:
        for name in NAMES:
            path = folder / name
            digest = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
            if path.is_file() and digest not in {version.sha256 for version in record.versions(name)}:
                yield f"{name}: {digest}"


def look(folder: Path, confirmed: set[str]) -> tuple[set[str], str, set[str]]:
    """Return the confirmed ids that are missing, what SQLite finds wrong, and the ids that are there."""
    if not (folder / FILE).is_file():
        return confirmed, "", set()
    with Record.open(folder) as record:
        found = {event.id for event in record.events()}
        ((verdict,), *_) = record.all("PRAGMA integrity_check")
    return confirmed - found, "" if verdict == "ok" else str(verdict), found


def run(kills: int, seed: int, base: Path) -> Result:
    """Kill so many programs; every tenth round begins a new pair of folders."""
    luck = random.Random(seed)
    confirmed, joins, unconfirmed = 0, 0, 0
    lost: list[str] = []
    unsound: list[str] = []
    torn: list[str] = []
    mine = theirs = base
    known: dict[str, set[str]] = {}
    for number in range(kills):
        if number % 10 == 0:
            mine, theirs = base / f"mine{number}", base / f"theirs{number}"
            mine.mkdir()
            theirs.mkdir()
            known = {"mine": set(), "theirs": set()}
        kind = ("write", "join")[number % 2]
        for who, *ids in one_kill(kind, mine, theirs, luck.uniform(0, LONGEST_S)):
            known["theirs" if who == "theirs" else "mine"].update(ids)
            confirmed += len(ids) if who != "joined" else 0
            joins += who == "joined"
        for name, folder in (("mine", mine), ("theirs", theirs)):
            missing, wrong, found = look(folder, known[name])
            lost += missing
            unsound += [wrong] if wrong else []
            unconfirmed += len(found - known["mine"] - known["theirs"])
            known[name] |= found  # what is there now must stay, confirmed or not
        torn += torn_files(mine)
    return Result(kills, confirmed, joins, unconfirmed, tuple(lost), tuple(unsound), tuple(torn))


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the test and print what was found; 1 if anything was lost, unsound or torn."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=None)
    parser.add_argument("--work", nargs=3, metavar=("KIND", "MINE", "THEIRS"))
    given = parser.parse_args(arguments)
    if given.work:
        work(given.work[0], Path(given.work[1]), Path(given.work[2]))
    started = time.monotonic()
    with tempfile.TemporaryDirectory(dir=given.folder) as base:
        found = run(given.kills, given.seed, Path(base))
    print(
        f"{found.kills} kills in {time.monotonic() - started:.0f} s: {found.confirmed} entries and "
        f"{found.joins} joins confirmed, {found.unconfirmed} more found whole, {len(found.lost)} lost, "
        f"{len(found.unsound)} records unsound, {len(found.torn)} text files torn"
    )
    return int(bool(found.lost or found.unsound or found.torn))


if __name__ == "__main__":
    sys.exit(main())
