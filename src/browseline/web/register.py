"""The people of one farm: invitations, paired devices, and the key that signs what they carry.

Kept in the user's state folder, never in the farm's: a farm folder that is copied, packed or joined
carries nobody's way in. A farm is known by its folder on this disk; another folder in its place starts
with nobody.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from browseline.web.people import SHARES, Person, Role, Share

FILE = "people.db"
ALPHABET = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Signs of a code: none that is taken for another."""
CODE_SIGNS = 8
MINUTE_S, HOUR_S, DAY_S = 60, 3600, 86_400
CODE_LASTS_S = 10 * MINUTE_S
LINK_LASTS_S = 7 * DAY_S
STAYS_D: dict[Role, int] = {"owner": 365, "partner": 365, "relief": 14, "adviser": 90, "class": 120}
"""How long a device stays paired, where nothing else is chosen."""
LONGEST_D = 730
LONGEST_NAME = 40
SEEN_EVERY_S = HOUR_S
_SCHEMA = """
CREATE TABLE IF NOT EXISTS setting (name TEXT PRIMARY KEY, value BLOB NOT NULL);
CREATE TABLE IF NOT EXISTS invitation (
    id TEXT PRIMARY KEY, hash TEXT UNIQUE NOT NULL, role TEXT NOT NULL, who TEXT NOT NULL,
    shares TEXT NOT NULL, made REAL NOT NULL, ends REAL NOT NULL, stays_d INTEGER NOT NULL, used REAL,
    revoked REAL);
CREATE TABLE IF NOT EXISTS session (
    id TEXT PRIMARY KEY, hash TEXT UNIQUE NOT NULL, invitation TEXT NOT NULL, role TEXT NOT NULL,
    who TEXT NOT NULL, shares TEXT NOT NULL, made REAL NOT NULL, ends REAL NOT NULL, seen REAL NOT NULL,
    revoked REAL);
"""


@dataclass(frozen=True, slots=True)
class Invitation:
    """A way in for one device, once. ``ends``, ``made``: seconds since 1970."""

    id: str
    role: Role
    who: str
    shares: frozenset[Share]
    made: float
    ends: float
    stays_d: int


@dataclass(frozen=True, slots=True)
class Device:
    """A paired device, its person, and when it was seen. Times in seconds since 1970."""

    id: str
    person: Person
    made: float
    ends: float
    seen: float


class Register:
    """Invitations and devices of one farm. Every method may be called from any thread.

    Parameters
    ----------
    path : Path
        The file; it and its folder are the user's alone.
    clock : callable
        Seconds since 1970.
    """

    def __init__(self, path: Path, clock: Callable[[], float] = time.time, *, sandbox: bool = False) -> None:
        self.path = path
        self._clock = clock
        self._sandbox = sandbox
        self._lock = threading.Lock()
        self._connection: sqlite3.Connection | None = None
        self._key: bytes | None = None

    # ------------------------------------------------------------ ways in

    def invite(
        self,
        role: Role,
        who: str = "",
        shares: frozenset[Share] = frozenset(),
        *,
        stays_d: int | None = None,
        link: bool = False,
    ) -> tuple[str, Invitation]:
        """Return a secret that lets one device in, once, and what it opens.

        Parameters
        ----------
        role : str
            Relief is never given more than relief sees, whatever is shared.
        stays_d : int, optional
            For how many days the device stays paired. [d]
        link : bool
            A long secret that lasts a week, to be sent; otherwise a short code that lasts ten minutes.
        """
        secret = secrets.token_urlsafe(24) if link else code()
        now = self._clock()
        made = Invitation(
            secrets.token_hex(4), role, (" ".join(who.split()) or role)[:LONGEST_NAME],
            shared(role, shares), now, now + (LINK_LASTS_S if link else CODE_LASTS_S),
            max(1, min(stays_d or STAYS_D[role], LONGEST_D)),
        )  # fmt: skip
        with self._writing() as connection:
            connection.execute(
                "INSERT INTO invitation VALUES (?, ?, ?, ?, ?, ?, ?, ?, NULL, NULL)",
                (made.id, hashed(secret, "invitation"), role, made.who, _text(made.shares), now, made.ends,
                 made.stays_d),
            )  # fmt: skip
        return secret, made

    def pair(self, secret: str) -> tuple[str, Device] | None:
        """Use an invitation up and return the new device's token; None if it opens nothing."""
        now = self._clock()
        with self._writing() as connection:
            found = connection.execute(
                "UPDATE invitation SET used = ?"
                " WHERE hash = ? AND used IS NULL AND revoked IS NULL AND ends > ?"
                " RETURNING id, role, who, shares, stays_d",
                (now, hashed(plain_code(secret), "invitation"), now),
            ).fetchone()
            if found is None:
                return None
            invitation, role, who, shares, stays_d = found
            token, ident = secrets.token_urlsafe(32), secrets.token_hex(4)
            ends = now + stays_d * DAY_S
            connection.execute(
                "INSERT INTO session VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, NULL)",
                (ident, hashed(token, "session"), invitation, role, who, shares, now, ends, now),
            )
        return token, Device(ident, self._person(role, who, shares), now, ends, now)

    def device(self, token: str) -> Device | None:
        """Return the device of a token, while it is paired."""
        now = self._clock()
        rows = self._rows("WHERE hash = ? AND revoked IS NULL AND ends > ?", hashed(token, "session"), now)
        if not rows:
            return None
        if now - rows[0].seen > SEEN_EVERY_S:
            with self._writing() as connection:
                connection.execute("UPDATE session SET seen = ? WHERE id = ?", (now, rows[0].id))
        return rows[0]

    # ------------------------------------------------------------ who is in

    def devices(self) -> tuple[Device, ...]:
        """Return every paired device, the newest first."""
        return tuple(self._rows("WHERE revoked IS NULL AND ends > ? ORDER BY made DESC", self._clock()))

    def invitations(self) -> tuple[Invitation, ...]:
        """Return every invitation that still opens, the newest first."""
        with self._reading() as connection:
            rows = connection.execute(
                "SELECT id, role, who, shares, made, ends, stays_d FROM invitation"
                " WHERE used IS NULL AND revoked IS NULL AND ends > ? ORDER BY made DESC", (self._clock(),)
            ).fetchall()  # fmt: skip
        return tuple(Invitation(i, r, w, _shares(s), m, e, d) for i, r, w, s, m, e, d in rows)

    def revoke(self, ident: str) -> bool:
        """End a device or an invitation at once; return whether there was one."""
        now, ended = self._clock(), 0
        with self._writing() as connection:
            for statement in (
                "UPDATE session SET revoked = ? WHERE id = ? AND revoked IS NULL",
                "UPDATE invitation SET revoked = ? WHERE id = ? AND revoked IS NULL AND used IS NULL",
            ):
                ended += connection.execute(statement, (now, ident)).rowcount
        return ended > 0

    @property
    def key(self) -> bytes:
        """Return the key that signs cookies and forms of this farm."""
        if self._key is None:
            with self._writing() as connection:
                connection.execute(
                    "INSERT OR IGNORE INTO setting VALUES ('key', ?)", (secrets.token_bytes(32),)
                )
                found = connection.execute("SELECT value FROM setting WHERE name = 'key'").fetchone()
            self._key = bytes(found[0])
        return self._key

    # ------------------------------------------------------------ the file

    def _person(self, role: Role, who: str, shares: str) -> Person:
        return Person(role, who, shared(role, _shares(shares)), self._sandbox)

    def _rows(self, where: str, *values: object) -> list[Device]:
        statement = f"SELECT id, role, who, shares, made, ends, seen FROM session {where}"  # noqa: S608 - ours
        with self._reading() as connection:
            rows = connection.execute(statement, values).fetchall()
        return [Device(i, self._person(r, w, s), m, e, n) for i, r, w, s, m, e, n in rows]

    @contextmanager
    def _reading(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            if self._connection is None:
                self._connection = _opened(self.path)
            yield self._connection

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with self._reading() as connection:
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
            except BaseException:
                connection.execute("ROLLBACK")
                raise
            connection.execute("COMMIT")


def _opened(path: Path) -> sqlite3.Connection:
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    path.touch(mode=0o600)
    connection = sqlite3.connect(path, timeout=10, isolation_level=None, check_same_thread=False)
    connection.executescript(_SCHEMA)
    return connection


def register_path(state: Path, farm: Path) -> Path:
    """Return where the people of a farm folder are kept."""
    place = farm.resolve()
    mark = hashlib.sha256(f"{place}\n{place.stat().st_ino}".encode()).hexdigest()[:12]
    slug = re.sub(r"[^a-z0-9]+", "-", place.name.lower()).strip("-")[:40] or "farm"
    return state / f"{slug}-{mark}" / FILE


def code() -> str:
    """Return a code that is read aloud or typed: ``ABCD-2345``."""
    signs = "".join(secrets.choice(ALPHABET) for _ in range(CODE_SIGNS))
    return f"{signs[:4]}-{signs[4:]}"


def plain_code(secret: str) -> str:
    """Return a secret as it was made: a short code may be typed small and without its dash."""
    bare = re.sub(r"[\s-]+", "", secret).upper()
    if len(bare) == CODE_SIGNS and set(bare) <= set(ALPHABET):
        return f"{bare[:4]}-{bare[4:]}"
    return secret.strip()


def hashed(secret: str, purpose: str) -> str:
    """Return what is kept of a secret; the secret itself never is."""
    return hashlib.sha256(f"browseline {purpose} {secret}".encode()).hexdigest()


def shared(role: Role, shares: frozenset[Share]) -> frozenset[Share]:
    """Return what a role is given of what is shared: the owner everything, relief nothing."""
    if role == "owner":
        return frozenset(SHARES)
    return frozenset() if role == "relief" else shares


def _text(shares: frozenset[Share]) -> str:
    return " ".join(sorted(shares))


def _shares(text: str) -> frozenset[Share]:
    return frozenset(share for share in SHARES if share in text.split())
