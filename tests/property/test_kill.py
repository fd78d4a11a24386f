from __future__ import annotations

from pathlib import Path

from scripts.kill_test import run


def test_nothing_confirmed_is_lost_when_programs_are_killed(tmp_path: Path) -> None:
    found = run(20, seed=20260503, base=tmp_path)
    assert (found.lost, found.unsound, found.torn) == ((), (), ())
    assert found.kills == 20
    assert found.confirmed > 20
