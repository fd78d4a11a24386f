"""The time zone of a farm: as typed, else as this machine is set."""

from __future__ import annotations

import os
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

LINK = Path("/etc/localtime")
NAMED = Path("/etc/timezone")


def exists(name: str) -> bool:
    """Return whether an IANA time zone of that name is known."""
    if not name or len(name) > 100 or not name.isprintable():
        return False
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True


def known() -> set[str]:
    """Return the names of all time zones."""
    return available_timezones()


def of_machine(link: Path = LINK, named: Path = NAMED) -> str:
    """Return the time zone this machine is set to; UTC where it does not say.

    Parameters
    ----------
    link, named : Path
        Where a Unix machine keeps its zone: as a link into the zone files, and as a name.
    """
    guesses = [os.environ.get("TZ", "").lstrip(":")]
    if link.is_symlink():
        guesses.append(str(link.readlink()).rpartition("zoneinfo/")[2])
    if named.is_file():
        guesses.append(named.read_text(encoding="utf-8", errors="replace").strip())
    return next((guess for guess in guesses if exists(guess)), "UTC")
