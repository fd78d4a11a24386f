"""Somebody's words without what relief never sees: money, coordinates, products of treatments."""

from __future__ import annotations

import re
from collections.abc import Iterable

BLANK = "____"

SPOT = re.compile(
    r"[-+]?\d{1,3}\.\d{3,}\s*°?\s*[NSEWnsew]?(\s*[,;/ ]\s*[-+]?\d{1,3}\.\d{3,}\s*°?\s*[NSEWnsew]?)?"
)
ARC = re.compile(r"\d{1,3}\s*°\s*\d{1,2}\s*['′]\s*(\d{1,2}(\.\d+)?\s*[\"″])?\s*[NSEWnsew]?")
MONEY = re.compile(
    r"[$€£]\s*\d[\d,.]*|\d[\d,.]*\s*(USD|EUR|GBP|CAD|AUD|NZD|dollars?|euros?|pounds? sterling)\b"
)


def guarded(text: str, products: Iterable[str] = ()) -> str:
    """Return somebody's words with coordinates, money and the products of treatments blanked."""
    for pattern in (SPOT, ARC, MONEY):
        text = pattern.sub(BLANK, text)
    for product in products:
        if product.strip():
            text = re.sub(re.escape(product.strip()), BLANK, text, flags=re.IGNORECASE)
    return " ".join(text.split())
