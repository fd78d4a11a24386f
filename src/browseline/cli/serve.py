"""``serve``: the pages of a farm, or of a folder of farms, in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from browseline.cli.options import FarmOption, NowOption, now_of
from browseline.words import say

Texts = Annotated[list[str] | None, typer.Option("--name", metavar="NAME", help=say("access.option.name"))]
Fronts = Annotated[
    list[str] | None, typer.Option("--behind", metavar="ADDRESS", help=say("access.option.behind"))
]
Certificate = Annotated[
    Path | None, typer.Option("--certificate", metavar="FILE", help=say("access.option.certificate"))
]


def serve(
    folder: Annotated[
        Path | None, typer.Argument(metavar="[FOLDER]", help=say("cli.argument.serve"), show_default=False)
    ] = None,
    port: Annotated[int, typer.Option("--port", min=0, max=65534, help=say("cli.option.port"))] = 8737,
    lan: Annotated[bool, typer.Option("--lan", help=say("access.option.lan"))] = False,
    role: Annotated[str, typer.Option("--role", metavar="ROLE", help=say("access.option.role"))] = "owner",
    name: Texts = None,
    certificate: Certificate = None,
    key: Annotated[Path | None, typer.Option("--key", metavar="FILE", help=say("access.option.key"))] = None,
    behind: Fronts = None,
    base: Annotated[str, typer.Option("--base", metavar="PATH", help=say("access.option.base"))] = "",
    listen: Annotated[
        str, typer.Option("--listen", metavar="ADDRESS", help=say("access.option.listen"))
    ] = "127.0.0.1",
    sandbox: Annotated[bool, typer.Option("--sandbox", help=say("access.option.sandbox"))] = False,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Open the pages on this machine; with --lan also for paired phones in the house."""
    from browseline.cli.options import folder_of
    from browseline.cli.serving import Wanted, serve_as

    still = now_of(now) if now else None
    wanted = Wanted(
        (folder or folder_of(farm)).resolve(), port, lan, role, tuple(name or ()), certificate, key,
        tuple(behind or ()), base, listen, sandbox,
    )  # fmt: skip
    serve_as(wanted, still)
