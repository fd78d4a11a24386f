"""The description of the pages is complete and true: every page's JSON is what its record's schema says."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from referencing import Registry, Resource
from referencing.jsonschema import DRAFT202012
from starlette.testclient import TestClient

from browseline.cli.demo import copy_example, example
from browseline.web.serve import build

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
ASKED = {"{verb}": "look?at=trees", "{paddock}": "1", "{key}": "today.mobs.heifers.lines.grass"}
LACKING = ("/compare/designs",)
"""Pages that the example has nothing for, and says so: it has one design."""
TEXT = ("pdf", "csv", "crt", "png")
ROOMS = ("chain", "papers", "web", "ledger", "limits")


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    folder = tmp_path_factory.mktemp("described") / "farm"
    copy_example(example(), folder)
    app = build(folder, lambda: NOW)
    return TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))


@pytest.fixture(scope="module")
def told(client: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = client.get("/openapi.json").json()
    return found


def schema_at(told: dict[str, Any], path: str, method: str, status: str) -> str | None:
    """Return where an answer's schema stands in the description."""
    answer = told["paths"][path][method]["responses"].get(status, {})
    if not answer.get("content", {}).get("application/json", {}).get("schema"):
        return None
    steps = ("paths", path, method, "responses", status, "content", "application/json", "schema")
    return "#/" + "/".join(step.replace("~", "~0").replace("/", "~1") for step in steps)


def check(told: dict[str, Any], ref: str, item: Any) -> list[str]:
    whole = Resource.from_contents(told, default_specification=DRAFT202012)
    registry: Registry[Any] = Registry().with_resource("urn:told", whole)
    validator = jsonschema.Draft202012Validator({"$ref": f"urn:told{ref}"}, registry=registry)
    return [f"{list(wrong.absolute_path)}: {wrong.message[:200]}" for wrong in validator.iter_errors(item)]


def test_every_page_gives_what_is_described(client: TestClient, told: dict[str, Any]) -> None:
    seen = []
    for path, methods in told["paths"].items():
        if "get" not in methods or path.endswith(TEXT) or "{event}" in path:
            continue
        status = "422" if path in LACKING else "200"
        ref = schema_at(told, path, "get", status)
        assert ref is not None, path
        asked = path
        for field, text in ASKED.items():
            asked = asked.replace(field, text)
        answer = client.get(asked, headers={"accept": "application/json"})
        assert answer.status_code == int(status), path
        assert check(told, ref, answer.json()) == [], path
        seen.append(path)
    assert len(seen) > 35
    assert {"/people", "/pair", "/phone", "/bring", "/pocket", "/pocket/table", "/pocket/words"} <= set(seen)
    assert {"/today", "/walk", "/season", "/map", "/entries", "/why/{key}"} <= set(seen)


def test_an_entry_and_what_is_wrong_with_it(client: TestClient, told: dict[str, Any]) -> None:
    page = client.get("/enter/move").text
    token = page.split('name="csrf" value="')[1].split('"')[0]
    as_json = {"accept": "application/json"}
    made = client.post("/enter/move", data={"csrf": token, "mob": "heifers", "to": "1"}, headers=as_json)
    assert made.status_code == 201
    ref = schema_at(told, "/enter/{verb}", "post", "201")
    assert ref is not None
    assert check(told, ref, made.json()) == []
    event = made.json()["told"]["event"]
    for path in ("/told/{event}", "/correct/{event}"):
        answer = client.get(path.replace("{event}", event), headers=as_json)
        ref = schema_at(told, path, "get", "200")
        assert ref is not None
        assert check(told, ref, answer.json()) == []
    wrong = client.post(
        "/enter/move", data={"csrf": token, "mob": "heifers", "to": "nowhere"}, headers=as_json
    )
    assert wrong.status_code == 422
    ref = schema_at(told, "/enter/{verb}", "post", "422")
    assert ref is not None
    assert check(told, ref, wrong.json()) == []


def test_what_phones_and_people_send_and_bring(client: TestClient, told: dict[str, Any]) -> None:
    token = client.get("/enter/move").text.split('name="csrf" value="')[1].split('"')[0]
    mine = {"accept": "application/json", "x-csrf": token}
    week = "at,command\n2026-06-09 08:00,rain 0.4 in\n"
    fields = {"type": "FeatureCollection", "features": []}
    no_entry = {"device": "p-1234567890ab", "events": [{"id": "none"}]}
    for path, status, sent in (
        ("/people/invite", 200, {"data": {"role": "relief", "who": "R"}}),
        ("/people/invite", 422, {"data": {"role": "none"}}),
        ("/pair", 403, {"data": {"code": "none"}}),
        ("/bring/week", 200, {"files": {"file": ("week.csv", week.encode())}}),
        ("/bring/map", 422, {"files": {"file": ("map.geojson", json.dumps(fields).encode())}}),
        ("/pocket/events", 200, {"json": no_entry}),
    ):
        answer = client.post(path, headers=mine, **sent)
        assert answer.status_code == status, (path, answer.text[:300])
        ref = schema_at(told, path, "post", str(status))
        assert ref is not None, path
        assert check(told, ref, answer.json()) == [], path


def test_a_false_page_is_seen(client: TestClient, told: dict[str, Any]) -> None:
    ref = schema_at(told, "/today", "get", "200")
    assert ref is not None
    page = client.get("/today", headers={"accept": "application/json"}).json()
    assert check(told, ref, page | {"mobs": "none"})
    assert check(told, ref, page | {"more": 1})
    del page["ahead"]
    assert check(told, ref, page)


def test_every_form_that_is_sent_has_its_fields(told: dict[str, Any]) -> None:
    for path, methods in told["paths"].items():
        if "post" in methods:
            assert "requestBody" in methods["post"], path


def test_every_record_and_field_is_documented(told: dict[str, Any]) -> None:
    undocumented = [
        name for name, schema in told["components"]["schemas"].items()
        if not schema.get("description") and name.partition(".")[0] in ROOMS
    ]  # fmt: skip
    assert undocumented == []


def test_the_same_form_twice_is_one_entry(tmp_path: Path) -> None:
    folder = tmp_path / "farm"
    copy_example(example(), folder)
    app = build(folder, lambda: NOW)
    client = TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))
    token = client.get("/enter/rain").text.split('name="csrf" value="')[1].split('"')[0]
    sent = {"csrf": token, "once": "abc", "depth": "0.5"}
    as_json = {"accept": "application/json"}
    made = [client.post("/enter/rain", data=sent, headers=as_json).json() for _ in range(2)]
    assert made[0]["told"]["event"] == made[1]["told"]["event"]
    shutil.rmtree(folder)


def test_a_farm_without_designs_is_told_what_to_do_not_what_to_type(client: TestClient) -> None:
    page = client.get("/compare/designs", headers={"accept": "text/html"})
    assert page.status_code == 422
    assert "This farm has no designs yet" in page.text
    assert "a small text file in the folder designs" in page.text
    assert "browseline compare" not in page.text
