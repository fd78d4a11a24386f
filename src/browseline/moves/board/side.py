"""Work on two threads side by side, and the seconds it would take on two cores of its own.

A busy machine gives a thread less than a core, so that a clock on the wall tells more about the neighbours
than about the work. `seconds` counts each thread's own processor time, one after the other where one thread
waits and the longer of two where both work: what would pass on two free cores.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
U = TypeVar("U")
_HERE = threading.local()


def seconds() -> float:
    """Return the seconds of this thread's work, and of all that it waited for, on two free cores. [s]"""
    return time.thread_time() + float(getattr(_HERE, "ahead_s", 0.0))


def _at(when: float) -> None:
    """Set what `seconds` tells in this thread. [s]"""
    _HERE.ahead_s = when - time.thread_time()


def both(work: Callable[[T], U], items: Sequence[T]) -> list[U]:
    """Return what work makes of each item, in order, two of them at a time; each thread takes the next.

    Parameters
    ----------
    work : callable
        Must not itself call `both`.
    """
    begun = seconds()
    todo, lock = iter(enumerate(items)), threading.Lock()
    found: dict[int, tuple[U, float]] = {}

    def worker() -> None:
        while True:
            with lock:
                one = next(todo, None)
            if one is None:
                break
            if one[0] < 2:
                _at(begun)
            then = seconds()
            found[one[0]] = (work(one[1]), seconds() - then)

    with ThreadPoolExecutor(2) as pool:
        for done in [pool.submit(worker) for _ in items[:2]]:
            done.result()
    busy = [0.0, 0.0]
    for k in range(len(items)):
        busy[int(busy[1] < busy[0])] += found[k][1]
    _at(seconds() + max(busy))
    return [found[k][0] for k in range(len(items))]
