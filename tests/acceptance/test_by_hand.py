"""m6, m13, p3, p4: the same cases typed by hand, as a person would, in new processes."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

from browseline.papers.relief import relief
from tests.acceptance.cases import EWE, LAMBS, farm_folder, mob, page, seen, walked

MILK, SUCKING = {"intake": "4.4 lb/d"}, {"intake": "1.2 lb/d"}


def flock(folder: Path, place: str, *, suckling: dict[str, str] = SUCKING, **more: Any) -> Path:
    lines = mob(EWE | MILK, LAMBS | suckling, place=place, since="2026-06-09 08:00")
    farm_folder(folder, as_of=date(2026, 6, 9), mobs=[lines], **more)
    seen(folder, "2026-06-09 09:00", walked("2026-06-09 08:30", {4: 9.0, 6: 7.0, 8: 7.0, 9: 7.0, 10: 7.0}))
    return folder


def typed(folder: Path, now: str, *words: str) -> tuple[int, str]:
    """Type a command at a time of day; return its exit status and what it printed, as one line."""
    env = dict(os.environ, BROWSELINE_NOW=f"{now}-04:00", BROWSELINE_FARM=str(folder), COLUMNS="80")
    command = [sys.executable, "-m", "browseline", *words]
    done = subprocess.run(
        command, env=env, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
    )
    return done.returncode, " ".join((done.stdout + done.stderr).split())


def test_m6_a_move_into_a_shut_paddock_demands_a_reason(tmp_path: Path) -> None:
    flock(tmp_path, "9")
    now = "2026-06-10T08:00:00"
    assert (
        typed(tmp_path, now, "shut", "4", "--because", "cherry limb down", "--until", "leaves gone")[0] == 0
    )
    status, told = typed(tmp_path, now, "move", "ewes", "to", "4")
    assert status != 0
    assert "cherry limb down" in told
    assert seen(tmp_path, "2026-06-10 08:30").scene.mobs[0].place == "9"
    assert typed(tmp_path, now, "move", "ewes", "to", "4", "--because", "flood on the lane")[0] == 0
    told = typed(tmp_path, "2026-06-10T08:05:00", "today")[1]
    assert "in 4, which is shut" in told
    assert typed(tmp_path, "2026-06-10T09:00:00", "open", "4", "--met", "leaves gone")[0] == 0
    assert seen(tmp_path, "2026-06-10 09:30").state.shut == ()


def test_m13_a_strange_height_is_asked_about_once_and_kept_if_the_person_says_so(tmp_path: Path) -> None:
    flock(tmp_path, "9")
    now = "2026-06-14T08:00:00"
    status, told = typed(tmp_path, now, "walk", "6", "20 in")
    assert status != 0
    assert "grass rarely grows 13 in in 5 d" in told
    assert "20 cm?" in told
    kept = seen(tmp_path, "2026-06-14 08:30").state.last_height("6")
    assert kept is not None
    assert kept.height.text == "7.0 in"
    assert typed(tmp_path, now, "walk", "6", "20 in", "--yes")[0] == 0
    kept = seen(tmp_path, "2026-06-14 08:30").state.last_height("6")
    assert kept is not None
    assert kept.height.text == "20 in"
    assert typed(tmp_path, "2026-06-15T08:00:00", "walk", "6", "20.5 in")[0] == 0


def test_m5_ready_dates_are_told_on_today_with_why(tmp_path: Path) -> None:
    flock(tmp_path, "8")
    assert typed(tmp_path, "2026-06-12T08:00:00", "move", "ewes", "to", "9")[0] == 0
    assert typed(tmp_path, "2026-06-26T07:00:00", "walk", "8", "9 in")[0] == 0
    told = typed(tmp_path, "2026-06-26T08:00:00", "today", "--why")[1]
    assert "8 - Grass: ready and Worms: not until 17 Jul" in told


def test_p4_typed_in_the_morning(tmp_path: Path) -> None:
    flock(tmp_path, "9")
    status, told = typed(
        tmp_path, "2026-06-11T06:35:00", "move", "ewes", "to", "10", "--at", "between 21:00 and 6:30"
    )
    assert status == 0
    for words in (
        "0 to 9.5 h",
        "up to 150 lb eaten",
        "Energiser off",
        "call for help first",
        "Ring the neighbour",
    ):
        assert words in told
    status, told = typed(
        tmp_path, "2026-06-11T07:15:00", "look", "trees", "10", "seen", "40", "bitten", "6", "barked", "2"
    )
    assert status == 0
    assert "15 % (8-26 %" in told
    assert "5 % (2-14 %" in told


def test_p3_typed_on_the_day(tmp_path: Path) -> None:
    flock(tmp_path, "8", suckling={"intake": "1.0 lb/d"})
    pen = ("pen", "ewes", "0123", "--with", "1 ewe, 2 lambs", "--because", "lame")
    status, told = typed(tmp_path, "2026-06-10T07:30:00", *pen)
    assert status == 0, told
    assert "the plan is unchanged" in told
    picture = seen(tmp_path, "2026-06-10 08:00")
    assert "59 ewes + 94 lambs" in page(relief(picture))
    assert typed(tmp_path, "2026-06-19T08:00:00", "back", "ewes", "0123")[0] == 0
    assert seen(tmp_path, "2026-06-19 08:30").scene.mobs[0].head == 156
