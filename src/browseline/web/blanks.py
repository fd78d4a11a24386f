"""Answers on their way to somebody who may not see everything: what is hidden is blanked in the bytes."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from html import escape
from typing import Any

from browseline.chain.blanked import ARC, BLANK, MONEY, SPOT
from browseline.units import UNITS
from browseline.web.people import Share

_COINS = tuple(name for name, unit in UNITS.items() if unit.dimension == "money")
_SIGNED = re.compile(r"[$€£]((?:\s*<[^>]*>)+\s*)-?\d[\d,.]*")
_NAMED = re.compile(rf"-?\d[\d,.]*((?:\s*<[^>]*>)+\s*)(?:{'|'.join(_COINS)})(?![A-Za-z])")
"""Money whose sign and number stand in different tags."""
_TAG = re.compile(r"(<[^>]*>)")
_TYPED = re.compile(r"""(?<=[\s])((?:value|content|title|aria-label|placeholder|alt)=)("[^"]*"|'[^']*')""")
_MONEY_KEY = re.compile(r"(^|_)(usd|eur|gbp|cad|aud|nzd|money|price|prices|cost|costs|debt|pay)(_|$)")
_PLACE_KEY = re.compile(
    r"(^|_)(latitude|longitude|lat|lon|lng|coordinates|geometry|rings|points|bbox|elevation|polygon)(_|$)"
)
_MONEY_UNIT = re.compile(rf"(^|[^A-Za-z])({'|'.join(_COINS)}|\$|€|£)([^A-Za-z]|$)")
_LEAST_SIGNS = 3


@dataclass(frozen=True, slots=True)
class Blanks:
    """What is hidden from one person, and the names of products that must not be told.

    Parameters
    ----------
    products : tuple of str
        Products of treatments.
    """

    hidden: frozenset[Share]
    products: tuple[str, ...] = ()

    def body(self, kind: str, content: bytes) -> bytes | None:
        """Return the content of an answer without what is hidden; None if it cannot be gone through."""
        kind = kind.partition(";")[0].strip().lower()
        if not content:
            return content
        if kind.endswith("json"):
            return self._json(content)
        if kind in ("text/html", "image/svg+xml"):
            return self._html(content.decode("utf-8")).encode()
        return self.words(content.decode("utf-8")).encode() if kind.startswith("text/") else None

    def words(self, text: str) -> str:
        """Return words without what is hidden."""
        return self._places(self._names(text))

    def _names(self, text: str) -> str:
        if "money" in self.hidden:
            text = MONEY.sub(BLANK, text)
        if "treatments" in self.hidden:
            text = _products(self.products).sub(BLANK, text) if self.products else text
        return text

    def _places(self, text: str) -> str:
        if "coordinates" in self.hidden:
            text = ARC.sub(BLANK, SPOT.sub(BLANK, text))
        return text

    # ------------------------------------------------------------ forms

    def _html(self, text: str) -> str:
        """Blank words between tags, and what tags hold that somebody typed; drawings keep their lines."""
        if "money" in self.hidden:
            text = _NAMED.sub(rf"{BLANK}\1", _SIGNED.sub(rf"{BLANK}\1", text))
        parts = _TAG.split(text)
        return "".join(self._tag(part) if part.startswith("<") else self.words(part) for part in parts)

    def _tag(self, tag: str) -> str:
        return _TYPED.sub(lambda found: found[1] + self.words(found[2]), self._names(tag))

    def _json(self, content: bytes) -> bytes:
        return json.dumps(self._item(json.loads(content)), ensure_ascii=False, separators=(",", ":")).encode()

    def _item(self, item: Any) -> Any:
        if isinstance(item, str):
            return self.words(item)
        if isinstance(item, list):
            return [self._item(part) for part in item]
        if not isinstance(item, dict):
            return item
        if "money" in self.hidden and _MONEY_UNIT.search(str(item.get("unit", ""))):
            return None
        return {self.words(key): self._item(value) for key, value in item.items() if not self._is_key(key)}

    def _is_key(self, key: str) -> bool:
        """Return whether a key says that its value is hidden."""
        return ("money" in self.hidden and _MONEY_KEY.search(key) is not None) or (
            "coordinates" in self.hidden and _PLACE_KEY.search(key) is not None
        )


def _products(products: Iterable[str]) -> re.Pattern[str]:
    """Return a pattern for the names of products, as people write them and as HTML does."""
    names = {name.strip() for name in products if len(name.strip()) >= _LEAST_SIGNS}
    found = sorted((re.escape(form) for name in names for form in _forms(name)), key=len, reverse=True)
    return re.compile("|".join(found) or r"(?!)", re.IGNORECASE)


def _forms(name: str) -> Iterable[str]:
    return {name, escape(name), name.replace(" ", "-"), name.replace(" ", "%20")}
