"""What is being done is told where nobody watches, too: the first start compiles for minutes."""

from __future__ import annotations

import threading

import pytest

from browseline.cli import out


def test_where_no_terminal_is_one_line_tells_what_takes_long(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(out, "LOG_PATIENCE_S", 0.01)
    before = set(threading.enumerate())
    with out.waiting("Planning the season"):
        for thread in set(threading.enumerate()) - before:
            thread.join(10)
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", "Planning the season ...\n")


def test_what_is_done_at_once_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    with out.waiting("Planning the season"):
        pass
    told = capsys.readouterr()
    assert (told.out, told.err) == ("", "")
