"""The function of a verb that writes an entry: its options are the fields of its body."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from browseline.chain.desk.entry import option_fields, said_in
from browseline.cli.at_desk import write_down
from browseline.cli.options import FarmOption, NowOption
from browseline.events.verbs import Entry
from browseline.words import known, say


def function_of(entry: Entry) -> Callable[..., None]:
    """Return the function of a verb, its options made from the fields of its body."""
    own = option_fields(entry)

    def verb(**given: Any) -> None:
        words, texts, said = said_in(entry, given)
        farm, now = given["farm"], given["now"]
        if given.get("from_file") or given.get("out_file"):
            from browseline.cli.filed import filed

            source, out = given.get("from_file"), given.get("out_file")
            filed(entry, source, out, words, said, farm, now)
        else:
            write_down(entry, words, texts, said, farm, now)

    parameters = _parameters(entry, own)
    verb.__signature__ = inspect.Signature(parameters)  # type: ignore[attr-defined]
    verb.__annotations__ = {p.name: p.annotation for p in parameters}
    verb.__name__ = entry.name
    return verb


def _parameters(entry: Entry, own: dict[str, tuple[str, ...]]) -> list[inspect.Parameter]:
    words = typer.Argument(metavar=entry.usage, help=say("cli.option.words"), show_default=False)
    found: list[tuple[str, Any, Any]] = [("words", Annotated[list[str] | None, words], None)]
    for name, options in own.items():
        found.append((f"own_{name}", _text(options, _field_words(entry.kind, name)), ""))
    found += [
        ("at", _text(("at",), say("cli.option.at")), ""),
        ("who", _text(("who",), say("cli.option.who")), ""),
    ]
    if "because" not in {option for options in own.values() for option in options}:
        found.append(("because", _text(("because",), say("cli.option.because")), ""))
    for name in entry.files:
        option = typer.Option(
            f"--{name}", metavar="FILE", help=say(f"cli.option.{name}.{entry.name}"), show_default=False
        )
        found.append((f"{name}_file", Annotated[Path | None, option], None))
    found += [
        ("planned", Annotated[bool, typer.Option("--planned", help=say("cli.option.planned"))], False),
        ("yes", Annotated[bool, typer.Option("--yes", help=say("cli.option.yes"))], False),
        ("farm", FarmOption, None),
        ("now", NowOption, None),
    ]
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    return [inspect.Parameter(name, kind, default=default, annotation=hint) for name, hint, default in found]


def _text(options: tuple[str, ...], words: str) -> Any:
    names = [f"--{option}" for option in options]
    return Annotated[str, typer.Option(*names, help=words, metavar="TEXT", show_default=False)]


def _field_words(kind: str, name: str) -> str:
    key = f"cli.field.{kind}.{name}"
    return say(key) if known(key) else say(f"cli.field.{name}")
