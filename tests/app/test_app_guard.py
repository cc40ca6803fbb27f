"""What keeps other pages and other names out, and what every answer carries."""

from __future__ import annotations

import re
from http.client import HTTPConnection
from pathlib import Path

import httpx
import pytest
from starlette.datastructures import Headers

from trialcut.app import serve
from trialcut.app.guard import host_name, refused
from trialcut.app.store import UPLOAD_LIMIT
from trialcut.errors import UsageError

PATHS = ("/", "/static/app.css", "/static/app.js", "/style/drawing.css", "/nowhere", "/api/openapi.json")


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_carries_the_policy(client: httpx.Client, path: str) -> None:
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'; ")
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["x-frame-options"] == "DENY"


def test_pages_hold_no_inline_style_or_script(client: httpx.Client) -> None:
    demo = client.post("/demo/metric").headers["location"]
    for page in (client.get("/").text, client.get(demo).text):
        assert " style=" not in page
        assert "<style" not in page
        assert "<script>" not in page
        assert " onclick" not in page


def test_pages_name_no_other_machine(client: httpx.Client) -> None:
    demo = client.post("/demo/metric").headers["location"]
    own = client.get("/static/app.css").text + client.get("/static/app.js").text
    for page in (client.get("/").text, client.get(demo).text, own):
        assert set(re.findall(r"(?:https?:)?//[a-z][a-z0-9.-]+", page)) <= {"http://www.w3.org"}


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8765", "127.0.0.1.evil.example", "", "[::2]:80"]
)
def test_another_host_name_is_turned_away(client: httpx.Client, host: str) -> None:
    answer = client.get("/", headers={"Host": host})
    assert answer.status_code == 421
    assert answer.json()["code"] == "wrong-host"


@pytest.mark.parametrize(
    ("host", "name"),
    [
        ("localhost:1", "localhost"),
        ("[::1]:1", "::1"),
        ("127.0.0.1", "127.0.0.1"),
        ("LocalHost", "localhost"),
    ],
)
def test_own_names_are_answered_with_any_port(client: httpx.Client, host: str, name: str) -> None:
    assert host_name(host) == name
    assert client.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:1"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "null"},
    ],
)
@pytest.mark.parametrize("path", ["/drawings", "/demo/inch", "/api/plan", "/api/drawing"])
def test_a_change_from_another_page_is_turned_away(
    client: httpx.Client, path: str, headers: dict[str, str]
) -> None:
    answer = client.post(path, headers=headers)
    assert answer.status_code == 403
    assert answer.json()["code"] == "other-origin"


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "same-origin", "Origin": "null"}, {}])
def test_a_change_from_the_own_page_or_a_program_passes(
    client: httpx.Client, headers: dict[str, str]
) -> None:
    assert client.post("/demo/inch", headers=headers).status_code == 303


def test_a_body_without_a_stated_size_is_turned_away() -> None:
    headers = Headers({"host": "localhost", "transfer-encoding": "chunked"})
    refusal = refused("POST", "/api/plan", headers)
    assert refusal is not None
    assert refusal.status_code == 411


def test_a_long_request_is_turned_away(client: httpx.Client) -> None:
    answer = client.post("/api/plan", json={"drawing": "0" * 24, "ask": "x" * 300_000})
    assert answer.status_code == 413
    assert answer.json()["code"] == "too-large"


@pytest.mark.parametrize("path", ["/drawings", "/api/drawing"])
def test_a_drawing_over_the_limit_is_told_before_it_is_read(client: httpx.Client, path: str) -> None:
    connection = HTTPConnection("127.0.0.1", client.base_url.port or 0, timeout=10.0)
    connection.putrequest("POST", path)
    connection.putheader("Content-Type", "multipart/form-data; boundary=x")
    connection.putheader("Content-Length", str(UPLOAD_LIMIT * 3))
    connection.endheaders()
    answer = connection.getresponse()
    assert answer.status == 413
    assert "32 MB at most" in answer.read().decode()
    connection.close()


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.7", "shop.example", ""])
def test_beyond_this_machine_nothing_is_served_without_accounts(host: str, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="trialcut people add NAME --role manage") as told:
        serve(host=host, port=0, names=("cut.example",), book=str(tmp_path / "book.db"))
    assert told.value.case == "no-manager"


def test_a_port_that_is_taken_is_told(client: httpx.Client) -> None:
    with pytest.raises(UsageError, match="choose another with --port"):
        serve(port=client.base_url.port or 0)
