"""A relief sheet that is printed from the pages is kept as it was printed; looking at it keeps nothing."""

from __future__ import annotations

import json
from hashlib import sha256
from pathlib import Path

import pytest

from browseline.events import Event, Issued
from browseline.papers.issued import reprint
from browseline.record.store import Record
from tests.web_farm import PAIRED, Served, small_farm, token, write


@pytest.fixture
def served(tmp_path: Path) -> Served:
    return Served(small_farm(tmp_path / "farm"), PAIRED)


def events(served: Served) -> list[Event]:
    with Record.open(served.folder) as record:
        return list(record.events())


def sheets(served: Served) -> list[Issued]:
    return [event.body for event in events(served) if isinstance(event.body, Issued)]


def test_looking_at_the_sheet_writes_nothing(served: Served) -> None:
    for client in (served.paired("owner"), served.paired("relief")):
        for path in ("/relief", "/relief?days=5", "/relief.pdf", "/relief?as=json", "/pocket/relief"):
            assert client.get(path).status_code == 200, path
    assert events(served) == []
    assert not (served.folder / "files").exists()


def test_print_and_keep_leaves_what_it_was_printed_from(served: Served) -> None:
    owner = served.paired("owner", "Ada")
    sent = {"csrf": token(owner), "days": "4", "once": "one tap"}
    found = owner.post("/relief", data=sent)
    assert found.status_code == 303
    (event,) = events(served)
    assert (event.kind, event.who) == ("issued", "Ada")
    assert found.headers["location"] == f"/relief/{event.id}.pdf"
    (paper,) = sheets(served)
    context = json.loads(paper.context)
    assert paper.paper == "relief"
    assert context["schema"] == "browseline/relief/1"
    printed = owner.get(found.headers["location"])
    assert printed.headers["content-type"] == "application/pdf"
    assert printed.content == reprint(paper)["pdf"]
    assert (served.folder / "files" / f"{sha256(printed.content).hexdigest()}.pdf").read_bytes() == (
        printed.content
    )


def test_one_tap_that_comes_twice_is_one_paper(served: Served) -> None:
    owner = served.paired("owner")
    sent = {"csrf": token(owner), "days": "", "once": "twice"}
    places = {owner.post("/relief", data=sent).headers["location"] for _ in range(2)}
    assert len(places) == len(sheets(served)) == 1


def test_what_happens_later_changes_no_paper(served: Served) -> None:
    owner = served.paired("owner")
    place = owner.post("/relief", data={"csrf": token(owner)}).headers["location"]
    before = owner.get(place).content
    assert write(owner, 'shut 4 because "cherry down" until cleared --yes').status_code == 303
    assert owner.get(place).content == before
    assert owner.get("/relief.pdf").content != before


@pytest.mark.parametrize("role", ["relief", "adviser", "class"])
def test_who_may_not_issue_has_no_button_and_no_way(served: Served, role: str) -> None:
    client = served.paired(role)  # type: ignore[arg-type]
    page = client.get("/relief").text
    assert "Print and keep" not in page
    assert "Print and keep" in served.paired("partner").get("/relief").text
    assert client.post("/relief", data={"csrf": token(client)}).status_code == 403
    assert events(served) == []


@pytest.mark.parametrize("days", ["-1", "15", "²", "many", "1e1"])
def test_days_that_are_none_are_told(served: Served, days: str) -> None:
    owner = served.paired("owner")
    found = owner.post("/relief", data={"csrf": token(owner), "days": days})
    assert found.status_code == 422
    assert "no whole number from 0 to 14" in found.text
    assert events(served) == []


@pytest.mark.parametrize("days", ["20", "x", "-1"])
@pytest.mark.parametrize("path", ["/relief", "/relief.pdf"])
def test_days_of_an_address_are_told_in_words(served: Served, path: str, days: str) -> None:
    client = served.paired("owner")
    found = client.get(path, params={"days": days})
    assert found.status_code == 422
    assert "no whole number from 0 to 14" in found.text
    assert 'href="/today"' in found.text


def test_the_form_says_how_many_days_it_takes(served: Served) -> None:
    client = served.paired("owner")
    assert "from 0 to 14" in client.get("/relief").text
    assert client.get("/relief?days=").status_code == 200


@pytest.mark.parametrize("asked", ["/decades?bad=often", "/try?ahead=soon", "/money?" + "off=x&" * 41])
def test_what_an_address_says_wrongly_is_told_in_words(served: Served, asked: str) -> None:
    client = served.paired("owner")
    found = client.get(asked)
    assert found.status_code == 422
    assert "cannot be read" in found.text
    assert 'href="/today"' in found.text
    told = client.get(asked, headers={"accept": "application/json"}).json()
    assert told["findings"][0]["code"] == "web.unread"


def test_another_entry_is_no_relief_sheet(served: Served) -> None:
    owner = served.paired("owner")
    write(owner, "rain 1in --yes")
    (event,) = events(served)
    assert owner.get(f"/relief/{event.id}.pdf").status_code == 422


def test_programs_are_told_the_entry(served: Served) -> None:
    owner = served.paired("owner")
    found = owner.post("/relief", data={"csrf": token(owner)}, headers={"accept": "application/json"})
    assert found.status_code == 201
    (event,) = events(served)
    assert found.json()["told"]["event"] == event.id
