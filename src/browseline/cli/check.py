"""``check``: everything that is wrong with a farm folder, and how to mend each."""

from __future__ import annotations

import typer

from browseline.cli.options import FarmOption, JsonOption, NowOption, folder_of, now_of
from browseline.cli.out import put, put_json, put_wrapped, told_findings
from browseline.errors import errors_in
from browseline.exchange.plain import document
from browseline.farm.read import read
from browseline.farm.site import site_notes
from browseline.words import say


def check(farm: FarmOption = None, as_json: JsonOption = False, now: NowOption = None) -> None:
    """Print every finding and every caution of the place; leave with 1 if a finding stops the work."""
    reading = read(folder_of(farm), now_of(now).date())
    found = reading.findings
    site = site_notes(reading.farm) if reading.farm is not None else ()
    if as_json:
        put_json(document("browseline/check/1", {"findings": found, "site": site}))
    else:
        for line in told_findings(found):
            put(line)
        for words in dict.fromkeys(note.words for note in site):
            put_wrapped(words, "  ", "! ")
        levels = [one.level for one in found]
        if reading.farm is not None and not found:
            put(say("cli.check.sound", farm=reading.farm.name))
        else:
            put(
                say(
                    "cli.check.count", errors=levels.count("error"), questions=levels.count("question"),
                    notes=levels.count("note"),
                )
            )  # fmt: skip
    if reading.farm is None or errors_in(found):
        raise typer.Exit(1)
