"""Write docs/bad_farms.md: farms with one fault each and the words that each gets.

    python -m scripts.bad_farms            # the page
    python -m scripts.bad_farms --accept   # first take the words as they are now into the cases

The cases and their words stand in tests/contract/bad_farms.toml; a test holds both. Read the difference
before you keep words that were accepted.
"""

from __future__ import annotations

import re
import sys
import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from browseline.errors import Finding
from browseline.farm.read import read

ROOT = Path(__file__).resolve().parents[1]
CASES = ROOT / "tests" / "contract" / "bad_farms.toml"
PAGE = ROOT / "docs" / "bad_farms.md"
TODAY = date(2026, 5, 6)
HEAD = """# Bad farms, and what they are told

Every fault of every file is told at once: where it stands, what is wrong, how to mend it. A *question*
can be kept as it is, a *note* says what was assumed; anything else stops the work. Each case below is
a sound farm with one change (`tests/contract/bad_farms.toml`), and the words are tested to the letter.
This page is written by `python -m scripts.bad_farms`.
"""


@dataclass(frozen=True)
class Case:
    """One bad farm: what is changed of the sound one, and what it must be told."""

    id: str
    about: str
    text: str
    says: str
    change: tuple[tuple[str, str], ...] = ()
    map: str = ""
    encoding: str = "utf-8"
    without: tuple[str, ...] = ()


def cases() -> list[Case]:
    """Return every case of the file, with the text of its farm."""
    data = tomllib.loads(CASES.read_text(encoding="utf-8"))
    found = []
    for case in data["case"]:
        text = data["sound"]
        change = tuple((old, new) for old, new in case.get("change", ()))
        for old, new in change:
            if text.count(old) < 1:
                raise ValueError(f"{case['id']}: the sound farm has no {old!r}")
            text = text.replace(old, new, 1)
        found.append(
            Case(
                case["id"], case["about"], text, case["says"], change, case.get("map", ""),
                case.get("encoding", "utf-8"), tuple(case.get("without", ())),
            )
        )  # fmt: skip
    return found


def told(case: Case) -> list[Finding]:
    """Return what the farm of a case is told."""
    with TemporaryDirectory() as made:
        folder = Path(made) / "farm"
        folder.mkdir()
        if "farm.toml" not in case.without:
            (folder / "farm.toml").write_bytes(case.text.encode(case.encoding))
        if case.map:
            (folder / "map.geojson").write_text(case.map, encoding="utf-8")
        return list(read(folder, TODAY).findings)


def printed(findings: list[Finding]) -> str:
    """Return findings as they are printed; a question and a note are marked."""
    marks = {"error": "", "question": "[question] ", "note": "[note] "}
    return "".join(f"{marks[found.level]}{found}\n" for found in findings)


def page() -> str:
    """Return the page of all cases."""
    parts = [HEAD]
    for number, case in enumerate(cases(), start=1):
        shown = "".join(f"    {line}\n" for line in printed(told(case)).splitlines())
        parts.append(f"\n**{number}. {case.about[:1].upper()}{case.about[1:]}**{_changed(case)}\n\n{shown}")
    return "".join(parts)


def _changed(case: Case) -> str:
    lines = [line for _, new in case.change for line in new.splitlines() if line.strip()]
    new = [
        line for line in lines if line not in {old for pair in case.change for old in pair[0].splitlines()}
    ]
    return f": `{'`, `'.join(new)}`" if new else ""


def accept() -> None:
    """Write what each case is told now into the file of the cases."""
    text = CASES.read_text(encoding="utf-8")
    for case in cases():
        before, mark, after = text.partition(f'id = "{case.id}"\n')
        old = re.search(r"says = ('''.*?'''|\"\")", after, flags=re.DOTALL)
        if old is not None:
            said = f"says = '''\n{printed(told(case))}'''"
            text = before + mark + after[: old.start()] + said + after[old.end() :]
    CASES.write_text(text, encoding="utf-8")


def main() -> None:
    """Write the page."""
    if "--accept" in sys.argv[1:]:
        accept()
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)}: {len(cases())} bad farms")


if __name__ == "__main__":
    main()
