"""The door: who comes in, by which name, and that no page from elsewhere writes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from browseline.record.store import Record
from browseline.web.access import Access, networks
from browseline.web.gate import HEADERS
from browseline.web.rates import READS
from tests.web_farm import HOUSE, PAIRED, Served, browser, pair, small_farm, token, write


@pytest.fixture
def served(tmp_path: Path) -> Served:
    return Served(small_farm(tmp_path / "farm"))


@pytest.fixture
def house(tmp_path: Path) -> Served:
    return Served(small_farm(tmp_path / "farm"), PAIRED)


def events(served: Served) -> int:
    with Record.open(served.folder) as record:
        return len(record.events())


def test_whoever_sits_at_the_machine_reads_and_writes(served: Served) -> None:
    assert served.here().get("/today").status_code == 200
    assert write(served.here(), "rain 1.2in").status_code in (200, 303)
    assert events(served) == 1


@pytest.mark.parametrize("path", ["/today", "/people", "/pair", "/nothing", "/static/browseline.css"])
def test_every_answer_carries_the_headers(served: Served, path: str) -> None:
    found = served.here().get(path)
    assert {name: found.headers.get(name) for name in HEADERS} == HEADERS
    policy = found.headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert "default-src 'none'" in policy


def test_what_the_gate_itself_turns_away_carries_them_too(served: Served) -> None:
    found = served.here().get("/today", headers={"host": "farm.example"})
    assert {name: found.headers.get(name) for name in HEADERS} == HEADERS


@pytest.mark.parametrize(
    "host",
    ["farm.example", "farm.example:8737", "127.0.0.1.farm.example", "", "localhost@farm.example", "[::1"],
)
def test_a_name_that_is_not_ours_is_turned_away(served: Served, host: str) -> None:
    assert served.here().get("/today", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST:8737", "127.0.0.1:1", "[::1]:8737", "localhost."])
def test_names_of_this_machine_are_ours(served: Served, host: str) -> None:
    assert served.here().get("/today", headers={"host": host}).status_code == 200


def test_two_hosts_are_none(served: Served) -> None:
    twice = [("host", "127.0.0.1"), ("host", "farm.example")]
    assert served.here().get("/today", headers=twice).status_code == 400


@pytest.mark.parametrize("name", ["X-Forwarded-For", "Forwarded", "Via", "X-Real-IP", "X-Forwarded-Host"])
def test_a_server_in_front_that_was_not_named_makes_nobody_the_owner(served: Served, name: str) -> None:
    assert served.here().get("/today", headers={name: "203.0.113.9"}).status_code == 403


def test_another_machine_is_not_whoever_sits_here(served: Served) -> None:
    found = browser(served.app, "http://127.0.0.1", ("192.168.1.50", 5000)).get("/today")
    assert found.status_code == 403


# ---------------------------------------------------------------- pages from elsewhere


def sent(served: Served, change: Callable[[TestClient, dict[str, Any]], None]) -> int:
    client = served.here()
    request: dict[str, Any] = {"data": {"words": "rain 1.2in", "csrf": token(client)}, "headers": {}}
    change(client, request)
    return int(client.post("/typed", **request).status_code)


@pytest.mark.parametrize(
    "change",
    [
        lambda _c, r: r["data"].pop("csrf"),
        lambda _c, r: r["data"].update(csrf=""),
        lambda _c, r: r["data"].update(csrf="0" * 64),
        lambda _c, r: r["headers"].update(origin="https://farm.example"),
        lambda _c, r: r["headers"].update(origin="null"),
        lambda _c, r: r["headers"].update(origin="https://127.0.0.1"),
        lambda _c, r: r["headers"].update({"sec-fetch-site": "cross-site"}),
        lambda _c, r: r["headers"].update({"sec-fetch-site": "same-site"}),
    ],
    ids=["none", "empty", "made up", "origin", "null", "scheme", "cross-site", "same-site"],
)
def test_a_form_from_elsewhere_writes_nothing(
    served: Served, change: Callable[[TestClient, dict[str, Any]], None]
) -> None:
    assert sent(served, change) == 403
    assert events(served) == 0


def test_json_from_elsewhere_writes_nothing(served: Served) -> None:
    body = {"device": "p-00000000", "events": []}
    assert served.here().post("/pocket/events", json=body).status_code == 403
    good = {"x-csrf": token(served.here())}
    assert served.here().post("/pocket/events", json=body, headers=good).status_code == 200


def test_the_token_of_one_device_is_not_anothers(house: Served) -> None:
    owner, partner = house.paired("owner"), house.paired("partner")
    stolen = {"words": "rain 1.2in", "csrf": token(owner)}
    assert partner.post("/typed", data=stolen).status_code == 403
    assert events(house) == 0


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "FOO"])
def test_other_methods_are_turned_away(served: Served, method: str) -> None:
    assert served.here().request(method, "/today").status_code == 405


# ---------------------------------------------------------------- how large, how often


def test_a_body_too_large_is_turned_away_whatever_it_says(served: Served) -> None:
    client = served.here()
    headers = {"x-csrf": token(client), "content-type": "application/x-www-form-urlencoded"}

    def pieces() -> Iterator[bytes]:
        for _ in range(300):
            yield b"a" * 1000

    assert client.post("/typed", content=b"a" * 300_000, headers=headers).status_code == 413
    # In pieces, with no length said at all.
    assert client.post("/typed", content=pieces(), headers=headers).status_code == 413
    # A length that is no number.
    assert client.post("/typed", content=b"a", headers=headers | {"content-length": "-1"}).status_code == 400
    assert events(served) == 0


def test_reading_too_often_must_wait(served: Served) -> None:
    client, now = served.here(), [1_000.0]
    served.app.state.rates.clock = lambda: now[0]
    found = [client.get("/pair") for _ in range(int(READS.burst) + 1)]
    assert {answer.status_code for answer in found[:-1]} == {200}
    assert found[-1].status_code == 429
    now[0] += int(found[-1].headers["retry-after"])
    assert client.get("/pair").status_code == 200


# ---------------------------------------------------------------- paired devices


def test_a_device_that_is_not_paired_gets_nothing_of_the_farm(house: Served) -> None:
    found = house.outside().get("/today")
    assert found.status_code == 401
    assert "Small Farm" not in found.text
    assert "Ewes" not in found.text


def test_the_cookie_is_secure_goes_to_no_script_and_to_this_farm_alone(house: Served) -> None:
    secret, _ = house.app.state.register.invite("owner")
    found = pair(house.outside(), secret)
    said = {part.strip().partition("=")[0].lower() for part in found.headers["set-cookie"].split(";")}
    assert {"secure", "httponly", "samesite", "path", "max-age"} <= said
    # A page without HTTPS can then not plant one of this name.
    assert found.headers["set-cookie"].startswith("__Secure-browseline-")


def test_pairing_gives_a_token_that_the_browser_never_had(house: Served) -> None:
    client = house.outside()
    client.get("/pair")
    before = dict(client.cookies)
    assert before
    secret, _ = house.app.state.register.invite("owner")
    pair(client, secret)
    after = dict(client.cookies)
    assert after.keys() == before.keys()
    assert set(after.values()).isdisjoint(before.values())
    # Who planted the first cookie has nothing: it opens nothing now either.
    thief = house.outside()
    thief.cookies.update(before)
    assert thief.get("/today").status_code == 401


def test_a_planted_session_is_not_taken_up(house: Served) -> None:
    attacker = house.paired("relief")
    victim = house.outside()
    ((name, planted),) = dict(attacker.cookies).items()
    victim.cookies.set(name, planted, domain=HOUSE, path="/")
    secret, _ = house.app.state.register.invite("owner")
    assert pair(victim, secret).status_code == 303
    assert dict(victim.cookies)[name] != planted
    # And what was planted has ended.
    assert attacker.get("/today").status_code == 401


def test_a_code_opens_once(house: Served) -> None:
    secret, _ = house.app.state.register.invite("relief")
    assert pair(house.outside(), secret).status_code == 303
    assert pair(house.outside(), secret).status_code == 403


def test_opening_the_address_uses_nothing_up(house: Served) -> None:
    secret, _ = house.app.state.register.invite("relief")
    for _ in range(3):
        assert house.outside().get(f"/pair?code={secret}").status_code == 200
    assert pair(house.outside(), secret).status_code == 303


def test_an_ended_device_is_out_at_once(house: Served) -> None:
    client = house.paired("owner")
    assert client.get("/today").status_code == 200
    held = token(client)
    (device,) = house.app.state.register.devices()
    house.app.state.register.revoke(device.id)
    assert client.get("/today").status_code == 401
    assert client.post("/typed", data={"words": "rain 1in", "csrf": held}).status_code == 401
    assert events(house) == 0


def test_codes_are_not_guessed(house: Served) -> None:
    client = house.outside()
    sent = {"code": "AAAA-AAAA", "csrf": token(client, "/pair")}
    found = [client.post("/pair", data=sent).status_code for _ in range(8)]
    assert found[:5] == [403] * 5
    assert set(found[5:]) == {429}
    # Even the right one must wait now.
    secret, _ = house.app.state.register.invite("owner")
    assert client.post("/pair", data=sent | {"code": secret}).status_code == 429


@pytest.mark.parametrize(
    "mangle", [lambda t: t[:-1], lambda t: t + "a", lambda t: "a" + t, lambda _t: "." * 9000]
)
def test_a_cookie_that_we_did_not_sign_is_none(house: Served, mangle: Callable[[str], str]) -> None:
    client = house.paired("owner")
    ((name, text),) = dict(client.cookies).items()
    client.cookies.clear()
    client.cookies.set(name, mangle(text))
    assert client.get("/today").status_code == 401


# ---------------------------------------------------------------- a folder of farms, a server in front


def test_nobody_sees_anothers_farm(tmp_path: Path) -> None:
    for name in ("north", "south"):
        small_farm(tmp_path / name)
    served = Served(tmp_path, PAIRED)
    client = served.paired("owner", name="north")
    assert client.get("/north/today").status_code == 200
    assert client.get("/south/today").status_code == 401
    # Its cookie does not even go there, and would not be taken if it did.
    ((_, text),) = dict(client.cookies).items()
    forced = served.outside().get("/south/today", headers={"cookie": f"browseline={text}"})
    assert forced.status_code == 401
    assert served.outside().get("/").status_code == 404


def test_the_word_of_a_named_server_in_front_is_taken_and_nobody_elses(tmp_path: Path) -> None:
    access = Access(
        here=False, hosts=frozenset({HOUSE}), secure=True, proxies=networks(("127.0.0.1",)), base="/grazing"
    )
    served = Served(small_farm(tmp_path / "farm"), access)
    secret, _ = served.app.state.register.invite("owner")
    front = browser(served.app, f"http://{HOUSE}", ("127.0.0.1", 5000))
    front.headers |= {"x-forwarded-proto": "https", "x-forwarded-for": "198.51.100.7"}
    page = front.get("/pair")
    assert "/grazing/static/browseline.css" in page.text
    assert "Path=/grazing/" in page.headers["set-cookie"]
    sent = {"code": secret, "csrf": page.text.partition('name="csrf" value="')[2].partition('"')[0]}
    cookie = page.headers["set-cookie"].partition(";")[0]
    said = {"cookie": cookie, "origin": f"https://{HOUSE}"}
    found = front.post("/pair", data=sent, headers=said)
    assert found.status_code == 303
    assert found.headers["location"] == "/grazing/phone"
    # Nobody becomes the owner by coming from the machine itself.
    assert front.get("/today").status_code == 401
    # A stranger who says so of himself is counted by his own address.
    stranger = browser(served.app, f"https://{HOUSE}", ("203.0.113.9", 5000))
    for number in range(6):
        page = stranger.get("/pair")
        token_now = page.text.partition('name="csrf" value="')[2].partition('"')[0]
        said = {"cookie": page.headers["set-cookie"].partition(";")[0], "x-forwarded-for": f"10.0.0.{number}"}
        last = stranger.post("/pair", data={"code": "AAAA-AAAA", "csrf": token_now}, headers=said)
    assert last.status_code == 429
