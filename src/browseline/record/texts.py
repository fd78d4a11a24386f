"""The farm's text files in parts that two people may change apart: keys, map features, days.

A part's path is (block, key): a table of ``farm.toml`` and its key, a feature and its property, a
day of weather. The key "" stands for the block itself. Parts keep the text as it was typed.
"""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

Path = tuple[str, str]
Parts = dict[Path, str]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(#.*)?$")


def split(name: str, content: bytes | None) -> Parts | None:
    """Return the parts of a file in their order, or None if it cannot be taken apart."""
    if content is None:
        return None
    try:
        text = content.decode()
        return _SPLITTERS[name.rpartition(".")[2]](text if text.endswith("\n") else f"{text}\n")
    except (ValueError, RecursionError):
        return None


def unite(name: str, order: Sequence[Parts], parts: Mapping[Path, str]) -> bytes | None:
    """Return the file made of parts, in the order of the first of several versions.

    Parameters
    ----------
    order : sequence of Parts
        Versions: the first gives the order, the others say where their additions belong.

    Returns
    -------
    bytes or None
        None if the parts do not make a file of that kind.
    """
    paths = [path for path in order[0] if path in parts]
    for version in (*order[1:], dict(sorted(parts.items()))):
        for path in version:
            if path in parts and path not in paths:
                paths.insert(_where(paths, path), path)
    kind = name.rpartition(".")[2]
    content = _UNITERS[kind]({path: parts[path] for path in paths}).encode()
    return content if split(name, content) is not None else None


def alike(name: str, versions: Iterable[Parts]) -> bool:
    """Return whether versions can be mixed: the columns of a table are the same in all."""
    return not name.endswith(".csv") or len({parts["", "header"] for parts in versions}) <= 1


def _where(paths: Sequence[Path], new: Path) -> int:
    """Return the place for a new part: after its block, else after the last block of its kind."""
    kind = new[0].partition(":")[0]
    fits = [i for i, path in enumerate(paths) if path[0] == new[0]]
    fits = fits or [i for i, path in enumerate(paths) if path[0].partition(":")[0] == kind and path[0]]
    return fits[-1] + 1 if fits else len(paths)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _unused(taken: set[str], name: str) -> str:
    """Return the name, numbered if it is taken, and take it."""
    found, number = name, 1
    while found in taken:
        number += 1
        found = f"{name}#{number}"
    taken.add(found)
    return found


# ---------------------------------------------------------------- farm.toml


def _split_toml(text: str) -> Parts:
    tomllib.loads(text)
    parts: Parts = {}
    taken: set[str] = set()
    array = block = inner = ""
    for header, entries in _blocks(text):
        match = _HEADER.match(header.splitlines()[-1]) if header else None
        name = match[2] if match else ""
        if array and name.startswith(f"{array}."):
            inner = inner if inner and name.startswith(f"{inner}.") else name
            path = (block, f"[{inner}]")
            parts[path] = parts.get(path, "") + header + "".join(chunk for _, chunk in entries)
            continue
        array, inner = (name if match and match[1] == "[[" else ""), ""
        block = _unused(taken, _block_name(name, entries) if array else name)
        if header:
            parts[block, ""] = header
        for key, chunk in entries:
            parts[block, key] = chunk
    if "".join(parts.values()) != text:
        raise ValueError("not every line has a place of its own")
    return parts


def _block_name(name: str, entries: Sequence[tuple[str, str]]) -> str:
    """Return the name of one of several like tables: by its id, else its name, else its content."""
    whole = "".join(chunk for _, chunk in entries)
    values = tomllib.loads(whole)
    return f"{name}:{values.get('id', values.get('name', _digest(whole)))}"


def _blocks(text: str) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Yield each table's header with the comments above it, and its entries as (key, lines)."""
    header, entries, waiting = "", list[tuple[str, str]](), ""
    for chunk in _chunks(text):
        last = chunk.splitlines()[-1]
        if not last.strip() or last.lstrip().startswith("#"):
            waiting += chunk
        elif _HEADER.match(last) and "=" not in last.partition("#")[0]:
            yield header, entries
            header, entries, waiting = waiting + chunk, [], ""
        else:
            entries.append((chunk.partition("=")[0].strip(), waiting + chunk))
            waiting = ""
    if waiting:
        entries.append(("#", waiting))
    yield header, entries


def _chunks(text: str) -> Iterator[str]:
    """Yield whole statements: a line, or all lines of a value that runs over several."""
    held = ""
    for line in text.splitlines(keepends=True):
        held += line
        if "=" not in held or _HEADER.match(held) or held.lstrip().startswith("#") or _complete(held):
            yield held
            held = ""


def _complete(chunk: str) -> bool:
    try:
        tomllib.loads(chunk)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _unite_lines(parts: Parts) -> str:
    return "".join(parts.values())


# ---------------------------------------------------------------- map.geojson


def _split_geojson(text: str) -> Parts:
    loaded = json.loads(text)
    if not isinstance(loaded, dict) or not isinstance(loaded.get("features"), list):
        raise ValueError("no collection of features")
    parts: Parts = {("", key): _json(value) for key, value in loaded.items() if key != "features"}
    taken: set[str] = {""}
    for feature in loaded["features"]:
        if not isinstance(feature, dict):
            raise ValueError("a feature is no object")
        properties = feature.get("properties") or {}
        ident = feature.get("id", properties.get("id", _digest(_json(feature))))
        block = _unused(taken, f"feature:{ident}")
        parts[block, ""] = _json(sorted(feature))
        for key, value in feature.items():
            if key != "properties":
                parts[block, key] = _json(value)
        for key, value in properties.items():
            parts[block, f"properties.{key}"] = _json(value)
    return parts


def _unite_geojson(parts: Parts) -> str:
    whole: dict[str, Any] = {key: json.loads(text) for (block, key), text in parts.items() if not block}
    features: dict[str, dict[str, Any]] = {}
    for (block, key), text in parts.items():
        if block:
            feature = features.setdefault(block, {"type": "Feature", "properties": {}})
            within, _, name = key.partition(".")
            if within == "properties" and name:
                feature["properties"][name] = json.loads(text)
            elif key:
                feature[key] = json.loads(text)
    whole["features"] = list(features.values())
    return json.dumps(whole, ensure_ascii=False, indent=1) + "\n"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, sort_keys=True)


# ---------------------------------------------------------------- weather.csv


def _split_csv(text: str) -> Parts:
    lines = text.splitlines(keepends=True)
    first = next((i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")), None)
    if first is None:
        raise ValueError("no header")
    parts: Parts = {("", "header"): "".join(lines[: first + 1])}
    taken: set[str] = {""}
    for line in lines[first + 1 :]:
        if line.strip():
            parts[_unused(taken, f"day:{line.partition(',')[0].strip()}"), ""] = line
    return parts


def _unite_csv(parts: Parts) -> str:
    rows = sorted(path for path in parts if path[0])
    return parts["", "header"] + "".join(parts[path] for path in rows)


_SPLITTERS = {"toml": _split_toml, "geojson": _split_geojson, "csv": _split_csv}
_UNITERS = {"toml": _unite_lines, "geojson": _unite_geojson, "csv": _unite_csv}
