"""A photo comes with its form or not at all: no page names a file of the machine."""

from __future__ import annotations

import hashlib
import io
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image
from starlette.testclient import TestClient

from browseline.cli.demo import copy_example, example
from browseline.errors import BadInput
from browseline.web.photos import ending_of
from browseline.web.serve import build

NOW = datetime.fromisoformat("2026-06-10T12:00-04:00")
AS_JSON = {"accept": "application/json"}


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    folder = tmp_path / "farm"
    copy_example(example(), folder)
    return folder


@pytest.fixture
def client(farm: Path) -> TestClient:
    app = build(farm, lambda: NOW)
    return TestClient(app, base_url="http://127.0.0.1:8737", client=("127.0.0.1", 5000))


def token(client: TestClient) -> str:
    return client.get("/enter/photo").text.split('name="csrf" value="')[1].split('"')[0]


def picture(form: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (8, 8), "green").save(out, form)
    return out.getvalue()


@pytest.mark.parametrize(("form", "ending"), [("JPEG", ".jpg"), ("PNG", ".png"), ("WEBP", ".webp")])
def test_what_another_program_writes_is_known_by_its_bytes(form: str, ending: str) -> None:
    assert ending_of(picture(form)) == ending


def test_a_photo_is_kept_by_its_hash_whatever_its_name_says(client: TestClient, farm: Path) -> None:
    content = picture("JPEG")
    sent = {"csrf": token(client), "paddock": "1", "what": "gate"}
    made = client.post("/enter/photo", data=sent, files={"file": ("../../x.exe", content)}, headers=AS_JSON)
    assert made.status_code == 201
    kept = farm / "files" / f"{hashlib.sha256(content).hexdigest()}.jpg"
    assert kept.read_bytes() == content


@pytest.mark.parametrize("content", [b"MZ" + bytes(40), b"", b"<svg onload=alert(1)>", b"\xff\xd8"])
def test_what_is_no_photo_is_refused(client: TestClient, farm: Path, content: bytes) -> None:
    before = sorted(path.name for path in (farm / "files").glob("*"))
    sent = {"csrf": token(client), "paddock": "1"}
    made = client.post("/enter/photo", data=sent, files={"file": ("a.jpg", content)}, headers=AS_JSON)
    assert made.status_code == 422
    assert sorted(path.name for path in (farm / "files").glob("*")) == before


def test_no_page_takes_a_file_of_the_machine(client: TestClient, farm: Path, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_bytes(b"not yours")
    key = token(client)
    tries = [
        client.post("/enter/photo", data={"csrf": key, "paddock": "1", "file": str(secret)}, headers=AS_JSON),
        client.post("/typed", data={"csrf": key, "words": f"photo 1 {secret}"}, headers=AS_JSON),
        client.post("/typed", data={"csrf": key, "words": f"photo 1 --file {secret}"}, headers=AS_JSON),
        client.post(
            "/typed", data={"csrf": key, "words": f"photo 1 {secret}", "read_back": "yes"}, headers=AS_JSON
        ),
    ]
    assert [made.status_code for made in tries] == [422] * len(tries)
    assert not any(path.read_bytes() == b"not yours" for path in (farm / "files").glob("*"))


def test_a_photo_that_is_too_large_is_turned_away(client: TestClient) -> None:
    sent = {"csrf": token(client), "paddock": "1"}
    large = picture("JPEG") + bytes(14_000_000)
    assert client.post("/enter/photo", data=sent, files={"file": ("a.jpg", large)}).status_code == 413


def test_endings_by_the_standards() -> None:
    """HEIC is ISO base media with the brand heic or mif1 (ISO/IEC 23008-12)."""
    assert ending_of(b"\0\0\0\x18ftypheic") == ".heic"
    with pytest.raises(BadInput):
        ending_of(b"GIF89a")
