"""Any record of the chain as JSON: numbers with their units, instants with their offset.

A figure becomes an object whose keys are ``value``, ``low``, ``high`` and ``unit`` together with its
mark, formula, origins and parts, and on a page the ``key`` by which it opens; a typed quantity keeps its text
beside value and unit. Numbers that stand in the sentences of a page are listed in ``numbers``: in which text,
from which sign up to which, and the key.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from pathlib import PurePath
from types import MappingProxyType
from typing import Any

from browseline import __version__
from browseline.chain.keys import keys_of, parts_of, printed
from browseline.figures import Figure
from browseline.units import Quantity

Keys = Mapping[Figure, str]


def plain(item: Any, keys: Keys = MappingProxyType({})) -> Any:
    """Return a record as lists, objects, texts and numbers.

    Parameters
    ----------
    item : object
        Dataclasses, mappings, sequences, figures, quantities, instants, numbers and arrays.
    keys : mapping from figure to text
        The key by which each figure opens.

    Raises
    ------
    TypeError
        If something inside has no plain form.
    """
    if item is None or isinstance(item, (str, bool, int)):
        return item
    if isinstance(item, float):
        return item if math.isfinite(item) else None
    if isinstance(item, Figure):
        return _figure(item, keys.get(item, ""))
    if is_dataclass(item) and not isinstance(item, (type, Quantity)):
        return {f.name: plain(getattr(item, f.name), keys) for f in fields(item) if f.repr}
    return _many(item, keys)


def _many(item: Any, keys: Keys) -> Any:
    if isinstance(item, dict):
        return {_key(name): plain(value, keys) for name, value in item.items()}
    if isinstance(item, (list, tuple, set, frozenset)):
        parts = [plain(part, keys) for part in item]
        return sorted(parts) if isinstance(item, (set, frozenset)) else parts
    return plain(item.tolist()) if hasattr(item, "tolist") else _single(item)


SINGLE: tuple[tuple[Any, Callable[[Any], Any]], ...] = (
    (Quantity, lambda item: {"text": item.text, "value": float(item.value), "unit": item.unit}),
    (date, lambda item: item.isoformat()),
    ((Decimal, PurePath), str),
    (Fraction, float),
    (Enum, lambda item: plain(item.value)),
)
"""What single things of other kinds become, the first kind that fits."""


def _single(item: Any) -> Any:
    for kind, make in SINGLE:
        if isinstance(item, kind):
            return make(item)
    raise TypeError(type(item).__name__)


def _key(name: Any) -> str:
    return name if isinstance(name, str) else str(plain(name))


def _figure(figure: Figure, key: str) -> dict[str, Any]:
    own = {part: name for name, part in parts_of(key, figure).items()} if key else {}
    made = {f.name: plain(getattr(figure, f.name)) for f in fields(figure) if f.name != "parts"}
    parts = [_figure(part, own.get(part, "")) for part in figure.parts]
    return {**made, "parts": parts, "mark": figure.mark} | ({"key": key} if key else {})


def document(schema: str, record: Any) -> dict[str, Any]:
    """Return a record as the JSON of a page: schema and version named, then its own keys."""
    if not hasattr(record, "schema"):
        whole = plain(record)
        body = whole if isinstance(whole, dict) else {"items": whole}
        return {**body, "schema": schema, "version": __version__}
    keys = keys_of(record)
    numbers = [asdict(number) for number in printed(record, keys)]
    return {**plain(record, keys), "numbers": numbers, "schema": schema, "version": __version__}
