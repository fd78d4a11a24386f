"""Real servers on real sockets: this machine alone, the house by HTTPS, behind a server in front."""

from __future__ import annotations

import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import pytest

from tests.unit.cli_farm import NOW
from tests.web_farm import small_farm

ROOT = Path(__file__).parents[3]
SERVE = ("-m", "browseline", "serve")
PROXY = str(ROOT / "tests" / "web_proxy.py")


def free_ports() -> int:
    """Return a port that is free, as is the next."""
    while True:
        with socket.create_server(("127.0.0.1", 0)) as one:
            port = int(one.getsockname()[1])
        try:
            with socket.create_server(("127.0.0.1", port + 1)):
                return port
        except OSError:
            continue


@contextmanager
def running(*command: str, home: Path, until: str) -> Iterator[str]:
    """Run a program until it is killed; give what it printed up to a line."""
    env = {**os.environ, "BROWSELINE_STATE": str(home / "state"), "BROWSELINE_CONFIG": str(home / "config"),
           "BROWSELINE_NOW": NOW, "PYTHONUNBUFFERED": "1"}  # fmt: skip
    process = subprocess.Popen(
        [sys.executable, *command], cwd=ROOT, env=env, text=True, stdout=subprocess.PIPE
    )
    try:
        assert process.stdout is not None
        said = ""
        for line in process.stdout if until else ():
            said += line
            if re.search(until, line):
                break
        yield said
    finally:
        process.send_signal(signal.SIGINT)
        assert process.wait(60) in (0, 1, -signal.SIGINT, 130)
        if process.stdout is not None:
            process.stdout.close()


def answered(port: int) -> None:
    """Wait until somebody listens."""
    end = time.monotonic() + 30
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            assert time.monotonic() < end
            time.sleep(0.05)


def code_in(page: str) -> str:
    found = re.search(r'name="csrf" value="(\w+)"', page)
    assert found is not None
    return found[1]


def test_alone_nobody_listens_to_the_house(tmp_path: Path) -> None:
    farm, port = small_farm(tmp_path / "farm"), free_ports()
    with running(*SERVE, str(farm), "--port", str(port), home=tmp_path, until="http://"):
        answered(port)
        assert httpx2.get(f"http://127.0.0.1:{port}/today").status_code == 200
        with pytest.raises(OSError, match=r"refused|unreachable"):
            socket.create_connection((house_address(), port), 2)


def house_address() -> str:
    from browseline.web.certificate import names_here

    return next(name for name in names_here() if not name.endswith(".local"))


def test_a_phone_in_the_house_is_paired_by_https_and_trusts_the_authority(tmp_path: Path) -> None:
    farm, port = small_farm(tmp_path / "farm"), free_ports()
    with running(
        *SERVE, str(farm), "--port", str(port), "--lan", "--role", "relief", home=tmp_path,
        until=r"pair\?code=",
    ) as said:  # fmt: skip
        address = re.findall(r"https://\S+/pair\?code=\S+", said)[0]
        answered(port + 1)
        # A phone that does not know the authority turns away; one that does, comes in.
        with pytest.raises(httpx2.ConnectError, match=r"(?i)certificate"):
            httpx2.get(address)
        trusting = ssl.create_default_context(cafile=str(tmp_path / "config" / "authority.crt"))
        with httpx2.Client(verify=trusting, headers={"accept": "text/html"}) as phone:
            front = address.partition("/pair")[0]
            assert phone.get(f"{front}/today").status_code == 401
            code = address.partition("code=")[2]
            page = phone.get(address)
            assert code in page.text
            sent = {"code": code, "csrf": code_in(page.text)}
            assert phone.post(f"{front}/pair", data=sent).status_code == 303
            assert phone.get(f"{front}/today").status_code == 200
            assert phone.get(f"{front}/people").status_code == 403
            assert "BEGIN CERTIFICATE" in phone.get(f"{front}/phone/authority.crt").text
        # Whoever sits at the machine is the owner still, and on its own address alone.
        assert httpx2.get(f"http://127.0.0.1:{port}/people").status_code == 200
        assert httpx2.get(f"https://127.0.0.1:{port + 1}/people", verify=False).status_code == 421
    assert (tmp_path / "config" / "authority.key").stat().st_mode & 0o777 == 0o600


def test_behind_a_real_server_in_front(tmp_path: Path) -> None:
    farm, port = small_farm(tmp_path / "farm"), free_ports()
    front = f"http://127.0.0.1:{port + 1}/grazing"
    with (
        running(
            *SERVE, str(farm), "--port", str(port), "--behind", "127.0.0.1", "--name",
            "farm.example.org", "--base", "/grazing", home=tmp_path, until=r"pair\?code=",
        ) as said,
        running(PROXY, str(port + 1), str(port), "farm.example.org", home=tmp_path, until=""),
    ):  # fmt: skip
        address = re.findall(r"https://farm\.example\.org/grazing/pair\?code=(\S+)", said)[0]
        answered(port)
        answered(port + 1)
        with httpx2.Client(headers={"accept": "text/html"}) as client:
            assert client.get(f"{front}/today").status_code == 401
            page = client.get(f"{front}/pair")
            assert 'href="/grazing/static/browseline.css"' in page.text
            given = page.headers["set-cookie"]
            assert "Secure" in given
            assert "Path=/grazing/" in given
            cookie = given.partition(";")[0]
            said_too = {"cookie": cookie, "origin": "https://farm.example.org"}
            sent = {"code": address, "csrf": code_in(page.text)}
            found = client.post(f"{front}/pair", data=sent, headers=said_too)
            assert found.status_code == 303
            assert found.headers["location"] == "/grazing/phone"
            paired = {"cookie": found.headers["set-cookie"].partition(";")[0]}
            today = client.get(f"{front}/today", headers=paired)
            assert today.status_code == 200
            assert "Small Farm" in today.text or "Ewes" in today.text
            # A page from elsewhere that reaches the farm through the front writes nothing.
            entry = {"words": "rain 1in", "csrf": code_in(page.text)}
            strange = client.post(
                f"{front}/typed", data=entry, headers=paired | {"origin": "https://evil.example"}
            )
            assert strange.status_code == 403
        # Nobody who goes past the front becomes anybody, whatever they claim.
        past = {"x-forwarded-for": "127.0.0.1", "host": "farm.example.org"}
        assert httpx2.get(f"http://127.0.0.1:{port}/today", headers=past).status_code == 401
        assert httpx2.get(f"http://127.0.0.1:{port}/today").status_code == 421


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--lan", "--behind", "127.0.0.1", "--name", "a.example"], "at once"),
        (["--behind", "127.0.0.1"], "by which name"),
        (["--behind", "not-an-address", "--name", "a.example"], "no address or network"),
        (["--base", "/x"], "for a server in front"),
        (["--certificate", "x.pem"], "of no use"),
        (["--role", "king"], "no role"),
        (["--lan", "--certificate", "x.pem", "--key", "y.pem"], "no certificate with its key"),
    ],
)
def test_options_that_contradict_each_other(tmp_path: Path, options: list[str], says: str) -> None:
    from tests.unit.cli_farm import SmallFarm

    small_farm(tmp_path / "farm")
    done = SmallFarm(tmp_path / "farm").run("serve", str(tmp_path / "farm"), *options)
    assert done.code == 1
    assert says in done.all
