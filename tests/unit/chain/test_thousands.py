"""Large numbers of one page stand with the same signs between thousands."""

from __future__ import annotations

from browseline.figures import Figure, Origin, money_words
from browseline.moves.ways_out import told_usd
from browseline.words import links_of


def test_money_of_a_what_if_has_its_thousands_apart() -> None:
    figure = Figure("plan_worth", 2438.2, "USD", origins=(Origin("farm"),))
    assert (money_words(figure), told_usd(figure)) == ("$2,438", "$2,438")
    assert links_of(money_words(figure))[0].to is figure
