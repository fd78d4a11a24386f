"""How often somebody may ask: a bucket for each caller that refills as time goes by."""

from __future__ import annotations

import ipaddress
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

MOST_CALLERS = 10_000
"""So many callers are remembered; who has not called for longest is forgotten first."""


@dataclass(frozen=True, slots=True)
class Rate:
    """At most ``burst`` at once, and ``per_s`` over time. [1/s]"""

    burst: float
    per_s: float


READS = Rate(240, 40)
ENTRIES = Rate(60, 2)
GUESSES = Rate(5, 1 / 60)
"""Codes that one address may try: five, then one a minute."""
ALL_GUESSES = Rate(40, 1 / 15)
"""Codes that all addresses together may try at one farm."""


class Rates:
    """Buckets by name. Every method may be called from any thread.

    Parameters
    ----------
    clock : callable
        What they refill by. [s]
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self._lock = threading.Lock()
        self._left: OrderedDict[tuple[str, Rate], tuple[float, float]] = OrderedDict()

    def wait_s(self, caller: str, rate: Rate) -> float:
        """Take one out of a caller's bucket; return 0, or how long to wait where it is empty. [s]"""
        now = self.clock()
        with self._lock:
            left, then = self._left.pop((caller, rate), (rate.burst, now))
            left = min(rate.burst, left + max(now - then, 0.0) * rate.per_s)
            taken = left >= 1
            self._left[caller, rate] = (left - 1 if taken else left, now)
            while len(self._left) > MOST_CALLERS:
                self._left.popitem(last=False)
        return 0.0 if taken else (1 - left) / rate.per_s


def caller(address: str) -> str:
    """Return by what an address is told apart: one of IPv6 by its network, which one household holds."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv6Address):
        return str(found.ipv4_mapped or ipaddress.ip_network((int(found) >> 64 << 64, 64)))
    return str(found)
