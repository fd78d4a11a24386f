"""The server: one farm at the root, or a folder of farms each under its name."""

from __future__ import annotations

from pathlib import Path

from fastapi import FastAPI
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.staticfiles import StaticFiles

from browseline.errors import BadInput, finding
from browseline.web.access import Access
from browseline.web.answer import HERE
from browseline.web.beginning import beginning, may_begin
from browseline.web.farm_app import LOCAL, Clock, farm_app, not_there, utc_now
from browseline.web.farms import Farms, list_farms
from browseline.web.gate import Gate
from browseline.web.held import FARM_FILE, Keeper
from browseline.web.people import NOBODY
from browseline.web.store import Store


def build(
    folder: Path, clock: Clock = utc_now, access: Access = LOCAL, keeper: Keeper | None = None
) -> FastAPI:
    """Return the application of a farm folder, or of a folder of farm folders.

    Its state holds ``farms``: the application of each farm by its name, "" where there is one at the root.
    Where nothing is in the folder yet, whoever sits at the machine may begin a farm there.

    Parameters
    ----------
    access : Access
        Who comes in; by default whoever sits at this machine, as the owner.
    keeper : Keeper, optional
        Of the farm at the root, where its first picture is being made already.

    Raises
    ------
    BadInput
        If there is no farm in it.
    """
    if (folder / FARM_FILE).is_file():
        app = farm_app(Store(folder, keeper), clock, access)
        app.add_middleware(Gate, access=access)
        app.state.farms = {"": app}
        return app
    farms = sorted(path.parent for path in folder.glob(f"*/{FARM_FILE}"))
    if not farms and access.here and may_begin(folder):
        begun = beginning(folder, clock, lambda: farm_app(Store(folder), clock, access))
        begun.add_middleware(Gate, access=access)
        return begun
    if not farms:
        raise BadInput([finding("cli.no_farm_there", str(folder))])
    many = FastAPI(
        openapi_url=None, docs_url=None, redoc_url=None, middleware=[Middleware(Gate, access=access)],
        exception_handlers={HTTPException: nobody_there},
    )  # fmt: skip
    many.state.farms = {farm.name: farm_app(Store(farm), clock, access) for farm in farms}
    many.state.list = Farms(many.state.farms)
    many.add_api_route("/", list_farms, include_in_schema=False)
    for name, app in many.state.farms.items():
        many.mount(f"/{name}", app)
    many.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    return many


async def nobody_there(request: Request, wrong: Exception) -> Response:
    """Answer where there is no farm."""
    request.state.person = NOBODY
    return await not_there(request, wrong)
