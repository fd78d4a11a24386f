"""The record: its entries with undo and correct, and the stays of a period."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from browseline.chain.desk.form_mend import changes_in, correction_form
from browseline.chain.desk.forms import Form
from browseline.chain.entries_page import EntriesPage, entries_page
from browseline.chain.field_pages import record_page
from browseline.chain.period import Period, as_csv, spanned
from browseline.errors import BadInput
from browseline.web.answer import answer, wants_json
from browseline.web.asked import picture_of, system_of, texts_in
from browseline.web.context import FindingsPage, ToldPage
from browseline.web.describe import gives, takes
from browseline.web.pages.entry import shown
from browseline.web.people import person_of

router = APIRouter()


@router.get("/entries", **gives(EntriesPage))
def entries(request: Request, before: str = "") -> Response:
    """GET /entries — what was written, newest first; what was taken back or put right, with both."""
    return answer(request, "entries.html", entries_page(picture_of(request), before))


@router.get("/record", **gives(Period))
def record(request: Request, first: str = "", last: str = "") -> Response:
    """GET /record — every stay of a period with heights and feed; gaps are told as gaps."""
    picture = picture_of(request)
    page = record_page(picture, *spanned(first, last, picture.today))
    return answer(request, "record.html", page, extra={"first": first, "last": last})


@router.get("/record.csv", responses={200: {"content": {"text/csv": {}}}}, response_class=Response)
def record_csv(request: Request, first: str = "", last: str = "") -> Response:
    """GET /record.csv — the same as a table for a spreadsheet."""
    picture = picture_of(request)
    page = record_page(picture, *spanned(first, last, picture.today))
    return Response(as_csv(page), media_type="text/csv; charset=utf-8")


@router.get("/correct/{event}", **gives(Form))
def correct(request: Request, event: str) -> Response:
    """GET /correct/{event} — an entry as a form, to be put right."""
    page = correction_form(picture_of(request), event)
    return answer(request, "correct.html", page, extra={"event": event})


@router.post(
    "/correct/{event}",
    **gives(ToldPage, 201),
    **takes(about="What it is about.", when="When it was.", reason="Why it was wrong."),
)
async def put_right(request: Request, event: str) -> Response:
    """POST /correct/{event} — put an entry right; the record keeps both."""
    given = texts_in(await request.form())
    return await run_in_threadpool(_put_right, request, event, given)


def _put_right(request: Request, event: str, given: dict[str, str]) -> Response:
    state, picture = request.app.state, picture_of(request)
    try:
        changes, said = changes_in(picture, event, given, person_of(request).who)
        told = state.store.correct(event, changes, said, state.clock(), system_of(request))
    except BadInput as wrong:
        form = correction_form(picture, event, given, wrong.findings)
        page = FindingsPage.of(wrong.findings) if wants_json(request) else form
        return answer(request, "correct.html", page, status=422, extra={"event": event})
    return shown(request, told.event)
