from __future__ import annotations

import re
from pathlib import Path

import pytest

import browseline.record
from browseline.events import KINDS
from browseline.words import known

SOURCE = "\n".join(
    path.read_text(encoding="utf-8") for path in Path(browseline.record.__file__).parent.glob("*.py")
)


@pytest.mark.parametrize(
    ("room", "asked"),
    [
        ("question", r'(?:\.ask|Question)\(\s*"(\w+)"'),
        ("disagreement", r'Disagreement\(\s*"(\w+)"'),
        ("alarm", r'Alarm\(\s*"(\w+)"'),
    ],
)
def test_everything_the_record_says_has_words(room: str, asked: str) -> None:
    codes = set(re.findall(asked, SOURCE))
    assert codes
    assert [code for code in sorted(codes) if not known(f"record.{room}.{code}")] == []


def test_every_kind_has_a_name() -> None:
    ours = [kind for kind, body in KINDS.items() if body.__module__ == "browseline.events.bodies"]
    assert [kind for kind in ours if not known(f"record.kind.{kind}")] == []
