"""Write ``docs/commands.md`` from the commands themselves.

    python -m scripts.command_page [--check]

With ``--check`` nothing is written; the exit status tells whether the page is up to date.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from browseline.chain.desk.times import PARTS
from browseline.cli.group import SECTIONS, command, examples
from browseline.words import say

PAGE = Path(__file__).resolve().parent.parent / "docs" / "commands.md"
TIMES = (
    ("today 7:00", "that minute"),
    ("Mon 18:00", "the last Monday, at that minute"),
    ("2 hours ago", "that instant"),
    ("between 21:00 and 6:30", "the last such hours"),
    ("3 May", "the whole of that day, today up to now"),
    ("about 7", "half an hour to either side, not past now"),
    ("since X", "from the first instant of X until now"),
)
"""Times as they are typed, and what is kept."""
HEAD = """# Commands

`browseline VERB …`, in the farm's folder or below it. This page is made from the commands
(`python -m scripts.command_page`); `browseline VERB --help` tells the same.

A number is typed with its unit: `4.5 in`, `11 cm`, `2 bales`, `$60`. A bare height, weight or number of
bales is taken in the farm's own units. What happened earlier takes `--at`. In the entries the options
`because until to into with seen bitten barked met lot at for` may be said without dashes:
`browseline shut 4 because cherry limb down until cleared`.

The examples are of the farm that `browseline demo` writes, on 10 June: put your own mobs and paddocks in. Two
ask for more: `wean` for young at foot, and `compare` for a design that you wrote (`designs/wide.toml`).

## Times

`--at` is read on the farm's clock. What is not said to the minute is kept as the time between two instants:

{times}
With `--planned` a day without a year, a weekday and a time of day are the next such: `10 Jul` is the coming
one. The night of a clock change is as long as it was. An hour that came twice is kept as both.

## A forgotten week

`browseline note --from week.txt` takes a text file of entries, one a line, each with its time first:

    2026-05-03 07:00 move ewes 8
    2026-05-04 walk 6 4.5 in
    about 7 this morning note the far gate drags

`browseline walk --from heights.csv` takes a table with the columns date, paddock and height, as
`browseline walk --out heights.csv` writes it. Every row is checked before any is kept: the good ones are
shown, the others named by their row. With `--yes` the good ones are kept as one batch, and `browseline undo`
takes that batch back whole. A row that the record holds already is not entered again, so that a mended file
can be given once more.

Leaves with 0 if all is well, 1 if something is to be mended (each finding says where, what and how), 2 if the
words make no command.
"""


def page() -> str:
    """Return the page: each verb with what it does, an example, its words and its options."""
    parts = [HEAD.format(times=_times())]
    for section, verbs in SECTIONS.items():
        parts.append(f"## {say(f'cli.section.{section}')}\n")
        parts += [_verb(verb) for verb in verbs]
    return "\n".join(parts).rstrip("\n") + "\n"


def _times() -> str:
    """Return the times that can be said: those typed, and the parts of a day."""
    rows = list(TIMES)
    for name, (back, opens, end_back, closes) in PARTS.items():
        first = "yesterday" if back else "today"
        last = "yesterday" if end_back else "today"
        rows.append((name, f"{first} {opens:%H:%M} to {last} {closes:%H:%M}, not past now"))
    rows.append(("7 last night", "the hour that lies in that part: 19:00; `about 7 this morning` goes too"))
    return "".join(f"- `{typed}`: {kept}\n" for typed, kept in rows)


def _verb(verb: str) -> str:
    built = command(verb)
    lines = [f"### {verb}", "", say(f"cli.verb.{verb}"), "", *(f"    {one}" for one in examples(verb)), ""]
    lines += [f"- {_names(p)} {p.help}" for p in built.params if not getattr(p, "hidden", False) and p.help]
    return "\n".join(lines) + "\n"


def _names(parameter: Any) -> str:
    if parameter.param_type_name == "argument":
        return f"`{parameter.metavar or parameter.name}`"
    return f"`{', '.join((*parameter.opts, *parameter.secondary_opts))}`"


def main() -> None:
    """Write the page, or compare it."""
    text = page()
    if "--check" not in sys.argv[1:]:
        PAGE.write_text(text, encoding="utf-8")
    elif not PAGE.is_file() or PAGE.read_text(encoding="utf-8") != text:
        print(f"{PAGE.name} is not up to date: python -m scripts.command_page")
        raise SystemExit(1)


if __name__ == "__main__":
    main()
