"""Numbers of a page as links: every one that opens is marked, in a sentence and in a cell of a table."""

from __future__ import annotations

from dataclasses import dataclass

from browseline.figures import Figure
from browseline.web.opens import Opens
from browseline.words import joined, linked


@dataclass(frozen=True)
class FedPage:
    """A page with one number."""

    hay: Figure
    schema: str = "browseline/fed/1"


HAY = Figure("hay", 24_409.0, "kg", low=23_734.0, high=25_279.0)
OPENS = Opens(FedPage(HAY), "/farm")


def test_a_number_in_a_cell_is_marked_and_kept_on_a_line() -> None:
    told = str(OPENS.cell(linked("24,409 lb", HAY)))
    assert '<span class="n">24,409 lb</span>' in told
    assert 'href="/farm/why/fed.hay_kg"' in told


def test_a_number_with_its_range_is_marked_too_and_may_break() -> None:
    told = str(OPENS.cell(linked("24,409 lb (23,734 to 25,279)", HAY)))
    assert '<span class="n range">24,409 lb (23,734 to 25,279)</span>' in told


def test_a_sentence_is_one_link_whose_numbers_are_marked_and_markup_is_none() -> None:
    told = str(OPENS.told(joined(["<b> short of ", linked("24,409 lb", HAY), "."])))
    assert told.startswith('<a class="why" href="/farm/why/fed.hay_kg">&lt;b&gt; short of ')
    assert told.count('<span class="n">') == 1


def test_a_long_range_in_a_sentence_is_marked_as_a_short_one_is() -> None:
    told = str(OPENS.told(joined(["Left over: ", linked("−$24,409 (−$23,734 to −$25,279)", HAY), "."])))
    assert told.count("−\u2060$") == 3, "no line ends between a minus and its money"
    assert '<span class="n range">−$24,409 (−$23,734 to −$25,279)</span>' in told.replace("\u2060", "")
    whole = linked("Hay is short in 2 of the 24 months that were looked at.", HAY)
    assert "<span" not in str(OPENS.told(whole)), "a sentence that opens as a whole is no number"


def test_a_text_that_opens_nowhere_is_no_link() -> None:
    assert str(OPENS.cell("none")) == "none"


def test_what_is_typed_at_a_computer_is_set_apart_and_markup_in_it_is_none() -> None:
    told = OPENS.told("Make it anew: `browseline season --keep`. <b>")
    assert told == "Make it anew: <code>browseline season --keep</code>. &lt;b&gt;"
    assert OPENS.cell('`walk <i> "4 in"`') == "<code>walk &lt;i&gt; &#34;4 in&#34;</code>"
    both = OPENS.told(joined(["`season --keep` costs ", linked("$4", HAY)]))
    assert '<code>season --keep</code> costs <span class="n">$4</span>' in both
