"""The server: one farm at the root, or a folder of farms each under its name."""

from __future__ import annotations

from pathlib import Path

import uvicorn
from fastapi import FastAPI
from starlette.middleware import Middleware

from browseline.errors import BadInput, finding
from browseline.web.access import Access
from browseline.web.farm_app import LOCAL, Clock, farm_app, utc_now
from browseline.web.gate import Gate
from browseline.web.store import Store

FARM_FILE = "farm.toml"
LOOPBACK = "127.0.0.1"
PORT = 8737


def build(folder: Path, clock: Clock = utc_now, access: Access = LOCAL) -> FastAPI:
    """Return the application of a farm folder, or of a folder of farm folders.

    Parameters
    ----------
    access : Access
        Who comes in; by default whoever sits at this machine, as the owner.

    Raises
    ------
    BadInput
        If there is no farm in it.
    """
    if (folder / FARM_FILE).is_file():
        app = farm_app(Store(folder), clock, access)
        app.add_middleware(Gate, access=access)
        return app
    farms = sorted(path.parent for path in folder.glob(f"*/{FARM_FILE}"))
    if not farms:
        raise BadInput([finding("cli.no_farm_there", str(folder))])
    many = FastAPI(
        openapi_url=None, docs_url=None, redoc_url=None, middleware=[Middleware(Gate, access=access)]
    )
    for farm in farms:
        many.mount(f"/{farm.name}", farm_app(Store(farm), clock, access))
    return many


def run(app: FastAPI, host: str = LOOPBACK, port: int = PORT) -> None:
    """Serve until stopped."""
    uvicorn.run(app, host=host, port=port, log_level="warning", server_header=False)
