"""Requests that nobody thought of: the whole description of the pages, codes, roles, names and cells."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.config import SchemathesisConfig
from schemathesis.core.result import Ok

from browseline.web.access import Access
from browseline.web.people import ROLES, SHARES, Person
from browseline.web.register import ALPHABET, CODE_LASTS_S, DAY_S, Register, plain_code
from browseline.web.sight import kinds_of, may_ask
from tests.unit.cli_farm import FARM
from tests.web_farm import PAIRED, Served, pair, register_of, small_farm, token, write

FEW = settings(
    max_examples=3, deadline=None, derandomize=True,
    suppress_health_check=[
        HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.function_scoped_fixture,
    ],
)  # fmt: skip
"""A few a route, the same each time: there are fifty routes."""


# ---------------------------------------------------------------- the whole description


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a farm whose pages describe themselves."""
    return Served(small_farm(tmp_path_factory.mktemp("fuzz") / "farm"))


def operations(served: Served) -> list[Any]:
    schema = schemathesis.openapi.from_dict(served.app.openapi(), config=SchemathesisConfig())
    found = list(schema.get_all_operations())
    assert all(isinstance(one, Ok) for one in found)
    return [one.ok() for one in found if isinstance(one, Ok)]


def test_no_request_breaks_a_page(described: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    from browseline.web import rates

    # As fast as the machine can: how often somebody may ask is tested elsewhere.
    monkeypatch.setattr(rates.Rates, "wait_s", lambda *_: 0.0)
    client = described.here(raise_server_exceptions=False)
    good = {"x-csrf": token(client), "accept": "application/json"}
    seen: dict[str, set[int]] = {}
    for operation in operations(described):
        seen[operation.label] = set()

        @FEW
        @given(case=operation.as_strategy())
        def ask(case: Any) -> None:
            found = client.request(
                case.method,
                case.formatted_path if "{" not in case.formatted_path else "/",
                **sent(case, good),
            )
            assert found.status_code < 500, (case.method, case.formatted_path, case.body, found.text[:300])
            seen[case.operation.label].add(found.status_code)

        ask()
    assert len(seen) > 20
    assert all(seen.values())


def sent(case: Any, headers: dict[str, str]) -> dict[str, Any]:
    """Return what a case sends, in the words of the browser."""
    query = {key: str(value) for key, value in (case.query or {}).items()}
    made: dict[str, Any] = {"params": query, "headers": headers}
    if isinstance(case.body, dict) and "form" in (case.media_type or ""):
        made["data"] = {key: str(value) for key, value in case.body.items()}
    elif isinstance(case.body, (dict, list, str, int, float, bool)) or case.body is None:
        made["json"] = case.body
    return made


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=60)
COMMANDS = st.one_of(
    TEXTS,
    st.lists(
        st.sampled_from(
            ["walk", "move", "ewes", "6", "8", "to", "4.5in", "--yes", "--", "because", "--at", "1e999",
             "shut", "treat", "undo", "note", "photo", "0", "-1", "NaN", "correct", '"', "spent", "$"]
        ),
        max_size=7,
    ).map(" ".join),
)  # fmt: skip


@settings(FEW, max_examples=25)
@given(words=COMMANDS)
def test_whatever_is_typed_is_kept_or_answered(described: Served, words: str) -> None:
    client = described.here()
    found = client.post("/typed", data={"words": words, "csrf": token(client, "/pair")})
    assert found.status_code in (200, 201, 303, 422, 429), (words, found.text[:300])


@settings(FEW, max_examples=25)
@given(path=st.text(st.characters(codec="utf-8"), max_size=40))
def test_whatever_is_asked_for_is_answered(described: Served, path: str) -> None:
    from urllib.parse import quote

    for before in ("/", "/why/", "/told/", "/enter/", "/walk/", "/static/"):
        found = described.here().get(before + quote(path))
        assert found.status_code < 500, path


CLIMBS = ("../farm.toml", "..%2ffarm.toml", "%2e%2e/farm.toml", "..%5cfarm.toml", "....//farm.toml",
          "//etc/passwd", "%00", "..%252ffarm.toml", "static/..%2f..%2fstore.py")  # fmt: skip


@pytest.mark.parametrize("climb", CLIMBS)
@pytest.mark.parametrize("before", ["/static/", "/static/pocket/", "/", "/why/", "/told/"])
def test_no_path_leads_out(described: Served, before: str, climb: str) -> None:
    found = described.here().get(before + climb)
    assert found.status_code in (400, 404, 405, 422)
    assert "time_zone" not in found.text
    assert "root:" not in found.text


# ---------------------------------------------------------------- codes


def made(folder: Path, now: list[float]) -> Register:
    return Register(folder / "people.db", lambda: now[0])


CODES = st.text(st.sampled_from([*ALPHABET, *"01IOabc- "]), max_size=12)


@settings(FEW, max_examples=40)
@given(guess=CODES, role=st.sampled_from(ROLES))
def test_nothing_but_the_code_opens(tmp_path_factory: pytest.TempPathFactory, guess: str, role: Any) -> None:
    register = made(tmp_path_factory.mktemp("codes"), [0.0])
    secret, _ = register.invite(role)
    opened = register.pair(guess)
    assert (opened is not None) == (plain_code(guess) == secret)
    found = register.pair(secret.lower().replace("-", " "))
    assert (found is not None) == (opened is None)
    assert register.pair(secret) is None


@settings(FEW, max_examples=40)
@given(
    role=st.sampled_from(ROLES), shares=st.sets(st.sampled_from(SHARES)), who=TEXTS,
    stays_d=st.none() | st.integers(-5, 5000), link=st.booleans(), later_s=st.floats(0, 900 * DAY_S),
)  # fmt: skip
def test_a_device_is_what_was_invited_and_no_longer_than_that(
    tmp_path_factory: pytest.TempPathFactory,
    role: Any,
    shares: Any,
    who: str,
    stays_d: Any,
    link: bool,
    later_s: float,
) -> None:
    now = [1000.0]
    register = made(tmp_path_factory.mktemp("codes"), now)
    secret, invitation = register.invite(role, who, frozenset(shares), stays_d=stays_d, link=link)
    paired = register.pair(secret)
    assert paired is not None
    token_, device = paired
    assert device.person.role == role
    assert device.person.who == invitation.who
    assert 0 < len(device.person.who) <= 40
    assert device.person.shares == {"owner": frozenset(SHARES), "relief": frozenset()}.get(
        role, frozenset(shares)
    )
    assert DAY_S <= device.ends - device.made <= 730 * DAY_S
    now[0] += later_s
    assert (register.device(token_) is not None) == (now[0] < device.ends)
    register.revoke(device.id)
    assert register.device(token_) is None


def test_a_code_is_over_after_ten_minutes_and_a_link_after_a_week(tmp_path: Path) -> None:
    now = [0.0]
    register = made(tmp_path, now)
    code, _ = register.invite("relief")
    link, _ = register.invite("relief", link=True)
    now[0] = CODE_LASTS_S + 1
    assert register.pair(code) is None
    assert [one.role for one in register.invitations()] == ["relief"]
    now[0] = 7 * DAY_S - 1
    assert register.pair(link) is not None
    again, made_ = register.invite("owner")
    assert register.revoke(made_.id)
    assert register.pair(again) is None


def test_no_secret_is_on_the_disk(tmp_path: Path) -> None:
    register = made(tmp_path, [0.0])
    secret, _ = register.invite("owner")
    paired = register.pair(secret)
    assert paired is not None
    raw = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert secret.encode() not in raw
    assert paired[0].encode() not in raw
    assert (tmp_path / "people.db").stat().st_mode & 0o777 == 0o600


def test_the_way_in_is_in_no_pack_and_no_copy(tmp_path: Path) -> None:
    import zipfile

    from tests.unit.cli_farm import NOW, SmallFarm

    served = Served(small_farm(tmp_path / "farm"), PAIRED)
    served.paired("owner")
    assert SmallFarm(served.folder).run("pack", str(tmp_path / "out.zip"), now=NOW).code == 0
    with zipfile.ZipFile(tmp_path / "out.zip") as out:
        assert not [name for name in out.namelist() if "people" in name]
    assert not [path for path in served.folder.rglob("*") if "people" in path.name]


def test_another_folder_in_a_farms_place_starts_with_nobody(tmp_path: Path) -> None:
    import shutil

    served = Served(small_farm(tmp_path / "farm"), PAIRED)
    client = served.paired("owner")
    shutil.copytree(served.folder, tmp_path / "copy")
    shutil.rmtree(served.folder)
    (tmp_path / "copy").rename(served.folder)
    other = Served(served.folder, PAIRED)
    moved = other.outside()
    moved.cookies.update(client.cookies)
    assert moved.get("/today").status_code == 401


# ---------------------------------------------------------------- roles


@settings(FEW, max_examples=300)
@given(
    role=st.sampled_from([*ROLES, "nobody"]), shares=st.sets(st.sampled_from(SHARES)), sandbox=st.booleans(),
    method=st.sampled_from(["GET", "HEAD", "POST"]), path=TEXTS.map(lambda text: f"/{text}"),
)  # fmt: skip
def test_more_is_never_given_by_less(role: Any, shares: Any, sandbox: bool, method: str, path: str) -> None:
    person = Person(role, "x", frozenset(shares), sandbox)
    owner = Person("owner", "x", frozenset(SHARES), sandbox)
    if may_ask(person, method, path):
        assert may_ask(owner, method, path)
    assert kinds_of(person) <= kinds_of(owner)
    if role in ("adviser", "nobody") or (role == "class" and not sandbox):
        assert kinds_of(person) == frozenset()


# ---------------------------------------------------------------- words that are more than words

NASTY = ("<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{ 7*7 }}", "{% raw %}",
         '#eval("1") $ #panic() $ ]#[', "=1+1", "</style>", "%s%n", "../..", "\u202e")  # fmt: skip


@pytest.mark.parametrize("nasty", NASTY)
def test_a_name_stays_a_name_on_every_page(tmp_path: Path, nasty: str) -> None:
    import json

    text = FARM.replace('name = "Cherry"', f"name = {json.dumps(nasty)}").replace(
        'name = "Ewes"', f"name = {json.dumps(nasty + ' mob')}"
    )
    served = Served(small_farm(tmp_path / "farm", text), PAIRED)
    owner = served.paired("owner", nasty)
    for path in (
        "/today",
        "/walk",
        "/shut",
        "/season",
        "/map",
        "/entries",
        "/people",
        "/relief",
        "/pocket/table",
    ):
        found = owner.get(path)
        assert found.status_code in (200, 422), (path, found.text[:300])
        if "text/html" in found.headers["content-type"] and nasty.startswith(("<", '"', "</")):
            assert nasty not in found.text, path
        assert "49" not in re.findall(r"\b49\b", found.text) or nasty != "{{ 7*7 }}", path
    pdf = owner.get("/relief.pdf")
    assert pdf.status_code in (200, 422)


@pytest.mark.parametrize("nasty", ["=1+1", "@SUM(A1)", "+1", "-cmd|x", "\t=1", "=HYPERLINK(1)"])
def test_a_cell_never_starts_a_formula(tmp_path: Path, nasty: str) -> None:
    import json

    text = FARM.replace('name = "Gate"', f"name = {json.dumps(nasty)}")
    served = Served(small_farm(tmp_path / "farm", text))
    client = served.here()
    write(client, "walk 6 4.5in --yes")
    write(client, "move ewes 8 --yes")
    found = client.get("/record.csv?first=2026-05-01")
    assert found.status_code == 200
    rows = list(csv.reader(io.StringIO(found.text)))
    assert any(nasty.strip() in cell for row in rows for cell in row), rows
    assert not [cell for row in rows for cell in row if cell[:1] in "=+-@\t\r" and cell[:1]]


def test_codes_for_one_farm_open_no_other(tmp_path: Path) -> None:
    for name in ("north", "south"):
        small_farm(tmp_path / name)
    served = Served(tmp_path, Access(here=False, hosts=PAIRED.hosts, secure=True))
    secret, _ = register_of(served.app, "north").invite("owner")
    assert pair(served.outside(("192.168.9.1", 1)), secret, "/south").status_code == 403
    assert pair(served.outside(("192.168.9.2", 1)), secret, "/north").status_code == 303
