"""The files of the pocket: its sentences, its service worker with the edition, its manifest."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from browseline import __version__
from browseline.chain.in_force import plan_in_force
from browseline.chain.look import Picture
from browseline.chain.pocket.words import words
from browseline.papers.relief import ReliefSheet, relief
from browseline.words import language

HERE = Path(__file__).parent
STATIC = HERE / "static"
SHELL = "pocket.html"
TEMPLATES = ("base.html", SHELL)

__all__ = ["PocketShell", "edition", "manifest", "relief_sheet", "shell", "words", "worker"]


@dataclass(frozen=True, slots=True)
class PocketShell:
    """The empty page of the pocket: what it shows comes from the phone's own store.

    ``modules`` are the scripts that it runs, for the browser to fetch all at once: one that imports another
    would else be read before the other is asked for, which a slow phone feels.
    """

    schema: str
    modules: tuple[str, ...]


def shell() -> PocketShell:
    """Return the empty page."""
    scripts = (name for name in _files() if name.endswith(".js") and not name.endswith("/page.js"))
    return PocketShell("browseline/pocket-shell/1", tuple(scripts))


def relief_sheet(picture: Picture) -> ReliefSheet:
    """Return the relief sheet that a phone carries, by the plan in force."""
    return replace(relief(picture, season=plan_in_force(picture)), sketch=None)


@cache
def _files() -> tuple[str, ...]:
    found = [STATIC / "browseline.css", *sorted((STATIC / "pocket").iterdir())]
    return tuple(path.relative_to(HERE).as_posix() for path in found)


def edition() -> str:
    """Return the edition of all that the service worker keeps: another one, another cache."""
    digest = hashlib.blake2b(f"{__version__} {language.get()}".encode(), digest_size=8)
    for name in (*_files(), "static/sw.js", *(f"templates/{name}" for name in TEMPLATES)):
        digest.update((HERE / name).read_bytes())
    digest.update(json.dumps(words(), sort_keys=True).encode())
    return digest.hexdigest()


def worker(base: str) -> str:
    """Return the service worker of a farm that is served under ``base``."""
    kept = [f"{base}/{name}" for name in (*_files(), "pocket", "pocket/words", "manifest.webmanifest")]
    head = {"BASE": base, "EDITION": edition(), "FILES": kept}
    lines = [f"const {name} = {json.dumps(value)};" for name, value in head.items()]
    return "\n".join([*lines, (STATIC / "sw.js").read_text(encoding="utf-8")])


def manifest(base: str) -> dict[str, Any]:
    """Return how the pocket stands on a phone's first screen."""
    icon = {"src": f"{base}/static/pocket/icon.svg", "sizes": "any", "type": "image/svg+xml"}
    return {
        "name": words()["title"], "short_name": words()["title"], "start_url": f"{base}/pocket",
        "scope": f"{base}/", "display": "standalone", "icons": [icon],
    }  # fmt: skip
