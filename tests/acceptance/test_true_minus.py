"""Papers and pages tell a number below nothing by the same sign: a true minus, never a hyphen."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from browseline.chain import Picture, look
from browseline.chain.in_force import plan_in_force
from browseline.cli.demo import copy_example, example
from browseline.papers.issued import Kind, issue

HYPHEN = re.compile(r"(?<![\w.)\]\-−])-(?=[\d$€£])")
"""A hyphen before a number that nothing stands before: not one of a range, a date or a name."""


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    folder = tmp_path_factory.mktemp("papers") / "farm"
    return look(folder, copy_example(example(), folder))


def printed(picture: Picture, kind: Kind, folder: Path) -> str:
    paper = issue(picture, kind, folder, season=plan_in_force(picture))
    pages = PdfReader(next(path for path in paper.paths if path.suffix == ".pdf")).pages
    return "\n".join(page.extract_text() for page in pages).replace("\u200b", "")


@pytest.mark.parametrize("kind", ["relief", "season", "lender", "carbon", "planner"])
def test_no_paper_of_the_example_has_a_hyphen_for_a_minus(
    picture: Picture, kind: Kind, tmp_path: Path
) -> None:
    text = printed(picture, kind, tmp_path)
    assert len(text) > 500
    assert HYPHEN.findall(text) == []
    assert ("−" in text) is (kind in ("lender", "carbon", "planner"))
