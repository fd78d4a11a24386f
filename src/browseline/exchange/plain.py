"""Any record of the chain as JSON: numbers with their units, instants with their offset.

A figure becomes an object whose keys are ``value``, ``low``, ``high`` and ``unit`` together with its
mark, formula, origins and parts; a typed quantity keeps its text beside value and unit.
"""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from pathlib import PurePath
from typing import Any

from browseline import __version__
from browseline.figures import Figure
from browseline.units import Quantity


def plain(item: Any) -> Any:
    """Return a record as lists, objects, texts and numbers.

    Parameters
    ----------
    item : object
        Dataclasses, mappings, sequences, figures, quantities, instants, numbers and arrays.

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
        return _figure(item)
    if isinstance(item, Quantity):
        return {"text": item.text, "value": float(item.value), "unit": item.unit}
    if isinstance(item, date):
        return item.isoformat()
    if is_dataclass(item) and not isinstance(item, type):
        return {f.name: plain(getattr(item, f.name)) for f in fields(item) if f.repr}
    return _other(item)


def _other(item: Any) -> Any:
    if isinstance(item, dict):
        return {_key(name): plain(value) for name, value in item.items()}
    if isinstance(item, (list, tuple)):
        return [plain(part) for part in item]
    if isinstance(item, (set, frozenset)):
        return sorted(plain(part) for part in item)
    if isinstance(item, (Decimal, PurePath)):
        return str(item)
    if isinstance(item, Fraction):
        return float(item)
    if isinstance(item, Enum):
        return plain(item.value)
    if hasattr(item, "tolist"):
        return plain(item.tolist())
    raise TypeError(type(item).__name__)


def _key(name: Any) -> str:
    return name if isinstance(name, str) else str(plain(name))


def _figure(figure: Figure) -> dict[str, Any]:
    made = {f.name: plain(getattr(figure, f.name)) for f in fields(figure)}
    return {**made, "mark": figure.mark}


def document(schema: str, record: Any) -> dict[str, Any]:
    """Return a record as the JSON of a page: schema and version named, then its own keys."""
    whole = plain(record)
    body = whole if isinstance(whole, dict) else {"items": whole}
    return {**body, "schema": schema, "version": __version__}
