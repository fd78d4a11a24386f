"""Everything that happens, or should happen, on a farm: one frozen class a kind.

An event is an envelope (who, when, about what) round a body. Bodies have a kind and a version; old
versions are read through up-casters and never rewritten, unknown kinds are kept and passed on.
A plan is the same events with ``planned`` set.
"""

from __future__ import annotations

import json
import secrets
import threading
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, fields
from datetime import UTC, date, datetime
from decimal import Decimal, InvalidOperation
from functools import cache
from typing import Annotated, Any, ClassVar, get_args, get_origin, get_type_hints

from browseline.units import NotAQuantity, Quantity, parse

# ---------------------------------------------------------------- time and identity


@dataclass(frozen=True, slots=True, order=True)
class When:
    """An instant, or an interval that holds it. Aware datetimes; ``end`` may equal ``start``."""

    start: datetime
    end: datetime

    @classmethod
    def at(cls, instant: datetime) -> When:
        """Return a single instant."""
        return cls(instant, instant)

    @property
    def exact(self) -> bool:
        """Return whether the instant is known."""
        return self.start == self.end

    def text(self) -> str:
        """Return ISO 8601 with the offset; an interval with a slash."""
        return self.start.isoformat() if self.exact else f"{self.start.isoformat()}/{self.end.isoformat()}"

    @classmethod
    def read(cls, text: str) -> When:
        """Return the instant or interval of an ISO 8601 text.

        Raises
        ------
        ValueError
            If the text has no offset or its end lies before its start.
        """
        first, _, second = text.partition("/")
        start = datetime.fromisoformat(first)
        end = datetime.fromisoformat(second) if second else start
        if start.tzinfo is None or end.tzinfo is None or end < start:
            raise ValueError(text)
        return cls(start, end)


_LAST_ID = [0]
_LOCK = threading.Lock()


def new_id(now: datetime) -> str:
    """Return a UUIDv7 of that instant, later than any made before in this process (RFC 9562)."""
    with _LOCK:
        stamp = int(now.astimezone(UTC).timestamp() * 1000) << 12
        stamp = max(stamp | secrets.randbits(10), _LAST_ID[0] + 1)
        _LAST_ID[0] = stamp
    value = (stamp >> 12) << 80 | 0x7 << 76 | (stamp & 0xFFF) << 64 | 0b10 << 62 | secrets.randbits(62)
    digits = f"{value:032x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


# ---------------------------------------------------------------- bodies

KINDS: dict[str, type[Body]] = {}
UPCASTERS: dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {}


class Body:
    """What an event says. Subclasses are frozen dataclasses, registered by their kind."""

    kind: ClassVar[str] = ""
    version: ClassVar[int] = 1
    about: ClassVar[str] = "farm"

    def __init_subclass__(cls, *, kind: str, about: str, version: int = 1) -> None:
        """Register the class: its kind, what its subject is, its version."""
        cls.kind, cls.about, cls.version = kind, about, version
        KINDS[kind] = cls

    def value(self) -> dict[str, Any]:
        """Return the body as JSON holds it: numbers as typed, dates as ISO text."""
        found = ((f.name, getattr(self, f.name)) for f in fields(self))  # type: ignore[arg-type]
        return {name: _plain(item) for name, item in found if item not in (None, (), "")}


@dataclass(frozen=True, slots=True)
class Unknown:
    """A kind that this program does not know: kept as it came, and passed on."""

    kind: str
    version: int
    raw: str

    def value(self) -> dict[str, Any]:
        """Return the body as it came."""
        loaded: dict[str, Any] = json.loads(self.raw)
        return loaded


class BadEvent(ValueError):
    """A body cannot be read: ``field`` and the reason (a ``NotAQuantity`` reason, or *missing*)."""

    def __init__(self, kind: str, field: str, reason: str, text: str = "") -> None:
        self.kind, self.field, self.reason, self.text = kind, field, reason, text
        super().__init__(f"{kind}.{field}: {reason} {text!r}")


def _plain(item: object) -> object:
    if isinstance(item, Quantity):
        return item.text
    if isinstance(item, (date, Decimal)):
        return str(item)
    if isinstance(item, tuple):
        return [_plain(part) for part in item]
    return item


def body_of(kind: str, version: int, value: Mapping[str, Any]) -> Body | Unknown:
    """Return the body of a kind read from JSON, old versions through their up-casters.

    Raises
    ------
    BadEvent
        If a field is missing or cannot be read.
    """
    cls = KINDS.get(kind)
    if cls is None or version > cls.version:
        return Unknown(kind, version, json.dumps(value, sort_keys=True, ensure_ascii=False))
    current = dict(value)
    for step in range(version, cls.version):
        current = UPCASTERS[kind, step](current)
    hints = _hints(kind)
    made = {}
    for f in fields(cls):  # type: ignore[arg-type]
        if current.get(f.name) in (None, ""):
            if f.default is MISSING:
                raise BadEvent(kind, f.name, "missing")
            continue
        made[f.name] = _read(kind, f.name, hints[f.name], current[f.name])
    return cls(**made)


@cache
def _hints(kind: str) -> dict[str, tuple[Any, str]]:
    """Return for each field of a kind its bare type, and the dimension of a quantity."""
    hints = get_type_hints(KINDS[kind], include_extras=True)
    return {name: _bare(hint) for name, hint in hints.items()}


def _bare(hint: Any) -> tuple[Any, str]:
    if get_origin(hint) in (types.UnionType, typing.Union):
        hint = next(part for part in get_args(hint) if part is not type(None))
    if get_origin(hint) is Annotated:
        kind, dimension = get_args(hint)
        return kind, dimension
    return hint, ""


def _read(kind: str, name: str, hint: tuple[Any, str], item: Any) -> Any:
    try:
        return _as(*hint, item)
    except NotAQuantity as wrong:
        raise BadEvent(kind, name, wrong.reason, wrong.text) from None
    except (ValueError, TypeError, InvalidOperation):
        raise BadEvent(kind, name, "number", str(item)) from None


def _as(wanted: Any, dimension: str, item: Any) -> Any:
    if wanted is Quantity:
        return item if isinstance(item, Quantity) else parse(item, dimension)
    if get_origin(wanted) is tuple:
        return tuple(str(part) for part in item)
    return _READERS.get(wanted, str)(item)


def _day(item: Any) -> date:
    return item if isinstance(item, date) else date.fromisoformat(item)


def _whole(item: Any) -> int:
    number = int(item)
    if isinstance(item, (bool, float)) or number < 0:
        raise ValueError(item)
    return number


def _flag(item: Any) -> bool:
    if not isinstance(item, bool):
        raise TypeError(item)
    return item


_READERS: dict[Any, Callable[[Any], Any]] = {
    date: _day,
    Decimal: lambda item: Decimal(str(item)),
    int: _whole,
    bool: _flag,
}

# ---------------------------------------------------------------- the envelope


@dataclass(frozen=True, slots=True)
class Event:
    """One fact. ``observed`` is when it was so, ``recorded`` when it was written down.

    ``device`` made the entry, ``who`` is a role and needs no name, ``subject`` is the id of a mob,
    paddock, planting, animal or lot, ``part`` a part of a paddock that a net splits off.
    ``supersedes`` names the event that this one corrects.
    """

    id: str
    device: str
    who: str
    observed: When
    recorded: datetime
    subject: str
    body: Body | Unknown
    part: str = ""
    planned: bool = False
    supersedes: str = ""
    reason: str = ""

    @property
    def kind(self) -> str:
        """Return the kind of the body."""
        return self.body.kind

    @property
    def order(self) -> tuple[datetime, str]:
        """Return the place in time: observed-at, then id."""
        return (self.observed.end.astimezone(UTC), self.id)


def to_json(event: Event) -> dict[str, Any]:
    """Return an event as JSON holds it."""
    return {
        "id": event.id, "device": event.device, "who": event.who, "observed": event.observed.text(),
        "recorded": event.recorded.isoformat(), "kind": event.kind, "version": event.body.version,
        "subject": event.subject, "part": event.part, "planned": event.planned,
        "supersedes": event.supersedes, "reason": event.reason, "value": event.body.value(),
    }  # fmt: skip


def from_json(raw: Mapping[str, Any]) -> Event:
    """Return the event that JSON holds.

    Raises
    ------
    BadEvent
        If a part is missing or cannot be read.
    """
    kind = str(raw.get("kind", ""))
    try:
        observed, recorded = When.read(str(raw["observed"])), datetime.fromisoformat(str(raw["recorded"]))
        head = [str(raw[name]) for name in ("id", "device", "who")]
        body = body_of(kind, int(raw["version"]), raw["value"])
    except KeyError as missing:
        raise BadEvent(kind, str(missing.args[0]), "missing") from None
    except BadEvent:
        raise
    except (ValueError, TypeError, AttributeError) as wrong:
        raise BadEvent(kind, "envelope", "number", str(wrong)) from None
    return Event(
        head[0], head[1], head[2], observed, recorded, str(raw.get("subject", "")), body,
        str(raw.get("part", "")), bool(raw.get("planned", False)), str(raw.get("supersedes", "")),
        str(raw.get("reason", "")),
    )  # fmt: skip
