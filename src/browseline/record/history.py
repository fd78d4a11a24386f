"""Every version of the text files: which came from which, and what several of them make together.

A version is named by its content and the versions it was made from, so two copies that hold the
same history name it alike. What several versions make together depends on the set of versions
alone, never on the order in which copies were joined: of two changes to one part the later made
stands, both are listed, and a change that saw another one always beats it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from browseline.record import texts
from browseline.record.texts import Parts, Path

NAMES = ("farm.toml", "map.geojson", "weather.csv")


@dataclass(frozen=True, slots=True)
class Version:
    """One version of a text file. ``content`` is None where the file was taken away."""

    id: str
    name: str
    sha256: str
    parents: tuple[str, ...]
    seen: datetime
    content: bytes | None
    device: str = ""

    @property
    def stamp(self) -> tuple[datetime, str]:
        """Return what decides between changes that did not know each other."""
        return (self.seen.astimezone(UTC), self.id)


@dataclass(frozen=True, slots=True)
class Clash:
    """One part of a text file that two copies changed differently. ``other`` is kept in the record."""

    name: str
    block: str
    key: str
    standing: str | None
    standing_by: str
    other: str | None
    other_by: str


@dataclass(frozen=True, slots=True)
class Merged:
    """What a set of versions makes together."""

    content: bytes | None
    heads: tuple[str, ...]
    clashes: tuple[Clash, ...] = ()


def digest(content: bytes | None) -> str:
    """Return the SHA-256 of a content; "" where there is no file."""
    return "" if content is None else hashlib.sha256(content).hexdigest()


def version_of(
    name: str, content: bytes | None, parents: Iterable[str], seen: datetime, device: str = ""
) -> Version:
    """Return a version, named by its content and the versions it was made from."""
    from_ = tuple(sorted(parents))
    sha256 = digest(content)
    ident = hashlib.sha256("\n".join((name, sha256, *from_)).encode()).hexdigest()
    return Version(ident, name, sha256, from_, seen, content, device)


def heads(versions: Iterable[Version]) -> tuple[str, ...]:
    """Return the versions that no other was made from."""
    found = list(versions)
    used = {parent for version in found for parent in version.parents}
    return tuple(sorted(version.id for version in found if version.id not in used))


def merged(versions: Collection[Version]) -> Merged:
    """Return what versions of one file make together.

    Parameters
    ----------
    versions : collection of Version
        All of one name.
    """
    by_id = {version.id: version for version in versions}
    last = sorted((by_id[h] for h in heads(versions)), key=lambda v: v.stamp, reverse=True)
    names = tuple(sorted(version.id for version in last))
    if len({version.sha256 for version in last}) <= 1:
        return Merged(last[0].content if last else None, names)
    before = _ancestors(by_id)
    recent = _since_last_shared(by_id, before)
    parts = {ident: texts.split(last[0].name, by_id[ident].content) for ident in recent}
    readable = {ident: found for ident, found in parts.items() if found is not None}
    if len(readable) == len(parts) and texts.alike(last[0].name, readable.values()):
        kept = _Changes(by_id, before, readable)
        winners, clashes = kept.resolve(recent)
        content = texts.unite(last[0].name, [readable[version.id] for version in last], winners)
        if content is not None:
            return Merged(content, names, tuple(clashes))
    return Merged(last[0].content, names, tuple(_whole(last)))


def _whole(last: Sequence[Version]) -> Iterable[Clash]:
    """Yield a clash for each version that could not be mixed with the one that stands."""
    first = last[0]
    for other in last[1:]:
        if other.sha256 != first.sha256:
            yield Clash(first.name, "", "", first.sha256, first.device, other.sha256, other.device)


def _ancestors(by_id: Mapping[str, Version]) -> dict[str, frozenset[str]]:
    """Return for each version all those it was made from, in an order that has them first."""
    found: dict[str, frozenset[str]] = {}
    waiting = sorted(by_id)
    while waiting:
        parents = [p for p in by_id[waiting[-1]].parents if p in by_id]
        missing = [p for p in parents if p not in found]
        if missing:
            waiting.extend(missing)
        else:
            found.setdefault(waiting.pop(), frozenset(parents).union(*(found[p] for p in parents)))
    return found


def _since_last_shared(by_id: Mapping[str, Version], before: Mapping[str, frozenset[str]]) -> list[str]:
    """Return the versions from the last one that all later ones saw; all, if there is no such."""
    everything = set(by_id)
    best: set[str] = everything
    for ident in before:
        after = {other for other in everything if ident in before[other]}
        if before[ident] | after | {ident} == everything and len(after) + 1 < len(best):
            best = after | {ident}
    return [ident for ident in before if ident in best]


class _Changes:
    """What each version changed, part by part."""

    def __init__(
        self, by_id: Mapping[str, Version], before: Mapping[str, frozenset[str]], parts: Mapping[str, Parts]
    ) -> None:
        self.by_id, self.before = by_id, before
        self.changes: dict[Path, dict[str, str | None]] = {}
        for ident, now in parts.items():
            old = self._basis(ident, parts)
            for path in {**old, **now}:
                if old.get(path) != now.get(path):
                    self.changes.setdefault(path, {})[ident] = now.get(path)

    def _basis(self, ident: str, parts: Mapping[str, Parts]) -> Mapping[Path, str]:
        parents = [p for p in self.by_id[ident].parents if p in parts]
        if len(parents) <= 1:
            return parts[parents[0]] if parents else {}
        return self.resolve(self.before[ident])[0]

    def resolve(self, within: Collection[str]) -> tuple[dict[Path, str], list[Clash]]:
        """Return the parts that stand among some versions, and what clashed."""
        weak = self._weak(within)
        winners: dict[Path, str] = {}
        clashes: list[Clash] = []
        for path, changed in self.changes.items():
            known = {i: text for i, text in changed.items() if i in within}
            strong = {i: text for i, text in known.items() if text is not None or (i, path[0]) not in weak}
            last = sorted(self._last(strong), key=lambda i: self.by_id[i].stamp)
            if last and strong[last[-1]] is not None:
                winners[path] = strong[last[-1]] or ""
            clashes += self._clashes(path, strong, last)
            clashes += self._removed(path, known, weak, last)
        return winners, clashes

    def _last(self, changed: Iterable[str]) -> list[str]:
        """Return the versions that none of the others was made after."""
        found = list(changed)
        return [i for i in found if not any(i in self.before[other] for other in found)]

    def _weak(self, within: Collection[str]) -> set[tuple[str, str]]:
        """Return the (version, block) where a whole block was taken away that another copy changed."""
        weak: set[tuple[str, str]] = set()
        for (block, key), changed in self.changes.items():
            gone = [i for i, text in changed.items() if key == "" and block and text is None and i in within]
            for ident in gone:
                if any(other not in self.before[ident] for other in self._changed_in(block, within)):
                    weak.add((ident, block))
        return weak

    def _changed_in(self, block: str, within: Collection[str]) -> set[str]:
        changed = (made for (here, _), made in self.changes.items() if here == block)
        return {i for made in changed for i, text in made.items() if text is not None and i in within}

    def _clashes(self, path: Path, changed: Mapping[str, str | None], last: Sequence[str]) -> Iterable[Clash]:
        for other in last[:-1]:
            if changed[other] != changed[last[-1]]:
                yield self._clash(path, changed[last[-1]], last[-1], changed[other], other)

    def _removed(
        self, path: Path, known: Mapping[str, str | None], weak: set[tuple[str, str]], last: Sequence[str]
    ) -> Iterable[Clash]:
        """Yield a clash where a block was taken away in one copy and changed in another."""
        for ident, text in known.items():
            others = self._changed_in(path[0], self.before) if (ident, path[0]) in weak else set()
            apart = [o for o in others if o not in self.before[ident] and ident not in self.before[o]]
            if path[1] == "" and text is None and apart:
                by = max(apart, key=lambda i: self.by_id[i].stamp)
                yield self._clash(path, known[last[-1]] if last else "", by, None, ident)

    def _clash(self, path: Path, text: str | None, by: str, other: str | None, other_by: str) -> Clash:
        name = self.by_id[by].name
        return Clash(name, *path, text, self.by_id[by].device, other, self.by_id[other_by].device)
