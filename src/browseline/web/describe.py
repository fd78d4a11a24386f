"""The description of the pages (OpenAPI): what each gives as JSON, made from its record's own fields."""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from functools import cache
from inspect import getdoc
from pathlib import PurePath
from typing import Any, Literal, get_args, get_origin, get_type_hints

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from browseline.figures import Figure
from browseline.units import Quantity
from browseline.web.context import FindingsPage

Schema = dict[str, Any]
REF = "#/components/schemas/"
FORM = "application/x-www-form-urlencoded"
WITH_FILE = "multipart/form-data"
NUMBER: Schema = {"type": ["number", "null"]}
"""A number; one without an end is told as null."""
_PLAIN: tuple[tuple[type, Schema], ...] = (
    (bool, {"type": "boolean"}),
    (int, {"type": "integer"}),
    (float, NUMBER),
    (str, {"type": "string"}),
    (datetime, {"type": "string", "format": "date-time"}),
    (date, {"type": "string", "format": "date"}),
    (Decimal, {"type": "string"}),
    (Fraction, {"type": "number"}),
    (PurePath, {"type": "string"}),
    (Enum, {}),
)
_NUMBERS: Schema = {
    "type": "array",
    "description": "The numbers in the sentences: in which text, from which sign up to which, and their key.",
    "items": {"type": "object", "properties": {
        "at": {"type": "string"}, "start": {"type": "integer"}, "end": {"type": "integer"},
        "text": {"type": "string"}, "key": {"type": "string"},
    }},
}  # fmt: skip
_given: set[type] = {FindingsPage}
"""The records that routes give."""


def gives(page: type, status: int = 200) -> dict[str, Any]:
    """Return what a route's decorator says of a page: its HTML, and its JSON by the record ``page``."""
    _given.add(page)
    return {
        "responses": {
            status: _answer(page),
            422: _answer(FindingsPage),
        },
        "response_model": None,
    }


def sends(page: type) -> dict[str, Any]:
    """Return what a route's decorator says of what only programs ask for: its JSON by the record ``page``."""
    _given.add(page)
    told = {"description": first_line(page), "content": {"application/json": {"schema": _ref(page)}}}
    return {"responses": {200: told, 422: _answer(FindingsPage)}, "response_model": None}


def _ref(page: type) -> Schema:
    return {"$ref": f"{REF}{name_of(page)}"}


def _answer(page: type) -> Schema:
    told = {"text/html": {}, "application/json": {"schema": _ref(page)}}
    return {"description": first_line(page), "content": told}


def takes(**texts: str) -> dict[str, Any]:
    """Return what a route's decorator says of a form: its fields by name, each with its words."""
    own = {name: {"type": "string", "description": words} for name, words in texts.items()}
    return _body(FORM, own)


def takes_file(file: str, **texts: str) -> dict[str, Any]:
    """Return what a route's decorator says of a form with a file, or the same as text."""
    own = {name: {"type": "string", "description": words} for name, words in texts.items()}
    return _body(WITH_FILE, {"file": {"type": "string", "format": "binary", "description": file}} | own)


def _body(kind: str, own: Schema) -> dict[str, Any]:
    token = {"csrf": {"type": "string", "description": "The token of a page of ours."}}
    schema = {"type": "object", "properties": token | own, "additionalProperties": {"type": "string"}}
    return {"openapi_extra": {"requestBody": {"content": {kind: {"schema": schema}}}}}


def described(app: FastAPI) -> None:
    """Let an application describe its pages with the schemas of their records."""

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            made = get_openapi(title=app.title, version=app.version, routes=app.routes)
            schemas = made.setdefault("components", {}).setdefault("schemas", {})
            schemas |= components(_given)
            app.openapi_schema = made
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]


def components(pages: typing.Iterable[type]) -> dict[str, Schema]:
    """Return the schemas of some records and of every record in them."""
    found: dict[str, Schema] = {}
    todo = list(pages)
    while todo:
        kind = todo.pop()
        name = name_of(kind)
        if name not in found:
            found[name] = _record(kind, todo)
    return found


def name_of(kind: type) -> str:
    """Return what a record is called in the description: its place in the library."""
    return f"{kind.__module__.removeprefix('browseline.')}.{kind.__name__}"


def first_line(kind: type) -> str:
    """Return the first line of a record's documentation."""
    return (getdoc(kind) or kind.__name__).splitlines()[0]


def _record(kind: type, todo: list[type]) -> Schema:
    if kind is Figure:
        return _figure(todo)
    if kind is Quantity:
        own = {"text": {"type": "string"}, "value": {"type": "number"}, "unit": {"type": "string"}}
        return {"type": "object", "description": first_line(kind), "properties": own, "required": list(own)}
    hints = _hints(kind)
    own = {f.name: schema_of(hints[f.name], todo) for f in fields(kind) if f.repr}
    needed = list(own)
    if "schema" in own:
        own |= {"version": {"type": "string"}, "numbers": _NUMBERS}
    return {"type": "object", "description": getdoc(kind) or "", "properties": own, "required": needed,
            "additionalProperties": False}  # fmt: skip


def _figure(todo: list[type]) -> Schema:
    hints = _hints(Figure)
    own = {f.name: schema_of(hints[f.name], todo) for f in fields(Figure)}
    own |= {
        "mark": {"enum": ["M", "B", "G"]},
        "key": {"type": "string", "description": "Opens it: /why/{key}."},
    }
    needed = [name for name in own if name != "key"]
    return {"type": "object", "description": getdoc(Figure) or "", "properties": own, "required": needed,
            "additionalProperties": False}  # fmt: skip


@cache
def _hints(kind: type) -> Mapping[str, Any]:
    return get_type_hints(kind)


def schema_of(hint: Any, todo: list[type]) -> Schema:
    """Return the schema of what ``exchange.plain`` makes of a value; records in it are put into ``todo``."""
    origin, parts = get_origin(hint), get_args(hint)
    if hint is None or hint is type(None):
        return {"type": "null"}
    if origin is Literal:
        return {"enum": list(parts)}
    if origin in (typing.Union, types.UnionType):
        return {"anyOf": [schema_of(part, todo) for part in parts]}
    if origin is tuple and len(parts) == 2 and parts[1] is Ellipsis:
        return {"type": "array", "items": schema_of(parts[0], todo)}
    if origin is tuple:
        return {"type": "array", "prefixItems": [schema_of(part, todo) for part in parts]}
    if origin is not None and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": schema_of(parts[1], todo)}
    if origin is not None and issubclass(origin, (Sequence, set, frozenset)):
        return {"type": "array", "items": schema_of(parts[0], todo)}
    return _single(hint, todo)


def _single(hint: Any, todo: list[type]) -> Schema:
    if isinstance(hint, type) and is_dataclass(hint):
        todo.append(hint)
        return {"$ref": f"{REF}{name_of(hint)}"}
    if isinstance(hint, type):
        return dict(next((schema for kind, schema in _PLAIN if issubclass(hint, kind)), {}))
    return {}
