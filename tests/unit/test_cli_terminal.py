"""Questions on a real terminal: start asks at most twelve, and a strange number is kept if one says so."""

from __future__ import annotations

import os
import pty
import re
import select
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from tests.unit.cli_farm import NOW, small_farm

PATIENCE_S = 60.0


def on_terminal(words: Sequence[str], answers: Sequence[tuple[str, str]], folder: Path) -> tuple[int, str]:
    """Run a command on a terminal of its own; answer each question once its words have come."""
    child, screen = pty.fork()
    if child == 0:
        os.environ.update(BROWSELINE_NOW=NOW, BROWSELINE_FARM=str(folder), COLUMNS="100")
        os.execv(sys.executable, [sys.executable, "-m", "browseline", *words])
    said, waiting = "", list(answers)
    asked_from = 0
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        if not select.select([screen], [], [], 0.2)[0]:
            continue
        try:
            said += os.read(screen, 4096).decode(errors="replace")
        except OSError:
            break
        if waiting and waiting[0][0] in said[asked_from:]:
            asked_from = len(said)
            os.write(screen, f"{waiting.pop(0)[1]}\n".encode())
    status = os.waitpid(child, 0)[1]
    os.close(screen)
    assert not waiting, f"never asked: {waiting[0][0]}\n{said}"
    return os.waitstatus_to_exitcode(status), re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", said)


def test_start_asks_twelve_questions_and_gives_the_first_answer(tmp_path: Path) -> None:
    answers = [
        ("called", "Terminal Farm"), ("How many head", "60"), ("Which animals", "sheep"),
        ("at what stage", "cow"), ("at what stage", "ewe lactating twins"),
        ("weigh", "150 lb"), ("eat a day", "4.4 lb/d"), ("How large", "3 ac"), ("How high", "8 in"),
        ("How much dry matter", "275 lb/ac/in"), ("height should be left", "4 in"), ("What share", "70 %"),
        ("go in", ""),
    ]  # fmt: skip
    folder = tmp_path / "begun"
    code, said = on_terminal(["start", "--in", str(folder), "--zone", "America/New_York"], answers, folder)
    assert code == 0, said
    assert "Worms comes first" in said
    assert "Choose one of" in said, "a wrong answer is told and asked again"
    assert len({question for question, _ in answers}) <= 12
    assert (folder / "farm.toml").is_file()


def test_a_strange_height_is_asked_about_and_kept_or_not(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    farm.run("walk", "6", "7 in", "--at", "1 May 7:00")
    code, said = on_terminal(["walk", "6", "20 in"], [("[y/N]", "n")], farm.folder)
    assert (code, "Nothing was kept" in said, len(farm.events())) == (1, True, 1)
    code, said = on_terminal(["walk", "6", "20 in"], [("[y/N]", "y")], farm.folder)
    assert (code, "Kept: height - Gate: 20 in" in said, len(farm.events())) == (0, True, 2)


def test_a_file_of_entries_is_shown_and_kept_or_not(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    week = tmp_path / "week.txt"
    week.write_text("Mon 18:00 walk 6 7 in\nTue note the far gate drags\nTue hurry\n", encoding="utf-8")
    code, said = on_terminal(["note", "--from", str(week)], [("Keep these 2 entries?", "n")], farm.folder)
    assert (code, "Nothing is kept yet" in said, len(farm.events())) == (1, True, 0)
    code, said = on_terminal(["note", "--from", str(week)], [("Keep these 2 entries?", "y")], farm.folder)
    assert (code, "week.txt:3  " in said, len(farm.events())) == (1, True, 2)


def test_the_first_limit_is_bold_on_a_terminal_and_colour_is_never_needed(tmp_path: Path) -> None:
    farm = small_farm(tmp_path / "farm")
    farm.run("walk", "6", "7 in")
    code, said = on_terminal(["today"], [], farm.folder)
    assert code == 0
    assert " > Worms: by Fri 7:00" in said
