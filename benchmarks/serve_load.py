"""The pages under many people: ``python -m benchmarks.serve_load`` prints what a minute of it gives.

Fifty readers ask for a page each five seconds and five writers keep an entry each ten, against the example
farm behind a real server on this machine's own address, whose clock goes on. Bars: no error, no lost entry,
95 of a hundred answers within 500 ms; Today within 300 ms on the server for three mobs and sixty paddocks,
also right after an entry; a first answer within 2 s of the start with every cache empty.
"""

from __future__ import annotations

import asyncio
import os
import random
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

import httpx2

NOW = "2026-06-10T12:00-04:00"
READERS, EVERY_S = 50, 5.0
WRITERS, WRITE_EVERY_S = 5, 10.0
LASTS_S = 60.0
PATIENCE_S = 120.0
PAGES = (
    "/today",
    "/today",
    "/walk",
    "/shut",
    "/ready",
    "/enter",
    "/relief",
    "/store",
    "/today?as=json",
    "/pocket/news",
)
SERVE = """
import sys, time
from datetime import datetime, timedelta
from pathlib import Path
from browseline.web.listen import Listener, OnThisMachine, listen
from browseline.web.serve import build
begun, start = time.monotonic(), datetime.fromisoformat(sys.argv[3])
app = build(Path(sys.argv[1]), lambda: start + timedelta(seconds=time.monotonic() - begun))
listener = Listener(OnThisMachine(app), port=int(sys.argv[2]))
listen([(listener, listener.bound())])
"""


@dataclass
class Load:
    """What the readers and writers met. Times in seconds."""

    reads_s: list[float] = field(default_factory=list)
    writes_s: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)
    kept: int = 0

    def line(self) -> str:
        """Return the figures in words."""
        both = sorted(self.reads_s + self.writes_s)
        reads, writes = sorted(self.reads_s), sorted(self.writes_s)
        return (
            f"{len(reads)} pages, {len(writes)} entries, {len(self.errors)} errors; "
            f"all: p50 {at(both, 0.5):.0f} ms, p95 {at(both, 0.95):.0f} ms, most {at(both, 1):.0f} ms; "
            f"pages: p95 {at(reads, 0.95):.0f} ms; "
            f"entries: p50 {at(writes, 0.5):.0f} ms, p95 {at(writes, 0.95):.0f} ms"
        )


def at(times_s: list[float], share: float) -> float:
    """Return a quantile of sorted times. [ms]"""
    return 1000 * times_s[min(int(share * len(times_s)), len(times_s) - 1)] if times_s else 0.0


def free_port() -> int:
    """Return a port of this machine that nobody listens at."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        return int(free.getsockname()[1])


def cold_s(farm: Path, cache: Path) -> float:
    """Return how long ``browseline serve`` takes from its start to the first answer. [s]"""
    words = ("-m", "browseline", "serve", str(farm), "--now", NOW, "--port")
    port = free_port()
    with tempfile.TemporaryDirectory() as state:
        env = {**os.environ, "BROWSELINE_STATE": state, "BROWSELINE_CACHE": str(cache)}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        begun = time.perf_counter()
        process = subprocess.Popen([sys.executable, *words, str(port)], env=env, stdout=subprocess.DEVNULL)
        try:
            return first_answer(f"http://127.0.0.1:{port}", begun)
        finally:
            process.terminate()
            process.wait(20)


@contextmanager
def served(farm: Path, now: str) -> Iterator[str]:
    """Serve a farm in a process of its own whose clock goes on; give its address once it has answered."""
    port = free_port()
    with tempfile.TemporaryDirectory() as state:
        env = {**os.environ, "BROWSELINE_STATE": state}
        begun = time.perf_counter()
        process = subprocess.Popen([sys.executable, "-c", SERVE, str(farm), str(port), now], env=env)
        address = f"http://127.0.0.1:{port}"
        try:
            first_answer(address, begun)
            yield address
        finally:
            process.terminate()
            process.wait(20)


def first_answer(address: str, begun: float) -> float:
    """Wait for the first page, and return how long it took since the start. [s]"""
    host, _, port = address.removeprefix("http://").partition(":")
    while True:
        try:
            socket.create_connection((host, int(port)), 1).close()
            break
        except OSError:
            if time.perf_counter() - begun > PATIENCE_S:
                raise
            time.sleep(0.02)
    with urllib.request.urlopen(f"{address}/today", timeout=PATIENCE_S) as found:
        found.read()
    return time.perf_counter() - begun


def token(page: str) -> str:
    """Return the token that forms send back."""
    found = re.search(r'name="csrf" content="(\w+)"', page)
    if found is None:
        raise ValueError(page[:200])
    return found[1]


async def reader(client: httpx2.AsyncClient, end: float, luck: random.Random, load: Load) -> None:
    """Ask for a page each five seconds."""
    await asyncio.sleep(luck.uniform(0, EVERY_S))
    while time.perf_counter() < end:
        begun = time.perf_counter()
        page = luck.choice(PAGES)
        found = await client.get(page, headers={"accept": "text/html"})
        load.reads_s.append(time.perf_counter() - begun)
        if found.status_code != 200:
            load.errors.append(f"{page} {found.status_code}")
        await asyncio.sleep(max(0.0, EVERY_S - (time.perf_counter() - begun)))


async def writer(client: httpx2.AsyncClient, end: float, luck: random.Random, load: Load) -> None:
    """Keep an entry each ten seconds, then look at Today as a person does: it must have it."""
    await asyncio.sleep(luck.uniform(0, WRITE_EVERY_S))
    form = token((await client.get("/enter", headers={"accept": "text/html"})).text)
    while time.perf_counter() < end:
        begun = time.perf_counter()
        words = (
            f"note {luck.getrandbits(64):x} --yes"
            if luck.random() < 0.5
            else f"walk 3 {luck.uniform(4, 9):.1f}in --yes"
        )
        sent = await client.post(
            "/typed", data={"words": words, "csrf": form}, headers={"accept": "text/html"}
        )
        load.writes_s.append(time.perf_counter() - begun)
        load.kept += sent.status_code == 303
        if sent.status_code != 303:
            load.errors.append(f"{words} {sent.status_code}")
        await asyncio.sleep(max(0.0, WRITE_EVERY_S - (time.perf_counter() - begun)))


async def crowd(address: str, lasts_s: float = LASTS_S) -> Load:
    """Return what a crowd met in a minute."""
    load, end = Load(), time.perf_counter() + lasts_s
    limits = httpx2.Limits(max_connections=READERS + WRITERS)
    async with httpx2.AsyncClient(base_url=address, timeout=60, limits=limits) as client:
        await asyncio.gather(
            *(reader(client, end, random.Random(f"r{n}"), load) for n in range(READERS)),
            *(writer(client, end, random.Random(f"w{n}"), load) for n in range(WRITERS)),
        )
    return load


def entries_of(farm: Path) -> int:
    """Return how many entries the record holds."""
    from browseline.record.store import Record

    with Record.open(farm) as record:
        return len(record.events())


def example_farm(folder: Path) -> Path:
    """Copy the example farm."""
    from browseline.cli.demo import copy_example, example

    copy_example(example(), folder / "farm")
    return folder / "farm"


def today_ms(farm: Path, now: str, paddock: str) -> tuple[float, float]:
    """Return how long Today takes when nothing has changed, and right after an entry, on the server. [ms]"""
    warm: list[float] = []
    after: list[float] = []
    with served(farm, now) as address, httpx2.Client(base_url=address, timeout=60) as client:
        client.headers["accept"] = "text/html"
        form = token(client.get("/today").text)
        for number in range(10):
            warm.append(timed(client))
            words = f"walk {paddock} {5 + number / 10:.1f}in --yes"
            client.post("/typed", data={"words": words, "csrf": form})
            after.append(timed(client))
    return at(sorted(warm), 0.5), at(sorted(after), 0.5)


def timed(client: httpx2.Client) -> float:
    """Return how long Today takes. [s]"""
    begun = time.perf_counter()
    client.get("/today").raise_for_status()
    return time.perf_counter() - begun


class ServeLoad:
    """A minute of fifty readers and five writers. Bar: p95 500 ms, no error, no lost entry."""

    timeout = 300.0
    unit = "ms"

    def track_p95(self) -> float:
        with tempfile.TemporaryDirectory() as held:
            farm = example_farm(Path(held))
            before = entries_of(farm)
            with served(farm, NOW) as address:
                load = asyncio.run(crowd(address))
            if load.errors or entries_of(farm) - before != load.kept:
                raise ValueError(load.errors[:3])
        return at(sorted(load.reads_s + load.writes_s), 0.95)


def main() -> None:
    """Print every figure with the machine's line."""
    from benchmarks.__main__ import machine_line
    from benchmarks.start_up import NOW as SIXTY_NOW
    from benchmarks.start_up import make_farm

    print(machine_line())
    with tempfile.TemporaryDirectory() as held:
        farm = example_farm(Path(held))
        cold_s(farm, Path(held) / "first")  # compiles what is not compiled yet
        cache = Path(held) / "cache"
        print(f"first answer with an empty cache of answers: {cold_s(farm, cache):.2f} s")
        print(f"first answer of a second start: {cold_s(farm, cache):.2f} s")
        sixty = Path(held) / "sixty"
        sixty.mkdir()
        make_farm(sixty)
        warm, after = today_ms(sixty, (SIXTY_NOW + timedelta(hours=1)).isoformat(), "1")
        print(f"Today, 3 mobs x 60 paddocks: {warm:.0f} ms, right after an entry {after:.0f} ms")
        before = entries_of(farm)
        with served(farm, datetime.fromisoformat(NOW).isoformat()) as address:
            load = asyncio.run(crowd(address))
        lost = load.kept - (entries_of(farm) - before)
        print(f"{load.line()}; {lost} entries lost")
        print(*load.errors[:5], sep="\n")


if __name__ == "__main__":
    main()
