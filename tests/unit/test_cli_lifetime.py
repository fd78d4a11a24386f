"""A verb seldom looks for what nobody holds; a server does so as usual."""

from __future__ import annotations

import subprocess
import sys


def in_a_new_process(program: str) -> list[str]:
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    return done.stdout.split()


def test_a_verb_looks_seldom_and_not_at_its_end() -> None:
    told = in_a_new_process(
        "import atexit, gc\n"
        "atexit.register(lambda: print(gc.get_threshold()[0], gc.get_freeze_count() > 1000))\n"
        "from browseline.cli import main\n"
        "main(['--version'])"
    )
    assert told[-2:] == ["500000", "True"]


def test_a_process_that_stays_looks_as_usual() -> None:
    told = in_a_new_process(
        "import gc\nusual = gc.get_threshold()\n"
        "from browseline.cli.lifetime import here_to_stay, soon_over\n"
        "soon_over()\nassert gc.get_threshold() != usual\n"
        "here_to_stay()\nprint(gc.get_threshold() == usual, gc.get_freeze_count() > 1000)"
    )
    assert told == ["True", "True"]
