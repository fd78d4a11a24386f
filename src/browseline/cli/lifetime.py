"""How long this process will live, and so how often it looks for what nobody holds any more.

A verb is over in a second or two and gives everything back at once. Looking through all that was just
imported, again and again and once more at the end, takes a fifth of that time and finds nothing.
"""

from __future__ import annotations

import atexit
import gc

MANY = 500_000
"""Things made and not given back after which even a short process looks: some hundred megabytes."""

_usual = gc.get_threshold()


def soon_over() -> None:
    """Look seldom, and not at the end."""
    gc.set_threshold(MANY, *_usual[1:])
    atexit.register(gc.freeze)


def here_to_stay() -> None:
    """Look as usual from now on, but no more at what stands until the end anyway."""
    gc.freeze()
    gc.set_threshold(*_usual)
