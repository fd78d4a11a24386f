"""Whatever is typed, a command ends with words and a status, never with a broken program."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from browseline.chain.desk.desk import Said, hold
from browseline.chain.desk.entry import option_fields
from browseline.chain.desk.slots import fill
from browseline.chain.desk.special import finish
from browseline.cli.group import command
from browseline.errors import BadInput, Finding
from browseline.events.verbs import ENTRIES, Entry, spoken
from tests.unit.cli_farm import NOW, SmallFarm, small_farm

WORDS = (
    "6", "8", "Top", "ewes", "ewe", "lambs", "hazel", "yard", "4.5 in", "4.5in", "20", "1,200 lb", "$60",
    "-3", "0", "2 bales", "59", "1 ewe, 2 lambs", "ewe=3", "sheep/ewe=3", "cleared", "30 Jun", "2026-09-15",
    "in 3 days", "between 21:00 and 6:30", "today 7:00", "yesterday", "into", "to", "because", "until", "at",
    "with", "seen", "--to", "--until", "--because", "--yes", "--planned", "--at", "--", "-", "", "'", "=",
    "[red]", "\n", "{0}", "%s", "9" * 400, "1/0 in", "4 1/0 in", "1e999 in", "½ in", "NaN", "inf", "∞ cm",
    "8/a",
    "../../etc", "a" * 3000, "\udcff", "in 99999999999 weeks", "9999999999 days ago",
    "0001-01-01", "9999-12-31",
)  # fmt: skip
words = st.one_of(st.sampled_from(WORDS), st.text(max_size=12))


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> SmallFarm:
    return small_farm(tmp_path_factory.mktemp("fuzz") / "farm")


@pytest.mark.parametrize("verb", sorted(ENTRIES))
@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(typed=st.lists(words, max_size=6))
def test_any_words_behind_a_verb(farm: SmallFarm, verb: str, typed: list[str]) -> None:
    done = farm.run(verb, *typed)
    assert done.code in (0, 1, 2)
    assert done.out or done.err
    if done.code:
        assert "Traceback" not in done.all


@settings(max_examples=300)
@given(verb=st.sampled_from(sorted(ENTRIES)), typed=st.lists(words, max_size=8), data=st.data())
def test_any_words_are_an_entry_or_findings(
    tmp_path_factory: pytest.TempPathFactory, verb: str, typed: list[str], data: st.DataObject
) -> None:
    entry = ENTRIES[verb]
    names = st.sampled_from(sorted(option_fields(entry)))
    texts = data.draw(st.dictionaries(names, words.filter(bool), max_size=3))
    findings = _findings(tmp_path_factory.getbasetemp() / "one", entry, typed, texts)
    assert all(found.what and found.mend for found in findings)


def _findings(folder: Path, entry: Entry, typed: list[str], texts: dict[str, str]) -> tuple[Finding, ...]:
    if not (folder / "farm.toml").is_file():
        small_farm(folder)
    with hold(folder, datetime.fromisoformat(NOW)) as at:
        try:
            finish(entry, fill(entry, typed, texts, at.names, at.today), at, Said())
        except BadInput as wrong:
            return wrong.findings
    return ()


@given(verb=st.sampled_from(sorted(ENTRIES)), typed=st.lists(words, max_size=8))
def test_saying_options_without_dashes_loses_no_word(verb: str, typed: list[str]) -> None:
    said = spoken([verb, *typed])
    assert said[0] == verb
    kept = " ".join(said).replace("--", " ").split()
    assert sorted(kept) == sorted(" ".join([verb, *typed]).replace("--", " ").split())


def test_every_verb_can_be_put_together() -> None:
    assert all(command(verb) is not None for verb in ENTRIES)
