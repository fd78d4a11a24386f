"""``serve``: the pages of a farm, or of a folder of farms, in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from browseline.cli.options import FarmOption, NowOption, now_of
from browseline.cli.out import put
from browseline.words import say


def serve(
    folder: Annotated[
        Path | None, typer.Argument(metavar="[FOLDER]", help=say("cli.argument.serve"), show_default=False)
    ] = None,
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help=say("cli.option.port"))] = 8737,
    farm: FarmOption = None,
    now: NowOption = None,
) -> None:
    """Open the pages on this machine."""
    from browseline.cli.options import folder_of
    from browseline.web.farm_app import utc_now
    from browseline.web.serve import LOOPBACK, build, run

    at = folder or folder_of(farm)
    still = now_of(now) if now else None
    app = build(at.resolve(), (lambda: still) if still is not None else utc_now)
    put(say("cli.serve.open", address=f"http://{LOOPBACK}:{port}"))
    run(app, port=port)
