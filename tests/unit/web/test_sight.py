"""What each role sees and writes, looked for in the bytes of every route."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from browseline.chain.pocket.received import FIELD_KINDS
from browseline.events import KINDS
from browseline.record.store import Record
from browseline.web import sight
from browseline.web.access import Access
from browseline.web.blanks import Blanks
from browseline.web.farm_app import ROUTERS
from browseline.web.people import OWNER, ROLES, SHARES, Person, Role, Share
from tests.unit.cli_farm import FARM
from tests.web_farm import HOUSE, PAIRED, Served, small_farm, token, write

MONEY = ("7777731", "8888815.25", "3.3399", "6543217")
TREATED = ("Zorbamec", "zorbamec", "2026-05-29", "29 May", "0123")
PLACES = ("43.98765", "-72.12345", "43.9876", "72.1234", "43.55512", "72.55523")
MARKS: dict[str, tuple[str, ...]] = {"money": MONEY, "treatments": TREATED, "coordinates": PLACES}
PLANTED = FARM.replace('hay = "$60"', 'hay = "$7777731"').replace(
    'units = "acres"', 'units = "acres"\nplace = { latitude = 43.98765, longitude = -72.12345 }'
)
ENTRIES_OF_OWNER = (
    "shut 4 because 'cherry down, $6543217 to clear at 43.55512, -72.55523' until cleared",
    "treat 0123 Zorbamec until 2026-05-29",
    "spent 8888815.25 hay",
    "note 'paid 3.3399 USD for Zorbamec'",
    "sold 2 lambs for 6543217",
    "walk 6 4.5in fair",
)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Served:
    served = Served(small_farm(tmp_path_factory.mktemp("sight") / "farm", PLANTED), PAIRED)
    owner = served.paired("owner")
    for words in ENTRIES_OF_OWNER:
        found = write(owner, words.replace("'", '"') + " --yes")
        assert found.status_code == 303, (words, found.text)
    assert owner.post("/relief", data={"csrf": token(owner)}).status_code == 303
    return served


def routes() -> Iterator[tuple[str, str]]:
    """Yield the method and path of every route that the pages have."""
    for router in ROUTERS:
        for route in router.routes:
            for method in getattr(route, "methods", ()):
                yield method, getattr(route, "path", "")
    yield "GET", "/openapi.json"


ROUTES = sorted(set(routes()))


@pytest.mark.parametrize(("method", "path"), ROUTES)
def test_every_route_was_thought_of(method: str, path: str) -> None:
    assert sight.is_judged(method, path), f"{method} {path} needs its row in web/sight.py"


def test_every_row_is_a_route() -> None:
    known = {f"{method} {path}" for method, path in ROUTES}
    assert {*sight.ROUTES, *sight.OPEN} - known == set()


@pytest.mark.parametrize(
    "path", [path for method, path in ROUTES if method == "POST" and "pocket" not in path]
)
def test_back_to_what_a_form_sent_finds_a_page(path: str) -> None:
    """A browser that goes back asks for the address of the form's answer, and sends nothing."""
    assert ("GET", path) in ROUTES
    nobody = sight.Row(frozenset())
    asks, sends = (sight.ROUTES.get(f"{way} {path}", nobody).roles for way in ("GET", "POST"))
    assert sends <= asks


def test_every_kind_of_entry_was_thought_of() -> None:
    assert set(sight.HIDDEN_KINDS) | sight.OPEN_KINDS == set(KINDS)
    assert not set(sight.HIDDEN_KINDS) & sight.OPEN_KINDS


def filled(served: Served, path: str) -> list[str]:
    """Return a route's path with what its places may hold."""
    with Record.open(served.folder) as record:
        events = [event.id for event in record.events()]
    choices: dict[str, list[str]] = {
        "{verb}": ["shut", "treat", "spent", "sold", "sow", "feed"], "{paddock}": ["4", "6"],
        "{event}": events,
        "{key:path}": ["today.mobs", "store.price", "settings.hay", "record"],
    }  # fmt: skip
    name = next((name for name in choices if name in path), None)
    return [path] if name is None else [path.replace(name, value) for value in choices[name]]


def people() -> list[Any]:
    none, every = frozenset[Share](), frozenset(SHARES)
    out: list[tuple[Role, frozenset[Share]]] = [(role, none) for role in ROLES[1:]]
    out += [("relief", every), ("owner", every)]
    out += [("adviser", every - {share}) for share in SHARES]
    return [pytest.param(role, some, id=f"{role}-{'-'.join(sorted(some))}") for role, some in out]


@pytest.mark.parametrize(("role", "shares"), people())
def test_what_a_role_may_not_see_is_not_in_the_bytes(
    house: Served, role: Role, shares: frozenset[Share]
) -> None:
    client = house.paired(role, shares=shares)
    given = frozenset() if role == "relief" else shares
    hidden = [mark for share in SHARES if share not in given and role != "owner" for mark in MARKS[share]]
    read = 0
    for method, path in ROUTES:
        if method != "GET" or path in ("/people", "/start", "/bring"):
            continue
        for way in filled(house, path):
            for accept in ("text/html", "application/json"):
                found = client.get(way, headers={"accept": accept})
                assert found.status_code < 500, way
                if found.status_code == 429:
                    pytest.fail("the test reads faster than may be")
                read += found.status_code == 200
                inside = [mark for mark in hidden if mark.encode() in plain(found)]
                assert inside == [], (way, accept, found.status_code)
    assert read > 10


def plain(found: Any) -> bytes:
    """Return an answer's bytes; those of a PDF as the words that are read on it."""
    if "pdf" not in found.headers.get("content-type", ""):
        return bytes(found.content)
    import io

    from pypdf import PdfReader

    pages = PdfReader(io.BytesIO(found.content)).pages
    return "\n".join(page.extract_text() for page in pages).encode()


def test_the_marks_are_there_for_the_owner(house: Served) -> None:
    """The search finds what it looks for where it may be."""
    owner = house.paired("owner")
    seen = b"".join(
        owner.get(way, headers={"accept": accept}).content
        for way in ("/today", "/entries", "/store", "/shut", "/map", "/site", "/told/x")
        for accept in ("text/html", "application/json")
    )
    for marks in (("6543217", "8888815.25"), ("Zorbamec", "0123"), ("43.55512",)):
        assert all(mark.encode() in seen for mark in marks), marks


# ---------------------------------------------------------------- writing


def attempt(client: TestClient, served: Served, words: str) -> tuple[int, int]:
    """Return the status of a command, and how many entries it added."""
    with Record.open(served.folder) as record:
        before = len(record.events())
    sent = {"words": f"{words} --yes", "csrf": token(client, "/today")}
    status = client.post("/typed", data=sent).status_code
    with Record.open(served.folder) as record:
        return status, len(record.events()) - before


WORDS = {
    "moved": "move ewes 8", "walked": "walk 6 4.5in", "counted": "count ewes 156",
    "shut": "shut 7 because wet", "treated": "treat 0123 Drench", "spent": "spent 60 hay",
    "sold": "sold 1 lamb for 90", "fed": "feed ewes 2 bales",
}  # fmt: skip


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("sandbox", [False, True])
@pytest.mark.parametrize("kind", WORDS)
def test_only_who_may_writes(tmp_path: Path, role: Role, sandbox: bool, kind: str) -> None:
    access = Access(here=False, hosts=frozenset({HOUSE}), secure=True, sandbox=sandbox)
    served = Served(small_farm(tmp_path / "farm"), access)
    client = served.paired(role)
    may = role in ("owner", "partner") or (role == "relief" and kind in FIELD_KINDS)
    may = may or (role == "class" and sandbox)
    status, added = attempt(client, served, WORDS[kind])
    assert added == int(may), (status, added)
    assert (status in (201, 303)) == may


def test_nothing_is_written_without_a_role(tmp_path: Path) -> None:
    served = Served(small_farm(tmp_path / "farm"), PAIRED)
    client = served.outside()
    csrf = token(client, "/pair")
    before = {path: path.read_bytes() for path in served.folder.rglob("*") if path.is_file()}
    for method, path in ROUTES:
        if method == "POST" and path != "/pair":
            for way in (
                path.replace("{verb}", "rain").replace("{paddock}", "6").replace("{event}", "0" * 12),
            ):
                sent = client.post(
                    way, data={"csrf": csrf, "words": "rain 1in", "depth": "1in", "role": "owner"}
                )
                assert sent.status_code == 401, way
    after = {path: path.read_bytes() for path in served.folder.rglob("*") if path.is_file()}
    assert after == before
    assert served.app.state.register.devices() == ()


def test_an_entry_bears_the_name_of_who_wrote_it(tmp_path: Path) -> None:
    served = Served(small_farm(tmp_path / "farm"), PAIRED)
    relief = served.paired("relief", "Weekend help")
    attempt(relief, served, "rain 1in --who owner")
    with Record.open(served.folder) as record:
        assert [event.who for event in record.events()] == ["Weekend help"]


def test_relief_takes_back_its_own_kinds_and_no_other(tmp_path: Path) -> None:
    served = Served(small_farm(tmp_path / "farm"), PAIRED)
    owner, relief = served.paired("owner"), served.paired("relief")
    attempt(owner, served, "treat 0123 Drench")
    attempt(relief, served, "rain 1in")
    with Record.open(served.folder) as record:
        treated, rained = (event.id for event in record.events())
    csrf = token(relief, "/today")
    assert relief.post(f"/undo/{treated}", data={"csrf": csrf}).status_code == 422
    assert relief.get(f"/told/{treated}").status_code == 422
    assert relief.post(f"/undo/{rained}", data={"csrf": csrf}).status_code == 303


# ---------------------------------------------------------------- on the way out


ALL = Blanks(frozenset(SHARES), ("Zorbamec Plus",))


@pytest.mark.parametrize(
    ("text", "gone"),
    [
        ("<p>costs $12.50 a bale</p>", "12.50"),
        ("<p>costs $<span>12.50</span></p>", "12.50"),
        ("<p><b>12.50</b> USD</p>", "12.50"),
        ('<input value="at 43.9876, -72.1234">', "43.9876"),
        ("<p>43°59′15″N</p>", "59′15"),
        ("<p>zorbamec plus</p>", "zorbamec"),
        ('<a href="/why/zorbamec-plus">x</a>', "zorbamec"),
    ],
)
def test_hidden_words_leave_a_page(text: str, gone: str) -> None:
    found = ALL.body("text/html; charset=utf-8", text.encode())
    assert found is not None
    assert gone not in found.decode()


def test_drawings_keep_their_lines() -> None:
    path = '<svg><path d="M 12.3456 78.9012 L 1.2345 2.3456"/></svg>'
    assert ALL.body("text/html", path.encode()) == path.encode()


def test_hidden_numbers_leave_json() -> None:
    item = {
        "price": {"value": 12.5, "unit": "USD/kg", "text": "$12.50/kg"},
        "late": {"money_usd": 12.5, "feed_kg": 3.25},
        "place": {"latitude_deg": 43.98765, "name": "Top"},
        "figures": [{"value": 9.0, "unit": "USD"}, 0.123456],
        "because": "$12.50 at 43.9876, -72.1234",
    }  # fmt: skip
    found = ALL.body("application/json", json.dumps(item).encode())
    assert found is not None
    assert json.loads(found) == {
        "late": {"feed_kg": 3.25}, "place": {"name": "Top"}, "figures": [None, 0.123456],
        "because": "____ at ____",
    }  # fmt: skip


@pytest.mark.parametrize(
    "kind", ["application/pdf", "application/zip", "image/png", "application/octet-stream", ""]
)
def test_what_cannot_be_gone_through_is_held_back(kind: str) -> None:
    assert ALL.body(kind, b"\x00\x01") is None


def test_a_route_that_nobody_judged_is_the_owners_alone(tmp_path: Path) -> None:
    served = Served(small_farm(tmp_path / "farm"), PAIRED)
    app: FastAPI = served.app
    app.add_api_route("/new", lambda: {"secret": 1})
    for role in ROLES:
        assert served.paired(role).get("/new").status_code == (200 if role == "owner" else 403)


def test_the_owner_sees_everything_and_relief_nothing_more() -> None:
    assert sight.hidden_from(OWNER) == frozenset()
    assert sight.hidden_from(Person("relief", "x")) == frozenset(SHARES)


def linked_paths(text: str) -> set[str]:
    """Return the pages of the farm that a page links to, without what they are asked with."""
    found = re.findall(r'<a [^>]*href="(/[^"#?]*)', text)
    return {path for path in found if not path.startswith(("/static/", "/why/"))}


@pytest.fixture(scope="module")
def readers(house: Served) -> dict[Role, TestClient]:
    """Return a browser of each role."""
    return {role: house.paired(role, f"reader {role}") for role in ROLES}


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("path", ["/today", "/walk", "/walk/6", "/shut", "/more", "/ready", "/store"])
def test_no_page_links_to_what_its_reader_may_not_see(
    readers: dict[Role, TestClient], role: Role, path: str
) -> None:
    """A link that ends in a refusal is a door drawn on a wall."""
    page = readers[role].get(path)
    assert page.status_code == (200 if sight.may_ask(Person(role, role), "GET", path) else 403)
    person = Person(role, role)
    assert sorted(p for p in linked_paths(page.text) if not sight.may_ask(person, "GET", p)) == []


def test_who_may_see_all_finds_the_way_to_all(readers: dict[Role, TestClient]) -> None:
    owner, adviser = (linked_paths(readers[role].get("/more").text) for role in ("owner", "adviser"))
    assert {"/people", "/money", "/try", "/enter", "/decades"} <= owner
    assert {"/season", "/carbon", "/layout"} <= adviser
    assert not {"/people", "/money", "/try", "/enter", "/decades"} & adviser
