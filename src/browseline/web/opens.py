"""Every number of a page opens: sentences and figures as links to Why."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any
from urllib.parse import quote, urlencode

from markupsafe import Markup, escape

from browseline.chain.keys import keys_of
from browseline.chain.matched import COMMAND
from browseline.chain.why import TOGETHER
from browseline.figures import Figure
from browseline.words import links_of, say

LONGEST = 24
"""A longer text that opens is a sentence, or in a cell a range, not one number to be kept on a line."""
AMOUNT = re.compile(r"[+−$€£]*\d")
"""How a number begins, with its range behind it: it is marked, and may break."""
SIGNED, JOINER = re.compile(r"(−)([$€£])"), "\u2060"
"""A line never ends between a minus and its money: the minus would be overread."""
PLAIN, NUMBER, RANGE = (
    Markup("{}"),
    Markup('<span class="n">{}</span>'),
    Markup('<span class="n range">{}</span>'),
)


class Opens:
    """The numbers of one page, each with the way to its Why.

    Parameters
    ----------
    page : dataclass
        The page's context.
    base : str
        What stands before every path.
    switched : pairs of str
        What the page was asked with beside its name: its numbers are opened on the same page.
    """

    def __init__(self, page: Any, base: str, switched: Sequence[tuple[str, str]] = ()) -> None:
        self._page, self._base = page, base
        self._asked = f"?{urlencode(switched)}" if switched else ""

    @cached_property
    def _keys(self) -> Mapping[Figure, str]:
        return keys_of(self._page)

    def way(self, figures: Iterable[object]) -> str:
        """Return the address at which some figures open together; empty where the page knows none of them."""
        keys = [self._keys[one] for one in figures if isinstance(one, Figure) and one in self._keys]
        together = quote(TOGETHER.join(dict.fromkeys(keys)), safe=TOGETHER)
        return f"{self._base}/why/{together}{self._asked}" if keys else ""

    def told(self, text: str) -> Markup:
        """Return a sentence; where it has numbers the whole of it is one link, and its numbers are marked."""
        way, link = self._way_of(text), Markup('<a class="why" href="{}">{}</a>')
        return link.format(way, _marked(text)) if way else commanded(escape(text))

    def cell(self, text: str) -> Markup:
        """Return a cell of a table: a link to Why where it has a number that opens."""
        way = self._way_of(text)
        told = _marked(text, RANGE)
        link = Markup('<a class="why-tap" href="{}"><span>{}</span></a>')
        return link.format(way, told) if way else commanded(escape(text))

    def _way_of(self, text: str) -> str:
        return self.way(one.to for one in links_of(text))

    def number(self, words: str, *figures: Figure | None) -> Markup:
        """Return a number in words as a link to its Why; ``words`` alone where it has none."""
        way = self.way(figures)
        if not way:
            return escape(words)
        title = say("web.why.tap", number=words)
        return Markup('<a class="why-tap" href="{}" aria-label="{}"><span class="n">{}</span></a>').format(
            way, title, words
        )


def _marked(text: str, longer: Markup = PLAIN) -> Markup:
    """Return a text whose numbers that open are marked, each kept on one line; longer ones as is said."""
    parts, at = [], 0
    for link in links_of(text):
        linked = text[link.start : link.end]
        number = any(sign.isdigit() for sign in linked)
        marks = NUMBER if len(linked) <= LONGEST else RANGE if AMOUNT.match(linked) else longer
        kept = SIGNED.sub(rf"\1{JOINER}\2", linked) if marks is RANGE else linked
        parts += [escape(text[at : link.start]), marks.format(kept) if number else escape(linked)]
        at = link.end
    parts.append(escape(text[at:]))
    return commanded(Markup("").join(parts))


def commanded(text: Markup) -> Markup:
    """Return a text with what is typed at a computer set apart from the rest."""
    return Markup(COMMAND.sub(r"<code>\1</code>", str(text)))
