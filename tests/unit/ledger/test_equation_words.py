"""Tree equations in words: every row of the table is told without its codes."""

from __future__ import annotations

import pytest

from browseline.farm.tree_mass import equations
from browseline.ledger.equation_words import equation_words, group_words


@pytest.mark.parametrize(
    ("group", "words"),
    [
        ("Betulaceae 0.50-0.59 spg", "birch family [Betulaceae], wood 0.50-0.59 times as heavy as water"),
        ("Pinus <0.45 spg", "pines [Pinus], wood less than 0.45 times as heavy as water"),
        ("Abies >=0.35 spg", "firs [Abies], wood 0.35 times as heavy as water or more"),
        ("Fagaceae evergreen", "beech and oak family [Fagaceae] evergreen"),
        ("Fabaceae/Juglandaceae, other", "pea family and walnut family [Fabaceae, Juglandaceae], other"),
        ("soft maple/birch", "soft maple and birch"),
        ("pine", "pine"),
    ],
)
def test_a_group_in_words(group: str, words: str) -> None:
    assert group_words(group) == words


def test_no_row_of_the_table_shows_a_code() -> None:
    for line in equations():
        told = equation_words(f"{line['set']}, {line['group']}")
        assert line["set"] not in told
        assert not any(sign in told for sign in ("spg", "<", ">", "/")), told


def test_what_is_no_equation_stays_as_it_is() -> None:
    assert equation_words("coarse roots of the tree") == "coarse roots of the tree"
    assert equation_words("all wood, default") == "all wood, default"
