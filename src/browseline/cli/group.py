"""The command line itself: which verbs there are, each put together only when it is asked for."""

from __future__ import annotations

import importlib
import re
from keyword import iskeyword
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from browseline.errors import BadInput, BrokenRecord, finding
from browseline.events.verbs import ENTRIES, nearest_verb, spoken
from browseline.words import known, say

READING = {
    "start": "start", "check": "check", "today": "today", "season": "season", "why": "why",
    "papers": "papers", "map": "map", "layout": "layout",
    "canopy": "canopy", "decades": "decades", "ledger": "books", "carbon": "books",
    "try": "trials", "compare": "trials",
    "join": "copies", "pack": "copies", "unpack": "copies",
    "serve": "serve", "demo": "demo",
}  # fmt: skip
"""Verbs with a function of their own, and the file that holds it."""

MENDING = {"promise": "promise", "undo": "mend", "correct": "mend"}
SECTIONS = {"reading": tuple(READING), "entries": (*ENTRIES, *MENDING)}


_BELOW = re.compile(r"-\.?\d")
"""A number below nothing: no entry has one, and it would be read as an option."""


class Verbs(TyperGroup):
    """Every verb by name; none is imported before it is needed."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the verbs in the order of the help."""
        return [name for names in SECTIONS.values() for name in names]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return the command of a verb, or None."""
        return command(cmd_name)

    def format_commands(self, ctx: Any, formatter: Any) -> None:
        """Write one line a verb, without putting any together."""
        for section, names in SECTIONS.items():
            with formatter.section(say(f"cli.section.{section}")):
                formatter.write_dl([(name, say(f"cli.verb.{name}")) for name in names])

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Take words without dashes (``because``, ``until``, ``seen`` …) for the options they name."""
        read = [arg.encode("utf-8", "surrogateescape").decode("utf-8", "replace") for arg in args]
        below = next((word for word in read if _BELOW.match(word)), None)
        if below is not None:
            from browseline.cli.out import tell

            tell([finding("cli.below_nothing", below)])
            raise typer.Exit(1)
        return super().parse_args(ctx, spoken([*(word.casefold() for word in read[:1]), *read[1:]]))

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Find the verb of the first word; a word that is none is told with the nearest that is."""
        if args and not args[0].startswith("-") and command(args[0]) is None:
            near = nearest_verb(args[0], (*READING, *MENDING))
            mend = say("cli.nearest", name=near) if near else say("cli.all_verbs")
            ctx.fail(say("cli.no_verb", said=args[0], mend=mend))
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run a verb; what a person can mend is told in words, with exit status 1."""
        try:
            return super().invoke(ctx)
        except BadInput as wrong:
            from browseline.cli.out import tell

            tell(wrong.findings)
        except BrokenRecord as wrong:
            typer.echo(str(wrong), err=True)
        raise typer.Exit(1)


def command(name: str) -> Any:
    """Return the command of a verb, put together now; None if there is none."""
    if name in ENTRIES:
        from browseline.cli.verbs import function_of

        function: Any = function_of(ENTRIES[name])
    elif name in READING or name in MENDING:
        room = importlib.import_module(f"browseline.cli.{(READING | MENDING)[name]}")
        function = getattr(room, f"{name}_" if iskeyword(name) else name)
    else:
        return None
    alone = typer.Typer(add_completion=False, rich_markup_mode=None)
    alone.command(name, help=long_help(name))(function)
    return typer.main.get_command(alone)


def long_help(name: str) -> str:
    """Return what a verb does, and its examples."""
    return "\n\n".join((say(f"cli.verb.{name}"), *(f"{say('cli.example')}: {one}" for one in examples(name))))


def examples(name: str) -> tuple[str, ...]:
    """Return a verb as it is said whole: one example, or two where it is said in two ways."""
    keys = (f"cli.example.{name}", f"cli.example.{name}.more")
    return tuple(say(key) for key in keys if known(key))


app = typer.Typer(
    cls=Verbs, name="browseline", add_completion=False, rich_markup_mode=None, no_args_is_help=True,
    pretty_exceptions_enable=False, help=say("cli.help"),
)  # fmt: skip


def _version(asked: bool) -> None:
    if asked:
        from browseline import __version__

        typer.echo(__version__)
        raise typer.Exit()


@app.callback()
def root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help=say("cli.option.version"))
    ] = False,
) -> None:
    """Hold the options that come before a verb."""
