"""The record verbs: one form and one entry a verb, what is told after it, undo and correct."""

from __future__ import annotations

from uuid import uuid4

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from browseline.chain.desk.form_given import typed_in
from browseline.chain.desk.forms import Form, form_of
from browseline.chain.desk.typed import typed, words_of
from browseline.errors import BadInput
from browseline.events.verbs import FIELDS
from browseline.web.answer import answer, wants_json
from browseline.web.asked import picture_of, system_of, texts_in
from browseline.web.context import EnterPage, FindingsPage, HeardPage, ToldPage
from browseline.web.describe import gives, takes
from browseline.web.people import person_of
from browseline.web.photos import held
from browseline.words import known, say

router = APIRouter()
ENTRY_FIELDS = {
    **{f"{name}": say(f"form.label.{name}") for name in sorted(FIELDS) if known(f"form.label.{name}")},
    "yes": "Not empty: kept although it was questioned.",
    "once": "The same word: the same entry.",
}
"""What a form may send; which of it a verb asks, its form says."""


@router.get("/enter", **gives(EnterPage))
def enter(request: Request) -> Response:
    """GET /enter — every verb that writes an entry, and a line to type one."""
    return answer(request, "enter.html", EnterPage.of())


@router.get("/enter/{verb}", **gives(Form))
def form(request: Request, verb: str) -> Response:
    """GET /enter/{verb} — the form of a verb, filled with what the address says already."""
    page = form_of(picture_of(request), verb, dict(request.query_params))
    return answer(request, "form.html", page, extra={"once": once()})


@router.post("/enter/{verb}", **gives(ToldPage, 201), **takes(**ENTRY_FIELDS))
async def keep(request: Request, verb: str) -> Response:
    """POST /enter/{verb} — keep what the form says; with what speaks against it, the form again."""
    async with request.form(max_files=1, max_fields=200) as form:
        given, sent = texts_in(form), form.get("file")
        photo = await sent.read() if isinstance(sent, UploadFile) else None
    return await run_in_threadpool(_kept, request, verb, given, photo)


def _kept(request: Request, verb: str, given: dict[str, str], photo: bytes | None) -> Response:
    state, picture = request.app.state, picture_of(request)
    try:
        command = typed_in(form_of(picture, verb, given), given, person_of(request).who)
        once_only = given.get("once", "")
        with held(photo) as path:
            told = state.store.enter(command, state.clock(), system_of(request), once_only, path)
    except BadInput as wrong:
        return _again(request, form_of(picture, verb, given, wrong.findings))
    return shown(request, told.event)


def once() -> str:
    """Return a word by which an entry is known that comes twice."""
    return uuid4().hex


def _again(request: Request, page: Form) -> Response:
    if wants_json(request):
        return answer(request, "form.html", FindingsPage.of(page.found), status=422)
    return answer(request, "form.html", page, status=422, extra={"once": once()})


def shown(request: Request, event: str) -> Response:
    """Answer an entry: programs at once, a browser by the page that it may load again without harm."""
    if wants_json(request):
        return answer(request, "told.html", told_page(request, event), status=201)
    return RedirectResponse(f"{request.scope.get('root_path', '')}/told/{event}", 303)


def told_page(request: Request, event: str) -> ToldPage:
    """Return what was told after an entry."""
    state = request.app.state
    return ToldPage.of(*state.store.told(event, state.clock()))


@router.get("/told/{event}", **gives(ToldPage))
def told(request: Request, event: str) -> Response:
    """GET /told/{event} — what an entry changed; undo for 24 hours."""
    return answer(request, "told.html", told_page(request, event))


@router.post(
    "/typed",
    **gives(ToldPage, 201),
    **takes(
        words="The command.",
        read_back="Not empty: read back, not kept.",
        once="The same word: the same entry.",
    ),
)
async def say_it(request: Request) -> Response:
    """POST /typed — one command as it is typed or dictated: ``move ewes to 8``."""
    given = texts_in(await request.form())
    return await run_in_threadpool(_said, request, given)


def _said(request: Request, given: dict[str, str]) -> Response:
    state, words = request.app.state, given.get("words", "")
    try:
        command = typed(words_of(words))
        if given.get("read_back"):
            heard, asked = state.store.heard(command, state.clock())
            return answer(request, "heard.html", HeardPage.of(words, heard, asked))
        told = state.store.enter(command, state.clock(), system_of(request), given.get("once", ""))
    except BadInput as wrong:
        return answer(request, "heard.html", HeardPage.of(words, "", wrong.findings), status=422)
    return shown(request, told.event)


@router.post("/undo/{event}", **gives(ToldPage, 201), **takes())
async def undo(request: Request, event: str) -> Response:
    """POST /undo/{event} — take an entry back; the record keeps both."""
    state, who = request.app.state, person_of(request).who
    told = await run_in_threadpool(state.store.undo, event, who, "", state.clock(), system_of(request))
    return shown(request, told.event)
