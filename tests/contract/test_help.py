"""Help = docs = code: one list of verbs, each with words, an example that is understood, and a page."""

from __future__ import annotations

import keyword
import shlex
import subprocess
import sys
from dataclasses import fields
from pathlib import Path

import pytest
from typer.testing import CliRunner

from browseline.cli.group import MENDING, READING, SECTIONS, app, command, examples
from browseline.events import KINDS
from browseline.events.verbs import BARE, ENTRIES, FIELDS, spoken
from browseline.words import known, say
from scripts.command_page import PAGE, page

VERBS = [verb for verbs in SECTIONS.values() for verb in verbs]
HEAVY = (
    "numpy", "numba", "scipy", "pandas", "pydantic", "rich", "shapely", "pyogrio", "typst", "altair", "pvlib",
)  # fmt: skip
DEVELOPER = ("pytest", "hypothesis", "coverage", "mypy", "pint", "refet")


def test_the_page_of_commands_is_made_from_the_commands() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


def test_verbs_stand_once() -> None:
    assert len(VERBS) == len(set(VERBS))
    assert set(VERBS) == set(READING) | set(ENTRIES) | set(MENDING)


def test_help_names_every_verb_in_one_line_each() -> None:
    out = CliRunner().invoke(app, ["--help"], env={"COLUMNS": "80"}).stdout
    for verb in VERBS:
        assert f"\n  {verb} " in out, verb


@pytest.mark.parametrize("verb", VERBS)
def test_help_of_a_verb_says_what_it_does_and_how(verb: str) -> None:
    done = CliRunner().invoke(app, [verb, "--help"], env={"COLUMNS": "200"})
    assert done.exit_code == 0
    text = " ".join(done.stdout.split())
    assert say(f"cli.verb.{verb}") in text
    assert all(" ".join(one.split()) in text for one in examples(verb))
    assert "\x1b" not in done.stdout


@pytest.mark.parametrize("verb", VERBS)
def test_every_option_has_its_words(verb: str) -> None:
    for parameter in command(verb).params:
        assert getattr(parameter, "hidden", False) or parameter.help, f"{verb} {parameter.name}"


@pytest.mark.parametrize("verb", VERBS)
def test_the_example_of_a_verb_is_of_its_words(verb: str) -> None:
    """Words behind dashes, and words that stand for them, are options of that verb."""
    options = {option for parameter in command(verb).params for option in parameter.opts}
    for example in examples(verb):
        words = shlex.split(example)
        assert words[:2] == ["browseline", verb]
        said = [word for word in spoken(words[1:]) if word.startswith("--")]
        assert set(said) <= options


def test_a_look_has_an_example_of_trees_and_one_of_ground() -> None:
    assert [one.split()[2] for one in examples("look")] == ["trees", "ground"]


def test_words_without_dashes_are_options_of_some_entry() -> None:
    options = {o for verb in ENTRIES for p in command(verb).params for o in p.opts}
    assert {f"--{word}" for word in BARE} <= options


def test_every_field_of_an_entry_can_be_said() -> None:
    for entry in ENTRIES.values():
        names = {p.name.removeprefix("own_") for p in command(entry.name).params}
        alone = {slot.rstrip("?*") for slot in entry.slots}
        wanted = {f.name for f in fields(KINDS[entry.kind])}  # type: ignore[arg-type]
        assert wanted <= names | alone, entry.name


def test_every_field_has_words() -> None:
    assert {f.name for entry in ENTRIES.values() for f in fields(KINDS[entry.kind])} == FIELDS  # type: ignore[arg-type]
    assert [name for name in sorted(FIELDS) if not known(f"cli.field.{name}")] == []


def test_every_caution_of_an_entry_has_words() -> None:
    idents = {ident for entry in ENTRIES.values() for ident in entry.cautions}
    assert [ident for ident in sorted(idents) if not known(f"cli.caution.{ident}")] == []


def imported(*words: str) -> set[str]:
    """Return the top packages that one command imports, as a new process."""
    code = (
        "import sys\n"
        "from browseline.cli import main\n"
        f"try:\n    main({list(words)!r})\n"
        "except SystemExit:\n    print('|'.join(sorted({n.partition('.')[0] for n in sys.modules})))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(done.stdout.rstrip("\n").rpartition("\n")[2].split("|"))


def test_help_loads_nothing_heavy() -> None:
    assert imported("--help") & {*HEAVY, *DEVELOPER} == set()


def test_a_verb_loads_nothing_that_only_developers_have() -> None:
    """Not even help of a verb; numba looks for coverage by itself where it is there."""
    assert imported("walk", "--help") & (set(DEVELOPER) - {"coverage"}) == set()


def test_the_public_function_and_the_verb_share_a_name() -> None:
    import importlib

    for verb, room in (READING | MENDING).items():
        name = f"{verb}_" if keyword.iskeyword(verb) else verb
        assert callable(getattr(importlib.import_module(f"browseline.cli.{room}"), name)), verb


def test_an_unknown_verb_is_told() -> None:
    done = CliRunner().invoke(app, ["todya"])
    assert done.exit_code == 2
    assert "todya" in done.stderr


def test_the_version_is_told() -> None:
    from browseline import __version__

    assert CliRunner().invoke(app, ["--version"]).stdout.strip() == __version__


def test_the_page_is_linked() -> None:
    index = PAGE.parent / "index.md"
    assert f"]({PAGE.name})" in index.read_text(encoding="utf-8")
    assert isinstance(PAGE, Path)
