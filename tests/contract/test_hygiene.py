"""What must not stand in any file that is shared, and that every sentence has its words."""

from __future__ import annotations

import ast
import csv
import re
import string
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import polib
import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "browseline"
LOCALE = PACKAGE / "locale"
BINARY = {".tif", ".pdf", ".png", ".db", ".gpkg", ".ttf", ".otf", ".woff2", ".shp", ".dbf", ".shx", ".zip"}

# As patterns, these do not find themselves.
MACHINE_PATHS = [rf"(?<![\w.])/{name}/" for name in ("work", "root", "tmp", r"home/\w+", r"Users/\w+", "opt")]
HOSTS = [
    r"pypi\.\w+", r"\bpythonhosted\b", r"registry\.npmjs", r"deb\.debian", r"conda\.anaconda",
    r"index-url\s*=?\s*http", r"github\.com/\w+/browseline",
]  # fmt: skip
UNFINISHED = [
    rf"\b{a}{b}\b" for a, b in (("TO", "DO"), ("FIX", "ME"), ("XX", "X"), ("NotImplemented", "Error"))
]
UNFINISHED += [r"\bfor now\b", r"pytest\.(mark\.)?(skip|xfail)", r"\bimportorskip\b"]
MAKERS = [r"\b(chat|co)(gpt|pilot)\b", r"\bgenerated (by|with) (an? )?(AI|model)\b", r"\blanguage model\b"]
FORBIDDEN = {
    "a path of one machine": MACHINE_PATHS,
    "a host of packages": HOSTS,
    "unfinished work": UNFINISHED,
    "how it was written": MAKERS,
}
AVOIDED = (
    "asset", "assets", "entity", "entities", "module", "modules", "dashboard", "insight", "insights", "smart",
    "optimise", "optimised", "optimize", "optimized", "score", "scores", "regenerative", "carbon-neutral",
    "compliant", "compliance", "safe amount", "safe dose",
)  # fmt: skip


@cache
def tracked() -> tuple[Path, ...]:
    """Return the files that git keeps, or all that are there where this is no clone."""
    done = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False
    )  # fmt: skip
    if done.returncode == 0 and done.stdout:
        return tuple(ROOT / name for name in done.stdout.split("\0") if name and (ROOT / name).is_file())
    folders = ("src", "tests", "docs", "scripts", "benchmarks", "examples", "locks")
    return tuple(
        p for f in folders for p in (ROOT / f).rglob("*") if p.is_file() and "__pycache__" not in p.parts
    )


@cache
def shared_text() -> dict[str, str]:
    return {
        path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8")
        for path in tracked()
        if path.suffix.lower() not in BINARY
    }


@pytest.mark.parametrize("what", FORBIDDEN)
def test_no_file_holds(what: str) -> None:
    pattern = re.compile("|".join(FORBIDDEN[what]))
    found = [
        f"{name}:{number}: {line.strip()[:90]}"
        for name, text in shared_text().items()
        for number, line in enumerate(text.splitlines(), start=1)
        if pattern.search(line)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("what", "line"),
    [
        ("a path of one machine", "see /" + "root/x"),
        ("a host of packages", "https://" + "pypi" + ".org/simple"),
        ("unfinished work", "# TO" + "DO later"),
        ("how it was written", "written by a language " + "model"),
    ],
)
def test_the_patterns_find_what_they_look_for(what: str, line: str) -> None:
    assert re.search("|".join(FORBIDDEN[what]), line)


def test_locks_hold_hashes_and_nothing_but() -> None:
    for path in sorted((ROOT / "locks").glob("*.txt")):
        text = path.read_text(encoding="utf-8")
        astray = [
            line
            for line in text.splitlines()
            if not re.fullmatch(r"[\w.\-]+==\S+( ; [^\\]+)? \\|    --hash=sha256:[0-9a-f]{64}( \\)?", line)
        ]
        assert astray == [], path.name


def test_test_lock_holds_the_versions_of_the_run_lock() -> None:
    run, test = (
        dict(
            re.findall(r"^([\w.\-]+)==(\S+)", (ROOT / "locks" / f).read_text(encoding="utf-8"), re.MULTILINE)
        )
        for f in ("run.txt", "test.txt")
    )
    assert {name: test.get(name) for name in run} == run


def test_no_swallowed_errors_in_the_package() -> None:
    silent = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ExceptHandler)
        and (node.type is None or [type(s) for s in node.body] == [ast.Pass])
    ]
    assert silent == []


# -- sentences ---------------------------------------------------------------------------------


@cache
def entries() -> dict[str, polib.POEntry]:
    found: dict[str, polib.POEntry] = {}
    for path in sorted((LOCALE / "en").glob("*.po")):
        for entry in polib.pofile(path.read_text(encoding="utf-8")):
            assert entry.msgid not in found, f"{path.name}: {entry.msgid} stands twice"
            assert entry.msgid.partition(".")[0] == path.stem, (
                f"{path.name}: {entry.msgid} is of another room"
            )
            found[entry.msgid] = entry
    return found


def templates(entry: polib.POEntry) -> list[str]:
    return list(entry.msgstr_plural.values()) or [entry.msgstr]


def fields(entry: polib.POEntry) -> set[str]:
    formatter = string.Formatter()
    return {
        re.split(r"[.\[]", name)[0]
        for template in templates(entry)
        for _, name, _, _ in formatter.parse(template)
        if name is not None
    }


@cache
def code() -> tuple[tuple[str, ast.Module], ...]:
    return tuple(
        (p.relative_to(PACKAGE).as_posix(), ast.parse(p.read_text(encoding="utf-8")))
        for p in sorted(PACKAGE.rglob("*.py"))
    )


@cache
def literals() -> frozenset[str]:
    """Return every text of the code and every cell of the tables."""
    in_code = {
        n.value
        for _, tree in code()
        for n in ast.walk(tree)
        if isinstance(n, ast.Constant) and isinstance(n.value, str)
    }
    cells = {
        cell
        for path in (PACKAGE / "data").glob("*.csv")
        for row in csv.reader(path.read_text(encoding="utf-8").splitlines())
        for cell in row
    }
    return frozenset(
        in_code | cells | {text for page in pages() for text in re.findall(r"[\"']([^\"']+)[\"']", page)}
    )


@cache
def pages() -> tuple[str, ...]:
    """Return what stands between the braces of every template of the pages."""
    texts = (p.read_text(encoding="utf-8") for p in sorted((PACKAGE / "web" / "templates").glob("*.html")))
    return tuple(inside for text in texts for inside in re.findall(r"\{[{%](.*?)[}%]\}", text, re.DOTALL))


@cache
def built_keys() -> tuple[re.Pattern[str], ...]:
    """Return a pattern for each text that the code puts together, such as ``f"limits.{name}.do"``."""
    patterns = []
    for _, tree in code():
        for node in ast.walk(tree):
            if isinstance(node, ast.JoinedStr):
                parts = [v.value if isinstance(v, ast.Constant) else None for v in node.values]
                if any(part and "." in str(part) for part in parts):
                    patterns.append(re.compile("".join(re.escape(str(p)) if p else "(.+)" for p in parts)))
    for page in pages():  # "web.ways." ~ name
        for before, after in re.findall(r"[\"']([^\"']+\.)[\"'] ~ [\w.]+(?: ~ [\"']([^\"']+)[\"'])?", page):
            patterns.append(re.compile(f"{re.escape(before)}(.+){re.escape(after)}"))
    return tuple(patterns)


def is_spelled(text: str) -> bool:
    """Return whether the code writes a text, or puts it together from texts that it writes."""
    if text in literals():
        return True
    matches = (pattern.fullmatch(text) for pattern in built_keys())
    return any(m and all(len(part) < len(text) and is_spelled(part) for part in m.groups()) for m in matches)


def sayings() -> Iterator[tuple[str, ast.Call, str]]:
    """Yield (place, call, key) wherever a sentence is asked for by a literal key."""
    for name, tree in code():
        for node in ast.walk(tree):
            if not (isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant)):
                continue
            called, key = ast.unparse(node.func).rpartition(".")[2], str(node.args[0].value)
            if called == "say":
                yield f"{name}:{node.lineno}", node, key
            elif called == "finding":
                yield f"{name}:{node.lineno}", node, f"findings.{key}.what"
                yield f"{name}:{node.lineno}", node, f"findings.{key}.mend"


def given(call: ast.Call) -> set[str] | None:
    """Return the fields that a call fills, or None if it passes a whole mapping."""
    if any(keyword.arg is None for keyword in call.keywords):
        return None
    return {keyword.arg for keyword in call.keywords if keyword.arg is not None}


def test_there_are_sentences() -> None:
    assert len(entries()) > 20


def test_every_key_has_words() -> None:
    assert [f"{place} {key}" for place, _, key in sayings() if key not in entries()] == []


def test_every_field_is_filled() -> None:
    gaps = []
    for place, call, key in sayings():
        filled = given(call)
        if filled is not None and key in entries() and (missing := fields(entries()[key]) - filled):
            gaps.append(f"{place} {key}: {sorted(missing)}")
    assert gaps == []


def test_no_field_is_filled_in_vain() -> None:
    vain = []
    for place, call, key in sayings():
        if ast.unparse(call.func).endswith("finding") or key not in entries():
            continue
        if spare := (given(call) or set()) - fields(entries()[key]) - {"count"}:
            vain.append(f"{place} {key}: {sorted(spare)}")
    assert vain == []


def test_every_sentence_is_used() -> None:
    assert [key for key in entries() if not is_spelled(key)] == []


def test_a_finding_has_both_its_sentences() -> None:
    findings = [key for key in entries() if key.startswith("findings.")]
    ends = {"what": "mend", "mend": "what"}
    alone = []
    for key in findings:
        stem, _, end = key.rpartition(".")
        if end in ends and f"{stem}.{ends[end]}" not in entries():
            alone.append(key)
    assert alone == []


def test_every_sentence_can_be_filled() -> None:
    empty = [key for key, entry in entries().items() if not all(t.strip() for t in templates(entry))]
    assert empty == []
    positional = [key for key, entry in entries().items() if any(not f or f.isdigit() for f in fields(entry))]
    assert positional == []


@pytest.mark.parametrize("word", AVOIDED)
def test_sentences_avoid(word: str) -> None:
    pattern = re.compile(rf"(?<!\w){re.escape(word)}(?!\w)", re.IGNORECASE)
    said = [key for key, entry in entries().items() if any(pattern.search(t) for t in templates(entry))]
    assert said == []


def test_other_languages_hold_the_same_keys_and_fields() -> None:
    for folder in sorted(p for p in LOCALE.iterdir() if p.is_dir() and p.name != "en"):
        for path in sorted(folder.glob("*.po")):
            for entry in polib.pofile(path.read_text(encoding="utf-8")):
                assert entry.msgid in entries(), f"{folder.name}: {entry.msgid}"
                assert fields(entry) == fields(entries()[entry.msgid]), f"{folder.name}: {entry.msgid}"
